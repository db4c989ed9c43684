package limits

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"
)

// Query is what a person asks of the library.
type Query struct {
	Text        string   // a name, a part of one or a CAS number; "" for everything
	CAS         string   // the CAS number that a substance must have; "" for any
	Authorities []string // in the order wanted, in any spelling; none for all
	Sector      Sector   // "" for all
}

// Substance is what the lists say of one substance, each under its own name
// for it.
type Substance struct {
	Name    string   // as the first of its lists writes it
	Entries []*Entry // by authority; rows that stand only conditionally last
}

// Found answers a query. Nothing in it is a match for a sample's analyte:
// that is what [Library.Find] decides, which knows forms.
type Found struct {
	Exact   []Substance // a name, synonym or CAS number is what was asked for
	Partial []Substance // a name or synonym contains it
	Near    []string    // where nothing was found: names that are nearly it, best first
	LeftOut int         // rows found that the authorities and the sector leave out
}

// Search looks a text up among names, synonyms and CAS numbers, without regard
// to case, spaces, punctuation, Greek letters and spelling.
func (l *Library) Search(q Query) Found {
	var f Found
	graded := l.graded(q.Text)
	wanted := l.wanted(q)
	for _, s := range l.substances() {
		grade := gradeOf(s, graded)
		if grade == noMatch || !s.numbered(q.CAS) {
			continue
		}
		all := len(s.Entries)
		s.Entries = slices.DeleteFunc(s.Entries, func(e *Entry) bool { return !wanted.holds(e) })
		f.LeftOut += all - len(s.Entries)
		if len(s.Entries) == 0 {
			continue
		}
		slices.SortStableFunc(s.Entries, wanted.compare)
		s.Name = s.Entries[0].Analyte
		if grade == exactMatch {
			f.Exact = append(f.Exact, s)
		} else {
			f.Partial = append(f.Partial, s)
		}
	}
	sortByName(f.Exact)
	sortByName(f.Partial)
	if len(f.Exact)+len(f.Partial)+f.LeftOut == 0 {
		f.Near = l.suggest(q)
	}
	return f
}

// Authorities returns the names of those whose limits the library holds, in
// the order of the library.
func (l *Library) Authorities() []string {
	var out []string
	for i := range l.entries {
		if a := l.entries[i].Authority; !slices.Contains(out, a) {
			out = append(out, a)
		}
	}
	return out
}

// IsCAS reports whether a text is written as a CAS registry number is.
func IsCAS(text string) bool { return canonicalCAS(text) != "" }

// SameName reports whether two texts are one name, without regard to case,
// spaces, punctuation, Greek letters and spelling.
func SameName(a, b string) bool { return nameKey(a) == nameKey(b) }

// match is how well an entry answers a text.
type match uint8

const (
	noMatch match = iota
	partialMatch
	exactMatch
)

// graded returns the entries that a text leads to.
func (l *Library) graded(text string) map[*Entry]match {
	out := map[*Entry]match{}
	switch number := canonicalCAS(text); {
	case strings.TrimSpace(text) == "":
		for i := range l.entries {
			out[&l.entries[i]] = exactMatch
		}
	case number != "":
		for _, i := range l.byCAS[number] {
			out[&l.entries[i]] = exactMatch
		}
	default:
		l.gradeNames(text, out)
	}
	return out
}

// telling is how many letters and digits a text needs for parts of names to
// be searched for it: a symbol stands in too many.
const telling = 3

func (l *Library) gradeNames(text string, out map[*Entry]match) {
	base, as := splitAs(text)
	key := nameKey(base)
	if key == "" {
		return
	}
	var words []string
	for _, w := range strings.Fields(text) {
		words = append(words, nameKey(w))
	}
	within := utf8.RuneCountInString(key) >= telling
	for name, holders := range l.byName {
		part := within && (strings.Contains(name, key) || containsAll(name, words))
		if !part && name != key {
			continue
		}
		for _, h := range holders {
			e := &l.entries[h.entry]
			switch {
			case name == key && (as == "" || as == h.as || h.as == "" && as == e.asKey):
				out[e] = exactMatch
			case part:
				out[e] = max(out[e], partialMatch)
			}
		}
	}
	for _, e := range l.answering(text) {
		out[e] = exactMatch
	}
}

func containsAll(name string, words []string) bool {
	for _, w := range words {
		if !strings.Contains(name, w) {
			return false
		}
	}
	return true
}

func gradeOf(s Substance, graded map[*Entry]match) match {
	best := noMatch
	for _, e := range s.Entries {
		best = max(best, graded[e])
	}
	return best
}

// numbered reports whether a substance has the CAS number; every one has "".
func (s Substance) numbered(cas string) bool {
	number := canonicalCAS(cas)
	return strings.TrimSpace(cas) == "" ||
		slices.ContainsFunc(s.Entries, func(e *Entry) bool { return slices.Contains(parts(e.CAS), number) })
}

// substances puts the rows of each substance together: those of one name, and
// those that share a CAS number, a name and what they are expressed as.
func (l *Library) substances() []Substance {
	leader := make([]int, len(l.entries)) // the row that another belongs to; itself for a first one
	lead := func(i int) int {
		for leader[i] != i {
			i = leader[i]
		}
		return i
	}
	first := map[string]int{}
	for i := range l.entries {
		leader[i] = i
		for _, identity := range l.entries[i].identities() {
			if other, ok := first[identity]; ok {
				a, b := lead(i), lead(other)
				leader[max(a, b)] = min(a, b)
			} else {
				first[identity] = i
			}
		}
	}
	var out []Substance
	place := map[int]int{}
	for i := range l.entries {
		at, ok := place[lead(i)]
		if !ok {
			at = len(out)
			place[lead(i)] = at
			out = append(out, Substance{})
		}
		out[at].Entries = append(out[at].Entries, &l.entries[i])
	}
	return out
}

// identities returns texts one of which rows of the same substance share.
func (e *Entry) identities() []string {
	out := []string{nameKey(e.Analyte)}
	for _, cas := range parts(e.CAS) {
		for _, name := range e.plain {
			out = append(out, cas+" "+e.asKey+" "+name)
		}
	}
	return out
}

func sortByName(of []Substance) {
	slices.SortStableFunc(of, func(a, b Substance) int { return cmp.Compare(nameKey(a.Name), nameKey(b.Name)) })
}

// wanted is the part of the library that a query asks for, and its order.
type wanted struct {
	authorities []string // keys
	sector      Sector
}

func (l *Library) wanted(q Query) wanted {
	w := wanted{sector: q.Sector}
	names := q.Authorities
	if len(names) == 0 {
		names = l.Authorities()
	}
	for _, a := range names {
		w.authorities = append(w.authorities, nameKey(a))
	}
	return w
}

func (w wanted) holds(e *Entry) bool {
	return slices.Contains(w.authorities, nameKey(e.Authority)) &&
		(w.sector == "" || len(e.Sectors) == 0 || slices.Contains(e.Sectors, w.sector))
}

var sectorOrder = []Sector{General, Construction, Maritime}

func (w wanted) compare(a, b *Entry) int {
	return cmp.Or(
		cmp.Compare(slices.Index(w.authorities, nameKey(a.Authority)), slices.Index(w.authorities, nameKey(b.Authority))),
		cmp.Compare(conditionalLast(a), conditionalLast(b)),
		cmp.Compare(firstSector(a), firstSector(b)),
		cmp.Compare(a.Form, b.Form),
		cmp.Compare(a.ValidFrom, b.ValidFrom),
		cmp.Compare(slices.Index(kindOrder, a.Kind), slices.Index(kindOrder, b.Kind)),
		cmp.Compare(a.Instrument, b.Instrument),
		cmp.Compare(a.AveragingMin, b.AveragingMin),
	)
}

func conditionalLast(e *Entry) int {
	if e.Use == Conditional {
		return 1
	}
	return 0
}

func firstSector(e *Entry) int {
	if len(e.Sectors) == 0 {
		return -1
	}
	return slices.Index(sectorOrder, e.Sectors[0])
}

// suggest returns what a query that found nothing may have meant.
func (l *Library) suggest(q Query) []string {
	number := cmp.Or(canonicalCAS(q.CAS), canonicalCAS(q.Text))
	if number == "" {
		return l.alike(q.Text, func(*Entry) bool { return true })
	}
	var out []string
	for cas, rows := range l.byCAS {
		if distance(cas, number) == 1 {
			out = append(out, l.entries[rows[0]].Analyte+" ("+cas+")")
		}
	}
	slices.Sort(out)
	return out[:min(len(out), nearMost)]
}
