package exposure

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
)

// Minutes of the averages that limits are written for.
const (
	minutes8h  = 480.0
	minutes10h = 600.0
)

// average is a sum of doses over a divisor in minutes: of one shift, or of the
// shifts of one worker-day.
type average struct {
	doses   []dose
	divisor float64
}

// one weighs every concentration alike.
func one(*Concentration) float64 { return 1 }

// own returns the average with each shift's own policy for unsampled minutes.
func (a *average) own(weight func(*Concentration) float64) stats.Interval {
	var sum stats.Interval
	for i := range a.doses {
		sum = sum.Add(a.doses[i].over(a.divisor, a.doses[i].policy, weight))
	}
	return sum
}

// under returns the average with unsampled minutes by policy p throughout.
func (a *average) under(p survey.Policy, weight func(*Concentration) float64) stats.Interval {
	var sum stats.Interval
	for i := range a.doses {
		sum = sum.Add(a.doses[i].over(a.divisor, p, weight))
	}
	return sum
}

// all returns the average by its own policy, with zero and with same.
func (a *average) all(weight func(*Concentration) float64) [3]stats.Interval {
	return [3]stats.Interval{a.own(weight), a.under(survey.PolicyZero, weight), a.under(survey.PolicySame, weight)}
}

// exposer works out exposures of one worker-shift after another. Each has its
// own findings, so that several can work at once.
type exposer struct {
	*reduction
	findings  finding.List
	exposures []Exposure
}

// unit is what gets rows of its own: one shift, or the shifts of one day.
type unit struct {
	*WorkerShift
	turns  []*turn
	joined bool // the unit is a day of several shifts: basis twa8 only
	shared bool // the unit is a shift of such a day: no basis twa8
}

// exposures works out the exposures of every worker-shift.
func (r *reduction) exposuresOf(turns []*turn) []Exposure {
	units := r.units(turns)
	workers := runtime.GOMAXPROCS(0)
	chunk := (len(units) + workers - 1) / workers
	var exposers []*exposer
	var group sync.WaitGroup
	for from := 0; from < len(units); from += chunk {
		e := &exposer{reduction: r}
		exposers = append(exposers, e)
		group.Go(func() {
			for _, u := range units[from:min(from+chunk, len(units))] {
				e.unit(u)
			}
		})
	}
	group.Wait()
	var all []Exposure
	for _, e := range exposers {
		all = append(all, e.exposures...)
		r.findings.Merge(&e.findings)
	}
	return all
}

// units returns the shifts, and the days on which a worker had two or more,
// sorted by worker, group and shift.
func (r *reduction) units(turns []*turn) []*unit {
	type day struct{ worker, date string }
	days := map[day][]*turn{}
	for _, t := range turns {
		if t.Start.Known {
			d := day{t.Worker, dateOf(t.Start.T)}
			days[d] = append(days[d], t)
		}
	}
	var units []*unit
	for _, t := range turns {
		u := &unit{WorkerShift: &t.WorkerShift, turns: []*turn{t}}
		if t.Start.Known {
			u.shared = len(days[day{t.Worker, dateOf(t.Start.T)}]) > 1
		}
		units = append(units, u)
	}
	for _, together := range days {
		if len(together) > 1 {
			units = append(units, r.joinedDay(together))
		}
	}
	slices.SortFunc(units, func(a, b *unit) int { return compareShifts(a.WorkerShift, b.WorkerShift) })
	return units
}

// joinedDay makes one worker-day of two or more shifts that start on one day.
func (r *reduction) joinedDay(turns []*turn) *unit {
	slices.SortFunc(turns, func(a, b *turn) int { return a.Start.T.Compare(b.Start.T) })
	day := &WorkerShift{Worker: turns[0].Worker, Group: turns[0].Group, Start: turns[0].Start,
		Policy: turns[0].Policy, PolicyStated: true}
	var names []string
	var samples []*Sample
	for _, t := range turns {
		names = append(names, t.Shift)
		samples = append(samples, t.samples...)
		day.Minutes += t.Minutes
		day.PolicyStated = day.PolicyStated && t.PolicyStated
	}
	day.Shift = strings.Join(names, "+")
	r.findings.Add(finding.TwoShifts, samples[0].Row.Place("shift"), subject(samples, append(names, day.Worker)...),
		finding.Values{"worker": day.Worker, "date": dateOf(day.Start.T), "shifts": names, "day": day.Shift})
	return &unit{WorkerShift: day, turns: turns, joined: true}
}

// unit appends the exposures of one unit, sorted by substance and basis.
func (e *exposer) unit(u *unit) {
	bySubstance := map[*Substance][][]*Concentration{}
	var order []*Substance
	for i, t := range u.turns {
		for _, s := range t.samples {
			for c := range e.of(s) {
				if !c.HasAir {
					continue
				}
				if bySubstance[c.Substance] == nil {
					bySubstance[c.Substance] = make([][]*Concentration, len(u.turns))
					order = append(order, c.Substance)
				}
				bySubstance[c.Substance][i] = append(bySubstance[c.Substance][i], c)
			}
		}
	}
	slices.SortFunc(order, compareSubstances)
	for _, substance := range order {
		e.substanceIn(u, bySubstance[substance])
	}
}

// substanceIn appends the exposures to one substance in one unit.
func (e *exposer) substanceIn(u *unit, byTurn [][]*Concentration) {
	if u.joined {
		e.day(u, byTurn)
		return
	}
	from := len(e.exposures)
	concs := byTurn[0]
	if l, ok := e.timeline(u.turns[0], concs); ok && l.sampled > 0 {
		whole := []dose{l.dose(0, l.turn.Minutes)}
		e.add(u, l, OverShift, average{whole, l.turn.Minutes})
		if l.turn.Minutes > minutes10h+instant {
			e.add(u, l, Over10h, average{whole, minutes10h})
		}
		if !u.shared {
			e.add(u, l, Over8h, average{whole, minutes8h})
		}
		if l.turn.Minutes > minutes8h+instant {
			e.worst8(u, l)
		}
	}
	for _, c := range concs {
		if c.Sample.Row.Purpose.ShortTerm() {
			e.short(u, c)
		}
	}
	slices.SortFunc(e.exposures[from:], func(a, b Exposure) int {
		return cmp.Or(cmp.Compare(a.Basis, b.Basis), cmp.Compare(a.Sample, b.Sample), a.Start.T.Compare(b.Start.T))
	})
}

// add appends one exposure of a shift.
func (e *exposer) add(u *unit, l *timeline, basis Basis, a average) *Exposure {
	all := a.all(one)
	e.exposures = append(e.exposures, Exposure{
		WorkerShift: u.WorkerShift, Substance: l.substance, Quantity: l.quantity, Basis: basis,
		SampledMin: l.sampled, Coverage: stats.Some(l.coverage()),
		GapsCover: l.unsampled() <= instant && l.stated > 0,
		Value:     all[0], IfZero: all[1], IfSame: all[2],
		Samples: l.samples, average: a, molar: e.atSite(a),
	})
	return &e.exposures[len(e.exposures)-1]
}

// atSite returns the average weighted by each sample's own molar volume, where
// ppm are stated for the site's air; else nil.
func (r *reduction) atSite(a average) *[3]stats.Interval {
	if r.settings.Limits.PPMBasis != limits.AtSite {
		return nil
	}
	all := a.all(r.siteWeight)
	return &all
}

func (r *reduction) siteWeight(c *Concentration) float64 {
	return r.molarVolume(c.Sample) / r.settings.Limits.MolarVolume
}

// worst8 appends the worst contiguous 480 minutes of a longer shift, each
// bound maximised on its own. The dose of a sliding window bends only where a
// window's end meets an end of a stretch, so those windows are enough.
func (e *exposer) worst8(u *unit, l *timeline) {
	var value average
	var best [3]stats.Interval
	var site *[3]stats.Interval
	for i, start := range l.windowStarts() {
		a := average{[]dose{l.dose(start, start+minutes8h)}, minutes8h}
		all := a.all(one)
		if i == 0 || all[0].Value > best[0].Value {
			value = a
		}
		best = maxima(i == 0, best, all)
		if s := e.atSite(a); s != nil {
			if site == nil {
				site = s
			}
			*site = maxima(i == 0, *site, *s)
		}
	}
	x := e.add(u, l, Worst8h, value)
	x.Value, x.IfZero, x.IfSame, x.molar = best[0], best[1], best[2], site
}

// windowStarts returns where an 8-hour window may start to be the worst.
func (l *timeline) windowStarts() []float64 {
	last := l.turn.Minutes - minutes8h
	starts := []float64{0, last}
	edge := func(at float64) {
		for _, start := range []float64{at, at - minutes8h} {
			if start > 0 && start < last {
				starts = append(starts, start)
			}
		}
	}
	for _, s := range l.stretches {
		edge(s.from)
		edge(s.to)
	}
	for _, g := range l.gaps {
		edge(g.from)
		edge(g.to)
	}
	slices.Sort(starts)
	return slices.Compact(starts)
}

// maxima takes the greater of each bound of three intervals.
func maxima(first bool, best, all [3]stats.Interval) [3]stats.Interval {
	if first {
		return all
	}
	for i, x := range all {
		b := &best[i]
		b.Low, b.Value = math.Max(b.Low, x.Low), math.Max(b.Value, x.Value)
		if x.High > b.High || x.High == b.High && !x.Open {
			b.High, b.Open = x.High, x.Open
		}
	}
	return best
}

// short appends the exposure of one short-term sample.
func (e *exposer) short(u *unit, c *Concentration) {
	s := c.Sample
	a := average{[]dose{{terms: []term{{conc: c, minutes: 1}}}}, 1}
	e.exposures = append(e.exposures, Exposure{
		WorkerShift: u.WorkerShift, Substance: c.Substance, Quantity: c.Quantity, Basis: Short,
		Sample: s.ID, Start: s.Start, SampledMin: s.Minutes.Value,
		Value: c.Air, IfZero: c.Air, IfSame: c.Air,
		Samples: []string{s.ID}, average: a, molar: e.atSite(a),
	})
}

// day appends the 8-hour average of a day of several shifts. A shift in which
// the substance was not sampled is unsampled time, filled by the day's mean
// where its policy is same.
func (e *exposer) day(u *unit, byTurn [][]*Concentration) {
	lines := make([]*timeline, len(u.turns))
	all := &timeline{turn: &turn{WorkerShift: *u.WorkerShift}}
	for i, t := range u.turns {
		lines[i] = &timeline{turn: t}
		if len(byTurn[i]) > 0 {
			l, ok := e.timeline(t, byTurn[i])
			if !ok {
				return
			}
			lines[i] = l
			all.substance, all.quantity = l.substance, l.quantity
		}
		all.sampled += lines[i].sampled
		all.samples = append(all.samples, lines[i].samples...)
	}
	if all.sampled == 0 {
		return
	}
	var doses []dose
	for i, l := range lines {
		if len(byTurn[i]) == 0 {
			l.substance, l.quantity = all.substance, all.quantity
			e.layGaps(l)
		}
		all.stated += l.stated
		doses = append(doses, l.dose(0, l.turn.Minutes))
	}
	fillFromDay(doses)
	slices.Sort(all.samples)
	e.add(u, all, Over8h, average{doses, minutes8h})
}

// fillFromDay gives a shift without samples of its own the day's mean.
func fillFromDay(doses []dose) {
	day := dose{}
	total := 0.0
	for _, d := range doses {
		for _, t := range d.terms {
			total += t.minutes
		}
	}
	for _, d := range doses {
		for _, t := range d.terms {
			day.add(t.conc, 0, t.minutes/total)
		}
	}
	for i := range doses {
		if len(doses[i].terms) == 0 {
			doses[i].terms = slices.Clone(day.terms)
		}
	}
}

// quantityOf says what a unit of concentration measures.
func quantityOf(u limits.Unit) Quantity {
	if u.Dim == limits.Fibre {
		return OfFibres
	}
	return OfMass
}
