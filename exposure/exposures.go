package exposure

import (
	"cmp"
	"math"
	"slices"
	"strings"

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
	last      *layout          // of the samples before, which most substances share
	found     []*Concentration // reused from unit to unit
	terms     slab[term]
	doses     slab[dose]
	sampled   slab[Sampled]
	overlaps  []*refusal // of the last unit
}

// unit is what gets rows of its own: one shift, or the shifts of one day.
type unit struct {
	*WorkerShift
	turns  []*turn
	joined bool // the unit is a day of several shifts: basis twa8 only
	shared bool // the unit is a shift of such a day: no basis twa8
}

// exposuresOf works out the exposures of every worker-shift.
func (r *reduction) exposuresOf(turns []*turn) []Exposure {
	units := r.units(turns)
	var exposers []*exposer
	most := r.mostExposures(units)
	all := gather(len(units), most, func() func([]Exposure, int) []Exposure {
		e := &exposer{reduction: r}
		exposers = append(exposers, e)
		return func(out []Exposure, i int) []Exposure {
			e.exposures = out
			e.unit(units[i])
			e.tellOverlaps()
			return e.exposures
		}
	})
	for _, e := range exposers {
		r.findings.Merge(&e.findings)
	}
	return all
}

// mostExposures returns how many exposures a unit can have: its substances
// times the bases of its length, and its short-term results.
func (r *reduction) mostExposures(units []*unit) func(i int) int {
	seen := make([]int, len(r.substances))
	return func(i int) int {
		u := units[i]
		substances, short := 0, 0
		for _, t := range u.turns {
			for _, s := range t.samples {
				for c := range r.of(s) {
					if seen[c.Substance.rank] != i+1 {
						seen[c.Substance.rank] = i + 1
						substances++
					}
					if s.Row.Purpose.ShortTerm() {
						short++
					}
				}
			}
		}
		if u.joined {
			return substances
		}
		bases := 2
		for _, longer := range []float64{minutes8h, minutes10h} {
			if u.Minutes > longer {
				bases++
			}
		}
		return substances*bases + short
	}
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
		t.turns = u.turns
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
		Policy: turns[0].Policy, PolicyStated: true, turns: turns, of: r}
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
	byTurn := make([][]*Concentration, len(u.turns))
	for i, t := range u.turns {
		found := e.found[:0]
		if i > 0 {
			found = nil
		}
		for _, s := range t.samples {
			for c := range e.of(s) {
				if c.HasAir {
					found = append(found, c)
				}
			}
		}
		slices.SortStableFunc(found, func(a, b *Concentration) int { return cmp.Compare(a.Substance.rank, b.Substance.rank) })
		byTurn[i] = found
		e.found = found
	}
	measured := false
	for {
		next := (*Substance)(nil)
		for _, concs := range byTurn {
			if len(concs) > 0 && (next == nil || concs[0].Substance.rank < next.rank) {
				next = concs[0].Substance
			}
		}
		if next == nil {
			break
		}
		of := make([][]*Concentration, len(u.turns))
		for i, concs := range byTurn {
			of[i], byTurn[i] = cutSubstance(concs, next)
		}
		e.substanceIn(u, of)
		measured = true
	}
	if measured && !u.joined { // without a result a gap is not used for want of one
		e.checkGaps(u.turns[0])
	}
}

// cutSubstance cuts the results of a substance off the front of sorted ones.
func cutSubstance(concs []*Concentration, s *Substance) (of, rest []*Concentration) {
	n := 0
	for n < len(concs) && concs[n].Substance == s {
		n++
	}
	return concs[:n], concs[n:]
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
		whole := e.oneDose(e.dose(&l, 0, l.turn.Minutes))
		sampled := e.summary(&l)
		e.add(u, sampled, OverShift, average{whole, l.turn.Minutes})
		if l.turn.Minutes > minutes10h+instant {
			e.add(u, sampled, Over10h, average{whole, minutes10h})
		}
		if !u.shared {
			e.add(u, sampled, Over8h, average{whole, minutes8h})
		}
		if l.turn.Minutes > minutes8h+instant {
			e.worst8(u, sampled, &l)
		}
	}
	short := false
	for _, c := range concs {
		if c.Sample.Row.Purpose.ShortTerm() {
			e.short(u, c)
			short = true
		}
	}
	if short {
		slices.SortFunc(e.exposures[from:], compareExposures)
	}
}

func (e *exposer) oneDose(d dose) []dose {
	doses := e.doses.take(1)
	doses[0] = d
	return doses
}

// summary says what was sampled of a substance in a shift.
func (e *exposer) summary(l *timeline) *Sampled {
	s := &e.sampled.take(1)[0]
	*s = Sampled{
		Substance: l.substance, Quantity: l.quantity, SampledMin: math.Min(l.sampled, l.turn.Minutes), Coverage: stats.Some(l.coverage()),
		GapsCover: l.unsampled() <= instant && l.stated > 0, Samples: l.names,
	}
	return s
}

// add appends one exposure of a shift.
func (e *exposer) add(u *unit, sampled *Sampled, basis Basis, a average) *Exposure {
	all := a.all(one)
	e.exposures = append(e.exposures, Exposure{
		WorkerShift: u.WorkerShift, Sampled: sampled, Basis: basis,
		Value: all[0], IfZero: all[1], IfSame: all[2], average: a, molar: e.atSite(a),
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
func (e *exposer) worst8(u *unit, sampled *Sampled, l *timeline) {
	var value average
	var best [3]stats.Interval
	var site *[3]stats.Interval
	for i, start := range l.windowStarts() {
		a := average{e.oneDose(e.dose(l, start, start+minutes8h)), minutes8h}
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
	x := e.add(u, sampled, Worst8h, value)
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
		WorkerShift: u.WorkerShift,
		Sampled:     &Sampled{Substance: c.Substance, Quantity: c.Quantity, SampledMin: s.Minutes.Value, Samples: []string{s.ID}},
		Basis:       Short, Sample: s.ID, Start: s.Start,
		Value: c.Air, IfZero: c.Air, IfSame: c.Air, average: a, molar: e.atSite(a),
	})
}

// day appends the 8-hour average of a day of several shifts. A shift in which
// the substance was not sampled is unsampled time, filled by the day's mean
// where its policy is same.
func (e *exposer) day(u *unit, byTurn [][]*Concentration) {
	lines := make([]timeline, len(u.turns))
	all := timeline{layout: &layout{turn: &turn{WorkerShift: *u.WorkerShift}}}
	for i, t := range u.turns {
		if len(byTurn[i]) == 0 {
			lines[i].layout = t.lay(nil)
			continue
		}
		var ok bool
		if lines[i], ok = e.timeline(t, byTurn[i]); !ok {
			return
		}
		all.substance, all.quantity = lines[i].substance, lines[i].quantity
		all.sampled += lines[i].sampled
		all.names = append(all.names, lines[i].names...)
	}
	if all.sampled == 0 {
		return
	}
	doses := make([]dose, len(lines))
	for i := range lines {
		l := &lines[i]
		if len(byTurn[i]) == 0 {
			l.substance, l.quantity = all.substance, all.quantity
			e.layGaps(l)
		}
		all.stated += l.stated
		doses[i] = e.dose(l, 0, l.turn.Minutes)
	}
	fillFromDay(doses)
	slices.Sort(all.names)
	e.add(u, e.summary(&all), Over8h, average{doses, minutes8h})
}

// fillFromDay gives a shift without samples of its own the day's mean.
func fillFromDay(doses []dose) {
	var day []term
	total := 0.0
	for _, d := range doses {
		for _, t := range d.terms {
			total += t.minutes
			day = append(day, term{conc: t.conc, share: t.minutes})
		}
	}
	for i := range day {
		day[i].share /= total
	}
	for i := range doses {
		if len(doses[i].terms) == 0 {
			doses[i].terms = slices.Clone(day)
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
