package exposure

import (
	"airtally/exposure/survey"
	"airtally/stats"
)

// signs are what stands before a laboratory's figure, in a cell of its own
// with the key "flag".
var signs = [...]string{survey.Number: "", survey.LessThan: "<", survey.NotFound: "ND", survey.MoreThan: ">"}

// Sign returns what stands before a laboratory's figure: "", <, > or ND.
func Sign(row *survey.LabRow) string { return signs[row.Kind] }

// Letters returns the qualifiers beside a laboratory's figure as they stand in
// their own cell.
func Letters(row *survey.LabRow) string {
	if row.Qualifiers == 0 || row.Table == nil {
		return ""
	}
	return row.Text("qualifier")
}

// reported is one row of the laboratory, for its steps.
type reported struct {
	row    *survey.LabRow
	sample *Sample
	pair   *pair
	assay  *assay  // of its own, so that its findings are told to nobody
	factor float64 // to µg or fibres
	usable bool    // the factor is known
}

// reportedBy returns a row with what its steps need.
func (r *reduction) reportedBy(row *survey.LabRow, s *Sample, substance *Substance) *reported {
	x := &reported{row: row, sample: s,
		pair:  &pair{sample: s, substance: substance, rows: []*survey.LabRow{row}},
		assay: &assay{reduction: r, misses: missBook{}}}
	x.factor, x.usable = x.assay.toBase(x.pair, row)
	return x
}

// rowSteps returns the steps of a laboratory's row, none where its sample or
// its unit cannot be used.
func (r *reduction) rowSteps(row *survey.LabRow) []Step {
	at, known := r.explain().labRows[row]
	if !known || r.rowSubstance[at] == nil {
		return nil
	}
	x := r.reportedBy(row, &r.samples[r.sampleIndex[row.Sample]], r.rowSubstance[at])
	if !x.usable {
		return nil
	}
	return x.steps()
}

// untouched returns the conditions that a row which came to nothing is as it
// was; none for one whose unit keeps it from coming to anything.
func (r *reduction) untouched(row *survey.LabRow, s *Sample, substance *Substance) []Expression {
	x := r.reportedBy(row, s, substance)
	if !x.usable {
		return nil
	}
	return x.untouched()
}

func (x *reported) weighing() bool {
	return x.row.Section == survey.PreWeight || x.row.Section == survey.PostWeight
}

// signed reports whether the row's sign may be put or taken away without
// another rule coming into force.
func (x *reported) signed() bool { return x.row.Kind == survey.Number || x.row.Kind == survey.LessThan }

// keepsNumber reports whether a blank's plain number stands whatever it is.
func (x *reported) keepsNumber() bool {
	return x.sample.Kind == survey.Blank && x.assay.gravimetric(x.pair, x.row)
}

// overRange reports whether a number of the row is one that the analysis could
// not reach.
func (x *reported) overRange() bool {
	return x.row.Kind == survey.MoreThan || x.markedOver() && !x.nothing()
}

// markedOver reports whether the row is marked as over range (E).
func (x *reported) markedOver() bool {
	return x.row.Qualifiers.Has(survey.E) && !x.row.Qualifiers.Has(survey.U) && !x.keepsNumber()
}

// nothing reports whether the row is a plain number that is not positive, to
// which over range means nothing.
func (x *reported) nothing() bool { return x.row.Kind == survey.Number && x.row.Value <= 0 }

// atLeast reports whether a number of the row is a lower bound: one over range
// is, but for blanks, whose numbers stand.
func (x *reported) atLeast() bool { return x.overRange() && x.sample.Kind != survey.Blank }

func (x *reported) result() Expression {
	return optionalCell(x.row, "result", "x", stats.Optional{Value: x.row.Value, Known: x.row.Kind != survey.NotFound})
}
func (x *reported) flag() Expression { return written(x.row, "flag", "sign", Sign(x.row)) }
func (x *reported) limitCell() Expression {
	return optionalCell(x.row, "reporting_limit", "R", x.row.ReportingLimit)
}

// inBase converts a number of the row's unit to µg or fibres.
func (x *reported) inBase(e Expression) Expression {
	if x.factor == 1 {
		return e
	}
	return times(e, constant(quantity(x.row.Unit).held()+" in one "+x.row.Unit.Name, x.factor))
}

// amount refers to the row's number in µg or fibres.
func (x *reported) amount() Expression {
	return reference(x.row, "amount", "x", float64(x.row.Value*x.factor))
}

// steps returns how the row is read: its amount, its reporting limit, whether
// it is a non-detect, and the interval that it stands for.
func (x *reported) steps() []Step {
	l := newSteps(x.row, 8)
	unit := quantity(x.row.Unit).held()
	l.work(Step{Key: "amount", Symbol: "x", Name: "as reported", Unit: unit, By: x.inBase(x.result()), Source: "the laboratory's report"})
	if x.weighing() {
		x.weighingSteps(l, unit)
		return l.all
	}
	read, ok := x.assay.read(x.pair, x.row)
	if !ok {
		l.follow(x.untouched()...)
		return l.all
	}
	limit, limited := x.limitStep(l, unit)
	nonDetect := l.work(Step{Key: "nondetect", Symbol: "nd", Name: "1 for a non-detect", By: x.nonDetect(limit),
		Source: "the sign, U, or an unmarked number under its reporting limit"})
	if x.sample.Kind == survey.Blank {
		l.work(Step{Key: "as_blank", Symbol: "b", Name: "as a blank", Unit: unit, By: when(holds(nonDetect), number0, x.amount()),
			Source: "a non-detect blank counts 0"})
	}
	l.follow(x.readAlike()...)
	x.boundSteps(l, unit, read, limit, nonDetect, limited)
	return l.all
}

// weighingSteps adds what a weighing has besides its amount.
func (x *reported) weighingSteps(l *steps, unit string) {
	if x.row.ReportingLimit.Known {
		l.work(Step{Key: "limit", Symbol: "R", Name: "reporting limit", Unit: unit, By: x.inBase(x.limitCell()), Source: "the laboratory's report"})
	}
	l.follow(append(x.sameWords(), not(empty(x.result())), same(x.flag(), word(Sign(x.row))))...)
}

// limitStep adds the reporting limit, where the row has one or may get one by
// its sign.
func (x *reported) limitStep(l *steps, unit string) (limit Expression, limited bool) {
	by := word("")
	switch {
	case x.row.ReportingLimit.Known:
		by = x.inBase(x.limitCell())
	case x.row.Qualifiers.Has(survey.U):
		by = x.amount()
	case !x.signed():
		return word(""), false
	}
	if x.signed() {
		by = when(same(x.flag(), word("<")), x.amount(), by)
	}
	s := Step{Key: "limit", Symbol: "R", Name: "reporting limit", Unit: unit, By: by,
		Source: "the figure after <, else the row's reporting limit"}
	if worth := by.Evaluate(nil); worth.IsText {
		return l.add(s), true // none as it stands
	}
	return l.work(s), true
}

// nonDetect is 1 for a non-detect.
func (x *reported) nonDetect(limit Expression) Expression {
	if !x.signed() {
		return figure(truth(x.row.Kind == survey.NotFound).Number)
	}
	unsigned := number0
	switch q := x.row.Qualifiers; {
	case x.keepsNumber() || x.overRange():
	case q.Has(survey.U):
		unsigned = number1
	case !x.row.ReportingLimit.Known:
	case q.Has(survey.J):
		unsigned = operate(LessEqual, x.amount(), number0)
	default:
		unsigned = less(x.amount(), limit)
	}
	return when(same(x.flag(), word("<")), number1, unsigned)
}

// sameWords are the conditions that the row's qualifiers and the presence of
// its reporting limit are as they were.
func (x *reported) sameWords() []Expression {
	limit := empty(x.limitCell())
	if x.row.ReportingLimit.Known {
		limit = positive(x.limitCell())
	}
	return []Expression{same(written(x.row, "qualifier", "qualifier", Letters(x.row)), word(Letters(x.row))), limit}
}

// untouched are the conditions that the row is as it was.
func (x *reported) untouched() []Expression {
	result := same(x.result(), figure(x.row.Value))
	if x.row.Kind == survey.NotFound {
		result = empty(x.result())
	}
	out := []Expression{same(x.flag(), word(Sign(x.row))), result,
		same(written(x.row, "qualifier", "qualifier", Letters(x.row)), word(Letters(x.row)))}
	if x.row.ReportingLimit.Known {
		return append(out, same(x.limitCell(), figure(x.row.ReportingLimit.Value)))
	}
	return append(out, empty(x.limitCell()))
}

// readAlike are the conditions under which the row is read as written down.
func (x *reported) readAlike() []Expression {
	out := x.sameWords()
	switch x.row.Kind {
	case survey.NotFound:
		return append(out, same(x.flag(), word(Sign(x.row))), empty(x.result()))
	case survey.MoreThan:
		return append(out, same(x.flag(), word(Sign(x.row))), positive(x.amount()))
	}
	plain := empty(x.flag())
	out = append(out, not(empty(x.result())), either(plain, same(x.flag(), word("<"))))
	switch {
	case x.markedOver() && x.nothing():
		return append(out, operate(LessEqual, x.amount(), number0))
	case x.keepsNumber(), x.row.ReportingLimit.Known && !x.overRange():
		return append(out, either(plain, positive(x.amount())))
	}
	return append(out, positive(x.amount()))
}

// boundSteps adds the interval that the row stands for.
func (x *reported) boundSteps(l *steps, unit string, read reading, limit, nonDetect Expression, limited bool) {
	n := x.assay.settings.NonDetect
	var held stats.Interval
	switch {
	case read.state == notDetected:
		held = n.under(read.limit.Value)
	case x.atLeast():
		held = stats.AtLeast(read.value)
	default:
		held = stats.Exact(read.value)
	}
	value, high := x.amount(), x.amount()
	if x.atLeast() {
		high = unbounded
	}
	low := x.amount()
	if limited {
		nd := holds(nonDetect)
		low, value, high = when(nd, number0, low), when(nd, n.of(limit), value), when(nd, limit, high)
	}
	l.add(Step{Key: "low", Symbol: "x_low", Name: "at least", Unit: unit, By: low, Value: held.Low, Source: n.source()})
	l.add(Step{Key: "value", Symbol: "x", Name: "value that stands for it", Unit: unit, By: value, Value: held.Value, Source: n.source()})
	l.add(Step{Key: "high", Symbol: "x_high", Name: "at most", Unit: unit, By: high, Value: held.High, Source: n.source()})
}

// of returns the expression of [NonDetect.Value].
func (n NonDetect) of(limit Expression) Expression {
	switch n {
	case Root:
		return divided(limit, root(number2))
	case Zero:
		return number0
	case Full:
		return limit
	}
	return divided(limit, number2)
}

// source says what stands for a non-detect.
func (n NonDetect) source() string {
	switch n {
	case Root:
		return "nondetect root2: R/√2 stands for a non-detect (Hornung and Reed 1990)"
	case Zero:
		return "nondetect zero: 0 stands for a non-detect"
	case Full:
		return "nondetect full: R stands for a non-detect"
	}
	return "nondetect half: R/2 stands for a non-detect (Hornung and Reed 1990)"
}
