package reports

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"airtally/exposure"
	"airtally/limits"
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

// sheetPart returns the part of a workbook that holds a sheet.
func sheetPart(t *testing.T, data []byte, name string) string {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(data))
	require.NoError(t, err)
	defer f.Close()
	at := slices.Index(f.GetSheetList(), name)
	require.GreaterOrEqual(t, at, 0, name)
	return part(t, data, fmt.Sprintf("xl/worksheets/sheet%d.xml", at+1))
}

// What is set after a stream has begun is lost without an error, so the parts
// are looked at as they were written.
func TestSheetsAreSetUpForReadingAndPrinting(t *testing.T) {
	data := workbook(t, demo())
	for _, n := range []string{"Exposures vs limits", "Concentrations", "Volumes", "Laboratory", "Findings"} {
		xml := sheetPart(t, data, n)
		for _, want := range []string{
			`fitToPage="true"`, `state="frozen"`, `<autoFilter ref="$A$1:`, `orientation="landscape"`, `paperSize="9"`, `fitToHeight="0"`,
			`<legacyDrawing`, `&amp;RPage &amp;P of &amp;N`, `R-12 &amp;&amp; 13`, `sha256 9f86d081884c`,
		} {
			require.Contains(t, xml, want, n)
		}
		require.NotContains(t, xml, `<dimension ref="A1">`)
		columns := regexp.MustCompile(`<col [^>]*\bmin="([0-9]+)"`).FindAllStringSubmatch(xml, -1)
		require.Greater(t, len(columns), 5, n)
		for i := range columns[1:] {
			before, _ := strconv.Atoi(columns[i][1])
			after, _ := strconv.Atoi(columns[i+1][1])
			require.Less(t, before, after, "columns ascend")
		}
	}
	book := part(t, data, "xl/workbook.xml")
	require.Contains(t, book, `_xlnm.Print_Titles`)
	require.Contains(t, book, `&#39;Exposures vs limits&#39;!$A$1:$N$4`, "the columns for people are printed, from Worker to Why undecided")
	summary := part(t, data, "xl/worksheets/sheet1.xml")
	require.Contains(t, summary, `fitToHeight="1"`)
	require.Contains(t, summary, `orientation="portrait"`)
	notes := part(t, data, "xl/comments1.xml")
	require.Contains(t, notes, "Lower bound of the fraction less the sampling and analytical error.")
	require.Contains(t, part(t, data, "docProps/core.xml"), "2026-03-20T09:30:00Z")
}

func TestTextInTheWorkbookIsNeverAFormula(t *testing.T) {
	data := workbook(t, demo())
	f, err := excelize.OpenReader(bytes.NewReader(data))
	require.NoError(t, err)
	defer f.Close()
	for n := range f.GetSheetList() {
		xml := part(t, data, fmt.Sprintf("xl/worksheets/sheet%d.xml", n+1))
		for _, formula := range regexp.MustCompile(`<f>[^<]*</f>`).FindAllString(xml, -1) {
			require.NotContains(t, formula, "cmd|")
			require.NotContains(t, formula, "1+1")
			require.NotContains(t, formula, "filter")
		}
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

func TestTheSameResultsMakeTheSameBytes(t *testing.T) {
	one := workbook(t, demo())
	for range 8 { // what a map orders seldom comes alike that often
		require.True(t, bytes.Equal(one, workbook(t, demo())))
	}
	z, err := zip.NewReader(bytes.NewReader(one), int64(len(one)))
	require.NoError(t, err)
	require.Greater(t, len(z.File), 12)
	require.Equal(t, "[Content_Types].xml", z.File[0].Name)
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

// The summary is one page: with every list full it must still print at 7 points
// or more, on A4 upright (210 mm by 297 mm, ISO 216) within its margins.
func TestAFullSummaryIsOnePageThatCanBeRead(t *testing.T) {
	r := demo()
	for i := range 60 {
		for _, o := range []limits.Outcome{limits.Exceeds, limits.Undecided, limits.Below} {
			c := r.Comparisons[i%3]
			c.Outcome = o
			r.Comparisons = append(r.Comparisons, c)
		}
		m := r.Mixtures[0]
		r.Mixtures = append(r.Mixtures, m)
		r.Findings = append(r.Findings, r.Findings[2])
	}
	for _, s := range []*string{&r.Settings.Client, &r.Settings.PreparedBy, &r.Settings.ReviewedBy, &r.Settings.ResultsReceived, &r.Settings.DeterminedOn} {
		*s = "Example"
	}
	data := workbook(t, r)
	xml := part(t, data, "xl/worksheets/sheet1.xml")
	height := 0.0
	for _, m := range regexp.MustCompile(` ht="([0-9.]+)"`).FindAllStringSubmatch(xml, -1) {
		points, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		height += points
	}
	const a4, inch = 297 / 25.4 * 72, 72.0
	room := a4 - 2*0.7*inch
	require.GreaterOrEqual(t, fontSize*room/height, 7.0)
	text := string(dump(t, data))
	require.Contains(t, text, "and 57 more left out; see the sheet Findings")
	require.Contains(t, text, "more; see the sheet Exposures vs limits")
	require.Contains(t, text, "more; see the sheet Mixtures")
}

func TestPeopleReadTheGoverningAuthorityFirst(t *testing.T) {
	r := demo()
	governed := r.Comparisons[0]
	other := governed
	rule := *leadRule
	rule.Authority = "Body Two"
	other.Limit = &rule
	r.Comparisons = append([]exposure.Comparison{other, governed}, r.Comparisons[1:]...)
	authority := func(a array, row int) string {
		at := slices.IndexFunc(a.fields, func(h header) bool { return h.name == "authority" })
		return a.cell(row, at).text
	}
	people, files := r.governingFirst(), r.comparisons()
	require.Equal(t, []string{"EXA", "Body Two", "EXA"}, []string{authority(people, 0), authority(people, 1), authority(people, 2)})
	require.Equal(t, []string{"Body Two", "EXA", "EXA"}, []string{authority(files, 0), authority(files, 1), authority(files, 2)})
}

// A row must be high enough for its text, and one that fits stays one line.
func TestLinesOfATextInAColumn(t *testing.T) {
	require.Equal(t, 1, textLines("", 10))
	require.Equal(t, 1, textLines("shift mean", 12))
	require.Equal(t, 1, textLines("1234567890", 12))
	require.Equal(t, 2, textLines("WWWW MMMM WWWW", 15), "capitals are wide")
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`[0-9 ]{0,200}`).Draw(t, "s")
		width := rapid.Float64Range(7, 60).Draw(t, "width")
		digits := len(strings.Join(strings.Fields(s), ""))
		if lines := textLines(s, width); float64(lines)*width < float64(digits) {
			t.Fatalf("%d lines of %v cannot hold %d digits", lines, width, digits)
		}
	})
}
