package exposure

import (
	"slices"
	"time"
)

// shortTerm takes a short-term sample, contiguous ones as one, or a shift
// sample as one, over the averaging time of the limit.
func (v *verdict) shortTerm() {
	averaging := v.Limit.AveragingMin
	if averaging <= 0 {
		averaging = ceilingMin
	}
	t := v.minutesTogether()
	ratio := v.work(Step{Key: "t_over_T", Symbol: "t/T", Name: "minutes sampled over the averaging time",
		By: divided(t, constant("averaging_min", averaging)), Source: "averaging time of the limit"})
	const source = "t ≥ T: at most all of the dose fell in T minutes, at least its even share did; t < T: at least the dose over T; within 10 % t counts as T"
	near := operate(LessEqual, operate(Magnitude, minus(ratio, number1)), figure(nearAveraging))
	windows := operate(Round, plus(minus(ratio, figure(roundingTolerance)), figure(0.5)))
	lowFactor := v.work(Step{Key: "low_factor", Symbol: "f_low", Name: "factor for the lower bound",
		By: when(near, number1, when(less(ratio, number1), ratio, divided(ratio, windows))), Source: source})
	v.perUnit = v.work(Step{Key: "value_factor", Symbol: "f", Name: "factor for the value",
		By: when(either(near, operate(LessEqual, number1, ratio)), number1, ratio), Source: source})
	highFactor := v.work(Step{Key: "high_factor", Symbol: "f_high", Name: "factor for the upper bound",
		By: when(near, number1, when(less(ratio, number1), unbounded, ratio)), Source: source})
	high := v.mean(highEnd)
	v.low, v.value = times(lowFactor, v.mean(lowEnd)), times(v.perUnit, v.mean(middle))
	v.high = when(operate(LessEqual, figure(AnyBound), highFactor), unbounded, times(highFactor, high))
	v.open = v.openTogether()
	v.openSame = v.open
}

// nearAveraging is how far a sample's time may be from the averaging time and
// still count as it, as [limits.ShortTermMean] has it.
const nearAveraging = 0.10 + roundingTolerance

// minutesTogether is the time of the samples of a short-term row.
func (v *verdict) minutesTogether() Expression {
	var all []Expression
	for _, t := range v.average.doses[0].terms {
		all = append(all, reference(t.conc.Sample, "minutes", "t", t.conc.Sample.Minutes.Value))
	}
	return sum(all)
}

// mean returns a bound of the mean of the samples, in the unit of the limit.
func (v *verdict) mean(b bound) Expression {
	terms := v.average.doses[0].terms
	if len(terms) == 1 {
		return v.inUnit(weighted(terms[0].conc.airAt(b), v.weight(terms[0].conc)))
	}
	var all []Expression
	for _, t := range terms {
		minutes := reference(t.conc.Sample, "minutes", "t", t.conc.Sample.Minutes.Value)
		all = append(all, weighted(times(minutes, t.conc.airAt(b)), v.weight(t.conc)))
	}
	return v.inUnit(divided(sum(all), v.minutesTogether()))
}

func (v *verdict) openTogether() Expression {
	var all []Expression
	for _, t := range v.average.doses[0].terms {
		all = append(all, holds(t.conc.openAt()))
	}
	return either(all...)
}

// chainStands are the conditions that the short-term samples of the shift are
// still joined as they were, and belong to it.
func (v *verdict) chainStands() []Expression {
	t := v.turns[0]
	r := v.WorkerShift.of
	var out []Expression
	for _, own := range v.average.doses[0].terms {
		out = append(out, own.conc.Sample.belongs(t.row)...)
	}
	if !t.fixed() {
		out = append(out, t.lengthStands(t.spanSteps(v.steps))...)
	}
	if v.isSingle() {
		return out
	}
	var short []*Concentration
	for _, c := range r.inAirOf(t, v.Substance) {
		if c.Sample.Row.Purpose.ShortTerm() && timed(c.Sample.Row.Start) {
			short = append(short, c)
		}
	}
	for i := 1; i < len(short); i++ {
		a, b := short[i-1], short[i]
		out = append(out, stands(notBefore(b.Sample.startOn(b.Sample), a.Sample.startOn(b.Sample)))...)
		if v.has(a.Sample) || v.has(b.Sample) {
			out = append(out, followed(a), followed(b))
			out = append(out, joinStands(t.clockOf(), a.Sample, b.Sample)...)
		}
	}
	return append(out, v.nothingJoins(t)...)
}

// nothingJoins are the conditions that no further short-term sample comes in
// between or beside.
func (v *verdict) nothingJoins(t *turn) []Expression {
	r, terms := v.WorkerShift.of, v.average.doses[0].terms
	first, last := terms[0].conc.Sample, terms[len(terms)-1].conc.Sample
	var out []Expression
	for _, s := range r.samplesOf(t.Worker) {
		if !s.Row.Purpose.ShortTerm() || !timed(s.Row.Start) || !timed(first.Row.Start) {
			continue
		}
		c, in := r.find(s, v.Substance.Analyte, v.Substance.Form), slices.Contains(t.samples, s)
		beside := !s.stop().Before(first.Row.Start.T.Add(-joinGap*time.Minute)) && !s.Row.Start.T.After(last.stop().Add(joinGap*time.Minute))
		switch {
		case in && beside && (c == nil || !c.HasAir):
			out = append(out, r.staysAway(s, c, v.Substance)...)
		case !in && beside && s.Void && s.Shift == t.Shift:
			out = append(out, followed(s))
		case !in && !s.Void && c != nil && c.HasAir:
			out = append(out, s.staysOut(t)...)
		}
	}
	return out
}

// isSingle reports whether the row is of a shift sample.
func (v *verdict) isSingle() bool {
	return v.OfShiftSample()
}

func (v *verdict) has(s *Sample) bool {
	return slices.ContainsFunc(v.average.doses[0].terms, func(t term) bool { return t.conc.Sample == s })
}

// joinStands are the conditions that of two short-term samples the second is
// joined to the first as it was.
func joinStands(clock *Sample, a, b *Sample) []Expression {
	end, start := a.stopOn(clock), b.startOn(clock)
	const minute = 1.0 / 1440
	joined := all(notBefore(start, end), notBefore(plus(end, figure(joinGap*minute)), start))
	if between := b.Row.Start.T.Sub(a.stop()).Minutes(); between >= -instant && between <= joinGap+instant {
		return stands(joined)
	}
	return stands(operate(Not, joined))
}
