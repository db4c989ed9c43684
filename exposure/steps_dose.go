package exposure

import (
	"math"
	"slices"
	"sync"

	"airtally/exposure/survey"
)

// ExposureTerm is what one sample brings to the dose of a substance in a
// worker's shift. The averages over the shift, over 8 and over 10 hours share
// the dose; the worst 8 hours weigh the samples on their own.
type ExposureTerm struct {
	Worker, Group, Shift string // as the exposure has them
	During               string // the shift of the dose, one of several of a day
	Concentration        *Concentration
	SampledMin           float64 // min of the sample that count
	Share                float64 // of the mean that stands for unsampled minutes
	CountedMin           float64 // min with which it counts under the shift's policy

	dose  *shiftDose
	place int // among the terms of its dose
}

// shiftDose is the dose of one substance in one shift, for its steps.
type shiftDose struct {
	book   *doseBook
	turn   *turn
	line   timeline
	dose   dose
	ran    []float64 // min of each term, before timers that ran over the clock are cut
	plain  bool      // samples one after another
	filled bool      // nothing was sampled in the shift: the mean of the day stands for it
	terms  []*ExposureTerm
}

// doseBook is the doses of one substance in a worker-shift or worker-day.
type doseBook struct {
	of        *reduction
	substance *Substance
	shift     *WorkerShift
	doses     []*shiftDose
	terms     []*ExposureTerm // of all doses
}

// doseIndex is what the steps of exposures need besides.
type doseIndex struct {
	books    sync.Map // *doseBook by *Sampled
	once     sync.Once
	byWorker map[string][]*Sample       // that may enter exposures
	rows     map[string][]*survey.Shift // by worker
	row      map[shiftKey]*survey.Shift
}

// ExposureTerms returns what each sample brings to each dose, in the order of
// the exposures. They are made on demand.
func (x *Results) ExposureTerms() []*ExposureTerm {
	var all []*ExposureTerm
	for i := range x.Exposures {
		if e := &x.Exposures[i]; e.leads() {
			all = append(all, e.book().terms...)
		}
	}
	return all
}

// leads reports whether an exposure is the first of those that share a dose.
func (x *Exposure) leads() bool {
	return x.WorkerShift != nil && x.WorkerShift.of != nil && (x.Basis == OverShift || x.Basis == Over8h && len(x.turns) > 1)
}

// book returns the doses that an average rests on.
func (x *Exposure) book() *doseBook {
	books := &x.WorkerShift.of.explain().doses.books
	if made, known := books.Load(x.Sampled); known {
		return made.(*doseBook)
	}
	made, _ := books.LoadOrStore(x.Sampled, newDoseBook(x.WorkerShift, x.Substance))
	return made.(*doseBook)
}

func newDoseBook(shift *WorkerShift, substance *Substance) *doseBook {
	b := &doseBook{of: shift.of, substance: substance, shift: shift}
	e := &exposer{reduction: shift.of} // its findings were told before
	doses := make([]dose, len(shift.turns))
	for i, t := range shift.turns {
		d := b.lay(e, t)
		b.doses = append(b.doses, d)
		doses[i] = d.dose
	}
	if len(doses) > 1 {
		fillFromDay(doses)
	}
	for i, d := range b.doses {
		d.dose = doses[i]
		d.setTerms()
		b.terms = append(b.terms, d.terms...)
	}
	return b
}

// lay lays the samples of the substance along one shift again.
func (b *doseBook) lay(e *exposer, t *turn) *shiftDose {
	own := *t
	own.gapUsed = slices.Clone(t.gapUsed)
	d := &shiftDose{book: b, turn: &own}
	d.line = timeline{substance: b.substance, concs: b.of.inAirOf(t, b.substance)}
	if len(d.line.concs) > 0 {
		d.line.quantity = d.line.concs[0].Quantity
	} else {
		d.line.quantity = b.quantity()
	}
	d.line.layout = own.lay(d.line.concs)
	e.layGaps(&d.line)
	d.dose = e.dose(&d.line, 0, t.Minutes)
	d.plain, d.filled = d.isPlain(), len(d.dose.terms) == 0
	return d
}

// quantity returns what the substance is measured as on the day.
func (b *doseBook) quantity() Quantity {
	for _, t := range b.shift.turns {
		for _, c := range b.of.inAirOf(t, b.substance) {
			return c.Quantity
		}
	}
	return OfMass
}

// inAirOf returns the concentrations of a substance on the samples of a shift.
func (r *reduction) inAirOf(t *turn, substance *Substance) []*Concentration {
	var all []*Concentration
	for _, s := range t.samples {
		for c := range r.of(s) {
			if c.Substance == substance && c.HasAir {
				all = append(all, c)
			}
		}
	}
	return all
}

// setTerms makes the terms of a dose.
func (d *shiftDose) setTerms() {
	for i, t := range d.dose.terms {
		d.terms = append(d.terms, &ExposureTerm{
			Worker: d.turn.Worker, Group: d.turn.Group, Shift: d.book.shift.Shift, During: d.turn.Shift, Concentration: t.conc,
			SampledMin: t.minutes, Share: t.share, CountedMin: d.dose.minutes(t, d.dose.policy), dose: d, place: i,
		})
		ran := 0.0
		for k, c := range d.line.concs {
			if c == t.conc {
				ran = d.line.minutes[k]
			}
		}
		d.ran = append(d.ran, ran)
	}
}

// isPlain reports whether the samples lie one after another, so that their
// times alone say how long each counts.
func (d *shiftDose) isPlain() bool {
	l, t := &d.line, d.turn
	if len(d.dose.terms) == 0 || l.inRow() != len(d.dose.terms) || !t.gapsApart() || len(t.gaps) > 0 && !t.scheduled() {
		return false
	}
	for _, s := range l.stretches {
		if len(s.active) != 1 {
			return false
		}
	}
	placed, counting := 0, 0
	for i, s := range l.samples {
		from, to, ok := t.span(s)
		if ok {
			placed++
		}
		inside := 1.0
		if ok {
			in := overlapOf(from, to, 0, t.Minutes)
			if in <= instant {
				continue // wholly outside the shift
			}
			still := in - l.clockOf(i) // the pump is stated to have stood
			inside = (in - still) / (to - from - still)
		}
		if counting++; math.Abs(l.minutes[i]-s.Minutes.Value*inside) > roundingTolerance*s.Minutes.Value || inside < 1-roundingTolerance && !t.scheduled() {
			return false
		}
	}
	return counting == len(d.dose.terms) && (placed == len(l.samples) || placed == 0 && len(t.gaps) == 0)
}

// inRow counts the samples that come one after another along a shift; a pump
// that stood still in between goes on.
func (l *layout) inRow() int {
	n := 0
	for i, s := range l.stretches {
		if i > 0 {
			before := l.stretches[i-1]
			if s.from-before.to > instant && slices.Equal(s.active, before.active) {
				continue
			}
		}
		n++
	}
	return n
}

// clockOf returns the minutes of the clock in which a sample ran.
func (l *layout) clockOf(at int) float64 {
	sum := 0.0
	for _, s := range l.stretches {
		if slices.Contains(s.active, at) {
			sum += s.to - s.from
		}
	}
	return sum
}

// scheduled reports whether a shift has times of its own.
func (t *turn) scheduled() bool {
	return t.row != nil && timed(t.row.Start) && timed(t.row.End) && t.clockOf() != nil
}

// gapsApart reports whether no two stated gaps share time.
func (t *turn) gapsApart() bool {
	for i := 1; i < len(t.gaps); i++ {
		if t.gaps[i].Start.T.Before(t.gaps[i-1].End.T) {
			return false
		}
	}
	return true
}

// doses returns the samples and shifts by worker.
func (r *reduction) doses() *doseIndex {
	index := &r.explain().doses
	index.once.Do(func() {
		index.byWorker, index.rows, index.row = map[string][]*Sample{}, map[string][]*survey.Shift{}, map[shiftKey]*survey.Shift{}
		for i := range r.samples {
			if s := &r.samples[i]; s.Kind == survey.Personal && !s.Row.Void && s.Worker != "" {
				index.byWorker[s.Worker] = append(index.byWorker[s.Worker], s)
			}
		}
		for i := range r.survey.Shifts {
			row := &r.survey.Shifts[i]
			index.rows[row.Worker] = append(index.rows[row.Worker], row)
			index.row[shiftKey{row.ID, row.Worker}] = row
		}
	})
	return index
}

// samplesOf returns the samples of a worker that may enter exposures.
func (r *reduction) samplesOf(worker string) []*Sample { return r.doses().byWorker[worker] }
