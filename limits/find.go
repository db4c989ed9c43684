package limits

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"airtally/stats"
)

// Match is what the library holds for one analyte in one form.
type Match struct {
	Limits   []*Limit       // to compare with, by authority, kind and instrument
	NoNumber []*Entry       // lists that say no number can be given: never a pass
	Listed   []*Entry       // rows of the analyte that are not compared with: a count, a formula
	Others   []string       // substances of the same CAS number with limits of their own
	Conflict bool           // name and CAS number lead to different substances: nothing is matched
	Near     []string       // where nothing matches: what was nearly meant, best first
	Weight   stats.Optional // g/mol
}

// DefaultForm is the form of a sample or a limit that names none.
const DefaultForm = "total"

// Find returns the limits of the options' authorities, sector and day for an
// analyte in a form. A name is matched whole, without regard to case, spaces,
// punctuation and spelling; a CAS number leads to a substance where no name
// does, and only if it has a single one. What a limit is expressed as must be
// what the analyte's name says, or what is meant by the name alone. Nothing is
// matched by likeness.
func (l *Library) Find(analyte, cas, form string, o Options) Match {
	m := Match{Weight: l.Weight(analyte, cas)}
	if form = strings.ToLower(strings.TrimSpace(form)); form == "" {
		form = DefaultForm
	}
	scope := o.scope()
	byName := l.answering(analyte)
	byCAS := l.ofCAS(cas, analyte)
	chosen := slices.DeleteFunc(slices.Clone(byName), func(e *Entry) bool { return !scope.holds(e) })
	switch {
	case contradict(byName, byCAS, canonicalCAS(cas)):
		m.Conflict = true
		m.Near = substances(slices.Concat(byName, byCAS))
		return m
	case len(byName) == 0:
		chosen = slices.DeleteFunc(slices.Clone(byCAS), func(e *Entry) bool { return !scope.holds(e) })
		if !oneSubstance(chosen) {
			m.Near = substances(chosen)
			return m
		}
	}
	for _, e := range chosen {
		switch {
		case e.Use == NoNumber:
			m.NoNumber = append(m.NoNumber, e)
		case e.Use == Listed:
			m.Listed = append(m.Listed, e)
		case e.meets(form):
			m.Limits = append(m.Limits, &e.Limit)
		}
	}
	slices.SortStableFunc(m.Limits, scope.compare)
	m.Others = l.others(chosen, scope)
	if len(m.Limits)+len(m.NoNumber) == 0 {
		m.Near = l.near(analyte, cas, chosen, scope)
	}
	return m
}

// Find searches the library that comes with the program.
func Find(analyte, cas, form string, o Options) Match { return Embedded().Find(analyte, cas, form, o) }

// Weight returns the molecular weight of a substance by the library that comes
// with the program.
func Weight(analyte, cas string) stats.Optional { return Embedded().Weight(analyte, cas) }

// Weight returns the molecular weight of a substance in g/mol, by its CAS
// number, else by its exact name. It is not known for an analyte that is
// expressed as part of itself, nor where the rows disagree.
func (l *Library) Weight(analyte, cas string) stats.Optional {
	if _, as := splitAs(analyte); as != "" {
		return stats.Optional{}
	}
	number, name := canonicalCAS(cas), nameKey(analyte)
	for _, rows := range [][]*Entry{l.ofCAS(number, analyte), l.answering(analyte)} {
		if w := commonWeight(rows); w.Known {
			return w
		}
	}
	for _, key := range []string{number, name} {
		if w, ok := l.weights[key]; ok && key != "" {
			return stats.Some(w)
		}
	}
	return stats.Optional{}
}

// commonWeight returns the weight that all rows which state one agree on. A
// row expressed as something else than the substance states none.
func commonWeight(rows []*Entry) stats.Optional {
	var w stats.Optional
	for _, e := range rows {
		if !e.MolecularWeight.Known || e.expressedAsPart() {
			continue
		}
		if w.Known && math.Abs(w.Value-e.MolecularWeight.Value) > 0.02 {
			return stats.Optional{}
		}
		w = w.OrElse(e.MolecularWeight)
	}
	return w
}

// expressedAsPart reports whether the row's weight is a compound's and its
// value is stated as an element of it.
func (e *Entry) expressedAsPart() bool {
	if e.As == "" {
		return false
	}
	mass, err := MolarMass(e.As)
	return err == nil && math.Abs(mass-e.MolecularWeight.Value) > 0.05
}

// answering returns the entries that a name leads to. "Manganese (Mn)" leads to
// those that both of its names lead to.
func (l *Library) answering(analyte string) []*Entry {
	base, as := splitAs(analyte)
	found := l.answeringTo(base, as)
	open := strings.LastIndexByte(base, '(')
	if len(found) > 0 || open < 0 {
		return found
	}
	inside := l.answeringTo(base[open:], as)
	return slices.DeleteFunc(l.answeringTo(base[:open], as), func(e *Entry) bool { return !slices.Contains(inside, e) })
}

func (l *Library) answeringTo(name, as string) []*Entry {
	key := nameKey(name)
	if key == "" {
		return nil
	}
	var out []*Entry
	for _, n := range l.byName[key] {
		e := &l.entries[n.entry]
		if as != n.as && (n.as != "" || as != e.asKey) || slices.Contains(out, e) {
			continue
		}
		out = append(out, e)
	}
	return out
}

// ofCAS returns the entries of a CAS number, leaving out those expressed as
// something else than the analyte's name says.
func (l *Library) ofCAS(cas, analyte string) []*Entry {
	_, as := splitAs(analyte)
	var out []*Entry
	for _, i := range l.byCAS[canonicalCAS(cas)] {
		e := &l.entries[i]
		if as == e.asKey || as == "" && len(e.plain) > 0 {
			out = append(out, e)
		}
	}
	return out
}

// contradict reports whether a name leads to entries none of which has the
// CAS number, though others do.
func contradict(byName, byCAS []*Entry, cas string) bool {
	if len(byName) == 0 || len(byCAS) == 0 {
		return false
	}
	numbered := false
	for _, e := range byName {
		if slices.Contains(parts(e.CAS), cas) {
			return false
		}
		numbered = numbered || e.CAS != ""
	}
	return numbered
}

// oneSubstance reports whether entries are all of one substance: each
// authority has a single one, and the authorities share a name for it. Fume
// beside dust counts as another, since no laboratory tells them apart.
func oneSubstance(entries []*Entry) bool {
	first := map[string]string{}
	for _, e := range entries {
		identity := nameKey(e.Analyte)
		if e.Form == "fume" {
			identity += " fume"
		}
		if before, ok := first[e.Authority]; ok && before != identity {
			return false
		}
		first[e.Authority] = identity
		if !shareName(entries[0], e) {
			return false
		}
	}
	return true
}

func shareName(a, b *Entry) bool {
	return a.Analyte == b.Analyte || slices.ContainsFunc(b.plain, func(k string) bool { return slices.Contains(a.plain, k) })
}

// meets reports whether the row is for samples of a form: exactly one of its
// own, but for two that its list words otherwise. A limit in ppm is for the gas
// phase, whatever the sampler. One that carries fume in its substance's name,
// as "Zinc oxide fume", names no form besides: it stands for what a plain
// cassette catches as well as for a sample called fume.
func (e *Entry) meets(form string) bool {
	switch {
	case e.Unit.Dim == Molar:
		return slices.Contains([]string{DefaultForm, "vapour", "vapor", "gas"}, form)
	case form == "fume" && e.Form == DefaultForm && strings.HasSuffix(e.Analyte, " fume"):
		return true
	}
	return e.Form == form || slices.Contains(e.AlsoForms, form)
}

// scope is the part of the library that a survey compares with.
type scope struct {
	authorities []string // lower case, the first governs
	sector      Sector
	day         string // 2006-01-02
}

func (o Options) scope() scope {
	on := o.On
	if on.IsZero() {
		on = time.Now()
	}
	s := scope{sector: o.Sector, day: on.Format(time.DateOnly)}
	for _, a := range o.Authorities {
		s.authorities = append(s.authorities, strings.ToLower(strings.TrimSpace(a)))
	}
	return s
}

func (s scope) rank(authority string) int {
	return slices.Index(s.authorities, strings.ToLower(authority))
}

func (s scope) holds(e *Entry) bool {
	return e.Use != Conditional && s.rank(e.Authority) >= 0 && e.validOn(s.day) &&
		(len(e.Sectors) == 0 || slices.Contains(e.Sectors, s.sector))
}

var kindOrder = []Kind{TWA8, TWA10, STEL, Ceiling, Peak, Action}

func (s scope) compare(a, b *Limit) int {
	return cmp.Or(
		cmp.Compare(s.rank(a.Authority), s.rank(b.Authority)),
		cmp.Compare(slices.Index(kindOrder, a.Kind), slices.Index(kindOrder, b.Kind)),
		cmp.Compare(a.Instrument, b.Instrument),
		cmp.Compare(a.AveragingMin, b.AveragingMin),
	)
}
