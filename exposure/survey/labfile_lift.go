package survey

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"airtally/exposure/finding"
)

// mostTitleRows is how far down a sheet its headings are looked for.
const mostTitleRows = 200

// foreign says what the columns of a laboratory's own file are called, and
// from which of them the columns made by a mapping are made.
type foreign struct {
	headings []string
	dates    dateOrder // that the mapping states; 0 where it states none
	made     []madeColumn
}

// madeColumn is a column that a mapping makes, right of those of the file.
type madeColumn struct {
	from int // the column of the file; -1 where it is from none
	make func(cells []cell) cell
}

// origin returns the column of the file that a column is from, and its
// heading there; -1 and the name given where there is none.
func (f *foreign) origin(at int, name string) (int, string) {
	if at >= len(f.headings) {
		at = f.made[at-len(f.headings)].from
	}
	if at < 0 {
		return at, name
	}
	return at, f.headings[at]
}

// quote returns what stands in the file where a column is from, else what the
// mapping says.
func (f *foreign) quote(cells []cell, at int) string {
	if from, _ := f.origin(at, ""); from >= 0 {
		return textAt(cells, from)
	}
	return textAt(cells, at)
}

// mappedGrid is the sheet of a laboratory with the columns that a mapping
// makes right of its own.
type mappedGrid struct {
	grid
	*foreign
	above map[int]map[int32]cell // of columns that are filled down, what stands above by row
}

func (g *mappedGrid) read(row int32, into []cell) []cell {
	kept, width := len(into), len(g.headings)
	into = g.grid.read(row, into)
	for len(into) < kept+width {
		into = append(into, cell{})
	}
	into = into[:kept+width]
	for at, filled := range g.above {
		if c, isFilled := filled[row]; isFilled {
			into[kept+at] = c
		}
	}
	for i := range g.made {
		into = append(into, g.made[i].make(into[kept:kept+width]))
	}
	return into
}

// underlying returns the grid of the file itself.
func underlying(g grid) grid {
	if m, isMapped := g.(*mappedGrid); isMapped {
		return m.grid
	}
	return g
}

// lift takes the table of results out of one sheet.
type lift struct {
	*Mapping
	source
	list     *finding.List
	known    func(sample string) bool
	headings []string
	header   int32   // the last row of the headings
	titles   []int32 // rows over the headings
	below    []int32
	at       map[string]int // column of each heading that the mapping names
}

// findHeadings finds the first row that holds every heading the mapping reads.
// It returns those that the likeliest row lacks, and fails where one stands
// twice.
func (l *lift) findHeadings() (missing []string, err error) {
	if l.grid == nil {
		return l.used(), nil
	}
	rows, deep := l.grid.rows(), max(1, l.Table.HeadingRows)
	missing = l.used()
	for i := 0; i+deep <= len(rows) && i < mostTitleRows; i++ {
		headings := headingsAt(l.grid, rows[i:i+deep])
		at, lacks, twice := l.locate(headings)
		if len(lacks) < len(missing) {
			missing = lacks
		}
		if len(lacks) > 0 {
			continue
		}
		if twice != "" {
			return nil, &UnusableError{l.file, fmt.Sprintf("%s row %d: the heading %q stands more than once", l.name, rows[i+deep-1], twice),
				fmt.Sprintf("write %q for the first and %q for the second in the mapping", twice+" #1", twice+" #2")}
		}
		l.headings, l.at = headings, at
		l.header, l.titles, l.below = rows[i+deep-1], rows[:i], rows[i+deep:]
		return nil, nil
	}
	return missing, nil
}

// headingsAt returns the headings that stand in some rows. What stands over
// several columns is part of the heading of each.
func headingsAt(g grid, rows []int32) []string {
	var headings []string
	for i, row := range rows {
		cells := g.read(row, nil)
		last := ""
		for at := range max(len(cells), len(headings)) {
			text := strings.Join(strings.Fields(textAt(cells, at)), " ")
			if text == "" && i+1 < len(rows) && textAt(g.read(rows[len(rows)-1], nil), at) != "" {
				text = last
			}
			last = text
			if at == len(headings) {
				headings = append(headings, "")
			}
			headings[at] = strings.TrimSpace(headings[at] + " " + text)
		}
	}
	for len(headings) > 0 && headings[len(headings)-1] == "" {
		headings = headings[:len(headings)-1]
	}
	for at := range headings {
		if headings[at] == "" {
			headings[at] = unnamedHeading(at)
		}
	}
	return headings
}

// unnamedHeading is what a column without a heading is called: column C.
func unnamedHeading(at int) string { return "column " + strings.TrimSuffix(cellName(at, 0), "0") }

// locate finds the headings that the mapping names among those of a row.
func (l *lift) locate(headings []string) (at map[string]int, missing []string, twice string) {
	places := map[string][]int{}
	for i, h := range headings {
		places[headingKey(h)] = append(places[headingKey(h)], i)
	}
	at = map[string]int{}
	for _, name := range l.named() {
		found := places[headingKey(name)]
		if len(found) == 0 {
			found = numberedHeading(places, name)
		}
		switch {
		case len(found) == 0 && l.Headings[name].Column != Unused:
			missing = append(missing, strconv.Quote(name))
		case len(found) > 1 && l.Headings[name].Column != Unused:
			twice = name
		}
		if len(found) > 0 {
			at[headingKey(name)] = found[0]
		}
	}
	return at, missing, twice
}

// numberedHeading finds "Result #2", the second of those called Result.
func numberedHeading(places map[string][]int, name string) []int {
	i := strings.LastIndex(name, "#")
	if i < 0 {
		return nil
	}
	n, err := strconv.Atoi(name[i+1:])
	found := places[headingKey(name[:i])]
	if err != nil || n < 1 || n > len(found) {
		return nil
	}
	return found[n-1 : n]
}

// named returns every heading that the mapping names, sorted.
func (m *Mapping) named() []string {
	names := m.used()
	for name, h := range m.Headings {
		if h.Column == Unused {
			names = append(names, name)
		}
	}
	for _, rule := range m.Skip {
		if !slices.ContainsFunc(names, func(n string) bool { return sameHeading(n, rule.Heading) }) {
			names = append(names, rule.Heading)
		}
	}
	slices.Sort(names)
	return names
}

// column returns the column of the file under a heading, -1 where there is
// none of that name.
func (l *lift) column(heading string) int {
	if at, ok := l.at[headingKey(heading)]; ok && heading != "" {
		return at
	}
	return -1
}

// tables makes a table of each column of results, all over the same rows.
func (l *lift) tables() []*Table {
	l.mentionHeadings()
	above := l.filledDown()
	results := l.results()
	slices.SortFunc(results, func(a, b string) int { return l.column(a) - l.column(b) })
	body := l.rows(results, above)
	l.mentionQualifiers(body)
	var tables []*Table
	for i, name := range results {
		t := l.table(name, above)
		if t.body = body; i == 0 {
			l.mentionState(t)
		}
		t.body = l.bodyOf(t, body, results, i)
		tables = append(tables, t)
	}
	return tables
}

// mentionState tells of what is hidden in the file, of stray quotation marks,
// and of a file without results.
func (l *lift) mentionState(t *Table) {
	t.mentionHidden(l.list)
	if g, isText := l.grid.(*textGrid); isText {
		for _, row := range g.stray {
			l.list.Add(finding.StrayQuote, l.rowPlace(row), nil, nil)
		}
	}
	if !slices.ContainsFunc(l.below, func(row int32) bool { return countFilled(l.grid.read(row, nil)) > 0 }) {
		l.list.Add(finding.EmptyTable, finding.Place{File: l.file, Table: l.name}, nil, finding.Values{"table": l.name})
	}
}

// table makes the table of one column of results.
func (l *lift) table(result string, above map[int]map[int32]cell) *Table {
	f := &foreign{headings: l.headings, dates: orderNamed(l.Table.Dates)}
	t := &Table{File: l.file, Name: l.name, Sheet: l.name, description: labDescription, header: l.header,
		fields: map[string]*field{}, foreign: f, grid: &mappedGrid{l.grid, f, above}}
	for i := range labDescription.Columns {
		c := &labDescription.Columns[i]
		heading := l.headingOf(c.Name, result)
		if c.Name == "result" {
			heading = result
		}
		if at := l.placeIn(f, c, heading, result); at >= 0 {
			l.enter(t, c, at, heading)
		}
	}
	if own := l.Headings[result].Unit; own != "" || l.headingOf("unit", result) == "" {
		t.fields["result"].unit = firstText(own, l.Constants["unit"])
	}
	t.headers = slices.Concat(l.headings, make([]string, len(f.made)))
	return t
}

// placeIn returns where a column of the lab table stands: under its heading, or
// right of those of the file, where the mapping makes it; -1 where it is given
// nowhere.
func (l *lift) placeIn(f *foreign, c *Column, heading, result string) int {
	own, from := l.Headings[result], l.column(heading)
	constant := map[string]string{"sample": own.Sample, "analyte": own.Analyte, "cas": own.CAS, "form": own.Form, "reporting_limit": own.ReportingLimit}[c.Name]
	if constant == "" && from < 0 && c.Name != "unit" {
		constant = l.Constants[c.Name]
	}
	made := l.maker(c, from, besides{l.column(l.headingOf("sample", result)), l.column(l.headingOf("qualifier", result))}, own)
	switch {
	case made == nil && constant == "":
		return from
	case made == nil:
		from, made = -1, func([]cell) cell { return cell{text: constant} }
	}
	f.made = append(f.made, madeColumn{from, made})
	return len(l.headings) + len(f.made) - 1
}

func firstText(texts ...string) string {
	for _, text := range texts {
		if text != "" {
			return text
		}
	}
	return ""
}

// enter enters a column of the lab table, with the unit that its heading gives
// in brackets where it has one of its own.
func (l *lift) enter(t *Table, c *Column, at int, heading string) {
	f := &field{Column: c, at: at, scale: same, style: l.style()}
	f.parts = []*field{f}
	t.fields[c.Name] = f
	if c.Name == "reporting_limit" && heading != "" {
		f.unit = l.Headings[heading].Unit
	}
	_, unit := cutBrackets(heading)
	if c.UnitColumn != "" || c.Unit == "" && c.Type != FractionCell || unit == "" {
		return
	}
	t.headers = l.headings
	if at >= len(l.headings) || !t.headerUnit(f, unit, l.list) {
		delete(t.fields, c.Name)
	}
}

// style is how numbers are written, where the mapping says it.
func (l *lift) style() numberStyle {
	if l.Table.Decimal == "," {
		return numberStyle{comma: decimal, point: thousands}
	}
	return spoken
}

// filledDown returns what stands above the empty cells of the columns that are
// filled down.
func (l *lift) filledDown() map[int]map[int32]cell {
	above := map[int]map[int32]cell{}
	for _, name := range l.Table.FillDown {
		at := l.column(name)
		if at < 0 {
			continue
		}
		above[at] = map[int32]cell{}
		var last cell
		for _, row := range l.below {
			cells := l.grid.read(row, nil)
			switch {
			case textAt(cells, at) != "":
				last = cells[at]
			case countFilled(cells) > 1:
				above[at][row] = last
			}
		}
	}
	return above
}

func countFilled(cells []cell) int {
	n := 0
	for i := range cells {
		if cells[i].kind >= errorKind || strings.TrimSpace(cells[i].text) != "" {
			n++
		}
	}
	return n
}

// mentionHeadings tells of what stands above the headings, and of columns that
// the mapping does not speak of.
func (l *lift) mentionHeadings() {
	place := func(row int32, at int) finding.Place {
		return finding.Place{File: l.file, Table: l.name, Row: int(row), Cell: cellName(at, row)}
	}
	var titles []int32
	for _, row := range l.titles {
		if countFilled(l.grid.read(row, nil)) > 0 {
			titles = append(titles, row)
		}
	}
	if len(titles) > 0 {
		l.list.Add(finding.LabRowsAbove, place(titles[0], 0), nil, finding.Values{"rows": inRows(titles), "row": l.header})
	}
	spoken := map[int]bool{}
	for _, at := range l.at {
		spoken[at] = true
	}
	for at, heading := range l.headings {
		if !spoken[at] && l.path != "" && (heading != unnamedHeading(at) || l.filledBelow(at)) {
			p := place(l.header, at)
			p.Column = heading
			l.list.Add(finding.LabColumnNew, p, nil, finding.Values{"read": heading, "mapping": l.path})
		}
	}
}

// filledBelow reports whether a column holds anything below the headings.
func (l *lift) filledBelow(at int) bool {
	return slices.ContainsFunc(l.below, func(row int32) bool { return textAt(l.grid.read(row, nil), at) != "" })
}

// inRows writes the numbers of rows with their noun.
func inRows(rows []int32) string {
	if len(rows) == 1 {
		return "row " + rowRanges(rows)
	}
	return "rows " + rowRanges(rows)
}

// rowRanges writes the numbers of rows: 7, 9–12.
func rowRanges(rows []int32) string {
	var parts []string
	for i := 0; i < len(rows); {
		k := i
		for k+1 < len(rows) && rows[k+1] == rows[k]+1 {
			k++
		}
		part := strconv.Itoa(int(rows[i]))
		if k > i {
			part += "–" + strconv.Itoa(int(rows[k]))
		}
		parts, i = append(parts, part), k+1
	}
	return strings.Join(parts, ", ")
}
