package reports

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// mostRows is how many rows of an array one sheet holds under its header; an
// array with more goes on in a further sheet.
var mostRows = excelize.TotalRows - 1

// book is the workbook in the making.
type book struct {
	ctx    context.Context
	file   *excelize.File
	styles *styles
	report *Report
	footer string
}

// WriteWorkbook writes report.xlsx.
func (r *Report) WriteWorkbook(ctx context.Context, w io.Writer) (err error) {
	f := excelize.NewFile()
	defer func() { err = errors.Join(err, f.Close()) }() // also removes what streaming spilt to disk
	b := &book{ctx, f, &styles{file: f, made: map[look]int{}}, r, r.footer()}
	if err := b.properties(); err != nil {
		return err
	}
	if err := b.summary(); err != nil {
		return err
	}
	for _, a := range r.sheets() {
		if err := b.array(&a); err != nil {
			return err
		}
	}
	if b.styles.err != nil {
		return b.styles.err
	}
	return f.Write(&cancellable{ctx, w})
}

// sheets returns the arrays in the order they are read in the workbook.
func (r *Report) sheets() []array {
	return []array{
		r.comparisons(), r.exposures(), r.concentrations(), r.samples(), r.mixtures(),
		r.gravestFirst(), r.limitsUsed(), r.settingsSheet(), r.sources(),
	}
}

// settingsSheet returns the settings turned on their side, one a row.
func (r *Report) settingsSheet() array {
	s := r.settings()
	return array{
		sheet: "Settings",
		fields: []header{
			{heading: "Setting"}, {heading: "Value", show: prose}, {heading: "Item in the survey table"},
		},
		rows: len(s.fields),
		cell: func(row, field int) cell {
			switch field {
			case 0:
				return text(s.fields[row].heading)
			case 1:
				return s.cell(0, row)
			default:
				return text(s.fields[row].name)
			}
		},
	}
}

func (b *book) properties() error {
	created := b.report.Created.UTC().Format(time.RFC3339)
	return b.file.SetDocProps(&excelize.DocProperties{
		Title: b.report.title(), Subject: "Air sampling results", Creator: b.report.tool(),
		LastModifiedBy: b.report.tool(), Description: Caution, Created: created, Modified: created,
	})
}

// footer is what every printed page says at its foot.
func (r *Report) footer() string {
	number := "no report number"
	if n := r.Settings.ReportNumber; n != "" {
		number = "Report " + clip(n, 40)
	}
	source := ""
	if inputs := r.inputs(); len(inputs) > 0 {
		source = "input sha256 " + clip(inputs[0].SHA256, 12)
		if more := len(inputs) - 1; more > 0 {
			source += fmt.Sprintf(" and %d more", more)
		}
	}
	// An ampersand begins a code of the footer's own; two are one.
	escape := func(s string) string { return strings.ReplaceAll(s, "&", "&&") }
	return "&L" + escape(number) + "&C" + escape(source) + "&RPage &P of &N"
}

func clip(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most])
	}
	return s
}

// sheet begins a sheet: its print set-up and size must stand before its rows
// are streamed, for the stream writes them as they are then.
func (b *book) sheet(name string, lastColumn, lastRow int, filter bool) (*excelize.StreamWriter, error) {
	if name == summarySheet {
		if err := b.file.SetSheetName("Sheet1", name); err != nil {
			return nil, err
		}
	} else if _, err := b.file.NewSheet(name); err != nil {
		return nil, err
	}
	last, err := excelize.CoordinatesToCellName(lastColumn, lastRow)
	if err != nil {
		return nil, err
	}
	fit, paper, landscape, width, height := true, 9, "landscape", 1, 0
	steps := []error{
		b.file.SetSheetDimension(name, "A1:"+last),
	}
	if filter { // before the sheet's properties, which it would replace
		steps = append(steps,
			b.file.AutoFilter(name, "A1:"+last, nil),
			b.file.SetDefinedName(&excelize.DefinedName{
				Name: "_xlnm.Print_Titles", Scope: name, RefersTo: "'" + name + "'!$1:$1"}),
		)
	}
	steps = append(steps,
		b.file.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: &fit}),
		b.file.SetPageLayout(name, &excelize.PageLayoutOptions{
			Size: &paper, Orientation: &landscape, FitToWidth: &width, FitToHeight: &height}),
		b.file.SetPageMargins(name, margins()),
		b.file.SetHeaderFooter(name, &excelize.HeaderFooterOptions{
			OddHeader: "&L" + strings.ReplaceAll(clip(b.report.title(), 80), "&", "&&") + "&R&A", OddFooter: b.footer}),
	)
	if err := errors.Join(steps...); err != nil {
		return nil, err
	}
	return b.file.NewStreamWriter(name)
}

func margins() *excelize.PageLayoutMarginsOptions {
	side, top, edge := 0.4, 0.7, 0.3 // inches
	return &excelize.PageLayoutMarginsOptions{
		Left: &side, Right: &side, Top: &top, Bottom: &top, Header: &edge, Footer: &edge}
}

// array adds the sheet of an array, and further ones where it is too long.
func (b *book) array(a *array) error {
	columns := a.having(func(h header) bool { return h.heading != "" })
	columns = a.filled(columns)
	for part, from := 0, 0; part == 0 || from < a.rows; part, from = part+1, from+mostRows {
		name := a.sheet
		if part > 0 {
			name = fmt.Sprintf("%s %d", a.sheet, part+1)
		}
		if err := b.arrayPart(name, a, columns, from, min(from+mostRows, a.rows)); err != nil {
			return fmt.Errorf("sheet %s: %w", name, err)
		}
	}
	return nil
}

// filled leaves out the columns that no row fills, so that a survey without
// fibres shows no fibre columns. An array without rows keeps them all.
func (a *array) filled(columns []int) []int {
	if a.rows == 0 {
		return columns
	}
	var kept []int
	for _, at := range columns {
		for row := range a.rows {
			if c := a.cell(row, at); c.form != missing && (c.form != isText || c.text != "") {
				kept = append(kept, at)
				break
			}
		}
	}
	return kept
}

func (b *book) arrayPart(name string, a *array, columns []int, from, to int) error {
	sw, err := b.sheet(name, len(columns), to-from+1, true)
	if err != nil {
		return err
	}
	widths := a.widths(columns)
	if err := setWidths(sw, widths); err != nil {
		return err
	}
	if err := sw.SetPanes(&excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"}); err != nil {
		return err
	}
	entries := make([]any, len(columns))
	for i, at := range columns {
		head := look{bold: true, wrap: true, fill: headFill, edge: mediumLine, right: a.numeric(at)}
		entries[i] = excelize.Cell{StyleID: b.styles.of(head), Value: a.fields[at].heading}
	}
	if err := sw.SetRow("A1", entries, excelize.RowOpts{Height: a.headingHeight(columns, widths)}); err != nil {
		return err
	}
	for row := from; row < to; row++ {
		for i, at := range columns {
			entries[i] = b.styles.entry(a.cell(row, at), a.fields[at].show)
		}
		height := excelize.RowOpts{Height: a.height(row, columns, widths)}
		if err := b.row(sw, row-from+2, entries, height); err != nil {
			return err
		}
	}
	return sw.Flush()
}

// setWidths sets the widths of the columns, the last first: the stream puts
// each before those it has.
func setWidths(sw *excelize.StreamWriter, widths []float64) error {
	for i := len(widths) - 1; i >= 0; i-- {
		if err := sw.SetColWidth(i+1, i+1, widths[i]); err != nil {
			return err
		}
	}
	return nil
}

// numeric reports whether a column holds numbers.
func (a *array) numeric(field int) bool {
	for row := range a.rows {
		if c := a.cell(row, field); c.form != missing {
			return c.form == isNumber
		}
	}
	return false
}

func (b *book) row(sw *excelize.StreamWriter, row int, entries []any, options ...excelize.RowOpts) error {
	if err := b.ctx.Err(); err != nil {
		return err
	}
	at, err := excelize.CoordinatesToCellName(1, row)
	if err != nil {
		return err
	}
	return sw.SetRow(at, entries, options...)
}

// Widths of columns, in characters of the workbook's font.
const (
	narrowest   = 7.0
	widest      = 30.0
	proseWidth  = 44.0
	lookedAt    = 2000 // rows that decide a width
	lineHeight  = 13.5 // points
	charPadding = 2.0
)

// widths returns widths that fit what the columns show.
func (a *array) widths(columns []int) []float64 {
	w := make([]float64, len(columns))
	for i, at := range columns {
		h := a.fields[at]
		longest := 0
		for row := range min(a.rows, lookedAt) {
			longest = max(longest, shownLength(a.cell(row, at), h.show))
		}
		most := widest
		if h.show == prose {
			most = proseWidth
		}
		for _, word := range strings.Fields(h.heading) {
			longest = max(longest, cellsOf(word)+1) // bold, and the filter's button
		}
		w[i] = min(max(float64(longest)+charPadding, narrowest), most)
	}
	return w
}

func shownLength(c cell, show showing) int {
	switch c.form {
	case isNumber:
		return len(figureText(c.number))
	case isMoment:
		return len("2026-03-02 22:10")
	default:
		return cellsOf(c.words())
	}
}

// headingHeight returns the height of the header row that shows every heading
// whole.
func (a *array) headingHeight(columns []int, widths []float64) float64 {
	lines := 1
	for i, at := range columns {
		lines = max(lines, len(wrap(a.fields[at].heading, int(widths[i])-1)))
	}
	return float64(lines)*lineHeight + 3
}

// height returns the height of a row that shows its long texts whole, or 0
// where one line does: not every program that opens a workbook sees to it.
func (a *array) height(row int, columns []int, widths []float64) float64 {
	lines := 1
	for i, at := range columns {
		if a.fields[at].show != prose {
			continue
		}
		if words := a.cell(row, at).words(); len(words) > int(widths[i])-2 {
			lines = max(lines, len(wrap(words, int(widths[i])-2)))
		}
	}
	if lines == 1 {
		return 0
	}
	return min(float64(lines)*lineHeight, excelize.MaxRowHeight)
}

// serial returns a moment's wall clock as a workbook counts days.
func serial(t time.Time) float64 {
	wall := time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), 0, time.UTC)
	return wall.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
}
