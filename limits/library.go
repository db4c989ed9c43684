package limits

import (
	"embed"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
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
	NoNumber    Use = "none"        // its list says that no number can be given; never a pass
)

// Entry is one row of the library. The Limit of a row that is not compared
// may have the Value 0.
type Entry struct {
	Limit
	ValuePPM, ValueMgM3   stats.Optional // as printed
	ValueOther, UnitOther string         // as printed: fibres, a formula, "none"
	Skin                  bool
	Sectors               []Sector // empty: all
	ValidFrom, ValidTo    string
	Use                   Use
	Status                string // seen, corroborated or memory
	Note                  string

	plain []string // keys of the names that do not say what it is expressed as
	asKey string   // key of As
}

// names returns all that the entry answers to.
func (e *Entry) names() []string { return append([]string{e.Analyte}, e.Synonyms...) }

// Library is a set of published limits. It is read-only and safe for
// concurrent use.
type Library struct {
	entries []Entry
	byName  map[string][]named
	byCAS   map[string][]int
	weights map[string]float64 // by CAS or name key, of substances without a limit of their own
}

// named is a name that an entry answers to.
type named struct {
	entry int
	as    string // key of what the name says the limit is expressed as; "" unsaid
}

// Embedded returns the library that comes with the program. It is parsed once,
// when first asked for.
var Embedded = sync.OnceValue(func() *Library {
	l := &Library{byName: map[string][]named{}, byCAS: map[string][]int{}, weights: map[string]float64{}}
	for _, name := range []string{"osha.csv", "niosh.csv"} {
		l.mustRead(name, l.add)
	}
	l.mustRead("weights.csv", l.addWeight)
	return l
})

// Entries returns every row of the library, sorted within an authority.
func (l *Library) Entries() []Entry { return l.entries }

// mustRead reads an embedded file row by row. It panics on a fault: the data
// are the program's own.
func (l *Library) mustRead(name string, add func(row, string) error) {
	text, err := libraryFiles.ReadFile("library/" + name)
	if err == nil {
		err = eachRow(string(text), add)
	}
	if err != nil {
		panic("limits: library/" + name + ": " + err.Error())
	}
}

// row gives the cells of a line by their column's name.
type row map[string]string

// eachRow calls add for each row of a file whose leading # lines say where it
// comes from; source is what its "# source:" line says.
func eachRow(text string, add func(r row, source string) error) error {
	_, source, _ := strings.Cut(text, "\n# source: ")
	source, _, _ = strings.Cut(source, "\n")
	in := csv.NewReader(strings.NewReader(text))
	in.Comment = '#'
	columns, err := in.Read()
	for err == nil {
		var cells []string
		if cells, err = in.Read(); err != nil {
			break
		}
		r := make(row, len(columns))
		for i, c := range columns {
			r[c] = cells[i]
		}
		if fault := add(r, source); fault != nil {
			line, _ := in.FieldPos(0)
			return fmt.Errorf("line %d: %w", line, fault)
		}
	}
	if err == io.EOF {
		return nil
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
	e.asKey = nameKey(e.As)
	for _, name := range e.names() {
		base, as := splitAs(name)
		key := nameKey(base)
		l.byName[key] = append(l.byName[key], named{at, as})
		if as == "" {
			e.plain = append(e.plain, key)
		}
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

func (r row) entry(source string) (Entry, error) {
	e := Entry{
		Limit: Limit{
			Analyte:       r["substance"],
			Synonyms:      parts(r["synonyms"]),
			CAS:           r["cas"],
			Form:          r["form"],
			As:            r["as"],
			Authority:     r["authority"],
			Instrument:    r["instrument"],
			Kind:          Kind(r["kind"]),
			ShiftAdjusted: r["shift_adjusted"] == "yes",
			Source:        source + " (" + r["status"] + ")",
		},
		ValueOther: r["value_other"],
		UnitOther:  r["unit_other"],
		Skin:       r["skin"] == "Y",
		ValidFrom:  r["valid_from"],
		ValidTo:    r["valid_to"],
		Use:        Use(r["use"]),
		Status:     r["status"],
		Note:       r["note"],
	}
	for _, s := range parts(r["sector"]) {
		if s != "all" {
			e.Sectors = append(e.Sectors, Sector(s))
		}
	}
	if r["comparator"] == "at or above" {
		e.Comparator = AtOrAbove
	}
	return e, r.numbers(&e)
}

// fallbackMin is what a ceiling of no stated time is averaged over where it
// is not measured as it passes. Source: 29 CFR 1910.1000(a)(1).
const fallbackMin = 15

// numbers reads the numeric cells of a row and chooses the value to compare
// with: as the list publishes it, and of ppm and mg/m³ printed side by side
// the ppm, which governs (29 CFR 1910.1000 Table Z-1, note b).
func (r row) numbers(e *Entry) error {
	var averaging stats.Optional
	for column, number := range map[string]*stats.Optional{
		"molecular_weight": &e.MolecularWeight,
		"value_ppm":        &e.ValuePPM,
		"value_mgm3":       &e.ValueMgM3,
		"averaging_min":    &averaging,
	} {
		if r[column] == "" {
			continue
		}
		v, err := strconv.ParseFloat(r[column], 64)
		if err != nil {
			return fmt.Errorf("%s: %w", column, err)
		}
		*number = stats.Some(v)
	}
	if e.AveragingMin = averaging.Value; e.AveragingMin == 0 {
		e.AveragingMin = fallbackMin
	}
	switch {
	case r["value_published"] != "":
		return e.publish(r["value_published"], r["unit_published"])
	case e.ValuePPM.Known:
		e.Value, e.Unit = e.ValuePPM.Value, PartsPerMillion
	case e.ValueMgM3.Known:
		e.Value, e.Unit = e.ValueMgM3.Value, MilligramsPerM3
	case e.Use == Compared:
		return e.publish(e.ValueOther, e.UnitOther)
	}
	return nil
}

// publish sets the value and unit of a limit by their printed texts.
func (e *Entry) publish(value, unit string) error {
	v, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return fmt.Errorf("value: %w", err)
	}
	for _, u := range Units {
		if u.Name == unit {
			e.Value, e.Unit = v, u
			return nil
		}
	}
	return fmt.Errorf("no unit %q", unit)
}
