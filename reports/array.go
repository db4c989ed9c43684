package reports

import "airtally/exposure"

// showing is how the workbook shows a field; the files never round.
type showing uint8

const (
	figures   showing = iota // three significant figures or more
	whole                    // a count
	published                // as its source prints it
	percent                  // a fraction shown as a percentage
	prose                    // text that may be long, wrapped; a number as its source prints it
	remark                   // a few words, wrapped in a narrow column
	span                     // figures set as text, with their bounds
	verdict                  // an outcome or a severity
)

// header is what a field is called and how it is shown.
type header struct {
	name    string // in results.json and the tables; "" stands in the workbook alone
	heading string // in the workbook; "" stands in the files alone
	show    showing
	aside   bool   // right of what is printed, for those who calculate on
	note    string // what the heading cannot say
	live    live   // how the workbook recalculates it
}

// field describes one field of the rows R of an output array.
type field[R any] struct {
	header
	cell func(*R) cell
}

func in[R any](name, heading string, show showing, get func(*R) cell) field[R] {
	return field[R]{header{name: name, heading: heading, show: show}, get}
}

// noted returns f with a note on its heading.
func (f field[R]) noted(note string) field[R] {
	f.note = note
	return f
}

// aside returns f set apart from what people read and print, with a note on
// its heading.
func (f field[R]) aside(note string) field[R] {
	f.header.aside = true
	return f.noted(note)
}

// by returns f as what formulas refer to by a key that is not the field's
// name: the step of its row, where there is one of that key.
func (f field[R]) by(key string) field[R] {
	f.live.key = key
	return f
}

// input returns f as a cell of the survey that a reader may edit, and that
// formulas refer to by a key.
func (f field[R]) input(key string) field[R] {
	f.live = live{key: key, input: true}
	return f
}

// spelt returns f as the words for an interval whose parts are the steps of
// three keys; called again, for one of other keys in other rows.
func (f field[R]) spelt(value, low, high string) field[R] {
	f.live.words = append(f.live.words, intervalKeys{value, low, high})
	return f
}

// reasoned returns f as words on why an outcome is undecided, which stand while
// it is and its bounds are as they were written.
func (f field[R]) reasoned(outcome, low, high string) field[R] {
	f.live.words = []intervalKeys{{outcome, low, high}}
	return f
}

// shareOf returns f as a step over another cell of its row.
func (f field[R]) shareOf(step, whole string) field[R] {
	f.live.share = [2]string{step, whole}
	return f
}

// array is one output array: the one description from which results.json, the
// tables and the workbook's sheets are all written.
type array struct {
	name   string // in results.json and the tables; "" stands in the workbook alone
	sheet  string // "" stands in the files alone
	fields []header
	rows   int
	cell   func(row, field int) cell
	foot   string // said under the sheet's table

	object func(row int) any             // what a row stands for; nil where nothing refers to it
	steps  func(row int) []exposure.Step // nil where nothing of a row recalculates
}

// footed returns a with a sentence under its sheet's table.
func (a array) footed(sentence string) array {
	a.foot = sentence
	return a
}

func arrayOf[R any](name, sheet string, rows []R, fields []field[R]) array {
	headers := make([]header, len(fields))
	for i := range fields {
		headers[i] = fields[i].header
	}
	a := array{
		name: name, sheet: sheet, fields: headers, rows: len(rows),
		cell:   func(row, i int) cell { return fields[i].cell(&rows[row]) },
		object: func(row int) any { return &rows[row] },
	}
	if _, has := any(new(R)).(stepped); has && name != "" {
		a.steps = func(row int) []exposure.Step { return any(&rows[row]).(stepped).Steps() }
	}
	return a
}

// stepped is a result that says how its numbers come about. An output array of
// such results is live in the workbook.
type stepped interface{ Steps() []exposure.Step }

// ordered returns a with its rows in another order.
func (a array) ordered(rows []int) array {
	unordered := a
	a.cell = func(row, field int) cell { return unordered.cell(rows[row], field) }
	a.object = func(row int) any { return unordered.object(rows[row]) }
	if unordered.steps != nil {
		a.steps = func(row int) []exposure.Step { return unordered.steps(rows[row]) }
	}
	return a
}

// filed returns the positions of the fields that the files have.
func (a *array) filed() []int { return a.having(func(h header) bool { return h.name != "" }) }

func (a *array) having(wanted func(header) bool) []int {
	var at []int
	for i, h := range a.fields {
		if wanted(h) {
			at = append(at, i)
		}
	}
	return at
}

// arrays returns the output arrays in the order of results.json.
func (r *Report) arrays() []array {
	return []array{
		r.findings(),
		r.samples(),
		r.concentrations(),
		r.exposures(),
		r.comparisons(),
		r.mixtures(),
		r.followUps(),
		r.groups(),
	}
}

// tables returns the arrays as tables, which hold nothing nested.
func (r *Report) tables() []array {
	all := r.arrays()
	all[len(all)-1] = r.groupTable()
	return all
}
