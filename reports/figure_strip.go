package reports

import (
	"fmt"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/limits"
)

const (
	mostStrips    = 12 // substances drawn
	mostStripRows = 40 // workers of one
)

// strip is the exposures of one substance against one limit, by worker.
type strip struct {
	limit  *limits.Limit
	points []*exposure.Comparison
}

// strips returns the exposures by substance against the limits that govern,
// those that ask most of a reader first, and how many there are beyond.
func (r *Report) strips() (all []*strip, more int) {
	type key struct{ analyte, form, limit string }
	at := map[key]*strip{}
	first := map[[2]string]string{} // the authority that governs a substance
	for _, c := range r.averages() {
		s := [2]string{c.Substance.Analyte, c.Substance.Form}
		if held, met := first[s]; !met || r.authorityRank(c.Limit.Authority) < r.authorityRank(held) {
			first[s] = c.Limit.Authority
		}
	}
	for _, c := range r.averages() {
		if first[[2]string{c.Substance.Analyte, c.Substance.Form}] != c.Limit.Authority {
			continue
		}
		k := key{c.Substance.Analyte, c.Substance.Form, limitKey(c.Limit)}
		if at[k] == nil {
			at[k] = &strip{limit: c.Limit}
			all = append(all, at[k])
		}
		at[k].points = append(at[k].points, c)
	}
	for _, s := range all {
		slices.SortStableFunc(s.points, worst)
	}
	slices.SortStableFunc(all, func(a, b *strip) int { return worst(a.points[0], b.points[0]) })
	n := min(len(all), mostStrips)
	return all[:n], len(all) - n
}

// averages returns the comparisons of whole shifts with limits for hours.
func (r *Report) averages() []*exposure.Comparison {
	var all []*exposure.Comparison
	for i := range r.Comparisons {
		c := &r.Comparisons[i]
		whole := c.Limit.Kind == limits.TWA8 || c.Limit.Kind == limits.TWA10
		if whole && c.Basis != exposure.Worst8h && positive(c.Fraction.Value+bounded(c.Fraction.High)) {
			all = append(all, c)
		}
	}
	return all
}

// byWorker returns the points of each worker, the highest worker first.
func (s *strip) byWorker() (workers []string, of map[string][]*exposure.Comparison) {
	of = map[string][]*exposure.Comparison{}
	for _, c := range s.points {
		if of[c.Worker] == nil {
			workers = append(workers, c.Worker)
		}
		of[c.Worker] = append(of[c.Worker], c)
	}
	return workers, of
}

// draw draws a row for each worker along a log axis in the unit of the limit.
func (s *strip) draw(r *Report, id string) pageFigure {
	workers, of := s.byWorker()
	more := max(0, len(workers)-mostStripRows)
	workers = workers[:len(workers)-more]
	const left, right, top, row = 78.0, 342.0, 26.0, 17.0
	bottom := top + row*float64(len(workers))
	name := substanceText(s.points[0].Substance)
	d := newDrawing(id, "Exposures to "+name+" by worker", bottom+30)
	limit := s.points[0].LimitValue
	action := r.actionLevel(s.points[0]) * limit
	all := []float64{limit, action}
	for _, c := range s.points {
		all = append(all, c.Fraction.Value*limit, bounded(c.Fraction.High)*limit)
	}
	x := logScale(left, right, 6, all...)
	d.logAxis(x, top, bottom, tickText)
	unit := prettyUnit(s.limit.Unit.Name)
	d.words("ax end", right, bottom+24, unit, figureWidth)
	for i, worker := range workers {
		y := top + row*(float64(i)+0.5)
		d.words("lb end", left-8, y+3.5, worker, left-10)
		d.line("gr", left, y, right, y)
		for _, c := range of[worker] {
			d.exposurePoint(x, y, c, limit)
		}
	}
	d.limitLine(x, limit, top, bottom, "limit "+publishedText(limit), "lim", 10)
	if positive(action) {
		d.limitLine(x, action, top, bottom, "action level "+publishedText(action), "act", 21)
	}
	d.says = s.words(workers, of, more, unit)
	caption := fmt.Sprintf("%s, against %s %s %s\u00a0%s", name, s.limit.Authority, s.limit.Kind, publishedText(limit), unit)
	return pageFigure{Caption: caption, Drawing: d.html(), More: moreText(more, "worker")}
}

func moreText(n int, noun string) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("and %s more, of lower exposure, in the workbook", counted(n, noun))
}

// exposurePoint draws one exposure: its mark, and a line between its bounds.
func (d *drawing) exposurePoint(x scale, y float64, c *exposure.Comparison, limit float64) {
	f := c.Fraction.Scale(limit)
	switch {
	case f.Censored() && f.Open && f.Low == 0:
		d.mark(beneath, x.at(f.High), y)
	case !f.Bounded():
		d.line("rng", x.at(f.Low), y, x.to, y)
		d.mark(atLeast, x.at(max(f.Low, f.Value)), y)
	default:
		if f.Censored() {
			d.line("rng", x.at(f.Low), y, x.at(f.High), y)
		}
		kind := known
		if c.Outcome == limits.Exceeds {
			kind = over
		}
		d.mark(kind, x.at(f.Value), y)
	}
}

// limitLine draws a limit across rows, its name over them.
func (d *drawing) limitLine(x scale, v, top, bottom float64, name, class string, y float64) {
	at := x.at(v)
	d.line(class, at, y+2, at, bottom)
	side, room := fromHere, figureWidth-at
	if at > (x.from+x.to)/2 {
		side, room = " end", at
	}
	shift := 3.0
	if side != fromHere {
		shift = -3
	}
	d.words("lb"+side, at+shift, y, name, room)
}

// words says in a sentence what the strip shows.
func (s *strip) words(workers []string, of map[string][]*exposure.Comparison, more int, unit string) string {
	var parts []string
	for _, w := range workers[:min(len(workers), 12)] {
		var shares []string
		for _, c := range of[w] {
			shares = append(shares, percentOf(c.Fraction)+" "+string(c.Outcome))
		}
		parts = append(parts, w+": "+strings.Join(shares, ", "))
	}
	said := fmt.Sprintf("A row for each worker, a mark for each shift, in %s on a logarithmic scale. Shares of the limit: %s.", unit, strings.Join(parts, "; "))
	if n := len(workers) - 12 + more; n > 0 {
		said += fmt.Sprintf(" And %s more.", counted(n, "worker"))
	}
	return said
}
