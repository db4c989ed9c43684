package survey

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"airtally/exposure/finding"
	"airtally/stats"
)

// reader reads the cells of one row after another into values. What cannot be
// read becomes a finding; where the row cannot stand without it, the row is
// left out.
type reader struct {
	*Table
	clock    clock
	list     finding.List
	row      int32
	cells    []cell
	required []*field
	present  []*field
	touched  func() []string // what else a finding of the row touches; may be nil
	left     bool            // the row is left out
	short    int             // rows with fewer cells than the header
	shortRow int32
	beyond   int32 // the first row of a sheet with cells beyond its headers
	tallies  map[tallied]*tallyOf

	expecting func(*field) string // in a required cell of the row; "" where it may stay blank, and the row states nothing; may be nil

	lastMoment     string // laboratories repeat their dates row after row
	lastMomentRead Moment
}

func newReader(t *Table, c clock) *reader {
	r := &reader{Table: t, clock: c}
	for i := range t.description.Columns {
		f := t.field(t.description.Columns[i].Name)
		if f.at >= 0 {
			r.present = append(r.present, f)
		}
		// Results, readings and units are missed by those who read them:
		// other cells can stand in for theirs.
		if f.Required && f.Type != ResultCell && f.Type != ReadingsCell && f.Type != UnitCell {
			r.required = append(r.required, f)
		}
	}
	return r
}

// readRows reads the rows of a table, several at a time where there are many.
// bind is called once for each reader and returns what reads one row into its
// place.
func readRows[T any](t *Table, c clock, list *finding.List, bind func(*reader) func(*T)) []T {
	if t == nil {
		return nil
	}
	parts := min(runtime.GOMAXPROCS(0), len(t.body)/4096+1)
	readers := make([]*reader, parts)
	kept := make([]int, parts)
	out := make([]T, len(t.body))
	var wait sync.WaitGroup
	for p := range parts {
		from, to := len(t.body)*p/parts, len(t.body)*(p+1)/parts
		readers[p] = newReader(t, c)
		wait.Go(func() {
			read := bind(readers[p])
			kept[p] = readers[p].readPart(t.body[from:to], func(n int) { read(&out[from+n]) })
		})
	}
	wait.Wait()
	n := kept[0]
	for p := 1; p < parts; p++ {
		from := len(t.body) * p / parts
		n += copy(out[n:], out[from:from+kept[p]])
	}
	clear(out[n:])
	t.gatherReaders(readers, list)
	return out[:n:n]
}

// readPart reads some rows and returns how many of them stand.
func (r *reader) readPart(rows []int32, readInto func(n int)) (kept int) {
	for _, row := range rows {
		if !r.load(row) || r.setAside() {
			continue
		}
		r.checkCells()
		if r.checkRequired(); r.left {
			continue
		}
		if readInto(kept); !r.left {
			kept++
		}
	}
	return kept
}

// gatherReaders hands on what the readers of a table found.
func (t *Table) gatherReaders(readers []*reader, list *finding.List) {
	short, beyond := 0, int32(0)
	var first int32
	for _, r := range readers {
		list.Merge(&r.list)
		if short == 0 {
			first = r.shortRow
		}
		short += r.short
		if beyond == 0 {
			beyond = r.beyond
		}
	}
	addTallies(readers, list)
	t.tellMomentStyles(list)
	if short > 0 {
		list.Add(finding.ShortRows, t.Place(first, ""), nil, finding.Values{"count": short})
	}
	if beyond > 0 {
		list.Add(finding.UnnamedColumn, finding.Place{File: t.File, Table: t.Name, Row: int(beyond), Cell: cellName(len(t.headers), beyond)}, nil,
			finding.Values{"table": t.Name})
	}
}

// load takes up a row. It returns false where the row is blank or its cells
// do not fit under the headers.
func (r *reader) load(row int32) bool {
	r.row, r.left = row, false
	r.cells = r.grid.read(row, r.cells[:0])
	if !slices.ContainsFunc(r.cells, func(c cell) bool { return isFilled(&c) }) {
		return false
	}
	_, isText := r.grid.(*textGrid)
	for at := len(r.headers); at < len(r.cells); at++ {
		if strings.TrimSpace(r.cells[at].text) == "" {
			continue
		}
		if isText {
			r.list.Add(finding.LongRow, r.Table.Place(row, ""), r.subject(), finding.Values{"count": len(r.cells), "expected": len(r.headers)})
			return false
		}
		if r.beyond == 0 {
			r.beyond = row
		}
	}
	return true
}

// checkCells counts the rows of a text that are short, and finds the cells of
// a sheet that hold no value.
func (r *reader) checkCells() {
	if _, isText := r.grid.(*textGrid); !isText {
		r.checkKinds()
	} else if len(r.cells) < len(r.headers) {
		if r.short++; r.short == 1 {
			r.shortRow = r.row
		}
	}
}

// checkKinds finds the cells of a sheet that hold no value.
func (r *reader) checkKinds() {
	for _, f := range r.present {
		for _, part := range f.parts {
			c := r.cell(part)
			switch {
			case c == nil || c.kind < errorKind:
				continue
			case c.kind == errorKind:
				r.complain(part, finding.ErrorCell, nil)
			default:
				r.complain(part, finding.FormulaWithoutValue, nil)
			}
			*c = cell{}
		}
	}
}

func (r *reader) checkRequired() {
	for _, f := range r.required {
		if r.left || r.text(f) != "" {
			continue
		}
		expected := f.Help
		if r.expecting != nil {
			expected = r.expecting(f)
		}
		if expected == "" {
			r.left = true
		} else {
			r.miss(f, expected)
		}
	}
}

func (r *reader) miss(f *field, expected string) {
	r.complain(f, finding.MissingValue, finding.Values{"expected": expected})
}

// complain adds a finding about a cell: a stop that leaves the row out where
// the table requires the column, else a check.
func (r *reader) complain(f *field, code finding.Code, v finding.Values) {
	r.add(r.severity(f), f, code, v)
}

// stop adds a finding without which the row cannot stand.
func (r *reader) stop(f *field, code finding.Code, v finding.Values) {
	r.left = true
	r.add(finding.Stop, f, code, v)
}

func (r *reader) add(severity finding.Severity, f *field, code finding.Code, v finding.Values) {
	values := finding.Values{"column": f.Name, "read": r.text(f), "then": r.then(f)}
	if r.foreign != nil {
		_, values["column"] = r.foreign.origin(f.at, f.Name)
		values["read"] = r.foreign.quote(r.cells, f.at)
	}
	for k, x := range v {
		values[k] = x
	}
	r.list.AddAs(severity, code, r.Table.Place(r.row, f.Name), r.subject(), values)
}

// then says what becomes of the row or the cell.
func (r *reader) then(f *field) string {
	switch {
	case r.left:
		return "the row is left out"
	case f.Default != "":
		return "it is taken as " + f.Default
	}
	return "the cell is taken as empty"
}

// subject names what the row is about.
func (r *reader) subject() []string {
	var names []string
	for _, column := range r.description.Subject {
		names = append(names, r.named(r.field(column)))
	}
	if r.touched != nil {
		names = append(names, r.touched()...)
	}
	return names
}

func (r *reader) ref() Ref { return Ref{Table: r.Table, Row: r.row} }

// cell returns a cell of the row, nil where the row does not reach so far.
func (r *reader) cell(f *field) *cell {
	if f.at < 0 || f.at >= len(r.cells) {
		return nil
	}
	return &r.cells[f.at]
}

// text returns what a person sees of a cell.
func (r *reader) text(f *field) string {
	if c := r.cell(f); c != nil {
		return visible(c.text)
	}
	return ""
}

// filled returns what a cell shows, and "" for the strokes by which people say
// that there is nothing.
func (r *reader) filled(f *field) string {
	switch s := r.text(f); s {
	case "-", "–", "—", "n/a", "N/A":
		return ""
	default:
		return s
	}
}

// form returns a fraction or state in lower case.
func (r *reader) form(f *field) string { return strings.ToLower(r.text(f)) }

// number returns a number in the column's unit.
func (r *reader) number(f *field) stats.Optional {
	v, percent, ok := r.anyNumber(f)
	if !ok {
		return stats.Optional{}
	}
	if percent && f.Unit != "%" {
		r.unreadable(f)
		return stats.Optional{}
	}
	return r.inRange(f, v)
}

func (r *reader) inRange(f *field, v float64) stats.Optional {
	if g := f.Range; g.Limited && (v < g.Low || v > g.High || v == g.Low && g.OverLow) {
		r.complain(f, finding.OutOfRange, finding.Values{"expected": g.String() + unitAfter(f.Unit)})
		return stats.Optional{}
	}
	return stats.Some(v)
}

// String says which numbers the range allows.
func (g Range) String() string {
	switch {
	case !g.Limited:
		return "any number"
	case g.High >= 1e6 && g.OverLow:
		return "a number over " + plainly(g.Low)
	case g.High >= 1e6:
		return plainly(g.Low) + " or more"
	case g.OverLow:
		return fmt.Sprintf("over %s and at most %s", plainly(g.Low), plainly(g.High))
	}
	return fmt.Sprintf("%s to %s", plainly(g.Low), plainly(g.High))
}

func unitAfter(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

// anyNumber returns a number in the column's unit and whether it was written
// in percent. It is not ok where the cell is empty or not a number.
func (r *reader) anyNumber(f *field) (v float64, percent, ok bool) {
	c := r.cell(f)
	if c == nil || r.filled(f) == "" {
		return 0, false, false
	}
	switch c.kind {
	case numberKind:
		if strings.HasSuffix(c.text, "%") {
			return c.number * 100, true, true
		}
		return f.scale.apply(c.number), false, true
	case dateKind, timeKind:
		r.unreadable(f)
		return 0, false, false
	}
	return r.writtenNumber(f, visible(c.text))
}

// writtenNumber reads a number with or without its unit behind it.
func (r *reader) writtenNumber(f *field, text string) (v float64, percent, ok bool) {
	v, trouble := parseNumber(text, f.style)
	s := f.scale
	if trouble == unreadable {
		number, unit := cutNumber(text)
		if unit == "%" {
			percent, s = true, same
		} else if s, ok = converting(unit, f.Unit); !ok || unit == "" {
			r.unreadable(f)
			return 0, false, false
		}
		v, trouble = parseNumber(strings.TrimSpace(number), f.style)
	}
	switch trouble {
	case ambiguous:
		r.ambiguous(f, text)
	case unreadable:
		r.unreadable(f)
	default:
		return s.apply(v), percent, true
	}
	return 0, false, false
}

func (r *reader) unreadable(f *field) {
	r.complain(f, finding.UnreadableNumber, finding.Values{
		"expected": f.Range.String() + unitAfter(f.Unit), "example": exampleNumber(f.Column)})
}

func exampleNumber(c *Column) string {
	if c.Range.Limited && c.Range.Low > 2 {
		return plainly(c.Range.Low)
	}
	return "2.04"
}

func (r *reader) ambiguous(f *field, text string) {
	first, _ := parseWritten(text, numberStyle{thousands, thousands})
	second, _ := parseWritten(text, numberStyle{decimal, decimal})
	r.complain(f, finding.AmbiguousNumber, finding.Values{"first": plainly(first), "second": plainly(second)})
}

// fraction returns a fraction of 1 that may be written in percent. Bare
// numbers from percentFrom on are taken as percentages; 0 takes none.
func (r *reader) fraction(f *field, most, percentFrom float64, zero bool) stats.Optional {
	v, percent, ok := r.anyNumber(f)
	if !ok {
		return stats.Optional{}
	}
	c := r.cell(f)
	switch {
	case percent && c.kind == numberKind:
		v = c.number
	case percent, percentFrom > 0 && v >= percentFrom && v <= 150:
		v /= 100
		r.add(finding.Note, f, finding.PercentConverted, finding.Values{"value": plainly(v)})
	}
	expected := fmt.Sprintf("over 0 and at most %s", plainly(most))
	switch {
	case v > most:
		r.complain(f, finding.LooksLikePercent, finding.Values{"expected": expected})
	case v < 0, v == 0 && !zero:
		r.complain(f, finding.OutOfRange, finding.Values{"expected": expected})
	default:
		return stats.Some(v)
	}
	return stats.Optional{}
}
