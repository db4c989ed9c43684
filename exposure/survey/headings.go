package survey

import (
	"strings"
	"unicode"

	"airtally/exposure/finding"
)

// NameAsHeaded puts the headings of the surveys' own tables, in quotation
// marks, for the names of columns that findings speak of: a person looks for
// what stands in the file. Only names with a stroke, such as run_min, are sure
// to be names; others are words too.
func NameAsHeaded(findings []finding.Finding, surveys []*Survey) {
	headings := make([]headings, len(surveys))
	for i, s := range surveys {
		headings[i] = s.headings()
	}
	for i := range findings {
		f := &findings[i]
		for k, s := range surveys {
			if len(headings[k]) > 0 && (len(surveys) == 1 || s.holds(f.File)) {
				f.Message = headings[k].speak(f.Table, f.Message)
				f.Remedy = headings[k].speak(f.Table, f.Remedy)
				break
			}
		}
	}
}

// headings are what columns are headed by where it is not their name, by table
// and column. Those under "" are any table's.
type headings map[string]map[string]string

func (s *Survey) headings() headings {
	h := headings{}
	for _, t := range s.Tables {
		if t.foreign != nil {
			continue // findings name its headings as they are
		}
		for _, f := range t.fields {
			for _, part := range f.parts {
				if own := ownHeading(t.headers[part.at]); !strings.EqualFold(own, part.Name) {
					h.add(t.Name, part.Name, own)
				}
			}
		}
	}
	return h
}

func (h headings) add(table, column, heading string) {
	for _, of := range []string{table, ""} {
		if h[of] == nil {
			h[of] = map[string]string{}
		}
		if _, known := h[of][column]; !known || of == table {
			h[of][column] = heading
		}
	}
}

// ownHeading returns a heading without what the starter workbook adds to it
// for the eye alone; a unit stays.
func ownHeading(header string) string {
	header = strings.Join(strings.Fields(header), " ")
	name, inside := cutBrackets(header)
	if inside == RequiredMark || inside == fractionMark || strings.HasPrefix(inside, dayPattern) {
		return strings.TrimSpace(name)
	}
	return header
}

// holds reports whether the survey was read from a file.
func (s *Survey) holds(file string) bool {
	if file == s.Path {
		return true
	}
	for _, t := range s.Tables {
		if t.File == file {
			return true
		}
	}
	return false
}

// speak puts headings for the names of columns in a text about a table.
func (h headings) speak(table, text string) string {
	if !strings.Contains(text, "_") {
		return text
	}
	var b strings.Builder
	for text != "" {
		n := strings.IndexFunc(text, isNamePart)
		if n < 0 {
			break
		}
		b.WriteString(text[:n])
		quoted := n > 0 && text[n-1] == '"' // what was read
		text = text[n:]
		end := strings.IndexFunc(text, func(r rune) bool { return !isNamePart(r) })
		if end < 0 {
			end = len(text)
		}
		b.WriteString(h.named(table, text[:end], quoted))
		text = text[end:]
	}
	b.WriteString(text)
	return b.String()
}

func (h headings) named(table, name string, quoted bool) string {
	if quoted || !strings.Contains(name, "_") {
		return name
	}
	for _, of := range []string{table, ""} {
		if heading, ok := h[of][name]; ok {
			return `"` + heading + `"`
		}
	}
	return name
}

func isNamePart(r rune) bool { return r == '_' || unicode.IsLetter(r) || unicode.IsDigit(r) }
