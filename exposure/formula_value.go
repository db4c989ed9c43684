package exposure

import (
	"math"
	"slices"
)

// Answer is what an expression comes to: a number, or a text. Conditions come
// to 1 or 0, and a bound that does not exist to +Inf.
type Answer struct {
	Number float64
	Text   string
	IsText bool
	Empty  bool // an empty cell: 0 to operations, and equal to the empty text
}

// noAnswer is the answer of an operation that a text kept from being done, as
// spreadsheets write it.
const noAnswer = "#VALUE!"

// Evaluate works an expression out as a spreadsheet does. Look says what a
// Reference refers to now; without it references have the values they were
// written with.
func (e Expression) Evaluate(look func(Expression) Answer) Answer {
	a := e.evaluate(look)
	if !a.IsText && a.Number >= AnyBound {
		a.Number = math.Inf(1)
	}
	return a
}

func (e Expression) evaluate(look func(Expression) Answer) Answer {
	switch e.Op {
	case Constant:
		return held(Answer{Number: e.Value})
	case Word:
		return Answer{Text: e.Name, IsText: true}
	case Reference:
		if look != nil {
			return held(look(e))
		}
		return held(Answer{Number: e.Value, Text: e.Text, IsText: e.Text != "", Empty: e.Empty})
	case If:
		if c := e.Args[0].evaluate(look); c.IsText {
			return c
		} else if c.Number != 0 {
			return e.Args[1].evaluate(look)
		}
		return e.Args[2].evaluate(look)
	case Equal:
		return truth(e.Args[0].evaluate(look).equals(e.Args[1].evaluate(look)))
	}
	var few [4]float64
	numbers := few[:]
	if len(e.Args) > len(few) {
		numbers = make([]float64, len(e.Args))
	}
	numbers = numbers[:len(e.Args)]
	for i := range e.Args {
		a := e.Args[i].evaluate(look)
		if a.IsText {
			return Answer{Text: noAnswer, IsText: true}
		}
		numbers[i] = a.Number
	}
	return Answer{Number: e.Op.of(numbers)}
}

// held returns an answer as a cell holds it.
func held(a Answer) Answer {
	if math.IsInf(a.Number, 1) {
		a.Number = NoBound
	}
	return a
}

// equals compares as spreadsheets do: an empty cell equals the empty text and 0.
func (a Answer) equals(b Answer) bool {
	if a.Empty || b.Empty {
		return a.Text == "" && b.Text == "" && a.Number == 0 && b.Number == 0
	}
	return a.IsText == b.IsText && a.Text == b.Text && a.Number == b.Number
}

func truth(condition bool) Answer {
	if condition {
		return Answer{Number: 1}
	}
	return Answer{}
}

// of is what an operation on numbers comes to. Conditions are 1 or 0.
func (o Operation) of(x []float64) float64 {
	switch o {
	case Plus:
		return x[0] + x[1]
	case Minus:
		return x[0] - x[1]
	case Times:
		return x[0] * x[1]
	case Over:
		return x[0] / x[1]
	case Power:
		return math.Pow(x[0], x[1])
	case Least:
		return slices.Min(x)
	case Greatest:
		return slices.Max(x)
	case Mean:
		return total(x) / float64(len(x))
	case Sum:
		return total(x)
	case SampleDeviation:
		return deviation(x)
	case SquareRoot:
		return math.Sqrt(x[0])
	case Magnitude:
		return math.Abs(x[0])
	case NaturalLog:
		return math.Log(x[0])
	case Exponential:
		return math.Exp(x[0])
	case Round:
		return math.Round(x[0])
	}
	return truth(o.holds(x)).Number
}

// holds is whether a condition on numbers holds.
func (o Operation) holds(x []float64) bool {
	switch o {
	case Less:
		return x[0] < x[1]
	case LessEqual:
		return x[0] <= x[1]
	case And:
		return !slices.Contains(x, 0)
	case Or:
		return slices.ContainsFunc(x, func(v float64) bool { return v != 0 })
	case Not:
		return x[0] == 0
	}
	panic("no operation on numbers")
}

func total(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum
}

func deviation(x []float64) float64 {
	mean, sum := total(x)/float64(len(x)), 0.0
	for _, v := range x {
		sum += float64((v - mean) * (v - mean))
	}
	return math.Sqrt(sum / float64(len(x)-1))
}
