package exposure

import (
	"fmt"
	"slices"

	"airtally/limits"
)

// Title names what the steps of an index lead to.
func (m *MixtureResult) Title() string {
	return fmt.Sprintf("index of %s for worker %s, shift %s, against %s %s", m.Mixture, m.Worker, m.Shift, m.Authority, m.Kind)
}

// Steps returns how the index of a mixture comes about: the sum of the
// fractions of its parts, the error, and what both support.
func (m *MixtureResult) Steps() []Step {
	if m.WorkerShift == nil || m.WorkerShift.of == nil {
		return nil // made without a survey
	}
	l := newSteps(m, 16)
	l.follow(m.stands()...)
	const source = "29 CFR 1910.1000(d)(2): sum of the parts' fractions of their limits"
	whole := m.complete()
	value := l.add(Step{Key: "index", Symbol: "Em", Name: "index", By: m.summed(fractionKey, middle), Value: m.Index.Value, Source: source})
	low := l.add(Step{Key: "index_low", Symbol: "Em_low", Name: "index at least", By: m.summed(fractionKey, lowEnd), Value: m.Index.Low, Source: source})
	top := m.summed(fractionKey, highEnd)
	if !whole {
		top = unbounded
	}
	high := l.add(Step{Key: "index_high", Symbol: "Em_high", Name: "index at most", By: top, Value: m.Index.High,
		Source: source + "; no upper bound where a part or its limit is missing"})
	h := m.errorStep(l, value)
	m.outcomeStep(l, whole, low, high, h)
	return l.all
}

// fractionKey are the keys of the fraction of a part.
var fractionKey = [3]string{"fraction_low", "fraction", "fraction_high"}

// stands are the conditions that the parts are those that count.
func (m *MixtureResult) stands() []Expression {
	var out []Expression
	for _, k := range m.Parts {
		out = append(out, followed(k))
	}
	for _, p := range m.rivals {
		high := func(k *Comparison) Expression {
			return reference(k, fractionKey[highEnd], "Y_high", k.Fraction.High)
		}
		graver := less(high(p.earlier), high(p.later))
		if p.later.Fraction.High <= p.earlier.Fraction.High {
			graver = operate(Not, graver)
		}
		out = append(out, holds(when(all(followed(p.earlier), followed(p.later)), graver, number0)))
	}
	return append(out, m.stillMissing()...)
}

// stillMissing are the conditions that parts without a comparison do not get
// one.
func (m *MixtureResult) stillMissing() []Expression {
	var out []Expression
	for _, analyte := range missingParts(m.WorkerShift.of.partsOf(m.Mixture), m.Parts) {
		for _, t := range m.turns {
			for _, s := range t.samples {
				if m.Basis != Short || s.Row.Purpose.ShortTerm() {
					out = append(out, m.keepsFrom(s, analyte)...)
				}
			}
		}
	}
	return out
}

// keepsFrom are the conditions that a sample brings no more of an analyte to
// exposures than it does.
func (m *MixtureResult) keepsFrom(s *Sample, analyte string) []Expression {
	r := s.of
	var out []Expression
	for _, at := range r.lab.rows(int(s.number)) {
		substance := r.rowSubstance[at]
		if substance != nil && substance.Analyte == analyte && m.hasLimit(substance) && r.find(s, analyte, substance.Form) == nil {
			out = append(out, r.rowStands(s, &r.survey.Lab[at])...)
		}
	}
	for c := range r.of(s) {
		if c.Substance.Analyte == analyte && m.hasLimit(c.Substance) {
			out = append(out, followed(c), followed(s))
			out = append(out, s.ranAsItDid()...)
		}
	}
	return out
}

// hasLimit reports whether a substance has a limit that the index could count.
func (m *MixtureResult) hasLimit(s *Substance) bool {
	return slices.ContainsFunc(s.limits, func(l *limits.Limit) bool { return l.Authority == m.Authority && l.Kind == m.Kind })
}

// partsOf returns the components of a mixture.
func (r *reduction) partsOf(mixture string) []string {
	var all []string
	for i := range r.survey.Mixtures {
		if row := &r.survey.Mixtures[i]; row.Mixture == mixture {
			all = append(all, row.Analyte)
		}
	}
	return distinct(all)
}

// complete reports whether every component has a part.
func (m *MixtureResult) complete() bool {
	return len(missingParts(m.WorkerShift.of.partsOf(m.Mixture), m.Parts)) == 0
}

// summed adds up a number of the parts.
func (m *MixtureResult) summed(keys [3]string, b bound) Expression {
	var all []Expression
	for _, k := range m.Parts {
		all = append(all, reference(k, keys[b], "Y", of(k.Fraction, b)))
	}
	return sum(all)
}

// errorStep adds the error of the index.
func (m *MixtureResult) errorStep(l *steps, index Expression) Expression {
	var squares []Expression
	for _, k := range m.Parts {
		squares = append(squares, squared(times(constant("SAE of "+k.Substance.Analyte, k.SAE.Value), reference(k, fractionKey[middle], "Y", k.Fraction.Value))))
	}
	return l.work(Step{Key: "error", Symbol: "RSt", Name: "error of the index",
		By:     when(positive(index), divided(root(sum(squares)), index), number0),
		Source: "OSHA field-manual method for mixtures: √Σ(R·SAE)², R the part's share of the index"})
}

// outcomeStep adds what the index supports.
func (m *MixtureResult) outcomeStep(l *steps, whole bool, low, high, h Expression) {
	const c = limits.Above
	over := []Expression{exceeds(minus(low, h), c)}
	under := []Expression{stays(plus(high, h), number0, c)}
	if m.Basis != Short && !m.PolicyStated {
		var zero, same []Expression
		for _, k := range m.Parts {
			ifZero, ifSame := k.policies(m.WorkerShift.of)
			zero = append(zero, reference(k, "fraction_zero_low", "Y_0,low", ifZero.Low))
			same = append(same, reference(k, "fraction_same_high", "Y_s,high", ifSame.High))
		}
		sameHigh := sum(same)
		if !whole {
			sameHigh = unbounded
		}
		over = append(over, exceeds(minus(sum(zero), h), c))
		under = append(under, stays(plus(sameHigh, h), number0, c))
	}
	for _, k := range m.Parts {
		if covered, needed := k.coveredBy(); needed {
			under = append(under, covered)
		}
	}
	l.add(outcomeOf(over, under, m.Outcome))
}
