package survey

import (
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// libraryGrid is a sheet as the spreadsheet library reads it: cells by row,
// nil where a row is blank.
type libraryGrid [][]cell

// libraryBook reads the cells of a workbook by means of the spreadsheet
// library, which shares nothing with the scanner but the look of numbers.
type libraryBook struct {
	*excelize.File
	styles    map[int]cellKind
	since1904 bool
}

func openLibraryBook(path string) (*libraryBook, error) {
	f, err := excelize.OpenFile(path)
	if err != nil {
		return nil, err
	}
	properties, err := f.GetWorkbookProps()
	return &libraryBook{f, make(map[int]cellKind), properties.Date1904 != nil && *properties.Date1904}, err
}

func (w *libraryBook) sheet(name string) (libraryGrid, error) {
	raw, err := w.rawRows(name)
	if err != nil {
		return nil, err
	}
	g := make(libraryGrid, len(raw))
	for i, texts := range raw {
		for at, text := range texts {
			c, err := w.cell(name, cellName(at, int32(i+1)), text)
			if err != nil {
				return nil, err
			}
			if c != (cell{}) {
				g[i] = append(g[i], make([]cell, at+1-len(g[i]))...)
				g[i][at] = c
			}
		}
	}
	return g, nil
}

// rawRows returns the values of a sheet as the file holds them.
func (w *libraryBook) rawRows(name string) ([][]string, error) {
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
		out = append(out, texts)
	}
	return out, rows.Error()
}

// cell reads one cell whose value in the file is raw.
func (w *libraryBook) cell(sheet, name, raw string) (cell, error) {
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
func (w *libraryBook) number(sheet, name, raw string) (cell, error) {
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
	general, err := w.isGeneral(style)
	if err != nil {
		return cell{}, err
	}
	if kind == numberKind && (strings.ContainsAny(shown, "eE") && general || strings.Contains(shown, "#")) {
		shown = plainly(v)
	}
	if kind != numberKind && w.since1904 && v >= 1 {
		v += 1462 // days from 1899-12-30 to 1904-01-01
	}
	return cell{text: shown, number: v, kind: kind}, nil
}

// isGeneral reports whether a style has no number format of its own.
func (w *libraryBook) isGeneral(style int) (bool, error) {
	s, err := w.GetStyle(style)
	if err != nil || s.CustomNumFmt == nil {
		return err == nil && (s.NumFmt == 0 || s.NumFmt >= firstOwnFormat), err
	}
	return *s.CustomNumFmt == "" || strings.EqualFold(*s.CustomNumFmt, "general"), nil
}

// kindOfStyle says whether a style shows numbers, dates, or times.
func (w *libraryBook) kindOfStyle(style int) (cellKind, error) {
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
