package reports

import (
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/xuri/excelize/v2"
)

// Widths of columns, in characters of the workbook's font; heights in points.
const (
	narrowest    = 7.0
	widest       = 30.0
	proseWidth   = 54.0
	remarkWidth  = 24.0
	lookedAt     = 2000 // rows that decide a width
	headingLines = 3
	lineHeight   = 13.0
	rowPadding   = 4.0 // above and below the text together
	charPadding  = 1.8
	cellEdges    = 1.5 // of a column's width, on both sides of its text
	insetWidth   = 1.5 // of a text set in
)

// Widths of what is printed of a sheet, in characters.
const (
	uprightWidth = 95.0  // that a page takes upright
	printedWidth = 180.0 // that a page takes across, in a size that is read without effort
	leastProse   = 36.0
	leastRemark  = 18.0
)

// setWidths sets the widths of the columns, the last first: the stream puts
// each before those it has.
func setWidths(sw *excelize.StreamWriter, widths []float64) error {
	for i := len(widths) - 1; i >= 0; i-- {
		if err := sw.SetColWidth(i+1, i+1, widths[i]); err != nil {
			return err
		}
	}
	return nil
}

// widths returns widths that fit what the columns show.
func (a *array) widths(columns []int) []float64 {
	w := make([]float64, len(columns))
	for i, at := range columns {
		most := widest
		switch a.fields[at].show {
		case prose:
			most = proseWidth
		case remark:
			most = remarkWidth
		}
		longest := max(float64(a.longest(at))+charPadding, headingWidth(a.fields[at].heading))
		w[i] = min(max(longest, narrowest), most)
	}
	a.squeeze(columns, w)
	return w
}

// squeeze takes width from the texts that wrap where what is printed would be
// too small to be read on paper, if that is enough.
func (a *array) squeeze(columns []int, w []float64) {
	over, spare := -printedWidth, 0.0
	least := func(i int) float64 {
		switch a.fields[columns[i]].show {
		case prose:
			return min(w[i], leastProse)
		case remark:
			return min(w[i], leastRemark)
		}
		return w[i]
	}
	for i, at := range columns {
		if !a.fields[at].aside {
			over, spare = over+w[i], spare+w[i]-least(i)
		}
	}
	if over <= 0 || over > spare {
		return
	}
	for i, at := range columns {
		if !a.fields[at].aside {
			w[i] = math.Ceil(w[i] - over/spare*(w[i]-least(i)))
		}
	}
}

// orientation returns how a sheet is printed: upright where that takes its
// columns, for it has more rows a page.
func (a *array) orientation(printed []int) string {
	sum := 0.0
	for _, width := range a.widths(printed) {
		sum += width
	}
	if sum <= uprightWidth {
		return "portrait"
	}
	return "landscape"
}

// longest returns how long the longest entry of a column is; of texts that
// may wrap, the longest but for the tenth that are longer still.
func (a *array) longest(at int) int {
	show := a.fields[at].show
	lengths := make([]int, 0, min(a.rows, lookedAt))
	for row := range min(a.rows, lookedAt) {
		if n := shownLength(a.cell(row, at), show); n > 0 {
			lengths = append(lengths, n)
		}
	}
	if len(lengths) == 0 {
		return 0
	}
	slices.Sort(lengths)
	if show == prose {
		return lengths[(len(lengths)-1)*9/10]
	}
	return lengths[len(lengths)-1]
}

// headingWidth returns the width in which a heading takes few lines, beside
// the button of its filter.
func headingWidth(heading string) float64 {
	longest := cellsOf(heading) / headingLines
	for _, word := range strings.Fields(heading) {
		longest = max(longest, cellsOf(word))
	}
	return float64(longest) + 1 + charPadding
}

func shownLength(c cell, show showing) int {
	switch c.form {
	case isNumber:
		if show == percent {
			return len("100.0 %")
		}
		if math.Abs(c.number) >= exponentFrom {
			return len("1.00E+07")
		}
		return len(fixed(c.number, decimals(c.number, c.mark)))
	case isMoment:
		return len("2026-03-02 22:10")
	default:
		words := c.words()
		return max(cellsOf(words), int(math.Ceil(inked(words))))
	}
}

// textLines returns how many lines a text takes in a column. It wraps by the
// inked width, for small letters are narrower than the digits that a column's
// width counts.
func textLines(words string, width float64) int {
	cells := cellsOf(words)
	if cells == 0 {
		return 1
	}
	room := (width - cellEdges) / max(inked(words)/float64(cells), 0.1)
	return len(wrap(words, max(1, int(room))))
}

// inked returns how wide a text is, in digits: a rough sum over the classes of
// letters that sans-serif faces have, on the wide side.
func inked(s string) float64 {
	sum := 0.0
	for _, r := range s {
		if r < unicode.MaxASCII {
			sum += inkedASCII[r]
		} else {
			sum += inkedRune(r)
		}
	}
	return sum
}

var inkedASCII = func() (all [unicode.MaxASCII]float64) {
	for r := range all {
		all[r] = inkedRune(rune(r))
	}
	return all
}()

func inkedRune(r rune) float64 {
	switch {
	case strings.ContainsRune("ijl .,;:'|!", r):
		return 0.5
	case strings.ContainsRune("tfr()[]-", r):
		return 0.7
	case strings.ContainsRune("mwMW%@—…", r):
		return 1.5
	case unicode.IsUpper(r):
		return 1.15
	}
	return float64(runeCells(r))
}

// headingHeight returns the height of the header row that shows every heading
// whole; a heading has less room than its column, for the filter's button.
func (a *array) headingHeight(columns []int, widths []float64) float64 {
	lines := 1
	for i, at := range columns {
		lines = max(lines, textLines(a.fields[at].heading, widths[i]-0.5))
	}
	return rowHeight(lines) + rowPadding
}

// height returns the height of a row of cells that shows its texts whole: not
// every program that opens a workbook sees to it.
func (a *array) height(cells []cell, columns []int, widths []float64) float64 {
	lines := 1
	for i, at := range columns {
		if !mayWrap(cells[i], a.fields[at].show) {
			continue
		}
		if words := cells[i].words(); len(words) > int(widths[i]/2) {
			lines = max(lines, textLines(words, a.roomIn(at, widths[i])))
		}
	}
	return rowHeight(lines)
}

// roomIn returns what a column's width leaves to its text, edges included.
func (a *array) roomIn(field int, width float64) float64 {
	if standsIn(a.fields[field].show) {
		return width - insetWidth
	}
	return width
}

func rowHeight(lines int) float64 {
	return math.Min(float64(lines)*lineHeight+rowPadding, excelize.MaxRowHeight)
}
