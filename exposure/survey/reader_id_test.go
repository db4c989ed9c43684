package survey

import (
	"path/filepath"
	"testing"
)

// What a spreadsheet makes of identifiers and times in cells without a format
// is told of. Spreadsheets keep 15 digits of a number, and give 1E5 a format of
// powers of ten (common practice, no source).
func TestIdentifiersAndTimesInCellsOfNumbers(t *testing.T) {
	path := writeWorkbook(t, map[string][][]any{
		"samples": {{"sample", "kind", "start"}, {100000, "area", 0.291666667}},
		"flows":   {{"train", "leg", "stage", "readings"}, {"T1", "A", "pre", 2}},
		"lab": {{"sample", "analyte", "result", "unit"}, {shown{100000, "0.00E+00"}, "Tin", 2, "ug"},
			{1.2345678901234567e16, "Tin", shown{0.00002, "0.0E+00"}, "ug"}},
	}, nil)
	s, list, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	wantLines(t, lines(list, filepath.Dir(path)), []string{
		`check identifier-mangled survey.xlsx:lab!A2 [100000, Tin, 12345678901234500] sample "1.00E+05" looks like a number in powers of ten: a spreadsheet may have made it of an identifier such as 1E5; so in 2 row(s)`,
		`check unreadable-date survey.xlsx:samples!C2 [100000] start "0.291666667" is not a date or time that can be read in one way only: it may be the spreadsheet's number for a time of day; show the cell as a time; expected one such as 2026-03-02 22:10; the cell is taken as empty`,
	})
	if len(s.Lab) != 2 || s.Lab[0].Sample != "100000" || s.Lab[1].Value != 0.00002 {
		t.Errorf("read %+v", s.Lab)
	}
}
