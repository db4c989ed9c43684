package exposure

import "airtally/exposure/survey"

// insideOf is the share of a sample's time that lies in a shift with times.
func (t *turn) insideOf(s *Sample) Expression {
	start, stop := s.startOn(s), s.stopOn(s)
	begin, end := constant("start of the shift", s.onClock(t.row.Start.T)), constant("end of the shift", s.onClock(t.row.End.T))
	length := func(from, to Expression) Expression {
		if !timed(s.Row.Stop) {
			return minus(to, from) // the timer may have stopped within a second
		}
		return secondsBetween(from, to)
	}
	return divided(length(operate(Greatest, start, begin), operate(Least, stop, end)), length(start, stop))
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
// each counts as far as it lies in the shift and in no sample.
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
	for _, row := range d.turn.gaps {
		value, ok := e.gapValue(&d.line, row)
		if !ok {
			continue
		}
		start, end := row.Start.T, row.End.T
		if start.Before(d.turn.row.Start.T) {
			start = d.turn.row.Start.T
		}
		if end.After(d.turn.row.End.T) {
			end = d.turn.row.End.T
		}
		if !start.Before(end) {
			continue
		}
		from, to := constant("start of the gap", clock.onClock(start)), constant("end of the gap", clock.onClock(end))
		seconds := figure(end.Sub(start).Seconds())
		for _, t := range d.terms {
			s := t.Concentration.Sample
			shared := secondsBetween(operate(Greatest, from, s.startOn(clock)), operate(Least, to, s.stopOn(clock)))
			seconds = minus(seconds, operate(Greatest, number0, shared))
		}
		all = append(all, gapLength{divided(seconds, figure(60)), row.Treat, value})
	}
	return all
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
