package reports

import (
	"fmt"
	"slices"
	"strings"

	"airtally/exposure/finding"
)

// lineBudget is how many lines the findings of one code may take, by severity.
// The first is always shown whole.
type lineBudget map[finding.Severity]int

var (
	summaryLines = lineBudget{finding.Stop: 20, finding.Check: 10, finding.Note: 5}
	checkLines   = lineBudget{finding.Stop: 20, finding.Check: 20, finding.Note: 20}
)

// severityWords says what each severity did to the results, the gravest first.
var severityWords = []struct {
	severity finding.Severity
	words    string
}{
	{finding.Stop, "left out of the results"},
	{finding.Check, "look before the figure is used"},
	{finding.Note, "worth knowing"},
}

func (r *Report) writeFindings(p *page, budget lineBudget) {
	var counts []string
	for _, s := range severityWords {
		counts = append(counts, fmt.Sprintf("%d %s", r.Count(s.severity), s.severity))
	}
	p.heading("Findings: " + strings.Join(counts, ", "))
	if len(r.Findings) == 0 {
		p.line("Nothing to report.")
		return
	}
	for i, s := range severityWords {
		if i > 0 && r.Count(s.severity) > 0 {
			p.line("")
		}
		r.writeSeverity(p, s.severity, s.words, budget[s.severity])
	}
}

func (r *Report) writeSeverity(p *page, s finding.Severity, words string, budget int) {
	groups := r.byCode(s)
	if len(groups) == 0 {
		return
	}
	p.strong(strings.ToUpper(s.String()) + " · " + words)
	for _, g := range groups {
		writeGroup(p, g, budget)
	}
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
func writeGroup(p *page, group []*finding.Finding, budget int) {
	p.line("  " + codeWords(group[0].Code) + " (" + fmt.Sprint(len(group)) + ")")
	used, shown := 0, 0
	for _, f := range group {
		lines := findingLines(f)
		if shown > 0 {
			if used+len(lines) > budget {
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
	said := f.Message
	if f.Subject != "" && !strings.Contains(f.Message, f.Subject) {
		said = f.Subject + ": " + f.Message
	}
	var lines []string
	if at := f.Place.String(); at != "" {
		lines = wrap(at, columns-len(indent))
	}
	lines = slices.Concat(lines, indented("  ", wrap(said, columns-len(indent)-2)))
	return indented(indent, lines)
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
