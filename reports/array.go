package reports

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

// array is one output array: the one description from which results.json, the
// tables and the workbook's sheets are all written.
type array struct {
	name   string // in results.json and the tables; "" stands in the workbook alone
	sheet  string // "" stands in the files alone
	fields []header
	rows   int
	cell   func(row, field int) cell
	foot   string // said under the sheet's table
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
	return array{
		name: name, sheet: sheet, fields: headers, rows: len(rows),
		cell: func(row, i int) cell { return fields[i].cell(&rows[row]) },
	}
}

// ordered returns a with its rows in another order.
func (a array) ordered(rows []int) array {
	unordered := a.cell
	a.cell = func(row, field int) cell { return unordered(rows[row], field) }
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
		empty("groups", "group", "analyte", "form", "authority", "instrument", "kind", "basis", "limit", "unit",
			"excluded", "n_history", "stats"),
	}
}

// empty returns an array that has no rows.
func empty(name string, fields ...string) array {
	headers := make([]header, len(fields))
	for i, f := range fields {
		headers[i].name = f
	}
	return array{name: name, fields: headers}
}
