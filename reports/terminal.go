package reports

import (
	"bufio"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/limits"
)

// Terminal says how text for a terminal is drawn.
type Terminal struct {
	Bold  bool     // headings and outcomes over a limit may be set in bold
	Files []string // what was written, for its reader to open
	Notes []string // what the reader must know about those files
}

// page is text for a terminal in the making.
type page struct {
	out  *bufio.Writer
	bold bool
}

// WriteSummary writes what a person reads first: the findings, the highest
// fractions of limits, the mixtures, the groups, where the files are, and the
// caution.
func (r *Report) WriteSummary(w io.Writer, how Terminal) error {
	p := &page{bufio.NewWriter(w), how.Bold}
	r.writeTitle(p)
	r.writeFindings(p)
	r.writeHighest(p)
	r.writeMixtures(p)
	r.writeGroupOutcomes(p)
	r.writeDue(p)
	writeFiles(p, how)
	p.caution()
	return p.out.Flush()
}

// WriteFindings writes the findings alone, sheet by sheet.
func (r *Report) WriteFindings(w io.Writer, how Terminal) error {
	p := &page{bufio.NewWriter(w), how.Bold}
	r.writeTitle(p)
	r.writeSheets(p)
	p.caution()
	return p.out.Flush()
}

func (p *page) line(s string) {
	p.out.WriteString(strings.TrimRight(s, " "))
	p.out.WriteByte('\n')
}

// strong writes a line that is bold where that may be.
func (p *page) strong(s string) {
	if p.bold {
		s = "\x1b[1m" + s + "\x1b[0m"
	}
	p.line(s)
}

func (p *page) heading(s string) {
	p.line("")
	p.strong(s)
	p.line(strings.Repeat("─", columns))
}

// wrapped writes text with the first line under one indent and the others
// under another.
func (p *page) wrapped(first, others, text string) {
	for i, l := range wrap(text, columns-max(cellsOf(first), cellsOf(others))) {
		if i == 0 {
			p.line(first + l)
		} else {
			p.line(others + l)
		}
	}
}

func (p *page) caution() {
	p.line("")
	p.wrapped("", "", Caution)
}

func (r *Report) writeTitle(p *page) {
	for _, l := range wrap(r.title(), columns) {
		p.strong(l)
	}
	s := &r.Settings
	for _, f := range [][2]string{{"Site", s.Site}, {"Client", s.Client}, {"Report number", s.ReportNumber}} {
		if f[1] != "" {
			p.wrapped("", "  ", f[0]+": "+f[1])
		}
	}
	p.wrapped("", "  ", "Read: "+r.readFrom())
	p.wrapped("", "  ", r.holds()+".")
}

// holds says how much was read and made of it: sections of a sample are rows of
// one result, and an exposure, of a worker in a shift to a substance, is averaged
// over the shift, over 8 hours and so on.
func (r *Report) holds() string {
	rows, derived := 0, 0
	for _, s := range r.Surveys {
		rows += len(s.Lab)
	}
	for i := range r.Concentrations {
		if r.Concentrations[i].IsDerived() {
			derived++
		}
	}
	results := counted(len(r.Concentrations)-derived, "result")
	if derived > 0 {
		results += fmt.Sprintf(", and %d were derived", derived)
	}
	return fmt.Sprintf("%s; %s gave %s; %s gave %s", counted(len(r.Samples), "sample"), counted(rows, "lab row"), results,
		counted(r.distinctExposures(), "exposure"), counted(len(r.Exposures), "average"))
}

// distinctExposures counts each worker, shift and substance once.
func (r *Report) distinctExposures() int {
	type one struct {
		of        *exposure.WorkerShift
		substance *exposure.Substance
	}
	met := map[one]bool{}
	for i := range r.Exposures {
		met[one{r.Exposures[i].WorkerShift, r.Exposures[i].Substance}] = true
	}
	return len(met)
}

// counted returns a count with its noun.
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// highestRows is how many lines the terminal has for the highest fractions.
const highestRows = 12

// writeHighest writes the worst of every substance under every kind of limit,
// those of an authority together under its tally.
func (r *Report) writeHighest(p *page) {
	p.heading("Highest fractions of the limits, by authority; the first governs")
	if len(r.Comparisons) == 0 {
		p.wrapped("", "", "Nothing was compared with a limit.")
		return
	}
	t := textTable{
		headings: []string{"Worker", "Shift, sample", "Analyte", "Limit", "Of limit", "Outcome"},
		right:    map[int]bool{4: true},
	}
	top, more := r.highest(highestRows)
	for _, tally := range r.tallies() {
		t.rows = append(t.rows, []string{tally.authority + ": " + tally.words()})
		for _, c := range top {
			if c.Limit.Authority == tally.authority {
				t.rows = append(t.rows, comparisonLine(c))
			}
		}
	}
	for _, l := range t.lines(columns) {
		p.line(l)
	}
	if more > 0 {
		p.wrapped("", "", fmt.Sprintf("and %d more, none of graver outcome than these", more))
	}
	if slices.ContainsFunc(top, isWorst8h) {
		p.wrapped("", "", worst8Note)
	}
}

func comparisonLine(c *exposure.Comparison) []string {
	limit := fmt.Sprintf("%s %s %s", c.Limit.Kind, publishedText(c.LimitValue), prettyUnit(c.Limit.Unit.Name))
	limit += prefixed(", ", unusualAverage(c))
	if c.Limit.FromMemory() {
		limit += ", " + limits.MemoryMark
	}
	return []string{
		c.Worker, shiftText(c.Shift, c.Sample), substanceText(c.Substance), limit,
		percentOf(c.Fraction), outcomeText(c.Outcome),
	}
}

// outcomeText sets what must not be missed in capitals, which need no colour.
func outcomeText(o limits.Outcome) string {
	if o == limits.Exceeds {
		return strings.ToUpper(string(o))
	}
	return string(o)
}

// mixtureRows is how many lines the terminal has for mixtures.
const mixtureRows = 12

func (r *Report) writeMixtures(p *page) {
	if len(r.Mixtures) == 0 {
		return
	}
	p.heading("Mixtures not shown to be below 1")
	t := textTable{
		headings: []string{"Worker", "Shift, sample", "Mixture", "Limits", "Index", "Outcome"},
		right:    map[int]bool{4: true},
	}
	for _, m := range r.mixturesNotBelow() {
		t.rows = append(t.rows, []string{m.Worker, shiftText(m.Shift, m.Sample), m.Mixture,
			m.Authority + " " + string(m.Kind), indexOf(m.Index), outcomeText(m.Outcome)})
	}
	if len(t.rows) == 0 {
		p.wrapped("", "", fmt.Sprintf("None of %s.", counted(len(r.Mixtures), "mixture")))
		return
	}
	more := len(t.rows) - mixtureRows
	t.rows = t.rows[:min(len(t.rows), mixtureRows)]
	for _, l := range t.lines(columns) {
		p.line(l)
	}
	if more > 0 {
		p.wrapped("", "", fmt.Sprintf("and %d more", more))
	}
}

func writeFiles(p *page, how Terminal) {
	if len(how.Files) == 0 {
		return
	}
	p.heading("Written")
	count, folder := map[string]int{}, map[string]string{}
	for _, f := range how.Files {
		within := filepath.Base(filepath.Dir(f))
		if within != TablesFolder && within != NoticesFolder {
			p.wrapped("", "  ", f)
			continue
		}
		count[within]++
		folder[within] = filepath.Dir(f)
	}
	if n := count[TablesFolder]; n > 0 {
		p.wrapped("", "  ", fmt.Sprintf("%s (%s, .csv)", folder[TablesFolder], counted(n, "table")))
	}
	if n := count[NoticesFolder]; n > 0 {
		p.wrapped("", "  ", fmt.Sprintf("%s (%s, .html)", folder[NoticesFolder], counted(n, "notice")))
	}
	for _, n := range how.Notes {
		p.wrapped("", "  ", n)
	}
}
