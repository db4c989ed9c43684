package exposure

import (
	"math"
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
	numbers := make([]float64, len(e.Args))
	for i := range e.Args {
		a := e.Args[i].evaluate(look)
		if a.IsText {
			return Answer{Text: noAnswer, IsText: true}
		}
		numbers[i] = a.Number
	}
	return Answer{Number: operations[e.Op](numbers)}
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

// operations are what numbers come to. Conditions are 1 or 0.
var operations = map[Operation]func([]float64) float64{
	Plus:            func(x []float64) float64 { return x[0] + x[1] },
	Minus:           func(x []float64) float64 { return x[0] - x[1] },
	Times:           func(x []float64) float64 { return x[0] * x[1] },
	Over:            func(x []float64) float64 { return x[0] / x[1] },
	Power:           func(x []float64) float64 { return math.Pow(x[0], x[1]) },
	Least:           func(x []float64) float64 { return fold(x, math.Min) },
	Greatest:        func(x []float64) float64 { return fold(x, math.Max) },
	Mean:            func(x []float64) float64 { return total(x) / float64(len(x)) },
	Sum:             total,
	SampleDeviation: deviation,
	SquareRoot:      func(x []float64) float64 { return math.Sqrt(x[0]) },
	Magnitude:       func(x []float64) float64 { return math.Abs(x[0]) },
	NaturalLog:      func(x []float64) float64 { return math.Log(x[0]) },
	Exponential:     func(x []float64) float64 { return math.Exp(x[0]) },
	Round:           func(x []float64) float64 { return math.Round(x[0]) },
	Less:            func(x []float64) float64 { return truth(x[0] < x[1]).Number },
	LessEqual:       func(x []float64) float64 { return truth(x[0] <= x[1]).Number },
	And:             func(x []float64) float64 { return truth(fold(x, math.Min) != 0).Number },
	Or:              func(x []float64) float64 { return truth(fold(x, math.Max) != 0).Number },
	Not:             func(x []float64) float64 { return truth(x[0] == 0).Number },
}

func fold(x []float64, f func(a, b float64) float64) float64 {
	out := x[0]
	for _, v := range x[1:] {
		out = f(out, v)
	}
	return out
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
