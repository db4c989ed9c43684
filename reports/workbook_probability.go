package reports

import (
	"fmt"
	"math"

	"github.com/xuri/excelize/v2"

	"airtally/stats"
)

// mostChartedPlots is how many groups have a probability plot in the workbook,
// the gravest ones; the page draws more.
const mostChartedPlots = 3

// Shares of the limit between which a fitted line is drawn.
const (
	leastPlottedShare = 1e-9
	mostPlottedShare  = 1e9
)

// probabilityTable is the probability plot of one group as a table: its
// exposures, two points of the fitted line and two of the limit.
type probabilityTable struct {
	chartTable
	title       string
	points      int
	fitted      bool    // whether there is a line to draw
	low, high   float64 // shares of the limit that the plot spans
	least, most float64 // normal deviates that it spans
}

// probabilityTables returns the plots of the gravest groups that have enough
// exposures. They stand as of the run: positions come from sorting.
func (b *book) probabilityTables() []probabilityTable {
	var all []probabilityTable
	for _, p := range b.report.plottedGroups(mostChartedPlots) {
		all = append(all, b.probabilityTable(p.groupRow, p.points))
	}
	return all
}

func (b *book) probabilityTable(g *groupRow, points []stats.PlotPoint) probabilityTable {
	t := probabilityTable{
		title:  fmt.Sprintf("Probability plot: %s in %s, as a share of %s", substanceText(g.Substance), g.Name, limitWords(g)),
		points: len(points), low: 1, high: 1, least: -1, most: 1,
	}
	t.headings = []string{t.title, "Normal deviate", "Exposures", "Lognormal fitted", "Limit"}
	add := func(name string, share, deviate float64, column int) {
		row := []any{b.styles.textEntry(name, figures, look{edge: hairLine, middle: true}), b.plotted(deviate, "0.00"), nil, nil, nil}
		row[column] = b.plotted(share, `0.00\ %`)
		t.rows = append(t.rows, row)
		t.low, t.high = math.Min(t.low, share), math.Max(t.high, share)
	}
	for _, p := range points {
		t.least, t.most = math.Min(t.least, p.Score), math.Max(t.most, p.Score)
	}
	t.least, t.most = math.Floor(t.least-0.2), math.Ceil(t.most+0.2)
	for _, p := range points {
		add("exposure", p.Value/g.Limit.Value, p.Score, 2)
	}
	lead := leadingOf(g)
	fit := func(z float64) float64 { return lead.gm.Value * math.Pow(lead.gsd.Value, z) / g.Limit.Value }
	if t.fitted = lead.gm.Known && lead.gsd.Known && fit(t.least) > leastPlottedShare && fit(t.most) < mostPlottedShare; t.fitted {
		add("lognormal fitted", fit(t.least), t.least, 3)
		add("lognormal fitted", fit(t.most), t.most, 3)
	}
	for _, z := range []float64{t.least, t.most} {
		add("limit", 1, z, 4)
	}
	return t
}

// limitWords names the limit of a group.
func limitWords(g *groupRow) string {
	return fmt.Sprintf("%s %s, %s %s", g.Limit.Authority, g.Limit.Kind, publishedText(g.Limit.Value), prettyUnit(g.Limit.Unit.Name))
}

func (b *book) plotted(v float64, format string) excelize.Cell {
	return excelize.Cell{StyleID: b.styles.of(look{edge: hairLine, middle: true, right: true, format: format + clear}), Value: v}
}

// chart draws the plot: exposures as points, fit and limit as lines.
func (t *probabilityTable) chart() *excelize.Chart {
	low, high := decade(t.low, math.Floor), decade(t.high, math.Ceil)
	from := t.at + 1
	series := func(column string, rows int, m excelize.ChartMarker, line excelize.LineOptions) excelize.ChartSeries {
		cells := func(c string) string {
			return fmt.Sprintf("'%s'!$%s$%d:$%s$%d", chartSheet, c, from, c, from+rows-1)
		}
		s := excelize.ChartSeries{Name: fmt.Sprintf("'%s'!$%s$%d", chartSheet, column, t.at), Categories: cells("B"), Values: cells(column),
			Marker: m, Line: line, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{ink}}}
		from += rows
		return s
	}
	all := []excelize.ChartSeries{series("C", t.points, marks("circle", 7, ink), noLine)}
	if t.fitted {
		all = append(all, series("D", 2, noMark, excelize.LineOptions{Type: excelize.LineSolid, Width: 1, Dash: excelize.LineDashDash}))
	}
	return &excelize.Chart{
		Type: excelize.Scatter, Title: chartTitle(t.title),
		Series:    append(all, series("E", 2, noMark, limitLine)),
		Legend:    excelize.ChartLegend{Position: "bottom"},
		Dimension: excelize.ChartDimension{Width: chartWide, Height: chartHigh},
		XAxis: excelize.ChartAxis{Minimum: &t.least, Maximum: &t.most, MajorGridLines: true, TickLabelPosition: excelize.ChartTickLabelLow,
			Font: excelize.Font{Size: 8, Color: ink}, Title: axisTitle("normal deviate: 0 is half of the shifts, 1.64 is 95 of 100")},
		YAxis: excelize.ChartAxis{LogBase: 10, Minimum: &low, Maximum: &high, MajorGridLines: true, TickLabelPosition: excelize.ChartTickLabelLow,
			Font: excelize.Font{Size: 8, Color: ink}, NumFmt: excelize.ChartNumFmt{CustomNumFmt: "0.###%"}},
	}
}

func axisTitle(words string) excelize.ChartTitle {
	return excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: words, Font: &excelize.Font{Size: 8, Color: ink}}}}
}
