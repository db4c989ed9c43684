package reports

import (
	"math"
	"regexp"
	"strconv"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// rowsBlock is how many bytes of rows are handed on at a time.
const rowsBlock = 1 << 17

// sheetRows writes the rows of a sheet (ECMA-376 part 1, 18.3.1.73),
// compressed as they come: there may be more of them than memory should hold.
type sheetRows struct {
	to      *deflated
	b       []byte
	columns []string
}

func newSheetRows(columns int) *sheetRows {
	s := &sheetRows{to: deflate(), b: make([]byte, 0, rowsBlock+1<<12), columns: make([]string, columns)}
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
	if len(s.b) >= rowsBlock {
		s.flush()
	}
}

func (s *sheetRows) flush() {
	s.to.write(s.b)
	s.b = make([]byte, 0, cap(s.b))
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
		s.b = append(appendCellNumber(append(s.b, "<v>"...), v), "</v>"...)
	}
}

func appendCellNumber(b []byte, v float64) []byte {
	if size := math.Abs(v); size != 0 && (size < 1e-5 || size >= 1e15) {
		return strconv.AppendFloat(b, v, 'E', -1, 64)
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
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

// appendXML appends text as XML has it. Characters that XML cannot hold become
// the replacement character.
func appendXML(b []byte, text string) []byte {
	from := 0
	for i := 0; i < len(text); {
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
		case r == '\t' || r == '\n':
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
