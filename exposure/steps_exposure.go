package exposure

import (
	"fmt"

	"airtally/limits"
	"airtally/stats"
)

// Title names what the steps of an exposure lead to.
func (x *Exposure) Title() string {
	return fmt.Sprintf("exposure of worker %s to %s, shift %s, %s", x.Worker, x.Substance.Analyte, x.Shift, x.Basis)
}

// ExposureKey is what an exposure is known by among copies of it.
type ExposureKey struct {
	sampled *Sampled
	basis   Basis
}

// Same returns what an exposure is known by: steps refer to one of its survey,
// of which pooled results have a copy.
func (x *Exposure) Same() ExposureKey { return ExposureKey{x.Sampled, x.Basis} }

// Steps returns how an exposure comes about: its dose, by the terms that it
// shares with the other averages of the shift, over the minutes of the average.
func (x *Exposure) Steps() []Step {
	if x.WorkerShift == nil || x.WorkerShift.of == nil {
		return nil // made without a survey
	}
	l := newSteps(x, 14)
	if x.Basis == Short {
		x.shortSteps(l)
		return l.all
	}
	b := x.book()
	length := x.lengthStep(l, b)
	conditions := []Expression{followed(b.terms[0])}
	var w *worst
	if x.Basis == Over8h {
		conditions = append(conditions, x.dayStands()...)
	}
	if x.Basis == Worst8h {
		w = b.worst()
		conditions = append(conditions, w.stands(length)...)
	}
	l.follow(conditions...)
	x.coverageSteps(l, b, length)
	if w != nil {
		w.windowSteps(l)
	}
	x.boundSteps(l)
	l.work(Step{Key: "open", Symbol: "open", Name: "1 where it stays under its upper bound", By: x.openUnder(asStated),
		Source: "a non-detect is under R, never at it"})
	if x.Basis != Worst8h {
		x.groupSteps(l)
	}
	return l.all
}

// lengthStep adds the minutes of the shift, or of the shifts of the day.
func (x *Exposure) lengthStep(l *steps, b *doseBook) Expression {
	var all []Expression
	for _, d := range b.doses {
		all = append(all, d.lengthAt())
	}
	return l.add(Step{Key: "shift_min", Symbol: "T_shift", Name: "minutes of the shift", Unit: "min", By: sum(all), Value: x.Minutes,
		Source: "the row of shifts, else the larger of shift_min and the span of the samples"})
}

// coverageSteps adds how much of the shift was sampled.
func (x *Exposure) coverageSteps(l *steps, b *doseBook, length Expression) {
	var all []Expression
	for _, d := range b.doses {
		if !d.filled {
			all = append(all, d.terms[0].at("together_min", "Σt", d.line.sampled))
		}
	}
	together := sum(all)
	l.add(Step{Key: "sampled_min", Symbol: "t", Name: "minutes sampled", Unit: "min", By: operate(Least, together, length), Value: x.SampledMin,
		Source: "sum of the samples, no more than the shift"})
	l.add(Step{Key: "coverage_pct", Symbol: "cov", Name: "covered", Unit: "%", By: operate(Least, figure(100), divided(times(figure(100), together), length)),
		Value: x.Coverage.Value, Source: "sampled minutes over those of the shift"})
	x.coverStep(l, b, together, length)
}

// boundSteps adds the exposure with its bounds, and as it would be if unsampled
// minutes were taken otherwise.
func (x *Exposure) boundSteps(l *steps) {
	unit, source := x.Quantity.Unit(), basisSource[x.Basis]
	add := func(key, symbol, name string, which taken, b bound) {
		l.add(Step{Key: key, Symbol: symbol, Name: name, Unit: unit, By: x.averaged(which, b, one), Value: of(x.under(which), b), Source: source})
	}
	keys := x.airKeys()
	add(keys[lowEnd], "E_low", "exposure at least", asStated, lowEnd)
	add(keys[middle], "E", "exposure", asStated, middle)
	add(keys[highEnd], "E_high", "exposure at most", asStated, highEnd)
	zero, same := x.policyKeys(unsampledZero), x.policyKeys(unsampledSame)
	add(zero[lowEnd], "E_0,low", "exposure at least, unsampled as zero", unsampledZero, lowEnd)
	add(zero[middle], "E_0", "exposure, unsampled as zero", unsampledZero, middle)
	add(same[middle], "E_s", "exposure, unsampled as sampled", unsampledSame, middle)
	add(same[highEnd], "E_s,high", "exposure at most, unsampled as sampled", unsampledSame, highEnd)
}

// under returns an exposure with unsampled minutes taken in one way.
func (x *Exposure) under(which taken) stats.Interval {
	return [...]stats.Interval{x.Value, x.IfZero, x.IfSame}[which]
}

func (x *Exposure) airKeys() [3]string { return airKeys[x.Quantity] }

// policyKeys are the keys of the bounds under another policy.
func (x *Exposure) policyKeys(which taken) [3]string {
	name := [...]string{unsampledZero: "if_zero", unsampledSame: "if_same"}[which]
	unit := [...]string{OfMass: "_mgm3", OfFibres: "_fcc"}[x.Quantity]
	return [3]string{name + "_low" + unit, name + unit, name + "_high" + unit}
}

// at refers to a bound of the exposure.
func (x *Exposure) at(which taken, b bound) Expression {
	keys := x.airKeys()
	if which != asStated {
		keys = x.policyKeys(which)
	}
	return reference(x, keys[b], "E", of(x.under(which), b))
}

// averaged returns a bound of the dose, with each concentration weighted, over
// the minutes of the average.
func (x *Exposure) averaged(which taken, b bound, weight func(*Concentration) float64) Expression {
	book := x.book()
	if x.Basis == Worst8h {
		return book.worst().greatest(which, b, weight)
	}
	var terms []Expression
	for _, t := range book.terms {
		terms = append(terms, weighted(t.product(which, b), weight(t.Concentration)))
	}
	for _, d := range book.doses {
		if stated, has := d.statedDose(); has {
			terms = append(terms, stated)
		}
	}
	return divided(sum(terms), x.divisor())
}

// divisor is the minutes of the average.
func (x *Exposure) divisor() Expression {
	switch x.Basis {
	case OverShift:
		return reference(x, "shift_min", "T_shift", x.Minutes)
	case Over10h:
		return figure(minutes10h)
	}
	return figure(minutes8h)
}

func weighted(e Expression, w float64) Expression {
	if w == 1 {
		return e
	}
	return times(e, constant("molar volume at the site over that of limits", w))
}

// openUnder is 1 where the upper bound is never reached.
func (x *Exposure) openUnder(which taken) Expression {
	if x.Basis == Worst8h {
		return x.book().worst().open(which)
	}
	var all []Expression
	met := map[*Concentration]bool{}
	for _, t := range x.book().terms {
		if c := t.Concentration; !met[c] {
			met[c] = true
			all = append(all, holds(c.openAt()))
		}
	}
	return either(all...)
}

// shortSteps adds what one short-term sample says.
func (x *Exposure) shortSteps(l *steps) {
	c, t := x.average.doses[0].terms[0].conc, x.turns[0]
	h := t.spanSteps(l)
	l.follow(append(append([]Expression{followed(c)}, c.Sample.belongs(t.row)...), t.lengthStands(h)...)...)
	l.add(Step{Key: "sampled_min", Symbol: "t", Name: "minutes sampled", Unit: "min", By: reference(c.Sample, "minutes", "t", x.SampledMin),
		Value: x.SampledMin, Source: "minutes of the sample"})
	add := func(key, symbol, name string, b bound) {
		l.add(Step{Key: key, Symbol: symbol, Name: name, Unit: x.Quantity.Unit(), By: c.airAt(b), Value: of(x.Value, b), Source: basisSource[Short]})
	}
	keys := x.airKeys()
	add(keys[lowEnd], "E_low", "exposure at least", lowEnd)
	add(keys[middle], "E", "exposure", middle)
	add(keys[highEnd], "E_high", "exposure at most", highEnd)
	add(x.policyKeys(unsampledZero)[middle], "E_0", "exposure, unsampled as zero", middle)
	add(x.policyKeys(unsampledSame)[middle], "E_s", "exposure, unsampled as sampled", middle)
	l.work(Step{Key: "open", Symbol: "open", Name: "1 where it stays under its upper bound", By: c.openAt(),
		Source: "a non-detect is under R, never at it"})
}

var basisSource = map[Basis]string{
	OverShift: "mean over the shift",
	Over8h:    "29 CFR 1910.1000(d)(1)(i): dose over 8 hours",
	Over10h:   "dose over 10 hours",
	Worst8h:   "worst contiguous 8 hours of a longer shift, each bound on its own",
	Short:     "one short-term sample",
}

// atSiteAir reports whether ppm are stated for the air of the site.
func (x *Exposure) atSiteAir() bool {
	return x.WorkerShift.of.settings.Limits.PPMBasis == limits.AtSite
}
