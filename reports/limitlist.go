package reports

import (
	"bufio"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"airtally/limits"
	"airtally/stats"
)

// LimitList is what a search of the limit library found.
type LimitList struct {
	limits.Found
	Query limits.Query
	On    time.Time // the day on which rows are in force or not
}

// Marks that a row of the library carries into every output.
const (
	fromTwoTexts = "value from memory, equal in another text"
	neverAPass   = "no numeric limit: never a pass"
	onCondition  = "conditional: never compared with by itself"
	onlyListed   = "listed: never compared with"
)

// limitFields are the fields of a row in JSON and in the table. Numbers are as
// published, those per microgram in mg/m³.
var limitFields = []field[limits.Entry]{
	in("substance", "", prose, func(e *limits.Entry) cell { return text(e.Analyte) }),
	in("cas", "", figures, func(e *limits.Entry) cell { return text(e.CAS) }),
	in("form", "", figures, func(e *limits.Entry) cell { return text(strings.Join(e.Forms(), "; ")) }),
	in("as", "", figures, func(e *limits.Entry) cell { return text(e.As) }),
	in("authority", "", figures, func(e *limits.Entry) cell { return text(e.Authority) }),
	in("instrument", "", prose, func(e *limits.Entry) cell { return text(e.Instrument) }),
	in("kind", "", figures, func(e *limits.Entry) cell { return text(string(e.Kind)) }),
	in("averaging_min", "", published, func(e *limits.Entry) cell { return number(e.StatedMin).where(e.StatedMin > 0) }),
	in("value_ppm", "", published, func(e *limits.Entry) cell { return optional(inBase(e, e.ValuePPM, limits.Molar)) }),
	in("value_mgm3", "", published, func(e *limits.Entry) cell { return optional(inBase(e, e.ValueMgM3, limits.Mass)) }),
	in("value_other", "", published, func(e *limits.Entry) cell { return otherValue(e) }),
	in("unit_other", "", figures, func(e *limits.Entry) cell { return text(e.UnitOther).where(e.UnitOther != "") }),
	in("skin", "", figures, func(e *limits.Entry) cell { return truth(e.Skin) }),
	in("status", "", figures, func(e *limits.Entry) cell { return text(e.Status) }),
	in("valid_from", "", figures, func(e *limits.Entry) cell { return text(e.ValidFrom).where(e.ValidFrom != "") }),
	in("valid_to", "", figures, func(e *limits.Entry) cell { return text(e.ValidTo).where(e.ValidTo != "") }),
	in("note", "", prose, func(e *limits.Entry) cell { return text(strings.Join(remarks(e), "; ")) }),
}

// inBase returns a value as its column prints it, else the published value
// where that has the dimension, in the base unit.
func inBase(e *limits.Entry, column stats.Optional, of limits.Dimension) stats.Optional {
	if column.Known || e.Value == 0 || e.Unit.Dim != of {
		return column
	}
	return stats.Some(e.Value * e.Unit.ToBase)
}

// otherValue returns a value that is neither ppm nor mg/m³: a number where it
// is one, else its text.
func otherValue(e *limits.Entry) cell {
	if v, err := strconv.ParseFloat(e.ValueOther, 64); err == nil {
		return number(v)
	}
	return text(e.ValueOther).where(e.ValueOther != "")
}

// remarks returns what must be read beside a row's number: the marks that it
// carries, and the clauses of its note.
func remarks(e *limits.Entry) []string {
	var out []string
	switch e.Use {
	case limits.NoNumber:
		out = append(out, neverAPass)
	case limits.Conditional:
		out = append(out, onCondition)
	case limits.Listed:
		out = append(out, onlyListed)
	}
	switch e.Status {
	case limits.FromMemory:
		out = append(out, limits.MemoryMark)
	case limits.Corroborated:
		out = append(out, fromTwoTexts)
	}
	for _, clause := range clauses(e.Note) {
		if !slices.Contains(out, clause) {
			out = append(out, clause)
		}
	}
	return out
}

// clauses splits a note at its semicolons, but not within brackets.
func clauses(note string) []string {
	depth := 0
	out := strings.FieldsFunc(note, func(r rune) bool {
		switch r {
		case '(':
			depth++
		case ')':
			depth--
		}
		return r == ';' && depth <= 0
	})
	for i := range out {
		out[i] = strings.TrimSpace(out[i])
	}
	return out
}

// array lists every row found, those of exact matches first.
func (l *LimitList) array() array {
	var rows []limits.Entry
	for _, s := range slices.Concat(l.Exact, l.Partial) {
		for _, e := range s.Entries {
			rows = append(rows, *e)
		}
	}
	return arrayOf("limits", "", rows, limitFields)
}

// WriteJSON writes the rows as a JSON array, a row a line.
func (l *LimitList) WriteJSON(w io.Writer) error {
	out := bufio.NewWriterSize(w, bufferSize)
	rows := l.array()
	writeRows(out, &rows)
	out.WriteByte('\n')
	return out.Flush()
}

// WriteCSV writes the rows as a table.
func (l *LimitList) WriteCSV(w io.Writer) error {
	rows := l.array()
	return rows.writeCSV(w)
}
