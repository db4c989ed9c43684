package exposure

import (
	"slices"

	"airtally/exposure/survey"
)

// stands returns the conditions under which a sample lies as it did along the
// shift; the first of a dose answers for what is not in it.
func (t *ExposureTerm) stands(h hull) []Expression {
	d := t.dose
	var out []Expression
	if !d.filled {
		out = append(out, followed(t.Concentration))
		if d.plain {
			out = append(out, t.inLine(h)...)
		} else {
			out = append(out, t.Concentration.Sample.ranAsItDid()...)
		}
		out = append(out, t.Concentration.Sample.belongs(d.turn.row)...)
	}
	if t.place == 0 {
		out = append(out, d.othersStand(h)...)
	}
	return out
}

// inLine are the conditions that a sample has time in the shift and does not
// start before the end of the one before it.
func (t *ExposureTerm) inLine(h hull) []Expression {
	d, s := t.dose, t.Concentration.Sample
	clock := d.turn.clockOf()
	if !timed(s.Row.Start) {
		if t.place > 0 {
			return nil
		}
		return []Expression{operate(LessEqual, d.ranTogether(), times(h.lasts, figure(1+roundingTolerance)))}
	}
	var out []Expression
	if timed(s.Row.Stop) {
		out = append(out, operate(Not, notBefore(s.startOn(clock), s.stopOn(clock))))
	}
	switch row := d.turn.row; {
	case d.turn.scheduled():
		out = append(out, operate(Not, s.apartFrom(row)))
	case row != nil && timed(row.Start):
		out = append(out, notBefore(s.startOn(clock), d.turn.rowStart()))
	}
	if t.place > 0 {
		out = append(out, notBefore(s.startOn(clock), d.terms[t.place-1].Concentration.Sample.stopOn(clock)))
	}
	return stands(out...)
}

// ranTogether is the sum of the minutes of samples without times, from their
// cells.
func (d *shiftDose) ranTogether() Expression {
	var all []Expression
	for _, t := range d.terms {
		row := t.Concentration.Sample.Row
		all = append(all, cell(row, "run_min", "t_pump", row.Run.Or(0)))
	}
	return sum(all)
}

// othersStand are the conditions that nothing else comes into the dose, or
// changes the shift.
func (d *shiftDose) othersStand(h hull) []Expression {
	out := d.turn.lengthStands(h)
	if !d.turn.fixed() && !d.plain {
		was := figure(d.turn.Minutes)
		out = append(out, less(operate(Magnitude, minus(h.lasts, was)), figure(1e-6)))
		out = append(out, less(operate(Magnitude, minus(h.begins, figure(h.begins.Value))), figure(halfSecond)))
	}
	for _, c := range d.line.concs {
		if !slices.ContainsFunc(d.terms, func(t *ExposureTerm) bool { return t.Concentration == c }) {
			out = append(out, followed(c))
			out = append(out, c.Sample.ranAsItDid()...)
			out = append(out, c.Sample.belongs(d.turn.row)...)
		}
	}
	r := d.book.of
	for _, s := range r.samplesOf(d.turn.Worker) {
		c := r.find(s, d.book.substance.Analyte, d.book.substance.Form)
		switch in := slices.Contains(d.turn.samples, s); {
		case in && (c == nil || !c.HasAir):
			out = append(out, r.staysAway(s, c, d.book.substance)...)
		case !in && s.Void && s.Shift == d.turn.Shift:
			out = append(out, followed(s))
		case !in && !s.Void && c != nil && c.HasAir:
			out = append(out, s.staysOut(d.turn)...)
		}
	}
	return out
}

// staysAway are the conditions that a sample which has no concentration in air
// of a substance does not get one.
func (r *reduction) staysAway(s *Sample, c *Concentration, substance *Substance) []Expression {
	if c != nil {
		return []Expression{followed(s)}
	}
	var out []Expression
	for _, at := range r.lab.rows(int(s.number)) {
		if r.rowSubstance[at] == substance || r.isPartOf(r.rowSubstance[at], substance) {
			out = append(out, r.rowStands(s, &r.survey.Lab[at])...)
		}
	}
	return out
}

// isPartOf reports whether a substance is made of another.
func (r *reduction) isPartOf(of, made *Substance) bool {
	d := r.derivations[made.Analyte]
	return d != nil && of != nil && of.Form == made.Form && slices.ContainsFunc(d.parts, func(p part) bool {
		if p.analyte == of.Analyte {
			return true
		}
		between := r.substances[substanceKey{p.analyte, made.Form}]
		return between != nil && r.isPartOf(of, between)
	})
}

// rowStands are the conditions that a row of the laboratory which came to
// nothing still does: it, and the blanks that may have left nothing of it.
func (r *reduction) rowStands(s *Sample, row *survey.LabRow) []Expression {
	x := r.reportedBy(row, s, r.substanceOf(row))
	if !x.usable {
		return nil
	}
	out := x.untouched()
	for _, m := range s.blankMeansOf(row) {
		out = append(out, followed(m))
		if x.weighing() {
			out = append(out, m.unmoved())
			continue
		}
		out = append(out, stands(operate(LessEqual, x.amount(), m.at()))...)
	}
	return out
}

// meansOfUnused returns the means of blanks that a row of the laboratory which
// came to nothing is compared with.
func (r *reduction) meansOfUnused(at int32) []*BlankMean {
	row, substance := &r.survey.Lab[at], r.rowSubstance[at]
	number, known := r.sampleIndex[row.Sample]
	if !known || substance == nil {
		return nil
	}
	s := &r.samples[number]
	if s.Kind != survey.Personal || r.find(s, substance.Analyte, substance.Form) != nil {
		return nil
	}
	return s.blankMeansOf(row)
}
