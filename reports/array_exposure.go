package reports

import (
	"airtally/exposure"
	"airtally/limits"
	"airtally/stats"
)

const (
	averageNote = "What the exposure is averaged over: the shift; 8 h, the dose over 480 min; 10 h; the worst 8 h of a longer shift; one short-term sample; or the sample of a shift, where none was taken for a short-term limit."
	boundsNote  = "<: under the reporting limit. ≥: only a lower bound is known. In brackets: the bounds."
)

func (r *Report) exposures() array {
	type row = exposure.Exposure
	of := func(q exposure.Quantity, get func(*row) cell) func(*row) cell {
		return func(e *row) cell { return get(e).where(e.Quantity == q) }
	}
	valueOf := func(e *row) cell { return value(e.Value) }
	lowOf := func(e *row) cell { return low(e.Value) }
	highOf := func(e *row) cell { return high(e.Value) }
	ifZero := func(e *row) cell { return value(e.IfZero) }
	ifSame := func(e *row) cell { return value(e.IfSame) }
	return arrayOf("exposures", "Exposures", r.Exposures, []field[row]{
		in("worker", "Worker", figures, func(e *row) cell { return text(e.Worker) }),
		in("group", "Group", figures, func(e *row) cell { return text(e.Group) }).aside(""),
		in("shift", "Shift", figures, func(e *row) cell { return text(e.Shift) }),
		in("analyte", "Analyte", figures, func(e *row) cell { return text(e.Substance.Analyte) }),
		in("form", "Form", figures, func(e *row) cell { return text(e.Substance.Form) }),
		in("basis", "", figures, func(e *row) cell { return text(string(e.Basis)) }),
		in("", "Average", figures, func(e *row) cell { return text(averageWords[e.Basis]) }).
			noted(averageNote),
		in("sample", "Sample", figures, func(e *row) cell { return text(e.Sample) }),
		in("start", "Start", figures, func(e *row) cell { return moment(&e.Start) }).aside(""),
		in("sampled_min", "Sampled, min", figures, func(e *row) cell { return number(e.SampledMin) }),
		in("shift_min", "Shift, min", figures, func(e *row) cell { return number(e.Minutes) }),
		in("coverage_pct", "Covered, %", figures, func(e *row) cell { return optional(e.Coverage) }).
			noted("Of the shift, by samples of this analyte."),
		in("", "Exposure", span, func(e *row) cell { return text(figuresOf(e.Value)) }).
			spelt("value_mgm3", "low_mgm3", "high_mgm3").spelt("value_fcc", "low_fcc", "high_fcc").noted(boundsNote),
		in("", "Unit", figures, func(e *row) cell { return text(unitText(e.Quantity)) }),
		in("value_mgm3", "Value, mg/m³", figures, of(exposure.OfMass, valueOf)).aside("The number that stands for the exposure where one is wanted."),
		in("low_mgm3", "At least, mg/m³", figures, of(exposure.OfMass, lowOf)).aside("Lower bound."),
		in("high_mgm3", "At most, mg/m³", figures, of(exposure.OfMass, highOf)).aside("Upper bound; empty where there is none."),
		in("if_zero_mgm3", "If zero when not sampled, mg/m³", figures, of(exposure.OfMass, ifZero)).aside("The exposure if minutes not sampled had none."),
		in("if_same_mgm3", "If the same when not sampled, mg/m³", figures, of(exposure.OfMass, ifSame)).aside("The exposure if minutes not sampled were as the sampled ones."),
		in("value_fcc", "Value, f/cc", figures, of(exposure.OfFibres, valueOf)).aside("The number that stands for the exposure where one is wanted."),
		in("low_fcc", "At least, f/cc", figures, of(exposure.OfFibres, lowOf)).aside("Lower bound."),
		in("high_fcc", "At most, f/cc", figures, of(exposure.OfFibres, highOf)).aside("Upper bound; empty where there is none."),
		in("if_zero_fcc", "If zero when not sampled, f/cc", figures, of(exposure.OfFibres, ifZero)).aside("The exposure if minutes not sampled had none."),
		in("if_same_fcc", "If the same when not sampled, f/cc", figures, of(exposure.OfFibres, ifSame)).aside("The exposure if minutes not sampled were as the sampled ones."),
		in("samples", "Samples", prose, func(e *row) cell { return list(e.Samples) }),
	})
}

// doses returns what each sample brings to the dose of a shift.
func (r *Report) doses() array {
	type row = exposure.ExposureTerm
	rows := r.ExposureTerms()
	a := arrayOf("", "Doses", rows, []field[*row]{
		in("", "Worker", figures, func(t **row) cell { return text((*t).Worker) }),
		in("", "Group", figures, func(t **row) cell { return text((*t).Group) }).aside(""),
		in("", "Shift", figures, func(t **row) cell { return text((*t).Shift) }),
		in("", "Analyte", figures, func(t **row) cell { return text((*t).Concentration.Substance.Analyte) }),
		in("", "Form", figures, func(t **row) cell { return text((*t).Concentration.Substance.Form) }),
		in("", "Sample", figures, func(t **row) cell { return text((*t).Concentration.Sample.ID) }),
		in("", "Sampled, min", figures, func(t **row) cell { return number((*t).SampledMin) }).by("sampled_min").
			noted("Minutes of the sample that count in the shift."),
		in("", "Share of the sampled mean", percent, func(t **row) cell { return number((*t).Share) }).by("share").
			noted("Of the mean that stands for minutes not sampled."),
		in("", "Counted, min", figures, func(t **row) cell { return number((*t).CountedMin) }).by("counted_min").
			noted("Minutes with which the sample counts, with its share of those not sampled."),
	})
	a.object = func(i int) any { return rows[i] }
	a.steps = func(i int) []exposure.Step { return rows[i].Steps() }
	return a
}

func (r *Report) comparisons() array {
	type row = exposure.Comparison
	part := func(get func(stats.Interval) cell) func(*row) cell {
		return func(c *row) cell { return get(c.Fraction).against(1) }
	}
	return arrayOf("comparisons", "Exposures vs limits", r.Comparisons, []field[row]{
		in("worker", "Worker", figures, func(c *row) cell { return text(c.Worker) }),
		in("group", "Group", figures, func(c *row) cell { return text(c.Group) }).aside(""),
		in("shift", "Shift", figures, func(c *row) cell { return text(c.Shift) }),
		in("analyte", "Analyte", figures, func(c *row) cell { return text(c.Substance.Analyte) }),
		in("form", "Form", figures, func(c *row) cell { return text(c.Substance.Form) }),
		in("basis", "", figures, func(c *row) cell { return text(string(c.Basis)) }),
		in("", "Average", figures, func(c *row) cell { return text(averageWord(c)) }).
			noted(averageNote),
		in("sample", "Sample", figures, func(c *row) cell { return text(c.Sample) }),
		in("authority", "Authority", figures, func(c *row) cell { return text(c.Limit.Authority) }),
		in("instrument", "", figures, func(c *row) cell { return text(c.Limit.Instrument) }),
		in("kind", "Kind of limit", figures, func(c *row) cell { return text(string(c.Limit.Kind)) }),
		in("as", "As", figures, func(c *row) cell { return text(c.Limit.As) }).aside("What the limit is expressed as."),
		in("limit", "Limit", published, func(c *row) cell { return number(c.LimitValue) }),
		in("", "How well known", remark, func(c *row) cell { return text(limits.MemoryMark).where(c.Limit.FromMemory()) }),
		in("unit", "", figures, func(c *row) cell { return text(c.Limit.Unit.Name) }),
		in("", "Exposure", span, exposureOf).
			spelt("value", "fraction_low", "fraction_high").noted(boundsNote),
		in("value", "Value", figures, func(c *row) cell { return number(c.Value).against(c.LimitValue) }).aside("The number that stands for the exposure where one is wanted."),
		in("", "Unit", figures, func(c *row) cell { return text(prettyUnit(c.Limit.Unit.Name)) }),
		in("", "Share of limit", span, func(c *row) cell { return text(percentOf(c.Fraction)).against(1) }).
			spelt("fraction", "fraction_low", "fraction_high").noted(boundsNote),
		in("fraction", "Fraction of limit", percent, part(value)).aside("Exposure over limit."),
		in("fraction_low", "Fraction at least", percent, part(low)).aside("Lower bound of the fraction."),
		in("fraction_high", "Fraction at most", percent, part(high)).aside("Upper bound of the fraction; empty where there is none."),
		in("sae", "Sampling and analytical error", percent, func(c *row) cell { return optional(c.SAE) }).aside("Relative, one-sided 95 %."),
		in("lcl_fraction", "Lower confidence limit", percent, func(c *row) cell { return optional(c.LCL).against(1) }).aside("Lower bound of the fraction less the sampling and analytical error."),
		in("ucl_fraction", "Upper confidence limit", percent, func(c *row) cell { return optional(c.UCL).against(1) }).aside("Upper bound of the fraction with the sampling and analytical error; empty where there is none."),
		in("outcome", "Outcome", verdict, func(c *row) cell { return text(string(c.Outcome)) }).
			noted("above or below only where every bound, the error and the minutes not sampled allow nothing else."),
		in("", "Why undecided", remark, func(c *row) cell { return text(whyUndecided(c)) }).
			reasoned("outcome", "fraction_low", "fraction_high"),
		in("source", "", figures, func(c *row) cell { return text(c.Limit.Source) }),
	})
}

func (r *Report) mixtures() array {
	type row = exposure.MixtureResult
	part := func(get func(stats.Interval) cell) func(*row) cell {
		return func(m *row) cell { return get(m.Index).against(1) }
	}
	return arrayOf("mixtures", "Mixtures", r.Mixtures, []field[row]{
		in("worker", "Worker", figures, func(m *row) cell { return text(m.Worker) }),
		in("shift", "Shift", figures, func(m *row) cell { return text(m.Shift) }),
		in("mixture", "Mixture", figures, func(m *row) cell { return text(m.Mixture) }),
		in("authority", "Authority", figures, func(m *row) cell { return text(m.Authority) }),
		in("kind", "Kind of limit", figures, func(m *row) cell { return text(string(m.Kind)) }),
		in("basis", "", figures, func(m *row) cell { return text(string(m.Basis)) }),
		in("", "Average", figures, func(m *row) cell { return text(averageWords[m.Basis]) }).
			noted(averageNote),
		in("sample", "Sample", figures, func(m *row) cell { return text(m.Sample) }),
		in("", "Index, against 1", span, func(m *row) cell { return text(indexOf(m.Index)).against(1) }).spelt("index", "index_low", "index_high").
			noted("The sum of the parts' fractions of their limits; it must not be over 1."),
		in("index", "Sum of fractions", figures, part(value)).aside("The number that stands for the index."),
		in("index_low", "At least", figures, part(low)).aside("Lower bound."),
		in("index_high", "At most", figures, part(high)).aside("Upper bound; empty where a part or its limit is missing."),
		in("outcome", "Outcome", verdict, func(m *row) cell { return text(string(m.Outcome)) }),
		in("", "Why undecided", remark, func(m *row) cell { return text(whyMixtureUndecided(m)) }).
			reasoned("outcome", "index_low", "index_high"),
		in("", "Parts", prose, func(m *row) cell { return list(partNames(m.Parts)) }).
			spelt("index", "index_low", "index_high"),
	})
}

func partNames(parts []*exposure.Comparison) []string {
	names := make([]string, len(parts))
	for i, p := range parts {
		names[i] = p.Substance.Analyte + " " + percentOf(p.Fraction)
	}
	return names
}

// exceededWhen says which side of a limit equality falls on.
func exceededWhen(c limits.Comparator) string {
	if c == limits.AtOrAbove {
		return "at or above"
	}
	return "above"
}

// exposureOf returns the exposure of a comparison for people: the number, or
// "<0.06" or "≥0.12" where only a bound is known. Bounds on both sides stand
// beside it, as shares of the limit.
func exposureOf(c *exposure.Comparison) cell {
	f := c.Fraction
	if !f.Censored() || f.Bounded() && !(f.Open && f.Low == 0) || !f.Bounded() && f.Low < f.Value {
		return number(c.Value).against(c.LimitValue)
	}
	return text(intervalText(f.Scale(c.LimitValue), func(v float64) string { return fixed(v, decimals(v, c.LimitValue)) }, ""))
}

// exposureWithUnit returns the same with its unit.
func exposureWithUnit(c *exposure.Comparison) string {
	shown := exposureOf(c)
	words := shown.text
	if shown.form == isNumber {
		words = fixed(shown.number, decimals(shown.number, shown.mark))
	}
	return words + " " + prettyUnit(c.Limit.Unit.Name)
}
