package reports

import (
	"regexp"
	"strconv"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// sheetRows writes the rows of a sheet (ECMA-376 part 1, 18.3.1.73),
// compressed as they come: there may be more of them than memory should hold.
type sheetRows struct {
	to      *deflated
	b       []byte
	columns []string
}

func newSheetRows(columns int) *sheetRows {
	s := &sheetRows{to: deflate(), b: emptyBlock(), columns: make([]string, columns)}
	for i := range s.columns {
		s.columns[i] = letters(i)
	}
	return s
}

// add adds a row of cells; height 0 leaves it to the program that reads it.
func (s *sheetRows) add(row int, height float64, cells []excelize.Cell) {
	s.b = strconv.AppendInt(append(s.b, `<row r="`...), int64(row), 10)
	if height > 0 {
		s.b = append(s.b, `" ht="`...)
		s.b = strconv.AppendFloat(s.b, height, 'f', -1, 64)
		s.b = append(s.b, `" customHeight="1`...)
	}
	s.b = append(s.b, `">`...)
	for i := range cells {
		s.cell(s.columns[i], row, &cells[i])
	}
	s.b = append(s.b, "</row>"...)
	if len(s.b) >= blockSize {
		s.flush()
	}
}

func (s *sheetRows) flush() {
	s.to.take(s.b)
	s.b = emptyBlock()
}

// end hands the last rows on.
func (s *sheetRows) end() *deflated {
	s.flush()
	s.to.pause()
	return s.to
}

func (s *sheetRows) cell(column string, row int, c *excelize.Cell) {
	text, isText := c.Value.(string)
	if c.StyleID == 0 && c.Formula == "" && c.Value == nil {
		return
	}
	s.b = append(append(s.b, `<c r="`...), column...)
	s.b = strconv.AppendInt(s.b, int64(row), 10)
	if c.StyleID > 0 {
		s.b = strconv.AppendInt(append(s.b, `" s="`...), int64(c.StyleID), 10)
	}
	switch {
	case isText && c.Formula != "":
		s.b = append(s.b, `" t="str`...)
	case isText:
		s.b = append(s.b, `" t="inlineStr`...)
	}
	s.b = append(s.b, `">`...)
	if c.Formula != "" {
		s.b = append(s.b, "<f>"...)
		s.b = appendXML(s.b, c.Formula)
		s.b = append(s.b, "</f>"...)
	}
	s.value(c, text, isText)
	s.b = append(s.b, "</c>"...)
}

func (s *sheetRows) value(c *excelize.Cell, text string, isText bool) {
	switch {
	case isText && c.Formula != "":
		s.b = append(appendXML(append(s.b, "<v>"...), escaped(text)), "</v>"...)
	case isText:
		s.b = append(appendXML(append(s.b, `<is><t xml:space="preserve">`...), escaped(text)), "</t></is>"...)
	case c.Value != nil:
		v, _ := c.Value.(float64)
		s.b = append(appendHeld(append(s.b, "<v>"...), v), "</v>"...)
	}
}

// appendHeld appends a number as a cell holds it, and as what is compared with
// a cell must be written: at 15 digits, past which spreadsheets cut it off.
func appendHeld(b []byte, v float64) []byte {
	return strconv.AppendFloat(b, v, 'G', 15, 64)
}

// hexEscape is what the text of a cell holds where a program would read one
// character instead (ECMA-376 part 1, 22.9.2.19).
var hexEscape = regexp.MustCompile(`_x[0-9A-Fa-f]{4}_`)

// escaped keeps a text that looks like such an escape as it is.
func escaped(text string) string {
	if !hexEscape.MatchString(text) {
		return text
	}
	return hexEscape.ReplaceAllStringFunc(text, func(found string) string { return "_x005F" + found })
}

// plainXML holds the bytes that stand for themselves in XML.
var plainXML = func() (plain [256]bool) {
	for c := byte(' '); c < utf8.RuneSelf; c++ {
		plain[c] = c != '&' && c != '<' && c != '>'
	}
	plain['\t'], plain['\n'] = true, true
	return plain
}()

// appendXML appends text as XML has it. Characters that XML cannot hold become
// the replacement character.
func appendXML(b []byte, text string) []byte {
	from := 0
	for i := 0; i < len(text); {
		if plainXML[text[i]] {
			i++
			continue
		}
		r, size := rune(text[i]), 1
		if r >= utf8.RuneSelf {
			r, size = utf8.DecodeRuneInString(text[i:])
		}
		entity := ""
		switch {
		case r == '&':
			entity = "&amp;"
		case r == '<':
			entity = "&lt;"
		case r == '>':
			entity = "&gt;"
		case r == '\r':
			entity = "&#xD;"
		case r < ' ', r == utf8.RuneError && size == 1, r == 0xFFFE, r == 0xFFFF:
			entity = string(utf8.RuneError)
		}
		if entity != "" {
			b = append(append(b, text[from:i]...), entity...)
			from = i + size
		}
		i += size
	}
	return append(b, text[from:]...)
}
