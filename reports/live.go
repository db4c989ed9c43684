package reports

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/xuri/excelize/v2"

	"airtally/exposure"
	"airtally/limits"
)

// live says how the workbook recalculates a field.
type live struct {
	key   string         // of the step that it shows, or of the cell; "" for the field's name
	step  bool           // some row has a step of that key
	input bool           // a cell of the survey that a reader may edit
	tells bool           // whether an input of the row was edited
	words []intervalKeys // of a field in words, by the unit of the row
	share [2]string      // the step and the cell of a field that is one over the other
}

// intervalKeys are the steps that hold the parts of an interval.
type intervalKeys struct{ value, low, high string }

// placed is an array with the place of its figures in the workbook.
type placed struct {
	array
	columns []int             // fields by column
	printed int               // how many of them are printed
	letters map[string]string // column of each key
	method  []exposure.Step   // one of each key, in the order they are worked out
	inputs  []int             // columns that a reader may edit

	thorough bool // every row is looked at
}

// registry knows the cell of everything that formulas refer to.
type registry struct {
	rows     map[any]spot
	settings map[string]*namedSetting
}

// namedSetting is a number on the sheet of settings with a name of its own.
type namedSetting struct {
	value float64
	used  atomic.Bool // formulas refer to it
}

// spot is the row of an array in the workbook, counted from 0.
type spot struct {
	in  *placed
	row int
}

// sheetAndRow returns where a row of an array stands: long arrays go on in
// further sheets.
func (p *placed) sheetAndRow(row int) (sheet string, at int) {
	return p.partName(row / mostRows), row%mostRows + 2
}

func (p *placed) partName(part int) string {
	if part == 0 {
		return p.sheet
	}
	return fmt.Sprintf("%s %d", p.sheet, part+1)
}

// place lays out the columns of every array and notes where its rows stand.
func (r *Report) place(arrays []array, thorough bool) ([]*placed, *registry) {
	known := &registry{rows: map[any]spot{}, settings: r.numericSettings()}
	all := make([]*placed, len(arrays))
	var laying sync.WaitGroup
	for i := range arrays {
		laying.Go(func() { all[i] = layOut(arrays[i], thorough) })
	}
	laying.Wait()
	for _, p := range all {
		known.add(p)
	}
	known.sameLimits(r)
	return all, known
}

// layOut decides the columns of an array.
func layOut(a array, thorough bool) *placed {
	p := &placed{array: a, letters: map[string]string{}, thorough: thorough}
	p.ownFields()
	p.findSteps()
	p.setColumns()
	return p
}

// add notes where the rows of an array stand.
func (k *registry) add(p *placed) {
	if p.object != nil {
		for row := range p.rows {
			k.rows[identity(p.object(row))] = spot{p, row}
		}
	}
}

// sameLimits lets every copy of a limit stand for the one that is listed.
func (k *registry) sameLimits(r *Report) {
	listed := map[string]spot{}
	for of, at := range k.rows {
		if l, is := of.(*limits.Limit); is {
			listed[limitKey(l)] = at
		}
	}
	met := map[*limits.Limit]bool{}
	for i := range r.Comparisons {
		l := r.Comparisons[i].Limit
		if met[l] {
			continue
		}
		met[l] = true
		if at, is := listed[limitKey(l)]; is {
			k.rows[l] = at
		}
	}
}

// ownFields makes the fields the array's own, with a key each, and lets those
// that are added be empty but for their formulas.
func (p *placed) ownFields() {
	p.fields = slices.Clone(p.fields)
	for i := range p.fields {
		if l := &p.fields[i].live; l.key == "" {
			l.key = p.fields[i].name
		}
	}
	own, fields := p.cell, len(p.fields)
	p.cell = func(row, field int) cell {
		if field >= fields {
			return cell{}
		}
		return own(row, field)
	}
}

// stepRows is how many rows are looked at to find the keys of their steps, and
// past them one of every stepEach.
var stepRows, stepEach = 256, 64

// newStep is the error of a row that has a step which those looked at have
// not: then all must be.
var newStep = errors.New("a step that no other row has")

// findSteps gathers the keys of the rows' steps in the order they are worked
// out, and gives those that no field shows a field of their own.
func (p *placed) findSteps() {
	if p.steps == nil {
		return
	}
	at := map[string]int{}
	for row := range p.rows {
		if !p.thorough && row >= stepRows && row%stepEach != 0 {
			continue
		}
		last := -1
		for _, s := range p.steps(row) {
			if i, known := at[s.Key]; known {
				last = i
				continue
			}
			last++
			p.method = slices.Insert(p.method, last, s)
			for i := last; i < len(p.method); i++ {
				at[p.method[i].Key] = i
			}
		}
	}
	p.showSteps(at)
}

// showSteps notes which fields show a step, and adds fields for the others.
func (p *placed) showSteps(at map[string]int) {
	shown := map[string]bool{}
	for i := range p.fields {
		h := &p.fields[i]
		if n, is := at[h.live.key]; is && h.heading != "" && h.live.words == nil && !h.live.input {
			h.live.step, shown[h.live.key] = true, true
			h.note = noteOf(h.note, &p.method[n])
		}
	}
	for i := range p.method {
		if s := &p.method[i]; !shown[s.Key] {
			p.fields = append(p.fields, header{heading: headingOf(s), aside: true, note: noteOf("", s), live: live{key: s.Key, step: true}})
		}
	}
}

// headingOf returns the heading of the column of a step.
func headingOf(s *exposure.Step) string {
	heading := s.Name
	if s.Symbol != "" {
		heading = s.Symbol + ": " + s.Name
	}
	if s.Unit != "" {
		heading += ", " + prettyUnit(s.Unit)
	}
	return heading
}

// noteOf returns the note of a heading with the formula and its source.
func noteOf(note string, s *exposure.Step) string {
	return strings.Join(nonEmpty(note, formulaWords(s), s.Source), "\n")
}

// setColumns orders the columns: those for people, then those aside, of these
// the steps in the order they are worked out.
func (p *placed) setColumns() {
	p.columns, p.printed = p.shown()
	order := map[string]int{}
	for i := range p.method {
		order[p.method[i].Key] = i + 1
	}
	slices.SortStableFunc(p.columns[p.printed:], func(a, b int) int {
		return order[p.fields[a].live.key] - order[p.fields[b].live.key]
	})
	p.tellOfEdits()
	for i, at := range p.columns {
		if h := &p.fields[at]; h.live.key != "" && len(h.live.words) == 0 {
			p.letters[h.live.key] = letters(i)
		}
	}
}

// editedKey is the key of the column that tells of edits.
const editedKey = "edited"

// tellOfEdits adds a column that says whether a reader edited a row, where
// there is something to edit.
func (p *placed) tellOfEdits() {
	for i, at := range p.columns {
		if p.fields[at].live.input {
			p.inputs = append(p.inputs, i)
		}
	}
	if len(p.inputs) == 0 {
		return
	}
	p.columns = append(p.columns, len(p.fields))
	p.fields = append(p.fields, header{heading: "Edited", show: whole, aside: true,
		note: "1 where a cell of the row is no longer as the survey had it.", live: live{key: editedKey, tells: true}})
}

// letters returns the name of a column, counted from 0.
func letters(column int) string {
	name, _ := excelize.ColumnNumberToName(column + 1) // a sheet never has that many
	return name
}

// address returns the cell of a reference as a formula on a sheet writes it;
// false where the workbook has none.
func (k *registry) address(of any, key, sheet string) (string, bool) {
	at, known := k.rows[identity(of)]
	if !known {
		return "", false
	}
	b, known := at.cell(nil, key, sheet)
	return string(b), known
}

// cell appends the name of the cell of a key in a row, as a formula on a sheet
// writes it; false where the row has none.
func (s spot) cell(b []byte, key, sheet string) ([]byte, bool) {
	column, known := s.in.letters[key]
	if !known {
		return b, false
	}
	name, row := s.in.sheetAndRow(s.row)
	if name != sheet {
		b = append(append(append(b, '\''), name...), "'!"...)
	}
	return strconv.AppendInt(append(b, column...), int64(row), 10), true
}

// identity returns what a result is known by. Pooled results are copies of
// those that their steps refer to.
func identity(of any) any {
	switch x := of.(type) {
	case *exposure.Sample:
		if x.Row != nil {
			return x.Row
		}
	case *exposure.Concentration:
		return concentrationOf{identity(x.Sample), x.Substance}
	case *exposure.Exposure:
		if x.Sampled != nil {
			return x.Same()
		}
	case *exposure.Comparison:
		if x.Sampled != nil {
			return x.Same()
		}
	case **limits.Limit:
		return *x
	}
	return of
}

type concentrationOf struct {
	sample    any
	substance *exposure.Substance
}
