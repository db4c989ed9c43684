package survey

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// Every header of the starter workbook means its own column, and its brackets
// change no unit.
func TestTheReaderMatchesTheStarterHeadings(t *testing.T) {
	for _, d := range Descriptions() {
		names := headerNames(d)
		for i := range d.Columns {
			want := &d.Columns[i]
			got, inside := matchColumn(names, want.Heading())
			if got == nil || got.Name != want.Name {
				t.Errorf("%s: the header %q means %v, not %s", d.Name, want.Heading(), got, want.Name)
				continue
			}
			f := &field{Column: got, scale: same}
			table := &Table{Name: d.Name, description: d, headers: []string{want.Heading()}}
			if !table.headerUnit(f, inside, nil) || f.scale != same || f.unit != "" {
				t.Errorf("%s: the brackets of %q are taken for a unit", d.Name, want.Heading())
			}
			if want.Required != strings.HasSuffix(want.Heading(), "(required)") {
				t.Errorf("%s: the header %q does not say whether it is required", d.Name, want.Heading())
			}
		}
	}
}

func TestRequiredInBracketsIsNoUnit(t *testing.T) {
	s, got := readFolder(t, with(
		"lab.csv", "sample (required),analyte (required),result (required),unit (required)\nS-1,Manganese,12.5,ug\n",
		"flows.csv", "train (required),leg (required),stage (Required),reading 1 (required),reading 2,unit,taken at (yyyy-mm-dd hh:mm)\n"+
			"T1,A,pre,2.01,1.99,L/min,2026-03-02 06:30\nT1,A,post,1.98,1.97,L/min,2026-03-02 15:20\n"))
	wantLines(t, got, nil)
	if len(s.Lab) != 1 || s.Lab[0].Value != 12.5 || len(s.Flows) != 2 || len(s.Flows[0].Readings) != 2 {
		t.Errorf("read %+v and %+v", s.Lab, s.Flows)
	}
}

// What refers to another table names one that there is, and tables without
// two rows of one subject say what the subject is.
func TestReferencesLeadSomewhere(t *testing.T) {
	for _, d := range Descriptions() {
		for _, name := range d.Subject {
			if _, ok := d.Column(name); !ok {
				t.Errorf("%s has no column %s", d.Name, name)
			}
		}
		for i := range d.Columns {
			c := &d.Columns[i]
			if c.Refers != "" && (Describe(c.Refers) == nil || Describe(c.Refers).Columns[0].Type != IDCell) {
				t.Errorf("%s.%s refers to %s, which holds no identifiers", d.Name, c.Name, c.Refers)
			}
		}
	}
}

func TestExampleRowsLeftStandingAreTold(t *testing.T) {
	_, got := readFolder(t, with("samples.csv", plainSurvey()["samples.csv"]+"EXAMPLE-1,blank,,,M1,,,,\n"+"EXAMPLE-2,blank,,,M1,,,,\n"))
	wantLines(t, got, []string{
		`check example-rows samples.csv:samples!A3 [EXAMPLE-1, EXAMPLE-2] the samples table holds 2 example row(s) of the starter workbook (EXAMPLE-1, EXAMPLE-2); they count like any other`})
}

// The sheets of the starter workbook that are no tables pass without a word;
// any other does not.
func TestGuideSheetsAreNoUnknownTables(t *testing.T) {
	f := excelize.NewFile()
	for _, name := range []string{GuideSheet, FieldSheet, "Remarks"} {
		if _, err := f.NewSheet(name); err != nil {
			t.Fatal(err)
		}
	}
	for name, text := range plainSurvey() {
		sheet := strings.TrimSuffix(name, ".csv")
		if _, err := f.NewSheet(sheet); err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(strings.TrimSpace(text), "\n") {
			cells := strings.Split(line, ",")
			if err := f.SetSheetRow(sheet, cellName(0, int32(i+1)), &cells); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	_, list, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, f := range list.Sorted() {
		told = append(told, string(f.Code)+": "+f.Message)
	}
	if len(told) != 1 || !strings.Contains(told[0], "unknown-table: Remarks") {
		t.Errorf("findings: %q", told)
	}
}
