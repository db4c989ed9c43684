package survey

import (
	"path/filepath"
	"testing"

	"github.com/xuri/excelize/v2"
)

// What a sheet hides is read, and told of; what is hidden and holds nothing is
// not.
func TestHiddenRowsAndColumns(t *testing.T) {
	path := writeWorkbook(t, workbookRows(), func(f *excelize.File) {
		for _, row := range []int{3, 40} {
			if err := f.SetRowVisible("Laboratory results", row, false); err != nil {
				t.Fatal(err)
			}
		}
		for _, column := range []string{"E", "K"} {
			if err := f.SetColVisible("Laboratory results", column, false); err != nil {
				t.Fatal(err)
			}
		}
	})
	s, list, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	wantLines(t, lines(list, filepath.Dir(path)), []string{
		`check hidden-column survey.xlsx:lab!E1 [] the sheet hides the column "cas"; it is read like the others`,
		"check hidden-rows survey.xlsx:lab row 3 [] the sheet hides the rows 3; they are read like the others",
	})
	if len(s.Lab) != 2 || s.Lab[0].CAS == "" {
		t.Errorf("read %+v", s.Lab)
	}
}

// Days of a plain number count from where the workbook says. Serial 44621 from
// 1904 is 2026-03-02 (ISO/IEC 29500-1, 18.17.4.1), and so is 46083 from 1900.
func TestPlainNumbersOfDays(t *testing.T) {
	for since1904, serial := range map[bool]float64{true: 44621.5, false: 46083.5} {
		path := writeWorkbook(t, map[string][][]any{
			"samples": {{"sample", "kind", "start"}, {"S-1", "area", serial}},
			"flows":   {{"train", "leg", "stage", "readings"}, {"T1", "A", "pre", 2}},
			"lab":     {{"sample", "analyte", "result", "unit"}, {"S-1", "Tin", 2, "ug"}},
		}, func(f *excelize.File) {
			if err := f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &since1904}); err != nil {
				t.Fatal(err)
			}
		})
		s, _, err := Read(path)
		if err != nil {
			t.Fatal(err)
		}
		if got := writeMoment(s.Samples[0].Start); got != "2026-03-02 12:00" {
			t.Errorf("since 1904 %v: %s", since1904, got)
		}
	}
}
