package survey

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"unsafe"
)

// texts holds what cells show, one text behind the other. A number stands in
// eight bytes before the text that shows it.
type texts struct{ bytes []byte }

// span is where a text stands.
type span struct{ at, length uint32 }

// maxShownBytes bounds what the cells of a workbook show; where a text stands
// fits 32 bits.
var maxShownBytes = 1 << 30

const numberBytes = 8

func (t *texts) add(text []byte) (span, error) {
	if len(t.bytes)+len(text)+numberBytes > maxShownBytes {
		return span{}, &refusal{fmt.Sprintf("its cells hold more than %d MB of text", maxShownBytes>>20), makeSmaller}
	}
	at := span{uint32(len(t.bytes)), uint32(len(text))}
	t.bytes = append(t.bytes, text...)
	return at, nil
}

func (t *texts) addNumber(v float64, shown string) (span, error) {
	t.bytes = binary.LittleEndian.AppendUint64(t.bytes, math.Float64bits(v))
	return t.add([]byte(shown))
}

// text returns a text. Nobody writes over it, so it can share the bytes.
func (t *texts) text(at span) string {
	if at.length == 0 {
		return ""
	}
	return unsafe.String(&t.bytes[at.at], at.length)
}

func (t *texts) number(at span) float64 {
	return math.Float64frombits(binary.LittleEndian.Uint64(t.bytes[at.at-numberBytes:]))
}

// sheetCell is a cell that is not blank, in 12 bytes.
type sheetCell struct {
	shown  span
	column uint16 // from 0
	kind   cellKind
}

// sheetGrid is a sheet in memory: its cells that are not blank, row by row.
type sheetGrid struct {
	texts   *texts
	cells   []sheetCell
	numbers []int32  // of the rows that are not blank, rising
	starts  []uint32 // where the cells of each row start

	hidden    hiddenParts
	since1904 bool // its days are counted from 1904
}

func (g *sheetGrid) rows() []int32 { return g.numbers }

func (g *sheetGrid) doubtful() bool { return true }

// read appends the cells of a row up to its last that is not blank.
func (g *sheetGrid) read(row int32, into []cell) []cell {
	i, found := slices.BinarySearch(g.numbers, row)
	if !found {
		return into
	}
	first := len(into)
	for _, c := range g.cellsOf(i) {
		for len(into)-first < int(c.column) {
			into = append(into, cell{})
		}
		read := cell{text: g.texts.text(c.shown), kind: c.kind}
		if c.kind == numberKind || c.kind == dateKind || c.kind == timeKind {
			read.number = g.texts.number(c.shown)
		}
		into = append(into, read)
	}
	return into
}

// order puts the rows in their order, and fails where one stands twice.
func (g *sheetGrid) order() error {
	if !slices.IsSorted(g.numbers) {
		g.sortRows()
	}
	for i := 1; i < len(g.numbers); i++ {
		if g.numbers[i] == g.numbers[i-1] {
			return fmt.Errorf("it has the row %d twice", g.numbers[i])
		}
	}
	return nil
}

func (g *sheetGrid) sortRows() {
	places := make([]int, len(g.numbers))
	for i := range places {
		places[i] = i
	}
	slices.SortStableFunc(places, func(a, b int) int { return int(g.numbers[a] - g.numbers[b]) })
	sorted := sheetGrid{cells: make([]sheetCell, 0, len(g.cells))}
	for _, i := range places {
		sorted.numbers = append(sorted.numbers, g.numbers[i])
		sorted.starts = append(sorted.starts, uint32(len(sorted.cells)))
		sorted.cells = append(sorted.cells, g.cellsOf(i)...)
	}
	g.cells, g.numbers, g.starts = sorted.cells, sorted.numbers, sorted.starts
}

// cellsOf returns the cells of a row, by its place among those not blank.
func (g *sheetGrid) cellsOf(i int) []sheetCell {
	end := len(g.cells)
	if i+1 < len(g.starts) {
		end = int(g.starts[i+1])
	}
	return g.cells[g.starts[i]:end]
}
