package reports

import (
	"bufio"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"

	"airtally/limits"
	"airtally/stats"
)

// WriteText writes the limits for a person: substance by substance, what each
// authority says, and what must be read beside it. Where names match exactly,
// those that only contain the text are named and no more.
func (l *LimitList) WriteText(w io.Writer, how Terminal) error {
	p := &page{bufio.NewWriter(w), how.Bold}
	shown, named := l.Exact, l.Partial
	if len(shown) == 0 {
		shown, named = named, nil
	}
	p.wrapped("", "", l.title(shown))
	for _, s := range shown {
		writeSubstance(p, s, l.On)
	}
	l.writeNamed(p, named)
	writeLegend(p, shown)
	p.caution()
	return p.out.Flush()
}

func (l *LimitList) title(shown []limits.Substance) string {
	rows := 0
	for _, s := range shown {
		rows += len(s.Entries)
	}
	asked := l.asked()
	about := "The limit library"
	switch {
	case asked != "" && len(l.Exact) == 0:
		about = fmt.Sprintf("Nothing here is called %q; names that contain it", asked)
	case asked != "":
		about = fmt.Sprintf("Limits of %q", asked)
	}
	about += fmt.Sprintf(": %s, %s", counted(len(shown), "substance"), counted(rows, "row"))
	if l.Query.Sector != "" {
		about += ", sector " + string(l.Query.Sector)
	}
	if l.LeftOut > 0 {
		about += "; " + l.leftOut()
	}
	return about + "."
}

// longestEcho is how much of a query is repeated to who asked.
const longestEcho = 60

func (l *LimitList) asked() string {
	asked := strings.TrimSpace(l.Query.Text + " " + prefixed("CAS ", l.Query.CAS))
	if short := cut(asked, longestEcho); short != asked {
		return short + "…"
	}
	return asked
}

// leftOut says that the choice of authorities and sector hides rows.
func (l *LimitList) leftOut() string {
	return fmt.Sprintf("%s more without --authority and --sector", counted(l.LeftOut, "row"))
}

func (l *LimitList) writeNamed(p *page, named []limits.Substance) {
	if len(named) == 0 {
		return
	}
	p.heading("Others with it in a name or synonym; search one for its limits")
	var names []string
	for _, s := range named {
		names = append(names, s.Name)
	}
	p.wrapped("", "", strings.Join(names, "; "))
}

// party is the rows of one authority for the same sectors.
type party struct {
	heading string
	common  []string   // remarks that all rows share
	rows    [][]string // cells of the table
	remarks [][]string // of each row
}

// parties parts the rows of a substance by authority and sectors.
func parties(s limits.Substance, on time.Time) []party {
	var out []party
	gas := isGas(s)
	for _, e := range s.Entries {
		heading := partyHeading(e)
		if n := len(out); n == 0 || out[n-1].heading != heading {
			out = append(out, party{heading: heading})
		}
		last := &out[len(out)-1]
		last.rows = append(last.rows, []string{kindText(e), limitText(e), convertedText(e, gas), formText(e), e.Instrument})
		last.remarks = append(last.remarks, besides(e, s, on))
	}
	for i := range out {
		out[i].gather()
	}
	return out
}

// gather moves what all rows remark to their common heading.
func (y *party) gather() {
	if len(y.rows) < 2 {
		return
	}
	for _, remark := range y.remarks[0] {
		inAll := true
		for _, others := range y.remarks[1:] {
			inAll = inAll && slices.Contains(others, remark)
		}
		if inAll {
			y.common = append(y.common, remark)
		}
	}
	for i, own := range y.remarks {
		y.remarks[i] = slices.DeleteFunc(own, func(r string) bool { return slices.Contains(y.common, r) })
	}
}

// Indents under the name of a substance.
const (
	rowIndent    = "  "
	remarkIndent = "      "
)

func writeSubstance(p *page, s limits.Substance, on time.Time) {
	p.line("")
	for _, l := range wrap(s.Name, columns) {
		p.strong(l)
	}
	p.line(strings.Repeat("─", columns))
	if about := aboutSubstance(s); about != "" {
		p.wrapped("", "", about)
	}
	all := parties(s, on)
	t := tableOf(all)
	widths, at := t.widths(columns-len(rowIndent)), 0
	for _, y := range all {
		p.wrapped("", "", y.heading)
		p.remark(rowIndent, y.common)
		for i := range y.rows {
			for _, l := range t.row(t.rows[at], widths) {
				p.line(rowIndent + l)
			}
			p.remark(remarkIndent, y.remarks[i])
			at++
		}
	}
}

// tableOf puts the rows of all parties in one table, less the columns in which
// none has anything. The limit and its conversion stand flush right.
func tableOf(all []party) *textTable {
	var rows [][]string
	for _, y := range all {
		rows = append(rows, y.rows...)
	}
	t := &textTable{rows: make([][]string, len(rows)), right: map[int]bool{}}
	for c := range rows[0] {
		if !slices.ContainsFunc(rows, func(row []string) bool { return row[c] != "" }) {
			continue
		}
		t.right[len(t.headings)] = c == 1 || c == 2
		t.headings = append(t.headings, "")
		for i, row := range rows {
			t.rows[i] = append(t.rows[i], row[c])
		}
	}
	return t
}

func (p *page) remark(indent string, remarks []string) {
	if len(remarks) > 0 {
		p.wrapped(indent, indent, strings.Join(remarks, "; "))
	}
}

// aboutSubstance returns the CAS numbers, the weight and the other names of a
// substance.
func aboutSubstance(s limits.Substance) string {
	var numbers, names []string
	known := func(name string) bool {
		return limits.SameName(name, s.Name) || slices.ContainsFunc(names, func(n string) bool { return limits.SameName(n, name) })
	}
	weight := stats.Optional{}
	for _, e := range s.Entries {
		for _, cas := range e.CASNumbers() {
			if !slices.Contains(numbers, cas) {
				numbers = append(numbers, cas)
			}
		}
		weight = weight.OrElse(e.MolecularWeight)
		for _, name := range e.Synonyms {
			if !known(name) {
				names = append(names, name)
			}
		}
	}
	var out []string
	if len(numbers) > 0 {
		out = append(out, "CAS "+strings.Join(numbers, ", "))
	}
	if weight.Known {
		out = append(out, publishedText(weight.Value)+" g/mol")
	}
	if len(names) > 0 {
		out = append(out, "also "+strings.Join(names, "; "))
	}
	return strings.Join(out, " · ")
}

func partyHeading(e *limits.Entry) string {
	out := []string{e.Authority}
	for _, s := range e.Sectors {
		out = append(out, string(s))
	}
	if e.Use == limits.Conditional {
		out = append(out, "only where its condition holds")
	}
	return strings.Join(out, " · ")
}

// kindWords explains the kinds of limit, in the order of the legend.
var kindWords = []struct {
	kind  limits.Kind
	words string
}{
	{limits.TWA8, "8-hour average"},
	{limits.TWA10, "average of a day of up to 10 hours"},
	{limits.STEL, "average of a short time"},
	{limits.Ceiling, "not to be exceeded at any time"},
	{limits.Peak, "highest above a ceiling, for its minutes"},
	{limits.Action, "action level"},
}

// termWords explains words that lists use, by the word that must stand in a
// row for it to be explained.
var termWords = []struct{ word, words string }{
	{"Ca", "Ca a potential occupational carcinogen, as its list marks it"},
	{"mppcf", "mppcf millions of particles per cubic foot"},
}

// writeLegend explains the kinds, words and marks that were used.
func writeLegend(p *page, shown []limits.Substance) {
	kinds, terms := map[limits.Kind]bool{}, map[string]bool{}
	for _, s := range shown {
		for _, e := range s.Entries {
			kinds[e.Kind] = true
			first, _, _ := strings.Cut(e.Note+" ", " ")
			terms[strings.Trim(first, ",;")] = true
			terms[e.UnitOther] = true
		}
	}
	var out []string
	for _, k := range kindWords {
		if kinds[k.kind] {
			out = append(out, string(k.kind)+" "+k.words)
		}
	}
	for _, t := range termWords {
		if terms[t.word] {
			out = append(out, t.words)
		}
	}
	if volumes := volumesUsed(shown); len(volumes) > 0 {
		out = append(out, approximately+"computed from the value at "+strings.Join(volumes, ", "))
	}
	p.line("")
	p.wrapped("", "", strings.Join(out, "; ")+".")
}

// volumesUsed returns the molar volumes by which values were converted, with
// the authorities that they are of.
func volumesUsed(shown []limits.Substance) []string {
	users := map[float64][]string{}
	for _, s := range shown {
		gas := isGas(s)
		for _, e := range s.Entries {
			computed := strings.HasPrefix(convertedText(e, gas), approximately)
			if computed && !slices.Contains(users[e.MolarVolume], e.Authority) {
				users[e.MolarVolume] = append(users[e.MolarVolume], e.Authority)
			}
		}
	}
	var out []string
	for _, volume := range slices.Backward(slices.Sorted(maps.Keys(users))) {
		out = append(out, fmt.Sprintf("%s L/mol (%s)", publishedText(volume), strings.Join(users[volume], ", ")))
	}
	return out
}

// Missing says that nothing was found, and what may have been meant.
func (l *LimitList) Missing() string {
	asked := l.asked()
	switch {
	case l.LeftOut > 0:
		return fmt.Sprintf("no limit for %q of these authorities and in this sector; %s", asked, l.leftOut())
	case len(l.Near) > 0:
		return fmt.Sprintf("no limit for %q; did you mean: %s?", asked, strings.Join(l.Near, "; "))
	default:
		return fmt.Sprintf("no limit for %q, nor a name near it; try a part of the name, a synonym or the CAS number", asked)
	}
}
