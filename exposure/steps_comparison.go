package exposure

import (
	"fmt"

	"airtally/limits"
	"airtally/stats"
)

// Title names what the steps of a comparison lead to.
func (k *Comparison) Title() string {
	return fmt.Sprintf("%s against %s %s", k.Exposure.Title(), k.Limit.Authority, k.Limit.Kind)
}

// ComparisonKey is what a comparison is known by among copies of it.
type ComparisonKey struct {
	ExposureKey
	limit *limits.Limit
}

// Same returns what a comparison is known by: steps refer to one of its survey,
// of which pooled results have a copy.
func (k *Comparison) Same() ComparisonKey {
	return ComparisonKey{ExposureKey{k.Sampled, k.Basis}, k.Limit}
}

// Steps returns how a comparison comes about: the exposure in the unit of the
// limit, its fraction of the limit, the errors, and what all of it supports.
//
// A row that is there only because it decides stays when an edit leaves it
// undecided, and says so; a fresh reduction has no such row.
func (k *Comparison) Steps() []Step {
	if k.WorkerShift == nil || k.WorkerShift.of == nil {
		return nil // made without a survey
	}
	v := &verdict{Comparison: k, steps: newSteps(k, 12)}
	v.steps.follow(v.follows()...)
	if k.Basis == Short {
		v.shortTerm()
	} else {
		v.longTerm()
	}
	v.limitSteps()
	v.errorSteps()
	v.outcomeStep()
	return v.steps.all
}

// verdict is the steps of a comparison in the making.
type verdict struct {
	*Comparison
	*steps

	low, value, high    Expression // in the unit of the limit
	zeroLow, sameHigh   Expression // with unsampled minutes taken otherwise
	open, openSame      Expression // 1 or 0
	perUnit             Expression // what value is of one mg/m³ or f/cc of the average, where a short time is spread over another
	limit, error        Expression
	fLow, f, fHigh      Expression // fractions of the limit
	fZeroLow, fSameHigh Expression
}

// stated reports whether nothing hangs on how unsampled minutes are taken.
func (v *verdict) stated() bool { return v.Basis == Short || v.PolicyStated }

func (v *verdict) follows() []Expression {
	if v.Basis != Short {
		return []Expression{followed(v.Exposure)}
	}
	var out []Expression
	for _, t := range v.average.doses[0].terms {
		out = append(out, followed(t.conc))
	}
	return append(out, v.chainStands()...)
}

// inUnit puts a number in mg/m³ or f/cc in the unit of the limit.
func (v *verdict) inUnit(e Expression) Expression {
	return v.Exposure.inUnitOf(v.Limit.Unit, e)
}

// inUnitOf puts a number in mg/m³ or f/cc in a unit.
func (x *Exposure) inUnitOf(u limits.Unit, e Expression) Expression {
	if u.Dim == limits.Molar {
		e = divided(times(e, constant("molar_volume", x.WorkerShift.of.settings.Limits.MolarVolume)),
			constant("molecular weight", x.Substance.Weight.Value))
	}
	if u.ToBase != 1 {
		e = divided(e, constant(u.Name+" in base units", u.ToBase))
	}
	return e
}

// weight weighs a concentration as the unit of the limit asks.
func (v *verdict) weight(c *Concentration) float64 {
	if v.Limit.Unit.Dim == limits.Molar && v.atSiteAir() {
		return v.WorkerShift.of.siteWeight(c)
	}
	return 1
}

// averageIn returns a bound of the exposure in the unit of the limit.
func (v *verdict) averageIn(which taken, b bound) Expression {
	return v.Exposure.averageIn(v.Limit.Unit, which, b)
}

// averageIn returns a bound of an average over hours in a unit.
func (x *Exposure) averageIn(u limits.Unit, which taken, b bound) Expression {
	if u.Dim != limits.Molar || !x.atSiteAir() {
		return x.inUnitOf(u, x.at(which, b))
	}
	return x.inUnitOf(u, x.averaged(which, b, x.WorkerShift.of.siteWeight))
}

// longTerm takes the average over hours.
func (v *verdict) longTerm() {
	x := v.Exposure
	v.low, v.value, v.high = v.averageIn(asStated, lowEnd), v.averageIn(asStated, middle), v.averageIn(asStated, highEnd)
	v.zeroLow, v.sameHigh = v.averageIn(unsampledZero, lowEnd), v.averageIn(unsampledSame, highEnd)
	v.open = reference(x, "open", "open", truth(x.Value.Open).Number)
	v.openSame = v.open
	if x.Basis == Worst8h {
		v.openSame = x.openUnder(unsampledSame)
	}
	v.perUnit = number1
}

// limitSteps adds the limit and the fractions of it.
func (v *verdict) limitSteps() {
	l := v.Limit
	limit, source := reference(l, "value", "L", l.Value), l.Source
	if l.ShiftAdjusted && v.Basis == OverShift {
		hours := divided(reference(v.Exposure, "shift_min", "T_shift", v.Minutes), figure(60))
		limit = times(limit, divided(divided(figure(400), hours), figure(50)))
		source = "400/hours over 8 hours (29 CFR 1910.1025(c)(2)); " + source
	}
	if source == "" {
		source = "the survey's own limit"
	}
	v.limit = v.add(Step{Key: "limit", Symbol: "L", Name: "limit", Unit: l.Unit.Name, By: limit, Value: v.LimitValue, Source: source})
	fraction := func(key, symbol, name string, e Expression, value float64) Expression {
		return v.add(Step{Key: key, Symbol: symbol, Name: name, By: divided(e, v.limit), Value: value, Source: "exposure over limit"})
	}
	value := v.add(Step{Key: "value", Symbol: "E", Name: "exposure", Unit: l.Unit.Name, By: v.value, Value: v.Value, Source: v.valueSource()})
	v.f = fraction("fraction", "Y", "fraction of the limit", value, v.Fraction.Value)
	v.fLow = fraction("fraction_low", "Y_low", "fraction at least", v.low, v.Fraction.Low)
	v.fHigh = fraction("fraction_high", "Y_high", "fraction at most", v.high, v.Fraction.High)
	if v.stated() {
		return
	}
	zero, same := v.policies(v.WorkerShift.of)
	v.fZeroLow = fraction("fraction_zero_low", "Y_0,low", "fraction at least, unsampled as zero", v.zeroLow, zero.Low)
	v.fSameHigh = fraction("fraction_same_high", "Y_s,high", "fraction at most, unsampled as sampled", v.sameHigh, same.High)
}

func (v *verdict) valueSource() string {
	switch {
	case v.Basis == Short:
		return "short-term mean over the limit's averaging time"
	case v.Limit.Unit.Dim == limits.Molar:
		return "ppm = mg/m3 × molar volume / molecular weight"
	}
	return "in the unit of the limit"
}

// errorSteps adds the sampling and analytical error and the band that it makes.
func (v *verdict) errorSteps() {
	v.error = number0
	if !v.SAE.Known {
		return
	}
	const source = "OSHA field-manual method, one-sided 95 %"
	sae := v.add(Step{Key: "sae", Symbol: "SAE", Name: "sampling and analytical error", By: constant("SAE", v.SAE.Value), Value: v.SAE.Value,
		Source: "of the limit, else of the medium, else 1.645 × cv; the greatest of the samples"})
	v.error = sae
	if several(&v.average) {
		joint := v.work(Step{Key: "joint_error", Symbol: "h_c", Name: "error of consecutive samples",
			By: divided(times(v.jointError(), v.perUnit), v.limit), Source: source + ", full-period consecutive samples: √Σ(SAE·w·c)²/L"})
		undecided := all(operate(Not, v.exceeds(minus(v.fLow, sae))), operate(Not, v.stays(plus(v.fHigh, sae), v.open)))
		v.error = when(undecided, joint, sae)
	}
	v.error = v.work(Step{Key: "error", Symbol: "h", Name: "error of the fraction", By: v.error,
		Source: source + "; where Y ± SAE is undecided and there are several samples, that of consecutive samples"})
	v.add(Step{Key: "lcl_fraction", Symbol: "LCL", Name: "lower confidence limit", By: minus(v.fLow, v.error), Value: v.LCL.Value, Source: source})
	v.add(Step{Key: "ucl_fraction", Symbol: "UCL", Name: "upper confidence limit", By: plus(v.fHigh, v.error), Value: v.UCL.Or(unbounded.Value), Source: source})
}

// jointError is √Σ(SAE·w·c)² of the samples that make the average, in the unit
// of the limit.
func (v *verdict) jointError() Expression {
	if v.Basis == Worst8h {
		return v.inUnit(v.worstError())
	}
	if v.Basis == Short {
		var squares []Expression
		for _, t := range v.average.doses[0].terms {
			minutes := reference(t.conc.Sample, "minutes", "t", t.conc.Sample.Minutes.Value)
			squares = append(squares, v.errorsOf(t.conc, func(c Expression) Expression { return times(minutes, c) })...)
		}
		return v.inUnit(divided(root(sum(squares)), v.minutesTogether()))
	}
	var squares []Expression
	for _, t := range v.book().terms {
		minutes := t.at("counted_min", "t_c", t.CountedMin)
		squares = append(squares, v.errorsOf(t.Concentration, func(c Expression) Expression { return times(minutes, c) })...)
	}
	return v.inUnit(divided(root(sum(squares)), v.divisor()))
}

// errorsOf returns (SAE·w·c)² of a concentration, or of each part of a derived
// one.
func (v *verdict) errorsOf(c *Concentration, in func(Expression) Expression) []Expression {
	square := func(sae stats.Optional, e Expression) Expression {
		return squared(times(constant("SAE", sae.Value), in(weighted(e, v.weight(c)))))
	}
	if c.origin.derived == nil || v.Limit.SAE.Known {
		return []Expression{square(v.Limit.SAE.OrElse(c.sae), c.airAt(middle))}
	}
	var all []Expression
	for _, p := range c.origin.derived.parts {
		if part := c.Sample.of.find(c.Sample, p.analyte, c.Substance.Form); part != nil {
			all = append(all, square(part.sae, times(constant("factor of "+p.analyte, p.factor), part.airAt(middle))))
		}
	}
	return all
}

// worstError is the same of the window whose mean is the worst.
func (v *verdict) worstError() Expression {
	w := v.book().worst()
	windows := w.found(asStated, middle, one)
	errorIn := func(x weights) Expression {
		var squares []Expression
		for i, m := range x.minutes {
			if m > 0 {
				squares = append(squares, v.errorsOf(w.dose.terms[i].Concentration, func(c Expression) Expression {
					return times(constant("minutes in the window", m), c)
				})...)
			}
		}
		return divided(root(sum(squares)), figure(minutes8h))
	}
	by := errorIn(windows[len(windows)-1])
	for i := len(windows) - 2; i >= 0; i-- {
		mean := func(i int) Expression {
			return reference(v.Exposure, windowKey(i), "E", w.average(windows[i], middle).Evaluate(nil).Number)
		}
		var worst []Expression
		for k := range windows {
			if k != i {
				worst = append(worst, operate(LessEqual, mean(k), mean(i)))
			}
		}
		by = when(all(worst...), errorIn(windows[i]), by)
	}
	return by
}

// exceeds is the condition that the lower end of a fraction is over the limit,
// as [limits.Decide] says.
func (v *verdict) exceeds(low Expression) Expression {
	return exceeds(low, v.Limit.Comparator)
}

func exceeds(low Expression, c limits.Comparator) Expression {
	if c == limits.AtOrAbove {
		return operate(LessEqual, figure(1-roundingTolerance), low)
	}
	return less(figure(1+roundingTolerance), low)
}

// stays is the condition that the upper end of a fraction is not.
func (v *verdict) stays(high, open Expression) Expression {
	return stays(high, open, v.Limit.Comparator)
}

func stays(high, open Expression, c limits.Comparator) Expression {
	if c == limits.Above {
		return operate(LessEqual, high, figure(1+roundingTolerance))
	}
	return either(less(high, figure(1-roundingTolerance)), all(holds(open), operate(LessEqual, high, figure(1+roundingTolerance))))
}

// outcomeStep adds what the fractions support with the error.
func (v *verdict) outcomeStep() {
	over := []Expression{v.exceeds(minus(v.fLow, v.error))}
	under := []Expression{v.stays(plus(v.fHigh, v.error), v.open)}
	if !v.stated() {
		over = append(over, v.exceeds(minus(v.fZeroLow, v.error)))
		under = append(under, v.stays(plus(v.fSameHigh, v.error), v.openSame))
	}
	if covered, needed := v.coveredBy(); needed {
		under = append(under, covered)
	}
	v.add(outcomeOf(over, under, v.Outcome))
}

// coveredBy returns the condition that enough of the shift was sampled for
// "below", where nothing else makes up for it.
func (k *Comparison) coveredBy() (Expression, bool) {
	if k.Basis == Short {
		return Expression{}, false
	}
	return k.Exposure.coveredBy()
}

// coveredBy returns the same of an average over hours.
func (x *Exposure) coveredBy() (Expression, bool) {
	if x.PolicyStated {
		return Expression{}, false
	}
	covered := operate(Not, isUnder(reference(x, "coverage_pct", "cov", x.Coverage.Value),
		constant("min_coverage_pct", x.WorkerShift.of.settings.Coverage)))
	if x.hasGaps() {
		covered = either(covered, holds(reference(x, "gaps_cover", "cover", truth(x.GapsCover).Number)))
	}
	return covered, true
}

func outcomeOf(over, under []Expression, found limits.Outcome) Step {
	by := when(all(over...), word(string(limits.Exceeds)), when(all(under...), word(string(limits.Below)), word(string(limits.Undecided))))
	return Step{Key: "outcome", Symbol: "outcome", Name: "outcome", By: by, Word: string(found),
		Source: "above or below only where every bound, the error and the minutes not sampled allow nothing else"}
}
