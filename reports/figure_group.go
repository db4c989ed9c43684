package reports

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

const (
	mostPlots     = 8  // probability plots
	leastPlotted  = 3  // points of one
	mostIntervals = 60 // rows of interval plots, of one group
)

// plottedGroup is a group with the points of its probability plot.
type plottedGroup struct {
	*groupRow
	points []stats.PlotPoint
}

// plottedGroups returns the groups that are not shown to be below and have
// enough exposures to plot, the gravest first.
func (r *Report) plottedGroups(most int) []plottedGroup {
	var all []plottedGroup
	groups := slices.Clone(r.governedGroups())
	slices.SortStableFunc(groups, graver)
	for _, g := range groups {
		if len(all) == most {
			break
		}
		if g.Statistics.Outcome == limits.Below {
			continue
		}
		var exposures []stats.Interval
		for _, s := range g.Shifts() {
			exposures = append(exposures, s.Exposure)
		}
		points, err := stats.ProbabilityPoints(exposures)
		if err == nil && len(points) >= leastPlotted {
			all = append(all, plottedGroup{g, points})
		}
	}
	return all
}

// probabilityPlots draws the gravest groups.
func (r *Report) probabilityPlots() []pageFigure {
	var all []pageFigure
	for i, g := range r.plottedGroups(mostPlots) {
		all = append(all, drawProbability(g.groupRow, g.points, fmt.Sprintf("fp%d", i+1)))
	}
	return all
}

// drawProbability draws the exposures of a group against the normal deviates of
// their positions, with the line of the lognormal fitted and the limit.
func drawProbability(g *groupRow, points []stats.PlotPoint, id string) pageFigure {
	const left, right, top, bottom = 44.0, 342.0, 24.0, 206.0
	name := substanceText(g.Substance)
	unit := prettyUnit(g.Limit.Unit.Name)
	d := newDrawing(id, "Probability plot of "+name+", "+g.Name, bottom+40)
	all := []float64{g.Limit.Value}
	for _, p := range points {
		all = append(all, p.Value)
	}
	x := logScale(left, right, 7, all...)
	y := scale{from: bottom, to: top, low: -2.5, high: 2.5}
	d.logAxis(x, top, bottom, tickText)
	d.words("ax mid", (left+right)/2, bottom+26, unit, figureWidth)
	for _, share := range []struct {
		score float64
		name  string
	}{{-1.6449, "5 %"}, {-0.6745, "25 %"}, {0, "50 %"}, {0.6745, "75 %"}, {1.6449, "95 %"}} { // normal deviates of these shares
		d.line("gr", left, y.at(share.score), right, y.at(share.score))
		d.words("ax end", left-5, y.at(share.score)+3.5, share.name, left)
	}
	lead := leadingOf(g)
	if gm, gsd := lead.gm, lead.gsd; gm.Known && gsd.Known && positive(gm.Value) && gsd.Value > 1 {
		d.fitted(x, y, gm.Value, gsd.Value)
	}
	for _, p := range points {
		d.mark(known, x.at(p.Value), y.at(p.Score))
	}
	d.limitLine(x, g.Limit.Value, 0, bottom, "limit "+publishedText(g.Limit.Value), "lim", 14)
	s := &g.Statistics
	unplotted := s.N - len(points)
	d.says = fmt.Sprintf("%s plotted by share of shifts at or under it", counted(len(points), "exposure"))
	if unplotted > 0 {
		d.says += fmt.Sprintf("; %d known from one side alone move the others and are not plotted", unplotted)
	}
	if lead.gm.Known && lead.gsd.Known {
		d.says += fmt.Sprintf(". Line: lognormal with geometric mean %s %s and geometric standard deviation %s", figureText(lead.gm.Value), unit, figureText(lead.gsd.Value))
	}
	d.says += fmt.Sprintf(". Limit: %s %s.", publishedText(g.Limit.Value), unit)
	return pageFigure{Caption: fmt.Sprintf("%s, %s: %s", g.Name, name, outcomeWords(s.Outcome)), Drawing: d.html()}
}

// fitted draws the line of a lognormal where it lies within both scales.
func (d *drawing) fitted(x, y scale, gm, gsd float64) {
	inside := func(z float64) float64 {
		low, high := math.Log(x.low/gm)/math.Log(gsd), math.Log(x.high/gm)/math.Log(gsd)
		return math.Max(low, math.Min(high, z))
	}
	from, to := inside(y.low), inside(y.high)
	if from < to {
		d.line("fit", x.at(gm*math.Pow(gsd, from)), y.at(from), x.at(gm*math.Pow(gsd, to)), y.at(to))
	}
}

// graver orders groups by how much they ask of a reader.
func graver(a, b *groupRow) int {
	if c := outcomeRank(a.Statistics.Outcome) - outcomeRank(b.Statistics.Outcome); c != 0 {
		return c
	}
	switch x, y := reach(a), reach(b); {
	case x > y:
		return -1
	case x < y:
		return 1
	}
	return 0
}

// intervalPlots draws for each group the 95th percentile of every substance
// with its limits of confidence, as shares of the limit that governs.
func (r *Report) intervalPlots() []pageFigure {
	var all []pageFigure
	groups := r.governedGroups()
	for from, to := 0, 0; from < len(groups); from = to {
		for to = from; to < len(groups) && groups[to].Name == groups[from].Name; to++ {
		}
		all = append(all, drawIntervals(groups[from:to], fmt.Sprintf("fi%d", len(all)+1)))
	}
	return all
}

func drawIntervals(groups []*groupRow, id string) pageFigure {
	rows := slices.Clone(groups)
	slices.SortStableFunc(rows, graver)
	more := max(0, len(rows)-mostIntervals)
	rows = rows[:len(rows)-more]
	const left, right, top, row = 124.0, 342.0, 20.0, 17.0
	bottom := top + row*float64(len(rows))
	d := newDrawing(id, "95th percentiles of "+rows[0].Name, bottom+18)
	x := scale{from: left, to: right, low: 0.001, high: 10, logarithms: true}
	d.logAxis(x, top, bottom, func(v float64) string { return tickText(v*100) + " %" })
	d.limitLine(x, 1, top-6, bottom, "limit", "lim", 12)
	var said []string
	for i, g := range rows {
		y := top + row*(float64(i)+0.5)
		d.words("lb end", left-6, y+3.5, substanceText(g.Substance), left-8)
		said = append(said, d.interval(x, y, g))
	}
	d.says = "Shares of the limit on a logarithmic scale. " + strings.Join(said, "; ") + "."
	return pageFigure{Caption: rows[0].Name, Drawing: d.html(), More: moreText(more, "substance")}
}

// interval draws one percentile with its limits, and says what it drew.
func (d *drawing) interval(x scale, y float64, g *groupRow) string {
	share := func(o stats.Optional) float64 { return o.Value / g.Limit.Value }
	said := substanceText(g.Substance) + " "
	p95 := leadingOf(g).p95
	if !tellable(p95.Value) {
		d.words("lb", x.from+6, y+3.5, noPercentile(&g.Statistics), x.to-x.from)
		return said + noPercentile(&g.Statistics)
	}
	low, high := x.from, x.to
	if tellable(p95.LCL) {
		low = x.at(share(p95.LCL))
	}
	open := true
	if tellable(p95.UCL) {
		open = x.beyond(share(p95.UCL))
		high = x.at(share(p95.UCL))
	}
	d.line("rng", low, y, high, y)
	if open {
		d.path("rngend", "M"+point(high-5, y-3.5)+"L"+point(high, y)+"L"+point(high-5, y+3.5))
	} else {
		d.line("rng", high, y-3.5, high, y+3.5)
	}
	if positive(p95.LCL.Value) && share(p95.LCL) < x.low {
		d.path("rngend", "M"+point(low+5, y-3.5)+"L"+point(low, y)+"L"+point(low+5, y+3.5))
	}
	kind := known
	switch g.Statistics.Outcome {
	case limits.Exceeds:
		kind = over
	case limits.Undecided:
		kind = unsettled
	}
	d.mark(kind, x.at(share(p95.Value)), y)
	share95, atMost := percentileTexts(g)
	return said + share95 + ", at most " + atMost + ", " + string(g.Statistics.Outcome)
}

func noPercentile(s *group.Statistics) string {
	return "none; " + counted(s.N, "shift")
}

// outcomeWords is an outcome with its mark.
func outcomeWords(o limits.Outcome) string {
	return strings.TrimSpace(outcomeMarks[o] + " " + string(o))
}
