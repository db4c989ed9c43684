package survey

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
	"golang.org/x/text/unicode/norm"
)

// keyLines returns the line of every key of a TOML text, the parts of a key
// joined by keySeparator.
func keyLines(raw []byte) map[string]int {
	lines := map[string]int{}
	var p unstable.Parser
	p.Reset(raw)
	table := ""
	for p.NextExpression() {
		e := p.Expression()
		if e.Kind != unstable.KeyValue && e.Kind != unstable.Table && e.Kind != unstable.ArrayTable {
			continue
		}
		path := table
		if e.Kind != unstable.KeyValue {
			path = ""
		}
		line := 0
		for k := e.Key(); k.Next(); {
			path += keySeparator + string(k.Node().Data)
			line = p.Shape(k.Node().Raw).Start.Line
		}
		if _, known := lines[path]; !known {
			lines[path] = line
		}
		if e.Kind != unstable.KeyValue {
			table = path
		}
	}
	return lines
}

// mappingCheck gathers what is wrong with a mapping.
type mappingCheck struct {
	*Mapping
	lines  map[string]int
	faults []error
}

// fault notes what is wrong under a key.
func (c *mappingCheck) fault(remedy, what string, key ...string) {
	if line := c.lines[keySeparator+strings.Join(key, keySeparator)]; line > 0 {
		what = fmt.Sprintf("line %d: %s", line, what)
	}
	c.faults = append(c.faults, &UnusableError{c.path, what, remedy})
}

// readHeadings reads the headings: a column, or a column with what holds for
// it alone.
func (c *mappingCheck) readHeadings(written map[string]any) {
	c.Headings = make(map[string]Heading, len(written))
	for _, name := range slices.Sorted(maps.Keys(written)) {
		var h Heading
		switch v := written[name].(type) {
		case string:
			h.Column = v
		case map[string]any:
			h = c.headingTable(name, v)
		default:
			c.fault(`write "heading" = "column"`, fmt.Sprintf("%q is to be a column, not %v", name, v), "headings", name)
			continue
		}
		c.Headings[name] = h
	}
}

func (c *mappingCheck) headingTable(name string, written map[string]any) Heading {
	var h Heading
	into := map[string]*string{"column": &h.Column, "sample": &h.Sample, "section": &h.Section, "unit": &h.Unit, "analyte": &h.Analyte, "cas": &h.CAS,
		"form": &h.Form, "reporting_limit": &h.ReportingLimit, "qualifier": &h.Qualifier, "of": &h.Of}
	for _, key := range slices.Sorted(maps.Keys(written)) {
		text, isText := written[key].(string)
		switch field := into[key]; {
		case field == nil:
			c.fault("correct the word or delete it", fmt.Sprintf("%q has %s, which is not known%s", name, key, didYouMean(key, slices.Sorted(maps.Keys(into)))), "headings", name)
		case !isText:
			c.fault("put it in quotation marks", fmt.Sprintf("%q has %s = %v; expected a text", name, key, written[key]), "headings", name)
		default:
			*field = text
		}
	}
	return h
}

// check finds all that is wrong, so that it is mended in one go.
func (c *mappingCheck) check() {
	if c.Kind != MappingKind {
		c.fault(fmt.Sprintf("write kind = %q at its top", MappingKind), fmt.Sprintf("is a mapping of the kind %q; expected %q", c.Kind, MappingKind), "kind")
	}
	for _, name := range slices.Sorted(maps.Keys(c.Headings)) {
		c.checkHeading(name, c.Headings[name])
	}
	c.checkTable()
	c.checkConstants()
	c.checkWords("sections", c.Sections, sectionNames())
	c.checkWords("suffixes", c.Suffixes, sectionNames())
	c.checkWords("qualifiers", c.Qualifiers, slices.Sorted(maps.Keys(meanings)))
	for _, written := range slices.Sorted(maps.Keys(c.Units)) {
		c.checkUnit(c.Units[written], "units", written)
	}
	for _, written := range slices.Sorted(maps.Keys(c.Analytes)) {
		c.decided(c.Analytes[written], "analytes", written)
	}
	for _, rule := range c.Skip {
		c.checkSkip(rule)
	}
	c.checkComplete()
}

// decided complains of an entry that is left open. It returns whether there is
// something in it to go on with.
func (c *mappingCheck) decided(text string, key ...string) bool {
	last := key[len(key)-1]
	switch strings.TrimSpace(text) {
	case Undecided:
		c.fault(fmt.Sprintf("write what it is in place of %q; the comment beside it says what speaks for which", Undecided), fmt.Sprintf("%q is not decided", last), key...)
		return false
	case "":
		c.fault("write what it is, or delete the line", fmt.Sprintf("%q says nothing", last), key...)
		return false
	}
	return true
}

func (c *mappingCheck) checkHeading(name string, h Heading) {
	if !c.decided(h.Column, "headings", name) || h.Column == Unused {
		return
	}
	if _, known := labDescription.Column(h.Column); !known {
		c.fault("write one of "+strings.Join(labColumns(), ", ")+`, or "-"`,
			fmt.Sprintf("%q is to be %q, which is no column of the lab table%s", name, h.Column, didYouMean(h.Column, labColumns())), "headings", name)
		return
	}
	c.checkOne(h.Section, sectionNames(), "section of "+name, "headings", name)
	if h.Unit != "" {
		c.checkUnit(h.Unit, "headings", name)
	}
	if h.CAS != "" && casFault(h.CAS) != "" {
		c.fault("correct the CAS number", fmt.Sprintf("%q has the CAS number %s: %s", name, h.CAS, casFault(h.CAS)), "headings", name)
	}
	if h.Of != "" && !slices.ContainsFunc(c.results(), func(r string) bool { return sameHeading(r, h.Of) }) {
		c.fault("name a heading that is a result", fmt.Sprintf("%q is of %q, which is no column of results", name, h.Of), "headings", name)
	}
	if h.Column == "result" {
		return
	}
	rest := h
	rest.Column, rest.Of = "", ""
	if h.Column == "reporting_limit" {
		rest.Unit = ""
	}
	if rest != (Heading{}) {
		c.fault(`write it with the heading of the result, or under [constants]`, fmt.Sprintf("%q is %s; beside that it can only say of which result", name, h.Column), "headings", name)
	}
	for other, o := range c.Headings {
		if other < name && o.Column == h.Column && sameHeading(o.Of, h.Of) {
			c.fault(`keep one of them and write "-" for the other`, fmt.Sprintf("%q and %q are both %s", other, name, h.Column), "headings", name)
		}
	}
}

func (c *mappingCheck) checkTable() {
	c.checkOne(c.Table.Decimal, []string{",", "."}, "decimal", "table", "decimal")
	c.checkOne(c.Table.Dates, dateOrders, "dates", "table", "dates")
	c.checkOne(c.Table.Notes, []string{"skip"}, "notes", "table", "notes")
	if c.Table.Sheet == Undecided {
		c.decided(c.Table.Sheet, "table", "sheet")
	}
	if n := c.Table.HeadingRows; n < 0 || n > mostHeadingRows {
		c.fault("write the number of rows", fmt.Sprintf("heading_rows is %d; expected 1 to %d", n, mostHeadingRows), "table", "heading_rows")
	}
	for _, name := range c.Table.FillDown {
		if name == Undecided {
			c.fault(`name the heading whose empty cells mean what stands above, or delete the line`, "fill_down is not decided", "table", "fill_down")
			continue
		}
		if !slices.ContainsFunc(c.used(), func(h string) bool { return sameHeading(h, name) }) {
			c.fault("name a heading that is read", fmt.Sprintf("fill_down names %q, which is no heading that is read", name), "table", "fill_down")
		}
	}
}

func (c *mappingCheck) checkConstants() {
	for _, name := range slices.Sorted(maps.Keys(c.Constants)) {
		value := c.Constants[name]
		column, known := labDescription.Column(name)
		switch {
		case !known || name == "sample" || name == "result":
			c.fault("write one of the other columns", fmt.Sprintf("constants name %q, which is no column that can be the same in all rows%s", name, didYouMean(name, labColumns())), "constants", name)
		case slices.ContainsFunc(c.used(), func(h string) bool { return c.Headings[h].Column == name && c.Headings[h].Of == "" }):
			c.fault("keep one of the two", fmt.Sprintf("constants give %s, and so does a heading", name), "constants", name)
		case !c.decided(value, "constants", name):
		case column.Type == UnitCell:
			c.checkUnit(value, "constants", name)
		case column.Type == YesNoCell:
			c.checkOne(value, []string{"yes", "no"}, name, "constants", name)
		case column.Type == ChoiceCell:
			c.checkOne(value, column.values(), name, "constants", name)
		}
	}
}

func (c *mappingCheck) checkUnit(text string, key ...string) {
	if !c.decided(text, key...) {
		return
	}
	if _, known := ParseLabUnit(text); !known {
		c.fault("write one of the units expected", fmt.Sprintf("%q is not a known unit; expected %s", text, labUnit), key...)
	}
}

func (c *mappingCheck) checkWords(table string, words map[string]string, allowed []string) {
	for _, written := range slices.Sorted(maps.Keys(words)) {
		if c.decided(words[written], table, written) {
			c.checkOne(words[written], allowed, written, table, written)
		}
	}
}

// checkOne complains of a text that is none of those allowed; an empty one says
// nothing.
func (c *mappingCheck) checkOne(text string, allowed []string, what string, key ...string) {
	switch {
	case text == "" || slices.Contains(allowed, text):
	case text == Undecided:
		c.decided(text, key...)
	default:
		c.fault("write one of "+strings.Join(allowed, ", "), fmt.Sprintf("%s is %q%s", what, text, didYouMean(text, allowed)), key...)
	}
}

func (c *mappingCheck) checkSkip(rule SkipRule) {
	key := []string{"skip"}
	ways := 0
	for _, used := range []bool{len(rule.Is) > 0, len(rule.Begins) > 0, rule.Empty} {
		if used {
			ways++
		}
	}
	switch {
	case rule.Decided == Undecided:
		c.fault(`write decided = "yes" to skip the rows, or delete the rule`, fmt.Sprintf("the rule to skip rows by %q is not decided", rule.Heading), key...)
	case rule.Decided != "" && rule.Decided != "yes":
		c.fault(`write decided = "yes", or delete the rule`, fmt.Sprintf("the rule to skip rows by %q is decided as %q", rule.Heading, rule.Decided), key...)
	case rule.Heading == "" || ways != 1:
		c.fault("give it a heading and one of is, begins and empty", fmt.Sprintf("a rule to skip rows (heading %q) does not say which", rule.Heading), key...)
	case slices.Contains(rule.Is, "") || slices.Contains(rule.Begins, ""):
		c.fault("write empty = true to skip rows with an empty cell", fmt.Sprintf("the rule to skip rows by %q has an empty text", rule.Heading), key...)
	}
}

// checkComplete complains where rows would lack what a result needs.
func (c *mappingCheck) checkComplete() {
	if len(c.faults) > 0 {
		return // what is not decided may be what lacks
	}
	results := c.results()
	if len(results) == 0 {
		c.fault(`write "heading" = "result" for one`, "has no heading that is a result", "headings")
	}
	for _, name := range results {
		h := c.Headings[name]
		for _, need := range []struct{ column, own string }{{"sample", h.Sample}, {"analyte", h.Analyte}, {"unit", h.Unit}} {
			if need.own == "" && c.Constants[need.column] == "" && c.headingOf(need.column, name) == "" {
				c.fault(fmt.Sprintf("write which heading is %s, or give it with the heading of the result", need.column),
					fmt.Sprintf("does not say which %s the results under %q have", need.column, name), "headings", name)
			}
		}
	}
}

func sectionNames() []string {
	c, _ := labDescription.Column("section")
	return c.values()
}

// labColumns returns the names of the columns of the lab table.
func labColumns() []string {
	var names []string
	for i := range labDescription.Columns {
		names = append(names, labDescription.Columns[i].Name)
	}
	return names
}

// mostHeadingRows is how many rows one heading may be spread over.
const mostHeadingRows = 4

// sameHeading reports whether two texts are one heading, without regard to
// case and the number of spaces.
func sameHeading(a, b string) bool { return headingKey(a) == headingKey(b) }

func headingKey(text string) string {
	return strings.ToLower(strings.Join(strings.Fields(norm.NFKC.String(text)), " "))
}
