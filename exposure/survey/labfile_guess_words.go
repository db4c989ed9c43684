package survey

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"airtally/limits"
)

// words proposes what the words in the cells mean.
func (g *guesser) words() {
	for _, c := range g.ofColumn("section") {
		for _, text := range c.texts {
			e := Proposed{Key: text, Value: sectionOfWord[simplify(text)]}
			if e.Value == "" {
				e.Value, e.Comment = Undecided, strings.Join(sectionNames(), ", ")+"?"
			}
			g.Sections = append(g.Sections, e)
		}
	}
	for _, c := range g.ofColumn("unit") {
		for _, text := range c.texts {
			g.unitWord(text)
		}
	}
	for i := range g.columns {
		c := &g.columns[i]
		if !c.mayBeQualifier() {
			continue
		}
		for _, text := range c.texts {
			if meaningOfWord(text) != "" {
				g.qualifier(text)
				continue
			}
			for _, word := range qualifierWords(text) {
				g.qualifier(word)
			}
		}
	}
	for _, c := range g.ofColumn("result") {
		for _, text := range c.texts {
			g.resultWord(text)
		}
	}
}

func (g *guesser) unitWord(text string) {
	if _, known := ParseLabUnit(text); known {
		return
	}
	e := Proposed{Key: text}
	unit, ok := labUnitText(text)
	if e.Value = unit; !ok {
		e.Value, e.Comment = Undecided, "which unit of a lab table is it?"
	}
	g.Units = append(g.Units, e)
}

// resultWord proposes what a result means that is no number, or letters behind
// a number.
func (g *guesser) resultWord(text string) {
	_, trouble := parseResult(text, spoken)
	number, behind := cutNumber(strings.TrimLeft(text, "<>≤≥=~ "))
	switch {
	case number == "":
		if trouble == unreadable || meaningOfWord(text) != "" {
			g.qualifier(text)
		}
	case behind != "":
		if _, isUnit := ParseLabUnit(behind); !isUnit {
			g.qualifier(behind)
		}
	}
}

func (g *guesser) qualifier(word string) {
	if slices.ContainsFunc(g.Qualifiers, func(e Proposed) bool { return sameHeading(e.Key, word) }) {
		return
	}
	e := Proposed{Key: word, Value: meaningOfWord(word)}
	if e.Value == "" {
		e.Value, e.Comment = Undecided, strings.Join(slices.Sorted(maps.Keys(meanings)), ", ")+"?"
	}
	g.Qualifiers = append(g.Qualifiers, e)
}

// suffixPairs are the ends of sample numbers that tell a front from a back
// section. Letters that may as well name the legs of a train are doubtful.
var suffixPairs = []struct {
	front, back string
	doubtful    bool
}{
	{"front", "back", false}, {"F", "B", false}, {"FS", "BS", false}, {"V", "H", false}, {"vorn", "hinten", false}, {"avant", "arrière", false},
	{"A", "B", true}, {"1", "2", true},
}

// orderSuffixes finds sections at the end of sample numbers.
func (g *guesser) orderSuffixes() {
	samples := g.ofColumn("sample")
	if len(samples) != 1 || len(g.ofColumn("section")) > 0 || slices.ContainsFunc(g.ofColumn("result"), func(c *guess) bool { return c.use.Section != "" }) {
		return
	}
	for _, pair := range suffixPairs {
		for _, separator := range []string{"-", " ", "/", "_", ".", " - ", ""} {
			front, back := separator+pair.front, separator+pair.back
			both, stray := sharedStems(samples[0].texts, front, back)
			all := 2*both == len(samples[0].texts)
			if both == 0 || stray > 0 || (separator == "" || pair.doubtful) && (both < 2 || !all) {
				continue
			}
			doubt := ""
			if pair.doubtful || separator == "" {
				doubt = fmt.Sprintf("%d sample numbers stand with both ends: sections of one tube, or samples of their own (then delete the line)?", both)
			}
			g.suffix(front, "front", doubt)
			g.suffix(back, "back", doubt)
			return
		}
	}
}

func (g *guesser) suffix(end, section, doubt string) {
	e := Proposed{Key: end, Value: section, Comment: doubt}
	if doubt != "" {
		e.Value = Undecided
		e.Comment = section + "? " + doubt
	}
	g.Suffixes = append(g.Suffixes, e)
}

// sharedStems counts the sample numbers that stand with both ends, and those
// with the second alone. What is left of them must still be a number.
func sharedStems(ids []string, front, back string) (both, stray int) {
	fronts := map[string]bool{}
	for _, id := range ids {
		if stem := stemOf(id, front); stem != "" {
			fronts[stem] = true
		}
	}
	for _, id := range ids {
		switch stem := stemOf(id, back); {
		case stem == "":
		case fronts[stem]:
			both++
		default:
			stray++
		}
	}
	return both, stray
}

// stemOf returns what is left of a sample's number without an end, in lower
// case; "" where it has no such end, or nothing is left that numbers it.
func stemOf(id, end string) string {
	stem, ends := strings.CutSuffix(strings.ToLower(id), strings.ToLower(end))
	if !ends || !strings.ContainsAny(stem, "0123456789") {
		return ""
	}
	return stem
}

// writing proposes how numbers and dates are written, and which cells mean what
// stands above them.
func (g *guesser) writing() {
	g.decimals()
	var dates []string
	for _, column := range []string{"received", "analysed"} {
		for _, c := range g.ofColumn(column) {
			dates = append(dates, c.texts...)
		}
	}
	order, comment := orderOfDates(dates)
	if order != "" {
		g.Table = append(g.Table, Proposed{Key: "dates", Value: order, Comment: comment})
	}
	for _, c := range g.ofColumn("sample") {
		if filled := len(c.texts); filled > 0 && c.count < len(g.rows)*2/3 {
			g.Table = append(g.Table, Proposed{Key: "fill_down", Value: Undecided,
				Comment: fmt.Sprintf("%d of %d rows have no sample: [%q] if empty cells mean the sample above, else delete the line", len(g.rows)-c.count, len(g.rows), c.heading)})
		}
	}
}

// decimals asks how numbers are written where they can be read in two ways.
func (g *guesser) decimals() {
	var e evidence
	var texts []string
	for _, column := range []string{"result", "reporting_limit", "lab_volume_l"} {
		for _, c := range g.ofColumn(column) {
			texts = append(texts, c.texts...)
		}
	}
	for _, text := range texts {
		e.gather(text)
	}
	style := e.style()
	if t, isText := g.source.grid.(*textGrid); isText && style == (numberStyle{}) && t.delimiter == ';' {
		style = numberStyle{comma: decimal, point: doubtful}
	}
	for _, text := range texts {
		number, _ := cutNumber(strings.TrimLeft(text, "<>≤≥=~ "))
		if _, trouble := parseNumber(number, style); trouble == ambiguous {
			g.Table = append(g.Table, Proposed{Key: "decimal", Value: Undecided,
				Comment: fmt.Sprintf(`"," or "."? %q can be read as two numbers, and nothing tells which`, text)})
			return
		}
	}
}

// orderOfDates returns the order of day, month and year that dates are written
// in, "" where none of them needs it.
func orderOfDates(texts []string) (order, comment string) {
	possible := slices.Clone(dateOrders)
	example, pointed := "", false
	for _, text := range texts {
		dates := datesIn(text)
		if isISODate(text) || len(dates) == 0 {
			continue // no date in numbers, or none at all: its row will tell
		}
		left := slices.DeleteFunc(slices.Clone(possible), func(order string) bool {
			_, fits := dates[orderNamed(order)]
			return !fits
		})
		if len(left) == 0 {
			continue
		}
		possible, example = left, text
		date, _, _ := strings.Cut(text, " ")
		pointed = pointed || strings.Count(date, ".") == 2
	}
	switch {
	case example == "":
		return "", ""
	case len(possible) == 1:
		return possible[0], ""
	case pointed && slices.Contains(possible, "day-month-year"):
		return "day-month-year", "with points between them the day comes first"
	}
	return Undecided, fmt.Sprintf("%s? All dates can be read in each order, as %q", strings.Join(possible, " or "), example)
}

// isISODate reports whether a text begins with year, month and day as tables
// want them.
func isISODate(text string) bool {
	_, err := time.Parse(time.DateOnly, text[:min(len(text), len(time.DateOnly))])
	return err == nil
}

// skips proposes which rows are no results.
func (g *guesser) skips() {
	var notes []int32
	for i, cells := range g.cells {
		if countFilled(cells) == 1 {
			notes = append(notes, g.rows[i])
		}
	}
	if len(notes) > 0 {
		g.Table = append(g.Table, Proposed{Key: "notes", Value: "skip", Comment: "text in one cell alone: " + inRows(notes)})
	}
	for i := range g.columns {
		c := &g.columns[i]
		isSample := c.use.Column == "sample"
		if isSample || i == 0 || c.use.Column == "analyte" {
			g.skipTotals(i, c, c.use.Column == "analyte")
		}
		if isSample || c.use.Column == Unused {
			g.skipControls(i, c)
		}
	}
}

// skipTotals proposes to skip sums. Under the analyte only a whole cell is
// taken for one: total dust is a substance.
func (g *guesser) skipTotals(at int, c *guess, whole bool) {
	for _, word := range totalWords {
		var rows []int32
		for i, cells := range g.cells {
			text := strings.ToLower(textAt(cells, at))
			if countFilled(cells) > 1 && (text == word || !whole && beginsWith(text, word)) {
				rows = append(rows, g.rows[i])
			}
		}
		if len(rows) == 0 {
			continue
		}
		rule := SkipRule{Heading: c.heading, Begins: []string{word}}
		if whole {
			rule = SkipRule{Heading: c.heading, Is: []string{word}}
		}
		g.Skip = append(g.Skip, ProposedSkip{rule, "sums or means, no samples: " + inRows(rows)})
	}
}

func beginsWith(text, word string) bool {
	rest, begins := strings.CutPrefix(text, word)
	return begins && (rest == "" || strings.ContainsAny(rest[:1], " :-_/.0123456789"))
}

// skipControls asks whether the laboratory's own samples are to be skipped.
func (g *guesser) skipControls(at int, c *guess) {
	var words []string
	var rows []int32
	for i, cells := range g.cells {
		text := strings.ToLower(textAt(cells, at))
		word := slices.IndexFunc(controls, func(w string) bool { return beginsWith(text, w) })
		if word < 0 || countFilled(cells) < 2 {
			continue
		}
		rows = append(rows, g.rows[i])
		if !slices.Contains(words, controls[word]) {
			words = append(words, controls[word])
		}
	}
	if len(rows) > 0 {
		g.Skip = append(g.Skip, ProposedSkip{SkipRule{Heading: c.heading, Begins: words, Decided: Undecided},
			fmt.Sprintf(`"yes" if these are the laboratory's own samples, none of the survey: %s`, inRows(rows))})
	}
}

// finish writes down the headings, and counts the rows.
func (g *guesser) finish() {
	for i := range g.columns {
		c := &g.columns[i]
		if c.unnamed && c.count == 0 {
			continue
		}
		e := Proposed{Key: c.heading, Value: c.use.Column, Own: c.use, Comment: c.why}
		if c.doubt != "" {
			e.Value, e.Own, e.Comment = Undecided, Heading{}, c.doubt
		}
		if len(c.texts) > 0 {
			e.Comment = strings.TrimSuffix(c.shown()+"; "+e.Comment, "; ")
		}
		g.Headings = append(g.Headings, e)
	}
	if len(g.rows) > 0 {
		g.ResultRows = fmt.Sprintf("%d to %d", g.rows[0], g.rows[len(g.rows)-1])
	}
	g.unknownNames()
}

// mostShown is how many different cells of a column a proposal shows.
const mostShown = 3

func (c *guess) shown() string {
	var texts []string
	for _, text := range c.texts[:min(len(c.texts), mostShown)] {
		if r := []rune(text); len(r) > 24 {
			text = string(r[:23]) + "…"
		}
		texts = append(texts, text)
	}
	shown := strings.Join(texts, ", ")
	switch more := len(c.texts) - mostShown; {
	case len(c.texts) == mostTexts:
		return shown + " and many more"
	case more > 0:
		return fmt.Sprintf("%s and %d more", shown, more)
	}
	return shown
}

// unknownNames gathers the analytes that the library of limits does not know by
// name, with what it calls their CAS number.
func (g *guesser) unknownNames() {
	at := map[string]int{}
	for i := range g.columns {
		at[g.columns[i].use.Column] = i
	}
	analyte, found := at["analyte"]
	if !found {
		return
	}
	met := map[string]bool{}
	for _, cells := range g.cells {
		name := textAt(cells, analyte)
		if countFilled(cells) < 2 || met[name] || isBlank(name) {
			continue
		}
		met[name] = true
		if len(limits.Embedded().Search(limits.Query{Text: name}).Exact) > 0 {
			continue
		}
		e := Proposed{Key: name}
		if cas, found := at["cas"]; found && casFault(textAt(cells, cas)) == "" {
			e.Comment = namesOfCAS(textAt(cells, cas))
		}
		g.Unknown = append(g.Unknown, e)
	}
}

// namesOfCAS says what the library of limits calls a CAS number.
func namesOfCAS(cas string) string {
	var names []string
	for _, s := range limits.Embedded().Search(limits.Query{CAS: cas}).Exact {
		names = append(names, s.Name)
	}
	if len(names) == 0 {
		return cas + " is not in the library"
	}
	return cas + " is " + strings.Join(names[:min(len(names), mostShown)], ", or ")
}

// mapping returns the mapping that is proposed, where nothing is undecided.
func (p *Proposal) mapping() *Mapping {
	m := &Mapping{Kind: MappingKind, Headings: map[string]Heading{}, Table: MappedTable{Sheet: p.Sheet.Value, HeadingRows: p.Deep}}
	for _, e := range p.Headings {
		m.Headings[e.Key] = e.Own
	}
	for _, e := range p.Table {
		switch e.Key {
		case "dates":
			m.Table.Dates = e.Value
		case "notes":
			m.Table.Notes = e.Value
		}
	}
	words := func(of []Proposed) map[string]string {
		all := map[string]string{}
		for _, e := range of {
			all[e.Key] = e.Value
		}
		return all
	}
	m.Sections, m.Suffixes, m.Qualifiers, m.Units = words(p.Sections), words(p.Suffixes), words(p.Qualifiers), words(p.Units)
	for _, s := range p.Skip {
		m.Skip = append(m.Skip, s.SkipRule)
	}
	return m
}
