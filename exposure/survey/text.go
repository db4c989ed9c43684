package survey

import (
	"bytes"
	"strings"
	"unicode/utf8"
	"unsafe"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// decodeText returns the text of a file in UTF-8 without its byte order mark,
// and the encoding that it had to be taken for because it is neither UTF-8 nor
// marked as UTF-16; "" where nothing had to be guessed.
func decodeText(raw []byte) (text, guessed string) {
	order := unicode.LittleEndian
	switch {
	case bytes.HasPrefix(raw, []byte{0xFF, 0xFE}), bytes.HasPrefix(raw, []byte{0xFE, 0xFF}):
		raw = transformed(raw, unicode.UTF16(order, unicode.UseBOM).NewDecoder())
	case unmarkedUTF16(raw, &order):
		raw, guessed = transformed(raw, unicode.UTF16(order, unicode.IgnoreBOM).NewDecoder()), "UTF-16"
	case !utf8.Valid(raw):
		raw, guessed = transformed(raw, charmap.Windows1252.NewDecoder()), "Windows-1252"
	}
	// Nobody writes to the bytes again, so the text can share them.
	text = strings.TrimPrefix(unsafe.String(unsafe.SliceData(raw), len(raw)), "\uFEFF")
	if !strings.Contains(text, "\n") {
		text = strings.ReplaceAll(text, "\r", "\n")
	}
	return text, guessed
}

// unmarkedUTF16 reports whether a text is UTF-16 without a mark, and in which
// order its bytes are: every second byte of plain letters is zero.
func unmarkedUTF16(raw []byte, order *unicode.Endianness) bool {
	const most = 1024
	var zeros [2]int
	head := raw[:min(len(raw), most)]
	for i, b := range head {
		if b == 0 {
			zeros[i%2]++
		}
	}
	if zeros[0] > zeros[1] {
		*order = unicode.BigEndian
	}
	return len(raw)%2 == 0 && min(zeros[0], zeros[1]) == 0 && max(zeros[0], zeros[1]) > len(head)/3
}

// transformed applies a decoder that replaces what it cannot decode and so
// never fails; were it to, what was decoded so far stands.
func transformed(raw []byte, t transform.Transformer) []byte {
	out, _, _ := transform.Bytes(t, raw)
	return out
}

// maxQuotedLines is how many lines one quoted cell may span. A quote that is
// not closed by then is taken as a stray one, or it would swallow the file.
const maxQuotedLines = 100

// textGrid is a delimited text in memory. Cells are cut out of it when asked
// for; only where its lines start is kept beside it.
type textGrid struct {
	text      string
	delimiter byte
	lineStart []uint32 // of every physical line
	records   []int32  // the line that each record starts on, from 1
	stray     []int32  // records with a quote that nothing closes
}

// newTextGrid finds the delimiter and the records of a text.
func newTextGrid(text string) *textGrid {
	g := &textGrid{text: text}
	first := 0
	g.delimiter, first = sniff(text)
	g.findLines()
	g.findRecords(first)
	return g
}

func (g *textGrid) findLines() {
	g.lineStart = make([]uint32, 0, strings.Count(g.text, "\n")+1)
	for at := 0; at < len(g.text); {
		g.lineStart = append(g.lineStart, uint32(at))
		end := strings.IndexByte(g.text[at:], '\n')
		if end < 0 {
			return
		}
		at += end + 1
	}
}

func (g *textGrid) findRecords(skip int) {
	g.records = make([]int32, 0, len(g.lineStart))
	quotes := strings.Contains(g.text, `"`)
	for line := skip; line < len(g.lineStart); line++ {
		g.records = append(g.records, int32(line+1))
		if !quotes || !strings.Contains(g.line(line), `"`) {
			continue
		}
		_, lines, closed := g.split(line, nil)
		if !closed {
			g.stray = append(g.stray, int32(line+1))
		}
		line += lines - 1
	}
}

// line returns a physical line, counted from 0, without its end.
func (g *textGrid) line(i int) string {
	end := len(g.text)
	if i+1 < len(g.lineStart) {
		end = int(g.lineStart[i+1])
	}
	s := g.text[g.lineStart[i]:end]
	return strings.TrimSuffix(strings.TrimSuffix(s, "\n"), "\r")
}

// rows returns the numbers of the records: the physical lines they start on.
func (g *textGrid) rows() []int32 { return g.records }

// read appends the cells of the record that starts on a line.
func (g *textGrid) read(row int32, into []cell) []cell {
	into, _, _ = g.split(int(row)-1, into)
	return into
}

// doubtful reports whether commas can stand in the cells of the text, or
// whether its delimiter says that commas may be decimal.
func (g *textGrid) doubtful() bool {
	return g.delimiter != ',' || strings.Contains(g.text, `"`)
}

// split cuts the record that starts on line start into cells and says how
// many lines it takes. A quote that nothing closes is an ordinary character.
func (g *textGrid) split(start int, into []cell) (cells []cell, lines int, closed bool) {
	line := g.line(start)
	if strings.IndexByte(line, '"') < 0 {
		return splitPlain(line, g.delimiter, into), 1, true
	}
	kept := len(into)
	lines = 1
	for at := 0; ; {
		value, next, more, ok := g.quoted(start, line, at)
		if !ok {
			return splitPlain(line, g.delimiter, into[:kept]), 1, false
		}
		if more > 0 {
			start, lines = start+more, lines+more
			line = g.line(start)
		}
		into = append(into, cell{text: value})
		if next > len(line) {
			return into, lines, true
		}
		at = next
	}
}

// quoted reads the cell that starts at byte at of a line, quoted or not. It
// returns where the next cell starts (past the line after the last), and how
// many further lines the cell took; next counts in the last of them.
func (g *textGrid) quoted(start int, line string, at int) (value string, next, more int, ok bool) {
	if at >= len(line) || line[at] != '"' {
		end := strings.IndexByte(line[at:], g.delimiter)
		if end < 0 {
			return line[at:], len(line) + 1, 0, true
		}
		return line[at : at+end], at + end + 1, 0, true
	}
	var b strings.Builder
	for from := at + 1; ; {
		i := strings.IndexByte(line[from:], '"')
		if i < 0 {
			more++
			if more > maxQuotedLines || start+more >= len(g.lineStart) {
				return "", 0, 0, false
			}
			b.WriteString(line[from:])
			b.WriteByte('\n')
			line, from = g.line(start+more), 0
			continue
		}
		b.WriteString(line[from : from+i])
		from += i + 1
		switch {
		case from == len(line):
			return b.String(), len(line) + 1, more, true
		case line[from] == g.delimiter:
			return b.String(), from + 1, more, true
		case line[from] == '"':
			from++
		}
		b.WriteByte('"') // a doubled quote, or a stray one kept as it is
	}
}

// splitPlain cuts a line without quotes.
func splitPlain(line string, delimiter byte, into []cell) []cell {
	for {
		i := strings.IndexByte(line, delimiter)
		if i < 0 {
			return append(into, cell{text: line})
		}
		into = append(into, cell{text: line[:i]})
		line = line[i+1:]
	}
}
