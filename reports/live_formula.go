package reports

import (
	"math"
	"strconv"
	"strings"

	"airtally/exposure"
)

// strength is how tightly an operator of a spreadsheet binds.
type strength uint8

const (
	loose strength = iota
	comparing
	adding
	multiplying
	raising
	tight
)

// formula writes an expression as a spreadsheet's formula.
type formula struct {
	known *registry
	sheet string // that it stands on
	b     []byte

	last   [2]any // what was referred to lately, with its row
	lastAt [2]spot
	wide   bool // more arguments than a function takes
}

// What a spreadsheet takes (ECMA-376 part 1, 18.17.2 leaves it to programs;
// these are Excel's, with something to spare).
const (
	mostFormula   = 8000
	mostArguments = 250
)

// editedName is the defined name of how many rows have an edited input.
const editedName = "edited"

// step returns the formula of a step. One that is too long for a spreadsheet
// stands while no input of the workbook was edited.
func (f *formula) step(s *exposure.Step) string {
	f.wide = false
	formula := f.whole(s)
	if len(formula) <= mostFormula && !f.wide {
		return formula
	}
	f.b = append(f.b[:0], "IF("+editedName+"=0,"...)
	switch {
	case isWord(s):
		f.quoted(s.Word)
	default:
		f.number(s.Value, loose)
	}
	if s.Key == "follows" || s.Key == "unchanged" || s.Key == "stands" { // numbers to those that ask
		f.text(",0)")
	} else {
		f.text("," + staleName + ")")
	}
	return string(f.b)
}

// whole returns the formula of a step with the guard before its rule.
func (f *formula) whole(s *exposure.Step) string {
	if !s.Guarded {
		return f.of(&s.By)
	}
	guard := s.Guard()
	f.b = append(f.b[:0], "IF("...)
	f.reference(&guard, comparing)
	f.text("=1,")
	f.value(&s.By, loose)
	f.text("," + staleName + ")")
	return string(f.b)
}

// formulaOf returns the formula of an expression for a cell of a sheet.
func (k *registry) formulaOf(e *exposure.Expression, sheet string) string {
	f := formula{known: k, sheet: sheet}
	return f.of(e)
}

func (f *formula) of(e *exposure.Expression) string {
	f.b = f.b[:0]
	f.value(e, loose)
	return string(f.b)
}

// spot returns the row of what is referred to.
func (f *formula) spot(of any) (spot, bool) {
	for i := range f.last {
		if f.last[i] == of && of != nil {
			return f.lastAt[i], true
		}
	}
	at, known := f.known.rows[identity(of)]
	if known {
		f.last[1], f.lastAt[1] = f.last[0], f.lastAt[0]
		f.last[0], f.lastAt[0] = of, at
	}
	return at, known
}

// cell writes the cell of a reference; false where the workbook has none.
func (f *formula) cell(e *exposure.Expression) bool {
	at, known := f.spot(e.Of)
	if known {
		f.b, known = at.cell(f.b, e.Key, f.sheet)
	}
	return known
}

// infix are the operators between arguments.
var infix = [exposure.Not + 1]struct {
	sign  string
	binds strength
}{
	exposure.Plus: {"+", adding}, exposure.Minus: {"-", adding},
	exposure.Times: {"*", multiplying}, exposure.Over: {"/", multiplying},
	exposure.Power: {"^", raising},
	exposure.Less:  {"<", comparing}, exposure.LessEqual: {"<=", comparing}, exposure.Equal: {"=", comparing},
}

// functions are the functions of a spreadsheet, by their oldest names.
var functions = [exposure.Not + 1]string{
	exposure.Least: "MIN", exposure.Greatest: "MAX", exposure.Mean: "AVERAGE", exposure.Sum: "SUM",
	exposure.SampleDeviation: "STDEV", exposure.SquareRoot: "SQRT", exposure.Magnitude: "ABS",
	exposure.NaturalLog: "LN", exposure.Exponential: "EXP", exposure.And: "AND", exposure.Or: "OR", exposure.Not: "NOT",
}

// isCondition reports whether an operation yields true or false.
func isCondition(o exposure.Operation) bool {
	switch o {
	case exposure.Less, exposure.LessEqual, exposure.Equal, exposure.And, exposure.Or, exposure.Not:
		return true
	}
	return false
}

// value writes an expression where a number or a text is wanted. A condition
// is 1 or 0 there.
func (f *formula) value(e *exposure.Expression, within strength) {
	if isCondition(e.Op) {
		f.text("IF(")
		f.condition(e)
		f.text(",1,0)")
		return
	}
	f.plain(e, within)
}

// condition writes an expression where true or false is wanted.
func (f *formula) condition(e *exposure.Expression) {
	f.plain(e, loose)
}

func (f *formula) plain(e *exposure.Expression, within strength) {
	switch e.Op {
	case exposure.Constant:
		f.constant(e, within)
	case exposure.Word:
		f.quoted(e.Name)
	case exposure.Reference:
		f.reference(e, within)
	case exposure.If:
		f.text("IF(")
		f.condition(&e.Args[0])
		f.text(",")
		f.value(&e.Args[1], loose)
		f.text(",")
		f.value(&e.Args[2], loose)
		f.text(")")
	case exposure.Round:
		f.text("ROUND(")
		f.value(&e.Args[0], loose)
		f.text(",0)")
	default:
		if name := functions[e.Op]; name != "" {
			f.call(name, e)
			return
		}
		f.between(e, within)
	}
}

// between writes an operator between its arguments.
func (f *formula) between(e *exposure.Expression, within strength) {
	op := infix[e.Op]
	grouped := op.binds <= within
	if grouped {
		f.text("(")
	}
	for i := range e.Args {
		if i > 0 {
			f.text(op.sign)
		}
		f.value(&e.Args[i], argumentStrength(e, i))
	}
	if grouped {
		f.text(")")
	}
}

// argumentStrength returns how tightly what surrounds an argument of an
// operator binds: operators of one strength are worked out from the left.
func argumentStrength(e *exposure.Expression, i int) strength {
	binds := infix[e.Op].binds
	if i == 0 || (e.Op == exposure.Plus || e.Op == exposure.Times) && e.Args[i].Op == e.Op {
		return binds - 1
	}
	return binds
}

// call writes a function, its arguments as ranges where they stand in a row.
func (f *formula) call(name string, e *exposure.Expression) {
	f.text(name)
	f.text("(")
	f.wide = f.wide || len(e.Args) > mostArguments
	logical := e.Op == exposure.And || e.Op == exposure.Or || e.Op == exposure.Not
	for i := 0; i < len(e.Args); {
		if i > 0 {
			f.text(",")
		}
		if n := f.asRange(e.Args[i:]); n > 1 && !logical {
			i += n
			continue
		}
		if logical {
			f.condition(&e.Args[i])
		} else {
			f.value(&e.Args[i], loose)
		}
		i++
	}
	f.text(")")
}

// asRange writes references to neighbouring cells of one row as a range, and
// returns how many; 0 where the first two are none.
func (f *formula) asRange(args []exposure.Expression) int {
	n := 0
	var at spot
	var first, last string
	for n < len(args) && args[n].Op == exposure.Reference && args[n].Of == args[0].Of {
		if n == 0 {
			var known bool
			if at, known = f.spot(args[0].Of); !known {
				return 0
			}
		}
		column, known := at.in.letters[args[n].Key]
		if !known || n > 0 && columnNumber(column) != columnNumber(last)+1 {
			break
		}
		if n == 0 {
			first = args[0].Key
		}
		last = column
		n++
	}
	if n < 2 {
		return 0
	}
	f.b, _ = at.cell(f.b, first, f.sheet)
	f.text(":" + last)
	_, row := at.in.sheetAndRow(at.row)
	f.b = strconv.AppendInt(f.b, int64(row), 10)
	return n
}

// columnNumber returns the place of a column by its name, from 1.
func columnNumber(name string) int {
	n := 0
	for i := range len(name) {
		n = n*26 + int(name[i]-'A') + 1
	}
	return n
}

func (f *formula) reference(e *exposure.Expression, within strength) {
	if f.cell(e) {
		return
	}
	if _, is := e.Of.(*exposure.Settings); is && f.setting(e.Key, e.Value) {
		return
	}
	if e.Text != "" {
		f.quoted(e.Text)
		return
	}
	f.number(e.Value, within)
}

func (f *formula) constant(e *exposure.Expression, within strength) {
	if !f.setting(e.Name, e.Value) {
		f.number(e.Value, within)
	}
}

// setting writes the defined name of a setting, where there is one of that
// value.
func (f *formula) setting(name string, value float64) bool {
	s, is := f.known.settings[name]
	if !is || s.value != value {
		return false
	}
	s.used.Store(true)
	f.text(name)
	return true
}

// number writes a number as formulas hold it.
func (f *formula) number(v float64, within strength) {
	switch {
	case math.IsInf(v, 1):
		v = exposure.NoBound
	case math.IsNaN(v):
		f.text(`""`)
		return
	}
	if v < 0 && within >= adding {
		f.text("(")
		defer f.text(")")
	}
	f.b = appendFormulaNumber(f.b, v)
}

func appendFormulaNumber(b []byte, v float64) []byte {
	size := math.Abs(v)
	if size == 0 || size >= 1e-5 && size < 1e15 {
		return strconv.AppendFloat(b, v, 'f', -1, 64)
	}
	return strconv.AppendFloat(b, v, 'E', -1, 64)
}

func (f *formula) text(s string) { f.b = append(f.b, s...) }

// mostQuoted is how long a text within a formula may be.
const mostQuoted = 250

// staleName is the defined name of the words of a figure that does not follow.
const staleName = "stale"

func (f *formula) quoted(s string) {
	if s == exposure.Stale {
		f.text(staleName)
		return
	}
	f.b = appendFormulaText(f.b, s)
}

func appendFormulaText(b []byte, s string) []byte {
	b = append(b, '"')
	b = append(b, strings.ReplaceAll(clip(s, mostQuoted), `"`, `""`)...)
	return append(b, '"')
}
