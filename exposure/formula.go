package exposure

import "math"

// Stale stands in place of a number that the edited cells no longer lead to by
// the operations written down: the edit changes what the survey is worked out
// by, such as which flow check belongs to a sample. The survey must be reduced
// again.
const Stale = "stale: run airtally again"

// NoBound is the number that a spreadsheet holds for a bound that does not
// exist; whatever reaches AnyBound is such a bound, so that it survives sums,
// products and quotients. Expressions have +Inf.
const (
	NoBound  = 1e250
	AnyBound = 1e200
)

// Operation is what an expression does with its arguments.
type Operation uint8

// The operations of expressions. A spreadsheet has all of them.
const (
	Constant  Operation = iota // Value, called Name
	Word                       // Name, a text such as an outcome
	Reference                  // the number Key of the row or result Of; its Value when it was worked out
	Plus
	Minus
	Times
	Over
	Power
	Least
	Greatest
	Mean
	Sum
	SampleDeviation // with divisor n − 1
	SquareRoot
	Magnitude
	NaturalLog
	Exponential
	Round // to whole numbers
	If    // condition, then, else
	Less  // conditions hold 1 or 0
	LessEqual
	Equal
	And
	Or
	Not
)

// Expression is how a number, or an outcome, is worked out from the cells of
// the survey and from other results. The workbook's formulas and the page's
// workings are both drawn from it. An unbounded number is +Inf.
type Expression struct {
	Op    Operation
	Empty bool // of a Reference: the cell holds nothing
	Args  []Expression
	Value float64 // of a Constant or a Reference
	Name  string  // symbol or words of a Constant or a Reference; the text of a Word
	Text  string  // of a Reference to a cell that holds text
	Of    any     // of a Reference: a row of the survey (*survey.Flow, *survey.Sample, *survey.LabRow, ...) or a result (*Sample, *Concentration, ...)
	Key   string  // of a Reference: the column of the row, "readings/2" for the second of several, or the Key of the result's step
}

// Step is one number on the way to a result: how it comes about and what the
// engine found.
//
// The steps of a result are in the order of the work, each resting on those
// before it, on cells of the survey and on steps of other results. One of them
// has the key "follows": it is 1 while the result still comes about as it did,
// and 0 where an edited cell changes that. The steps before it are plain
// numbers that never fail, whatever is edited; each step after it is
//
//	If(follows = 1, the rule, Stale)
//
// and follows itself takes in the follows of every result that the steps rest
// on, so no operation ever meets the text. What others count by, such as
// whether an exposure counts in a group, is 0 in place of Stale. A number that a result does not
// have is no step of it: where an edit would give or take one, follows is 0.
type Step struct {
	Of      any    // the row or result that it is a step of; with Key, what a Reference names
	Key     string // names it among the steps of its result
	Symbol  string // "Q_pre"
	Name    string // "flow before"
	Unit    string
	By      Expression // the rule
	Guarded bool       // the rule holds only while the result follows; else the step is Stale
	Value   float64    // +Inf where unbounded; of a condition 1 or 0
	Word    string     // of an outcome, in place of Value
	Source  string     // regulation, method or setting
}

// Guard refers to the step that is 1 while the rule of a guarded step holds.
func (s *Step) Guard() Expression { return reference(s.Of, "follows", "follows", 1) }

// Whole returns the rule, of a guarded step with what stands in its place.
func (s *Step) Whole() Expression {
	if !s.Guarded {
		return s.By
	}
	return when(holds(s.Guard()), s.By, word(Stale))
}

func constant(name string, v float64) Expression {
	return Expression{Op: Constant, Name: name, Value: v}
}

func word(text string) Expression { return Expression{Op: Word, Name: text} }

func operate(op Operation, args ...Expression) Expression { return Expression{Op: op, Args: args} }

// reference returns a reference to a cell of a row, or to a step of a result.
func reference(of any, key, symbol string, v float64) Expression {
	return Expression{Op: Reference, Of: of, Key: key, Name: symbol, Value: v}
}

// at returns a reference to the step.
func (s Step) at() Expression { return reference(s.Of, s.Key, s.Symbol, s.Value) }

// Unbounded reports whether the step is a bound that does not exist.
func (s Step) Unbounded() bool { return math.IsInf(s.Value, 1) }
