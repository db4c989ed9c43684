package reports

import (
	"fmt"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/limits"
)

const summarySheet = "Summary"

// summaryColumns is how wide the summary's columns are: one printed page
// upright, at a size that can be read.
var summaryColumns = []float64{9, 16, 21, 15, 28, 19, 28}

// factsFrom is the column where the facts stand, right of their names.
const factsFrom = 3

// shortList is how much of a long list the summary has, so that it stays on one
// page: what is beyond it is counted.
type shortList struct {
	rows  int
	until float64 // height of the summary, in points, at which its rows end
}

// leastRows is how many rows every list has, however high the summary is.
const leastRows = 2

var (
	summaryAbove     = shortList{14, 690}
	summaryUndecided = shortList{10, 810}
	summaryMixtures  = shortList{7, 900}
	summaryBelow     = shortList{10, 960}
)

const (
	summaryLeftOut = 6
	titleSize      = 16
	headingSize    = 12
	cautionSize    = 11
)

// summaryRow is one row of the summary before it is streamed.
type summaryRow struct {
	entries []any
	height  float64
	from    int // a cell from this column on takes the rest of the width; 0 none
}

// cover lays out the summary.
type cover struct {
	*styles
	rows []summaryRow
}

func (b *book) summary() error {
	c := &cover{styles: b.styles}
	c.title(b.report)
	c.edits(b.editedNote())
	c.outcomes(b.report)
	c.leftOut(b.report)
	c.comparisons("Above a limit", b.report.withOutcome(limits.Exceeds), summaryAbove)
	c.comparisons("Undecided, and what keeps it so", b.report.withOutcome(limits.Undecided), summaryUndecided)
	c.mixtures(b.report)
	c.comparisons("Below: each substance under the limit that it comes nearest to", b.report.highestBelow(), summaryBelow)
	c.readOn(b.report)
	if err := b.sheet(layout{name: summarySheet, columns: len(summaryColumns), rows: len(c.rows),
		orientation: "portrait", pagesHigh: 1}); err != nil {
		return err
	}
	sw, err := b.file.NewStreamWriter(summarySheet)
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
	if row.from == 0 {
		return nil
	}
	from, err := excelize.CoordinatesToCellName(row.from, at)
	if err != nil {
		return err
	}
	to, err := excelize.CoordinatesToCellName(len(summaryColumns), at)
	if err != nil {
		return err
	}
	return sw.MergeCell(from, to)
}

// add adds a row of a table, as high as its longest text needs.
func (c *cover) add(entries ...any) {
	lines := 1
	for i, e := range entries {
		cell, _ := e.(excelize.Cell)
		if words, ok := cell.Value.(string); ok {
			lines = max(lines, textLines(words, summaryColumns[i]))
		}
	}
	c.rows = append(c.rows, summaryRow{entries: entries, height: rowHeight(lines) - 1})
}

// gap adds a narrow row between sections.
func (c *cover) gap() { c.rows = append(c.rows, summaryRow{height: 8}) }

// across adds text over the whole width, as high as its lines need.
func (c *cover) across(l look, text string) {
	l.wrap, l.middle = true, true
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
	lines := textLines(text, widthFrom(1)*fontSize/size)
	c.rows = append(c.rows, summaryRow{entries: entries, from: 1, height: float64(lines)*size*1.3 + rowPadding})
}

// widthFrom returns the width of the columns from one on.
func widthFrom(column int) float64 {
	sum := 0.0
	for _, w := range summaryColumns[column-1:] {
		sum += w
	}
	return sum
}

func (c *cover) heading(text string) {
	c.gap()
	c.across(look{bold: true, size: headingSize}, text)
}

// head adds a header row; figures stand flush right under those in numbers.
func (c *cover) head(numbers []int, texts ...string) {
	entries := make([]any, len(texts))
	for i, t := range texts {
		l := look{bold: true, wrap: true, middle: true, fill: headFill, edge: thinLine, right: slices.Contains(numbers, i)}
		entries[i] = excelize.Cell{StyleID: c.of(l), Value: t}
	}
	c.add(entries...)
}

// fact adds a name with what it stands for.
func (c *cover) fact(name, value string, bold bool) {
	if value == "" {
		return
	}
	entries := make([]any, factsFrom)
	entries[0] = c.textEntry(name, figures, look{bold: true})
	entries[factsFrom-1] = c.textEntry(value, prose, look{wrap: true, bold: bold})
	lines := textLines(value, widthFrom(factsFrom))
	c.rows = append(c.rows, summaryRow{entries: entries, from: factsFrom, height: float64(lines)*lineHeight + 1})
}

func (c *cover) title(r *Report) {
	c.across(look{bold: true, size: titleSize}, r.title())
	c.across(look{bold: true, size: cautionSize, framed: true}, Caution)
	c.gap()
	s := &r.Settings
	for _, f := range [][2]string{
		{"Site", s.Site}, {"Client", s.Client}, {"Report number", s.ReportNumber},
		{"Prepared by", s.PreparedBy}, {"Reviewed by", s.ReviewedBy},
		{"Results received", s.ResultsReceived}, {"Determination made", s.DeterminedOn},
		{"Read from", r.readFrom()},
		{"Holds", r.holds()},
		{"Made", r.created() + " by " + r.tool()},
	} {
		c.fact(f[0], f[1], false)
	}
}

// edits says whether what is read here is what the sheets hold.
func (c *cover) edits(formula string) {
	if formula == "" {
		return
	}
	c.across(look{bold: true}, asRun)
	row := &c.rows[len(c.rows)-1]
	said := row.entries[0].(excelize.Cell)
	said.Formula = formula
	row.entries[0] = said
}

func (c *cover) outcomes(r *Report) {
	c.heading("Outcomes of the comparisons with limits; the first authority governs")
	all := r.tallies()
	if len(all) == 0 {
		c.across(look{}, "Nothing was compared with a limit.")
	}
	if len(r.Mixtures) > 0 {
		over := tally{authority: "Mixtures"}
		for i := range r.Mixtures {
			over.add(r.Mixtures[i].Outcome)
		}
		all = append(all, over)
	}
	if groups := r.governedGroups(); len(groups) > 0 {
		all = append(all, tallyOfGroups("Groups", groups))
	}
	for _, t := range all {
		c.fact(t.authority, t.words(), t.above > 0)
	}
}

func (c *cover) leftOut(r *Report) {
	c.heading("What was left out, and what to look at")
	shown, all := 0, r.Count(finding.Stop)
	if all == 0 {
		c.across(look{}, "Nothing was left out.")
	}
	for _, group := range r.byCode(finding.Stop) {
		for _, f := range group[:min(len(group), summaryLeftOut-shown)] {
			shown++
			c.across(look{}, strings.Join(nonEmpty(notIn(f.Message, f.Subject), clip(f.Message, longestSaid), r.briefPlace(f)), " · "))
		}
	}
	if all > shown {
		c.across(look{italic: true}, fmt.Sprintf("and %d more left out; see the sheet Findings", all-shown))
	}
	c.across(look{}, fmt.Sprintf("Findings to look at before a figure is used: %d. Notes: %d. What to do about each stands in the sheet Findings.",
		r.Count(finding.Check), r.Count(finding.Note)))
}

// longestSaid is how much of one finding the summary says.
const longestSaid = 300

// fill adds rows of a list of n while it has room, and returns how many.
func (c *cover) fill(n int, l shortList, row func(int)) int {
	shown := 0
	for shown < min(n, l.rows) && (shown < leastRows || c.height() < l.until) {
		row(shown)
		shown++
	}
	return shown
}

func (c *cover) height() float64 {
	sum := 0.0
	for i := range c.rows {
		sum += c.rows[i].height
	}
	return sum
}

// comparisons adds a table of comparisons, or nothing where there are none.
func (c *cover) comparisons(heading string, all []*exposure.Comparison, room shortList) {
	if len(all) == 0 {
		return
	}
	c.heading(heading)
	c.head([]int{3, 5}, "Worker", "Shift, sample", "Analyte", "Exposure", "Limit", "Of the limit", "Outcome")
	n := c.fill(len(all), room, func(i int) {
		m := all[i]
		limit := fmt.Sprintf("%s, %s %s", limitName(m), publishedText(m.LimitValue), prettyUnit(m.Limit.Unit.Name))
		c.add(c.words(m.Worker), c.words(shiftText(m.Shift, m.Sample)), c.words(substanceText(m.Substance)),
			c.entry(text(exposureWithUnit(m)), span), c.words(limit),
			c.entry(text(percentOf(m.Fraction)), span), c.outcome(m.Outcome, whyUndecided(m)))
	})
	if more := len(all) - n; more > 0 {
		c.across(look{italic: true}, fmt.Sprintf("and %d more; see the sheet Exposures vs limits", more))
	}
}

// limitName names a limit and, where its kind does not say it, what it is
// averaged over.
func limitName(c *exposure.Comparison) string {
	name := c.Limit.Authority + " " + string(c.Limit.Kind)
	name += prefixed(", ", unusualAverage(c))
	if c.Limit.FromMemory() {
		name += ", " + limits.MemoryMark
	}
	return name
}

func (c *cover) words(s string) any { return c.entry(text(s), figures) }

// outcome is an outcome with what keeps it undecided.
func (c *cover) outcome(o limits.Outcome, why string) any {
	l := look{wrap: true, middle: true, edge: hairLine}.weighed(string(o))
	return c.textEntry(strings.Join(nonEmpty(string(o), why), ": "), prose, l)
}

func (c *cover) mixtures(r *Report) {
	all := r.mixturesNotBelow()
	if len(all) == 0 {
		return
	}
	c.heading("Mixtures above 1 or undecided")
	c.head([]int{5}, "Worker", "Shift, sample", "Mixture", "", "Limits", "Index", "Outcome")
	n := c.fill(len(all), summaryMixtures, func(i int) {
		m := all[i]
		c.add(c.words(m.Worker), c.words(shiftText(m.Shift, m.Sample)), c.words(m.Mixture), c.words(""),
			c.words(m.Authority+" "+string(m.Kind)), c.entry(text(indexOf(m.Index)), span), c.outcome(m.Outcome, whyMixtureUndecided(m)))
	})
	if more := len(all) - n; more > 0 {
		c.across(look{italic: true}, fmt.Sprintf("and %d more; see the sheet Mixtures", more))
	}
}

// readOn says where to find the rest, and how to read what was said.
func (c *cover) readOn(r *Report) {
	c.heading("How to read this, and where to read on")
	c.across(look{}, "Undecided is no proof of being below: the bounds of the result, the sampling and analytical error or the minutes not sampled allow either.")
	if note := r.twice(); note != "" {
		c.across(look{}, note)
	}
	c.across(look{}, "Sheets: Exposures vs limits and Mixtures have every comparison; Exposures, Concentrations, Volumes, Flow checks and Laboratory how the figures came about; "+
		"Groups what the shifts of each group say together; Findings what to look at and what to do; Limits used, Settings and Inputs what the figures rest on. "+
		"Columns headed in italics stand right of what is printed. Unrounded: "+ResultsFile+" and the folder "+TablesFolder+".")
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
