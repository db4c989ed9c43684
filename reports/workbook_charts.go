package reports

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"airtally/exposure"
	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

const (
	chartSheet  = "Charts"
	mostCharted = 60 // worker-shifts, or groups; more are too many to tell apart
	chartRows   = 22 // of the sheet, that a chart stands over
	chartsAPage = 2
	offChart    = 1e-12
)

// Heights of the sheet, in points. Its print is fitted to the width of a page,
// which only makes it smaller, so a page of A4 or of Letter holds chartPage or more.
const (
	chartRowHeight  = 15.0
	chartTitleRow   = 20.0
	chartHeadingRow = 41.0
	chartPage       = 690.0 // 11 inches less the margins
)

// chartTable is a chart with the figures that it draws: a column of names and
// one for each series.
type chartTable struct {
	headings []string
	rows     [][]any
	at       int // row of the headings
}

// charted is one point of the chart of exposures.
type charted struct {
	*exposure.Comparison
	action float64 // the action level as a fraction of the limit; 0 none
}

// chartWidths are the widths of the columns under the charts.
var chartWidths = []float64{36, 12.5, 14, 12.5, 12.5, 12.5}

// charts adds the sheet of charts, with the figures they draw below them.
func (b *book) charts() error {
	points := b.report.charted()
	if len(points) == 0 {
		return nil
	}
	shifts, groups, flows := b.exposureFigures(points), b.groupFigures(), b.flowColumns()
	charts := 1
	if flows != nil {
		charts++
	}
	if len(groups.rows) > 0 {
		charts++
	}
	plots := b.probabilityTables()
	tables := []*chartTable{&shifts, &groups}
	for i := range plots {
		tables = append(tables, &plots[i].chartTable)
	}
	last := 2 + (charts+len(plots))*chartRows
	for _, t := range tables {
		if len(t.rows) > 0 {
			t.at = last
			last += len(t.rows) + 2
		}
	}
	if err := b.chartSheet(last, charts+len(plots), tables); err != nil {
		return err
	}
	next := 2
	place := func(c *excelize.Chart) error {
		at := fmt.Sprintf("A%d", next)
		next += chartRows
		c.Format.AltText = c.Title.Paragraph[0].Text // for those who do not see it
		c.Format.OffsetY = chartInset
		return b.file.AddChart(chartSheet, at, c)
	}
	errs := []error{place(exposureChart(points, &shifts))}
	if len(groups.rows) > 0 {
		errs = append(errs, place(groupChart(&groups)))
	}
	for i := range plots {
		errs = append(errs, place(plots[i].chart()))
	}
	if flows != nil {
		errs = append(errs, place(b.flowChart(flows)))
	}
	return errors.Join(append(errs, b.chartFigures(tables...))...)
}

// chartSheet begins the sheet: what decides where a chart ends, the widths of its
// columns, must stand before the charts do.
func (b *book) chartSheet(rows, charts int, tables []*chartTable) error {
	if err := b.sheet(layout{name: chartSheet, columns: len(chartWidths), rows: rows, orientation: "portrait"}); err != nil {
		return err
	}
	var errs []error
	for i, width := range chartWidths {
		errs = append(errs, b.file.SetColWidth(chartSheet, letters(i), letters(i), width))
	}
	for _, row := range chartBreaks(charts, tables) {
		errs = append(errs, b.file.InsertPageBreak(chartSheet, fmt.Sprintf("A%d", row)))
	}
	return errors.Join(errs...)
}

// chartBreaks returns the rows that begin a page: no chart is cut, and no table
// of figures that one page can hold.
func chartBreaks(charts int, tables []*chartTable) []int {
	var rows []int
	for n := chartsAPage; n < charts; n += chartsAPage {
		rows = append(rows, 2+n*chartRows)
	}
	used := chartPage // the figures begin a page of their own
	for _, t := range tables {
		if len(t.rows) == 0 {
			continue
		}
		high := chartHeadingRow + float64(len(t.rows)+1)*chartRowHeight
		if used+high > chartPage {
			rows, used = append(rows, t.at), 0
		}
		used = math.Mod(used+high, chartPage)
	}
	return rows
}

// charted returns the worker-shifts that are charted: against the governing
// authority's limits of a whole shift, the highest first.
func (r *Report) charted() []charted {
	var all []charted
	for i := range r.Comparisons {
		c := &r.Comparisons[i]
		whole := c.Limit.Kind == limits.TWA8 || c.Limit.Kind == limits.TWA10
		if whole && c.Basis != exposure.Worst8h && r.authorityRank(c.Limit.Authority) == 0 && positive(c.Fraction.Value+bounded(c.Fraction.High)) {
			all = append(all, charted{Comparison: c})
		}
	}
	slices.SortStableFunc(all, func(a, b charted) int { return worst(a.Comparison, b.Comparison) })
	all = all[:min(len(all), mostCharted)]
	for i := range all {
		all[i].action = r.actionLevel(all[i].Comparison)
	}
	return all
}

func positive(v float64) bool { return v > 0 && !math.IsInf(v, 0) && !math.IsNaN(v) }

func bounded(v float64) float64 {
	if math.IsInf(v, 0) {
		return 0
	}
	return v
}

// actionLevel returns the action level beside a limit, as a fraction of it; 0
// where there is none in the same dimension.
func (r *Report) actionLevel(c *exposure.Comparison) float64 {
	for i := range r.Comparisons {
		a := &r.Comparisons[i]
		if a.Exposure == c.Exposure && a.Limit.Kind == limits.Action && a.Limit.Authority == c.Limit.Authority && a.Limit.Unit.Dim == c.Limit.Unit.Dim {
			return a.LimitValue * a.Limit.Unit.ToBase / (c.LimitValue * c.Limit.Unit.ToBase)
		}
	}
	return 0
}

// chartFigures writes the figures under the charts.
func (b *book) chartFigures(tables ...*chartTable) error {
	sw, err := b.file.NewStreamWriter(chartSheet)
	if err != nil {
		return err
	}
	if err := setWidths(sw, chartWidths); err != nil {
		return err
	}
	title := excelize.Cell{StyleID: b.styles.of(look{bold: true, size: headingSize}), Value: "Charts, and the figures they draw"}
	if err := b.row(sw, 1, []any{title}, excelize.RowOpts{Height: chartTitleRow}); err != nil {
		return err
	}
	next := 2
	for _, t := range tables {
		if len(t.rows) == 0 {
			continue
		}
		// Rows under the charts have the height the charts were measured by: not
		// every program takes the same for one that has none.
		for ; next < t.at; next++ {
			if err := b.row(sw, next, nil, excelize.RowOpts{Height: chartRowHeight}); err != nil {
				return err
			}
		}
		headings := make([]any, len(t.headings))
		for i, h := range t.headings {
			l := look{bold: true, wrap: true, middle: true, fill: headFill, edge: thinLine, right: i > 0}
			headings[i] = excelize.Cell{StyleID: b.styles.of(l), Value: h}
		}
		if err := b.row(sw, t.at, headings, excelize.RowOpts{Height: chartHeadingRow}); err != nil {
			return err
		}
		for i, row := range t.rows {
			if err := b.row(sw, t.at+1+i, row, excelize.RowOpts{Height: chartRowHeight}); err != nil {
				return err
			}
		}
		next = t.at + 1 + len(t.rows)
	}
	return sw.Flush()
}

// exposureFigures returns the figures of the chart of exposures.
func (b *book) exposureFigures(points []charted) chartTable {
	t := chartTable{headings: []string{"Worker-shift", "Known", "Under the reporting limit", "At least", "Action level", "Limit"}}
	for i := range points {
		t.rows = append(t.rows, b.chartedRow(&points[i]))
	}
	return t
}

// groupFigures returns the figures of the chart of groups: the 95th percentile
// and its limits as shares of the limit that governs.
func (b *book) groupFigures() chartTable {
	t := chartTable{headings: []string{"Group", "95th percentile", "Upper limit, 95 % confidence", "Lower limit, 95 % confidence", "", "Limit"}}
	at := slices.IndexFunc(b.placed, func(p *placed) bool { return p.name == "groups" })
	if at < 0 {
		return t
	}
	p, all := b.placed[at], b.report.Results.Groups()
	governs := map[groupOf]bool{}
	for _, g := range b.report.governedGroups() {
		governs[groupOf{g.Name, g.Substance, g.Limit}] = true
	}
	for i := range all {
		g := &all[i]
		if e := leadingOf(g).p95; governs[groupOf{g.Name, g.Substance, g.Limit}] && e.Value.Known && len(t.rows) < mostCharted {
			t.rows = append(t.rows, b.groupRow(spot{p, i}, g, e))
		}
	}
	return t
}

type groupOf struct {
	name      string
	substance *exposure.Substance
	limit     *limits.Limit
}

func (b *book) groupRow(at spot, g *groupRow, e group.Estimate) []any {
	row := []any{b.styles.textEntry(strings.Join(nonEmpty(g.Name, substanceText(g.Substance)), " · "), figures, look{edge: hairLine, middle: true})}
	limit, _ := at.cell(nil, "limit", "")
	for i, o := range []stats.Optional{e.Value, e.UCL, e.LCL} {
		shown, formula := offChart, ""
		if o.Known {
			shown = o.Value / g.Limit.Value
			cell, has := at.cell(nil, [...]string{"p95", "p95_ucl95", "p95_lcl95"}[i], "")
			if has && at.in.steps != nil {
				formula = fmt.Sprintf("IF(%s=%s,1E-12,%s/%s)", cell, staleName, cell, limit)
			}
		}
		row = append(row, excelize.Cell{StyleID: b.styles.of(chartLook), Formula: formula, Value: shown})
	}
	return append(row, nil, excelize.Cell{StyleID: b.styles.of(chartLook), Value: 1.0})
}

// chartedRow returns the figures of one point: each series has those that are
// its own, and the others far under the axis.
func (b *book) chartedRow(p *charted) []any {
	label := nonEmpty(p.Worker, shiftText(p.Shift, p.Sample), substanceText(p.Substance))
	words := fmt.Sprintf("%s · %s · %s", label[0], label[1], label[len(label)-1])
	f := p.Fraction
	state := 0
	switch {
	case !f.Bounded():
		state = 2
	case f.Low == 0 && f.High > 0:
		state = 1
	}
	values := []float64{f.Value, f.High, f.Low}
	row := []any{b.styles.textEntry(words, figures, look{edge: hairLine, middle: true})}
	v, l, h := b.cited(p.Comparison, "fraction"), b.cited(p.Comparison, "fraction_low"), b.cited(p.Comparison, "fraction_high")
	formulas := []string{
		fmt.Sprintf("IF(OR(%s>=1E+200,%s=0),1E-12,%s)", h, l, v),
		fmt.Sprintf("IF(AND(%s<1E+200,%s=0,%s>0),%s,1E-12)", h, l, h, h),
		fmt.Sprintf("IF(AND(%s>=1E+200,%s>0),%s,1E-12)", h, l, l),
	}
	for i, formula := range formulas {
		shown := offChart
		if i == state && values[i] > 0 {
			shown = values[i]
		}
		if v == "" || l == "" || h == "" {
			formula = ""
		}
		row = append(row, excelize.Cell{StyleID: b.styles.of(chartLook), Formula: formula, Value: shown})
	}
	action := offChart
	if p.action > 0 {
		action = p.action
	}
	return append(row, excelize.Cell{StyleID: b.styles.of(chartLook), Value: action}, excelize.Cell{StyleID: b.styles.of(chartLook), Value: 1.0})
}

// chartLook shows a figure that is off the chart as a dash, and one far beyond it
// as the groups are told of in words.
var chartLook = look{edge: hairLine, middle: true, right: true, format: `[<0.00000001]"–"` + clear + ";" + farShare + `0.00\ %` + clear}

// cited returns the cell of a figure of a result from another sheet; "" where
// no formula works it out.
func (b *book) cited(of any, key string) string {
	at, known := b.known.rows[identity(of)]
	if !known || at.in.steps == nil {
		return ""
	}
	cell, _ := b.known.address(of, key, "")
	return cell
}

const (
	ink        = "202020"
	greyInk    = "6E6E6E"
	paleInk    = "BFBFBF"             // of marks that are not filled: white ones some programs do not draw
	chartWide  = 790                  // pixels of excelize
	chartHigh  = (chartRows - 1) * 18 // excelize takes a row of chartRowHeight for 18 pixels
	chartInset = 6                    // pixels under the top of its rows, so that no frame shows on the page before
)

func marks(symbol string, size int, fill string) excelize.ChartMarker {
	return excelize.ChartMarker{Symbol: symbol, Size: size, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{fill}},
		Border: excelize.LineOptions{Type: excelize.LineSolid, Width: 1, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{ink}}}}
}

// series returns a series of a table: one of its columns, with marks or a line.
func (t *chartTable) series(column string, m excelize.ChartMarker, line excelize.LineOptions) excelize.ChartSeries {
	cells := func(c string) string {
		return fmt.Sprintf("'%s'!$%s$%d:$%s$%d", chartSheet, c, t.at+1, c, t.at+len(t.rows))
	}
	return excelize.ChartSeries{Name: fmt.Sprintf("'%s'!$%s$%d", chartSheet, column, t.at), Categories: cells("A"), Values: cells(column),
		Marker: m, Line: line, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{ink}}}
}

var (
	noLine    = excelize.LineOptions{Type: excelize.LineNone}
	limitLine = excelize.LineOptions{Type: excelize.LineSolid, Width: 1.75}
	noMark    = excelize.ChartMarker{Symbol: "none"}
)

// sharesChart returns a chart of shares of limits on a logarithmic axis.
func sharesChart(title string, low, high float64, series ...excelize.ChartSeries) *excelize.Chart {
	low, high = decade(low, math.Floor), math.Max(10, decade(high, math.Ceil))
	return &excelize.Chart{
		Type: excelize.Line, Series: series, Title: chartTitle(title),
		Legend:    excelize.ChartLegend{Position: "bottom"},
		Dimension: excelize.ChartDimension{Width: chartWide, Height: chartHigh},
		XAxis: excelize.ChartAxis{Font: excelize.Font{Size: 7, Color: ink}, TickLabelPosition: excelize.ChartTickLabelLow,
			Alignment: excelize.Alignment{TextRotation: -90}},
		YAxis: excelize.ChartAxis{LogBase: 10, Minimum: &low, Maximum: &high, MajorGridLines: true,
			Font: excelize.Font{Size: 8, Color: ink}, NumFmt: excelize.ChartNumFmt{CustomNumFmt: "0.###%"}},
	}
}

// exposureChart draws the worker-shifts as shares of their limits.
func exposureChart(points []charted, t *chartTable) *excelize.Chart {
	low, high := 1.0, 1.0
	for _, p := range points {
		for _, v := range []float64{p.Fraction.Value, bounded(p.Fraction.High), p.Fraction.Low} {
			if positive(v) {
				low, high = math.Min(low, v), math.Max(high, v)
			}
		}
	}
	return sharesChart("Worker-shifts as a share of the governing limit, the highest first", low, high,
		t.series("B", marks("circle", 7, ink), noLine),
		t.series("C", marks("triangle", 7, paleInk), noLine),
		t.series("D", marks("diamond", 8, paleInk), noLine),
		t.series("E", marks("dash", 9, greyInk), noLine),
		t.series("F", noMark, limitLine))
}

// Shares that the chart of groups reaches to: the limits of a few shifts may
// lie anywhere, and would squeeze all else.
const (
	bottomShare = 1e-3
	topShare    = 100
)

// groupChart draws the 95th percentile of each group with its limits.
func groupChart(t *chartTable) *excelize.Chart {
	low, high := 1.0, 1.0
	for _, row := range t.rows {
		for _, e := range row[1:4] {
			if v, _ := e.(excelize.Cell).Value.(float64); v > offChart {
				low, high = math.Min(low, v), math.Max(high, v)
			}
		}
	}
	low, high = math.Max(low, bottomShare), math.Min(high, topShare)
	c := sharesChart("95th percentile of each group as a share of the governing limit, with its confidence limits", low, high,
		t.series("B", marks("circle", 7, ink), noLine),
		t.series("C", marks("triangle", 8, greyInk), noLine),
		t.series("D", marks("diamond", 8, greyInk), noLine),
		t.series("F", noMark, limitLine))
	c.XAxis.DropLines = true
	return c
}

func chartTitle(words string) excelize.ChartTitle {
	return excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: words, Font: &excelize.Font{Size: 11, Bold: true, Color: ink}}}}
}

// decade returns the power of ten that bounds v on the side of the rounding.
func decade(v float64, side func(float64) float64) float64 { return math.Pow(10, side(math.Log10(v))) }

// flowColumns returns the ranges of sample, flow before and flow after on the
// sheet of volumes, each behind the cell of its heading; nil where there are
// no flows to draw.
func (b *book) flowColumns() []string {
	at := slices.IndexFunc(b.placed, func(p *placed) bool { return p.name == "samples" })
	if at < 0 {
		return nil
	}
	p, samples := b.placed[at], b.report.Samples
	drawn := func(s exposure.Sample) bool { return s.FlowPre.Known }
	first := slices.IndexFunc(samples, drawn)
	if first < 0 || len(samples) > mostRows {
		return nil
	}
	last := len(samples) - 1
	for !drawn(samples[last]) {
		last--
	}
	var ranges []string
	for _, key := range []string{"sample", "flow_pre_lpm", "flow_post_lpm"} {
		c := p.letters[key]
		if c == "" {
			return nil
		}
		ranges = append(ranges, fmt.Sprintf("'%s'!$%s$1", p.sheet, c), fmt.Sprintf("'%s'!$%s$%d:$%s$%d", p.sheet, c, first+2, c, last+2))
	}
	return ranges
}

// flowChart draws the flow of each leg before and after.
func (b *book) flowChart(columns []string) *excelize.Chart {
	series := func(i int, m excelize.ChartMarker) excelize.ChartSeries {
		return excelize.ChartSeries{Name: columns[i], Categories: columns[1], Values: columns[i+1], Marker: m,
			Line: noLine}
	}
	low, high := math.Inf(1), 0.0
	for i := range b.report.Samples {
		for _, q := range []stats.Optional{b.report.Samples[i].FlowPre, b.report.Samples[i].FlowPost} {
			if positive(q.Value) {
				low, high = math.Min(low, q.Value), math.Max(high, q.Value)
			}
		}
	}
	low, high = decade(low, math.Floor), decade(high, math.Ceil)
	return &excelize.Chart{
		Type:         excelize.Line,
		Series:       []excelize.ChartSeries{series(2, marks("circle", 8, paleInk)), series(4, marks("x", 6, ink))},
		Title:        chartTitle("Flow of the leg of each sample before and after, L/min"),
		Legend:       excelize.ChartLegend{Position: "bottom"},
		Dimension:    excelize.ChartDimension{Width: chartWide, Height: chartHigh},
		ShowBlanksAs: "gap",
		XAxis:        excelize.ChartAxis{Font: excelize.Font{Size: 7, Color: ink}, Alignment: excelize.Alignment{TextRotation: -90}},
		YAxis: excelize.ChartAxis{LogBase: 10, Minimum: &low, Maximum: &high, MajorGridLines: true, MinorGridLines: true,
			Font: excelize.Font{Size: 8, Color: ink}},
	}
}
