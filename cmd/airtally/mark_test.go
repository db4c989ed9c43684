package main

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// cellLook is what a marked cell must keep, and its fill.
type cellLook struct {
	value, formula, format string
	kind                   excelize.CellType
	builtIn                int
	font                   excelize.Font
	border                 int
	fill                   string
}

// looks returns every cell of a workbook that holds anything.
func looks(t *testing.T, f *excelize.File) map[string]cellLook {
	t.Helper()
	all := map[string]cellLook{}
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet, excelize.Options{RawCellValue: true})
		require.NoError(t, err)
		for r, row := range rows {
			for c, value := range row {
				cell, err := excelize.CoordinatesToCellName(c+1, r+1)
				require.NoError(t, err)
				all[sheet+"!"+cell] = lookOf(t, f, sheet, cell, value)
			}
		}
	}
	return all
}

func lookOf(t *testing.T, f *excelize.File, sheet, cell, value string) cellLook {
	t.Helper()
	l := cellLook{value: value}
	var err error
	l.formula, err = f.GetCellFormula(sheet, cell)
	require.NoError(t, err)
	l.kind, err = f.GetCellType(sheet, cell)
	require.NoError(t, err)
	id, err := f.GetCellStyle(sheet, cell)
	require.NoError(t, err)
	style, err := f.GetStyle(id)
	require.NoError(t, err)
	l.builtIn, l.border = style.NumFmt, len(style.Border)
	if style.CustomNumFmt != nil {
		l.format = *style.CustomNumFmt
	}
	if style.Font != nil {
		l.font = excelize.Font{Bold: style.Font.Bold, Italic: style.Font.Italic, Family: style.Font.Family, Size: style.Font.Size}
	}
	l.fill = fillOf(f, id)
	return l
}

// fillOf returns the colour of a style's fill as the file has it.
func fillOf(f *excelize.File, style int) string {
	xf := f.Styles.CellXfs.Xf[style]
	if xf.FillID == nil {
		return ""
	}
	pattern := f.Styles.Fills.Fill[*xf.FillID].PatternFill
	if pattern == nil || pattern.FgColor == nil {
		return ""
	}
	return pattern.FgColor.RGB
}

func notesOf(t *testing.T, f *excelize.File) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, sheet := range f.GetSheetList() {
		notes, err := f.GetComments(sheet)
		require.NoError(t, err)
		for _, n := range notes {
			said := n.Text
			for _, run := range n.Paragraph {
				said += run.Text
			}
			require.NotContains(t, all, sheet+"!"+n.Cell, "two notes on one cell")
			all[sheet+"!"+n.Cell] = said
		}
	}
	return all
}

func openBook(t *testing.T, path string) *excelize.File {
	t.Helper()
	f, err := excelize.OpenFile(path)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, f.Close()) })
	return f
}

// told is the findings of a survey by sheet and cell.
func told(t *testing.T, path string) map[string][]string {
	t.Helper()
	var found struct {
		Findings []struct{ Table, Cell, Message string }
	}
	require.NoError(t, json.Unmarshal([]byte(checkJSON(t, path)), &found))
	all := map[string][]string{}
	for _, f := range found.Findings {
		require.NotEmpty(t, f.Cell)
		all[f.Table+"!"+f.Cell] = append(all[f.Table+"!"+f.Cell], f.Message)
	}
	return all
}

func checkJSON(t *testing.T, path string) string {
	t.Helper()
	var out, errOut strings.Builder
	require.NotEqual(t, unusable, run(context.Background(), []string{"check", "--json", path}, strings.NewReader(""), &out, &errOut), errOut.String())
	return out.String()
}

// assertMarked holds a marked copy against its workbook: the cells with
// findings are filled and say so, every other cell and every value is as it
// was, and the copy reads like the workbook.
func assertMarked(t *testing.T, path, copied string) {
	t.Helper()
	book, marked := openBook(t, path), openBook(t, copied)
	before, after := looks(t, book), looks(t, marked)
	formerNotes, notes := notesOf(t, book), notesOf(t, marked)
	found := told(t, path)
	require.NotEmpty(t, found)
	assert.Equal(t, book.GetSheetList(), marked.GetSheetList())
	for at, was := range before {
		is := after[at]
		if _, has := found[at]; has || saysAny(notes[at], found) {
			assert.NotEqual(t, was.fill, is.fill, at)
			is.fill = was.fill
		}
		require.Equal(t, was, is, at)
	}
	for at, messages := range found {
		for _, message := range messages {
			assert.Contains(t, notes[at], message, at)
		}
	}
	for at, said := range formerNotes {
		assert.True(t, strings.HasPrefix(notes[at], said), "%s keeps its note", at)
	}
	assert.Equal(t, found, told(t, copied))
}

// saysAny reports whether a note says one of the findings: one that was told for
// several rows stands in each of them.
func saysAny(note string, found map[string][]string) bool {
	for _, messages := range found {
		if slices.ContainsFunc(messages, func(message string) bool { return strings.Contains(note, message) }) {
			return true
		}
	}
	return false
}

func TestTheMarkedCopyOfTheDemo(t *testing.T) {
	inProjectRoot(t)
	copied := filepath.Join(t.TempDir(), "marked.xlsx")
	said := commandOutput(t, "check", "testdata/demo.xlsx", "--mark", copied)
	assert.Contains(t, said, "\nMarked: "+copied+", ")
	assertMarked(t, "testdata/demo.xlsx", copied)
}

// spoilt returns a starter with faults: a header in another unit, a choice
// that is none, a time of twelve hours.
func spoilt(t *testing.T) string {
	t.Helper()
	path := started(t)
	f := openBook(t, path)
	rows, err := f.GetRows("samples")
	require.NoError(t, err)
	for at, heading := range rows[0] {
		cell := func(row int) string {
			name, err := excelize.CoordinatesToCellName(at+1, row)
			require.NoError(t, err)
			return name
		}
		switch {
		case strings.HasPrefix(heading, "pause"):
			require.NoError(t, f.SetCellStr("samples", cell(1), "pause (h)"))
		case strings.HasPrefix(heading, "purpose"):
			require.NoError(t, f.SetCellStr("samples", cell(2), "whole"))
		case strings.HasPrefix(heading, "stop"):
			require.NoError(t, f.SetCellStr("samples", cell(3), "2:40 PM"))
		}
	}
	require.NoError(t, f.Save())
	return path
}

// Notes that headers had stay above what is found there; so they do in a
// workbook that an office program has written.
func TestTheMarkedCopyKeepsNotes(t *testing.T) {
	path := spoilt(t)
	copied := filepath.Join(t.TempDir(), "marked.xlsx")
	mark := func(path string) {
		var out, errOut strings.Builder
		require.Equal(t, leftOut, run(context.Background(), []string{"check", path, "--mark", copied, "--force", "--quiet"}, strings.NewReader(""), &out, &errOut), errOut.String())
		assertMarked(t, path, copied)
	}
	mark(path)
	rules, err := openBook(t, path).GetDataValidations("samples")
	require.NoError(t, err)
	kept, err := openBook(t, copied).GetDataValidations("samples")
	require.NoError(t, err)
	assert.Equal(t, rules, kept)

	office, dir := program(t, "soffice"), t.TempDir()
	convert := func(path string) string {
		said, err := exec.Command(office, "-env:UserInstallation=file://"+filepath.ToSlash(filepath.Join(dir, "profile")),
			"--headless", "--convert-to", "xlsx", "--outdir", dir, path).CombinedOutput()
		require.NoError(t, err, string(said))
		return filepath.Join(dir, filepath.Base(path))
	}
	mark(convert(path))
	assert.Equal(t, notesOf(t, openBook(t, copied)), notesOf(t, openBook(t, convert(copied))))
}

func TestWhatCannotBeMarkedIsRefused(t *testing.T) {
	inProjectRoot(t)
	dir := t.TempDir()
	copied := filepath.Join(dir, "marked.xlsx")
	for want, args := range map[string][]string{
		"--mark makes a copy of a workbook and testdata/demo is a folder; read its findings without --mark": {"testdata/demo", "--mark", copied},
		"--mark makes a copy of one workbook and 2 surveys are given; check them one by one":                {"testdata/demo.xlsx", "testdata/demo", "--mark", copied},
		"--mark testdata/demo.xlsx is the survey itself and would be written over; choose another name":     {"testdata/demo.xlsx", "--mark", "testdata/demo.xlsx", "--force"},
		"--mark marked.ods: give the marked copy a name that ends in .xlsx":                                 {"testdata/demo.xlsx", "--mark", "marked.ods"},
	} {
		assert.Equal(t, "airtally: "+want+"\n", refusal(t, append([]string{"check"}, args...)...))
	}
	require.NoError(t, os.WriteFile(copied, []byte("mine"), 0o600))
	assert.Contains(t, refusal(t, "check", "testdata/demo.xlsx", "--mark", copied), "is there already and was left as it is")
}

// A workbook that cannot be read for want of a column is marked in its headers
// all the same: at the header most like the column, else at the first.
func TestAWorkbookThatLacksAColumnIsMarked(t *testing.T) {
	path := spoilt(t)
	f := openBook(t, path)
	rows, err := f.GetRows("samples")
	require.NoError(t, err)
	lacking := map[string]string{}
	for at, heading := range rows[0] {
		name, err := excelize.CoordinatesToCellName(at+1, 1)
		require.NoError(t, err)
		switch {
		case strings.HasPrefix(heading, "sample "):
			require.NoError(t, f.SetCellStr("samples", name, "smple"))
			lacking["samples!"+name] = `there is no column sample (number of the sample); the nearest header is "smple"`
		case strings.HasPrefix(heading, "kind "):
			require.NoError(t, f.SetCellStr("samples", name, "what for"))
			lacking["samples!A1"] += "there is no column kind (what the sample was taken for)"
		}
	}
	require.NoError(t, f.Save())
	copied := filepath.Join(t.TempDir(), "marked.xlsx")
	var out, errOut strings.Builder
	require.Equal(t, unusable, run(context.Background(), []string{"check", path, "--mark", copied}, strings.NewReader(""), &out, &errOut))
	assert.Contains(t, errOut.String(), "the samples table cannot be read: there is no column sample")
	assert.Contains(t, out.String(), "Marked: "+copied+", ")
	book, marked := openBook(t, path), openBook(t, copied)
	notes, before, after := notesOf(t, marked), looks(t, book), looks(t, marked)
	require.Len(t, lacking, 1, "the header most like sample is the first")
	for at := range lacking {
		assert.Contains(t, notes[at], `STOP · Missing column
there is no column sample (number of the sample); the nearest header is "smple"; the table cannot be read without it
To do: add the column sample, or give its header this name`)
		assert.Contains(t, notes[at], "there is no column kind (what the sample was taken for)")
		assert.NotEqual(t, before[at].fill, after[at].fill)
	}
	for at, was := range before {
		if _, has := notes[at]; !has {
			assert.Equal(t, was, after[at], at)
		}
	}
}
