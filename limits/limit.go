// Package limits holds occupational exposure limits and what comparing with
// them means: the embedded library, units of concentration, the rules of
// comparison and their error bounds.
//
// Limits differ by place and change with time. The regulation and a qualified
// person decide; this package only supports the decision.
package limits

import (
	"strings"

	"airtally/stats"
)

// Kind is what a limit bounds.
type Kind string

const (
	TWA8    Kind = "TWA8"    // 8-hour time-weighted average
	TWA10   Kind = "TWA10"   // time-weighted average of up to a 10-hour shift
	STEL    Kind = "STEL"    // short-term exposure limit
	Ceiling Kind = "CEILING" // not to be exceeded at any time
	Peak    Kind = "PEAK"    // maximum above an acceptable ceiling, for stated minutes
	Action  Kind = "ACTION"  // action level
)

// ShortTerm reports whether the kind is judged on short-term samples.
func (k Kind) ShortTerm() bool { return k == STEL || k == Ceiling || k == Peak }

// Comparator is which side of a limit equality falls on.
type Comparator uint8

const (
	Above     Comparator = iota // exceeded only by values strictly above
	AtOrAbove                   // reached by values at or above
)

// MemoryMark ends the source of a limit whose value nobody has read in a text.
const MemoryMark = "value from memory: check the official text"

// FromMemory reports whether a limit's value rests on memory alone. Every
// output that shows such a limit says so.
func (l *Limit) FromMemory() bool { return strings.HasSuffix(l.Source, MemoryMark) }

// Limit is one limit for one analyte in one form.
type Limit struct {
	Analyte         string // as its list or the user writes it
	Synonyms        []string
	CAS             string
	MolecularWeight stats.Optional // g/mol
	Form            string         // "total", "respirable", ...; never empty
	As              string         // what it is expressed as: "Cr", "Fe2O3"; "" for the analyte itself
	Authority       string
	Instrument      string // regulation and paragraph; "" for a user's limit
	Kind            Kind
	Comparator      Comparator
	Value           float64 // in Unit, as published; never 0
	Unit            Unit
	AveragingMin    float64        // minutes over which short-term kinds are averaged
	SAE             stats.Optional // sampling and analytical error, fraction (user rows)
	ShiftAdjusted   bool           // lead: 400/hours over 8 hours (29 CFR 1910.1025(c)(2))
	Source          string         // citation, and how well it is known
	User            bool           // the user's own row
}
