package reports

import (
	"archive/zip"
	"bytes"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"airtally/exposure/finding"
)

func TestANoteTellsTheGravestFirstAndCountsTheRest(t *testing.T) {
	m := mark{findings: []*finding.Finding{{Severity: finding.Check, Code: finding.BlankLarge, Message: "it is large", Remedy: "look"}}}
	assert.Equal(t, "CHECK · Blank large\nit is large\nTo do: look", m.words())
	for i := range mostInNote + 2 {
		m.findings = append(m.findings, &finding.Finding{Code: finding.BlankLarge, Message: strings.Repeat("x", i), Remedy: "look"})
	}
	assert.True(t, strings.HasSuffix(m.words(), "\n\nand 3 more"), m.words())
}

// A finding of a row alone stands in its first cell, one of another file in
// none.
func TestFindingsFindTheirCells(t *testing.T) {
	const path = "book.xlsx"
	at := func(file, table string, row int, cell string, s finding.Severity) finding.Finding {
		return finding.Finding{Severity: s, Place: finding.Place{File: file, Table: table, Row: row, Cell: cell}}
	}
	const table = "samples"
	found := []finding.Finding{at(path, table, 7, "", finding.Note), at(path, table, 3, "B3", finding.Note),
		at(path, table, 3, "B3", finding.Stop), at("other.csv", table, 3, "B3", finding.Stop), at(path, "", 0, "", finding.Note)}
	marks, elsewhere := marksOf(path, map[string]string{table: "Field samples"}, found)
	require.Len(t, marks, 2)
	assert.Equal(t, 2, elsewhere)
	assert.Equal(t, "A7", marks[0].cell)
	assert.Equal(t, "Field samples", marks[0].sheet)
	assert.Equal(t, "B3", marks[1].cell)
	assert.Equal(t, finding.Stop, marks[1].findings[0].Severity)
}

// renamed returns a workbook whose parts bear other names.
func renamed(t *testing.T, raw []byte, names ...string) []byte {
	t.Helper()
	from, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	var out bytes.Buffer
	to := zip.NewWriter(&out)
	replace := strings.NewReplacer(names...)
	for _, part := range from.File {
		r, err := part.Open()
		require.NoError(t, err)
		content, err := io.ReadAll(r)
		require.NoError(t, err)
		w, err := to.Create(replace.Replace(part.Name))
		require.NoError(t, err)
		_, err = io.WriteString(w, replace.Replace(string(content)))
		require.NoError(t, err)
	}
	require.NoError(t, to.Close())
	return out.Bytes()
}

// Programs name the parts of notes as they like: here the words of one sheet
// bear the number of another's drawing, under absolute names, and the boxes
// have ids without a number.
func TestNotesAreAddedWhateverTheirPartsAreCalled(t *testing.T) {
	f := excelize.NewFile()
	_, err := f.NewSheet("Sheet2")
	require.NoError(t, err)
	for _, sheet := range []string{"Sheet1", "Sheet2"} {
		require.NoError(t, f.SetCellStr(sheet, "A1", "x"))
		require.NoError(t, f.AddComment(sheet, excelize.Comment{Cell: "A1", Author: "someone", Text: "first of " + sheet}))
	}
	var plain bytes.Buffer
	require.NoError(t, f.Write(&plain))
	require.NoError(t, f.Close())
	raw := renamed(t, plain.Bytes(), "../comments1.xml", "/xl/comments/comment2.xml", "../comments2.xml", "/xl/comments/comment1.xml",
		"xl/comments1.xml", "xl/comments/comment2.xml", "xl/comments2.xml", "xl/comments/comment1.xml",
		"../drawings/vmlDrawing1.vml", "/xl/drawings/commentsDrawing1.vml", "../drawings/vmlDrawing2.vml", "/xl/drawings/commentsDrawing2.vml",
		"drawings/vmlDrawing1.vml", "drawings/commentsDrawing1.vml", "drawings/vmlDrawing2.vml", "drawings/commentsDrawing2.vml",
		`id="_x0000_s1025"`, `id="_box"`)

	f, err = excelize.OpenReader(bytes.NewReader(raw))
	require.NoError(t, err)
	numberNotes(f)
	m := marker{file: f, filled: map[filledStyle]int{}, notes: map[string]map[string]string{}}
	for _, cell := range []string{"A1", "B7"} {
		require.NoError(t, m.mark(mark{"Sheet1", cell, []*finding.Finding{{Code: finding.BlankLarge, Message: "it is large", Remedy: "look"}}}))
	}
	require.NoError(t, m.verify())
	var out bytes.Buffer
	require.NoError(t, f.Write(&out))
	require.NoError(t, f.Close())

	f, err = excelize.OpenReader(bytes.NewReader(out.Bytes()))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	told := "NOTE · Blank large\nit is large\nTo do: look"
	for sheet, want := range map[string]map[string]string{
		"Sheet1": {"A1": "first of Sheet1\n\n" + told, "B7": told}, "Sheet2": {"A1": "first of Sheet2"},
	} {
		got, err := readNotes(f, sheet)
		require.NoError(t, err)
		assert.Equal(t, want, got, sheet)
	}
}
