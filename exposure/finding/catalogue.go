package finding

import "slices"

// Entry is one row of the catalogue: what a code means, how much it weighs,
// from where on it is raised, and what it says. {names} in the texts are
// filled by the check that raises it.
type Entry struct {
	Code      Code
	Severity  Severity
	Threshold float64 // default, in the unit the message names; 0 where there is none
	Message   string
	Remedy    string
}

// entries is the whole catalogue: what reading the tables can find, then what
// reducing them, setting rows side by side and judging groups can.
var entries = slices.Concat(readingEntries, laboratoryFileEntries, reductionEntries, plausibilityEntries, groupingEntries)

var byCode = func() map[Code]Entry {
	m := make(map[Code]Entry, len(entries))
	for _, e := range entries {
		m[e.Code] = e
	}
	return m
}()

// Catalogue returns the entry of a code. It panics on a code it does not
// know: that is a fault of the program, not of a survey.
func Catalogue(c Code) Entry {
	e, ok := byCode[c]
	if !ok {
		panic("finding: no such code: " + string(c))
	}
	return e
}

// Threshold returns the default threshold of a code, in the unit its message
// names.
func Threshold(c Code) float64 { return Catalogue(c).Threshold }

// All returns the whole catalogue.
func All() []Entry { return entries }
