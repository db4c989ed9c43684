package reports

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
)

// mostOfAKind is how many findings of one code are told of one sheet.
const mostOfAKind = 20

// sheetFindings are the findings of one sheet or file, by place.
type sheetFindings struct {
	table, file string
	findings    []*finding.Finding
}

// writeSheets writes every finding in full, sheet by sheet as a person works
// through them, each sheet by place.
func (r *Report) writeSheets(p *page) {
	if !r.writeCounts(p) {
		return
	}
	for _, s := range severityWords {
		if r.Count(s.severity) > 0 {
			p.line(pad(strings.ToUpper(s.severity.String()), len("CHECK"), false) + "  " + s.words)
		}
	}
	for _, s := range r.bySheet() {
		p.line("")
		for _, l := range wrap(s.title(), columns) {
			p.strong(l)
		}
		s.write(p, r)
	}
}

// bySheet returns the findings by sheet, in the order of the input tables; those
// of no sheet come first, those of other files last.
func (r *Report) bySheet() []*sheetFindings {
	at := map[[2]string]*sheetFindings{}
	var all []*sheetFindings
	for i := range r.Findings {
		f := &r.Findings[i]
		key := [2]string{f.Table, f.File}
		if at[key] == nil {
			at[key] = &sheetFindings{table: f.Table, file: f.File}
			all = append(all, at[key])
		}
		at[key].findings = append(at[key].findings, f)
	}
	for _, s := range all {
		slices.SortStableFunc(s.findings, byPlace)
	}
	slices.SortStableFunc(all, func(a, b *sheetFindings) int {
		return cmp.Or(cmp.Compare(tableOrder(a.table), tableOrder(b.table)), strings.Compare(a.file, b.file))
	})
	return all
}

// tableOrder is where a table stands among the input tables: -1 for none.
func tableOrder(table string) int {
	tables := survey.Descriptions()
	at := slices.IndexFunc(tables, func(d *survey.Description) bool { return d.Name == table })
	if at < 0 && table != "" {
		return len(tables)
	}
	return at
}

// byPlace sorts by row and column, then the gravest first.
func byPlace(a, b *finding.Finding) int {
	return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(len(a.Cell), len(b.Cell)), strings.Compare(a.Cell, b.Cell),
		cmp.Compare(b.Severity, a.Severity), strings.Compare(string(a.Code), string(b.Code)))
}

// title names a sheet, its file, and how many findings it has.
func (s *sheetFindings) title() string {
	var counts []string
	for _, w := range severityWords {
		n := 0
		for _, f := range s.findings {
			if f.Severity == w.severity {
				n++
			}
		}
		if n > 0 {
			counts = append(counts, fmt.Sprintf("%d %s", n, w.severity))
		}
	}
	name := strings.Join(slices.DeleteFunc([]string{s.table, s.file}, func(part string) bool { return part == "" }), " · ")
	if name == "" {
		name = "the whole"
	}
	return name + ": " + strings.Join(counts, ", ")
}

// write writes the findings of a sheet, a kind up to so many times. A remedy
// that several of a kind in a row share is said once, after the last of them.
func (s *sheetFindings) write(p *page, r *Report) {
	told := map[finding.Code]int{}
	var shown []*finding.Finding
	var kinds []finding.Code
	for _, f := range s.findings {
		if told[f.Code]++; told[f.Code] == 1 {
			kinds = append(kinds, f.Code)
		}
		if told[f.Code] <= mostOfAKind {
			shown = append(shown, f)
		}
	}
	for i, f := range shown {
		s.writeOne(p, r, f)
		if next := i + 1; next == len(shown) || shown[next].Remedy != f.Remedy || shown[next].Code != f.Code {
			writeRemedy(p, f.Remedy)
		}
	}
	for _, code := range kinds {
		if more := told[code] - mostOfAKind; more > 0 {
			p.line(fmt.Sprintf("  and %d more: %s, %d in all", more, codeWords(code), told[code]))
		}
	}
}

// writeOne writes where a finding stands in its sheet, what it is, and what it
// says.
func (s *sheetFindings) writeOne(p *page, r *Report, f *finding.Finding) {
	at := f.Place
	at.File = "" // the title names it
	where := strings.TrimPrefix(at.String(), ":")
	if at.Row == 0 && at.Cell == "" {
		where = ""
	}
	p.wrapped("  ", "    ", strings.TrimPrefix(where+" · ", " · ")+strings.ToUpper(f.Severity.String())+" · "+codeWords(f.Code))
	for _, l := range wrap(saidOf(f), columns-6) {
		p.line("      " + l)
	}
	if len(f.Also) > 0 {
		p.wrapped("      ", "        ", "All its places: "+r.everyPlace(f))
	}
}
