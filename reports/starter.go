package reports

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"airtally/exposure/survey"
)

// Starter is a workbook to begin a survey with: a sheet for each input table
// with its lists and notes, example rows, the order of work, and a form for
// the flow checks.
type Starter struct {
	Train   TrainKind // that the example shows
	Workers int       // in the example, from 1 to MostStarterWorkers
	Version string    // of airtally
	Created time.Time
}

// MostStarterWorkers is how many workers an example has at most.
const MostStarterWorkers = 200

// Rows and columns of a starter sheet.
const (
	guidedRows   = 2000 // that lists and ranges are laid over
	readingsWide = 3    // columns of readings in the flows sheet
	formWidth    = 160  // characters that a page takes across, in a size that is written beside
	listsSheet   = "lists"
)

// starterBook is the starter workbook in the making.
type starterBook struct {
	*Starter
	file   *excelize.File
	styles *styles
}

// WriteStarter writes the starter workbook. The same Starter makes the same
// bytes.
func (s *Starter) WriteStarter(w io.Writer) (err error) {
	f := excelize.NewFile()
	defer func() { err = errors.Join(err, f.Close()) }()
	b := &starterBook{Starter: s, file: f, styles: &styles{file: f, made: map[look]int{}}}
	plan, err := planOf(s.Train)
	if err != nil {
		return err
	}
	if err := b.fill(plan); err != nil {
		return err
	}
	return writeOrdered(f, nil, w)
}

func (b *starterBook) fill(plan trainPlan) error {
	if err := b.file.SetSheetName("Sheet1", survey.GuideSheet); err != nil {
		return err
	}
	if _, err := b.file.NewSheet(survey.FieldSheet); err != nil {
		return err
	}
	for _, d := range survey.Descriptions() {
		if _, err := b.file.NewSheet(d.Name); err != nil {
			return err
		}
	}
	rows := plan.examples(b.Workers)
	for _, d := range survey.Descriptions() {
		if err := b.table(d, rows[d.Name]); err != nil {
			return fmt.Errorf("sheet %s: %w", d.Name, err)
		}
	}
	created := b.Created.UTC().Format(time.RFC3339)
	return errors.Join(b.guide(plan), b.field(plan), b.lists(), b.styles.err,
		b.file.SetDocProps(&excelize.DocProperties{Title: "Survey workbook", Creator: "airtally " + b.Version,
			LastModifiedBy: "airtally " + b.Version, Description: Caution, Created: created, Modified: created}))
}

// starterColumn is one column of a starter sheet. The readings of a flow check
// have several.
type starterColumn struct {
	*survey.Column
	heading string
	key     string // of its cells in an example row
	needed  bool   // in every row; of the readings of a flow check, the first
}

func starterColumns(d *survey.Description) []starterColumn {
	var all []starterColumn
	for i := range d.Columns {
		c := &d.Columns[i]
		if c.Type != survey.ReadingsCell {
			all = append(all, starterColumn{c, c.Heading(), c.Name, c.Required})
			continue
		}
		for n := range readingsWide {
			key := fmt.Sprintf("reading_%d", n+1)
			heading := fmt.Sprintf("reading %d", n+1)
			if n == 0 {
				heading += " (" + survey.RequiredMark + ")"
			}
			all = append(all, starterColumn{c, heading, key, n == 0})
		}
	}
	return all
}

// table fills the sheet of one table.
func (b *starterBook) table(d *survey.Description, rows []exampleRow) error {
	columns := starterColumns(d)
	var errs []error
	wide, lines := 0.0, 1
	for at, c := range columns {
		width := c.width(rows)
		wide, lines = wide+width, max(lines, c.headingLines(width))
		errs = append(errs, b.column(d, at+1, c, width))
	}
	for i, row := range rows {
		for at, c := range columns {
			if text := row[c.key]; text != "" {
				errs = append(errs, b.example(d, at+1, i+2, c.Column, text))
			}
		}
	}
	return errors.Join(append(errs, b.itemLists(d, rows), b.setUp(d.Name, "landscape", int(math.Ceil(wide/formWidth))),
		b.titles(d.Name), b.file.SetRowHeight(d.Name, 1, rowHeight(lines)),
		b.file.SetPanes(d.Name, &excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"}))...)
}

// The headings of a starter sheet.
const (
	mostHeadingLines = 2
	boldSpare        = 1.0 // what a bold heading needs over the width of its letters
)

// headingLines returns how many lines the heading takes in a column so wide.
func (c *starterColumn) headingLines(width float64) int {
	if c.needed {
		width -= boldSpare
	}
	return textLines(c.heading, width)
}

// width returns the width in which a column shows its heading in few lines, and
// its dates and the example's cells whole.
func (c *starterColumn) width(rows []exampleRow) float64 {
	if c.Type == survey.ItemCell {
		return widest // a title goes there
	}
	longest := max(narrowest, headingWidth(c.heading))
	if c.needed {
		longest += boldSpare
	}
	for longest < widest && c.headingLines(longest) > mostHeadingLines {
		longest++
	}
	for _, row := range rows {
		longest = max(longest, float64(cellsOf(row[c.key]))+charPadding)
	}
	if pattern := c.Pattern(); pattern != "" {
		longest = max(longest, float64(len(pattern))+charPadding)
	}
	return min(longest, widest)
}

// column sets the look, width, header, note and list of one column.
func (b *starterBook) column(d *survey.Description, at int, c starterColumn, width float64) error {
	name, err := excelize.ColumnNumberToName(at)
	if err != nil {
		return err
	}
	head := look{bold: c.needed, fill: headFill, edge: thinLine, wrap: true, right: c.holdsFigures()}
	return errors.Join(
		b.file.SetColWidth(d.Name, name, name, width),
		b.file.SetColStyle(d.Name, name, b.styles.of(look{format: entryFormat(c.Column), right: c.Type == survey.ResultCell})),
		b.file.SetCellStr(d.Name, name+"1", c.heading),
		b.file.SetCellStyle(d.Name, name+"1", name+"1", b.styles.of(head)),
		b.note(d.Name, name+"1", columnNote(c.Column)),
		b.validate(d.Name, name, c.Column))
}

// holdsFigures reports whether a column's cells stand at its right edge.
func (c *starterColumn) holdsFigures() bool {
	switch c.Type {
	case survey.NumberCell, survey.FractionCell, survey.ReadingsCell, survey.ResultCell:
		return true
	}
	return false
}

// entryFormat is how cells of a column that are still to be filled show what
// is typed into them. Identifiers stay text: a spreadsheet would take some for
// dates or numbers.
func entryFormat(c *survey.Column) string {
	switch c.Type {
	case survey.TextCell, survey.IDCell, survey.ChoiceCell, survey.YesNoCell, survey.UnitCell:
		return textOnly
	case survey.MomentCell:
		return c.Pattern()
	}
	return ""
}

// example writes one cell of an example row: a number, a date, or text.
func (b *starterBook) example(d *survey.Description, column, row int, c *survey.Column, text string) error {
	cell, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		return err
	}
	l := look{format: entryFormat(c), right: c.Type == survey.ResultCell, italic: strings.HasPrefix(text, survey.ExamplePrefix)}
	var value any = text
	switch entry := entryOf(c, text).(type) {
	case float64:
		_, decimals, _ := strings.Cut(text, ".")
		value, l.format, l.right = entry, numberFormat(len(decimals), false), true
	case time.Time:
		value = serial(entry)
		if len(text) == len(time.DateOnly) {
			l.format = "yyyy-mm-dd"
		}
	}
	return errors.Join(b.file.SetCellValue(d.Name, cell, value), b.file.SetCellStyle(d.Name, cell, cell, b.styles.of(l)))
}

// setUp sets how a sheet prints: on A4, over as many pages side by side as are
// given.
func (b *starterBook) setUp(sheet, orientation string, wide int) error {
	fit, paper, high := true, 9, 0
	return errors.Join(
		b.file.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &fit}),
		b.file.SetPageLayout(sheet, &excelize.PageLayoutOptions{Size: &paper, Orientation: &orientation, FitToWidth: &wide, FitToHeight: &high}),
		b.file.SetPageMargins(sheet, margins()),
		b.file.SetHeaderFooter(sheet, &excelize.HeaderFooterOptions{OddHeader: "&L&F&R&A", OddFooter: "&RPage &P of &N"}))
}

// titles repeats the header row and the first column on every printed page.
func (b *starterBook) titles(sheet string) error {
	return b.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", Scope: sheet, RefersTo: "'" + sheet + "'!$A:$A,'" + sheet + "'!$1:$1"})
}
