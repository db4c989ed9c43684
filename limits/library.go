package limits

import (
	"embed"
	"fmt"
	"strconv"
	"sync"

	"airtally/stats"
)

//go:embed library/*.csv
var libraryFiles embed.FS

// Use says whether a row of the library is compared with.
type Use string

const (
	Compared    Use = ""
	Conditional Use = "conditional" // stands only where the specific standard is not in effect
	Listed      Use = "listed"      // shown, not compared with: a particle count, a formula, a cross reference
	NoNumber    Use = "none"        // its list says that no number can be given; never a pass
)

// The words for how well a row is known.
const (
	Seen         = "seen"         // read in the text
	Corroborated = "corroborated" // from memory, and equal in another text
	FromMemory   = "memory"       // from memory alone
)

// Entry is one row of the library. The Limit of a row that is not compared
// may have the Value 0.
type Entry struct {
	Limit
	ValuePPM, ValueMgM3   stats.Optional // as printed
	ValueOther, UnitOther string         // as printed: fibres, a formula, "none"
	Skin                  bool
	Sectors               []Sector // empty: all
	ValidFrom, ValidTo    string   // first and last day, 2006-01-02; "": since before, until further notice
	Use                   Use
	Status                string   // Seen, Corroborated or FromMemory
	AlsoForms             []string // forms that it is for besides Form
	MolarVolume           float64  // L/mol with which its authority pairs ppm and mg/m³
	StatedMin             float64  // minutes that its list states to average over; 0: none stated
	Note                  string

	plain []string // keys of the names that do not say what it is expressed as
	asKey string   // key of As
}

// names returns all that the entry answers to.
func (e *Entry) names() []string { return append([]string{e.Analyte}, e.Synonyms...) }

// validOn reports whether the row holds on a day, written as 2006-01-02.
func (e *Entry) validOn(day string) bool {
	return e.ValidFrom <= day && (e.ValidTo == "" || day <= e.ValidTo)
}

// Library is a set of published limits. It is read-only and safe for
// concurrent use.
type Library struct {
	entries []Entry
	byName  map[string][]named
	byCAS   map[string][]int
	weights map[string]float64 // by CAS or name key, of substances without a weight in a limit's row
	last    naming             // of the row read last: most rows repeat the names before
}

// named is a name that an entry answers to.
type named struct {
	entry int
	as    string // key of what the name says the limit is expressed as; "" unsaid
}

// naming is what the names of a row lead to.
type naming struct {
	substance, cell string // as written, the synonyms in one cell
	synonyms        []string
	keys            []parted
	plain           []string // keys of the names that do not say what it is expressed as
}

// parted is a name as [splitAs] parts it.
type parted struct{ key, as string }

func (n *naming) read(substance, cell string) {
	if n.substance == substance && n.cell == cell {
		return
	}
	*n = naming{substance: substance, cell: cell, synonyms: parts(cell)}
	for _, name := range append([]string{substance}, n.synonyms...) {
		base, as := splitAs(name)
		p := parted{nameKey(base), as}
		n.keys = append(n.keys, p)
		if as == "" {
			n.plain = append(n.plain, p.key)
		}
	}
}

// lists are the files of limits, one of each authority.
var lists = []string{"osha.csv", "niosh.csv", "eu.csv", "calosha.csv", "ukhse.csv"}

// Embedded returns the library that comes with the program. It is parsed once,
// when first asked for.
var Embedded = sync.OnceValue(readLibrary)

func readLibrary() *Library {
	l := &Library{
		entries: make([]Entry, 0, 2100),
		byName:  make(map[string][]named, 3000),
		byCAS:   make(map[string][]int, 800),
		weights: map[string]float64{},
	}
	for _, name := range lists {
		l.mustRead(name, l.addList)
	}
	l.mustRead("weights.csv", func(text string) error { return eachRow(text, l.addWeight) })
	l.last = naming{}
	return l
}

// Entries returns every row of the library, sorted within an authority.
func (l *Library) Entries() []Entry { return l.entries }

// mustRead hands over the text of an embedded file. It panics on a fault: the
// data are the program's own.
func (l *Library) mustRead(name string, read func(text string) error) {
	text, err := libraryFiles.ReadFile("library/" + name)
	if err == nil {
		err = read(string(text))
	}
	if err != nil {
		panic("limits: library/" + name + ": " + err.Error())
	}
}

// addList takes over a list of limits, whose "# molar_volume:" line gives the
// litres per mole with which its authority pairs ppm and mg/m³.
func (l *Library) addList(text string) error {
	volume, err := strconv.ParseFloat(headerLine(text, "molar_volume"), 64)
	if err != nil {
		return fmt.Errorf("molar_volume: %w", err)
	}
	first := len(l.entries)
	err = eachRow(text, l.add)
	for i := range l.entries[first:] {
		l.entries[first+i].MolarVolume = volume
	}
	return err
}

// add takes over a row of a list of limits and the names it answers to.
func (l *Library) add(r row, source string) error {
	e, err := r.entry(source)
	if err != nil {
		return err
	}
	at := len(l.entries)
	l.last.read(r["substance"], r["synonyms"])
	e.Synonyms, e.plain, e.asKey = l.last.synonyms, l.last.plain, nameKey(e.As)
	for _, p := range l.last.keys {
		l.byName[p.key] = append(l.byName[p.key], named{at, p.as})
	}
	l.entries = append(l.entries, e)
	for _, cas := range parts(e.CAS) {
		l.byCAS[cas] = append(l.byCAS[cas], at)
	}
	return nil
}

// addWeight takes over a row of the file of weights.
func (l *Library) addWeight(r row, _ string) error {
	weight, err := MolarMass(r["formula"])
	if err != nil {
		return err
	}
	l.weights[r["cas"]] = weight
	for _, name := range append([]string{r["substance"]}, parts(r["synonyms"])...) {
		l.weights[nameKey(name)] = weight
	}
	return nil
}
