package reports

import (
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"airtally/exposure/finding"
)

const summarySheet = "Summary"

// summaryColumns is how wide the summary's columns are.
var summaryColumns = []float64{16, 24, 22, 17, 22, 12, 10, 9, 21, 12}

// Rows that the summary has for lists; more are counted.
const (
	summaryHighest = 24
	summaryLeftOut = 25
	titleSize      = 16
	headingSize    = 12
	cautionSize    = 11
)

// summaryRow is one row of the summary before it is streamed.
type summaryRow struct {
	entries []any
	height  float64
	merged  bool // the first cell takes the whole width
	from    int  // a cell from this column on takes the rest of the width; 0 none
}

// cover lays out the summary.
type cover struct {
	*styles
	rows []summaryRow
}

func (b *book) summary() error {
	c := &cover{styles: b.styles}
	c.title(b.report)
	c.highest(b.report)
	c.outcomes(b.report)
	c.leftOut(b.report)
	sw, err := b.sheet(summarySheet, len(summaryColumns), len(c.rows), false)
	if err != nil {
		return err
	}
	if err := setWidths(sw, summaryColumns); err != nil {
		return err
	}
	for i, row := range c.rows {
		if err := b.row(sw, i+1, row.entries, excelize.RowOpts{Height: row.height}); err != nil {
			return err
		}
		if err := merge(sw, i+1, row); err != nil {
			return err
		}
	}
	return sw.Flush()
}

func merge(sw *excelize.StreamWriter, at int, row summaryRow) error {
	first := row.from
	if row.merged {
		first = 1
	}
	if first == 0 {
		return nil
	}
	from, err := excelize.CoordinatesToCellName(first, at)
	if err != nil {
		return err
	}
	to, err := excelize.CoordinatesToCellName(len(summaryColumns), at)
	if err != nil {
		return err
	}
	return sw.MergeCell(from, to)
}

// add adds a row, as high as its longest text needs.
func (c *cover) add(entries ...any) {
	lines := 1
	for i, e := range entries {
		cell, _ := e.(excelize.Cell)
		if words, ok := cell.Value.(string); ok {
			lines = max(lines, len(wrap(words, int(summaryColumns[i])+1)))
		}
	}
	c.rows = append(c.rows, summaryRow{entries: entries, height: float64(lines) * lineHeight})
}

// across adds text over the whole width, as high as its lines need.
func (c *cover) across(l look, text string) {
	l.wrap = true
	if startsFormula(text) {
		l.format = textOnly
	}
	id := c.of(l)
	entries := make([]any, len(summaryColumns))
	for i := range entries {
		entries[i] = excelize.Cell{StyleID: id} // a frame needs every cell of a merged range
	}
	entries[0] = excelize.Cell{StyleID: id, Value: text}
	size := max(l.size, fontSize)
	lines := len(wrap(text, int(totalWidth()*fontSize/size)))
	c.rows = append(c.rows, summaryRow{entries: entries, merged: true, height: float64(lines)*size*1.35 + 5})
}

func totalWidth() float64 {
	sum := 0.0
	for _, w := range summaryColumns {
		sum += w
	}
	return sum
}

func (c *cover) heading(text string) {
	c.add()
	c.across(look{bold: true, size: headingSize, edge: thinLine}, text)
}

// head adds a header row; figures stand flush right under those in numbers.
func (c *cover) head(numbers []int, texts ...string) {
	entries := make([]any, len(texts))
	for i, t := range texts {
		l := look{bold: true, wrap: true, fill: headFill, edge: thinLine, right: slices.Contains(numbers, i)}
		entries[i] = excelize.Cell{StyleID: c.of(l), Value: t}
	}
	c.add(entries...)
}

// fact adds a name with what it stands for.
func (c *cover) fact(name, value string) {
	if value == "" {
		return
	}
	rest := totalWidth() - summaryColumns[0]
	c.rows = append(c.rows, summaryRow{
		entries: []any{excelize.Cell{StyleID: c.of(look{bold: true}), Value: name}, c.textEntry(value, prose)},
		from:    2,
		height:  float64(len(wrap(value, int(rest))))*lineHeight + 2,
	})
}

func (c *cover) title(r *Report) {
	c.across(look{bold: true, size: titleSize}, r.title())
	c.across(look{bold: true, size: cautionSize, framed: true}, Caution)
	c.add()
	s := &r.Settings
	var paths []string
	for _, s := range r.Surveys {
		paths = append(paths, s.Path)
	}
	for _, f := range [][2]string{
		{"Site", s.Site}, {"Client", s.Client}, {"Report number", s.ReportNumber},
		{"Prepared by", s.PreparedBy}, {"Reviewed by", s.ReviewedBy},
		{"Results received", s.ResultsReceived}, {"Determination", s.DeterminedOn},
		{"Read from", strings.Join(paths, ", ")},
		{"Holds", fmt.Sprintf("%s, %s, %s", counted(len(r.Samples), "sample"),
			counted(len(r.Concentrations), "laboratory result"), counted(len(r.Exposures), "exposure"))},
		{"Made", r.created() + " by " + r.tool()},
	} {
		c.fact(f[0], f[1])
	}
}

func (c *cover) highest(r *Report) {
	c.heading("Highest exposure to each substance, by authority; the first governs")
	top, more := r.highest(summaryHighest)
	if len(top) == 0 {
		c.across(look{}, "Nothing was compared with a limit.")
		return
	}
	c.head([]int{5, 6}, "Worker", "Shift", "Analyte", "Authority", "Kind of limit", "Exposure", "Limit", "Unit", "Of the limit", "Outcome")
	for _, m := range top {
		c.add(
			c.textEntry(m.Worker, prose), c.textEntry(shiftText(m.Shift, m.Sample), prose),
			c.textEntry(substanceText(m.Substance), prose), c.textEntry(m.Limit.Authority, prose),
			c.textEntry(string(m.Limit.Kind)+", "+averageWords[m.Basis], prose),
			c.entry(number(m.Value).against(m.LimitValue), figures), c.entry(number(m.LimitValue), published),
			c.textEntry(prettyUnit(m.Limit.Unit.Name), figures), c.textEntry(percentOf(m.Fraction), prose),
			c.textEntry(string(m.Outcome), verdict),
		)
	}
	if more > 0 {
		c.across(look{italic: true}, fmt.Sprintf("and %d more, none of graver outcome than these; see the sheet of exposures and limits", more))
	}
}

func (c *cover) outcomes(r *Report) {
	c.heading("Outcomes of the comparisons")
	c.head([]int{1, 2, 3}, "Authority", "Above the limit", "Undecided", "Below")
	for _, t := range r.tallies() {
		c.add(c.textEntry(t.authority, prose), c.tallied(t.above, true), c.tallied(t.undecided, false), c.tallied(t.below, false))
	}
	over := tally{authority: "Mixtures"}
	for i := range r.Mixtures {
		over.add(r.Mixtures[i].Outcome)
	}
	if len(r.Mixtures) > 0 {
		c.add(c.textEntry(over.authority, prose), c.tallied(over.above, true), c.tallied(over.undecided, false), c.tallied(over.below, false))
	}
	c.across(look{}, "Undecided: the bounds of the result, the sampling and analytical error or the minutes not sampled allow either. "+
		"It is no proof of being below.")
}

// tallied is a count; one above zero may ask to be seen.
func (c *cover) tallied(n int, grave bool) excelize.Cell {
	return excelize.Cell{StyleID: c.of(look{format: "0" + clear, bold: grave && n > 0, right: true}), Value: n}
}

func (c *cover) leftOut(r *Report) {
	c.heading("What was left out")
	stops := r.byCode(finding.Stop)
	if len(stops) == 0 {
		c.across(look{}, "Nothing was left out.")
	}
	shown, all := 0, r.Count(finding.Stop)
	for _, group := range stops {
		for _, f := range group {
			if shown == summaryLeftOut {
				break
			}
			shown++
			c.across(look{}, strings.Join(nonEmpty(f.Place.String(), f.Subject, f.Message+". To do: "+f.Remedy), " · "))
		}
	}
	if all > shown {
		c.across(look{italic: true}, fmt.Sprintf("and %d more; see the sheet of findings", all-shown))
	}
	c.across(look{}, fmt.Sprintf("Findings that need a look before a figure is used: %d. Notes: %d. All are in the sheet of findings.",
		r.Count(finding.Check), r.Count(finding.Note)))
}

func nonEmpty(texts ...string) []string {
	var kept []string
	for _, t := range texts {
		if t != "" {
			kept = append(kept, t)
		}
	}
	return kept
}
