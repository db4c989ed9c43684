package reports

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// dump returns the cells of a workbook as they are shown, a row a line.
func dump(t *testing.T, data []byte) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(data))
	require.NoError(t, err)
	defer f.Close()
	var b bytes.Buffer
	for _, name := range f.GetSheetList() {
		fmt.Fprintf(&b, "[%s]\n", name)
		rows, err := f.GetRows(name)
		require.NoError(t, err)
		for _, row := range rows {
			b.WriteString(strings.TrimRight(strings.Join(row, " | "), " ") + "\n")
		}
	}
	return b.Bytes()
}

// partsOf returns all parts of a workbook; their order within the file is free.
func partsOf(t *testing.T, data []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	parts := map[string]string{}
	for _, f := range z.File {
		parts[f.Name] = part(t, data, f.Name)
	}
	return parts
}

// part returns one part of a workbook, such as xl/worksheets/sheet2.xml.
func part(t *testing.T, data []byte, name string) string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	f, err := z.Open(name)
	require.NoError(t, err)
	defer f.Close()
	text, err := io.ReadAll(f)
	require.NoError(t, err)
	return string(text)
}

// What is set after a stream has begun is lost without an error, so the parts
// are looked at as they were written.
func TestSheetsAreSetUpForReadingAndPrinting(t *testing.T) {
	data := workbook(t, demo())
	for _, n := range []int{2, 5, 10} {
		xml := part(t, data, fmt.Sprintf("xl/worksheets/sheet%d.xml", n))
		for _, want := range []string{
			`fitToPage="true"`, `state="frozen"`, `<autoFilter ref="$A$1:`, `orientation="landscape"`, `paperSize="9"`, `fitToHeight="0"`,
			`&amp;RPage &amp;P of &amp;N`, `R-12 &amp;&amp; 13`, `sha256 9f86d081884c`,
		} {
			require.Contains(t, xml, want, "sheet %d", n)
		}
		require.NotContains(t, xml, `<dimension ref="A1">`)
		require.Less(t, strings.Index(xml, `<col min="1"`), strings.Index(xml, `<col min="2"`), "columns ascend")
	}
	require.Contains(t, part(t, data, "xl/workbook.xml"), `_xlnm.Print_Titles`)
	require.Contains(t, part(t, data, "docProps/core.xml"), "2026-03-20T09:30:00Z")
}

func TestTextInTheWorkbookIsNeverAFormula(t *testing.T) {
	data := workbook(t, demo())
	f, err := excelize.OpenReader(bytes.NewReader(data))
	require.NoError(t, err)
	defer f.Close()
	for n := range f.GetSheetList() {
		xml := part(t, data, fmt.Sprintf("xl/worksheets/sheet%d.xml", n+1))
		require.NotContains(t, xml, "<f>")
		require.NotContains(t, xml, "<script>")
	}
	text, err := f.GetCellValue("Exposures vs limits", "A4")
	require.NoError(t, err)
	require.Equal(t, hostileWorker, text)
	id, err := f.GetCellStyle("Exposures vs limits", "A4")
	require.NoError(t, err)
	style, err := f.GetStyle(id)
	require.NoError(t, err)
	require.Equal(t, 49, style.NumFmt, "49 is the text format (ECMA-376, 18.8.30), which an edit of the cell keeps")
}

func TestTheSameResultsMakeTheSameWorkbook(t *testing.T) {
	one, two := partsOf(t, workbook(t, demo())), partsOf(t, workbook(t, demo()))
	require.Greater(t, len(one), 12)
	for name, text := range one {
		require.Equal(t, text, two[name], name)
	}
	require.Len(t, two, len(one))
}

func TestALongArrayGoesOnInAFurtherSheet(t *testing.T) {
	defer func(n int) { mostRows = n }(mostRows)
	mostRows = 2
	text := string(dump(t, workbook(t, demo())))
	require.Contains(t, text, "[Concentrations 3]")
	require.NotContains(t, text, "[Concentrations 4]")
}

func TestACellTooLongForAWorkbookSaysSo(t *testing.T) {
	r := demo()
	r.Findings[0].Message = strings.Repeat("µ", 40_000)
	require.Contains(t, string(dump(t, workbook(t, r))), "(cut; whole in results.json)")
}
