package survey

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Bounds of a workbook. A packed file can unfold to anything.
var (
	maxUnpackedBytes int64 = 1 << 30
	maxCells               = 12_000_000
)

// sheetGrid is a sheet in memory.
type sheetGrid struct {
	cells   [][]cell // by row from 1; nil where a row is blank
	numbers []int32  // the rows that are not blank
}

func (g *sheetGrid) rows() []int32 { return g.numbers }

func (g *sheetGrid) read(row int32, into []cell) []cell { return append(into, g.cells[row-1]...) }

func (g *sheetGrid) doubtful() bool { return true }

// openWorkbook reads those sheets of a workbook that are wanted by their names;
// of the others only the names matter.
func (r Reader) openWorkbook(path string, size int64, wanted func(name string) bool) (opened, error) {
	unusable := func(what, remedy string) (opened, error) {
		return opened{}, &UnusableError{path, what, remedy}
	}
	if size > maxUnpackedBytes {
		return unusable(fmt.Sprintf("is larger than %d MB", maxUnpackedBytes>>20), "split the survey, or give a folder of .csv files")
	}
	raw, err := r.from.read(path)
	if err != nil {
		return unusable("cannot be read: "+plainCause(err), "check your rights to the file")
	}
	switch {
	case bytes.HasPrefix(raw, []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1")):
		return unusable("is an encrypted workbook or one of the old .xls kind", "save it as .xlsx without a password")
	case !bytes.HasPrefix(raw, []byte("PK\x03\x04")):
		return unusable("is not a workbook", "give an .xlsx workbook or a folder of .csv files")
	}
	if err := intact(raw); err != nil {
		return unusable("cannot be read as a workbook: "+err.Error(), "save it again as .xlsx in a spreadsheet")
	}
	f, err := excelize.OpenReader(bytes.NewReader(raw), excelize.Options{UnzipSizeLimit: maxUnpackedBytes, UnzipXMLSizeLimit: maxUnpackedBytes})
	if err != nil {
		return unusable("cannot be read as a workbook: "+err.Error(), "save it again as .xlsx in a spreadsheet")
	}
	sources, err := readSheets(f, path, wanted)
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return unusable("cannot be read as a workbook: "+err.Error(), "save it again as .xlsx in a spreadsheet")
	}
	return opened{sources, Given{Path: path, Inputs: []Input{{path, digest(raw), r.from}}}}, nil
}

func readSheets(f *excelize.File, path string, wanted func(name string) bool) ([]source, error) {
	properties, err := f.GetWorkbookProps()
	if err != nil {
		return nil, err
	}
	w := &workbook{File: f, styles: make(map[int]cellKind), since1904: properties.Date1904 != nil && *properties.Date1904}
	var sources []source
	for _, name := range f.GetSheetList() {
		visible, err := f.GetSheetVisible(name)
		if err != nil {
			return nil, err
		}
		s := source{file: path, name: name, hidden: !visible}
		if wanted(name) {
			if s.grid, err = w.sheet(name); err != nil {
				return nil, fmt.Errorf("sheet %s: %w", name, err)
			}
		}
		sources = append(sources, s)
	}
	return sources, nil
}

// workbook reads cells; it remembers which styles show dates.
type workbook struct {
	*excelize.File
	styles    map[int]cellKind
	since1904 bool
	count     int // cells so far
}

func (w *workbook) sheet(name string) (*sheetGrid, error) {
	raw, err := w.rawRows(name)
	if err != nil {
		return nil, err
	}
	g := &sheetGrid{cells: make([][]cell, len(raw))}
	for i, texts := range raw {
		for at, text := range texts {
			c, err := w.cell(name, cellName(at, int32(i+1)), text)
			if err != nil {
				return nil, err
			}
			if c != (cell{}) && g.cells[i] == nil {
				g.cells[i] = make([]cell, len(texts))
				g.numbers = append(g.numbers, int32(i+1))
			}
			if c != (cell{}) {
				g.cells[i][at] = c
			}
		}
	}
	return g, nil
}

// rawRows returns the values of a sheet as the file holds them, and fails
// where there are more than can be held.
func (w *workbook) rawRows(name string) ([][]string, error) {
	rows, err := w.Rows(name)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out [][]string
	for rows.Next() {
		texts, err := rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, err
		}
		if w.count += len(texts); w.count > maxCells {
			return nil, fmt.Errorf("there are more than %d cells", maxCells)
		}
		out = append(out, texts)
	}
	return out, rows.Error()
}

// cell reads one cell whose value in the file is raw.
func (w *workbook) cell(sheet, name, raw string) (cell, error) {
	if raw == "" {
		formula, err := w.GetCellFormula(sheet, name)
		if err != nil || formula == "" {
			return cell{}, err
		}
		return cell{kind: formulaKind}, nil
	}
	kind, err := w.GetCellType(sheet, name)
	if err != nil {
		return cell{}, err
	}
	switch kind {
	case excelize.CellTypeError:
		return cell{text: raw, kind: errorKind}, nil
	case excelize.CellTypeUnset, excelize.CellTypeNumber:
		return w.number(sheet, name, raw)
	case excelize.CellTypeBool:
		return cell{text: map[string]string{"1": "yes", "0": "no"}[raw]}, nil
	}
	return cell{text: raw}, nil
}

// number reads a cell of a number: exact as stored, and as the cell shows it.
func (w *workbook) number(sheet, name, raw string) (cell, error) {
	v, err := strconv.ParseFloat(raw, 64)
	if err != nil {
		return cell{text: raw}, nil
	}
	style, err := w.GetCellStyle(sheet, name)
	if err != nil {
		return cell{}, err
	}
	kind, err := w.kindOfStyle(style)
	if err != nil {
		return cell{}, err
	}
	shown := raw
	if style != 0 {
		if shown, err = w.GetCellValue(sheet, name); err != nil {
			return cell{}, err
		}
	}
	if kind == numberKind && strings.ContainsAny(shown, "eE#") {
		shown = plainly(v)
	}
	if kind != numberKind && w.since1904 && v >= 1 {
		v += 1462 // days from 1899-12-30 to 1904-01-01
	}
	return cell{text: shown, number: v, kind: kind}, nil
}

// kindOfStyle says whether a style shows numbers, dates, or times.
func (w *workbook) kindOfStyle(style int) (cellKind, error) {
	if kind, known := w.styles[style]; known {
		return kind, nil
	}
	s, err := w.GetStyle(style)
	if err != nil {
		return 0, err
	}
	kind := kindOfFormat(s.NumFmt, s.CustomNumFmt)
	w.styles[style] = kind
	return kind, nil
}

// plainParts are the parts of a number format that show themselves: quoted
// text, escaped characters, and brackets that are no elapsed time.
var plainParts = regexp.MustCompile(`"[^"]*"|\\.|_.|\*.|\[[^hms\]][^\]]*\]`)

// kindOfFormat says what a number format shows. The numbers of the built-in
// formats are those of ISO/IEC 29500-1, 18.8.30.
func kindOfFormat(builtIn int, custom *string) cellKind {
	switch {
	case custom != nil:
		codes := strings.ToLower(plainParts.ReplaceAllString(*custom, ""))
		switch {
		case strings.Contains(codes, "general"):
			return numberKind
		case strings.ContainsAny(codes, "hs"):
			return timeKind
		case strings.ContainsAny(codes, "ydm"):
			return dateKind
		}
	case builtIn >= 18 && builtIn <= 22, builtIn >= 45 && builtIn <= 47, builtIn >= 32 && builtIn <= 35, builtIn == 55, builtIn == 56:
		return timeKind
	case builtIn >= 14 && builtIn <= 17, builtIn >= 27 && builtIn <= 31, builtIn == 36, builtIn >= 50 && builtIn <= 58:
		return dateKind
	}
	return numberKind
}
