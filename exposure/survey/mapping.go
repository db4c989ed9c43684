package survey

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// MappingKind names the shape of a mapping, with its version.
const MappingKind = "airtally/map/1"

// Words of a mapping in place of a column.
const (
	Unused    = "-" // the heading is not read
	Undecided = "?" // a person must decide before the mapping is accepted
)

// Mapping says how the files of one laboratory are read as the lab table.
type Mapping struct {
	Kind       string             `toml:"kind"`
	Table      MappedTable        `toml:"table"`
	Headings   map[string]Heading `toml:"-"`
	Constants  map[string]string  `toml:"constants"`  // column -> what all its cells would hold
	Sections   map[string]string  `toml:"sections"`   // word of the section column -> section
	Suffixes   map[string]string  `toml:"suffixes"`   // end of a sample's number -> section
	Qualifiers map[string]string  `toml:"qualifiers"` // letter or word -> meaning
	Units      map[string]string  `toml:"units"`      // unit as written -> unit of the lab table
	Analytes   map[string]string  `toml:"analytes"`   // name as written -> name in the survey
	Skip       []SkipRule         `toml:"skip"`

	path string // "" where it was not read from a file
}

// MappedTable says where the table stands and how its cells are written.
type MappedTable struct {
	Sheet       string   `toml:"sheet"`        // "": every sheet that holds the headings
	HeadingRows int      `toml:"heading_rows"` // rows that a heading is spread over; 0: one
	Decimal     string   `toml:"decimal"`      // "," or "."; "": as the numbers tell
	Dates       string   `toml:"dates"`        // order of day, month and year; "": they are written in one way only
	FillDown    []string `toml:"fill_down"`    // headings whose empty cells mean what stands above
	Notes       string   `toml:"notes"`        // "skip": rows with text in one cell alone are no results
}

// Heading says which column a heading of the laboratory is. The texts beside
// it hold for one column of results among several.
type Heading struct {
	Column                        string
	Sample, Section, Unit         string
	Analyte, CAS, Form            string
	ReportingLimit, Qualifier, Of string
}

// SkipRule says which rows are no results of samples.
type SkipRule struct {
	Heading string   `toml:"heading"`
	Is      []string `toml:"is"`     // the whole cell
	Begins  []string `toml:"begins"` // its beginning
	Empty   bool     `toml:"empty"`  // it is empty
	Decided string   `toml:"decided"`
}

// Meanings of qualifiers, and the letters that say the same in a lab table.
var meanings = map[string]string{
	"not-detected": "U",
	"under":        "<",
	"over":         ">",
	"estimated":    "J",
	"over-range":   "E",
	"diluted":      "D",
	"in-blank":     "B",
	"nothing":      "",
}

// dateOrders are the orders of day, month and year.
var dateOrders = []string{"day-month-year", "month-day-year", "year-month-day"}

// readMapping reads a mapping from a file.
func (r Reader) readMapping(path string) (*Mapping, Given, error) {
	raw, err := r.from.read(path)
	if err != nil {
		return nil, Given{}, &UnusableError{path, "cannot be read: " + plainCause(err), "check the file and your rights to it"}
	}
	m, err := parseMapping(path, raw)
	return m, Given{Path: path, Inputs: []Input{{path, digest(raw), r.from}}}, err
}

// parseMapping reads a mapping and refuses one that leaves something open.
func parseMapping(path string, raw []byte) (*Mapping, error) {
	raw = bytes.TrimPrefix(raw, []byte("\xEF\xBB\xBF"))
	var file struct {
		Mapping
		Written map[string]any `toml:"headings"`
	}
	decoder := toml.NewDecoder(bytes.NewReader(raw))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&file); err != nil {
		return nil, mappingSyntax(path, err)
	}
	m := file.Mapping
	m.path = path
	c := mappingCheck{Mapping: &m, lines: keyLines(raw)}
	c.readHeadings(file.Written)
	c.check()
	return &m, errors.Join(c.faults...)
}

// mappingSyntax says where a file is no mapping.
func mappingSyntax(path string, err error) error {
	var unknown *toml.StrictMissingError
	var broken *toml.DecodeError
	switch {
	case errors.As(err, &unknown):
		var faults []error
		for i := range unknown.Errors {
			e := &unknown.Errors[i]
			line, _ := e.Position()
			key := strings.Join(e.Key(), ".")
			faults = append(faults, &UnusableError{path, fmt.Sprintf("line %d: %s is not known in a mapping%s", line, key, didYouMean(key, mappingKeys)),
				"correct the word or delete the line"})
		}
		return errors.Join(faults...)
	case errors.As(err, &broken):
		line, column := broken.Position()
		return &UnusableError{path, fmt.Sprintf("line %d, character %d: is not written as TOML wants it: %s", line, column, strings.TrimPrefix(broken.Error(), "toml: ")),
			`write each line as "heading" = "column", as airtally map does`}
	}
	return &UnusableError{path, "cannot be read as a mapping: " + err.Error(), "give a mapping as airtally map writes it"}
}

// mappingKeys are the words of a mapping that are no text of the laboratory.
var mappingKeys = []string{"kind", "table", "table.sheet", "table.heading_rows", "table.decimal", "table.dates", "table.fill_down", "table.notes",
	"headings", "constants", "sections", "suffixes", "qualifiers", "units", "analytes", "skip", "skip.heading", "skip.is", "skip.begins", "skip.empty"}

// used returns the headings that are read, sorted.
func (m *Mapping) used() []string {
	return slices.Sorted(func(yield func(string) bool) {
		for name, h := range m.Headings {
			if h.Column != Unused && !yield(name) {
				return
			}
		}
	})
}

// results returns the headings of columns of results, sorted.
func (m *Mapping) results() []string {
	return slices.DeleteFunc(m.used(), func(name string) bool { return m.Headings[name].Column != "result" })
}

// headingOf returns the heading that a column is read from for one column of
// results: its own, else the one for all.
func (m *Mapping) headingOf(column, result string) string {
	forAll := ""
	for _, name := range slices.Sorted(maps.Keys(m.Headings)) {
		h := m.Headings[name]
		switch {
		case h.Column != column:
		case sameHeading(h.Of, result):
			return name
		case h.Of == "":
			forAll = name
		}
	}
	return forAll
}
