package survey

import (
	"fmt"
	"slices"
	"strings"

	"airtally/exposure/finding"
)

// unitSuffixes end the names of columns to say their unit; headers may leave
// them out.
var unitSuffixes = []string{"_lpm", "_l", "_min", "_c", "_kpa", "_pct", "_mm2", "_months", "_days"}

// headerNames maps every header that a table understands, simplified, to its
// column: the name, its synonyms, and both with or without the unit.
func headerNames(d *Description) map[string]*Column {
	names := make(map[string]*Column)
	add := func(name string, c *Column) {
		if key := simplify(name); names[key] == nil {
			names[key] = c
		}
	}
	for i := range d.Columns {
		add(d.Columns[i].Name, &d.Columns[i])
	}
	for i := range d.Columns {
		c := &d.Columns[i]
		for _, name := range append([]string{withoutUnit(c)}, c.Synonyms...) {
			add(name, c)
			if c.Unit != "" {
				add(name+c.Unit, c)
			}
		}
	}
	return names
}

func withoutUnit(c *Column) string {
	if c.Unit == "" {
		return c.Name
	}
	for _, s := range unitSuffixes {
		if base, ok := strings.CutSuffix(c.Name, s); ok {
			return base
		}
	}
	return c.Name
}

// cutBrackets cuts a unit in trailing brackets off a header.
func cutBrackets(header string) (name, inside string) {
	header = strings.TrimRight(strings.TrimSpace(header), "* ")
	for _, pair := range []string{"()", "[]", "{}"} {
		if body, ok := strings.CutSuffix(header, pair[1:]); ok {
			if i := strings.LastIndex(body, pair[:1]); i > 0 {
				return body[:i], strings.TrimSpace(body[i+1:])
			}
		}
	}
	return header, ""
}

// matchHeader matches the headers to the columns of the table.
func (t *Table) matchHeader(list *finding.List) {
	names := headerNames(t.description)
	t.fields = make(map[string]*field)
	t.mentionHeaderRows(list)
	var unknown []int
	for at, header := range t.headers {
		if header == "" {
			if t.holdsCells(at) {
				list.Add(finding.UnnamedColumn, t.headerPlace(at, ""), nil, finding.Values{"table": t.Name})
			}
			continue
		}
		c, unit := matchColumn(names, header)
		if c == nil {
			unknown = append(unknown, at)
			continue
		}
		f := &field{Column: c, at: at, scale: same, style: spoken}
		if t.headerUnit(f, unit, list) {
			t.place(f, header, list)
		}
	}
	for _, at := range unknown { // last, so that only columns still missing are suggested
		t.mentionColumn(at, list)
	}
}

// holdsCells reports whether a column holds anything below the header.
func (t *Table) holdsCells(at int) bool {
	var cells []cell
	for _, row := range t.body {
		if cells = t.grid.read(row, cells[:0]); at < len(cells) && isFilled(&cells[at]) {
			return true
		}
	}
	return false
}

func matchColumn(names map[string]*Column, header string) (c *Column, unit string) {
	name, unit := cutBrackets(header)
	if c := names[simplify(name)]; c != nil {
		return c, unit
	}
	if c := names[simplify(header)]; c != nil {
		return c, ""
	}
	if c := names["readings"]; c != nil && isReading(name) {
		return c, unit
	}
	return nil, ""
}

// isReading reports whether a header is reading_1, reading_2, ...
func isReading(name string) bool {
	number, ok := strings.CutPrefix(simplify(name), "reading")
	_, all := digits(number)
	return ok && number != "" && all
}

// place enters a column that was matched, or joins it to the readings.
func (t *Table) place(f *field, header string, list *finding.List) {
	key := f.Name
	name, _ := cutBrackets(header)
	isPart := f.Type == ReadingsCell && isReading(name)
	if isPart {
		part := *f.Column
		part.Name = "reading_" + strings.TrimPrefix(simplify(name), "reading")
		f.Column = &part
	}
	f.parts = []*field{f}
	first, taken := t.fields[key]
	switch {
	case !taken:
		t.fields[key] = f
	case isPart && first.scale == f.scale && first.unit == f.unit:
		first.parts = append(first.parts, f)
	default:
		list.Add(finding.DuplicateColumn, t.headerPlace(f.at, f.Name), nil, finding.Values{
			"first": t.headers[first.at], "read": header, "column": key})
	}
}

// headerUnit takes in the unit that a header gives in brackets. It returns
// false where that unit makes the column unusable.
func (t *Table) headerUnit(f *field, unit string, list *finding.List) bool {
	if unit == "" || strings.EqualFold(unit, RequiredMark) || simplifyUnit(unit) == simplifyUnit(f.Unit) {
		return true
	}
	want := f.Unit
	if f.Type == FractionCell {
		want = "fraction"
	}
	if f.UnitColumn != "" {
		f.unit = unit
		return true
	}
	if want == "" {
		return true // brackets that explain, such as kind (personal, area)
	}
	s, ok := converting(unit, want)
	values := finding.Values{"read": t.headers[f.at], "unit": unit, "expected": want}
	switch {
	case !ok:
		list.Add(finding.HeaderRefused, t.headerPlace(f.at, f.Name), nil, values)
	case s != same:
		list.Add(finding.HeaderConverted, t.headerPlace(f.at, f.Name), nil, values)
	}
	f.scale = s
	return ok
}

func (t *Table) headerPlace(at int, column string) finding.Place {
	if t.foreign != nil {
		at, column = t.foreign.origin(at, column)
	}
	row := max(t.header, 1) // an empty table has no header yet
	return finding.Place{File: t.File, Table: t.Name, Row: int(row), Column: column, Cell: cellName(at, row)}
}

// missing returns the described columns that the table lacks so far.
func (t *Table) missing() []string {
	var names []string
	for _, c := range t.description.Columns {
		if t.fields[c.Name] == nil {
			names = append(names, c.Name)
		}
	}
	return names
}

// lack is a required column that a table has not, and the header that is most
// like it, -1 where none is.
type lack struct {
	*Column
	near int
}

// lacks returns what the table lacks to be read.
func (t *Table) lacks() []lack {
	names := headerNames(t.description)
	var unmatched []string
	for _, h := range t.headers {
		if c, _ := matchColumn(names, h); c == nil {
			unmatched = append(unmatched, h)
		}
	}
	var all []lack
	for i := range t.description.Columns {
		c := &t.description.Columns[i]
		if !c.Required || t.fields[c.Name] != nil || c.Type == UnitCell && t.unitInHeader(c.Name) {
			continue
		}
		l := lack{c, -1}
		if near := nearest(c.Name, unmatched); near != "" {
			l.near = slices.Index(t.headers, near)
		}
		all = append(all, l)
	}
	return all
}

// incomplete says what the table lacks to be read, with the nearest header that
// it has, and names the columns lacking; "" where it lacks nothing.
func (t *Table) incomplete() (what string, columns []string) {
	var faults []string
	for _, l := range t.lacks() {
		faults = append(faults, fmt.Sprintf("there is no column %s (%s)", l.Name, l.Help)+t.nearHeader(l))
		columns = append(columns, l.Name)
	}
	return strings.Join(faults, "; "), columns
}

func (t *Table) nearHeader(l lack) string {
	if l.near < 0 {
		return ""
	}
	return fmt.Sprintf("; the nearest header is %q", t.headers[l.near])
}

// tellLacks tells of each column that is lacking: at the header most like it,
// else at the first header.
func (t *Table) tellLacks(list *finding.List) {
	for _, l := range t.lacks() {
		at := l.near
		if at < 0 {
			at = t.firstHeader()
		}
		list.Add(finding.MissingColumn, t.headerPlace(at, l.Name), nil, finding.Values{
			"column": l.Name, "expected": l.Help, "near": t.nearHeader(l)})
	}
}

func (t *Table) firstHeader() int {
	return max(0, slices.IndexFunc(t.headers, func(h string) bool { return h != "" }))
}

// unitInHeader reports whether the header of a column of numbers gives the
// unit that the named column would.
func (t *Table) unitInHeader(column string) bool {
	return slices.ContainsFunc(t.description.Columns, func(c Column) bool {
		f := t.fields[c.Name]
		return f != nil && c.Required && c.UnitColumn == column && f.unit != ""
	})
}
