package reports

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"airtally/exposure"
)

// rowWriter makes the entries of the rows of one array.
type rowWriter struct {
	*book
	*placed
	widths []float64
	cells  []cell
	out    []excelize.Cell
	at     map[string]int // column of each key
	lately []keyColumn    // of the steps of the row before
	ahead  *workedRows
	height float64 // of the row last made
	err    error
	b      []byte
}

func newRowWriter(ctx context.Context, b *book, p *placed, widths []float64, from, to int) *rowWriter {
	w := &rowWriter{book: b, placed: p, widths: widths,
		cells: make([]cell, len(p.columns)), out: make([]excelize.Cell, len(p.columns)), at: map[string]int{}}
	for i, field := range p.columns {
		if h := &p.fields[field]; h.live.words == nil && p.letters[h.live.key] == letters(i) {
			w.at[h.live.key] = i
		}
	}
	if p.steps != nil {
		w.ahead = workAhead(ctx, b.known, p, from, to)
	}
	return w
}

// entries returns the cells of one row: what is not recalculated, then over it
// the formulas.
func (w *rowWriter) entries(row int) []excelize.Cell {
	for i, field := range w.columns {
		h := &w.fields[field]
		w.cells[i] = w.cell(row, field)
		if h.live.input {
			w.out[i] = w.styles.inputEntry(w.cells[i], h.show)
			continue
		}
		w.out[i] = w.styles.entry(w.cells[i], h.show)
	}
	if w.steps != nil {
		w.formulas(row)
	}
	if column, tells := w.at[editedKey]; tells {
		w.out[column] = w.edited(row)
	}
	w.height = w.placed.array.height(w.cells, w.columns, w.widths)
	return w.out
}

func (w *rowWriter) formulas(row int) {
	worked := w.ahead.next()
	for i := range worked.steps {
		s := &worked.steps[i]
		column, has := w.columnOf(s.Key, i)
		if !has {
			w.err = newStep
			continue
		}
		w.out[column] = w.styles.liveEntry(s, w.cells[column], w.fields[w.columns[column]].show, worked.formulas[i])
	}
	for i, field := range w.columns {
		if share := w.fields[field].live.share; share[0] != "" {
			w.shareOf(i, row, share)
		}
		for _, keys := range w.fields[field].live.words {
			if p, has := keys.parts(worked.steps); has {
				w.spell(i, row, p)
				break
			}
		}
	}
}

// keyColumn is a key with its column.
type keyColumn struct {
	key    string
	column int
}

// columnOf returns the column of the i-th step of a row. Most rows have the
// steps of the row before them.
func (w *rowWriter) columnOf(key string, i int) (column int, has bool) {
	if i < len(w.lately) && w.lately[i].key == key {
		return w.lately[i].column, true
	}
	if column, has = w.at[key]; has {
		w.lately = append(w.lately[:min(i, len(w.lately))], keyColumn{key, column})
	}
	return column, has
}

// edited returns the cell that says whether an input of a row was edited.
func (w *rowWriter) edited(row int) excelize.Cell {
	_, at := w.sheetAndRow(row)
	b := append(w.b[:0], "IF(AND("...)
	found := false
	for _, column := range w.inputs {
		c := &w.cells[column]
		if c.form == missing || c.form == isMoment && c.moment.Bare {
			continue
		}
		if found {
			b = append(b, ',')
		}
		found = true
		b = append(b, letters(column)+strconv.Itoa(at)+"="...)
		switch c.form {
		case isNumber:
			b = appendHeld(b, c.number)
		case isMoment:
			b = appendHeld(b, serial(c.moment.T))
		default:
			b = appendFormulaText(b, c.words())
		}
	}
	w.b = append(b, "),0,1)"...)
	l := look{edge: hairLine, middle: true, right: true, format: "0" + clear}
	if !found {
		return excelize.Cell{StyleID: w.styles.of(look{edge: hairLine, middle: true})}
	}
	return excelize.Cell{StyleID: w.styles.of(l), Formula: string(w.b), Value: 0.0}
}

// shareOf makes a figure follow the step that it is a share of a cell of.
func (w *rowWriter) shareOf(column, row int, share [2]string) {
	if w.letters[share[0]] == "" || w.letters[share[1]] == "" || w.cells[column].form != isNumber {
		return
	}
	_, at := w.sheetAndRow(row)
	part, whole := w.letters[share[0]]+strconv.Itoa(at), w.letters[share[1]]+strconv.Itoa(at)
	w.out[column].Formula = "IF(" + part + "=" + staleName + "," + staleName + "," + part + "/" + whole + ")"
}

// interval is the steps that hold the parts of an interval.
type interval struct{ value, low, high *exposure.Step }

func (k intervalKeys) parts(of []exposure.Step) (p interval, has bool) {
	for i := range of {
		s := &of[i]
		if s.Key == k.value {
			p.value = s
		}
		if s.Key == k.low {
			p.low = s
		}
		if s.Key == k.high {
			p.high = s
		}
	}
	return p, p.value != nil && p.low != nil && p.high != nil
}

// isExact reports whether an interval is one known figure.
func (p interval) isExact() bool {
	return p.low.Value == p.high.Value && !isWord(p.value) && !isWord(p.low)
}

// spell makes words follow the steps that they are about.
func (w *rowWriter) spell(column, row int, p interval) {
	c, show := w.cells[column], w.fields[w.columns[column]].show
	at := w.namesOf(row, p)
	l := look{edge: hairLine, middle: true, wrap: show == remark || show == prose, inset: standsIn(show)}
	said, formula := c.words(), ""
	switch {
	case c.form == isTruth:
		said = yesNo(c)
		formula = "IF(" + at.low + "=" + staleName + "," + at.low + ",IF(" + at.low + "<" + at.high + `,"yes","no"))`
	case show == prose: // the parts that an index sums
		if len([]rune(said)) > mostQuoted {
			said = clip(said, mostQuoted-1) + "…"
		}
		formula = "IF(" + at.low + "=" + staleName + "," + staleName + "," + w.whileUnchanged(said, at, p) + ")"
	case show == remark: // why an outcome is undecided
		formula = "IF(" + at.value + `="undecided",` + w.whileUnchanged(said, at, p) + `,"")`
	default:
		w.out[column] = w.spellInterval(c, show, at, p)
		return
	}
	w.out[column] = excelize.Cell{StyleID: w.styles.of(l), Formula: formula, Value: said}
}

// cellNames are the cells of the parts of an interval.
type cellNames struct{ value, low, high string }

func (w *rowWriter) namesOf(row int, p interval) cellNames {
	_, at := w.sheetAndRow(row)
	name := func(s *exposure.Step) string { return w.letters[s.Key] + strconv.Itoa(at) }
	return cellNames{name(p.value), name(p.low), name(p.high)}
}

// spellInterval returns the words for an interval, which stand while its parts
// are as they were written. After an edit a figure known exactly stands in
// their place, or a word on where its bounds stand.
func (w *rowWriter) spellInterval(c cell, show showing, at cellNames, p interval) excelize.Cell {
	formula := "IF(" + at.low + "=" + at.high + "," + at.value + "," + w.whileUnchanged(c.words(), at, p) + ")"
	if !p.isExact() {
		return w.styles.spelt(c, show, formula)
	}
	if c.mark == 1 && p.value.Key == "fraction" {
		show = percent
	}
	return w.styles.spelt(number(p.value.Value).against(c.mark), show, formula)
}

// whileUnchanged returns words that stand while the parts of an interval are as
// they were written; the value stands where there are no words.
func (w *rowWriter) whileUnchanged(words string, at cellNames, p interval) string {
	b := appendUnchanged(append(w.b[:0], "IF(AND("...), at.low, p.low)
	b = appendUnchanged(append(b, ','), at.high, p.high)
	b = append(appendUnchanged(append(b, ','), at.value, p.value), "),"...)
	if words == "" {
		b = append(b, at.value...)
	} else {
		b = appendFormulaText(b, words)
	}
	w.b = append(b, `,"see its bounds at the right")`...)
	return string(w.b)
}

// appendUnchanged writes the condition that a cell holds what it was written
// with, but for the last digits in which programs differ.
func appendUnchanged(b []byte, cell string, was *exposure.Step) []byte {
	switch {
	case isWord(was):
		return appendFormulaText(append(b, cell+"="...), was.Word)
	case math.IsInf(was.Value, 1):
		return append(b, cell+">=1E+200"...)
	}
	b = append(b, "ABS("+cell+"-"...)
	b = appendFormulaNumber(b, was.Value)
	b = append(b, ")<="...)
	return appendFormulaNumber(b, 1e-9*math.Abs(was.Value))
}

// liveEntry returns a formula with the figure that the engine found.
func (s *styles) liveEntry(step *exposure.Step, c cell, show showing, formula string) excelize.Cell {
	l := look{edge: hairLine, middle: true, right: true}
	value := step.Value
	switch {
	case isWord(step):
		l.right = false
		return excelize.Cell{StyleID: s.of(l), Formula: formula, Value: step.Word}
	case math.IsInf(value, 1):
		value = exposure.NoBound
		l.format = withBounds(numberFormat(3, show == percent))
	default:
		l.format = formatOf(number(value).against(c.mark).ofFew(c.few), show)
		if isUpper(step.Key) && !c.few {
			l.format = withBounds(l.format)
		}
	}
	return excelize.Cell{StyleID: s.of(l), Formula: formula, Value: value}
}

// isWord reports whether a step is a text, which may be empty.
func isWord(s *exposure.Step) bool {
	return s.Word != "" || s.Value == 0 && s.By.Evaluate(nil).IsText
}

// isUpper reports whether a step is an upper bound that an edit may lift, of
// what is never negative: a weighed blank may be.
func isUpper(key string) bool {
	if key == "high" || strings.HasPrefix(key, "mass_") {
		return false
	}
	return strings.Contains(key, "high") || strings.Contains(key, "ucl")
}

// withBounds returns a format of a figure that is never negative, and that says
// in words where there is no bound. Nothing that is measured comes near the
// figure it tells them by.
func withBounds(format string) string {
	return `[>=1000000000000000]"none"` + clear + ";" + format
}

// spelt returns the words of an interval as a formula.
func (s *styles) spelt(c cell, show showing, formula string) excelize.Cell {
	l := look{edge: hairLine, middle: true, right: true}
	if c.form == isNumber {
		l.format = formatOf(c, show)
		return excelize.Cell{StyleID: s.of(l), Formula: formula, Value: c.number}
	}
	general := "General" + clear
	l.format = general + ";-" + general + ";" + general + ";" + textOnly + clear
	return excelize.Cell{StyleID: s.of(l), Formula: formula, Value: c.words()}
}

// inputEntry returns a cell of the survey that a reader may edit.
func (s *styles) inputEntry(c cell, show showing) excelize.Cell {
	if c.form == missing {
		return s.entry(c, show) // what is not there cannot be edited: to add it changes more than figures
	}
	l := look{middle: true, open: true}
	switch c.form {
	case isNumber:
		l.format, l.right = formatOf(c, published), true
		return excelize.Cell{StyleID: s.of(l), Value: c.number}
	case isMoment:
		return s.momentEntry(c, l)
	default:
		return s.textEntry(c.words(), show, l)
	}
}

// weighVerdicts sets the outcomes of a sheet apart by their weight, also when
// they change.
func (b *book) weighVerdicts(l layout, p *placed) error {
	for i, at := range p.columns {
		h := &p.fields[at]
		if h.show != verdict || p.steps == nil || p.letters[h.live.key] == "" || l.rows < 2 {
			continue
		}
		var rules []excelize.ConditionalFormatOptions
		for _, words := range [][]string{{"above", "stop"}, {"undecided", "check"}} {
			for _, word := range words {
				id, err := b.file.NewConditionalStyle(look{}.weighed(word).weight())
				if err != nil {
					return err
				}
				rules = append(rules, excelize.ConditionalFormatOptions{Type: "cell", Criteria: "==", Value: `"` + word + `"`, Format: &id})
			}
		}
		cells := fmt.Sprintf("%s2:%s%d", letters(i), letters(i), l.rows)
		if err := b.file.SetConditionalFormat(l.name, cells, rules); err != nil {
			return err
		}
	}
	return nil
}

// weight is the part of a look that a changing verdict takes.
func (l look) weight() *excelize.Style {
	st := &excelize.Style{Font: &excelize.Font{Bold: l.bold, Italic: l.italic}}
	if l.fill != "" {
		st.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{l.fill}}
	}
	return st
}

// editedRows returns the formula of how many rows have an edited input; "" where
// there are none to edit.
func (b *book) editedRows() string {
	var columns []string
	for _, p := range b.placed {
		column := p.letters[editedKey]
		if column == "" {
			continue
		}
		for from := 0; from < p.rows; from += mostRows {
			rows := min(mostRows, p.rows-from)
			columns = append(columns, fmt.Sprintf("'%s'!$%s$2:$%s$%d", p.partName(from/mostRows), column, column, rows+1))
		}
	}
	if len(columns) == 0 {
		return ""
	}
	return "SUM(" + strings.Join(columns, ",") + ")"
}

// editedNote returns a formula that says whether the workbook's inputs are
// those of the run; "" where there are none to edit.
func (b *book) editedNote() string {
	if b.editedRows() == "" {
		return ""
	}
	return fmt.Sprintf(`IF(%s=0,"%s","%s")`, editedName, asRun, wasEdited)
}

const (
	asRun     = "The inputs in this workbook are those of the run."
	wasEdited = "INPUTS WERE EDITED. Figures with formulas follow; this page, Findings, Follow-up and what is said of groups stand as of the run: run airtally again."
)

// nameSettings gives the numbers on the sheet of settings that formulas refer
// to their names, the words of what is stale theirs, and the number of edits its.
func (b *book) nameSettings() error {
	edited := b.editedRows()
	if edited == "" {
		edited = "0"
	}
	for _, n := range [][2]string{{staleName, `"` + exposure.Stale + `"`}, {editedName, edited}} {
		if err := b.file.SetDefinedName(&excelize.DefinedName{Name: n[0], RefersTo: n[1]}); err != nil {
			return err
		}
	}
	s := b.report.settings()
	for row := range s.fields {
		name := s.fields[row].name
		if number := b.known.settings[name]; number == nil || !number.used.Load() {
			continue
		}
		at := "Settings!$B$" + strconv.Itoa(row+2)
		if err := b.file.SetDefinedName(&excelize.DefinedName{Name: name, RefersTo: at}); err != nil {
			return err
		}
	}
	return nil
}

// numericSettings returns the settings that are numbers.
func (r *Report) numericSettings() map[string]*namedSetting {
	s := r.settings()
	all := map[string]*namedSetting{}
	for i := range s.fields {
		if c := s.cell(0, i); c.form == isNumber {
			all[s.fields[i].name] = &namedSetting{value: c.number}
		}
	}
	return all
}
