package survey

import (
	"runtime"
	"sync"

	"airtally/exposure/finding"
)

// columnStyle is what the cells of one column tell about its numbers, and the
// first cell that can be read in two ways.
type columnStyle struct {
	evidence
	unclearRow  int32
	unclearText string
}

// findStyles decides for each column of numbers how they are written: by the
// column itself, else by the other columns of the table, else by its
// delimiter.
func (t *Table) findStyles(list *finding.List) { findStyles([]*Table{t}, list) }

// findStyles does so for tables that one hand wrote, together.
func findStyles(tables []*Table, list *finding.List) {
	byColumn := make(map[string]evidence)
	seen := make([][]columnStyle, len(tables))
	var whole evidence
	for i, t := range tables {
		if !t.grid.doubtful() {
			continue
		}
		numeric := t.numericFields()
		seen[i] = t.gatherStyles(numeric)
		for k, f := range numeric {
			ofColumn := byColumn[f.Name]
			ofColumn.merge(seen[i][k].evidence)
			byColumn[f.Name] = ofColumn
			whole.merge(seen[i][k].evidence)
		}
	}
	for i, t := range tables {
		for k := range seen[i] {
			t.settleStyle(t.numericFields()[k], byColumn, whole, seen[i][k], list)
		}
	}
}

func (t *Table) settleStyle(f *field, byColumn map[string]evidence, whole evidence, s columnStyle, list *finding.List) {
	ofColumn := byColumn[f.Name]
	f.style = ofColumn.style()
	if f.style == (numberStyle{}) {
		f.style = whole.style()
	}
	if f.style == (numberStyle{}) {
		f.style = t.unprovenStyle(f, s, list)
	}
	for _, part := range f.parts {
		part.style = f.style
	}
}

func (t *Table) numericFields() []*field {
	var out []*field
	for i := range t.description.Columns {
		switch f := t.field(t.description.Columns[i].Name); f.Type {
		case NumberCell, FractionCell, ReadingsCell, ResultCell, ItemCell:
			if f.at >= 0 {
				out = append(out, f)
			}
		}
	}
	return out
}

// gatherStyles looks through all rows, several parts at a time.
func (t *Table) gatherStyles(numeric []*field) []columnStyle {
	parts := min(runtime.GOMAXPROCS(0), len(t.body)/4096+1)
	found := make([][]columnStyle, parts)
	var wait sync.WaitGroup
	for p := range parts {
		rows := t.body[len(t.body)*p/parts : len(t.body)*(p+1)/parts]
		wait.Go(func() { found[p] = t.gatherPart(numeric, rows) })
	}
	wait.Wait()
	seen := found[0]
	for _, part := range found[1:] {
		for i := range seen {
			seen[i].merge(part[i].evidence)
			if seen[i].unclearRow == 0 {
				seen[i].unclearRow, seen[i].unclearText = part[i].unclearRow, part[i].unclearText
			}
		}
	}
	return seen
}

func (t *Table) gatherPart(numeric []*field, rows []int32) []columnStyle {
	seen := make([]columnStyle, len(numeric))
	var cells []cell
	for _, row := range rows {
		cells = t.grid.read(row, cells[:0])
		for i, f := range numeric {
			for _, part := range f.parts {
				seen[i].take(cells, part.at, row)
			}
		}
	}
	return seen
}

func (s *columnStyle) take(cells []cell, at int, row int32) {
	if at >= len(cells) || cells[at].kind != textKind {
		return
	}
	text := cells[at].text
	s.gather(text)
	if s.unclearRow == 0 {
		if _, f := parseNumber(text, numberStyle{point: decimal}); f == ambiguous {
			s.unclearRow, s.unclearText = row, text
		}
	}
}

// unprovenStyle is the style of a column where nothing in the table tells. A
// file with semicolons is from where the comma is decimal; whether its points
// are, is left open.
func (t *Table) unprovenStyle(f *field, s columnStyle, list *finding.List) numberStyle {
	if g, ok := underlying(t.grid).(*textGrid); ok && g.delimiter == ';' {
		return numberStyle{comma: decimal, point: doubtful}
	}
	if s.unclearRow != 0 {
		v, _ := parseNumber(s.unclearText, spoken)
		list.Add(finding.ThousandsAssumed, t.Place(s.unclearRow, f.Name), nil, finding.Values{
			"column": f.Name, "read": s.unclearText, "value": plainly(v)})
	}
	return spoken
}
