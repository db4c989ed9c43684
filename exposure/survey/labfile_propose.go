package survey

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"airtally/limits"
)

// Proposal is a mapping as it may be, with what speaks for each entry. What is
// Undecided in it a person must decide.
type Proposal struct {
	Path        string
	Sheet       Proposed   // the value is "" where the file has a single table
	Deep        int        // rows that a heading is spread over
	HeadingRows string     // the rows that hold the headings
	ResultRows  string     // the first and the last row below that hold anything
	Table       []Proposed // decimal, dates, fill_down, notes
	Headings    []Proposed // these and the following in the order of the file
	Constants   []Proposed
	Sections    []Proposed
	Suffixes    []Proposed
	Qualifiers  []Proposed
	Units       []Proposed
	Skip        []ProposedSkip
	Lacking     []string   // columns without which no result is read, and that no heading gives
	Unknown     []Proposed // analytes whose names the library of limits does not know, without a value

	source source
}

// Proposed is one entry of a proposed mapping.
type Proposed struct {
	Key, Value string
	Own        Heading // what holds for a column of results alone
	Comment    string
}

// ProposedSkip is a proposed rule to skip rows.
type ProposedSkip struct {
	SkipRule
	Comment string
}

// Propose proposes how a file of a laboratory is read, by its headings and its
// cells. sheet is "" where any sheet may hold the results. It fails, with
// *UnusableError, where there is no table to be seen.
func (r Reader) Propose(path, sheet string) (*Proposal, error) {
	o, err := r.openLab(path, discard())
	if err != nil {
		return nil, err
	}
	return propose(path, o.sources, sheet)
}

// Doubts returns what is undecided, each with what speaks for which.
func (p *Proposal) Doubts() []string {
	var all []string
	add := func(where string, entries []Proposed) {
		for _, e := range entries {
			if strings.Contains(e.Value, Undecided) {
				all = append(all, where+strconv.Quote(e.Key)+": "+e.Comment)
			}
		}
	}
	if p.Sheet.Value == Undecided {
		all = append(all, "sheet: "+p.Sheet.Comment)
	}
	add("", p.Headings)
	add("", p.Table)
	add("constant ", p.Constants)
	add("section ", p.Sections)
	add("suffix ", p.Suffixes)
	add("qualifier ", p.Qualifiers)
	add("unit ", p.Units)
	for _, s := range p.Skip {
		if s.Decided == Undecided {
			all = append(all, fmt.Sprintf("skip %q: %s", s.Heading, s.Comment))
		}
	}
	for _, column := range p.Lacking {
		all = append(all, "no heading is understood as the "+column)
	}
	return all
}

// layout is where a table of results may stand.
type layout struct {
	source   source
	at, deep int // index of the first row of headings among the rows, and how many
	headings []string
	score    int
}

// propose proposes a mapping for opened sheets.
func propose(path string, sources []source, sheet string) (*Proposal, error) {
	var found []layout
	filled := 0
	for _, src := range sources {
		if sheet != "" && !sameHeading(sheet, src.name) || sheet == "" && src.hidden || src.grid == nil || len(src.grid.rows()) == 0 {
			continue
		}
		filled++
		if l := bestLayout(src); l.score >= fewestUnderstood*aColumn {
			found = append(found, l)
		}
	}
	if len(found) == 0 {
		return nil, noLayout(path, sources, sheet)
	}
	slices.SortStableFunc(found, func(a, b layout) int { return b.score - a.score })
	g := newGuesser(path, found[0])
	g.Sheet = chosenSheet(found, filled)
	g.guess()
	return g.Proposal, nil
}

// fewestUnderstood is how many headings must be understood for a row to be
// taken as headings.
const fewestUnderstood = 3

func noLayout(path string, sources []source, sheet string) error {
	var names []string
	for _, src := range sources {
		names = append(names, src.name)
	}
	if sheet != "" && !slices.ContainsFunc(names, func(n string) bool { return sameHeading(n, sheet) }) {
		return &UnusableError{path, fmt.Sprintf("has no sheet %q; it has %s", sheet, strings.Join(names, ", ")), "name one of them with --sheet"}
	}
	return &UnusableError{path, fmt.Sprintf("has no row in which %d headings of a laboratory's results are understood", fewestUnderstood),
		"give the file with the results; where its headings are of another kind, write the mapping by hand (README, Laboratory files)"}
}

// chosenSheet says which sheet is proposed, where there are several.
func chosenSheet(found []layout, filled int) Proposed {
	best := found[0]
	if filled < 2 {
		return Proposed{}
	}
	var alike, others []string
	for _, l := range found[1:] {
		switch {
		case slices.EqualFunc(l.headings, best.headings, sameHeading):
			alike = append(alike, l.source.name)
		case l.score >= best.score-aColumn:
			others = append(others, l.source.name)
		}
	}
	p := Proposed{Key: "sheet", Value: best.source.name}
	switch {
	case len(others) > 0:
		p.Value = Undecided
		p.Comment = fmt.Sprintf("%s, or %s: both look like results", best.source.name, strings.Join(others, ", "))
	case len(alike) > 0:
		return Proposed{Comment: fmt.Sprintf("the same headings stand on %s and %s: all are read", best.source.name, strings.Join(alike, ", "))}
	}
	return p
}

// bestLayout finds the row, or the two rows, of a sheet that are likeliest its
// headings.
func bestLayout(src source) layout {
	best := layout{source: src}
	rows := src.grid.rows()
	for deep := 1; deep <= 2; deep++ {
		for i := 0; i+deep <= len(rows) && i < mostTitleRows; i++ {
			if deep > 1 && countFilled(src.grid.read(rows[i], nil)) < 2 {
				continue // a title, or nothing
			}
			headings := headingsAt(src.grid, rows[i:i+deep])
			if score := understoodAmong(headings, deep == 1); score > best.score {
				best = layout{src, i, deep, headings, score}
			}
		}
	}
	return best
}

// understoodAmong counts the different columns that headings lead to; units in
// them count for less than any column. A row with numbers in it is no row of
// headings. A known word within a heading counts only where that is allowed.
func understoodAmong(headings []string, within bool) int {
	columns, units := map[string]bool{}, 0
	for _, h := range headings {
		if _, trouble := parseNumber(h, spoken); trouble == readable {
			return 0
		}
		u := understand(h)
		switch {
		case u.column != "" && u.column != Unused && (within || !u.partly):
			columns[u.column+u.section] = true
		case namesSubstance(h):
			columns[h] = true
		}
		if _, isUnit := labUnitText(u.unit); isUnit {
			units++
		}
	}
	return len(columns)*aColumn + min(units, aColumn-1)
}

// aColumn is what a column that is understood counts.
const aColumn = 100

// libraryNames are all names of the library of limits, simplified.
var libraryNames = sync.OnceValue(func() map[string]bool {
	names := map[string]bool{}
	for _, e := range limits.Embedded().Entries() {
		for _, name := range append([]string{e.Analyte}, e.Synonyms...) {
			names[simplify(name)] = true
		}
	}
	return names
})

// namesSubstance reports whether a heading, less its unit and section, is a
// name in the library of limits.
func namesSubstance(heading string) bool {
	name, _ := cutHeadingUnit(heading)
	rest, _ := cutSectionWord(name)
	return libraryNames()[simplify(name)] || rest != "" && libraryNames()[simplify(rest)]
}

// headingMeaning is what the words of a heading say.
type headingMeaning struct {
	column, section, unit string
	partly                bool // a word within the heading says it
}

// understand reads the words of a heading.
func understand(heading string) headingMeaning {
	if column := columnOfWord[simplify(heading)]; column != "" {
		return headingMeaning{column: column}
	}
	name, unit := cutHeadingUnit(heading)
	m := headingMeaning{unit: unit}
	if m.column = columnOfWord[simplify(name)]; m.column != "" {
		return m
	}
	rest, section := cutSectionWord(name)
	m.section = section
	switch column := columnOfWord[simplify(rest)]; {
	case section != "" && rest == "", rest == "" && unit != "":
		m.column = "result"
	case section != "" && column != "":
		m.column = column
	default:
		m.section = ""
		m.column, m.partly = columnWithin(name), true
	}
	return m
}

// cutHeadingUnit cuts a unit off the end of a heading, in brackets or not.
func cutHeadingUnit(heading string) (name, unit string) {
	name, inside := cutBrackets(heading)
	if inside != "" {
		return name, inside
	}
	for i, c := range heading {
		if i > 0 && !strings.ContainsRune(" ,:/", c) {
			continue
		}
		end := strings.Trim(heading[i:], " ,:/")
		_, isUnit := labUnitText(end)
		if isUnit && (len([]rune(end)) > 1) {
			return strings.TrimRight(heading[:i], " ,:/"), end
		}
	}
	return heading, ""
}

// cutSectionWord takes the word for a section out of a heading. A letter alone
// may as well be the symbol of an element.
func cutSectionWord(name string) (rest, section string) {
	if len(simplify(name)) < 2 {
		return name, ""
	}
	if section = sectionOfWord[simplify(name)]; section != "" {
		return "", section
	}
	var kept []string
	for _, word := range strings.FieldsFunc(name, func(c rune) bool { return strings.ContainsRune(" ,:;/()-_", c) }) {
		if of := sectionOfWord[simplify(word)]; of != "" && section == "" && len(simplify(word)) > 1 {
			section = of
			continue
		}
		kept = append(kept, word)
	}
	return strings.Join(kept, " "), section
}

// shortestWithin is how many letters a word must have to be looked for within a
// heading.
const shortestWithin = 5

// columnWithin returns the column of the longest known word within a heading.
func columnWithin(heading string) string {
	key, best, longest := simplify(heading), "", 0
	for word, column := range columnOfWord {
		n := len(word)
		if n >= shortestWithin && strings.Contains(key, word) && (n > longest || n == longest && column < best) {
			best, longest = column, n
		}
	}
	return best
}
