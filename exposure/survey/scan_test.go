package survey

import (
	"math"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// sameAsLibrary reads every sheet of a workbook in both ways and tells of each
// cell that differs. Formulas that show an empty text are blank cells; the
// library cannot tell them from those without a value.
func sameAsLibrary(t *testing.T, path string, emptyTexts ...string) {
	t.Helper()
	w, err := openLibraryBook(path)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	o, err := Disk.openAlone(path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if names := w.GetSheetList(); len(names) != len(o.sources) {
		t.Fatalf("%d sheets, want %q", len(o.sources), names)
	}
	cells := 0
	for i, name := range w.GetSheetList() {
		visible, err := w.GetSheetVisible(name)
		if err != nil {
			t.Fatal(err)
		}
		if got := o.sources[i]; got.name != name || got.hidden == visible {
			t.Errorf("sheet %q, hidden %t; want %q, %t", got.name, got.hidden, name, !visible)
		}
		want, err := w.sheet(name)
		if err != nil {
			t.Fatal(err)
		}
		want.blank(name, emptyTexts)
		cells += sameCells(t, name, o.sources[i].grid, want)
	}
	if cells == 0 {
		t.Error("no cell was compared")
	}
}

// blank makes cells of a sheet blank that the library takes for formulas
// without a value.
func (g libraryGrid) blank(sheet string, names []string) {
	for i, cells := range g {
		for at := range cells {
			if cells[at].kind == formulaKind && slices.Contains(names, sheet+"!"+cellName(at, int32(i+1))) {
				cells[at] = cell{}
			}
		}
		for len(g[i]) > 0 && g[i][len(g[i])-1] == (cell{}) {
			g[i] = g[i][:len(g[i])-1]
		}
	}
}

func sameCells(t *testing.T, sheet string, got grid, want libraryGrid) (count int) {
	t.Helper()
	for row, cells := range want {
		read := got.read(int32(row+1), nil)
		if len(read) != len(cells) {
			t.Errorf("%s, row %d: %d cells %v, want %d %v", sheet, row+1, len(read), read, len(cells), cells)
			continue
		}
		for at := range cells {
			if read[at] != cells[at] {
				t.Errorf("%s!%s: %+v, want %+v", sheet, cellName(at, int32(row+1)), read[at], cells[at])
			}
			count++
		}
	}
	if rows := got.rows(); len(rows) > 0 && int(rows[len(rows)-1]) > len(want) {
		t.Errorf("%s: a row %d, want %d", sheet, rows[len(rows)-1], len(want))
	}
	return count
}

func TestScannerReadsAsTheLibraryDoes(t *testing.T) {
	sameAsLibrary(t, writeWorkbook(t, workbookRows(), nil))
	sameAsLibrary(t, filepath.Join("..", "..", "testdata", "demo.xlsx"))
}

// Every built-in format and many codes over numbers of every size, in one
// workbook each for the days since 1900 and 1904.
func TestScannerShowsFormatsAsTheLibraryDoes(t *testing.T) {
	codes := []string{"0", "0000", "0.00", "#,##0", "#,##0.000", "0%", "0.0%", "0.00E+00", "##0.0E+0", "$#,##0.00", "[$€-407] #,##0.00", `"S-"000`, "000-00", "@",
		"[Red]-0.0;0", `0.0" mg"`, `_($* #,##0.00_);_($* \(#,##0.00\)`, "# ?/?", "d-mmm-yy", "h:mm AM/PM", "[h]:mm", "[mm]:ss", "mm:ss.0", "yyyy-mm-dd hh:mm", "yyyy/mm/dd;@",
		"[$-407]d. mmmm yyyy", "dddd", "General", `General" L"`, ";;;", "0;-0;;@", "#", "0,", "?0.0?", `\<0.00`, "yyyy-mm-ddThh:mm:ss", "[>1]0.0;0.000"}
	values := []any{0, 7, -7, 0.5, 2.5, 0.125, 1234.5678, 46083, 46083.2916666667, 46083.99999, 1e-9, 123456789012, 1.23456789012345e+15, 0.1 + 0.2, 59, 60.5, 61.9, 3e6, "text", true, nil}
	for _, since1904 := range []bool{false, true} {
		sameAsLibrary(t, writeWorkbook(t, map[string][][]any{"codes": allShown(codes, values), "Built in": nil}, func(f *excelize.File) {
			if err := f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &since1904}); err != nil {
				t.Fatal(err)
			}
			writeBuiltIn(t, f, "Built in", values)
		}))
	}
}

func allShown(codes []string, values []any) (rows [][]any) {
	for _, code := range codes {
		row := []any{code}
		for _, v := range values {
			if v != nil {
				v = shown{v, code}
			}
			row = append(row, v)
		}
		rows = append(rows, row)
	}
	return rows
}

func writeBuiltIn(t *testing.T, f *excelize.File, sheet string, values []any) {
	t.Helper()
	for id := range 82 {
		style, err := f.NewStyle(&excelize.Style{NumFmt: id})
		if err != nil {
			t.Fatal(err)
		}
		for at, v := range values {
			name := cellName(at, int32(id+1))
			writeCell(t, f, sheet, name, v)
			if err := f.SetCellStyle(sheet, name, name, style); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// Texts in runs, merged cells, styles of rows and columns, comments, links and
// hidden sheets, as the spreadsheet library writes them.
func TestScannerReadsOddBooksAsTheLibraryDoes(t *testing.T) {
	rows := map[string][][]any{
		"a":       {{"x<y & \"z\"", " spaces ", "two\nlines", "µg/m³ 様", "_x0041_", "'007", "=1+1"}, {nil, formula("SUM(A1:A9)"), math.Pi, -0.0, "1.50", time.Date(2026, 3, 2, 22, 10, 0, 0, time.UTC)}},
		"hidden":  {{nil, nil, 1}, nil, nil, {"far", nil, nil, nil, nil, nil, nil, nil, true, false}},
		"Ünlike!": {{"x"}},
	}
	sameAsLibrary(t, writeWorkbook(t, rows, func(f *excelize.File) {
		date, err := f.NewStyle(&excelize.Style{NumFmt: 22})
		for _, fault := range []error{err,
			f.SetSheetVisible("hidden", false),
			f.SetCellRichText("a", "J1", []excelize.RichTextRun{{Text: "bold ", Font: &excelize.Font{Bold: true}}, {Text: " plain"}}),
			f.MergeCell("a", "A5", "C6"),
			f.SetColStyle("a", "K:L", date),
			f.SetRowStyle("a", 9, 9, date),
			f.SetCellValue("a", "K8", 46083.5),
			f.SetCellValue("a", "B9", 46083.5),
			f.AddComment("a", excelize.Comment{Cell: "A1", Text: "a remark"}),
			f.SetCellHyperLink("a", "A1", "https://example.org", "External"),
			f.SetCellFormula("a", "M1", "A1&\"<\""),
		} {
			if fault != nil {
				t.Fatal(fault)
			}
		}
	}))
}

// The workbooks in testdata/workbooks; README.md there says how they were made.
func TestScannerReadsKeptBooksAsTheLibraryDoes(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join("testdata", "workbooks", "*.xlsx"))
	if err != nil || len(paths) == 0 {
		t.Fatal(paths, err)
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) { sameAsLibrary(t, path, "lab & more!D5") })
	}
}
