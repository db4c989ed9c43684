package reports

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/limits"
)

// GroupList is the groups of plain lists of exposures, judged.
type GroupList struct {
	Groups   []exposure.ListGroup
	Options  exposure.ListOptions
	Paths    []string // of the lists
	Findings []finding.Finding
	Compare  bool // the groups of each analyte with each other
	Compared []exposure.ListComparison
}

// LeftOut returns how many findings left a row, a group or its estimates out.
func (l *GroupList) LeftOut() int { return l.findings().Count(finding.Stop) }

// findings returns a report of nothing but the findings.
func (l *GroupList) findings() *Report {
	return &Report{Results: &exposure.Results{Findings: l.Findings}}
}

// WriteJSON writes the groups as a JSON array, a group a line.
func (l *GroupList) WriteJSON(w io.Writer) error {
	out := bufio.NewWriterSize(w, bufferSize)
	rows := arrayOf("groups", "", l.Groups, l.fields())
	writeRows(out, &rows)
	out.WriteByte('\n')
	return out.Flush()
}

// WriteFindings writes what was left out and what must be looked at; nothing
// where there are no findings.
func (l *GroupList) WriteFindings(w io.Writer, how Terminal) error {
	if len(l.Findings) == 0 {
		return nil
	}
	p := &page{bufio.NewWriter(w), how.Bold}
	l.findings().writeSheets(p)
	return p.out.Flush()
}

// WriteText writes the groups for a person: of each the outcome first, then
// the few figures that say it, then the details; and how they were made.
func (l *GroupList) WriteText(w io.Writer, how Terminal) error {
	p := &page{bufio.NewWriter(w), how.Bold}
	for _, line := range wrap("Groups of exposures against a limit of "+measured(l.Options.Limit, l.unit()), columns) {
		p.strong(line)
	}
	p.wrapped("", "  ", "Read: "+strings.Join(l.Paths, ", "))
	p.wrapped("", "  ", l.tally())
	for i := range l.Groups {
		g := &l.Groups[i]
		p.line("")
		for _, line := range wrap(exposure.ListGroupName(g.Group, g.Analyte), columns) {
			p.strong(line)
		}
		p.line(strings.Repeat("─", columns))
		groupText{p, &g.Statistics, g.Unit}.write()
	}
	l.writeCompared(p)
	writeMethods(p, l.Groups)
	p.caution()
	return p.out.Flush()
}

// writeCompared says whether the groups of an analyte differ.
func (l *GroupList) writeCompared(p *page) {
	if !l.Compare {
		return
	}
	p.heading("The groups compared with each other")
	if len(l.Compared) == 0 {
		p.wrapped("", "", "No analyte has two groups.")
	}
	for _, c := range l.Compared {
		said := c.Why
		if c.Fault != "" {
			said = "They cannot be compared: " + c.Fault + "."
		}
		if c.Analyte != "" {
			said = c.Analyte + ": " + said
		}
		p.wrapped("", "  ", said)
		for _, n := range c.Notes {
			p.wrapped("  Note: ", "    ", n)
		}
	}
}

// unit is that of the limit: the one stated, else the one of the groups.
func (l *GroupList) unit() limits.Unit {
	if len(l.Groups) > 0 {
		return l.Groups[0].Unit
	}
	return l.Options.Unit
}

// tally says how many groups came out how, and that something is missing.
func (l *GroupList) tally() string {
	shifts, count := 0, map[limits.Outcome]int{}
	for i := range l.Groups {
		shifts += l.Groups[i].N
		count[l.Groups[i].Outcome]++
	}
	said := fmt.Sprintf("%s in %s", counted(shifts, "exposure"), counted(len(l.Groups), "group"))
	var parts []string
	for _, o := range []limits.Outcome{limits.Exceeds, limits.Undecided, limits.Below} {
		if count[o] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", count[o], outcomeText(o)))
		}
	}
	if len(parts) > 0 {
		said += ": " + strings.Join(parts, ", ")
	}
	if n := l.LeftOut(); n > 0 {
		said += fmt.Sprintf("; left out: %d, see the findings", n)
	}
	return said + "."
}

// measured returns a figure with its unit, as a source prints it.
func measured(v float64, u limits.Unit) string {
	return strings.TrimSpace(publishedText(v) + " " + prettyUnit(u.Name))
}
