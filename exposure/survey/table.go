package survey

import (
	"slices"
	"strconv"
	"strings"

	"airtally/exposure/finding"
)

// Table is one input table as it was found: a sheet of a workbook or a text
// file, with its columns matched to the description of the table.
type Table struct {
	File  string // as given
	Name  string // of the table: "samples", "lab", ...
	Sheet string // its name in the workbook, or the file's name

	description *Description
	grid        grid
	headers     []string
	header      int32 // the row of the headers, the last of them where there are two
	around      headerRows
	moments     momentStyles
	body        []int32 // the rows below
	fields      map[string]*field
	mayBeEmpty  bool
	foreign     *foreign // of a laboratory's own file: what its columns are called there
}

// field is a column of the description as it stands in a table.
type field struct {
	*Column
	at    int      // from 0; -1 where the table has no such column
	parts []*field // itself, and the further columns of readings; none where absent
	scale scale    // from the header's unit to the column's
	unit  string   // in the header of a column whose unit stands in another
	style numberStyle
}

// field returns a column of the description, present in the table or not.
func (t *Table) field(name string) *field {
	if f, ok := t.fields[name]; ok {
		return f
	}
	c, ok := t.description.Column(name)
	if !ok {
		panic("survey: table " + t.Name + " is not described with a column " + name)
	}
	return &field{Column: c, at: -1, scale: same, style: spoken}
}

// Header returns the headers of the table as they were read.
func (t *Table) Header() []string { return slices.Clone(t.headers) }

// Rows returns the numbers of the rows below the header.
func (t *Table) Rows() []int32 { return slices.Clone(t.body) }

// Place returns the cell of the named column in a row, or the row alone where
// the table has no such column. Columns not described are named as read.
func (t *Table) Place(row int32, column string) finding.Place {
	p := finding.Place{File: t.File, Table: t.Name, Row: int(row), Column: column}
	at := t.position(column)
	if t.foreign != nil {
		at, p.Column = t.foreign.origin(at, column)
	}
	if at >= 0 {
		p.Cell = cellName(at, row)
	}
	return p
}

// Text returns what stands in the named column of a row, as read; "" where
// nothing does. Readings in several columns come with ";" between them.
func (t *Table) Text(row int32, column string) string {
	at := t.position(column)
	if at < 0 || row <= t.header {
		return ""
	}
	cells := t.grid.read(row, nil)
	if t.foreign != nil {
		return t.foreign.quote(cells, at)
	}
	f := t.fields[column]
	if f == nil || len(f.parts) == 1 {
		return textAt(cells, at)
	}
	var texts []string
	for _, part := range f.parts {
		if s := textAt(cells, part.at); s != "" {
			texts = append(texts, s)
		}
	}
	return strings.Join(texts, "; ")
}

func (t *Table) position(column string) int {
	if f, ok := t.fields[column]; ok {
		return f.at
	}
	if f, ok := t.fields["readings"]; ok && isReading(column) {
		for _, part := range f.parts {
			if part.Name == column {
				return part.at
			}
		}
	}
	if _, described := t.description.Column(column); described {
		return -1
	}
	return slices.Index(t.headers, column)
}

func textAt(cells []cell, at int) string {
	if at < 0 || at >= len(cells) {
		return ""
	}
	return strings.TrimSpace(cells[at].text)
}

// cellName names a cell as spreadsheets do: column 0 of row 7 is A7.
func cellName(at int, row int32) string {
	name := ""
	for n := at + 1; n > 0; n = (n - 1) / 26 {
		name = string(rune('A'+(n-1)%26)) + name
	}
	return name + strconv.Itoa(int(row))
}
