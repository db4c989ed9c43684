package exposure

import (
	"slices"

	"airtally/exposure/survey"
)

// derivedSteps adds the sum of the parts of a derived analyte. A missing part
// leaves it without an upper bound.
func (c *Concentration) derivedSteps(l *steps) {
	d := c.origin.derived
	parts, factors := c.parts()
	guards := c.airFollows()
	var opens []Expression
	for _, part := range parts {
		guards = append(guards, followed(part))
		opens = append(opens, holds(reference(part, "open", "open", truth(part.Mass.Open).Number)))
	}
	l.follow(append(guards, c.stillMissing()...)...)
	h := holding{source: "the derived table: sum of factor × part"}
	h.low, h.value, h.uncorrected = c.summed(0), c.summed(1), c.summed(3)
	h.high, h.open = c.summed(2), either(opens...)
	if len(parts) < len(d.parts) {
		h.high, h.open = unbounded, number0
		h.source += ", of which a part is missing"
	}
	if c.Blank.Known {
		h.blank = []Expression{c.summed(4)}
	}
	c.massSteps(l, h)
	if c.spreads() {
		c.spreadStep(l, parts, factors)
	}
}

// parts returns the parts of a derived analyte that there are on the sample,
// with their factors.
func (c *Concentration) parts() (parts []*Concentration, factors []float64) {
	for _, p := range c.origin.derived.parts {
		part := c.Sample.of.find(c.Sample, p.analyte, c.Substance.Form)
		if part != nil && part.Quantity == OfMass {
			parts, factors = append(parts, part), append(factors, p.factor)
		}
	}
	return parts, factors
}

// stillMissing are the conditions that what keeps a reported part from being
// one has not changed: its rows, and the blanks that left nothing.
func (c *Concentration) stillMissing() []Expression {
	var out []Expression
	for _, row := range c.unusedParts() {
		out = append(out, c.Sample.of.rowStands(c.Sample, row)...)
	}
	return out
}

// unusedParts returns the laboratory's rows that came to nothing and would
// change a derived analyte: of it under its own name, of its parts, and of what
// those are made of.
func (c *Concentration) unusedParts() []*survey.LabRow {
	return c.Sample.of.unusedRows(c.Sample, c.origin.derived, c.Substance.Form)
}

func (r *reduction) unusedRows(s *Sample, d *derivation, form string) []*survey.LabRow {
	out := r.rowsOf(s, d.analyte, form)
	for _, p := range d.parts {
		switch made := r.derivations[p.analyte]; {
		case r.find(s, p.analyte, form) != nil:
		case made != nil:
			out = append(out, r.unusedRows(s, made, form)...)
		default:
			out = append(out, r.rowsOf(s, p.analyte, form)...)
		}
	}
	return out
}

// rowsOf returns the laboratory's rows of one analyte and form on a sample.
func (r *reduction) rowsOf(s *Sample, analyte, form string) []*survey.LabRow {
	var out []*survey.LabRow
	for _, at := range r.lab.rows(int(s.number)) {
		if substance := r.rowSubstance[at]; substance.Analyte == analyte && substance.Form == form {
			out = append(out, &r.survey.Lab[at])
		}
	}
	return out
}

// summed adds up one of the massKeys of the parts.
func (c *Concentration) summed(which int) Expression {
	parts, factors := c.parts()
	var terms []Expression
	for i, part := range parts {
		if which == 4 && !part.Blank.Known {
			continue
		}
		terms = append(terms, times(constant("factor of "+part.Substance.Analyte, factors[i]), part.massAt(which)))
	}
	return sum(terms)
}

// spreads reports whether a concentration has a coefficient of variation, or
// would have one if there were anything on the sample.
func (c *Concentration) spreads() bool {
	if c.origin.derived == nil {
		return c.cv.Known
	}
	parts, _ := c.parts()
	return !slices.ContainsFunc(parts, func(p *Concentration) bool { return !p.spreads() })
}

// spreadStep adds the coefficient of variation of a derived analyte, 0 where
// it or a part made of others is nothing.
func (c *Concentration) spreadStep(l *steps, parts []*Concentration, factors []float64) {
	mass := c.massAt(1)
	conditions := []Expression{positive(mass)}
	var terms []Expression
	for i, part := range parts {
		cv := constant("cv of "+part.Substance.Analyte, part.cv.Value)
		if part.origin.derived != nil {
			cv = reference(part, "cv", "cv", part.cv.Or(0))
			conditions = append(conditions, positive(part.massAt(1)))
		}
		terms = append(terms, squared(times(times(constant("factor of "+part.Substance.Analyte, factors[i]), part.massAt(1)), cv)))
	}
	l.add(Step{Key: "cv", Symbol: "cv", Name: "coefficient of variation", Value: c.cv.Or(0), Source: "of the parts, in quadrature",
		By: when(all(conditions...), divided(root(sum(terms)), mass), number0)})
}
