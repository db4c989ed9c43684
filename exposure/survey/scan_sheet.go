package survey

import (
	"bytes"
	"errors"
	"fmt"
	"hash/maphash"
	"slices"
	"strconv"
	"strings"
)

// The last row and the last column of a sheet, XFD: those of the spreadsheets
// in use.
const (
	lastRow    = 1 << 20
	lastColumn = 1 << 14
)

// How deep the marks of a sheet stand.
const (
	depthOfSection = iota + 2 // worksheet/sheetData
	depthOfRow
	depthOfCell
	depthOfValue
)

// gridScan reads the cells of one sheet.
type gridScan struct {
	*scanner
	m           *markup
	grid        *sheetGrid
	section     string         // of the sheet that is being read
	columns     []columnStyled // columns that have a style of their own
	columnMarks int
	row         sheetRow
	cell        cellInput
	inCell      bool
	memory      *numberMemory
}

type columnStyled struct{ first, last, style int }

// sheetRow is the row that is being read.
type sheetRow struct {
	number int // from 1
	style  int
	column int // of the cell last begun, from 1
	first  int // where its cells start
	hidden bool
}

// cellInput is the cell that is being read.
type cellInput struct {
	kind       string // the type as written
	style      int
	part       string // of the cell that is being read
	value      []byte
	inline     runs
	hasValue   bool
	hasFormula bool
}

// read reads a sheet to its end.
func (s *gridScan) read(m *markup) error {
	s.m, s.memory = m, &numberMemory{seed: maphash.MakeSeed()}
	for {
		t, err := m.next()
		switch {
		case err != nil:
			return err
		case t == endOfPart:
			return errors.Join(s.endRow(), s.grid.order())
		case s.inCell:
			err = s.within(t)
		case t == openingMark:
			err = s.open()
		}
		if err != nil {
			return err
		}
	}
}

// open takes in a mark outside cells.
func (s *gridScan) open() error {
	switch depth, name := s.m.depth(), string(s.m.name); {
	case depth == 1 && name != "worksheet":
		return fmt.Errorf("it is no sheet but %.40q", name)
	case depth == depthOfSection:
		s.section = name
	case s.section == "cols" && depth == depthOfRow && name == "col":
		if s.columnMarks++; s.columnMarks > lastColumn {
			return fmt.Errorf("it describes more than %d columns", lastColumn)
		}
		first, _ := s.m.whole("min")
		last, _ := s.m.whole("max")
		if isTrue(string(s.m.word("hidden"))) {
			s.grid.hidden.columns = append(s.grid.hidden.columns, columnRange{first - 1, last - 1})
		}
		if style, _ := s.m.whole("style"); style != 0 {
			s.columns = append(s.columns, columnStyled{first, last, style})
		}
	case s.section == "sheetData" && depth == depthOfRow && name == "row":
		return s.openRow()
	case s.section == "sheetData" && depth == depthOfCell && name == "c":
		return s.openCell()
	}
	return nil
}

func (s *gridScan) openRow() error {
	if err := s.endRow(); err != nil {
		return err
	}
	number, given := s.m.whole("r")
	if !given {
		number = s.row.number + 1
	}
	style, _ := s.m.whole("s")
	s.row = sheetRow{number: number, style: style, first: len(s.grid.cells), hidden: isTrue(string(s.m.word("hidden")))}
	if number < 1 || number > lastRow {
		return fmt.Errorf("it has a row %d; a sheet ends at row %d", number, lastRow)
	}
	return nil
}

// endRow enters the row that was read, unless it is blank.
func (s *gridScan) endRow() error {
	cells := s.grid.cells[s.row.first:]
	if len(cells) == 0 {
		return nil
	}
	byColumn := func(a, b sheetCell) int { return int(a.column) - int(b.column) }
	if !slices.IsSortedFunc(cells, byColumn) {
		slices.SortStableFunc(cells, byColumn)
	}
	for i := 1; i < len(cells); i++ {
		if cells[i].column == cells[i-1].column {
			return fmt.Errorf("it has the cell %s twice", s.name(int(cells[i].column)+1))
		}
	}
	if s.count += int(cells[len(cells)-1].column) + 1; s.count > maxCells {
		return &refusal{fmt.Sprintf("there are more than %d cells", maxCells), makeSmaller}
	}
	if s.row.hidden {
		s.grid.hidden.rows = append(s.grid.hidden.rows, int32(s.row.number))
	}
	s.grid.numbers = append(s.grid.numbers, int32(s.row.number))
	s.grid.starts = append(s.grid.starts, uint32(s.row.first))
	return nil
}

func (s *gridScan) openCell() error {
	s.cell = cellInput{value: s.cell.value[:0], inline: runs{text: s.cell.inline.text[:0]}}
	s.inCell = true
	column := s.row.column + 1
	for name, value, rest := s.m.cutAttribute(s.m.attributes); name != nil; name, value, rest = s.m.cutAttribute(rest) {
		switch string(name) {
		case "r":
			at, row, ok := cellPlace(value)
			if !ok {
				return fmt.Errorf("it has a cell %.20q in row %d, which is none; columns end at XFD", value, s.row.number)
			}
			if row != s.row.number {
				return fmt.Errorf("it has the cell %.20s in row %d", value, s.row.number)
			}
			column = at
		case "s":
			style, err := strconv.Atoi(string(value))
			if err != nil || !s.styles.has(style) {
				return fmt.Errorf("its cell %s has the style %.20q, which the workbook lacks", s.name(column), value)
			}
			s.cell.style = style
		case "t":
			s.cell.kind = typeName(value)
		}
	}
	if column > lastColumn {
		return fmt.Errorf("it has more than %d columns in row %d", lastColumn, s.row.number)
	}
	s.row.column = column
	return nil
}

// typeName returns the type of a cell, without making a text of it anew.
func typeName(value []byte) string {
	for _, known := range []string{"s", "n", "str", "inlineStr", "b", "e", "d"} {
		if string(value) == known {
			return known
		}
	}
	return "n"
}

// cellPlace reads the name of a cell such as B7.
func cellPlace(name []byte) (column, row int, ok bool) {
	i := 0
	for ; i < len(name) && i < 4; i++ {
		letter := name[i] &^ ('a' - 'A')
		if letter < 'A' || letter > 'Z' {
			break
		}
		column = column*26 + int(letter-'A') + 1
	}
	digits := name[i:]
	if column < 1 || column > lastColumn || len(digits) < 1 || len(digits) > 7 {
		return 0, 0, false
	}
	for _, d := range digits {
		if d < '0' || d > '9' {
			return 0, 0, false
		}
		row = row*10 + int(d-'0')
	}
	return column, row, true
}

func (s *gridScan) name(column int) string { return cellName(column-1, int32(s.row.number)) }

// within takes in a token of a cell.
func (s *gridScan) within(t token) (err error) {
	c := &s.cell
	switch {
	case t == closingMark && s.m.depth() < depthOfCell:
		s.inCell = false
		return s.endCell()
	case t == openingMark && s.m.depth() == depthOfValue:
		c.part = partName(s.m.name)
		c.hasValue = c.hasValue || c.part == "v"
		c.hasFormula = c.hasFormula || c.part == "f"
	case t == closingMark && s.m.depth() == depthOfCell:
		c.part = ""
	case c.part == "is":
		return c.inline.take(t, s.m, depthOfValue)
	case t == characters && c.part == "v":
		c.value, err = s.m.appendText(c.value)
	}
	return err
}

func partName(name []byte) string {
	for _, known := range []string{"v", "f", "is"} {
		if string(name) == known {
			return known
		}
	}
	return ""
}

// endCell enters the cell that was read, unless it is blank.
func (s *gridScan) endCell() error {
	c := &s.cell
	at, kind, err := s.content()
	if err != nil {
		return fmt.Errorf("its cell %s %w", s.name(s.row.column), err)
	}
	if at.length == 0 && (kind == textKind || kind == errorKind) {
		// A formula that shows nothing says so by an empty text.
		if !c.hasFormula || c.kind == "str" && c.hasValue {
			return nil
		}
		kind = formulaKind
	}
	return s.enter(sheetCell{at, uint16(s.row.column - 1), kind})
}

// enter enters a cell in its row.
func (s *gridScan) enter(c sheetCell) error {
	if len(s.grid.cells)-s.row.first >= lastColumn {
		return fmt.Errorf("it has more cells in row %d than there are columns", s.row.number)
	}
	s.grid.cells = append(s.grid.cells, c)
	return nil
}

// content returns what the cell shows.
func (s *gridScan) content() (at span, kind cellKind, err error) {
	c := &s.cell
	switch c.kind {
	case "s":
		at, err = s.sharedText(c.value)
		return at, textKind, err
	case "inlineStr":
		if len(c.inline.text) > 0 || !c.hasValue {
			at, err = s.texts.add(unescape(c.inline.text))
			return at, textKind, err
		}
		at, err = s.texts.add(unescape(c.value))
		return at, textKind, err
	case "str", "d":
		at, err = s.texts.add(unescape(c.value))
		return at, textKind, err
	case "e":
		at, err = s.texts.add(c.value)
		return at, errorKind, err
	case "b":
		at, err = s.truth(c.value)
		return at, textKind, err
	}
	return s.number(bytes.TrimSpace(c.value))
}

func (s *gridScan) sharedText(index []byte) (span, error) {
	index = bytes.TrimSpace(index)
	if len(index) == 0 {
		return span{}, nil
	}
	i, err := strconv.Atoi(string(index))
	if err != nil || i < 0 || i >= len(s.shared) {
		return span{}, fmt.Errorf("refers to the text number %.20q; the workbook holds %d", index, len(s.shared))
	}
	return s.shared[i], nil
}

func (s *gridScan) truth(value []byte) (span, error) {
	word := strings.TrimSpace(string(value))
	switch {
	case word == "":
		return span{}, nil
	case isTrue(word):
		word = "yes"
	case word == "0" || strings.EqualFold(word, "false"):
		word = "no"
	}
	return s.texts.add([]byte(word))
}

// number returns a number with what the cell shows of it.
func (s *gridScan) number(raw []byte) (span, cellKind, error) {
	if len(raw) == 0 {
		return span{}, textKind, nil
	}
	f, how, err := s.formatOf()
	if err != nil {
		return span{}, textKind, err
	}
	r := s.memory.slot(raw)
	if r.format != f || r.how != how || string(r.raw) != string(raw) {
		r.shown, r.kind, err = s.show(raw, f, how)
		r.raw, r.format, r.how = append(r.raw[:0], raw...), f, how
	}
	return r.shown, r.kind, err
}

// shownHow says how a number is shown.
type shownHow uint8

const (
	asStored shownHow = iota // the cell, its row and its column have no style
	inFull                   // only the row or the column has one, which does not show it
	asStyled
)

// formatOf returns the format of the cell. One without a style has that of its
// row or column, which says what its number is but not how it is shown.
func (s *gridScan) formatOf() (f *numberFormat, how shownHow, err error) {
	style := s.cell.style
	if style != 0 {
		how = asStyled
	} else if style = s.row.style; style == 0 {
		style = s.columnStyle()
	}
	if style != 0 && how == asStored {
		how = inFull
	}
	f, err = s.styles.format(style)
	return f, how, err
}

func (s *gridScan) columnStyle() int {
	for _, c := range s.columns {
		if c.first <= s.row.column && s.row.column <= c.last {
			return c.style
		}
	}
	return 0
}

// show enters a number, exact as stored, and as the cell shows it.
func (s *gridScan) show(raw []byte, f *numberFormat, how shownHow) (span, cellKind, error) {
	v, err := strconv.ParseFloat(string(raw), 64)
	if err != nil || !isDecimal(raw) {
		at, err := s.texts.add(raw)
		return at, textKind, err
	}
	text := string(raw)
	switch how {
	case asStyled:
		text, err = s.styles.show(f, text, v)
	case inFull:
		text = strconv.FormatFloat(v, 'f', -1, 64)
	}
	if err != nil {
		return span{}, textKind, err
	}
	powers := strings.ContainsAny(text, "eE") && !f.asksForPowers(how)
	if f.kind == numberKind && (powers || strings.Contains(text, "#")) {
		text = plainly(v)
	}
	if f.kind != numberKind && s.since1904 && v >= 1 {
		v += 1462 // days from 1899-12-30 to 1904-01-01
	}
	at, err := s.texts.addNumber(v, text)
	return at, f.kind, err
}

// isDecimal reports whether a number is written in digits, not as NaN, as
// infinite or in another base.
func isDecimal(raw []byte) bool {
	for _, c := range raw {
		if (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return false
		}
	}
	return true
}

// numberMemory remembers numbers of a sheet that were shown before: many stand
// in it more than once.
type numberMemory struct {
	seed  maphash.Seed
	slots [1 << 12]shownNumber
}

type shownNumber struct {
	raw    []byte
	format *numberFormat
	how    shownHow
	shown  span
	kind   cellKind
}

// slot is where a number is remembered, if it is.
func (n *numberMemory) slot(raw []byte) *shownNumber {
	return &n.slots[maphash.Bytes(n.seed, raw)%uint64(len(n.slots))]
}
