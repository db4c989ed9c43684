package reports

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
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
	placed []*placed
	known  *registry
	rows   map[string]*deflated // of the sheets of arrays, by the part that they go into
}

// WriteWorkbook writes report.xlsx.
func (r *Report) WriteWorkbook(ctx context.Context, w io.Writer) error {
	err := r.writeWorkbook(ctx, w, false)
	if errors.Is(err, newStep) { // nothing was written yet
		err = r.writeWorkbook(ctx, w, true)
	}
	return err
}

// writeWorkbook writes report.xlsx. Unless it is thorough, it looks at part of
// the rows alone to find the columns of a long sheet.
func (r *Report) writeWorkbook(ctx context.Context, w io.Writer, thorough bool) (err error) {
	f := excelize.NewFile()
	defer func() { err = errors.Join(err, f.Close()) }() // also removes what streaming spilt to disk
	b := &book{ctx: ctx, file: f, styles: &styles{file: f, made: map[look]int{}}, report: r, footer: r.footer(), rows: map[string]*deflated{}}
	b.placed, b.known = r.place(r.sheets(), thorough)
	for _, a := range r.closing(b.placed) {
		p := layOut(a, thorough)
		b.known.add(p)
		b.placed = append(b.placed, p)
	}
	if err := b.properties(); err != nil {
		return err
	}
	if err := b.summary(); err != nil {
		return err
	}
	for i, p := range b.placed {
		if err := b.array(p); err != nil {
			return err
		}
		if i > 0 {
			continue
		}
		if err := b.charts(); err != nil {
			return fmt.Errorf("sheet %s: %w", chartSheet, err)
		}
	}
	if err := b.nameSettings(); err != nil {
		return err
	}
	if b.styles.err != nil {
		return b.styles.err
	}
	return writeOrdered(f, b.rows, &cancellable{ctx, w})
}

// sheets returns the arrays in the order they are read in the workbook.
func (r *Report) sheets() []array {
	all := []array{r.governingFirst(), r.exposures(), r.doses(), r.concentrations(), r.samples(),
		r.flowChecks(), r.laboratory(), r.blankMeans(), r.mixtures(), r.groups(), r.followUps()}
	if r.Advice {
		all = append(all, r.respirators(), r.reducedLimits(r.WeekHours))
	}
	return append(all, r.gravestFirst(), r.limitsUsed(), r.settingsSheet())
}

// closing returns the arrays that end the workbook: how the figures of those
// before come about, what was read, and who is who.
func (r *Report) closing(before []*placed) []array {
	all := []array{methodSheet(before), r.sources()}
	if names := r.names(); names.rows > 0 && !r.NoNames {
		all = append(all, names)
	}
	return all
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
	created, recalculate := b.report.Created.UTC().Format(time.RFC3339), true
	if err := b.file.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &recalculate}); err != nil {
		return err
	}
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

// layout is how a sheet is set up for reading and printing.
type layout struct {
	name        string
	columns     int
	rows        int
	printed     int // the columns that are printed, from the first; 0 all
	table       bool
	orientation string
	foot        []string // lines under the table
	pagesHigh   int      // that it is made to fit; 0 as many as it takes
}

// rowsInAll returns the rows with the foot, which a blank row sets apart.
func (l *layout) rowsInAll() int {
	if len(l.foot) == 0 {
		return l.rows
	}
	return l.rows + 1 + len(l.foot)
}

// sheet begins a sheet: its print set-up and size must stand before its rows
// are streamed, for the stream writes them as they are then.
func (b *book) sheet(l layout) error {
	if l.name == summarySheet {
		if err := b.file.SetSheetName("Sheet1", l.name); err != nil {
			return err
		}
	} else if _, err := b.file.NewSheet(l.name); err != nil {
		return err
	}
	last, err := excelize.CoordinatesToCellName(l.columns, l.rows)
	if err != nil {
		return err
	}
	end, err := excelize.CoordinatesToCellName(l.columns, l.rowsInAll())
	if err != nil {
		return err
	}
	steps := []error{b.file.SetSheetDimension(l.name, "A1:"+end)}
	if l.table { // before the sheet's properties, which it would replace
		steps = append(steps, b.file.AutoFilter(l.name, "A1:"+last, nil), b.printed(l))
	}
	fit, paper, width := true, 9, 1
	steps = append(steps,
		b.file.SetSheetProps(l.name, &excelize.SheetPropsOptions{FitToPage: &fit}),
		b.file.SetPageLayout(l.name, &excelize.PageLayoutOptions{
			Size: &paper, Orientation: &l.orientation, FitToWidth: &width, FitToHeight: &l.pagesHigh}),
		b.file.SetPageMargins(l.name, margins()),
		b.file.SetHeaderFooter(l.name, &excelize.HeaderFooterOptions{
			OddHeader: "&L" + strings.ReplaceAll(clip(b.report.title(), 80), "&", "&&") + "&R&A", OddFooter: b.footer}),
	)
	return errors.Join(steps...)
}

// printed sets what of a table is printed: its header on every page, and the
// columns for people alone.
func (b *book) printed(l layout) error {
	last, err := excelize.CoordinatesToCellName(l.printed, l.rowsInAll(), true)
	if err != nil {
		return err
	}
	sheet := "'" + l.name + "'!"
	return errors.Join(
		b.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", Scope: l.name, RefersTo: sheet + "$1:$1"}),
		b.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Area", Scope: l.name, RefersTo: sheet + "$A$1:" + last}),
	)
}

func margins() *excelize.PageLayoutMarginsOptions {
	side, top, edge := 0.4, 0.7, 0.3 // inches
	return &excelize.PageLayoutMarginsOptions{
		Left: &side, Right: &side, Top: &top, Bottom: &top, Header: &edge, Footer: &edge}
}

// array adds the sheet of an array, and further ones where it is too long.
func (b *book) array(p *placed) error {
	for part, from := 0, 0; part == 0 || from < p.rows; part, from = part+1, from+mostRows {
		to := min(from+mostRows, p.rows)
		l := layout{name: p.partName(part), columns: len(p.columns), rows: to - from + 1, printed: p.printed, table: true, orientation: p.orientation(p.columns[:p.printed])}
		if to == p.rows && p.foot != "" {
			l.foot = wrap(p.foot, p.footWidth(p.columns[:p.printed]))
		}
		if err := b.arrayPart(l, p, from, to); err != nil {
			return fmt.Errorf("sheet %s: %w", l.name, err)
		}
	}
	return nil
}

// shown returns the columns that the workbook shows, those for people first,
// and how many those are.
func (a *array) shown() (columns []int, printed int) {
	columns = a.filled(a.having(func(h header) bool { return h.heading != "" && !h.aside }))
	printed = len(columns)
	return append(columns, a.filled(a.having(func(h header) bool { return h.heading != "" && h.aside }))...), printed
}

// filled leaves out the columns that no row fills, so that a survey without
// fibres shows no fibre columns. An array without rows keeps them all.
func (a *array) filled(columns []int) []int {
	if a.rows == 0 {
		return columns
	}
	var kept []int
	for _, at := range columns {
		if a.fields[at].live.step {
			kept = append(kept, at)
			continue
		}
		for row := range a.rows {
			if c := a.cell(row, at); c.form != missing && (c.form != isText || c.text != "") {
				kept = append(kept, at)
				break
			}
		}
	}
	return kept
}

func (b *book) arrayPart(l layout, p *placed, from, to int) error {
	if err := b.sheet(l); err != nil {
		return err
	}
	if err := b.notes(l.name, &p.array, p.columns); err != nil {
		return err
	}
	if err := b.weighVerdicts(l, p); err != nil {
		return err
	}
	widths := p.widths(p.columns)
	for i, width := range widths {
		if err := b.file.SetColWidth(l.name, letters(i), letters(i), width); err != nil {
			return err
		}
	}
	if err := b.file.SetPanes(l.name, &excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"}); err != nil {
		return err
	}
	return b.rowsOf(l, p, widths, from, to)
}

// rowsOf writes the rows of a part of an array.
func (b *book) rowsOf(l layout, p *placed, widths []float64, from, to int) error {
	at, err := b.file.GetSheetIndex(l.name)
	if err != nil {
		return err
	}
	rows := newSheetRows(len(p.columns))
	b.rows[fmt.Sprintf("xl/worksheets/sheet%d.xml", at+1)] = rows.to
	rows.add(1, p.headingHeight(p.columns, widths), b.headings(&p.array, p.columns))
	ctx, end := context.WithCancel(b.ctx)
	defer end()
	w := newRowWriter(ctx, b, p, widths, from, to)
	for row := from; row < to && ctx.Err() == nil && w.err == nil; row++ {
		cells := w.entries(row)
		rows.add(row-from+2, w.height, cells)
	}
	for i, line := range l.foot {
		rows.add(l.rows+2+i, 0, []excelize.Cell{{StyleID: b.styles.of(look{italic: true}), Value: line}})
	}
	rows.end()
	return errors.Join(w.err, b.ctx.Err())
}

// footWidth returns how many characters a line under the table may have so
// that it is printed whole.
func (a *array) footWidth(printed []int) int {
	sum := 0.0
	for _, w := range a.widths(printed) {
		sum += w
	}
	return int(0.9 * sum)
}

// headings returns the header row. The columns that are not printed have
// headings in italics and without a fill.
func (b *book) headings(a *array, columns []int) []excelize.Cell {
	entries := make([]excelize.Cell, len(columns))
	for i, at := range columns {
		h := &a.fields[at]
		l := look{bold: true, wrap: true, middle: true, fill: headFill, edge: mediumLine, right: h.show == span || a.numeric(at), inset: standsIn(h.show)}
		if h.aside {
			l.bold, l.italic, l.fill = false, true, ""
		}
		entries[i] = excelize.Cell{StyleID: b.styles.of(l), Value: h.heading}
	}
	return entries
}

// notes adds the notes of the headings, which a reader sees on resting there.
func (b *book) notes(sheet string, a *array, columns []int) error {
	for i, at := range columns {
		note := a.fields[at].note
		if note == "" {
			continue
		}
		cell, err := excelize.CoordinatesToCellName(i+1, 1)
		if err != nil {
			return err
		}
		lines := uint(len(wrap(note, noteWidth)))
		if err := b.file.AddComment(sheet, excelize.Comment{Author: "airtally", Cell: cell, Text: note,
			Width: noteWidth * 7, Height: lines*18 + 12}); err != nil {
			return err
		}
	}
	return nil
}

// noteWidth is how many characters a line of a note has.
const noteWidth = 36

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

// serial returns a moment's wall clock as a workbook counts days, a hair late
// rather than early: spreadsheets cut seconds off, and 14:50 stored at 15
// digits would show as 14:49.
func serial(t time.Time) float64 {
	wall := time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), 0, time.UTC)
	days := wall.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
	return math.Ceil(days*1e9) / 1e9
}
