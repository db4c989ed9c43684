package main

import (
	"archive/zip"
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// sheetCell is one cell of a workbook as the file holds it.
type sheetCell struct {
	formula string
	value   string // number or text
	kind    string // "" a number, "str" text, "e" an error
}

func (c sheetCell) number() (float64, bool) {
	if c.kind != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(c.value, 64)
	return v, err == nil
}

// sheetCells are the cells of one sheet by name, such as B7.
type sheetCells map[string]sheetCell

// xmlCell is a cell in the file (ECMA-376 part 1, 18.3.1.4).
type xmlCell struct {
	Ref     string `xml:"r,attr"`
	Kind    string `xml:"t,attr"`
	Formula string `xml:"f"`
	Value   string `xml:"v"`
	Inline  []struct {
		Text string `xml:",chardata"`
	} `xml:"is>t"`
}

// readBook returns the cells of every sheet of a workbook.
func readBook(t *testing.T, path string) map[string]sheetCells {
	book, _ := readBookParts(t, path)
	return book
}

// readBookParts returns the cells of every sheet of a workbook, and the part
// that holds each.
func readBookParts(t *testing.T, path string) (book map[string]sheetCells, parts map[string]string) {
	t.Helper()
	z, err := zip.OpenReader(path)
	require.NoError(t, err)
	defer z.Close()
	var list struct {
		Sheets []struct {
			Name string `xml:"name,attr"`
		} `xml:"sheets>sheet"`
	}
	var shared struct {
		Texts []struct {
			Text string `xml:"t"`
			Runs []struct {
				Text string `xml:"t"`
			} `xml:"r"`
		} `xml:"si"`
	}
	readPart(t, &z.Reader, "xl/workbook.xml", &list)
	readPart(t, &z.Reader, "xl/sharedStrings.xml", &shared)
	texts := make([]string, len(shared.Texts))
	for i, s := range shared.Texts {
		texts[i] = s.Text
		for _, run := range s.Runs {
			texts[i] += run.Text
		}
	}
	book, parts = map[string]sheetCells{}, map[string]string{}
	for i, s := range list.Sheets {
		parts[s.Name] = "xl/worksheets/sheet" + strconv.Itoa(i+1) + ".xml"
		book[s.Name] = readSheet(t, &z.Reader, parts[s.Name], texts)
	}
	return book, parts
}

func readPart(t *testing.T, z *zip.Reader, name string, into any) {
	t.Helper()
	f, err := z.Open(name)
	if os.IsNotExist(err) {
		return // a workbook without shared texts
	}
	require.NoError(t, err)
	defer f.Close()
	require.NoError(t, xml.NewDecoder(f).Decode(into))
}

func readSheet(t *testing.T, z *zip.Reader, name string, texts []string) sheetCells {
	t.Helper()
	var sheet struct {
		Cells []xmlCell `xml:"sheetData>row>c"`
	}
	readPart(t, z, name, &sheet)
	cells := sheetCells{}
	for _, c := range sheet.Cells {
		out := sheetCell{formula: c.Formula, value: c.Value, kind: c.Kind}
		switch c.Kind {
		case "n", "":
			out.kind = ""
		case "inlineStr":
			out.kind = "str"
			for _, part := range c.Inline {
				out.value += part.Text
			}
		case "s":
			n, err := strconv.Atoi(c.Value)
			require.NoError(t, err)
			out.kind, out.value = "str", texts[n]
		}
		if out != (sheetCell{}) {
			cells[c.Ref] = out
		}
	}
	return cells
}

// numbers are what edits put into the cells of a workbook, by the name of the
// sheet's part and of the cell.
type numbers map[string]map[string]string

func (n numbers) put(part, cell, number string) {
	if n[part] == nil {
		n[part] = map[string]string{}
	}
	n[part][cell] = number
}

// withNumbers copies a workbook with other numbers in some of its cells.
func withNumbers(t *testing.T, from, to string, edits numbers) {
	t.Helper()
	z, err := zip.OpenReader(from)
	require.NoError(t, err)
	defer z.Close()
	require.NoError(t, os.MkdirAll(filepath.Dir(to), 0o777))
	out, err := os.Create(to)
	require.NoError(t, err)
	defer out.Close()
	w := zip.NewWriter(out)
	for _, part := range z.File {
		cells := edits[part.Name]
		if cells == nil {
			require.NoError(t, w.Copy(part))
			continue
		}
		r, err := part.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		require.NoError(t, r.Close())
		p, err := w.Create(part.Name)
		require.NoError(t, err)
		sheet := string(data)
		for cell, number := range cells {
			sheet = putNumber(t, sheet, cell, number)
		}
		_, err = io.WriteString(p, sheet)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
}

// putNumber puts a number in the place of the one that a cell of a sheet's
// XML holds.
func putNumber(t *testing.T, sheet, cell, number string) string {
	t.Helper()
	at := strings.Index(sheet, `<c r="`+cell+`"`)
	require.GreaterOrEqual(t, at, 0, cell)
	from := strings.Index(sheet[at:], "<v>") + at + len("<v>")
	to := strings.Index(sheet[at:], "</v>") + at
	require.Greater(t, to, from, cell)
	return sheet[:from] + number + sheet[to:]
}
