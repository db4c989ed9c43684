package exposure

import (
	"math"
	"slices"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
)

// run is one sample on the time line of its shift, in minutes from the shift's
// start. Minutes run are spread evenly over it.
type run struct {
	at       int // which sample
	from, to float64
	density  float64 // minutes run per minute of the clock
	purpose  survey.Purpose
}

// stretch is a piece of the time line in which the same samples ran.
type stretch struct {
	from, to float64
	minutes  float64 // sampled; under to − from where a pump paused
	active   []int   // which samples
}

// gapStretch is a piece of the time line whose exposure is stated.
type gapStretch struct {
	from, to float64
	treat    survey.Policy
	value    float64 // mg/m³ or f/cc, where treat says neither same nor zero
}

// layout is how samples lie along a shift. Substances read from the same
// samples share one.
type layout struct {
	turn      *turn
	samples   []*Sample
	stretches []stretch
	gaps      []gapStretch
	sampled   float64   // min
	stated    float64   // min, of gaps
	minutes   []float64 // sampled, of each sample
	names     []string
	overlap   *overlap // samples that may not run at once; nothing else holds then
}

// overlap is two samples that ran at once.
type overlap struct{ a, b, minutes int }

// timeline is one substance through one shift.
type timeline struct {
	*layout
	substance *Substance
	quantity  Quantity
	concs     []*Concentration // of each sample
}

// timeline lays the samples of one substance along a shift. It is false, with
// a finding, where samples overlap that may not.
func (e *exposer) timeline(t *turn, concs []*Concentration) (timeline, bool) {
	l := timeline{substance: concs[0].Substance, quantity: concs[0].Quantity, concs: concs}
	if e.last == nil || !e.last.fits(t, concs) {
		e.last = t.lay(concs)
		e.layGaps(&timeline{layout: e.last, substance: l.substance, quantity: l.quantity})
	}
	l.layout = e.last
	if l.overlap != nil {
		e.refuse(&l)
		return l, false
	}
	return l, true
}

// fits reports whether a substance read from these samples has this layout.
func (l *layout) fits(t *turn, concs []*Concentration) bool {
	if l.turn != t || len(l.samples) != len(concs) || t.valueGaps {
		return false
	}
	for i, c := range concs {
		if l.samples[i] != c.Sample {
			return false
		}
	}
	return true
}

// lay lays samples along a shift. Duplicates are averaged with what ran beside
// them; a short-term sample counts only where no shift sample ran; any other
// overlap is refused.
func (t *turn) lay(concs []*Concentration) *layout {
	l := &layout{turn: t, samples: make([]*Sample, len(concs)), minutes: make([]float64, len(concs))}
	for i, c := range concs {
		l.samples[i] = c.Sample
	}
	runs := t.runs(l.samples)
	cuts := make([]float64, 0, 2*len(runs))
	for _, x := range runs {
		cuts = append(cuts, x.from, x.to)
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	for i := 1; i < len(cuts) && l.overlap == nil; i++ {
		if from, to := cuts[i-1], cuts[i]; to-from >= instant {
			l.add(from, to, l.active(runs, from, to))
		}
	}
	for i, s := range l.samples {
		if l.minutes[i] > 0 {
			l.names = append(l.names, s.ID)
		}
	}
	slices.Sort(l.names)
	return l
}

// runs places samples on the shift's clock, cut to the shift, without the time
// in which their pumps are stated to have stood still. Samples without times
// are laid one after another, behind those of their purpose that have.
func (t *turn) runs(samples []*Sample) []run {
	runs := make([]run, 0, len(samples))
	var unplaced []int
	end := map[survey.Purpose]float64{}
	place := func(at int, from, to float64) {
		s := samples[at]
		end[s.Row.Purpose] = math.Max(end[s.Row.Purpose], to)
		density := s.Minutes.Value / (to - from)
		from, to = math.Max(from, 0), math.Min(to, t.Minutes)
		if to-from > instant {
			runs = append(runs, run{at, from, to, density, s.Row.Purpose})
		}
	}
	for i, s := range samples {
		if from, to, placed := t.span(s); placed {
			place(i, from, to)
		} else {
			unplaced = append(unplaced, i)
		}
	}
	for _, i := range unplaced {
		from := end[samples[i].Row.Purpose]
		place(i, from, from+samples[i].Minutes.Value)
	}
	return t.standStill(runs, samples)
}

// active returns the runs that make the exposure between two cuts.
func (l *layout) active(runs []run, from, to float64) []run {
	var main, duplicates, short []run
	for _, x := range runs {
		if x.from > from+instant || x.to < to-instant {
			continue
		}
		switch x.purpose {
		case survey.ShiftSample:
			main = append(main, x)
		case survey.Duplicate:
			duplicates = append(duplicates, x)
		default:
			short = append(short, x)
		}
	}
	for _, same := range [][]run{main, short} {
		if len(same) > 1 {
			l.overlap = &overlap{same[0].at, same[1].at, int(math.Ceil(to - from))}
			return nil
		}
	}
	if len(duplicates) > 0 {
		main = append(main, duplicates...)
	}
	if len(main) > 0 {
		return main
	}
	return short
}

// refusal is two samples that may not run at once, and for what.
type refusal struct {
	a, b     *Sample
	turn     *turn
	minutes  int
	analytes []string
}

// refuse notes samples that may not run at once.
func (e *exposer) refuse(l *timeline) {
	x := &refusal{a: l.samples[l.overlap.a], b: l.samples[l.overlap.b], turn: l.turn, minutes: l.overlap.minutes}
	for _, o := range e.overlaps {
		if o.a == x.a && o.b == x.b && o.turn == x.turn && o.minutes == x.minutes {
			o.analytes = append(o.analytes, l.substance.Analyte)
			return
		}
	}
	x.analytes = []string{l.substance.Analyte}
	e.overlaps = append(e.overlaps, x)
}

// tellOverlaps tells of each two samples once, with all their analytes.
func (e *exposer) tellOverlaps() {
	for _, x := range e.overlaps {
		analytes := distinct(x.analytes)
		e.findings.Add(finding.Overlap, x.b.Row.Place("start"), append([]string{x.a.ID, x.b.ID, x.turn.Shift, x.turn.Worker}, analytes...),
			finding.Values{"a": x.a.ID, "b": x.b.ID, "analyte": analytes, "worker": x.turn.Worker, "shift": x.turn.Shift, "minutes": x.minutes})
	}
	e.overlaps = e.overlaps[:0]
}

// add appends a stretch and its sampled minutes, shared by what ran in it.
func (l *layout) add(from, to float64, active []run) {
	if len(active) == 0 {
		return
	}
	s := stretch{from: from, to: to, active: make([]int, len(active))}
	density := 0.0
	for i, x := range active {
		s.active[i] = x.at
		density = math.Max(density, x.density)
	}
	s.minutes = float64((to - from) * density)
	for _, at := range s.active {
		l.minutes[at] += s.minutes / float64(len(active))
	}
	l.sampled += s.minutes
	l.stretches = append(l.stretches, s)
}

// layGaps lays the stated gaps where the substance was not sampled.
func (e *exposer) layGaps(l *timeline) {
	for i, row := range l.turn.gaps {
		value, ok := e.gapValue(l, row)
		if !ok {
			continue
		}
		before := l.stated
		from, to := l.turn.gapSpan(row)
		for _, s := range l.stretches {
			if s.from < to && s.to > from {
				l.addGap(gapStretch{from, s.from, row.Treat, value})
				from = math.Max(from, s.to)
			}
		}
		l.addGap(gapStretch{from, to, row.Treat, value})
		l.turn.gapUsed[i] = math.Max(l.turn.gapUsed[i], l.stated-before)
	}
}

// checkGaps tells of gaps that lie in sampled time, or outside the shift, for
// every substance: they state what was measured, or nothing.
func (e *exposer) checkGaps(t *turn) {
	for i, row := range t.gaps {
		length := row.End.T.Sub(row.Start.T).Minutes()
		if used := t.gapUsed[i]; used < length-instant {
			e.findings.Add(finding.GapCut, row.Place("start"), subject(t.samples, t.Shift, t.Worker), finding.Values{
				"shift": t.Shift, "worker": t.Worker, "used": used, "length": length})
		}
	}
}

// gapValue returns the stated exposure of a gap in mg/m³ or f/cc. It is false,
// with a finding, where the gap's unit cannot be the substance's.
func (e *exposer) gapValue(l *timeline, row *survey.Gap) (float64, bool) {
	if row.Treat != survey.PolicyUnstated {
		return 0, true
	}
	value := row.Value * row.Unit.ToBase
	ok := quantityOf(row.Unit) == l.quantity
	if row.Unit.Dim == limits.Molar {
		weight := l.substance.Weight
		value *= weight.Value / e.settings.Limits.MolarVolume
		ok = ok && weight.Known
	}
	if !ok {
		e.findings.Add(finding.GapUnit, row.Place("treat"), []string{row.Shift, row.Worker, l.substance.Analyte},
			finding.Values{"shift": row.Shift, "worker": row.Worker, "unit": row.Unit.Name, "analyte": l.substance.Analyte})
	}
	return value, ok
}

// addGap adds a gap, less what an earlier row of the gaps table already states.
func (l *layout) addGap(g gapStretch) {
	for _, earlier := range l.gaps {
		if earlier.from < g.to && earlier.to > g.from {
			g.from = math.Max(g.from, earlier.to)
		}
	}
	if g.to-g.from > instant {
		l.gaps = append(l.gaps, g)
		l.stated += g.to - g.from
	}
}

// unsampled returns the minutes of the shift neither sampled nor stated.
func (l *layout) unsampled() float64 {
	return math.Max(0, l.turn.Minutes-l.sampled-l.stated)
}

// coverage returns the sampled share of the shift in %, never over 100.
func (l *layout) coverage() float64 {
	return math.Min(100, 100*l.sampled/l.turn.Minutes)
}

// term is what one sample brings to an average: minutes of its own, and its
// share of the mean that fills unsampled minutes.
type term struct {
	conc    *Concentration
	minutes float64
	share   float64
}

// dose is the exposure of one shift, or of a window in it, before division.
type dose struct {
	terms     []term
	constant  stats.Interval // mg/m³·min or f/cc·min, of stated gaps
	sameGaps  float64        // min, of gaps stated to be as sampled
	unsampled float64        // min
	policy    survey.Policy
}

// minutes returns the minutes with which a term counts under a policy.
func (d *dose) minutes(t term, p survey.Policy) float64 {
	fill := d.sameGaps
	if p == survey.PolicySame {
		fill += d.unsampled
	}
	return t.minutes + float64(fill*t.share)
}

// over returns the dose under a policy divided by minutes:
//
//	E = (Σ cᵢ·tᵢ + stated gaps + [same] c̄·t_unsampled) / T
func (d *dose) over(divisor float64, p survey.Policy, weight func(*Concentration) float64) stats.Interval {
	sum := d.constant
	for _, t := range d.terms {
		sum = sum.AddScaled(float64(d.minutes(t, p)*weight(t.conc)), t.conc.Air)
	}
	return sum.Per(divisor)
}

// dose returns the exposure of the window [from, to] of the shift.
func (e *exposer) dose(l *timeline, from, to float64) dose {
	d := dose{policy: l.turn.Policy, terms: e.terms.take(len(l.concs))}
	for i, c := range l.concs {
		d.terms[i] = term{conc: c}
		if l.sampled > 0 {
			d.terms[i].share = l.minutes[i] / l.sampled
		}
	}
	sampled := 0.0
	for _, s := range l.stretches {
		inside := s.minutes * overlapOf(s.from, s.to, from, to) / (s.to - s.from)
		for _, at := range s.active {
			d.terms[at].minutes += inside / float64(len(s.active))
		}
		sampled += inside
	}
	if sampled > to-from { // timers that ran over the clock fill the time there is, no more
		for i := range d.terms {
			d.terms[i].minutes *= (to - from) / sampled
		}
		sampled = to - from
	}
	stated := 0.0
	for _, g := range l.gaps {
		inside := overlapOf(g.from, g.to, from, to)
		stated += inside
		switch g.treat {
		case survey.PolicySame:
			d.sameGaps += inside
		case survey.PolicyUnstated:
			d.constant = d.constant.AddScaled(inside, stats.Exact(g.value))
		}
	}
	d.unsampled = math.Max(0, to-from-sampled-stated)
	d.terms = slices.DeleteFunc(d.terms, func(t term) bool { return t.share == 0 })
	return d
}

func overlapOf(a, b, from, to float64) float64 {
	return math.Max(0, math.Min(b, to)-math.Max(a, from))
}
