package exposure

import (
	"math"
	"slices"
	"time"

	"airtally/exposure/survey"
)

// Conditions under which the samples of a shift still lie along it as they did.

// clockOf returns the first sample of a shift that has a start: its clock is
// that of the shift's own times. It is nil where none has.
func (t *turn) clockOf() *Sample {
	for _, s := range t.samples {
		if timed(s.Row.Start) {
			return s
		}
	}
	return nil
}

// fixed reports whether the times of the samples do not say how long the shift
// was.
func (t *turn) fixed() bool {
	return t.row != nil && timed(t.row.Start) && timed(t.row.End) || t.clockOf() == nil
}

// onClock returns a moment on the clock of the sample's start, in days.
func (s *Sample) onClock(at time.Time) float64 {
	_, own := at.Zone()
	_, start := s.Row.Start.T.Zone()
	return Serial(at) + float64(start-own)/86400
}

// stopOn refers to the end of a sample on a clock: its stop, else its start and
// the minutes of its timer.
func (s *Sample) stopOn(clock *Sample) Expression {
	if timed(s.Row.Stop) {
		return clock.clock(s.Row, "stop", s.Row.Stop)
	}
	return plus(s.startOn(clock), divided(cell(s.Row, "run_min", "t_pump", s.Row.Run.Or(0)), figure(1440)))
}

func (s *Sample) startOn(clock *Sample) Expression { return clock.clock(s.Row, "start", s.Row.Start) }

// begins returns when a shift starts, on its clock.
func (t *turn) begins() Expression {
	clock := t.clockOf()
	if t.row != nil && timed(t.row.Start) {
		return constant("start of the shift", clock.onClock(t.row.Start.T))
	}
	var starts []Expression
	for _, s := range t.placed() {
		starts = append(starts, s.startOn(clock))
	}
	return least(starts)
}

// placed returns the samples that have a start, in their order.
func (t *turn) placed() []*Sample {
	var all []*Sample
	for _, s := range t.samples {
		if timed(s.Row.Start) {
			all = append(all, s)
		}
	}
	return all
}

// hull is when a shift starts and ends, where its samples say so, and how long
// it is.
type hull struct{ begins, ends, lasts Expression }

// spanSteps adds how long a shift is: a constant where its row says so, else
// the larger of shift_min and the span of its samples.
func (t *turn) spanSteps(l *steps) hull {
	var h hull
	by, source := constant("minutes of the shift", t.Minutes), "the row of shifts"
	if !t.fixed() {
		source = "the larger of shift_min and the span of the samples"
		h.begins = l.work(Step{Key: "shift_begins", Symbol: "from", Name: "start of the shift, in days", By: t.begins(), Source: source})
		h.ends = l.work(Step{Key: "shift_ends", Symbol: "to", Name: "end of the last sample, in days", By: t.ends(), Source: source})
		by = operate(Greatest, constant("shift_min", t.of.settings.ShiftMin), divided(secondsBetween(h.begins, h.ends), figure(60)))
	}
	h.lasts = l.add(Step{Key: "shift_min", Symbol: "T_shift", Name: "minutes of the shift", Unit: "min", By: by, Value: t.Minutes, Source: source})
	return h
}

// ends returns when the last sample of a shift ended.
func (t *turn) ends() Expression {
	clock := t.clockOf()
	var stops []Expression
	for _, s := range t.placed() {
		stops = append(stops, s.stopOn(clock))
	}
	return greatest(stops)
}

func least(of []Expression) Expression {
	if len(of) == 1 {
		return of[0]
	}
	return operate(Least, of...)
}

func greatest(of []Expression) Expression {
	if len(of) == 1 {
		return of[0]
	}
	return operate(Greatest, of...)
}

// lengthStands are the conditions that a shift which is as long as its samples
// say still has the same averages.
func (t *turn) lengthStands(h hull) []Expression {
	if t.fixed() {
		return nil
	}
	var out []Expression
	for _, longer := range []float64{minutes8h, minutes10h} {
		is := less(figure(longer+instant), h.lasts)
		if t.Minutes <= longer+instant {
			is = operate(Not, is)
		}
		out = append(out, is)
	}
	return append(out, t.clusterStands(h)...)
}

// clusterStands are the conditions that samples without a row of shifts still
// make one shift of the same name.
func (t *turn) clusterStands(h hull) []Expression {
	if t.row != nil {
		return nil
	}
	clock, samples := t.clockOf(), t.placed()
	midnight := math.Floor(Serial(samples[0].Row.Start.T))
	out := []Expression{notBefore(h.begins, constant("midnight", midnight)), operate(Not, notBefore(h.begins, constant("midnight after", midnight+1)))}
	last := samples[0]
	for _, s := range samples[1:] {
		out = append(out, notBefore(s.startOn(clock), samples[0].startOn(clock)), operate(Not, notBefore(s.startOn(clock), plus(last.stopOn(clock), pause4h))))
		if s.stop().After(last.stop()) {
			last = s
		}
	}
	return stands(append(out, t.apartFromOthers(h)...)...)
}

// pause4h is clusterGap in days.
var pause4h = constant("4 h", clusterGap.Hours()/24)

// apartFromOthers are the conditions that no other sample without a row of
// shifts joins the shift.
func (t *turn) apartFromOthers(h hull) []Expression {
	clock := t.clockOf()
	var out []Expression
	for _, s := range t.of.samplesOf(t.Worker) {
		if slices.Contains(t.samples, s) || !timed(s.Row.Start) || s.Void || s.rowOf() != nil {
			continue
		}
		if s.Row.Start.T.Before(clock.Row.Start.T) {
			out = append(out, notBefore(h.begins, plus(s.stopOn(clock), pause4h)))
		} else {
			out = append(out, notBefore(s.startOn(clock), plus(h.ends, pause4h)))
		}
	}
	return out
}

// belongs are the conditions that a sample which names no shift still belongs
// to the one whose row it lies in: it shares time with that, and with no other.
func (s *Sample) belongs(row *survey.Shift) []Expression {
	if s.Row.Shift != "" || row == nil {
		return nil
	}
	out := stands(operate(Not, s.apartFrom(row)), operate(Not, notBefore(s.startOn(s), s.stopOn(s))))
	for _, other := range s.of.doses().rows[s.Worker] {
		if other != row && s.near(other) {
			out = append(out, stands(s.apartFrom(other))...)
			if s.meets(other) {
				return s.unchanged()
			}
		}
	}
	return out
}

// rowOf returns the row of the shift that a sample belongs to, nil where there
// is none.
func (s *Sample) rowOf() *survey.Shift { return s.of.doses().row[shiftKey{s.Shift, s.Worker}] }

// apartFrom is the condition that a sample and a shift with times share none.
func (s *Sample) apartFrom(row *survey.Shift) Expression {
	return either(notBefore(constant("start of the shift", s.onClock(row.Start.T)), s.stopOn(s)),
		notBefore(s.startOn(s), constant("end of the shift", s.onClock(row.End.T))))
}

// near reports whether an edit could bring a sample into a shift.
func (s *Sample) near(row *survey.Shift) bool {
	return timed(s.Row.Start) && timed(row.Start) && timed(row.End) &&
		row.Start.T.Sub(s.stop()) < nearDays && s.Row.Start.T.Sub(row.End.T) < nearDays
}

// nearDays is how far an edit is thought to move a sample and still leave it
// its flow checks.
const nearDays = 3 * 24 * time.Hour

// meets reports whether a sample shares time with a shift.
func (s *Sample) meets(row *survey.Shift) bool {
	return s.Row.Start.T.Before(row.End.T) && row.Start.T.Before(s.stop())
}

// dayStands are the conditions that no other shift of the worker comes about
// on the day, or goes.
func (x *Exposure) dayStands() []Expression {
	var out []Expression
	for _, s := range x.WorkerShift.of.samplesOf(x.Worker) {
		if s.Void || s.Row.Shift != "" && s.rowOf() != nil || !timed(s.Row.Start) || !timed(x.WorkerShift.Start) {
			continue
		}
		if between := s.Row.Start.T.Sub(x.WorkerShift.Start.T); between > nearDays || between < -nearDays {
			continue
		}
		if row := s.rowOf(); row != nil {
			out = append(out, s.belongs(row)...)
		} else if !slices.ContainsFunc(x.turns, func(t *turn) bool { return slices.Contains(t.samples, s) }) {
			out = append(out, s.unchanged()...)
		}
	}
	return out
}

func (t *turn) rowStart() Expression {
	return constant("start of the shift", t.clockOf().onClock(t.row.Start.T))
}

// staysOut are the conditions that a sample of another shift, or of none, does
// not come into one.
func (s *Sample) staysOut(t *turn) []Expression {
	if s.Row.Shift != "" || t.row == nil || !s.near(t.row) {
		return nil
	}
	if s.meets(t.row) {
		return s.unchanged()
	}
	return stands(s.apartFrom(t.row))
}

// ranAsItDid are the conditions that a sample ran as long as it did, when it
// did.
func (s *Sample) ranAsItDid() []Expression {
	row := s.Row
	out := s.unchanged()
	if _, clocked := clockMinutes(row); clocked {
		out = append(out, same(cell(row, "pause_min", "pause", float64(row.Pause)), figure(float64(row.Pause))))
	}
	return out
}
