package survey

import (
	"slices"
	"strings"

	"airtally/exposure/finding"
)

// mostHeaderRows is how many filled rows from the top may hold the headers.
const mostHeaderRows = 30

// headerRows says what stands around the headers of a table.
type headerRows struct {
	titles []int32 // filled rows above them
	upper  int32   // the upper of two rows of headers; 0 where there is one
	units  int32   // the row of units below them; 0 where there is none
}

// headerChoice is a row, or two, that may be the headers.
type headerChoice struct {
	from, rows int // the first among the filled rows, and how many
	headers    []string
	matched    int // columns of the table that they name
	complete   bool
}

// filledRow is a row that holds something.
type filledRow struct {
	at    int // among the rows of the grid
	texts []string
}

// findHeader finds the headers: the first row, or two, with every column that
// the table requires, and one more where that is only one; else those that name
// the most columns, else the first row that is not empty.
func (t *Table) findHeader() bool {
	rows := t.grid.rows()
	filled := t.firstFilled(rows)
	if len(filled) == 0 {
		return false
	}
	chosen := t.chooseHeader(filled)
	last := filled[chosen.from+chosen.rows-1].at
	t.headers, t.header, t.body = chosen.headers, rows[last], rows[last+1:]
	for _, f := range filled[:chosen.from] {
		t.around.titles = append(t.around.titles, rows[f.at])
	}
	if chosen.rows == 2 {
		t.around.upper = rows[filled[chosen.from].at]
	}
	if next := chosen.from + chosen.rows; next < len(filled) && t.takeUnits(filled[next].texts) {
		t.around.units = rows[filled[next].at]
		t.body = rows[filled[next].at+1:]
	}
	return true
}

// firstFilled returns the first rows that hold something.
func (t *Table) firstFilled(rows []int32) []filledRow {
	var filled []filledRow
	for i, row := range rows {
		if len(filled) == mostHeaderRows {
			break
		}
		if texts := textsOf(t.grid.read(row, nil)); len(texts) > 0 {
			filled = append(filled, filledRow{i, texts})
		}
	}
	return filled
}

// textsOf returns the texts of cells up to the last that holds one.
func textsOf(cells []cell) []string {
	var texts []string
	for at := range cells {
		if text := textAt(cells, at); text != "" {
			texts = append(texts, make([]string, at-len(texts))...)
			texts = append(texts, text)
		}
	}
	return texts
}

func (t *Table) chooseHeader(filled []filledRow) headerChoice {
	names := headerNames(t.description)
	var best headerChoice
	for i := range filled {
		one := t.choice(names, i, 1, filled[i].texts)
		if i+1 < len(filled) {
			joined, surely := joinHeaders(names, filled[i].texts, filled[i+1].texts)
			two, below := t.choice(names, i, 2, joined), t.choice(names, i+1, 1, filled[i+1].texts)
			if (surely || !one.complete && below.matched > 1) && two.matched > max(one.matched, below.matched) {
				one = two
			}
		}
		if one.complete {
			return one
		}
		if i == 0 || one.matched > max(1, best.matched) {
			best = one
		}
	}
	return best
}

// choice counts the columns that headers name, each reading for one.
func (t *Table) choice(names map[string]*Column, from, rows int, headers []string) headerChoice {
	c := headerChoice{from: from, rows: rows, headers: headers}
	met := map[string]bool{}
	for _, h := range headers {
		if column, _ := matchColumn(names, h); column != nil {
			met[column.Name] = true
			if column.Type == ReadingsCell {
				met[simplify(h)] = true
			}
		}
	}
	c.matched = len(met)
	c.complete = c.matched > 1 && len(t.description.required()) > 0 && !slices.ContainsFunc(t.description.Columns, func(column Column) bool {
		return column.Required && column.Type != UnitCell && !met[column.Name]
	})
	return c
}

// joinHeaders joins two rows of headers: the names of groups over those of
// columns, or names over the numbers of readings. They surely are two where
// every cell of the lower makes a header, alone or with what stands above it.
func joinHeaders(names map[string]*Column, upper, lower []string) (joined []string, surely bool) {
	joined = make([]string, max(len(upper), len(lower)))
	group, surely := "", true
	for at := range joined {
		above, below := textIn(upper, at), textIn(lower, at)
		if above != "" {
			group = above
		}
		switch {
		case below == "":
			joined[at] = above
		case matches(names, below):
			joined[at] = below
		case matches(names, group+" "+below):
			joined[at] = group + " " + below
		default:
			surely = false
			joined[at] = below
		}
	}
	return joined, surely
}

func textIn(texts []string, at int) string {
	if at < len(texts) {
		return texts[at]
	}
	return ""
}

func matches(names map[string]*Column, header string) bool {
	c, _ := matchColumn(names, header)
	return c != nil
}

// takeUnits takes a row below the headers as that of their units, where it
// holds units and strokes alone, each one that its column can have.
func (t *Table) takeUnits(texts []string) bool {
	names := headerNames(t.description)
	headers := slices.Clone(t.headers)
	found := false
	for at, text := range texts {
		unit := strings.Trim(text, "()[]{} ")
		if isStroke(text) || unit == "" {
			continue
		}
		c, given := matchColumn(names, textIn(t.headers, at))
		switch {
		case c == nil && isUnit(unit), c != nil && c.Type == MomentCell && isPattern(unit):
			found = true
		case c != nil && given == "" && c.unitFits(unit):
			found = true
			headers[at] += " (" + unit + ")"
		default:
			return false
		}
	}
	if found {
		t.headers = headers
	}
	return found
}

// unitFits reports whether a text is a unit that the numbers of a column can
// have.
func (c *Column) unitFits(unit string) bool {
	switch {
	case c.UnitColumn != "" && c.Unit == "":
		_, known := ParseLabUnit(unit)
		return known
	case c.Type == FractionCell:
		_, known := converting(unit, "fraction")
		return known
	case c.Unit != "":
		_, known := converting(unit, c.Unit)
		return known
	}
	return false
}

// isUnit reports whether a text is a unit of any column.
func isUnit(text string) bool {
	_, known := ParseLabUnit(text)
	_, ofFlow := converting(text, "L/min")
	for to := range spellings {
		_, converts := converting(text, to)
		known = known || converts
	}
	return known || ofFlow
}

// isPattern reports whether a text says how dates are written: yyyy-mm-dd.
func isPattern(text string) bool {
	return strings.Trim(strings.ToLower(text), "ymdhs:-/. ") == "" && len(text) > 1
}

// isStroke reports whether a text is a stroke by which people say that there
// is nothing.
func isStroke(text string) bool { return strings.Trim(text, "-–—") == "" }

// mentionHeaderRows tells of the rows around the headers that are no data.
func (t *Table) mentionHeaderRows(list *finding.List) {
	place := func(row int32) finding.Place { return finding.Place{File: t.File, Table: t.Name, Row: int(row)} }
	if titles := t.around.titles; len(titles) > 0 {
		list.Add(finding.RowsAboveHeader, place(titles[0]), nil, finding.Values{
			"rows": rowRanges(titles), "read": textsOf(t.grid.read(titles[0], nil)), "header": int(t.header)})
	}
	if t.around.upper > 0 {
		list.Add(finding.TwoHeaderRows, place(t.around.upper), nil, finding.Values{"first": int(t.around.upper), "second": int(t.header)})
	}
	if t.around.units > 0 {
		list.Add(finding.UnitRow, place(t.around.units), nil, finding.Values{
			"read": slices.DeleteFunc(textsOf(t.grid.read(t.around.units, nil)), func(s string) bool { return s == "" })})
	}
}
