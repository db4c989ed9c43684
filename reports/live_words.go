package reports

import (
	"slices"
	"strings"

	"airtally/exposure"
)

// formulaWords returns how a step comes about, for people: "V = Q × t"; "" of one
// whose symbols say nothing, as where a figure is taken over as it was found.
func formulaWords(s *exposure.Step) string {
	if saysNothing(s) {
		return ""
	}
	symbol := s.Symbol
	if symbol == "" {
		symbol = s.Name
	}
	w := words{}
	w.write(&s.By, loose)
	return symbol + " = " + w.String()
}

// saysNothing reports whether the formula of a step names nothing but the step's
// own symbol, or a figure of the run: "L = L", "b = mean of(b, b)".
func saysNothing(s *exposure.Step) bool {
	w := words{}
	w.write(&s.By, loose)
	if w.String() == s.Symbol {
		return true
	}
	names, others := namedIn(&s.By)
	return !others && len(names) == 1 && names[s.Symbol] || foundAlone(&s.By)
}

// namedIn returns the names of what an expression is made of, and whether it holds
// a choice, a word or a figure to reckon with besides.
func namedIn(e *exposure.Expression) (names map[string]bool, others bool) {
	names = map[string]bool{}
	var look func(*exposure.Expression)
	look = func(e *exposure.Expression) {
		switch e.Op {
		case exposure.Reference:
			names[e.Name] = true
		case exposure.Constant:
			if e.Name != "" {
				names[e.Name] = true
			}
		case exposure.If, exposure.Word:
			others = true
		case exposure.Plus, exposure.Minus, exposure.Times, exposure.Over, exposure.Power:
			others = others || slices.ContainsFunc(e.Args, isFigure)
		}
		for i := range e.Args {
			look(&e.Args[i])
		}
	}
	look(e)
	return names, others
}

func isFigure(e exposure.Expression) bool { return e.Op == exposure.Constant && e.Name == "" }

// foundAlone reports whether an expression is a figure as the run found it, which
// stands while its inputs are unchanged.
func foundAlone(e *exposure.Expression) bool {
	return e.Op == exposure.Constant && e.Name == exposure.AsFound ||
		e.Op == exposure.If && foundAlone(&e.Args[1]) && e.Args[2].Op == exposure.Word
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
