package reports

import (
	"fmt"
	"io"
	"strings"
	"unicode"

	"airtally/exposure/survey"
)

// WriteMapping writes a proposed mapping as the file it is to be, with what
// speaks for each entry beside it.
func WriteMapping(w io.Writer, p *survey.Proposal) error {
	m := mappingText{}
	m.head(p)
	m.line("kind = "+tomlText(survey.MappingKind), "")
	m.table(p)
	m.begin("headings", `heading of the laboratory = column of the lab table; "-": not read`)
	for _, e := range p.Headings {
		m.entry(e.Key, heading(e), e.Comment)
	}
	m.end()
	m.entries("constants", "column = what holds for all rows", p.Constants)
	m.entries("sections", "word of the laboratory = front, back, pre or post", p.Sections)
	m.entries("suffixes", "end of a sample's number = section; the end is cut off", p.Suffixes)
	m.entries("qualifiers", "letter or word = not-detected, under or over (the figure), estimated, over-range, diluted, in-blank or nothing", p.Qualifiers)
	m.entries("units", "unit of the laboratory = unit of the lab table", p.Units)
	m.analytes(p)
	for _, rule := range p.Skip {
		m.skip(rule)
	}
	_, err := io.WriteString(w, m.String())
	return err
}

// mappingText is a mapping as it is being written. The entries of one table are
// held until their widest is known, so that the comments line up.
type mappingText struct {
	strings.Builder
	held [][2]string
}

// widestEntry is up to where comments line up.
const widestEntry = 46

func (m *mappingText) head(p *survey.Proposal) {
	open := len(p.Doubts())
	m.comment(fmt.Sprintf("How airtally reads this laboratory's files; proposed from %s.", p.Path))
	below := "nothing is below them"
	if p.ResultRows != "" {
		below = "what is below them in rows " + p.ResultRows
	}
	m.comment(fmt.Sprintf("Headings in %s; %s.", p.HeadingRows, below))
	if p.Sheet.Value == "" && p.Sheet.Comment != "" {
		m.comment("Sheets: " + p.Sheet.Comment + ".")
	}
	switch {
	case open == 0:
		m.comment("Nothing is left open. Look through it before it is used.")
	case open == 1:
		m.comment(`One entry is to be decided, marked "?"; until then the mapping is refused.`)
	default:
		m.comment(fmt.Sprintf(`%d entries are to be decided, marked "?"; until then the mapping is refused.`, open))
	}
	for _, column := range p.Lacking {
		m.comment(fmt.Sprintf("No heading is understood as the %s: write %q for one of them.", column, column))
	}
	m.WriteByte('\n')
}

func (m *mappingText) table(p *survey.Proposal) {
	if p.Sheet.Value == "" && p.Deep < 2 && len(p.Table) == 0 {
		return
	}
	m.begin("table", "where the results stand and how they are written")
	if p.Sheet.Value != "" {
		m.hold("sheet = "+tomlText(p.Sheet.Value), p.Sheet.Comment)
	}
	if p.Deep > 1 {
		m.hold(fmt.Sprintf("heading_rows = %d", p.Deep), "headings are spread over these rows; names above several columns belong to each")
	}
	for _, e := range p.Table {
		value := tomlText(e.Value)
		if e.Key == "fill_down" {
			value = "[" + value + "]"
		}
		m.hold(e.Key+" = "+value, e.Comment)
	}
	m.end()
}

// heading writes what a heading is: a column, or one with what holds for it
// alone.
func heading(e survey.Proposed) string {
	var parts []string
	own := e.Own
	for _, part := range []struct{ key, value string }{
		{"section", own.Section}, {"analyte", own.Analyte}, {"cas", own.CAS}, {"unit", own.Unit}, {"of", own.Of},
	} {
		if part.value != "" {
			parts = append(parts, part.key+" = "+tomlText(part.value))
		}
	}
	if parts == nil {
		return tomlText(e.Value)
	}
	return "{ column = " + tomlText(e.Value) + ", " + strings.Join(parts, ", ") + " }"
}

func (m *mappingText) entries(table, says string, all []survey.Proposed) {
	if len(all) == 0 {
		return
	}
	m.begin(table, says)
	for _, e := range all {
		m.entry(e.Key, tomlText(e.Value), e.Comment)
	}
	m.end()
}

// analytes shows how names that the library does not know are given those of
// the survey.
func (m *mappingText) analytes(p *survey.Proposal) {
	if len(p.Unknown) == 0 {
		return
	}
	m.WriteString("\n# [analytes]\n")
	m.comment("The library of limits does not know these names. Each stands as it is, or, without")
	m.comment("the # before it and before [analytes], as what is written here.")
	for _, e := range p.Unknown {
		m.hold("# "+tomlText(plainLine(e.Key))+` = ""`, e.Comment)
	}
	m.end()
}

func (m *mappingText) skip(rule survey.ProposedSkip) {
	m.WriteString("\n[[skip]]\n")
	if rule.Comment != "" {
		m.comment(rule.Comment)
	}
	m.line("heading = "+tomlText(rule.Heading), "")
	for _, way := range []struct {
		key   string
		texts []string
	}{{"is", rule.Is}, {"begins", rule.Begins}} {
		if len(way.texts) == 0 {
			continue
		}
		var quoted []string
		for _, text := range way.texts {
			quoted = append(quoted, tomlText(text))
		}
		m.line(way.key+" = ["+strings.Join(quoted, ", ")+"]", "")
	}
	if rule.Decided != "" {
		m.line("decided = "+tomlText(rule.Decided), "")
	}
}

func (m *mappingText) begin(table, says string) {
	m.WriteString("\n[" + table + "]\n")
	m.comment(says)
}

func (m *mappingText) entry(key, value, comment string) { m.hold(tomlText(key)+" = "+value, comment) }

func (m *mappingText) hold(entry, comment string) { m.held = append(m.held, [2]string{entry, comment}) }

func (m *mappingText) end() {
	widest := 0
	for _, e := range m.held {
		if n := cellsOf(e[0]); n <= widestEntry {
			widest = max(widest, n)
		}
	}
	for _, e := range m.held {
		entry := e[0]
		if e[1] != "" {
			entry += strings.Repeat(" ", max(0, widest-cellsOf(entry)))
		}
		m.line(entry, e[1])
	}
	m.held = nil
}

func (m *mappingText) line(entry, comment string) {
	m.WriteString(entry)
	if comment != "" {
		m.WriteString("  # " + plainLine(comment))
	}
	m.WriteByte('\n')
}

func (m *mappingText) comment(text string) { m.WriteString("# " + plainLine(text) + "\n") }

// plainLine returns a text of a file as a comment may hold it.
func plainLine(text string) string {
	return strings.Join(strings.FieldsFunc(text, func(c rune) bool { return unicode.IsSpace(c) || unicode.IsControl(c) }), " ")
}

// tomlText writes a text in the quotation marks of TOML.
func tomlText(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, c := range text {
		switch {
		case c == '"' || c == '\\':
			b.WriteRune('\\')
			b.WriteRune(c)
		case unicode.IsControl(c):
			fmt.Fprintf(&b, `\u%04X`, c)
		default:
			b.WriteRune(c)
		}
	}
	b.WriteByte('"')
	return b.String()
}
