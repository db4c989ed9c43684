package reports

import (
	"strings"
	"unicode"

	"golang.org/x/text/width"
)

// columns is how wide the text for a terminal may be.
const columns = 80

// Wrapped returns s in lines that a terminal shows whole.
func Wrapped(s string) string { return strings.Join(wrap(s, columns), "\n") }

// printable replaces what would move the cursor of a terminal or turn its
// text: control and formatting characters of a survey's names and notes.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsPrint(r):
			return r
		default:
			return unicode.ReplacementChar
		}
	}, s)
}

// cellsOf returns how many columns of a terminal s takes.
func cellsOf(s string) int {
	n := 0
	for _, r := range s {
		n += runeCells(r)
	}
	return n
}

func runeCells(r rune) int {
	if r < 0x300 { // before the first combining mark all take one
		return 1
	}
	if unicode.Is(unicode.Mn, r) {
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	default:
		return 1
	}
}

// wrap breaks s at spaces into lines of at most the given width; a word that
// is longer is cut.
func wrap(s string, most int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(printable(s)) {
		if line != "" && cellsOf(line)+1+cellsOf(word) <= most {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for cellsOf(word) > most {
			head := cut(word, most)
			lines = append(lines, head)
			word = word[len(head):]
		}
		line = word
	}
	return append(lines, line)
}

// cut returns the beginning of s that fits in most columns, one rune at least.
func cut(s string, most int) string {
	n := 0
	for i, r := range s {
		if n += runeCells(r); n > most && i > 0 {
			return s[:i]
		}
	}
	return s
}

func pad(s string, to int, right bool) string {
	blank := strings.Repeat(" ", max(0, to-cellsOf(s)))
	if right {
		return blank + s
	}
	return s + blank
}

// textTable is a table for a terminal. Cells that do not fit are wrapped.
type textTable struct {
	headings []string
	right    map[int]bool // columns set flush right
	rows     [][]string   // one of a single cell takes the whole width
}

const tableGap = 2

// widths returns the width of each column so that the table takes at most most
// columns: the widest gives way until it fits.
func (t *textTable) widths(most int) []int {
	w := make([]int, len(t.headings))
	total := tableGap * (len(w) - 1)
	for i := range w {
		w[i] = cellsOf(t.headings[i])
		for _, row := range t.rows {
			if len(row) > 1 {
				w[i] = max(w[i], cellsOf(row[i]))
			}
		}
		total += w[i]
	}
	for ; total > most; total-- {
		widest := 0
		for i := range w {
			if w[i] > w[widest] {
				widest = i
			}
		}
		w[widest]--
	}
	return w
}

// lines returns the table as lines, the headings first.
func (t *textTable) lines(most int) []string {
	w := t.widths(most)
	out := t.row(t.headings, w)
	for i, row := range t.rows {
		if len(row) == 1 {
			if i > 0 {
				out = append(out, "")
			}
			out = append(out, wrap(row[0], most)...)
			continue
		}
		out = append(out, t.row(row, w)...)
	}
	return out
}

func (t *textTable) row(cells []string, w []int) []string {
	wrapped := make([][]string, len(cells))
	tall := 0
	for i, c := range cells {
		wrapped[i] = wrap(c, w[i])
		tall = max(tall, len(wrapped[i]))
	}
	out := make([]string, tall)
	for n := range out {
		var parts []string
		for i := range wrapped {
			s := ""
			if n < len(wrapped[i]) {
				s = wrapped[i][n]
			}
			parts = append(parts, pad(s, w[i], t.right[i]))
		}
		out[n] = strings.TrimRight(strings.Join(parts, strings.Repeat(" ", tableGap)), " ")
	}
	return out
}
