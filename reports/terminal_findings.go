package reports

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
)

// fullLines is how many lines the findings of one code may take in full.
const fullLines = 20

// severityWords says what each severity did to the results, the gravest first.
var severityWords = []struct {
	severity finding.Severity
	words    string
}{
	{finding.Stop, "left out of the results"},
	{finding.Check, "look before the figure is used"},
	{finding.Note, "worth knowing"},
}

// writeCounts writes how many findings of each severity there are, and returns
// whether there are any.
func (r *Report) writeCounts(p *page) bool {
	var counts []string
	for _, s := range severityWords {
		counts = append(counts, fmt.Sprintf("%d %s", r.Count(s.severity), s.severity))
	}
	p.heading("Findings: " + strings.Join(counts, ", "))
	if len(r.Findings) == 0 {
		p.line("Nothing to report.")
	}
	return len(r.Findings) > 0
}

// writeFindings writes what was left out in full, and a line for each code of
// the rest.
func (r *Report) writeFindings(p *page) {
	if !r.writeCounts(p) {
		return
	}
	first := true
	for _, s := range severityWords {
		groups := r.byCode(s.severity)
		if len(groups) == 0 {
			continue
		}
		if !first {
			p.line("")
		}
		first = false
		p.strong(strings.ToUpper(s.severity.String()) + " · " + s.words)
		if s.severity != finding.Stop {
			r.writeBrief(p, groups)
			continue
		}
		for _, g := range groups {
			writeGroup(p, g)
		}
	}
	if r.Count(finding.Check)+r.Count(finding.Note) > 0 {
		p.line("")
		p.line("In full, with what to do: airtally check, or the findings in the files below.")
	}
}

// writeBrief writes a line for each code: how often, what, and where first.
func (r *Report) writeBrief(p *page, groups [][]*finding.Finding) {
	words := 0
	for _, g := range groups {
		words = max(words, cellsOf(codeWords(g[0].Code)))
	}
	for _, g := range groups {
		begin := fmt.Sprintf("%6d  ", len(g)) + pad(codeWords(g[0].Code), words, false) + "  "
		p.line(begin + r.firstPlaces(g, columns-cellsOf(begin)))
	}
}

// firstPlaces returns as many places of the findings as fit in most columns.
func (r *Report) firstPlaces(group []*finding.Finding, most int) string {
	const more = ", …"
	said := ""
	for i, f := range group {
		next := printable(r.briefPlace(f))
		if said != "" {
			next = said + ", " + next
		}
		room := most
		if i < len(group)-1 {
			room -= cellsOf(more)
		}
		if cellsOf(next) > room {
			return strings.TrimPrefix(said+more, ", ")
		}
		said = next
	}
	return said
}

// briefPlace names a place without its file where there is only one. The files
// of laboratories are always named.
func (r *Report) briefPlace(f *finding.Finding) string {
	at := f.Place
	if len(r.Surveys) == 1 && !r.ofLaboratory(at.File) {
		at.File = ""
	}
	return strings.TrimPrefix(at.String(), ":")
}

// mostPlaces is how many places, or runs of them, are told of one finding.
const mostPlaces = 30

// everyPlace names all places of a finding, rows that follow each other as one:
// "flows!F12, F14 to F19".
func (r *Report) everyPlace(f *finding.Finding) string {
	all := append([]finding.Place{f.Place}, f.Also...)
	slices.SortFunc(all, byColumn)
	all = slices.Compact(all)
	var said []string
	runs, before := 0, finding.Place{}
	for from, to := 0, 0; from < len(all); from = to {
		for to = from + 1; to < len(all) && followsOn(all[to-1], all[to]); to++ {
		}
		if runs++; runs > mostPlaces {
			continue
		}
		words := r.shortPlace(all[from], before)
		if to-from > 1 {
			words += " to " + placeInSheet(all[to-1])
		}
		said, before = append(said, words), all[from]
	}
	if runs > mostPlaces {
		said = append(said, fmt.Sprintf("and %d more", runs-mostPlaces))
	}
	return strings.Join(said, ", ")
}

// byColumn orders places by table, column and row.
func byColumn(a, b finding.Place) int {
	if a.File != b.File || a.Table != b.Table {
		return cmp.Or(strings.Compare(a.File, b.File), cmp.Compare(tableOrder(a.Table), tableOrder(b.Table)), strings.Compare(a.Table, b.Table))
	}
	x, y := columnOf(a), columnOf(b)
	return cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(x, y), cmp.Compare(a.Row, b.Row))
}

// followsOn reports whether b stands in the row below a, in the same column.
func followsOn(a, b finding.Place) bool {
	return a.File == b.File && a.Table == b.Table && a.Row > 0 && columnOf(a) == columnOf(b) && b.Row == a.Row+1
}

// columnOf returns the letters of the column of a place.
func columnOf(p finding.Place) string { return strings.TrimRight(p.Cell, "0123456789") }

// placeInSheet names a place for a reader who knows the sheet.
func placeInSheet(p finding.Place) string {
	switch {
	case p.Cell != "":
		return p.Cell
	case p.Row > 0:
		return fmt.Sprintf("row %d", p.Row)
	}
	return p.String()
}

// shortPlace names a place, without its sheet where that is the one before it.
func (r *Report) shortPlace(p, before finding.Place) string {
	if before != (finding.Place{}) && p.File == before.File && p.Table == before.Table {
		return placeInSheet(p)
	}
	return r.briefPlace(&finding.Finding{Place: p})
}

// ofLaboratory reports whether a file is a laboratory's own, or how it is read.
func (r *Report) ofLaboratory(file string) bool {
	return slices.ContainsFunc(r.Read, func(t survey.Together) bool {
		return slices.ContainsFunc(t.Labs, func(l survey.LabGiven) bool {
			return l.File.Path == file || l.Map != nil && l.Map.Path == file
		})
	})
}

// byCode returns the findings of one severity, those of a code together, by
// the first of each.
func (r *Report) byCode(s finding.Severity) [][]*finding.Finding {
	at := map[finding.Code]int{}
	var groups [][]*finding.Finding
	for i := range r.Findings {
		f := &r.Findings[i]
		if f.Severity != s {
			continue
		}
		n, met := at[f.Code]
		if !met {
			n = len(groups)
			at[f.Code] = n
			groups = append(groups, nil)
		}
		groups[n] = append(groups[n], f)
	}
	return groups
}

// writeGroup writes the findings of one code until the lines are used up. A
// remedy that several in a row share is said once, after the last of them.
func writeGroup(p *page, group []*finding.Finding) {
	p.line("  " + codeWords(group[0].Code) + " (" + fmt.Sprint(len(group)) + ")")
	used, shown := 0, 0
	for _, f := range group {
		lines := findingLines(f)
		if shown > 0 {
			if used+len(lines) > fullLines {
				break
			}
			if before := group[shown-1].Remedy; before != f.Remedy {
				used += writeRemedy(p, before)
			}
		}
		for _, l := range lines {
			p.line(l)
		}
		used += len(lines)
		shown++
	}
	writeRemedy(p, group[shown-1].Remedy)
	if more := len(group) - shown; more > 0 {
		p.line(fmt.Sprintf("    and %d more", more))
	}
}

// codeWords returns a code as words: "flow-drift" as "Flow drift".
func codeWords(c finding.Code) string {
	s := printable(strings.ReplaceAll(string(c), "-", " "))
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func findingLines(f *finding.Finding) []string {
	const indent = "    "
	var lines []string
	if at := f.Place.String(); at != "" {
		lines = wrap(at, columns-len(indent))
	}
	lines = slices.Concat(lines, indented("  ", wrap(saidOf(f), columns-len(indent)-2)))
	return indented(indent, lines)
}

// saidOf returns what a finding says, with those of its subjects that it does
// not name itself before it.
func saidOf(f *finding.Finding) string {
	if unsaid := notIn(f.Message, f.Subject); unsaid != "" {
		return unsaid + ": " + f.Message
	}
	return f.Message
}

// notIn returns those of the subjects that the message does not name itself.
func notIn(message, subjects string) string {
	var kept []string
	for s := range strings.SplitSeq(subjects, ", ") {
		if !strings.Contains(message, s) {
			kept = append(kept, s)
		}
	}
	return strings.Join(kept, ", ")
}

func indented(by string, lines []string) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = by + l
	}
	return out
}

func writeRemedy(p *page, remedy string) int {
	lines := wrap("To do: "+remedy, columns-6)
	for _, l := range lines {
		p.line("      " + l)
	}
	return len(lines)
}
