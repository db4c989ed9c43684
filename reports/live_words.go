package reports

import (
	"strings"

	"airtally/exposure"
)

// formulaWords returns how a step comes about, for people: "V = Q × t".
func formulaWords(s *exposure.Step) string {
	symbol := s.Symbol
	if symbol == "" {
		symbol = s.Name
	}
	w := words{}
	w.write(&s.By, loose)
	return symbol + " = " + w.String()
}

// words writes an expression in the symbols of its parts.
type words struct{ strings.Builder }

var spokenInfix = map[exposure.Operation]string{
	exposure.Plus: " + ", exposure.Minus: " − ", exposure.Times: " × ", exposure.Over: " / ", exposure.Power: "^",
	exposure.Less: " < ", exposure.LessEqual: " ≤ ", exposure.Equal: " = ",
}

var spokenFunctions = map[exposure.Operation]string{
	exposure.Least: "smallest of", exposure.Greatest: "largest of", exposure.Mean: "mean of", exposure.Sum: "sum of",
	exposure.SampleDeviation: "standard deviation of", exposure.SquareRoot: "√", exposure.Magnitude: "size of",
	exposure.NaturalLog: "ln ", exposure.Exponential: "e^", exposure.Round: "whole number nearest to ",
}

func (w *words) write(e *exposure.Expression, within strength) {
	switch e.Op {
	case exposure.Constant:
		w.constant(e)
	case exposure.Word:
		w.WriteString(quotedWord(e.Name))
	case exposure.Reference:
		w.WriteString(e.Name)
	case exposure.If:
		w.choice(e, within)
	case exposure.And:
		w.joined(e, " and ", within)
	case exposure.Or:
		w.joined(e, " or ", within)
	case exposure.Not:
		w.WriteString("not (")
		w.write(&e.Args[0], loose)
		w.WriteString(")")
	default:
		if name, is := spokenFunctions[e.Op]; is {
			w.call(name, e)
			return
		}
		w.between(e, within)
	}
}

func quotedWord(s string) string {
	if s == "" {
		return "nothing"
	}
	return `"` + s + `"`
}

func (w *words) constant(e *exposure.Expression) {
	if e.Name != "" {
		w.WriteString(e.Name)
		return
	}
	b := formula{}
	b.number(e.Value, loose)
	w.Write(b.b)
}

func (w *words) choice(e *exposure.Expression, within strength) {
	if within > loose {
		w.WriteString("(")
		defer w.WriteString(")")
	}
	w.WriteString("if ")
	w.write(&e.Args[0], loose)
	w.WriteString(" then ")
	w.write(&e.Args[1], comparing)
	w.WriteString(", else ")
	w.write(&e.Args[2], loose)
}

func (w *words) joined(e *exposure.Expression, by string, within strength) {
	if within > loose {
		w.WriteString("(")
		defer w.WriteString(")")
	}
	for i := range e.Args {
		if i > 0 {
			w.WriteString(by)
		}
		w.write(&e.Args[i], comparing)
	}
}

func (w *words) between(e *exposure.Expression, within strength) {
	op := infix[e.Op]
	if op.binds <= within {
		w.WriteString("(")
		defer w.WriteString(")")
	}
	for i := range e.Args {
		if i > 0 {
			w.WriteString(spokenInfix[e.Op])
		}
		w.write(&e.Args[i], argumentStrength(e, i))
	}
}

func (w *words) call(name string, e *exposure.Expression) {
	w.WriteString(name)
	w.WriteString("(")
	for i := range e.Args {
		if i > 0 {
			w.WriteString(", ")
		}
		w.write(&e.Args[i], loose)
	}
	w.WriteString(")")
}
