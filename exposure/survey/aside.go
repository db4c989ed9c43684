package survey

import (
	"slices"
	"strings"
	"unicode/utf8"

	"airtally/exposure/finding"
)

// summaryWords begin rows that sum others up, as simplify leaves them.
var summaryWords = map[string]bool{}

func init() {
	for word := range strings.FieldsSeq(`total totals grandtotal subtotal sum sums mean means average averages avg median
		count minimum maximum min max range stdev sd standarddeviation geometricmean gm gsd rsd cv n`) {
		summaryWords[word] = true
	}
}

// remarkMarks begin the remarks under a table.
const remarkMarks = "*†‡§¹²³#"

// Words that begin a remark, as simplify leaves them, and how many words a text
// without any has at least.
var remarkWords = []string{"note", "notes", "remark", "remarks", "nb", "source", "legend", "key", "comment", "comments", "footnote", "disclaimer"}

const manyWords = 4

// setAside reports whether the row is no data, and tells of it: the headers
// again, a summary of other rows, or a remark.
func (r *reader) setAside() bool {
	switch {
	case r.foreign != nil:
		return false // the mapping says which rows are skipped
	case r.repeatsHeader():
		r.tally(finding.HeaderRepeated, finding.Note, r.field(r.description.Columns[0].Name), nil, nil)
		return true
	case !r.mayBeAside():
		return false
	}
	first, filled := r.filledCells()
	text := textAt(r.cells, first)
	switch {
	case summaryWords[simplify(text)] && r.namesNothingElse(first):
		r.tellAside(finding.SummaryRow, first, text)
		return true
	case filled == 1 && r.isRemark(text):
		r.tellAside(finding.RemarkRow, first, text)
		return true
	}
	return false
}

// repeatsHeader reports whether the row holds the headers again.
func (r *reader) repeatsHeader() bool {
	if len(r.headers) == 0 || r.around.upper > 0 || r.around.units > 0 {
		return false
	}
	at := slices.IndexFunc(r.headers, func(h string) bool { return h != "" })
	if textAt(r.cells, at) != r.headers[at] {
		return false
	}
	return slices.Equal(textsOf(r.cells), r.headers)
}

// mayBeAside reports whether the row lacks a cell that identifies it. Rows of
// tables that need one such cell alone, or none, may all be.
func (r *reader) mayBeAside() bool {
	return len(r.required) < 2 || slices.ContainsFunc(r.required, func(f *field) bool { return r.text(f) == "" })
}

// filledCells returns the first cell that holds something, and how many do.
func (r *reader) filledCells() (first, filled int) {
	for at := len(r.cells) - 1; at >= 0; at-- {
		if isFilled(&r.cells[at]) {
			first, filled = at, filled+1
		}
	}
	return first, filled
}

func isFilled(c *cell) bool { return c.kind >= errorKind || strings.TrimSpace(c.text) != "" }

// namesNothingElse reports whether the table has other columns than the one
// given that say what a row is about, an identifier, a choice or a time, and the
// row leaves them all empty.
func (r *reader) namesNothingElse(at int) bool {
	beside := 0
	for _, f := range r.present {
		names := f.Type == IDCell || f.Type == ChoiceCell || f.Type == MomentCell || f.Type == ItemCell
		if !names || f.at == at {
			continue
		}
		if beside++; r.filled(f) != "" {
			return false
		}
	}
	return beside > 0
}

// isRemark reports whether the only text of a row is a remark. Where one cell
// makes a row, only a mark before it tells.
func (r *reader) isRemark(text string) bool {
	first, _ := utf8.DecodeRuneInString(text)
	words := strings.Fields(text)
	marked := strings.ContainsRune(remarkMarks, first) && len(words) > 1
	if marked || len(r.required) < 2 {
		return marked
	}
	return slices.Contains(remarkWords, simplify(words[0])) && len(words) > 1 || len(words) >= manyWords
}

func (r *reader) tellAside(code finding.Code, at int, text string) {
	p := finding.Place{File: r.File, Table: r.Name, Row: int(r.row), Cell: cellName(at, r.row)}
	r.list.Add(code, p, nil, finding.Values{"read": text})
}
