package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

const (
	labWeek   = "testdata/labfiles/week"
	labGolden = "testdata/golden/map-"
)

// labFiles are invented exports of one set of results, each in headings and
// words of its own. Their mappings lie beside them.
var labFiles = []string{"semicolons.csv", "two-columns.csv", "suffixes.txt"}

// weekWithTable writes the survey of the exports with their results in a lab
// table.
func weekWithTable(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	for _, name := range []string{"week/samples.csv", "week/flows.csv", "week/media.csv", "lab.csv"} {
		text, err := os.ReadFile(filepath.Join("testdata/labfiles", name))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(folder, filepath.Base(name)), text, 0o666))
	}
	return folder
}

// resultsOf returns results.json of a run, its findings apart.
func resultsOf(t *testing.T, args ...string) (results map[string]any, findings []map[string]any) {
	t.Helper()
	status, out, errOut := airtally(t, append([]string{"reduce", "--json"}, args...)...)
	require.NotEqual(t, unusable, status, errOut)
	require.NoError(t, json.Unmarshal([]byte(out), &results))
	for _, f := range results["findings"].([]any) {
		findings = append(findings, f.(map[string]any))
	}
	delete(results, "created")
	delete(results, "inputs")
	delete(results, "findings")
	return results, findings
}

// said returns the findings as code and subject, without those about the
// layout of a laboratory's file.
func said(findings []map[string]any) []string {
	var all []string
	for _, f := range findings {
		code := f["code"].(string)
		if !strings.HasPrefix(code, "lab-rows") && code != "lab-cells-empty" && code != "encoding-guessed" {
			all = append(all, code+": "+f["subject"].(string))
		}
	}
	return all
}

// Each export gives what the same figures give in the lab table: every number
// and every finding about them.
func TestLaboratoryFilesGiveWhatTheLabTableGives(t *testing.T) {
	inProjectRoot(t)
	want, wantFindings := resultsOf(t, weekWithTable(t))
	require.Len(t, want["concentrations"], 13)
	for _, name := range labFiles {
		got, findings := resultsOf(t, labWeek, "--lab", "testdata/labfiles/"+name)
		if name == "suffixes.txt" { // it has no CAS numbers
			withoutCAS(want)
			withoutCAS(got)
		}
		for array := range want {
			assert.Equal(t, want[array], got[array], "%s: %s", name, array)
		}
		assert.ElementsMatch(t, said(wantFindings), said(findings), name)
	}
}

func withoutCAS(results map[string]any) {
	for _, row := range results["concentrations"].([]any) {
		delete(row.(map[string]any), "cas")
	}
}

// A finding names the laboratory's own file, heading and cell.
func TestFindingsNameTheLaboratorysOwnCells(t *testing.T) {
	inProjectRoot(t)
	_, findings := resultsOf(t, labWeek, "--lab", "testdata/labfiles/semicolons.csv")
	var seen int
	for _, f := range findings {
		if f["code"] == "result-estimated" && f["subject"] == "F-303, Lead" {
			seen++
			assert.Equal(t, "testdata/labfiles/semicolons.csv", f["file"])
			assert.Equal(t, "semicolons", f["table"])
			assert.Equal(t, "Kennzeichen", f["column"])
			assert.Equal(t, "H17", f["cell"])
			assert.Contains(t, f["message"], "0,62")
		}
	}
	require.Equal(t, 1, seen)
	status, out, _ := airtally(t, "check", labWeek, "--lab", "testdata/labfiles/semicolons.csv")
	require.Equal(t, done, status)
	require.Contains(t, out, "testdata/labfiles/semicolons.csv")
	require.Contains(t, out, "H17")
}

// acrossBook writes a workbook with a column for each analyte, under headings of
// two rows, and a second sheet that holds no results.
func acrossBook(t *testing.T, path string) {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	require.NoError(t, f.SetSheetName("Sheet1", "Results"))
	_, err := f.NewSheet("About")
	require.NoError(t, err)
	require.NoError(t, f.SetSheetRow("About", "A1", &[]any{"Methods as asked for"}))
	date, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	require.NoError(t, err)
	day := func(d int) time.Time { return time.Date(2026, 5, d, 0, 0, 0, 0, time.UTC) }
	rows := [][]any{
		{"Report 4417"}, {},
		{"Sample", "Toluene front", "Toluene back", "Lead", "Manganese", "Analysed"},
		{"", "µg", "µg", "µg", "µg"},
		{"S-201", 412, 3.1, nil, nil, day(13)}, {"S-202", 1520.5, "<2", nil, nil, day(13)}, {"S-203", "<2", "<2", nil, nil, day(13)},
		{"S-204", "87.4 J", "<2", nil, nil, day(13)}, {"S-209", "<2", "<2", nil, nil, day(13)},
		{"F-301", nil, nil, 5.25, 12.5, day(12)}, {"F-302", nil, nil, "<0.5", 3.75, day(12)},
		{"F-303", nil, nil, "0.62 J", "<0.5", day(12)}, {"F-309", nil, nil, "<0.5", "<0.5", day(12)},
	}
	for i, row := range rows {
		cell, err := excelize.CoordinatesToCellName(1, i+1)
		require.NoError(t, err)
		require.NoError(t, f.SetSheetRow("Results", cell, &row))
	}
	require.NoError(t, f.SetCellStyle("Results", "F5", "F13", date))
	require.NoError(t, f.SaveAs(path))
}

// A workbook with its analytes side by side leaves nothing in doubt: it is read
// without a mapping, and by the mapping proposed for it.
func TestAnalytesSideBySide(t *testing.T) {
	inProjectRoot(t)
	want, _ := resultsOf(t, weekWithTable(t))
	withoutCAS(want)
	book := filepath.Join(t.TempDir(), "across.xlsx")
	acrossBook(t, book)
	alone, findings := resultsOf(t, labWeek, "--lab", book)
	withoutCAS(alone)
	for array := range want {
		assert.Equal(t, want[array], alone[array], array)
	}
	var unread, empty []string
	for _, f := range findings {
		switch f["code"] {
		case "lab-sheet-unread":
			unread = append(unread, f["message"].(string))
		case "lab-cells-empty":
			empty = append(empty, f["message"].(string))
		}
	}
	require.Len(t, unread, 1)
	require.Contains(t, unread[0], "About")
	require.Len(t, empty, 4)
	require.Contains(t, strings.Join(empty, "\n"), `"Toluene back µg" are empty in rows 10–13`)

	mapping := strings.TrimSuffix(book, ".xlsx") + ".toml"
	status, out, errOut := airtally(t, "map", book, "-o", mapping)
	require.Equal(t, done, status, out+errOut)
	by, _ := resultsOf(t, labWeek, "--lab", book)
	withoutCAS(by)
	require.Equal(t, alone, by)
}

// The proposals for the exports, as they are printed.
func TestMapProposesGolden(t *testing.T) {
	inProjectRoot(t)
	for _, name := range labFiles {
		status, out, errOut := airtally(t, "map", "testdata/labfiles/"+name)
		require.Equal(t, leftOut, status, "something is to be decided in "+name)
		require.Empty(t, errOut)
		golden := labGolden + strings.TrimSuffix(name, filepath.Ext(name)) + ".toml"
		if *update {
			require.NoError(t, os.WriteFile(golden, []byte(out), 0o644))
		}
		want, err := os.ReadFile(golden)
		require.NoError(t, err)
		require.Equal(t, string(want), out, name)

		open := filepath.Join(t.TempDir(), "open.toml")
		require.NoError(t, os.WriteFile(open, []byte(out), 0o644))
		status, _, errOut = airtally(t, "check", labWeek, "--lab", "testdata/labfiles/"+name, "--map", open)
		require.Equal(t, unusable, status, "a proposal with a doubt is refused")
		require.Contains(t, errOut, "not decided")
		require.Contains(t, errOut, "open.toml: line ")
	}
}

// A mapping is not written over decisions, nor under a name by which it is not
// found.
func TestMapSparesWhatIsThere(t *testing.T) {
	inProjectRoot(t)
	path := filepath.Join(t.TempDir(), "m.toml")
	status, out, _ := airtally(t, "map", "testdata/labfiles/semicolons.csv", "-o", path)
	require.Equal(t, leftOut, status)
	require.Contains(t, out, `qualifier "*"`)
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"map", "testdata/labfiles/semicolons.csv", "-o", path}, "is there already"},
		{[]string{"map", "testdata/labfiles/semicolons.csv", "-o", "m.txt"}, "ends in .toml"},
		{[]string{"map"}, "name one file"},
		{[]string{"map", "testdata/labfiles/week"}, "is a folder"},
		{[]string{"map", "testdata/labfiles/semicolons.csv", "--sheet", "Data"}, `has no sheet "Data"`},
		{[]string{"map", "testdata/labfiles/week/flows.csv"}, "headings of a laboratory's results are understood"},
		{[]string{"check", labWeek}, "has no table lab"},
		{[]string{"check", labWeek, "--lab", "testdata/labfiles/none.csv"}, "none.csv"},
		{[]string{"check", labWeek, "--map", path}, "there are 1 --map for 0 --lab"},
		{[]string{"check", labWeek, "--lab", "testdata/labfiles/lab.csv", "--lab", "testdata/labfiles/lab.csv"}, "name it once"},
	} {
		status, _, errOut := airtally(t, c.args...)
		assert.Equal(t, unusable, status, c.args)
		assert.Contains(t, errOut, c.want, c.args)
	}
	status, _, _ = airtally(t, "map", "testdata/labfiles/semicolons.csv", "-o", path, "--force", "--quiet")
	require.Equal(t, leftOut, status)
}

// A file with the headings of the lab table needs no mapping; one with doubts
// is refused, with what is doubtful and what to do.
func TestWithoutAMappingOnlyWhatIsCertainIsRead(t *testing.T) {
	inProjectRoot(t)
	want, _ := resultsOf(t, weekWithTable(t))
	got, _ := resultsOf(t, labWeek, "--lab", "testdata/labfiles/lab.csv")
	require.Equal(t, want, got)
	text, err := os.ReadFile("testdata/labfiles/semicolons.csv")
	require.NoError(t, err)
	alone := filepath.Join(t.TempDir(), "alone.csv")
	require.NoError(t, os.WriteFile(alone, text, 0o666))
	status, _, errOut := airtally(t, "check", labWeek, "--lab", alone)
	require.Equal(t, unusable, status)
	require.Contains(t, errOut, `qualifier "*"`)
	require.Contains(t, errOut, "run: airtally map "+alone+" -o alone.toml")
}

// A survey may have a lab table beside the laboratory's files: both are used,
// and a result that stands in both is found twice.
func TestTableAndFileTogether(t *testing.T) {
	inProjectRoot(t)
	both := weekWithTable(t)
	lines, err := os.ReadFile(filepath.Join(both, "lab.csv"))
	require.NoError(t, err)
	rows := strings.SplitAfter(string(lines), "\n")
	metals := strings.Join(append([]string{rows[0]}, rows[11:]...), "")
	solvents := filepath.Join(t.TempDir(), "solvents.csv")
	require.NoError(t, os.WriteFile(solvents, []byte(strings.Join(rows[:11], "")), 0o666))
	require.NoError(t, os.WriteFile(filepath.Join(both, "lab.csv"), []byte(metals), 0o666))
	want, _ := resultsOf(t, weekWithTable(t))
	got, _ := resultsOf(t, both, "--lab", solvents)
	require.Equal(t, want, got)

	metalsFile := filepath.Join(t.TempDir(), "metals.csv")
	require.NoError(t, os.WriteFile(metalsFile, []byte(metals), 0o666))
	two, _ := resultsOf(t, labWeek, "--lab", metalsFile, "--lab", solvents)
	require.Equal(t, want, two, "each file alone holds a part")

	_, findings := resultsOf(t, weekWithTable(t), "--lab", solvents)
	twice := 0
	for _, f := range findings {
		if f["code"] == "duplicate-result" {
			twice++
			assert.Equal(t, solvents, f["file"])
		}
	}
	require.Equal(t, 5, twice, "each of the five tubes' results stands twice")
}

// An archive holds the laboratory's files and their mappings, and gives the
// same results without them.
func TestAnArchiveHoldsTheLaboratorysFiles(t *testing.T) {
	inProjectRoot(t)
	dir := t.TempDir()
	copied := filepath.Join(dir, "from-lab.csv")
	text, err := os.ReadFile("testdata/labfiles/two-columns.csv")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(copied, text, 0o666))
	kept := filepath.Join(dir, "run.zip")
	status, _, errOut := airtally(t, "reduce", labWeek, "--lab", copied, "--map", "testdata/labfiles/two-columns.toml", "--lab", "testdata/labfiles/lab.csv",
		"--map", "testdata/labfiles/two-columns.toml", "--json")
	require.Equal(t, unusable, status, "the second has other headings than its mapping")
	require.Contains(t, errOut, `has no row with all the headings`)

	status, _, errOut = airtally(t, "reduce", labWeek, "--lab", copied, "--map", "testdata/labfiles/two-columns.toml", "-o", filepath.Join(dir, "one"), "--archive", kept)
	require.Equal(t, done, status, errOut)
	require.NoError(t, os.Remove(copied))
	status, out, errOut := airtally(t, "reduce", kept, "-o", filepath.Join(dir, "two"))
	require.Equal(t, done, status, errOut)
	require.Contains(t, strings.Join(strings.Fields(out), " "), "gives the results it holds")
	want := resultsIn(t, filepath.Join(dir, "one"))
	require.Equal(t, want, resultsIn(t, filepath.Join(dir, "two")))
	require.Contains(t, want, `"path":"testdata/labfiles/two-columns.toml","sha256":"`)
	status, _, errOut = airtally(t, "reduce", kept, "--lab", "testdata/labfiles/lab.csv", "--json")
	require.Equal(t, unusable, status)
	require.Contains(t, errOut, "leave out --lab")
}

// The live workbook shows the rows of a laboratory's file as it does those of
// the lab table.
func TestTheWorkbookShowsTheLaboratorysFile(t *testing.T) {
	inProjectRoot(t)
	sheet := func(args ...string) [][]string {
		dir := t.TempDir()
		status, _, errOut := airtally(t, append(append([]string{"reduce"}, args...), "-o", dir)...)
		require.Equal(t, done, status, errOut)
		f, err := excelize.OpenFile(filepath.Join(dir, "report.xlsx"))
		require.NoError(t, err)
		defer f.Close()
		rows, err := f.GetRows("Laboratory")
		require.NoError(t, err)
		return rows
	}
	want, got := sheet(weekWithTable(t)), sheet(labWeek, "--lab", "testdata/labfiles/semicolons.csv")
	head := slices.IndexFunc(want, func(row []string) bool { return len(row) > 2 && row[0] == "Sample" })
	require.Len(t, got, len(want))
	require.Len(t, want[head+1:], 18)
	place := slices.Index(got[head], "Read in")
	require.GreaterOrEqual(t, place, 0)
	for i := head + 1; i < len(want); i++ {
		require.Equal(t, want[i][:3], got[i][:3], i)
		require.Equal(t, fmt.Sprintf("testdata/labfiles/semicolons.csv:semicolons!E%d", i-head+4), got[i][place])
	}
}

// The README shows what is printed.
func TestReadmeShowsAProposal(t *testing.T) {
	inProjectRoot(t)
	readme, err := os.ReadFile("README.md")
	require.NoError(t, err)
	_, out, _ := airtally(t, "map", "testdata/labfiles/two-columns.csv")
	assertShown(t, block(t, string(readme), "proposes one from the headings and the cells:"), out)
}

// What a sheet of a laboratory hides is read and told of.
func TestHiddenPartsOfALaboratorysSheet(t *testing.T) {
	inProjectRoot(t)
	book := filepath.Join(t.TempDir(), "across.xlsx")
	acrossBook(t, book)
	f, err := excelize.OpenFile(book)
	require.NoError(t, err)
	require.NoError(t, f.SetRowVisible("Results", 6, false))
	require.NoError(t, f.SetColVisible("Results", "C", false))
	require.NoError(t, f.Save())
	require.NoError(t, f.Close())
	_, findings := resultsOf(t, labWeek, "--lab", book)
	hidden := map[string]string{}
	for _, f := range findings {
		if code := f["code"].(string); strings.HasPrefix(code, "hidden-") {
			hidden[code] = fmt.Sprint(f["table"], " ", f["row"], " ", f["column"])
		}
	}
	require.Equal(t, map[string]string{"hidden-rows": "Results 6 ", "hidden-column": "Results 4 Toluene back µg"}, hidden)
}
