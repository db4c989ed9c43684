package limits

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// others names the substances in scope that share a CAS number with the
// chosen entries and have limits of their own.
func (l *Library) others(chosen []*Entry, s scope) []string {
	var out []*Entry
	for _, c := range chosen {
		for _, cas := range parts(c.CAS) {
			for _, i := range l.byCAS[cas] {
				if e := &l.entries[i]; s.holds(e) && e.Use == Compared && !slices.ContainsFunc(chosen, func(c *Entry) bool { return c.Analyte == e.Analyte }) {
					out = append(out, e)
				}
			}
		}
	}
	return substances(out)
}

// substances returns the names of entries, sorted and each once.
func substances(entries []*Entry) []string {
	seen := map[string]bool{}
	for _, e := range entries {
		seen[e.Analyte] = true
	}
	return slices.Sorted(maps.Keys(seen))
}

// nearMost is how many suggestions are worth reading.
const nearMost = 5

// near names what an analyte without a match may have meant: the forms in
// which the chosen entries have limits, else the substances of the CAS number,
// which are expressed as something else, and then those of a name like it.
func (l *Library) near(analyte, cas string, chosen []*Entry, s scope) []string {
	forms := map[string]bool{}
	for _, e := range chosen {
		if e.Use != Compared {
			continue
		}
		for _, form := range append([]string{e.Form}, e.AlsoForms...) {
			forms[e.Analyte+", form "+form] = true
		}
	}
	if len(forms) > 0 {
		return slices.Sorted(maps.Keys(forms))
	}
	var numbered []*Entry
	for _, i := range l.byCAS[canonicalCAS(cas)] {
		if e := &l.entries[i]; s.holds(e) {
			numbered = append(numbered, e)
		}
	}
	names := substances(numbered)
	for _, name := range l.alike(analyte, s.holds) {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names[:min(len(names), nearMost)]
}

// alike returns the likest substances, of the entries to keep, with a name that
// differs in a letter in five from an analyte's or has the same first telling
// word.
func (l *Library) alike(analyte string, keep func(*Entry) bool) []string {
	base, _ := splitAs(analyte)
	key, word := nameKey(base), firstWord(base)
	best := map[string]int{}
	before := &Entry{}
	for i := range l.entries {
		e := &l.entries[i]
		if e.Analyte == before.Analyte && slices.Equal(e.Synonyms, before.Synonyms) || !keep(e) {
			continue
		}
		before = e
		for _, name := range e.names() {
			other, _ := splitAs(name)
			d := NameDistance(key, nameKey(other))
			if d > likeness(key) && (word == "" || firstWord(other) != word) {
				continue
			}
			if least, ok := best[e.Analyte]; !ok || d < least {
				best[e.Analyte] = d
			}
		}
	}
	names := slices.SortedFunc(maps.Keys(best), func(a, b string) int { return cmp.Or(cmp.Compare(best[a], best[b]), cmp.Compare(a, b)) })
	return names[:min(len(names), nearMost)]
}

// likeness returns how many letters a name may differ in and still be taken for
// a slip: one in four; none in a symbol.
func likeness(key string) int { return utf8.RuneCountInString(key) / 4 }

// firstWord returns the first word of a name that is long enough to tell
// something, in the singular; "" where there is none.
func firstWord(name string) string {
	for _, word := range strings.FieldsFunc(spelling.Replace(strings.ToLower(name)), func(r rune) bool { return !unicode.IsLetter(r) }) {
		if len(word) >= 4 {
			return strings.TrimSuffix(word, "s")
		}
	}
	return ""
}
