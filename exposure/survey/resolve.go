package survey

import (
	"fmt"
	"slices"
	"time"

	"airtally/exposure/finding"
)

// resolver gives bare times their dates and drops what cannot stand.
type resolver struct {
	clock clock
	list  *finding.List
}

// dated gives a bare time the date of another moment, and says what a night
// of clock change makes of it.
func (v resolver) dated(m, date Moment, days int, ref Ref, column string, subject []string) Moment {
	out, t := v.clock.on(m, date, days)
	if t != noTrouble {
		v.list.Add(clockCode(t), ref.Place(column), subject, clockValues(column, writeMoment(m), out))
	}
	return out
}

// unplaced drops a bare time that no date can be had for.
func (v resolver) unplaced(m Moment, ref Ref, column, reason string, subject []string) Moment {
	v.list.Add(finding.BareTime, ref.Place(column), subject, finding.Values{
		"column": column, "read": writeMoment(m), "reason": reason})
	return Moment{}
}

// stop gives a bare stop the date of its start, or the next day where it is
// before the start. next is true in the second case.
func (v resolver) stop(start, stop Moment, ref Ref, column string, subject []string) (out Moment, next bool) {
	if !stop.Bare {
		return stop, false
	}
	if !start.Known || start.Bare {
		return v.unplaced(stop, ref, column, "there is no start with a date to take it from", subject), false
	}
	if start.DateOnly {
		return v.dated(stop, start, 0, ref, column, subject), false
	}
	sameDay, _ := v.clock.on(stop, start, 0)
	if !sameDay.T.Before(start.T) {
		return v.dated(stop, start, 0, ref, column, subject), false
	}
	out = v.dated(stop, start, 1, ref, column, subject)
	v.list.Add(finding.StopNextDay, ref.Place(column), subject, finding.Values{
		"column": column, "read": writeMoment(stop), "start": writeMoment(start), "value": writeMoment(out)})
	return out, true
}

// backwards reports whether a stop with its full date is not after the start.
func backwards(start, stop Moment) bool {
	return start.Known && stop.Known && !start.DateOnly && !stop.DateOnly && !stop.T.After(start.T)
}

func (v resolver) backwards(start, stop Moment, ref Ref, column, consequence string, severity finding.Severity, subject []string) {
	v.list.AddAs(severity, finding.StopBeforeStart, ref.Place(column), subject, finding.Values{
		"column": column, "read": writeMoment(stop), "start": writeMoment(start), "consequence": consequence})
}

func (v resolver) shifts(shifts []Shift) {
	for i := range shifts {
		s := &shifts[i]
		subject := []string{s.ID, s.Worker}
		if s.Start.Bare {
			s.Start = v.unplaced(s.Start, s.Ref, "start", "a shift has nothing else to take it from", subject)
		}
		s.End, _ = v.stop(s.Start, s.End, s.Ref, "end", subject)
		if backwards(s.Start, s.End) {
			v.backwards(s.Start, s.End, s.Ref, "end", "the times of the shift are not used", finding.Stop, subject)
			s.Start, s.End = Moment{}, Moment{}
		}
	}
}

// workerShift names one worker in one shift; shift is "" for the only one of
// the worker.
type workerShift struct{ worker, shift string }

// shiftIndex finds the shift of a worker, by name or because it is the only
// one.
func shiftIndex(shifts []Shift) map[workerShift]*Shift {
	index := make(map[workerShift]*Shift, 2*len(shifts))
	for i := range shifts {
		s := &shifts[i]
		index[workerShift{s.Worker, s.ID}] = s
		only := workerShift{s.Worker, ""}
		if _, taken := index[only]; taken {
			index[only] = nil
		} else {
			index[only] = s
		}
	}
	return index
}

// within gives a bare time the day that puts it in a shift, or nearest to it.
func (v resolver) within(m Moment, shift *Shift, ref Ref, column string, subject []string) Moment {
	if !m.Bare {
		return m
	}
	if shift == nil || !shift.Start.Known {
		return v.unplaced(m, ref, column, "no shift with a date is known for it", subject)
	}
	if shift.Start.DateOnly {
		return v.dated(m, shift.Start, 0, ref, column, subject)
	}
	best, least := 0, time.Duration(1<<62)
	for _, days := range []int{0, 1, -1} {
		at, _ := v.clock.on(m, shift.Start, days)
		if off := outside(at.T, shift); off < least {
			best, least = days, off
		}
	}
	return v.dated(m, shift.Start, best, ref, column, subject)
}

// outside returns how far a time is from a shift, 0 within it.
func outside(t time.Time, shift *Shift) time.Duration {
	end := shift.Start.T
	if shift.End.Known && !shift.End.DateOnly {
		end = shift.End.T
	}
	switch {
	case t.Before(shift.Start.T):
		return shift.Start.T.Sub(t)
	case t.After(end):
		return t.Sub(end)
	}
	return 0
}

func (v resolver) gaps(gaps []Gap, shifts map[workerShift]*Shift) []Gap {
	kept := gaps[:0]
	for _, g := range gaps {
		subject := []string{g.Shift, g.Worker}
		g.Start = v.within(g.Start, shifts[workerShift{g.Worker, g.Shift}], g.Ref, "start", subject)
		g.End, _ = v.stop(g.Start, g.End, g.Ref, "end", subject)
		if backwards(g.Start, g.End) {
			v.backwards(g.Start, g.End, g.Ref, "end", "the gap is left out", finding.Stop, subject)
			continue
		}
		if !g.Start.Known || !g.End.Known {
			continue // said where the time was read
		}
		kept = append(kept, g)
	}
	return kept
}

func (v resolver) samples(samples []Sample, shifts map[workerShift]*Shift) {
	for i := range samples {
		s := &samples[i]
		subject := []string{s.ID}
		s.Start = v.within(s.Start, shifts[workerShift{s.Worker, s.Shift}], s.Ref, "start", subject)
		s.Stop, s.StopNextDay = v.stop(s.Start, s.Stop, s.Ref, "stop", subject)
		if !backwards(s.Start, s.Stop) {
			continue
		}
		if s.Run.Known {
			v.backwards(s.Start, s.Stop, s.Ref, "stop", fmt.Sprintf("the stop is not used; run_min gives the %s min", plainly(s.Run.Value)), finding.Check, subject)
			s.Stop = Moment{}
			continue
		}
		v.backwards(s.Start, s.Stop, s.Ref, "stop", "neither is used", finding.Stop, subject)
		s.Start, s.Stop = Moment{}, Moment{}
	}
}

// flows gives the bare times of flow checks the day of the train's samples,
// where there is only one: of their start before sampling, of their stop after.
func (v resolver) flows(flows []Flow, samples []Sample, byLeg func() map[legKey][]string) {
	if !slices.ContainsFunc(flows, func(f Flow) bool { return f.TakenAt.Bare }) {
		return
	}
	days := sampleDays(samples)
	for i := range flows {
		f := &flows[i]
		if !f.TakenAt.Bare {
			continue
		}
		subject := append([]string{f.Train, f.Leg}, byLeg()[legKey{f.Train, f.Leg}]...)
		if day := days[trainStage{f.Train, f.Stage}]; day.Known {
			f.TakenAt = v.dated(f.TakenAt, day, 0, f.Ref, "taken_at", subject)
		} else {
			f.TakenAt = v.unplaced(f.TakenAt, f.Ref, "taken_at", "the train's samples do not give one day", subject)
		}
	}
}

type trainStage struct {
	train string
	stage Stage
}

// sampleDays returns for each train the day its samples start, and the day
// they stop; a moment not known where there are several.
func sampleDays(samples []Sample) map[trainStage]Moment {
	days := make(map[trainStage]Moment)
	note := func(train string, stage Stage, m Moment) {
		if train == "" || !m.Known || m.Bare {
			return
		}
		key := trainStage{train, stage}
		if first, seen := days[key]; seen && writeDay(first) != writeDay(m) {
			m = Moment{} // more than one day
		}
		days[key] = m
	}
	for i := range samples {
		note(samples[i].Train, Pre, samples[i].Start)
		note(samples[i].Train, Post, samples[i].Stop)
	}
	return days
}

func writeDay(m Moment) string { return m.T.Format("2006-01-02") }
