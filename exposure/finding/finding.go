// Package finding names what is wrong or worth knowing in a survey: a
// severity, a code, the place, what was found, and what to do about it.
package finding

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Severity says what a finding did to the result.
type Severity uint8

const (
	Note  Severity = iota // worth knowing; no number is in doubt
	Check                 // a person must look before the number is used
	Stop                  // something was left out of the results
)

func (s Severity) String() string { return [...]string{"note", "check", "stop"}[s] }

// Code names one kind of finding; the catalogue says what it means.
type Code string

// Place is where in the input a finding stands. Row counts from 1 as a person
// sees it: the line of a text file, the row of a sheet. Cell is in A1 style.
// What is not known is empty or 0.
type Place struct {
	File, Table  string
	Row          int
	Column, Cell string
}

func (p Place) String() string {
	s := p.File
	if p.Cell != "" {
		return strings.TrimPrefix(s+":"+p.Table+"!"+p.Cell, ":")
	}
	if p.Row > 0 {
		return fmt.Sprintf("%s:%s row %d", s, p.Table, p.Row)
	}
	if p.Table != "" {
		return strings.TrimPrefix(s+":"+p.Table, ":")
	}
	return s
}

// Finding is one thing a reader of the results must or may know.
type Finding struct {
	Severity Severity
	Code     Code
	Place
	Subject string // every sample, shift, device, lot, train or analyte it touches, joined by ", "
	Message string // what was found, against what was expected
	Remedy  string // what to do; never empty

	Also   []Place // where else: of findings told together with this one
	values Values  // what the texts were filled with
}

// Values fill the {names} of a catalogue entry's texts. Numbers print with at
// most four significant digits, or whole.
type Values map[string]any

// List collects findings. The zero List is ready. A List is not safe for
// concurrent use; gather one per goroutine and Merge.
type List struct{ all []Finding }

// Add records a finding of the code's own severity.
func (l *List) Add(code Code, at Place, subject []string, v Values) {
	l.AddAs(Catalogue(code).Severity, code, at, subject, v)
}

// AddAs records a finding of another severity than the catalogue's, for the
// rules whose weight depends on the case.
func (l *List) AddAs(s Severity, code Code, at Place, subject []string, v Values) {
	e := Catalogue(code)
	l.all = append(l.all, Finding{
		Severity: s, Code: code, Place: at,
		Subject: join(subject),
		Message: fill(e.Message, v),
		Remedy:  fill(e.Remedy, v),
		values:  maps.Clone(v),
	})
}

// AddTogether records a finding that is told once for several places, of which
// it stands at the first.
func (l *List) AddTogether(s Severity, code Code, at []Place, subject []string, v Values) {
	l.AddAs(s, code, at[0], subject, v)
	l.all[len(l.all)-1].Also = at[1:]
}

// Merge takes over the findings of others.
func (l *List) Merge(others ...*List) {
	for _, o := range others {
		l.all = append(l.all, o.all...)
	}
}

// Len returns how many findings there are.
func (l *List) Len() int { return len(l.all) }

// Sorted returns the findings in the order of their fields: the severity's
// word, the code, the place, the texts. Equal findings are given once.
func (l *List) Sorted() []Finding {
	all := slices.Clone(l.all)
	slices.SortFunc(all, compare)
	return slices.CompactFunc(all, func(a, b Finding) bool { return compare(a, b) == 0 })
}

func compare(a, b Finding) int {
	return cmp.Or(
		cmp.Compare(a.Severity.String(), b.Severity.String()),
		cmp.Compare(a.Code, b.Code),
		cmp.Compare(a.File, b.File),
		cmp.Compare(a.Table, b.Table),
		cmp.Compare(a.Row, b.Row),
		cmp.Compare(a.Column, b.Column),
		cmp.Compare(a.Cell, b.Cell),
		cmp.Compare(a.Subject, b.Subject),
		cmp.Compare(a.Message, b.Message),
		cmp.Compare(a.Remedy, b.Remedy),
	)
}

func join(subject []string) string {
	seen := make(map[string]bool, len(subject))
	out := subject[:0:0]
	for _, s := range subject {
		if s != "" && !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	return strings.Join(out, ", ")
}

// fill replaces each {name} of text by its value.
func fill(text string, v Values) string {
	var b strings.Builder
	for {
		before, rest, found := strings.Cut(text, "{")
		b.WriteString(before)
		if !found {
			return b.String()
		}
		name, after, closed := strings.Cut(rest, "}")
		if !closed {
			panic("finding: unclosed { in " + strconv.Quote(text))
		}
		value, ok := v[name]
		if !ok {
			panic("finding: no value for {" + name + "}")
		}
		b.WriteString(show(value))
		text = after
	}
}

func show(value any) string {
	switch x := value.(type) {
	case string:
		return x
	case float64:
		return showNumber(x)
	case []string:
		return strings.Join(x, ", ")
	default:
		return fmt.Sprint(x)
	}
}

// showNumber prints four significant digits, and never an exponent where a
// person would not write one.
func showNumber(x float64) string {
	switch size := math.Abs(x); {
	case math.IsInf(x, 0):
		return "unbounded"
	case size >= 1000 && size < 1e9:
		return strconv.FormatFloat(x, 'f', 0, 64)
	case size > 1e-9 && size < 1e-4:
		decimals := 3 - int(math.Floor(math.Log10(size)))
		return strings.TrimRight(strconv.FormatFloat(x, 'f', decimals, 64), "0")
	}
	return strconv.FormatFloat(x, 'g', 4, 64)
}
