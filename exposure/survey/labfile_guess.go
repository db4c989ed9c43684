package survey

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"airtally/exposure/finding"
)

// discard returns a list of findings that nobody reads.
func discard() *finding.List { return &finding.List{} }

// guesser weighs what speaks for which reading of a laboratory's table.
type guesser struct {
	*Proposal
	rows    []int32  // below the headings
	cells   [][]cell // of those rows
	columns []guess
}

// guess is one column of the file.
type guess struct {
	heading string // with #n where the heading stands several times
	headingMeaning
	unnamed bool // the file has no heading for it
	use     Heading
	doubt   string   // why a person must decide; "" where nothing is in doubt
	why     string   // what speaks for it
	texts   []string // the different texts in its cells, in order
	count   int      // cells that are filled
}

func newGuesser(path string, l layout) *guesser {
	rows := l.source.grid.rows()
	g := &guesser{Proposal: &Proposal{Path: path, Deep: l.deep, HeadingRows: inRows(rows[l.at : l.at+l.deep]), source: l.source}}
	for _, row := range rows[l.at+l.deep:] {
		cells := l.source.grid.read(row, nil)
		if countFilled(cells) > 0 && !repeatHeadings(cells, l.headings) {
			g.rows, g.cells = append(g.rows, row), append(g.cells, cells)
		}
	}
	seen := map[string]int{}
	for _, h := range l.headings {
		seen[headingKey(h)]++
	}
	number := map[string]int{}
	for at, h := range l.headings {
		c := guess{heading: h, headingMeaning: understand(h), unnamed: h == unnamedHeading(at)}
		if seen[headingKey(h)] > 1 {
			number[headingKey(h)]++
			c.heading = fmt.Sprintf("%s #%d", h, number[headingKey(h)])
		}
		c.gather(g.cells, at)
		g.columns = append(g.columns, c)
	}
	return g
}

// mostTexts is how many different texts of a column are looked at.
const mostTexts = 1000

// gather takes in the texts of a column.
func (c *guess) gather(rows [][]cell, at int) {
	met := map[string]bool{}
	for _, cells := range rows {
		if countFilled(cells) < 2 {
			continue // a note
		}
		text := textAt(cells, at)
		if isBlank(text) {
			continue
		}
		c.count++
		if !met[text] && len(c.texts) < mostTexts {
			met[text] = true
			c.texts = append(c.texts, text)
		}
	}
}

// share returns the share of the different texts that something is true of.
func (c *guess) share(is func(string) bool) float64 {
	n := 0
	for _, text := range c.texts {
		if is(text) {
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return float64(n) / float64(len(c.texts))
}

func looksNumeric(text string) bool {
	r, trouble := parseResult(text, spoken)
	return trouble != unreadable && r.kind != NotFound
}

func looksResult(text string) bool {
	_, trouble := parseResult(text, spoken)
	return trouble != unreadable || meaningOfWord(text) != ""
}

// guess guesses all that a mapping says.
func (g *guesser) guess() {
	for i := range g.columns {
		g.columns[i].settle()
	}
	g.oneEach()
	g.detectionLimits()
	g.sections()
	g.results()
	g.ofResults()
	g.orderSuffixes()
	g.words()
	g.writing()
	g.skips()
	g.finish()
}

// settle takes over what the words of a heading say, where the cells do not
// speak against it.
func (c *guess) settle() {
	switch {
	case c.unnamed && c.count == 0:
		return
	case c.column == "" && c.count == 0:
		c.use.Column, c.why = Unused, "not known; its cells are empty"
		return
	case c.column == "":
		c.asAnalyte()
		return
	case c.column == Unused:
		c.use.Column = Unused
		return
	case c.column == detectionLimit:
		c.use.Column = detectionLimit
		return
	case c.column == sumOfSections:
		c.use.Column = sumOfSections
		return
	}
	c.use.Column = c.column
	switch {
	case c.partly:
		c.doubt = fmt.Sprintf("%q or %q? A word in the heading says %s", c.column, Unused, c.column)
	case c.count > 0:
		c.doubt = c.against()
	}
}

// against says what the cells of a column say against its heading.
func (c *guess) against() string {
	few := func(is func(string) bool) bool { return c.share(is) < 0.5 }
	switch c.column {
	case "cas":
		if few(func(t string) bool { return casFault(t) == "" || len(casOfDateText(t)) > 0 }) {
			return "few of its cells are CAS numbers"
		}
	case "result":
		if few(looksResult) {
			return "few of its cells are results"
		}
	case "reporting_limit", "lab_volume_l", "desorption", "cv":
		if few(looksNumeric) {
			return "few of its cells are numbers"
		}
	case "unit":
		if few(func(t string) bool { _, ok := labUnitText(t); return ok }) {
			return "few of its cells are units"
		}
	case "analyte":
		if !few(looksNumeric) {
			return "its cells are numbers"
		}
	case "note":
		if len(c.texts) > 0 && c.share(isLetters) == 1 || c.share(func(t string) bool { return meaningOfWord(t) != "" }) > 0 {
			return `"note" or "qualifier"? Its cells hold letters or words that qualify results`
		}
	}
	return ""
}

// asAnalyte takes a heading that names a substance for the results of it. Of
// others the cells say what they may be.
func (c *guess) asAnalyte() {
	name, unit := cutHeadingUnit(c.heading)
	name = strings.TrimSpace(name)
	numeric := c.share(looksResult) >= 0.5 && c.share(looksNumeric) > 0
	rest, section := cutSectionWord(name)
	if section == "" || librarySubstance(name) != "" {
		rest, section = name, ""
	}
	if numeric && librarySubstance(rest) != "" {
		c.use = Heading{Column: "result", Analyte: rest}
		c.column, c.unit, c.section, c.why = "result", unit, section, "results of "+rest
		return
	}
	c.doubt = `not known: a column, or "-"?`
	for _, kind := range []struct {
		is   func(string) bool
		says string
	}{
		{saysYes, `"desorption_applied", "blank_applied" or "-"? Its cells hold yes and no`},
		{isLetters, `"qualifier" or "-"? Its cells hold letters alone`},
		{isDate, `"received", "analysed" or "-"? Its cells hold dates`},
		{func(t string) bool { return casFault(t) == "" }, `"cas" or "-"? Its cells hold CAS numbers`},
		{func(t string) bool { _, ok := labUnitText(t); return ok }, `"unit" or "-"? Its cells hold units`},
		{func(t string) bool { return librarySubstance(t) != "" }, `"analyte" or "-"? Its cells hold substances`},
	} {
		if len(c.texts) > 0 && len(c.texts) <= mostKinds && c.share(kind.is) == 1 {
			c.doubt = "not known: " + kind.says
			return
		}
	}
	switch mass, isUnit := labUnitText(unit); {
	case numeric && isUnit && name != "":
		c.doubt = fmt.Sprintf(`not known: { column = "result", analyte = %q, unit = %q } or "-"? Its cells hold numbers`, name, mass)
	case numeric && strings.ContainsAny(name, "0123456789"):
		c.doubt = fmt.Sprintf(`not known: { column = "result", sample = %q } if it is a sample's number, another column, or "-"? Its cells hold numbers`, name)
	case numeric:
		c.doubt = `not known: "result", another column, or "-"? Its cells hold numbers`
	}
}

// mostKinds is how many different texts of a column are looked up one by one.
const mostKinds = 40

func saysYes(text string) bool {
	_, ok := parseYes(text)
	return ok && !strings.ContainsAny(text, "01")
}

// isLetters reports whether a text is up to three letters or signs, as
// qualifiers are.
func isLetters(text string) bool {
	return len([]rune(text)) <= 3 && !strings.ContainsAny(text, "0123456789") && !saysYes(text)
}

func isDate(text string) bool {
	order, _ := orderOfDates([]string{text})
	return order != "" || isISODate(text)
}

// mayBeQualifier reports whether the cells of a column are to be explained as
// qualifiers, decided or not.
func (c *guess) mayBeQualifier() bool {
	return c.use.Column == "qualifier" || c.doubt != "" && (c.column == "note" || len(c.texts) > 0 && c.share(isLetters) == 1)
}

// oneEach decides between headings that mean the same column.
func (g *guesser) oneEach() {
	for _, column := range labColumns() {
		if column == "result" || column == "reporting_limit" || column == "qualifier" {
			continue
		}
		same := slices.DeleteFunc(g.ofColumn(column), func(c *guess) bool { return c.doubt != "" })
		if len(same) < 2 {
			continue
		}
		preferred := slices.DeleteFunc(slices.Clone(same), func(c *guess) bool {
			return column != "sample" || !slices.ContainsFunc(clientWords, func(w string) bool { return strings.Contains(simplify(c.heading), w) })
		})
		for _, c := range same {
			switch {
			case len(preferred) == 1 && c == preferred[0]:
			case len(preferred) == 1:
				c.use.Column, c.why = Unused, fmt.Sprintf("%q is %s", preferred[0].heading, column)
			default:
				c.doubt = fmt.Sprintf("%s mean %s: which?", quotedHeadings(same), column)
			}
		}
	}
}

func quotedHeadings(of []*guess) string {
	var names []string
	for _, c := range of {
		names = append(names, strconv.Quote(c.heading))
	}
	return strings.Join(names, " and ")
}

// ofColumn returns the columns of the file that are one of the lab table.
func (g *guesser) ofColumn(column string) []*guess {
	var all []*guess
	for i := range g.columns {
		if g.columns[i].use.Column == column {
			all = append(all, &g.columns[i])
		}
	}
	return all
}

// detectionLimits leaves detection limits out, and asks where there is no
// reporting limit beside them.
func (g *guesser) detectionLimits() {
	alone := len(g.ofColumn("reporting_limit")) == 0
	for _, c := range g.ofColumn(detectionLimit) {
		c.use.Column, c.why = Unused, "a detection limit is no reporting limit"
		if alone {
			c.doubt = `"reporting_limit" if results under it are reported as not found, else "-"`
		}
	}
}

// sections takes over the sections that headings of results name.
func (g *guesser) sections() {
	for _, c := range g.ofColumn("result") {
		c.use.Section = c.section
	}
	split := len(g.ofColumn("result")) > 1
	for _, c := range g.ofColumn(sumOfSections) {
		c.use.Column, c.why = Unused, "the sum of the sections"
		if !split {
			c.use.Column, c.why = "result", ""
			c.doubt = `"result" or "-"? It is called a sum`
		}
	}
}

// results decides between columns of results, and finds their units.
func (g *guesser) results() {
	all := g.ofColumn("result")
	for _, c := range all {
		if unit, ok := labUnitText(c.unit); ok {
			c.use.Unit = unit
		}
	}
	if len(all) > 1 && !differ(all) {
		for _, c := range all {
			if c.doubt == "" {
				c.doubt = fmt.Sprintf(`%s hold results: "result" for one, "-" for the others? A mass is worth more than a concentration by the laboratory's volume`, quotedHeadings(all))
			}
		}
	}
	g.missing()
}

// differ reports whether columns of results are of different sections or
// analytes.
func differ(all []*guess) bool {
	seen := map[[2]string]bool{}
	for _, c := range all {
		key := [2]string{c.use.Section, simplify(c.use.Analyte)}
		if seen[key] || key == [2]string{} {
			return false
		}
		seen[key] = true
	}
	return true
}

// missing proposes constants for what no heading gives.
func (g *guesser) missing() {
	lacks := func(own func(*guess) string) bool {
		return slices.ContainsFunc(g.ofColumn("result"), func(c *guess) bool { return own(c) == "" && c.column != sumOfSections })
	}
	open := func(column string) bool {
		return slices.ContainsFunc(g.columns, func(c guess) bool { return c.column == column && c.doubt != "" })
	}
	if len(g.ofColumn("unit")) == 0 && !open("unit") && lacks(func(c *guess) string { return c.use.Unit }) {
		g.Constants = append(g.Constants, Proposed{Key: "unit", Value: Undecided, Comment: "no heading gives the unit of the results: ug, mg, ... for all rows"})
	}
	if len(g.ofColumn("analyte")) == 0 && !open("analyte") && lacks(func(c *guess) string { return c.use.Analyte }) {
		g.Constants = append(g.Constants, Proposed{Key: "analyte", Value: Undecided, Comment: "no heading gives the analyte: its name for all rows"})
	}
	for _, column := range []string{"sample", "result"} {
		if len(g.ofColumn(column)) == 0 {
			g.Lacking = append(g.Lacking, column)
		}
	}
}

// ofResults gives reporting limits and qualifiers to the column of results that
// they belong to, where there are several.
func (g *guesser) ofResults() {
	results := g.ofColumn("result")
	for _, column := range []string{"reporting_limit", "qualifier"} {
		own := g.ofColumn(column)
		switch {
		case len(own) == 1 && len(results) > 1 && column == "qualifier" && own[0].doubt == "":
			own[0].doubt = fmt.Sprintf(`"qualifier" for each of %s, or { column = "qualifier", of = %q } for one alone?`, quotedHeadings(results), results[0].heading)
		case len(own) < 2:
			continue
		case len(results) > 1 && len(own) == len(results):
			for i, c := range own {
				c.use.Of = results[g.matching(c, results, i)].heading
				c.why = "of " + strconv.Quote(c.use.Of)
			}
		default:
			for _, c := range own {
				c.doubt = fmt.Sprintf("%s mean %s: which?", quotedHeadings(own), column)
			}
		}
	}
}

// matching returns which result a column belongs to: the one of its section,
// else the one in the same place among its like.
func (g *guesser) matching(c *guess, results []*guess, place int) int {
	at := slices.IndexFunc(results, func(r *guess) bool { return c.section != "" && r.use.Section == c.section })
	if at >= 0 {
		return at
	}
	return place
}
