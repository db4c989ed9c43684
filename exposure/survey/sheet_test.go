package survey

import (
	"archive/zip"
	"bytes"
	"maps"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// shown is a cell of a number with its number format; formula one with a
// formula in it.
type (
	shown   struct{ value, format any }
	formula string
)

// writeWorkbook writes sheets of rows, in the order of names.
func writeWorkbook(t testing.TB, sheets map[string][][]any, change func(*excelize.File)) string {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for _, name := range slices.Sorted(maps.Keys(sheets)) { // the first is the active one, which cannot be hidden
		rows := sheets[name]
		if _, err := f.NewSheet(name); err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			for at, v := range row {
				writeCell(t, f, name, cellName(at, int32(i+1)), v)
			}
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(f)
	}
	path := filepath.Join(t.TempDir(), "survey.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	return path
}

func writeCell(t testing.TB, f *excelize.File, sheet, cell string, v any) {
	t.Helper()
	var err error
	switch x := v.(type) {
	case nil:
	case formula:
		err = f.SetCellFormula(sheet, cell, string(x))
	case shown:
		code := x.format.(string)
		style, e := f.NewStyle(&excelize.Style{CustomNumFmt: &code})
		if e != nil {
			t.Fatal(e)
		}
		if err = f.SetCellValue(sheet, cell, x.value); err == nil {
			err = f.SetCellStyle(sheet, cell, cell, style)
		}
	default:
		err = f.SetCellValue(sheet, cell, v)
	}
	if err != nil {
		t.Fatal(err)
	}
}

func at(text string) shown {
	v, err := time.Parse("2006-01-02 15:04", text)
	if err != nil {
		panic(err)
	}
	return shown{v, "yyyy-mm-dd hh:mm"}
}

func workbookRows() map[string][][]any {
	return map[string][][]any{
		"Samples": {
			{"sample", "kind", "train", "leg", "medium", "worker", "shift", "start", "stop", "pause_min"},
			{shown{7, "000"}, "personal", "T1", "A", "M1", 12345678901234, "D1", at("2026-03-02 07:00"), shown{15.0 / 24, "hh:mm"}, 30},
		},
		"flows": {
			{"train", "leg", "stage", "reading_1", "reading_2", "unit", "taken_at"},
			{"T1", "A", "pre", shown{2.0149, "0.0"}, 1.99, "L/min", at("2026-03-02 06:30")},
			{"T1", "A", "post", "1,998", "2,004.5", "mL/min", at("2026-03-02 15:20")},
		},
		"Laboratory results": {
			{"sample", "analyte", "result", "unit", "cas", "desorption", "desorption_applied"},
			{"007", "Manganese", 12.3456789012345, "ug", "7439-96-5", shown{0.96, "0%"}, false},
			{"007", "Nickel", "<0.06", "ug", "7440-02-0", 0.97, true},
		},
	}
}

func TestWorkbookReadsAsTextFilesDo(t *testing.T) {
	book, list, err := Read(writeWorkbook(t, workbookRows(), nil))
	if err != nil {
		t.Fatal(err)
	}
	wantLines(t, lines(list, ""), nil)
	folder, got := readFolder(t, map[string]string{
		"samples.csv": "sample,kind,train,leg,medium,worker,shift,start,stop,pause_min\n007,personal,T1,A,M1,12345678901234,D1,2026-03-02 07:00,15:00,30\n",
		"flows.csv":   "train,leg,stage,reading_1,reading_2,unit,taken_at\nT1,A,pre,2.0149,1.99,L/min,2026-03-02 06:30\nT1,A,post,\"1,998\",\"2,004.5\",mL/min,2026-03-02 15:20\n",
		"lab.csv":     "sample,analyte,result,unit,cas,desorption,desorption_applied\n007,Manganese,12.3456789012345,ug,7439-96-5,0.96,no\n007,Nickel,<0.06,ug,7440-02-0,0.97,yes\n",
	})
	wantLines(t, got, nil)
	if len(book.Samples) != 1 || len(book.Flows) != 2 || len(book.Lab) != 2 {
		t.Fatalf("%d samples, %d flows, %d results", len(book.Samples), len(book.Flows), len(book.Lab))
	}
	same := func(what string, a, b any, got, want Ref) {
		t.Helper()
		if !reflect.DeepEqual(a, b) || got.Row != want.Row || got.Place("sample").Cell != want.Place("sample").Cell {
			t.Errorf("%s: %+v in the workbook, %+v in the folder", what, a, b)
		}
	}
	a, b := book.Samples[0], folder.Samples[0]
	refA, refB := a.Ref, b.Ref
	a.Ref, b.Ref = Ref{}, Ref{}
	same("sample", a, b, refA, refB)
	for i := range book.Lab {
		a, b := book.Lab[i], folder.Lab[i]
		refA, refB := a.Ref, b.Ref
		a.Ref, b.Ref = Ref{}, Ref{}
		same("result", a, b, refA, refB)
	}
	for i := range book.Flows {
		for k, q := range book.Flows[i].Readings {
			same("reading", q, folder.Flows[i].Readings[k], book.Flows[i].Ref, folder.Flows[i].Ref)
		}
		same("taken at", book.Flows[i].TakenAt, folder.Flows[i].TakenAt, book.Flows[i].Ref, folder.Flows[i].Ref)
	}
	if text := book.Samples[0].Text("sample"); text != "007" {
		t.Errorf("the sample reads %q", text)
	}
}

func TestWorkbookTraps(t *testing.T) {
	rows := workbookRows()
	rows["Samples"][1][9] = shown{0.5 / 24, "h:mm"} // a time of day for minutes
	rows["Samples"] = append(rows["Samples"], []any{shown{at("2026-03-02 00:00").value, "m/d"}, "area", "T1", "A"})
	rows["Samples"] = append(rows["Samples"], []any{"S-9", "area", "T1", "A", nil, nil, nil, 46083.3, nil, formula("1+1")})
	rows["flows"][1][4] = "#N/A"
	rows["Laboratory results"][1][4] = shown{time.Date(7440, 6, 4, 0, 0, 0, 0, time.UTC), "yyyy-mm-dd"}
	rows["Laboratory results"][2][2] = formula("C2/2")
	rows["Laboratory results"][2] = append(rows["Laboratory results"][2], "a remark beside the table")
	rows["Notes"] = [][]any{{"x"}}
	rows["workers"] = [][]any{{"worker"}, {"W-1"}}
	path := writeWorkbook(t, rows, func(f *excelize.File) {
		if err := f.SetSheetVisible("workers", false); err != nil {
			t.Fatal(err)
		}
	})
	path = errorCellIn(t, path)
	s, list, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	wantLines(t, lines(list, filepath.Dir(path)), []string{
		"check cas-repaired changed.xlsx:lab!E2 [007, Manganese] cas 7440-06-04 is a date; it is taken as the CAS number 7440-06-4, whose check digit is right",
		"check date-as-identifier changed.xlsx:samples!A3 [3/2] sample 3/2 is a date cell: a spreadsheet may have made a date of an identifier such as 3-2",
		`check date-as-number changed.xlsx:samples!H4 [S-9] start "46083.3" is a number; it is taken as the spreadsheet's number for 2026-03-02 07:12; so in 1 row(s)`,
		"check formula-without-value changed.xlsx:samples!J4 [S-9] pause_min holds a formula whose value the file does not contain; it is taken as 0",
		`check unreadable-number changed.xlsx:samples!J2 [007] pause_min "0:30" is not a number; expected 0 or more min; it is taken as 0`,
		"note hidden-sheet changed.xlsx:workers [] sheet workers is hidden; it was read as the workers table",
		"note unknown-table changed.xlsx [] Notes is not one of the input tables and was not read",
		"note unnamed-column changed.xlsx:lab!H3 [] the lab table has cells under no header; they are not used",
		"stop error-cell changed.xlsx:flows!E2 [T1, A, 007, 3/2, S-9] reading_2 holds the error #N/A; the row is left out",
		"stop formula-without-value changed.xlsx:lab!C3 [007, Nickel] result holds a formula whose value the file does not contain; the row is left out",
	})
	if len(s.Samples) != 3 || len(s.Flows) != 1 || len(s.Lab) != 1 || len(s.Workers) != 1 {
		t.Errorf("%d samples, %d flows, %d results, %d workers", len(s.Samples), len(s.Flows), len(s.Lab), len(s.Workers))
	}
	if s.Lab[0].CAS != "7440-06-4" {
		t.Errorf("cas %q", s.Lab[0].CAS)
	}
}

// errorCellIn makes the text cell #N/A of a workbook the error value #N/A.
func errorCellIn(t *testing.T, path string) string {
	t.Helper()
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	return rezip(t, path, func(name string, raw []byte) []byte {
		if !strings.HasPrefix(name, "xl/worksheets/sheet") {
			return raw
		}
		index := sharedIndex(t, f)
		return bytes.Replace(raw, []byte(`t="s"><v>`+index+`</v>`), []byte(`t="e"><v>#N/A</v>`), 1)
	})
}

// sharedIndex finds where #N/A stands among the shared texts.
func sharedIndex(t *testing.T, f *excelize.File) string {
	t.Helper()
	raw, _ := f.Pkg.Load("xl/sharedStrings.xml")
	before, _, found := strings.Cut(string(raw.([]byte)), "#N/A")
	if !found {
		t.Fatal("no #N/A among the shared texts")
	}
	return plainly(float64(strings.Count(before, "<si>") - 1))
}

// rezip writes a copy of a workbook with its parts changed.
func rezip(t testing.TB, path string, change func(name string, raw []byte) []byte) string {
	t.Helper()
	in, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, part := range in.File {
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		var raw bytes.Buffer
		if _, err := raw.ReadFrom(r); err != nil {
			t.Fatal(err)
		}
		to, err := w.Create(part.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := to.Write(change(part.Name, raw.Bytes())); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return writeFile(t, "changed.xlsx", out.Bytes())
}

func TestDatesSince1904(t *testing.T) {
	path := writeWorkbook(t, map[string][][]any{
		"samples": {{"sample", "kind", "start", "stop"}, {"S-1", "area", shown{44621.5, "yyyy-mm-dd hh:mm"}, shown{44621.75, "yyyy-mm-dd hh:mm"}}},
		"flows":   {{"train", "leg", "stage", "readings"}, {"T1", "A", "pre", 2}},
		"lab":     {{"sample", "analyte", "result", "unit"}, {"S-1", "Tin", 2, "ug"}},
	}, func(f *excelize.File) {
		yes := true
		if err := f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}); err != nil {
			t.Fatal(err)
		}
	})
	s, list, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	wantLines(t, lines(list, ""), nil)
	// Serial 44621.5 counted from 1904-01-01 is 1462 days later than counted
	// from 1900: ISO/IEC 29500-1, 18.17.4.1; 1904-01-01
	// and 44621 days are 2026-03-02.
	if got := writeMoment(s.Samples[0].Start); got != "2026-03-02 12:00" {
		t.Errorf("start %s", got)
	}
}

func TestKindOfFormat(t *testing.T) {
	for code, want := range map[string]cellKind{
		"yyyy-mm-dd": dateKind, "d.m.yy": dateKind, "yyyy-mm-dd hh:mm": timeKind, "[h]:mm": timeKind, "mm:ss": timeKind,
		"[$-409]d/m/yyyy": dateKind, "0.00": numberKind, "General": numberKind, `0.0 "days"`: numberKind, `0\d`: numberKind,
		"[Red]0.0": numberKind, "#,##0 _€": numberKind, "@": numberKind,
	} {
		if got := kindOfFormat(0, &code); got != want {
			t.Errorf("%s: %d, want %d", code, got, want)
		}
	}
	for id, want := range map[int]cellKind{0: numberKind, 2: numberKind, 9: numberKind, 14: dateKind, 20: timeKind, 22: timeKind, 46: timeKind, 49: numberKind} {
		if got := kindOfFormat(id, nil); got != want {
			t.Errorf("format %d: %d, want %d", id, got, want)
		}
	}
}

func TestWorkbookIsBounded(t *testing.T) {
	path := writeWorkbook(t, workbookRows(), nil)
	bomb := rezip(t, path, func(name string, raw []byte) []byte {
		if strings.HasSuffix(name, "sheet2.xml") {
			return append(raw, make([]byte, 4<<20)...)
		}
		return raw
	})
	defer func(n int64, c int) { maxUnpackedBytes, maxCells = n, c }(maxUnpackedBytes, maxCells)
	maxUnpackedBytes = 1 << 20
	wantUnusable(t, bomb, `changed.xlsx: cannot be read as a workbook: it unfolds to more than 1 MB; split the survey, or give a folder of .csv files`)
	maxCells = 10
	_, list, err := Read(path)
	if err == nil || !strings.Contains(err.Error(), "there are more than 10 cells") || list.Len() != 0 {
		t.Errorf("error %v, %d findings", err, list.Len())
	}
}
