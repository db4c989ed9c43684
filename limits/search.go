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
	LeftOut int         // rows of the best matches that the authorities and the sector leave out
}

// Search looks a text up among names, synonyms and CAS numbers, without regard
// to case, spaces, punctuation, Greek letters and spelling.
func (l *Library) Search(q Query) Found {
	var f Found
	graded, wanted := l.graded(q.Text), l.wanted(q)
	leftOut := map[match]int{}
	for _, s := range l.substances() {
		grade := gradeOf(s, graded)
		if grade == noMatch || !s.numbered(q.CAS) {
			continue
		}
		leftOut[grade] += s.narrow(wanted)
		switch {
		case len(s.Entries) == 0:
		case grade == exactMatch:
			f.Exact = append(f.Exact, s)
		default:
			f.Partial = append(f.Partial, s)
		}
	}
	f.LeftOut = leftOut[exactMatch]
	switch hidden := len(f.Exact) == 0 && f.LeftOut > 0; {
	case hidden:
		f.Partial = nil // what only contains the text would pass for what was asked for
	case len(f.Exact) == 0:
		f.LeftOut = leftOut[partialMatch]
	}
	sortByName(f.Exact)
	sortByName(f.Partial)
	if strings.TrimSpace(q.Text+q.CAS) != "" {
		slices.SortStableFunc(f.Exact, func(a, b Substance) int { return wanted.rank(a.Entries[0]) - wanted.rank(b.Entries[0]) })
	}
	if len(f.Exact)+len(f.Partial)+f.LeftOut == 0 {
		f.Near = l.suggest(q)
	}
	return f
}

// narrow keeps the rows that are wanted, in their order, and returns how many
// are not.
func (s *Substance) narrow(to wanted) (leftOut int) {
	all := len(s.Entries)
	s.Entries = slices.DeleteFunc(s.Entries, func(e *Entry) bool { return !to.holds(e) })
	slices.SortStableFunc(s.Entries, to.compare)
	if len(s.Entries) > 0 {
		s.Name = s.Entries[0].Analyte
	}
	return all - len(s.Entries)
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
// those that share another and what they are expressed as. Where a list tells
// apart what shares a name, such as the species of a metal, so does this.
func (l *Library) substances() []Substance {
	var out []Substance
	for _, rows := range l.sharing() {
		var apart []Substance
		for _, e := range rows {
			best, most := len(apart), 0
			for i := range apart {
				if shared := apart[i].shared(e); shared > most {
					best, most = i, shared
				}
			}
			if best == len(apart) {
				apart = append(apart, Substance{Name: e.Analyte})
			}
			apart[best].Entries = append(apart[best].Entries, e)
		}
		out = append(out, apart...)
	}
	return out
}

// shared returns how much a row has in common with those of a substance: its
// name is more than any number of synonyms. It has nothing where its list has
// another name for the substance in the same form.
func (s Substance) shared(e *Entry) int {
	const byName = 1000
	most := 0
	for _, other := range s.Entries {
		switch {
		case other.Analyte == e.Analyte || SameName(other.Analyte, e.Analyte):
			return byName
		case other.Authority == e.Authority && slices.ContainsFunc(other.Forms(), func(f string) bool { return slices.Contains(e.Forms(), f) }):
			return 0
		}
		most = max(most, commonTo(other.plain, e.plain))
	}
	return most
}

func commonTo(a, b []string) int {
	n := 0
	for _, x := range a {
		if slices.Contains(b, x) {
			n++
		}
	}
	return n
}

// sharing returns the rows in sets that have no name in common.
func (l *Library) sharing() [][]*Entry {
	leader := make([]int, len(l.entries)) // the row that another belongs to; itself for the first of a set
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
	sets := make([][]*Entry, len(l.entries))
	for i := range l.entries {
		sets[lead(i)] = append(sets[lead(i)], &l.entries[i])
	}
	return slices.DeleteFunc(sets, func(set []*Entry) bool { return len(set) == 0 })
}

// identities returns texts one of which rows of the same substance share.
func (e *Entry) identities() []string {
	out := []string{nameKey(e.Analyte)}
	for _, name := range e.plain {
		out = append(out, e.asKey+" "+name)
	}
	return out
}

// Forms returns all forms that the row is for, Form first.
func (e *Entry) Forms() []string { return append([]string{e.Form}, e.AlsoForms...) }

// CASNumbers returns the CAS registry numbers of the row.
func (e *Entry) CASNumbers() []string { return parts(e.CAS) }

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

func (w wanted) rank(e *Entry) int { return slices.Index(w.authorities, nameKey(e.Authority)) }

func (w wanted) holds(e *Entry) bool {
	return w.rank(e) >= 0 &&
		(w.sector == "" || len(e.Sectors) == 0 || slices.Contains(e.Sectors, w.sector))
}

var sectorOrder = []Sector{General, Construction, Maritime}

func (w wanted) compare(a, b *Entry) int {
	return cmp.Or(
		cmp.Compare(w.rank(a), w.rank(b)),
		cmp.Compare(conditionalLast(a), conditionalLast(b)),
		cmp.Compare(firstSector(a), firstSector(b)),
		cmp.Compare(a.Analyte, b.Analyte),
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
		if NameDistance(cas, number) == 1 {
			out = append(out, l.entries[rows[0]].Analyte+" ("+cas+")")
		}
	}
	slices.Sort(out)
	return out[:min(len(out), nearMost)]
}
