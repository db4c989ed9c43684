package exposure

import (
	"fmt"

	"airtally/exposure/survey"
	"airtally/stats"
)

// bound is one of the numbers of an interval.
type bound int

const (
	lowEnd bound = iota
	middle
	highEnd
)

// airKeys are the keys of the bounds of a concentration or an exposure.
var airKeys = [...][3]string{
	OfMass:   {"low_mgm3", "value_mgm3", "high_mgm3"},
	OfFibres: {"low_fcc", "value_fcc", "high_fcc"},
}

// airAt refers to a bound of a concentration in air.
func (c *Concentration) airAt(b bound) Expression {
	return reference(c, airKeys[c.Quantity][b], "C", of(c.Air, b))
}

// of returns a bound of an interval.
func of(x stats.Interval, b bound) float64 { return [...]float64{x.Low, x.Value, x.High}[b] }

func (c *Concentration) openAt() Expression {
	return reference(c, "open", "open", truth(c.Mass.Open).Number)
}

// Title names what the steps of a term lead to.
func (t *ExposureTerm) Title() string {
	return fmt.Sprintf("part of %s in the dose of %s, worker %s, shift %s",
		t.Concentration.Sample.ID, t.Concentration.Substance.Analyte, t.Worker, t.During)
}

// at refers to a step of a term.
func (t *ExposureTerm) at(key, symbol string, v float64) Expression {
	return reference(t, key, symbol, v)
}

// Steps returns the minutes with which a sample counts in the dose of a shift,
// and what it brings to the dose under each way to take unsampled minutes. The
// minutes of samples that lie one after another follow their times. Where
// samples overlap or stick out of the shift, or gaps are stated, the minutes
// are those that were found, and stale once a time is edited.
func (t *ExposureTerm) Steps() []Step {
	d := t.dose
	l := newSteps(t, 20)
	h := d.turn.spanSteps(l)
	lies := number1
	if conditions := t.stands(h); len(conditions) > 0 {
		lies = all(conditions...)
	}
	l.work(Step{Key: "stands", Symbol: "stands", Name: "1 while the sample lies in the shift as it did", By: lies,
		Source: "no two samples at once; nothing outside the shift"})
	var standing []Expression
	for _, o := range d.book.terms {
		standing = append(standing, holds(o.at("stands", "stands", 1)))
	}
	l.follow(standing...)
	t.minutesSteps(l, h.lasts)
	t.productSteps(l)
	return l.all
}

// lengthAt refers to how long the shift of a dose is.
func (d *shiftDose) lengthAt() Expression {
	return d.terms[0].at("shift_min", "T_shift", d.turn.Minutes)
}

// minutesSteps adds the minutes of a term and its share.
func (t *ExposureTerm) minutesSteps(l *steps, length Expression) {
	d := t.dose
	own := d.dose.terms[t.place]
	t.ranStep(l)
	ran := t.at("ran_min", "t_i", d.ran[t.place])
	together := l.work(Step{Key: "together_min", Symbol: "Σt", Name: "minutes of all samples", Unit: "min", By: d.together(), Source: "sum of the samples of the dose"})
	var sampled, share Expression
	if d.filled {
		sampled, share = number0, d.shareOfDay(t)
	} else {
		sampled, share = times(ran, operate(Least, number1, divided(length, together))), divided(ran, together)
	}
	sampled = l.add(Step{Key: "sampled_min", Symbol: "t", Name: "minutes sampled", Unit: "min", By: sampled, Value: own.minutes,
		Source: "timers that ran over the clock fill the time there is, no more"})
	share = l.add(Step{Key: "share", Symbol: "w", Name: "share of the sampled mean", By: share, Value: own.share, Source: "minutes of the sample over those of all"})
	left, zero := minus(length, operate(Least, together, length)), sampled
	if len(d.turn.gaps) > 0 {
		stated, same := d.gapSteps(l)
		left, zero = minus(left, stated), plus(sampled, times(same, share))
	}
	unsampled := l.add(Step{Key: "unsampled_min", Symbol: "t_u", Name: "minutes of the shift neither sampled nor stated", Unit: "min",
		By: operate(Greatest, number0, left), Value: d.dose.unsampled, Source: "shift less sampled less stated"})
	zero = l.add(Step{Key: "zero_min", Symbol: "t_0", Name: "minutes that count with unsampled ones as zero", Unit: "min", By: zero,
		Value: d.dose.minutes(own, survey.PolicyZero), Source: "sampled, and gaps stated to be as sampled"})
	filled := l.add(Step{Key: "same_min", Symbol: "t_s", Name: "minutes that count with unsampled ones as sampled", Unit: "min",
		By: plus(zero, times(unsampled, share)), Value: d.dose.minutes(own, survey.PolicySame), Source: "and its share of the unsampled minutes"})
	counted, source := zero, "unsampled: zero"
	if d.dose.policy == survey.PolicySame {
		counted, source = filled, "unsampled: same"
	}
	l.add(Step{Key: "counted_min", Symbol: "t_c", Name: "minutes that count", Unit: "min", By: counted, Value: t.CountedMin, Source: source})
}

// ranStep adds the minutes of the sample that lie in the shift.
func (t *ExposureTerm) ranStep(l *steps) {
	d, s := t.dose, t.Concentration.Sample
	ran := constant("minutes in the shift", d.ran[t.place])
	source := "as found: samples that ran at once share the time"
	if d.plain {
		ran, source = reference(s, "minutes", "t", s.Minutes.Value), "minutes of the sample"
		if d.turn.scheduled() && timed(s.Row.Start) {
			inside := l.work(Step{Key: "inside", Symbol: "in", Name: "share of the sample's time that lies in the shift",
				By: d.turn.insideOf(s), Source: "start and end of the shift"})
			ran, source = times(ran, inside), "minutes of the sample, as far as it lies in the shift"
		}
	}
	l.add(Step{Key: "ran_min", Symbol: "t_i", Name: "minutes of the sample in the shift", Unit: "min", By: ran, Value: d.ran[t.place], Source: source})
}

// together is the sum of the minutes of a dose's samples.
func (d *shiftDose) together() Expression {
	if d.filled {
		return number0
	}
	var all []Expression
	for i, t := range d.terms {
		all = append(all, t.at("ran_min", "t_i", d.ran[i]))
	}
	return sum(all)
}

// shareOfDay is the share of a sample of another shift of the day.
func (d *shiftDose) shareOfDay(t *ExposureTerm) Expression {
	var own Expression
	var all []Expression
	for _, o := range d.book.terms {
		if o.dose.filled {
			continue
		}
		at := o.at("sampled_min", "t", o.SampledMin)
		all = append(all, at)
		if o.Concentration == t.Concentration {
			own = at
		}
	}
	if len(all) == 0 {
		return number0
	}
	return divided(own, sum(all))
}

// take is one way to take unsampled minutes, with the bounds that are wanted
// of it.
type take struct {
	prefix, minutes string // of keys
	words           string
	policy          func(d *dose) survey.Policy
	bounds          []bound
}

// takes are the ways that exposures and verdicts need. Under zero nothing asks
// for the upper bound, nor under same for the lower.
var takes = [...]take{
	asStated:      {"dose", "counted_min", "", func(d *dose) survey.Policy { return d.policy }, []bound{lowEnd, middle, highEnd}},
	unsampledZero: {"zero", "zero_min", ", unsampled as zero", func(*dose) survey.Policy { return survey.PolicyZero }, []bound{lowEnd, middle}},
	unsampledSame: {"same", "same_min", ", unsampled as sampled", func(*dose) survey.Policy { return survey.PolicySame }, []bound{middle, highEnd}},
}

// key names a bound of a take among the steps of a term.
func (k take) key(b bound) string { return k.prefix + [...]string{"_low", "", "_high"}[b] }

// productSteps adds what the sample brings to the dose.
func (t *ExposureTerm) productSteps(l *steps) {
	for which := range takes {
		k := takes[which]
		for _, b := range k.bounds {
			minutes := t.minutesUnder(taken(which))
			l.work(Step{Key: k.key(b), Symbol: "C×t", Name: [...]string{"dose at least", "dose", "dose at most"}[b] + k.words,
				Unit: t.Concentration.Quantity.Unit() + "·min", By: times(t.at(k.minutes, "t", minutes), t.Concentration.airAt(b)),
				Source: "concentration times minutes"})
		}
	}
}

func (t *ExposureTerm) minutesUnder(which taken) float64 {
	d := &t.dose.dose
	return d.minutes(d.terms[t.place], takes[which].policy(d))
}

// product refers to what the sample brings to the dose.
func (t *ExposureTerm) product(which taken, b bound) Expression {
	minutes, worth := t.minutesUnder(which), 0.0
	if minutes > 0 {
		worth = minutes * of(t.Concentration.Air, b)
	}
	return t.at(takes[which].key(b), "C×t", worth)
}
