package reports

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
)

// Bounds of a marked copy.
const (
	mostUnpacked   = 1 << 30 // bytes of a workbook, unfolded
	mostInNote     = 8       // findings told in the note of one cell
	markedAuthor   = "airtally check"
	stopMarkFill   = "F2B8A8"
	checkMarkFill  = "F8E3A1"
	noteMarkFill   = "D5E3EE"
	findingsRuling = "\n\n"
)

// mark is the findings of one cell, the gravest first.
type mark struct {
	sheet, cell string
	findings    []*finding.Finding
}

// WriteMarked writes a copy of a workbook with each finding as a note on its
// cell, and the cell filled. Nothing else is changed. It returns how many cells
// are marked, and how many findings have no cell in it.
func WriteMarked(w io.Writer, path string, found []finding.Finding) (cells, elsewhere int, err error) {
	f, err := excelize.OpenFile(path, excelize.Options{UnzipSizeLimit: mostUnpacked, UnzipXMLSizeLimit: mostUnpacked})
	if err != nil {
		return 0, 0, fmt.Errorf("%s cannot be read as a workbook: %w", path, err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	m := marker{file: f, filled: map[filledStyle]int{}, notes: map[string]map[string]string{}}
	numberNotes(f)
	marks, elsewhere := marksOf(path, survey.SheetTables(f.GetSheetList()), found)
	for _, k := range marks {
		if err := m.mark(k); err != nil {
			return 0, 0, fmt.Errorf("cannot mark %s!%s: %w; %s", k.sheet, k.cell, err, resave)
		}
	}
	if err := m.verify(); err != nil {
		return 0, 0, fmt.Errorf("cannot mark %s: %w; %s", path, err, resave)
	}
	return len(marks), elsewhere, f.Write(w)
}

const resave = "save the workbook again as .xlsx in a spreadsheet, or read the findings without marks"

// marksOf gathers the findings of a workbook by cell, in the order of the cells.
// sheets says what the sheets of the tables are called in it.
// One of a row alone stands in the row's first cell; one that was told for
// several rows stands in all of them.
func marksOf(path string, sheets map[string]string, found []finding.Finding) (all []mark, elsewhere int) {
	at := map[[2]string]int{}
	put := func(f *finding.Finding, place finding.Place) bool {
		sheet, known := sheets[place.Table]
		cell := place.Cell
		if cell == "" && place.Row > 0 {
			cell = fmt.Sprintf("A%d", place.Row)
		}
		if place.File != path || !known || cell == "" {
			return false
		}
		key := [2]string{sheet, cell}
		n, seen := at[key]
		if !seen {
			n = len(all)
			at[key], all = n, append(all, mark{sheet: sheet, cell: cell})
		}
		if !slices.Contains(all[n].findings, f) {
			all[n].findings = append(all[n].findings, f)
		}
		return true
	}
	for i := range found {
		f := &found[i]
		if !put(f, f.Place) {
			elsewhere++
		}
		for _, place := range f.Also {
			put(f, place)
		}
	}
	for _, m := range all {
		slices.SortStableFunc(m.findings, func(a, b *finding.Finding) int { return cmp.Compare(b.Severity, a.Severity) })
	}
	return all, elsewhere
}

// words returns what the note of a cell says.
func (m mark) words() string {
	var all []string
	for i, f := range m.findings {
		if i == mostInNote {
			all = append(all, fmt.Sprintf("and %d more", len(m.findings)-i))
			break
		}
		said := strings.ToUpper(f.Severity.String()) + " · " + codeWords(f.Code) + "\n" + f.Message + "\nTo do: " + f.Remedy
		if !slices.Contains(all, said) {
			all = append(all, said)
		}
	}
	return strings.Join(all, findingsRuling)
}

// filledStyle is a style with another fill.
type filledStyle struct {
	style    int
	severity finding.Severity
}

// marker marks the cells of a workbook.
type marker struct {
	file   *excelize.File
	filled map[filledStyle]int          // the styles made
	notes  map[string]map[string]string // the notes of each sheet with marks, by cell
}

func (m *marker) mark(k mark) error {
	style, err := m.file.GetCellStyle(k.sheet, k.cell)
	if err != nil {
		return err
	}
	filled, err := m.fill(filledStyle{style, k.findings[0].Severity})
	if err != nil {
		return err
	}
	return errors.Join(m.file.SetCellStyle(k.sheet, k.cell, k.cell, filled), m.note(k))
}

// fill returns a style with the fill of a severity, and all else as it was: a
// cell's number format says what its number means.
func (m *marker) fill(of filledStyle) (int, error) {
	if id, made := m.filled[of]; made {
		return id, nil
	}
	colour := map[finding.Severity]string{finding.Stop: stopMarkFill, finding.Check: checkMarkFill, finding.Note: noteMarkFill}[of.severity]
	plain, err := m.file.NewStyle(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}})
	if err != nil {
		return 0, err
	}
	formats := m.file.Styles.CellXfs
	if of.style >= len(formats.Xf) {
		return 0, fmt.Errorf("the cell has style %d of %d", of.style, len(formats.Xf))
	}
	applied, xf := true, formats.Xf[of.style]
	xf.FillID, xf.ApplyFill = formats.Xf[plain].FillID, &applied
	formats.Xf = append(formats.Xf, xf)
	formats.Count = len(formats.Xf)
	m.filled[of] = len(formats.Xf) - 1
	return m.filled[of], nil
}

// note puts the findings on a cell, under what its note said before.
func (m *marker) note(k mark) error {
	notes, err := m.notesOf(k.sheet)
	if err != nil {
		return err
	}
	text := k.words()
	if before, has := notes[k.cell]; has {
		if err := m.file.DeleteComment(k.sheet, k.cell); err != nil {
			return err
		}
		text = before + findingsRuling + text
	}
	notes[k.cell] = text
	return m.file.AddComment(k.sheet, excelize.Comment{Cell: k.cell, Author: markedAuthor,
		Paragraph: []excelize.RichTextRun{{Text: text, Font: noteFont()}}, Width: noteWide, Height: noteHeight(text)})
}

// notesOf returns what the notes of a sheet say by now, by cell.
func (m *marker) notesOf(sheet string) (map[string]string, error) {
	if notes, read := m.notes[sheet]; read {
		return notes, nil
	}
	notes, err := readNotes(m.file, sheet)
	m.notes[sheet] = notes
	return notes, err
}

func readNotes(f *excelize.File, sheet string) (map[string]string, error) {
	all, err := f.GetComments(sheet)
	notes := make(map[string]string, len(all))
	for _, c := range all {
		said := c.Text
		for _, run := range c.Paragraph {
			said += run.Text
		}
		notes[c.Cell] = said
	}
	return notes, err
}

// verify makes sure that every note went to its sheet: the parts of a workbook
// can be numbered in a way that leads some astray.
func (m *marker) verify() error {
	for _, sheet := range m.file.GetSheetList() {
		want, marked := m.notes[sheet]
		if !marked {
			continue
		}
		got, err := readNotes(m.file, sheet)
		if err != nil {
			return err
		}
		if !maps.Equal(want, got) {
			return fmt.Errorf("the notes of sheet %s cannot be added to", sheet)
		}
	}
	return nil
}
