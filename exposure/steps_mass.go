package exposure

import (
	"fmt"

	"airtally/exposure/survey"
)

// self returns the concentration that the results of the same survey refer to.
func (c *Concentration) self() *Concentration {
	if own := c.Sample.of.find(c.Sample, c.Substance.Analyte, c.Substance.Form); own != nil {
		return own
	}
	return c
}

// Title names what the steps of a concentration lead to.
func (c *Concentration) Title() string {
	return fmt.Sprintf("%s on %s", c.Substance.Analyte, c.Sample.ID)
}

// Steps returns how what was on the sample, and its concentration in air, are
// worked out, under the names of the output fields.
func (c *Concentration) Steps() []Step {
	if c.Sample.of == nil {
		return nil // made without a survey
	}
	c = c.self()
	l := newSteps(c, 14)
	if c.origin.derived != nil {
		c.derivedSteps(l)
	} else {
		c.foundSteps(l)
	}
	if c.HasAir {
		c.airSteps(l)
	}
	return l.all
}

// massKeys are the keys of what the sample held: low, value, high,
// uncorrected, blank.
func (c *Concentration) massKeys() [5]string {
	if c.Quantity == OfFibres {
		return [5]string{"fibres_low", "fibres", "fibres_high", "fibres_uncorrected", "fibres_blank"}
	}
	return [5]string{"mass_low_ug", "mass_ug", "mass_high_ug", "mass_uncorrected_ug", "blank_ug"}
}

// massAt refers to one of the massKeys of a concentration.
func (c *Concentration) massAt(which int) Expression {
	return reference(c, c.massKeys()[which], "m",
		[]float64{c.Mass.Low, c.Mass.Value, c.Mass.High, c.MassUncorrected, c.Blank.Value}[which])
}

// found is what one section of a sample comes to, in the making.
type found struct {
	steps     *steps
	suffix    string // of its keys: "", "_front" or "_back"
	name      string // of the section
	unit      string
	reads     Expression // whether the row itself is a non-detect; 0 for weighings
	amount    Expression
	limit     Expression
	limited   bool // there is a reporting limit that an amount may fall under
	signed    bool // the row may be a non-detect by itself
	keep      bool // J
	atLeast   bool
	back      bool
	isBlank   bool // of a blank sample, which is not corrected
	blank     *BlankMean
	convert   NonDetect
	corrected Expression
	nonDetect Expression // 1 or 0, after correction
	guards    []Expression
}

// foundSteps adds what the laboratory's rows and the blanks come to.
func (c *Concentration) foundSteps(l *steps) {
	r, row, second := c.Sample.of, c.origin.row, c.origin.second
	front := c.sectionOf(l, row)
	var back *found
	switch {
	case second == nil:
	case row.Section == survey.PostWeight:
		c.weigh(front, second)
	default:
		front.suffix, front.name = "_front", "front section"
		back = c.sectionOf(l, second)
		back.suffix, back.name, back.back = "_back", "back section", true
	}
	front.correct()
	guards := append(front.guards, c.airFollows()...)
	if back == nil {
		l.follow(guards...)
		c.massSteps(l, holding{low: front.low(), value: front.value(), high: front.high(), uncorrected: c.uncorrected(front, nil),
			open: front.nonDetect, blank: front.blankRef(), source: front.convert.source()}.desorbed(row))
		return
	}
	back.correct()
	l.follow(append(guards, back.guards...)...)
	c.tubeSteps(l, r, front, back)
}

// airFollows is the condition that the sample's air still comes about as it
// did, or still does not.
func (c *Concentration) airFollows() []Expression {
	if c.Sample.Kind == survey.Blank {
		return nil
	}
	return []Expression{followed(c.Sample)}
}

// sectionOf returns the section that a row speaks of.
func (c *Concentration) sectionOf(l *steps, row *survey.LabRow) *found {
	r := c.Sample.of
	x := r.reportedBy(row, c.Sample, c.Substance)
	f := &found{steps: l, name: "sample", unit: c.Quantity.held(), amount: x.amount(), reads: number0,
		keep: row.Qualifiers.Has(survey.J), isBlank: c.Sample.Kind == survey.Blank, convert: r.settings.NonDetect}
	f.guards = []Expression{followed(row)}
	f.limited = row.ReportingLimit.Known
	f.limit = reference(row, "limit", "R", row.ReportingLimit.Value*x.factor)
	if row.Section != survey.PostWeight {
		read, _ := x.assay.read(x.pair, row)
		f.reads = reference(row, "nondetect", "nd", truth(read.state == notDetected).Number)
		f.limit.Value = read.limit.Value
		f.signed = x.signed() || row.Kind == survey.NotFound
		f.atLeast = x.atLeast()
	}
	for _, m := range c.Sample.blankMeansOf(row) {
		f.blank, f.guards = m, append(f.guards, followed(m))
	}
	if f.blank == nil && c.Sample.corrects(row) {
		f.guards = append(f.guards, r.leftStand(lotOf(c.Sample), row.Analyte, blankSection(row))...)
	}
	return f
}

// weigh makes the section of a filter its gain.
func (c *Concentration) weigh(f *found, before *survey.LabRow) {
	x := c.Sample.of.reportedBy(before, c.Sample, c.Substance)
	f.amount = f.steps.work(Step{Key: "gain", Symbol: "x", Name: "gain", Unit: f.unit, By: minus(f.amount, x.amount()),
		Source: "weighing after less weighing before"})
	f.guards = append(f.guards, followed(before))
	if !f.limited && before.ReportingLimit.Known {
		f.limited = true
		f.limit = reference(before, "limit", "R", before.ReportingLimit.Value*x.factor)
	}
}

// correct adds the amount less its blank, and whether it is a non-detect.
func (f *found) correct() {
	f.corrected, f.nonDetect = f.amount, f.reads
	if f.isBlank {
		return
	}
	if f.blank != nil {
		f.corrected = f.steps.work(Step{Key: "corrected" + f.suffix, Symbol: "x − b", Name: f.name + " less its blank", Unit: f.unit,
			By:     minus(f.amount, f.blank.at()),
			Source: "mean of the field blanks taken off (NIOSH Manual of Analytical Methods 0500, 1401, 7024)"})
	}
	if f.atLeast {
		return
	}
	nothing := operate(LessEqual, f.corrected, number0)
	var lost []Expression
	switch {
	case f.limited && f.keep:
		lost = append(lost, all(isUnder(f.corrected, f.limit), nothing))
	case f.limited:
		lost = append(lost, isUnder(f.corrected, f.limit))
	case f.back:
		lost = append(lost, nothing)
	default:
		f.guards = append(f.guards, either(holds(f.reads), positive(f.corrected)))
		return
	}
	f.nonDetect = f.steps.work(Step{Key: "nondetect" + f.suffix, Symbol: "nd", Name: "1 where the " + f.name + " is a non-detect",
		By:     either(append(lost, holds(f.reads))...),
		Source: "a detect that its blank brings under R is one; an estimate (J) stays a detect"})
}

// mayVanish reports whether the section can be a non-detect.
func (f *found) mayVanish() bool { return f.limited || f.signed || f.back }

// low, value and high are the interval of the section. A non-detect back
// section never gets to them.
func (f *found) low() Expression {
	if !f.mayVanish() {
		return f.detected()
	}
	return when(holds(f.nonDetect), number0, f.detected())
}

func (f *found) value() Expression {
	if !f.mayVanish() {
		return f.detected()
	}
	return when(holds(f.nonDetect), f.convert.of(f.limit), f.detected())
}

func (f *found) high() Expression {
	high := f.detected()
	if f.atLeast {
		high = unbounded
	}
	if !f.mayVanish() {
		return high
	}
	return when(holds(f.nonDetect), f.limit, high)
}

func (f *found) detected() Expression {
	if f.atLeast && f.blank != nil {
		return operate(Greatest, number0, f.corrected)
	}
	return f.corrected
}

// blankRef returns the mean of the section's blanks, nil where there is none.
func (f *found) blankRef() []Expression {
	if f.blank == nil {
		return nil
	}
	return []Expression{f.blank.at()}
}

// at refers to the mean.
func (m *BlankMean) at() Expression { return reference(m, "mean", "b", m.Mean) }

// uncorrected returns what the rows say without blanks. A back section that
// the laboratory did not find adds nothing.
func (c *Concentration) uncorrected(front, back *found) Expression {
	of := func(f *found) Expression {
		if f.signed {
			return when(holds(f.reads), f.convert.of(f.limit), f.amount)
		}
		return f.amount
	}
	if back == nil {
		return of(front)
	}
	return plus(of(front), when(holds(back.reads), number0, back.amount))
}

// tubeSteps adds the sections up. A back section over its share of the front
// means that more went through than was caught.
func (c *Concentration) tubeSteps(l *steps, r *reduction, front, back *found) {
	limit := defaultBreakthroughPct
	if m := r.media[c.Sample.Medium]; m != nil {
		limit = m.BreakthroughPct.Or(limit)
	}
	value := l.work(Step{Key: "value_front", Symbol: "m_f", Name: "front section", Unit: front.unit, By: front.value(), Source: front.convert.source()})
	added := l.work(Step{Key: "added_back", Symbol: "m_b", Name: "what the back section adds", Unit: front.unit,
		By: when(holds(back.nonDetect), number0, back.detected()), Source: "a non-detect back section adds nothing"})
	high := plus(front.high(), added)
	if back.atLeast {
		high = when(holds(back.nonDetect), front.high(), unbounded)
	}
	open := front.nonDetect
	if !front.isBlank {
		through := l.work(Step{Key: "breakthrough", Symbol: "through", Name: "1 where the back section is over its share of the front",
			By: all(fails(back.nonDetect), either(holds(front.nonDetect),
				isOverShare(added, value, constant("breakthrough_pct", limit)))),
			Source: "breakthrough_pct of the front section (NIOSH Manual of Analytical Methods 1401)"})
		high = when(holds(through), unbounded, high)
		open = all(holds(front.nonDetect), fails(through))
	}
	c.massSteps(l, holding{low: plus(front.low(), added), value: plus(value, added), high: high, uncorrected: c.uncorrected(front, back),
		open: open, blank: append(front.blankRef(), back.blankRef()...), source: front.convert.source()}.desorbed(c.origin.row))
}

// isOverShare is the condition that a part is over so many percent of a whole.
func isOverShare(part, whole, pct Expression) Expression {
	return less(times(times(pct, figure(1+roundingTolerance)), whole), times(figure(100), part))
}

// holding is what a sample held, in the making.
type holding struct {
	low, value, high, uncorrected, open Expression
	blank                               []Expression // of its sections; none where nothing is taken off
	source                              string
}

// desorbed divides by the desorption efficiency where the laboratory has not.
func (h holding) desorbed(row *survey.LabRow) holding {
	if !row.DesorptionNotApplied {
		return h
	}
	efficiency := constant("desorption efficiency", row.Desorption.Value)
	for _, part := range []*Expression{&h.low, &h.value, &h.high, &h.uncorrected} {
		*part = divided(*part, efficiency)
	}
	if len(h.blank) > 0 {
		h.blank = []Expression{divided(sum(h.blank), efficiency)}
	}
	h.source = "over the desorption efficiency (29 CFR 1910.1045 Appendix D, 10.5); " + h.source
	return h
}

// massSteps adds what the sample held, with its bounds.
func (c *Concentration) massSteps(l *steps, h holding) {
	keys, unit := c.massKeys(), c.Quantity.held()
	l.add(Step{Key: keys[3], Symbol: "m_0", Name: "held, without blank correction", Unit: unit, By: h.uncorrected,
		Value: c.MassUncorrected, Source: h.source})
	if c.Blank.Known && len(h.blank) > 0 {
		l.add(Step{Key: keys[4], Symbol: "b", Name: "mean of the field blanks", Unit: unit, By: sum(h.blank), Value: c.Blank.Value,
			Source: "mean of the field blanks"})
	}
	for i, by := range []Expression{h.low, h.value, h.high} {
		l.add(Step{Key: keys[i], Symbol: [...]string{"m_low", "m", "m_high"}[i],
			Name: [...]string{"held at least", "held by the sample", "held at most"}[i], Unit: unit, By: by,
			Value: []float64{c.Mass.Low, c.Mass.Value, c.Mass.High}[i], Source: h.source})
	}
	l.add(Step{Key: "open", Symbol: "open", Name: "1 where it stays under its upper bound", By: h.open,
		Value: truth(c.Mass.Open).Number, Source: "a non-detect is under R, never at it"})
}

// airSteps adds the concentration in air.
func (c *Concentration) airSteps(l *steps) {
	s := c.Sample
	keys, per, source := [3]string{"low_mgm3", "value_mgm3", "high_mgm3"}, func(v Expression) Expression { return v }, "1 ug/L is 1 mg/m3"
	if c.Quantity == OfFibres {
		keys, source = [3]string{"low_fcc", "value_fcc", "high_fcc"}, "fibres per cm3: 1 L is 1000 cm3"
		per = func(v Expression) Expression { return times(figure(1000), v) }
	}
	add := func(which int, symbol, name, volumeKey string, volume, value float64) Expression {
		return l.add(Step{Key: keys[which], Symbol: symbol, Name: name, Unit: c.Quantity.Unit(), Value: value, Source: source,
			By: divided(c.massAt(which), per(reference(s, volumeKey, "V", volume)))})
	}
	add(0, "C_low", "at least", "volume_high_l", s.VolumeHigh.Value, c.Air.Low)
	if !c.Void && s.Volume.Known {
		value := add(1, "C", "concentration", "volume_l", s.Volume.Value, c.Air.Value)
		if c.PPM.Known {
			l.add(Step{Key: "value_ppm", Symbol: "C_ppm", Name: "concentration", Unit: "ppm",
				By:    divided(times(value, s.molarVolume()), constant("molecular weight", c.Substance.Weight.Value)),
				Value: c.PPM.Value, Source: "ppm = mg/m3 × molar volume / molecular weight"})
		}
	}
	add(2, "C_high", "at most", "volume_low_l", s.VolumeLow.Value, c.Air.High)
	if c.URel.Known {
		c.uncertaintyStep(l)
	}
}

// molarVolume is the molar volume by which ppm are stated, in L/mol: the
// setting, or that of the site's air.
func (s *Sample) molarVolume() Expression {
	v := s.of.molarVolume(s)
	if v != s.of.settings.Limits.MolarVolume {
		return constant("molar volume of the site's air", v)
	}
	return constant("molar_volume", v)
}

func (c *Concentration) uncertaintyStep(l *steps) {
	ofVolume := reference(c.Sample, "u_volume_rel", "u_V", c.Sample.UVolumeRel.Value)
	by := ofVolume
	switch {
	case c.origin.derived != nil:
		if cv, ok := l.find("cv"); ok {
			by = root(plus(squared(ofVolume), squared(cv)))
		}
	case c.cv.Known:
		by = root(plus(squared(ofVolume), squared(constant("coefficient of variation of the analysis", c.cv.Value))))
	}
	l.add(Step{Key: "u_rel", Symbol: "u", Name: "relative standard uncertainty, k = 1", By: by, Value: c.URel.Value,
		Source: "volume and analysis in quadrature (JCGM 100:2008)"})
}

// find refers to a step by its key.
func (l *steps) find(key string) (Expression, bool) {
	for i := range l.all {
		if l.all[i].Key == key {
			return l.all[i].at(), true
		}
	}
	return Expression{}, false
}
