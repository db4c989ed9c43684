package exposure

import "airtally/exposure/survey"

// insideOf is the share of a sample's time that lies in a shift with times. The
// time in which its pump is stated to have stood still is none of it.
func (t *turn) insideOf(s *Sample) Expression {
	start, stop := s.startOn(s), s.stopOn(s)
	begin, end := constant("start of the shift", s.onClock(t.row.Start.T)), constant("end of the shift", s.onClock(t.row.End.T))
	if !timed(s.Row.Stop) { // the timer may have stopped within a second
		return divided(minus(operate(Least, stop, end), operate(Greatest, start, begin)), minus(stop, start))
	}
	inside, whole := secondsBetween(operate(Greatest, start, begin), operate(Least, stop, end)), secondsBetween(start, stop)
	if gaps := t.statedGaps(s); len(gaps) > 0 {
		var shared []Expression
		for _, g := range gaps {
			shared = append(shared, g.sharedWith(s, s))
		}
		still := operate(Least, s.pauseSeconds(), sum(shared))
		inside, whole = minus(inside, still), minus(whole, still)
	}
	return divided(inside, whole)
}

// pauseSeconds is how long the pump of a sample with both times stood still: its
// pause, as far as the pump's timer leaves room for it.
func (s *Sample) pauseSeconds() Expression {
	pause, run := cell(s.Row, "pause_min", "pause", float64(s.Row.Pause)), optionalCell(s.Row, "run_min", "t_pump", s.Row.Run)
	pause = times(pause, figure(60))
	rest := minus(secondsBetween(s.startOn(s), s.stopOn(s)), times(run, figure(60)))
	return when(positive(run), operate(Greatest, number0, operate(Least, pause, rest)), pause)
}

// statedGap is a row of gaps as far as it lies in its shift, on a clock.
type statedGap struct {
	row      *survey.Gap
	from, to Expression
	seconds  float64
}

// statedGaps returns the gaps of a shift with times, by start.
func (t *turn) statedGaps(clock *Sample) []statedGap {
	var all []statedGap
	for _, row := range t.gaps {
		start, end := row.Start.T, row.End.T
		if start.Before(t.row.Start.T) {
			start = t.row.Start.T
		}
		if end.After(t.row.End.T) {
			end = t.row.End.T
		}
		if start.Before(end) {
			all = append(all, statedGap{row, constant("start of the gap", clock.onClock(start)), constant("end of the gap", clock.onClock(end)),
				end.Sub(start).Seconds()})
		}
	}
	return all
}

// sharedWith is how many seconds of a gap lie in the span of a sample.
func (g *statedGap) sharedWith(s, clock *Sample) Expression {
	return operate(Greatest, number0, secondsBetween(operate(Greatest, g.from, s.startOn(clock)), operate(Least, g.to, s.stopOn(clock))))
}

// secondsBetween is the time between two times in days, without the digits that
// days cannot hold.
func secondsBetween(from, to Expression) Expression {
	return operate(Round, times(minus(to, from), figure(86400)))
}

// gapSteps adds what is stated of the shift: minutes, those that are as
// sampled, and the dose of those with a value.
func (d *shiftDose) gapSteps(l *steps) (stated, same Expression) {
	lengths := d.gapLengths()
	total := func(weigh func(g *gapLength) (Expression, bool)) Expression {
		var all []Expression
		for i := range lengths {
			if e, counts := weigh(&lengths[i]); counts {
				all = append(all, e)
			}
		}
		return sum(all)
	}
	const source = "the gaps table, where nothing was sampled"
	stated = l.add(Step{Key: "stated_min", Symbol: "t_g", Name: "minutes stated in gaps", Unit: "min", Value: d.line.stated, Source: source,
		By: total(func(g *gapLength) (Expression, bool) { return g.minutes, true })})
	same = l.add(Step{Key: "stated_same_min", Symbol: "t_gs", Name: "minutes stated to be as sampled", Unit: "min", Value: d.dose.sameGaps, Source: source,
		By: total(func(g *gapLength) (Expression, bool) { return g.minutes, g.treat == survey.PolicySame })})
	l.add(Step{Key: "stated_dose", Symbol: "D_g", Name: "dose stated in gaps", Unit: d.line.quantity.Unit() + "·min", Value: d.dose.constant.Value, Source: source,
		By: total(func(g *gapLength) (Expression, bool) {
			return times(g.minutes, constant("stated in the gap", g.value)), g.treat == survey.PolicyUnstated
		})})
	return stated, same
}

// gapLength is how long one gap counts.
type gapLength struct {
	minutes Expression
	treat   survey.Policy
	value   float64
}

// gapLengths returns the gaps of a shift. Where samples lie one after another,
// each counts as far as it lies in the shift and in no sample whose pump ran.
func (d *shiftDose) gapLengths() []gapLength {
	var all []gapLength
	if !d.plain {
		for _, g := range d.line.gaps {
			all = append(all, gapLength{constant("minutes of the gap", g.to-g.from), g.treat, g.value})
		}
		return all
	}
	e := &exposer{reduction: d.book.of}
	clock := d.turn.clockOf()
	gaps := d.turn.statedGaps(clock)
	for i, g := range gaps {
		value, ok := e.gapValue(&d.line, g.row)
		if !ok {
			continue
		}
		seconds := figure(g.seconds)
		for _, t := range d.terms {
			seconds = minus(seconds, ranIn(gaps[:i+1], t.Concentration.Sample, clock))
		}
		all = append(all, gapLength{divided(seconds, figure(60)), g.row.Treat, value})
	}
	return all
}

// ranIn is how many seconds of the last of several gaps a sample ran: those that
// its span shares with it, less what the gaps before leave of its pause.
func ranIn(gaps []statedGap, s, clock *Sample) Expression {
	last := len(gaps) - 1
	shared := gaps[last].sharedWith(s, clock)
	if !timed(s.Row.Stop) {
		return shared
	}
	left := s.pauseSeconds()
	for i := range last {
		left = minus(left, gaps[i].sharedWith(s, clock))
	}
	return operate(Greatest, number0, minus(shared, operate(Greatest, number0, left)))
}

// statedDose refers to the dose stated in the gaps of a shift.
func (d *shiftDose) statedDose() (Expression, bool) {
	if len(d.turn.gaps) == 0 {
		return Expression{}, false
	}
	return d.terms[0].at("stated_dose", "D_g", d.dose.constant.Value), true
}

// coverStep adds whether gaps cover all that was not sampled, where there are
// any.
func (x *Exposure) coverStep(l *steps, b *doseBook, together, length Expression) {
	var stated []Expression
	for _, d := range b.doses {
		if len(d.turn.gaps) > 0 {
			stated = append(stated, d.terms[0].at("stated_min", "t_g", d.line.stated))
		}
	}
	if len(stated) == 0 {
		return
	}
	total := sum(stated)
	rest := minus(minus(length, together), total)
	l.add(Step{Key: "gaps_cover", Symbol: "cover", Name: "1 where gaps cover all that was not sampled",
		By: all(operate(LessEqual, rest, figure(instant)), positive(total)), Value: truth(x.GapsCover).Number, Source: "the gaps table"})
}

// hasGaps reports whether gaps are stated in the shifts of an exposure.
func (x *Exposure) hasGaps() bool {
	for _, t := range x.turns {
		if len(t.gaps) > 0 {
			return true
		}
	}
	return false
}
