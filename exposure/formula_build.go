package exposure

import (
	"math"

	"airtally/stats"
)

// Conditions and operations in short. Those with a threshold keep the tolerance
// of the engine's own comparisons.

func plus(a, b Expression) Expression     { return operate(Plus, a, b) }
func minus(a, b Expression) Expression    { return operate(Minus, a, b) }
func times(a, b Expression) Expression    { return operate(Times, a, b) }
func divided(a, b Expression) Expression  { return operate(Over, a, b) }
func squared(a Expression) Expression     { return operate(Power, a, number2) }
func root(a Expression) Expression        { return operate(SquareRoot, a) }
func less(a, b Expression) Expression     { return operate(Less, a, b) }
func same(a, b Expression) Expression     { return operate(Equal, a, b) }
func not(condition Expression) Expression { return operate(Not, condition) }

func when(condition, then, otherwise Expression) Expression {
	return operate(If, condition, then, otherwise)
}

// empty is the condition that a cell holds nothing.
func empty(cell Expression) Expression { return same(cell, word("")) }

// figure returns a constant of the formula itself, such as the 100 of a
// percentage.
func figure(v float64) Expression { return constant("", v) }

var (
	number0 = figure(0)
	number1 = figure(1)
	number2 = figure(2)

	unbounded = constant("no upper bound", math.Inf(1))
)

// holds returns the condition that a step which is 1 or 0 is 1.
func holds(flag Expression) Expression { return same(flag, number1) }

// fails returns the condition that a step which is 1 or 0 is 0.
func fails(flag Expression) Expression { return same(flag, number0) }

func positive(a Expression) Expression { return less(number0, a) }

// all returns the condition that every one of several holds.
func all(conditions ...Expression) Expression {
	if len(conditions) == 1 {
		return conditions[0]
	}
	return operate(And, conditions...)
}

// either returns the condition that one of several holds.
func either(conditions ...Expression) Expression {
	if len(conditions) == 1 {
		return conditions[0]
	}
	return operate(Or, conditions...)
}

// isOver is the condition that [over] tests.
func isOver(x, threshold Expression) Expression {
	return less(times(threshold, figure(1+roundingTolerance)), x)
}

// isUnder is the condition that [under] tests.
func isUnder(x, threshold Expression) Expression {
	return less(x, times(threshold, figure(1-roundingTolerance)))
}

// sum adds expressions up.
func sum(terms []Expression) Expression {
	switch len(terms) {
	case 0:
		return number0
	case 1:
		return terms[0]
	}
	return operate(Sum, terms...)
}

// written returns a reference to a cell with text.
func written(of any, key, name, text string) Expression {
	return Expression{Op: Reference, Empty: text == "", Of: of, Key: key, Name: name, Text: text}
}

// cell refers to a number of a row of the survey.
func cell(row any, column, symbol string, v float64) Expression {
	return reference(row, column, symbol, v)
}

// optionalCell refers to a number of a row of the survey that may be missing.
func optionalCell(row any, column, symbol string, v stats.Optional) Expression {
	e := cell(row, column, symbol, v.Or(0))
	e.Empty = !v.Known
	return e
}

// steps gathers the steps of one result.
type steps struct {
	of      any
	all     []Step
	follows Expression // the condition, once follow was called
	guarded bool
}

// newSteps returns no steps, with room for as many as most results of the kind
// have.
func newSteps(of any, usually int) *steps {
	return &steps{of: of, all: make([]Step, 0, usually)}
}

// add appends a step of which the engine gave the value, and returns a
// reference to it.
func (l *steps) add(s Step) Expression {
	s.Of = l.of
	s.Guarded = l.guarded
	l.all = append(l.all, s)
	return s.at()
}

// work appends a step of which only the steps themselves need the value.
func (l *steps) work(s Step) Expression {
	s.Value = s.By.Evaluate(nil).Number
	return l.add(s)
}

// follow appends the step that says whether the result still comes about as it
// did. The steps to come hold only then.
func (l *steps) follow(conditions ...Expression) Expression {
	by := number1
	if len(conditions) > 0 {
		by = all(conditions...)
	}
	e := l.work(Step{Key: "follows", Symbol: "follows", Name: "1 while this still comes about as it did", By: by})
	l.follows, l.guarded = holds(e), len(conditions) > 0
	return e
}

// followed returns the condition that another result still follows.
func followed(of any) Expression { return holds((&Step{Of: of}).Guard()) }
