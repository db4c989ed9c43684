package survey

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func writeFile(t testing.TB, name string, raw []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, raw, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// wantUnusable reads a path and compares the whole error, one fault a line,
// each with the path's folder cut off.
func wantUnusable(t *testing.T, path string, want ...string) {
	t.Helper()
	s, _, err := Read(path)
	var unusable *UnusableError
	if s != nil || !errors.As(err, &unusable) {
		t.Fatalf("survey %v, error %v", s, err)
	}
	got := strings.ReplaceAll(err.Error(), filepath.Dir(path)+string(filepath.Separator), "")
	if got != strings.Join(want, "\n") {
		t.Errorf("error:\n%s\nwant:\n%s", got, strings.Join(want, "\n"))
	}
}

func TestUnusable(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "survey")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	wantUnusable(t, filepath.Join(dir, "none"), "none: cannot be opened: no such file or directory; check the path and your rights to it")
	wantUnusable(t, dir, "survey: holds no .csv file; give a folder with at least samples.csv, flows.csv and lab.csv, or a workbook")
	wantUnusable(t, writeFile(t, "lab.csv", nil), "lab.csv: is one table; a survey is a folder of them; give the folder that holds it")
	wantUnusable(t, writeFile(t, "a.xlsx", []byte("text")), "a.xlsx: is not a workbook; give an .xlsx workbook or a folder of .csv files")
	wantUnusable(t, writeFile(t, "b.xlsx", []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1rest")),
		"b.xlsx: is an encrypted workbook or one of the old .xls kind; save it as .xlsx without a password")
	wantUnusable(t, writeFile(t, "c.xlsx", []byte("PK\x03\x04rest")),
		"c.xlsx: cannot be read as a workbook: zip: not a valid zip file; save it again as .xlsx in a spreadsheet")
}

func TestAllMissingPartsAreNamed(t *testing.T) {
	dir := writeFolder(t, map[string]string{
		"lab.csv":    "sample,analyt,resullt\nS-1,Iron,2\n",
		"flow.csv":   "\n\n",
		"simple.csv": "a\n",
	})
	wantUnusable(t, dir,
		filepath.Base(dir)+`/lab.csv: the lab table cannot be read: there is no column analyte (what was determined, as the laboratory writes it); the nearest header is "analyt"; `+
			`there is no column result (the number; <0.06 or ND where not detected); the nearest header is "resullt"; `+
			`there is no column unit (ug, mg, ng, fibres, fibres/mm2, or a concentration); add the column analyte, result, unit`,
		filepath.Base(dir)+"/flow.csv: the flows table cannot be read: it is empty; add the column train, leg, stage, readings",
		filepath.Base(dir)+`: has no table samples (one medium on one leg of one train for one period); the nearest name is "simple"; add the sheet samples, or the file samples.csv`)
}

func TestFilesWithoutRights(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may read every file")
	}
	dir := writeFolder(t, plainSurvey())
	if err := os.Chmod(filepath.Join(dir, "lab.csv"), 0); err != nil {
		t.Fatal(err)
	}
	wantUnusable(t, dir, filepath.Base(dir)+"/lab.csv: cannot be read: permission denied; check the file and your rights to it")
}

func TestTextTooLarge(t *testing.T) {
	defer func(n int64) { maxTextBytes = n }(maxTextBytes)
	maxTextBytes = 10
	_, _, err := Read(writeFolder(t, map[string]string{"lab.csv": "sample,analyte\n"}))
	if err == nil || !strings.Contains(err.Error(), "lab.csv: cannot be read: it is larger than 10 bytes") {
		t.Errorf("error %v", err)
	}
}

func TestIncompleteOptionalTable(t *testing.T) {
	s, got := readFolder(t, with("gaps.csv", "shift,worker,start\nD1,W-1,07:00\n", "media.csv", "", "history.csv", "group,analyte,date,worker,value,unit\n"))
	wantLines(t, got, []string{
		"stop incomplete-table gaps.csv:gaps!A1 [] the gaps table was not read: there is no column end (when it ended)"})
	if len(s.Samples) != 1 {
		t.Error("the rest was not read")
	}
}
