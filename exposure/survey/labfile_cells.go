package survey

import (
	"slices"
	"strings"
	"time"
	"unicode"
)

// besides are the columns that other columns of the lab table are made of too.
type besides struct{ sample, qualifier int }

// over puts the sign for over before a result that has none.
func over(c cell) cell {
	text := strings.TrimSpace(c.text)
	if c.kind == numberKind {
		text = plainly(c.number)
	}
	if text == "" || strings.ContainsAny(text[:1], "<>") {
		return c
	}
	return cell{text: ">" + text}
}

// maker returns what makes a column of the lab table of the cells of a row, nil
// where the cells of the file are taken as they are.
func (l *lift) maker(c *Column, from int, beside besides, own Heading) func(cells []cell) cell {
	sample, qualifier := beside.sample, beside.qualifier
	switch {
	case c.Name == "sample" && own.Sample == "" && len(l.Suffixes) > 0:
		return func(cells []cell) cell {
			id, suffix := l.cutSuffix(textAt(cells, from))
			if suffix == "" {
				return cells[from]
			}
			return cell{text: id}
		}
	case c.Name == "section":
		return l.sectionMaker(from, sample, own)
	case c.Name == "qualifier" && from >= 0 && len(l.Qualifiers) > 0:
		return func(cells []cell) cell {
			return cell{text: strings.TrimSpace(strings.ReplaceAll(l.meaning(textAt(cells, from)), ">", ""))}
		}
	case c.Name == "result" && len(l.Qualifiers) > 0:
		return func(cells []cell) cell {
			made := l.resultCell(cells[from])
			if qualifier >= 0 && strings.Contains(l.meaning(textAt(cells, qualifier)), ">") {
				return over(made)
			}
			return made
		}
	case c.Name == "unit" && from >= 0 && len(l.Units) > 0:
		return func(cells []cell) cell { return cell{text: translated(l.Units, textAt(cells, from))} }
	}
	return nil
}

// translated returns what stands for a text in a table of words, the text
// itself where it is not among them.
func translated(words map[string]string, text string) string {
	for written, meant := range words {
		if sameHeading(written, text) {
			return meant
		}
	}
	return text
}

// cutSuffix cuts the longest suffix that names a section off a sample's number.
func (m *Mapping) cutSuffix(id string) (without, suffix string) {
	for written := range m.Suffixes {
		if len(written) > len(suffix) && len(id) > len(written) && strings.EqualFold(id[len(id)-len(written):], written) {
			suffix = written
		}
	}
	return strings.TrimSpace(id[:len(id)-len(suffix)]), suffix
}

// sectionMaker makes the section of what the mapping says of the column of
// results, of the section column, and of the end of the sample's number. Where
// they differ, the text names them all, which is no section.
func (l *lift) sectionMaker(from, sample int, own Heading) func(cells []cell) cell {
	constant := firstText(own.Section, l.Constants["section"])
	if constant == "" && from < 0 && len(l.Suffixes) == 0 {
		return nil
	}
	return func(cells []cell) cell {
		var said []string
		say := func(section string) {
			if section != "" && !slices.Contains(said, section) {
				said = append(said, section)
			}
		}
		say(constant)
		if from >= 0 {
			say(translated(l.Sections, textAt(cells, from)))
		}
		if _, suffix := l.cutSuffix(textAt(cells, sample)); suffix != "" {
			say(l.Suffixes[suffix])
		}
		return cell{text: strings.Join(said, " and ")}
	}
}

// meaning returns a qualifier in the letters of a lab table. What the mapping
// does not know stays as it is.
func (m *Mapping) meaning(text string) string {
	if meant, known := m.wordMeaning(text); known {
		return meant
	}
	var all []string
	for _, word := range qualifierWords(text) {
		meant, known := m.wordMeaning(word)
		if !known {
			meant = word
		}
		all = append(all, meant)
	}
	return strings.TrimSpace(strings.Join(all, " "))
}

func qualifierWords(text string) []string {
	return strings.FieldsFunc(text, func(c rune) bool { return unicode.IsSpace(c) || strings.ContainsRune(",;/+&", c) })
}

// unknownWords returns the words of a qualifier whose meaning the mapping does
// not state.
func (m *Mapping) unknownWords(text string) []string {
	if _, known := m.wordMeaning(text); known || isBlank(text) {
		return nil
	}
	return slices.DeleteFunc(qualifierWords(text), func(word string) bool {
		_, known := m.wordMeaning(word)
		return known
	})
}

func (m *Mapping) wordMeaning(word string) (letters string, known bool) {
	for written, meant := range m.Qualifiers {
		if sameHeading(written, word) {
			return meanings[meant], true
		}
	}
	return "", false
}

// resultCell returns a result with its words and letters in those of a lab
// table.
func (m *Mapping) resultCell(c cell) cell {
	text := strings.TrimSpace(c.text)
	if c.kind != textKind || text == "" {
		return c
	}
	if meant, known := m.wordMeaning(text); known {
		if meant == "U" || meant == "<" {
			return cell{text: "ND"}
		}
		return c
	}
	number, behind := cutNumber(strings.TrimLeft(text, "<>≤≥=~ "))
	if meant, known := m.wordMeaning(behind); known && number != "" {
		before := text[:len(text)-len(behind)]
		if meant == "<" || meant == ">" {
			return cell{text: meant + strings.TrimSpace(before)}
		}
		return cell{text: strings.TrimSpace(before) + " " + meant}
	}
	return c
}

// monthNamed returns the month of an English name or its first letters, three at
// least.
func monthNamed(text string) (int, bool) {
	for m := time.January; m <= time.December; m++ {
		if n := len(text); n >= 3 && n <= len(m.String()) && strings.EqualFold(text, m.String()[:n]) {
			return int(m), true
		}
	}
	return 0, false
}
