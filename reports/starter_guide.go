package reports

import (
	"errors"
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"airtally/exposure/survey"
)

// guideStep is one line of the order of work.
type guideStep struct{ sheet, what string }

// guideSteps is the order of work, in ten lines.
var guideSteps = []guideStep{
	{"", "Look round. Every sheet holds invented rows; their first cells begin with " + survey.ExamplePrefix + ". They count like any others until you delete them: whole rows, never the header."},
	{"survey", "Fill in title, site, client and names. The settings stand at their defaults; the note on each says what it does. In authorities the first governs."},
	{"devices", "One row for each flow meter, with the date of its certificate. In media, one row for each kind of filter or tube: the flow its method asks for, its volumes, its form."},
	{"limits", "Only if you or your client have limits of your own: a row for each. Then name their authority in survey, in authorities, first if it is to govern. An oxide limited as such but analysed as its metal goes into derived."},
	{"workers", "One row for each person, by code. In shifts, one row for each person and shift. In gaps, each stretch whose exposure you know without sampling: a lunch, the wash-up."},
	{survey.FieldSheet, "Print it, one for two trains. Before sampling set every leg, then read every leg again untouched; after sampling read every leg once more."},
	{"flows", "Copy the readings and the unit as the meter showed it: one row for each leg and check. pre is before sampling, post after; adjusted where you set the flow, verified where you only read it."},
	{"samples", "One row for each filter or tube: its train, leg and lot, who wore it, start and stop with the date, the minutes the pump stood still in pause. Two field blanks of each lot: kind blank, no train, no times of day."},
	{"lab", "One row for each sample and analyte, as the laboratory wrote it: <0.06 where nothing was found. Front and back of a tube are two rows. In survey, write the day they came beside results_received."},
	{"", "Save, then type:  airtally check FILE.xlsx  and mend what it names;  then  airtally reduce FILE.xlsx -o results  for the report."},
}

// guideFoot are remarks under the order of work.
var guideFoot = []string{
	"Headers: bold with (required) must be filled in every row; the others may stay blank, and in survey what is not known yet. Point at a header to read what it wants.",
	"Dates: 2026-03-02 22:10, hours from 0 to 23. Numbers, codes and CAS numbers: type them as they are; those columns keep what you type.",
	"Columns may be moved, and those not needed deleted. Add none above the header row.",
}

var guideWidths = []float64{5, 12, 10, 90}

// guide fills the first sheet: the order of work, and what each sheet holds.
func (b *starterBook) guide(plan trainPlan) error {
	g := sheetWriter{starterBook: b, sheet: survey.GuideSheet}
	g.widths(guideWidths)
	g.line(look{bold: true, size: titleSize}, titleSize*1.5, "A survey in ten steps")
	g.line(look{italic: true, wrap: true}, 0, "The example: "+plan.says()+". All of it is invented.")
	g.row++
	for i, s := range guideSteps {
		g.step(fmt.Sprint(i+1), s.sheet, "", s.what)
	}
	g.row++
	for _, text := range guideFoot {
		g.line(look{wrap: true}, 0, text)
	}
	g.row++
	g.line(look{bold: true, size: headingSize}, headingSize*1.5, "The sheets")
	for _, d := range survey.Descriptions() {
		needed := "if wanted"
		if d.Required {
			needed = survey.RequiredMark
		}
		g.step("", d.Name, needed, sentence(d.Help))
	}
	g.row++
	g.line(look{italic: true, wrap: true}, 0, Caution)
	g.line(look{}, 0, "Made by airtally "+b.Version+".")
	return errors.Join(append(g.errs, b.setUp(g.sheet, "portrait", 1))...)
}

// says tells in words what trains the example shows.
func (p trainPlan) says() string {
	var hung []string
	for _, l := range p.legs {
		hung = append(hung, "leg "+l.leg+" a "+l.medium["description"]+" at "+l.target())
	}
	if len(hung) == 1 {
		return "each worker wears one pump with one sampler, " + hung[0]
	}
	return "each worker wears one pump with a split manifold, " + strings.Join(hung, "; ")
}

// sheetWriter writes a sheet of words, row after row.
type sheetWriter struct {
	*starterBook
	sheet string
	row   int // last written
	wide  []float64
	errs  []error
}

func (g *sheetWriter) widths(all []float64) {
	g.wide = all
	for i, w := range all {
		name, err := excelize.ColumnNumberToName(i + 1)
		g.errs = append(g.errs, err, g.file.SetColWidth(g.sheet, name, name, w))
	}
}

// put writes one cell of the current row.
func (g *sheetWriter) put(column int, l look, text string) {
	cell, err := excelize.CoordinatesToCellName(column, g.row)
	g.errs = append(g.errs, err)
	if text != "" {
		g.errs = append(g.errs, g.file.SetCellStr(g.sheet, cell, text))
	}
	g.errs = append(g.errs, g.file.SetCellStyle(g.sheet, cell, cell, g.styles.of(l)))
}

// line writes a text over all columns; a height of 0 is as high as it needs.
func (g *sheetWriter) line(l look, height float64, text string) {
	g.row++
	g.put(1, l, text)
	room := 0.0
	for _, w := range g.wide {
		room += w
	}
	if height == 0 {
		height = rowHeight(textLines(text, room))
	}
	g.errs = append(g.errs, g.merge(1, len(g.wide)), g.file.SetRowHeight(g.sheet, g.row, height))
}

func (g *sheetWriter) merge(from, to int) error {
	first, err := excelize.CoordinatesToCellName(from, g.row)
	last, err2 := excelize.CoordinatesToCellName(to, g.row)
	return errors.Join(err, err2, g.file.MergeCell(g.sheet, first, last))
}

// step writes a numbered line that leads to a sheet.
func (g *sheetWriter) step(number, sheet, needed, what string) {
	g.row++
	l := look{edge: hairLine, wrap: true}
	g.put(1, look{edge: hairLine, bold: true}, number)
	g.put(2, look{edge: hairLine, bold: true}, sheet)
	g.put(3, l, needed)
	g.put(4, l, what)
	if sheet != "" {
		cell := fmt.Sprintf("B%d", g.row)
		g.errs = append(g.errs, g.file.SetCellHyperLink(g.sheet, cell, "'"+sheet+"'!A1", "Location"))
	}
	g.errs = append(g.errs, g.file.SetRowHeight(g.sheet, g.row, rowHeight(textLines(what, g.wide[3]))))
}

// fieldColumn is one column of the form for flow checks.
type fieldColumn struct {
	heading string
	width   float64
}

var fieldColumns = []fieldColumn{
	{"Step", 6}, {"Stage", 7}, {"Leg", 8}, {"What to do", 44}, {"Action", 11},
	{"Reading 1", 11}, {"Reading 2", 11}, {"Reading 3", 11}, {"Unit", 9}, {"Flow meter", 13}, {"Time", 10},
}

const (
	trainsOnForm  = 2
	fieldRowHigh  = 25.0 // a hand-written line
	fieldHeadHigh = 24.0
)

// field fills the form that is printed and taken along.
func (b *starterBook) field(plan trainPlan) error {
	g := sheetWriter{starterBook: b, sheet: survey.FieldSheet}
	var widths []float64
	for _, c := range fieldColumns {
		widths = append(widths, c.width)
	}
	g.widths(widths)
	g.line(look{bold: true, size: titleSize}, titleSize*1.5, "Flow checks in the field")
	g.line(look{wrap: true}, 0, "Three readings each. A step marked adjusted is where the flow is set; after the last setting every leg is read again, "+
		"because setting one leg moves the others. Copy each line into a row of the sheet flows. This sheet is not read.")
	for range trainsOnForm {
		g.row++
		g.form(plan)
	}
	return errors.Join(append(g.errs, b.setUp(g.sheet, "landscape", 1), b.onePage(g.sheet))...)
}

// form writes the lines of one train.
func (g *sheetWriter) form(plan trainPlan) {
	g.line(look{bold: true}, fieldHeadHigh, "Train ____________   Pump ____________   Worker ____________   Date ____________   "+
		"Temperature ________ °C   Pressure ________ kPa   Checked by ____________")
	for _, l := range plan.legs {
		g.line(look{}, fieldHeadHigh, "Leg "+l.leg+"   Sample ____________   Medium ________________________   Lot ____________   "+
			"Start ____________   Stop ____________   Pause ________ min   Pump timer ________ min")
	}
	g.row++
	for i, c := range fieldColumns {
		g.put(i+1, look{bold: true, fill: headFill, framed: true}, c.heading)
	}
	step := 0
	steps := plan.steps()
	for i, s := range steps {
		if step++; i > 0 && steps[i-1].stage != s.stage {
			step = 1
		}
		g.row++
		unit := plan.leg(s.leg).unit
		for at, text := range []string{fmt.Sprint(step), s.stage, s.leg, s.what, s.action, "", "", "", unit, "", ""} {
			g.put(at+1, look{framed: true, middle: true}, text)
		}
		g.errs = append(g.errs, g.file.SetRowHeight(g.sheet, g.row, fieldRowHigh))
	}
}

// onePage makes a sheet fit one page.
func (b *starterBook) onePage(sheet string) error {
	wide, high := 1, 1
	return b.file.SetPageLayout(sheet, &excelize.PageLayoutOptions{FitToWidth: &wide, FitToHeight: &high})
}
