package survey

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/xuri/excelize/v2"

	"airtally/exposure/finding"
	"airtally/limits"
	"airtally/stats"
)

// readListOf reads a list of that text and returns its findings one a line.
func readListOf(t *testing.T, text string) ([]ListRow, []string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "list.csv")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	rows, inputs, list, err := ReadList(path)
	if err != nil || len(inputs) != 1 {
		t.Fatal(inputs, err)
	}
	return rows, lines(list, filepath.Dir(path))
}

func TestListsAreRead(t *testing.T) {
	rows, found := readListOf(t, "SEG,Worker ID,date,result,low,high,substance,units\n"+
		"Mixers,W-1,2026-03-02,1.25,,,Quillite,mg/m3\n"+
		"Mixers,W-2,2026-03-03,<0.2,,,Quillite,mg/m³\n"+
		"Mixers,W-3,2026-03-03 06:10,>12,,,Quillite,mg/m3\n"+
		"Mixers,W-4,,,0.1,0.3,Quillite,mg/m3\n"+
		"Mixers,W-5,,,,0.4,Quillite,mg/m3\n"+
		"Mixers,W-6,,,2,,Quillite,mg/m3\n"+
		"Mixers,W-7,,0.8,0.5,1.1,Quillite,mg/m3\n"+
		"Mixers,W-8,,0.06 U,,,Quillite,mg/m3\n")
	wantLines(t, found, nil)
	want := []stats.Interval{
		stats.Exact(1.25), stats.Under(0.2, 0.1), stats.AtLeast(12),
		{Low: 0.1, Value: 0.2, High: 0.3}, stats.Under(0.4, 0.2), stats.AtLeast(2),
		{Low: 0.5, Value: 0.8, High: 1.1}, stats.Under(0.06, 0.03),
	}
	if len(rows) != len(want) {
		t.Fatalf("%d rows, want %d", len(rows), len(want))
	}
	for i, r := range rows {
		if r.Value != want[i] && math.Abs(r.Value.Value-want[i].Value) > 1e-15 {
			t.Errorf("row %d: %+v, want %+v", i+2, r.Value, want[i])
		}
		if r.Group != "Mixers" || r.Analyte != "Quillite" || r.Unit != limits.MilligramsPerM3 {
			t.Errorf("row %d: %+v", i+2, r)
		}
	}
	if first, third := rows[0].Date, rows[2].Date; writeMoment(first) != "2026-03-02" || writeMoment(third) != "2026-03-03 06:10" {
		t.Errorf("dates %v and %v", first, third)
	}
}

func TestListUnitsStandInCellHeaderOrBehind(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		want limits.Unit
	}{
		"cell":        {"group,value,unit\nA,3,ug/m3\n", limits.MicrogramsPerM3},
		"header":      {"group,value [µg/m³]\nA,3\n", limits.MicrogramsPerM3},
		"behind":      {"group,value\nA,3 ug/m3\n", limits.MicrogramsPerM3},
		"none":        {"group,value\nA,3\n", limits.Unit{}},
		"cell, again": {"group,value,unit\nA,3 ppm,ppm\n", limits.PartsPerMillion},
	} {
		rows, found := readListOf(t, c.text)
		if len(rows) != 1 || rows[0].Unit != c.want || rows[0].Value.Value != 3 || len(found) > 0 {
			t.Errorf("%s: %+v %v", name, rows, found)
		}
	}
}

func TestListsWithoutGroupsAreOneGroup(t *testing.T) {
	rows, found := readListOf(t, "value,unit\n3,ppm\n4,ppm\n")
	wantLines(t, found, []string{"check no-group-column list.csv:exposures!A1 [] the list has no column group: all its rows are judged as one group"})
	if len(rows) != 2 || rows[0].Group != "" {
		t.Errorf("%+v", rows)
	}
}

// TestListRowsThatCannotBeUsed has one fault a row between two rows that stand.
func TestListRowsThatCannotBeUsed(t *testing.T) {
	for _, c := range []struct{ row, want string }{
		{"A,W,2026-03-02,many,,,mg/m3", `stop unreadable-result list.csv:exposures!D3 [A, W, 2026-03-02] value "many" is not a result; expected a number, a number after < or >, or ND; the row is left out`},
		{"A,W,,1O,,,mg/m3", `stop unreadable-result list.csv:exposures!D3 [A, W] value "1O" is not a result; expected a number, a number after < or >, or ND; the row is left out`},
		{"A,W,,-0.3,,,mg/m3", `stop out-of-range list.csv:exposures!D3 [A, W] value "-0.3" cannot be; expected a number over 0; the row is left out`},
		{"A,W,,0,,,mg/m3", `stop zero-result list.csv:exposures!D3 [A, W] value "0" is not a result: no exposure is known to be exactly zero; the row is left out`},
		{"A,W,,<0,,,mg/m3", `stop out-of-range list.csv:exposures!D3 [A, W] value "<0" cannot be; expected a number over 0 after < or >; the row is left out`},
		{"A,W,,ND,,,mg/m3", `stop non-detect-without-limit list.csv:exposures!D3 [A, W] value "ND" says that nothing was found, but not under which reporting limit; the row is left out`},
		{"A,W,,,,,mg/m3", `stop missing-value list.csv:exposures!D3 [A, W] value is empty; expected an exposure in value, or in low and high; the row is left out`},
		{"A,W,,,0.3,0.1,mg/m3", `stop out-of-range list.csv:exposures!F3 [A, W] high "0.1" cannot be; expected low or more; the row is left out`},
		{"A,W,,,0.3,x,mg/m3", `stop unreadable-number list.csv:exposures!F3 [A, W] high "x" is not a number; expected a number over 0; the row is left out`},
		{"A,W,,,0,,mg/m3", `stop zero-result list.csv:exposures!E3 [A, W] low "0" is not a result: no exposure is known to be exactly zero; the row is left out`},
		{"A,W,,,,0,mg/m3", `stop out-of-range list.csv:exposures!F3 [A, W] high "0" cannot be; expected a number over 0; the row is left out`},
		{"A,W,,2,0.1,0.3,mg/m3", `stop bounds-disagree list.csv:exposures!D3 [A, W] value "2" is not within low "0.1" and high "0.3"; the row is left out`},
		{"A,W,,<0.2,0.1,0.3,mg/m3", `stop bounds-disagree list.csv:exposures!D3 [A, W] value "<0.2" is not within low "0.1" and high "0.3"; the row is left out`},
		{"A,W,,2,,,furlongs", `stop unreadable-unit list.csv:exposures!G3 [A, W] unit "furlongs" is not a known unit; expected a concentration such as mg/m3, ug/m3, ppm or f/cc; the row is left out`},
		{"A,W,,2 mg,,,", `stop unreadable-unit list.csv:exposures!D3 [A, W] value "mg" is not a known unit; expected a concentration such as mg/m3, ug/m3, ppm or f/cc; the row is left out`},
		{"A,W,,2 ppm,,,mg/m3", `stop unit-conflict list.csv:exposures!D3 [A, W] value says "ppm" but the row's unit is mg/m3; the row is left out`},
		{",W,,2,,,mg/m3", `stop missing-value list.csv:exposures!A3 [W] group is empty; expected group of similar exposure; the row is left out`},
		{"A,W,someday,2,,,mg/m3", `check unreadable-date list.csv:exposures!C3 [A, W, someday] date "someday" is not a date or time that can be read in one way only; expected one such as 2026-03-02 22:10; the cell is taken as empty`},
	} {
		rows, found := readListOf(t, "group,worker,date,value,low,high,unit\nA,W,,1,,,mg/m3\n"+c.row+"\nA,W,,3,,,mg/m3\n")
		wantLines(t, found, []string{c.want})
		stands := 2
		if c.want[:4] != "stop" {
			stands = 3
		}
		if len(rows) != stands || rows[stands-1].Value.Value != 3 {
			t.Errorf("%s: %d rows stand", c.row, len(rows))
		}
	}
}

// workbookOf writes a workbook with sheets of text and numbers.
func workbookOf(t *testing.T, sheets map[string][][]any, order ...string) string {
	t.Helper()
	f := excelize.NewFile()
	for i, name := range order {
		if i == 0 {
			if err := f.SetSheetName("Sheet1", name); err != nil {
				t.Fatal(err)
			}
		} else if _, err := f.NewSheet(name); err != nil {
			t.Fatal(err)
		}
		for row, cells := range sheets[name] {
			if err := f.SetSheetRow(name, cellName(0, int32(row+1)), &cells); err != nil {
				t.Fatal(err)
			}
		}
	}
	path := filepath.Join(t.TempDir(), "list.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestListsInWorkbooks(t *testing.T) {
	data := [][]any{{"group", "worker", "value", "unit"}, {"A", "W-1", 1.5, "mg/m3"}, {"A", "W-2", "<0.2", "mg/m3"}, {"A", "W-3", 0, "mg/m3"}}
	notes := [][]any{{"remark"}, {"taken in spring"}}

	rows, _, list, err := ReadList(workbookOf(t, map[string][][]any{"Blatt 1": data, "Notes": notes}, "Notes", "Blatt 1"))
	if err != nil || len(rows) != 2 || rows[0].Value != stats.Exact(1.5) || rows[1].Value != stats.Under(0.2, 0.1) {
		t.Fatal(rows, err)
	}
	if found := list.Sorted(); len(found) != 1 || found[0].Code != finding.ZeroResult || found[0].Table != "Blatt 1" || found[0].Cell != "C4" {
		t.Errorf("%+v", found)
	}

	twice := map[string][][]any{"May": data, "June": data, "Exposures": data[:2]}
	if rows, _, _, err := ReadList(workbookOf(t, twice, "May", "June", "Exposures")); err != nil || len(rows) != 1 {
		t.Errorf("the sheet called exposures is not taken: %v %v", rows, err)
	}
	var unusable *UnusableError
	if _, _, _, err := ReadList(workbookOf(t, twice, "May", "June")); !errors.As(err, &unusable) {
		t.Errorf("two sheets of exposures: %v", err)
	}
}

func TestFilesThatAreNoList(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"empty.csv":  "",
		"header.csv": "group,worker,date,value\n",
		"other.csv":  "sample,train,leg\nS1,T1,A\n",
		"low.csv":    "group,low\nA,2\n",
		"no.xlsx":    "this is no workbook",
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		var unusable *UnusableError
		if _, _, _, err := ReadList(path); !errors.As(err, &unusable) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, path := range []string{dir, filepath.Join(dir, "none.csv"), filepath.Join(dir, "none.xlsx")} {
		var unusable *UnusableError
		if _, _, _, err := ReadList(path); !errors.As(err, &unusable) {
			t.Errorf("%s: %v", path, err)
		}
	}
}

// TestLimitsInASheetOfAnyName holds for the other file of one table.
func TestLimitsInASheetOfAnyName(t *testing.T) {
	path := workbookOf(t, map[string][][]any{"House": {
		{"analyte", "authority", "kind", "value", "unit"}, {"Quillite", "House", "TWA8", 2, "mg/m3"},
	}}, "House")
	rows, _, _, err := Disk.ReadLimits(path)
	if err != nil || len(rows) != 1 || rows[0].Limit.Value != 2 {
		t.Errorf("%v %v", rows, err)
	}
}

func FuzzList(f *testing.F) {
	f.Add("group,value,unit\nA,1,mg/m3\nA,<0.2,mg/m3\n")
	f.Add("value;low;high\n1,5;;\n;0;1\n")
	f.Add("\"\n")
	f.Fuzz(func(t *testing.T, text string) {
		path := filepath.Join(t.TempDir(), "list.csv")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		rows, _, _, err := ReadList(path)
		if err != nil {
			return
		}
		for _, r := range rows {
			x := r.Value
			if !(0 <= x.Low && x.Low <= x.Value && x.Value <= x.High) || x.High == 0 || x.Low == 0 && math.IsInf(x.High, 1) {
				t.Errorf("%q gives %+v", text, x)
			}
		}
	})
}
