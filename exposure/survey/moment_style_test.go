package survey

import (
	"path/filepath"
	"strings"
	"testing"
)

// TestDayAndMonthByColumn reads the same doubtful date beside cells that tell
// the order of day and month, and beside cells that do not. Common practice, no
// source.
func TestDayAndMonthByColumn(t *testing.T) {
	const lab = "sample,analyte,result,unit,analysed,received\n"
	for _, c := range []struct {
		name, rows string
		want       string // the date of the first row
		lines      []string
	}{
		{"a day over 12 first", "S-1,A,1,ug,03/04/2026,\nS-1,B,1,ug,14/04/2026,\n", "2026-04-03", []string{
			`note date-order lab.csv:lab!E3 [] the dates of analysed are read as day, month, year, for "14/04/2026" in E3 can be read in no other order`}},
		{"a day over 12 second", "S-1,A,1,ug,3/4/2026,\nS-1,B,1,ug,3/14/2026,\n", "2026-03-04", []string{
			`note date-order lab.csv:lab!E3 [] the dates of analysed are read as month, day, year, for "3/14/2026" in E3 can be read in no other order`}},
		{"only another column tells", "S-1,A,1,ug,3/4/2026,3/14/2026\n", "2026-03-04", []string{
			`note date-order lab.csv:lab!F2 [] the dates of analysed are read as month, day, year, for "3/14/2026" in F2 can be read in no other order`}},
		{"nothing tells", "S-1,A,1,ug,03/04/2026,\nS-1,B,1,ug,05/04/2026,\n", "", []string{
			`check ambiguous-date lab.csv:lab!E2 [S-1, A, B] analysed "03/04/2026" can be read in two ways, 2026-03-04 or 2026-04-03: no cell of the table shows the order of day and month; the cell is taken as empty; so in 2 row(s)`}},
		{"another time of the row tells which is likely", "S-1,A,1,ug,03/04/2026,2026-04-03\n", "", []string{
			`check ambiguous-date lab.csv:lab!E2 [S-1, A] analysed "03/04/2026" can be read in two ways, 2026-03-04 or 2026-04-03: no cell of the table shows the order of day and month; received of the same row is on 2026-04-03; the cell is taken as empty; so in 1 row(s)`}},
		{"a date the same both ways tells nothing", "S-1,A,1,ug,03/04/2026,\nS-1,B,1,ug,05/05/2026,\n", "", []string{
			`check ambiguous-date lab.csv:lab!E2 [S-1, A] analysed "03/04/2026" can be read in two ways, 2026-03-04 or 2026-04-03: no cell of the table shows the order of day and month; the cell is taken as empty; so in 1 row(s)`}},
		{"cells tell both", "S-1,A,1,ug,03/04/2026,\nS-1,B,1,ug,14/04/2026,\nS-1,C,1,ug,04/15/2026,\n", "", []string{
			`check ambiguous-date lab.csv:lab!E2 [S-1, A] analysed "03/04/2026" can be read in two ways, 2026-03-04 or 2026-04-03: other cells of the column are written in both orders; the cell is taken as empty; so in 1 row(s)`}},
		{"words and years first need nothing", "S-1,A,1,ug,3 Apr 2026,\nS-1,B,1,ug,2026/4/5,\n", "2026-04-03", nil},
		{"none is a date", "S-1,A,1,ug,31/02/2026,\n", "", []string{
			`check unreadable-date lab.csv:lab!E2 [S-1, A] analysed "31/02/2026" is not a date or time that can be read in one way only: no order of day, month and year makes a date of it; expected one such as 2026-03-02 22:10; the cell is taken as empty`}},
		{"a number of days", "S-1,A,1,ug,46115,\n", "2026-04-03", []string{
			`check date-as-number lab.csv:lab!E2 [S-1, A] analysed "46115" is a number; it is taken as the spreadsheet's number for 2026-04-03; so in 1 row(s)`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, got := readFolder(t, with("lab.csv", lab+c.rows))
			wantLines(t, got, c.lines)
			got1 := ""
			if m := s.Lab[0].Analysed; m.Known {
				got1 = writeMoment(m)
			}
			if got1 != c.want {
				t.Errorf("the first is %q, want %q", got1, c.want)
			}
		})
	}
}

// Where other times of the table say AM or PM, one without either may be both.
func TestHalvesOfTheDay(t *testing.T) {
	head := "sample,kind,train,leg,start,stop\n"
	s, got := readFolder(t, with("samples.csv", head+
		"S-1,area,T1,A,3/14/2026 7:05 AM,3:10 PM\nS-2,area,T2,A,3/14/2026 7:05 AM,3:10\nS-3,area,T3,A,3/14/2026 7:05 am,15:10\n"))
	wantLines(t, got, []string{
		`check ambiguous-date samples.csv:samples!F3 [S-2] stop "3:10" can be read in two ways, before noon or after: other times of the table say AM or PM, and this one does not; the cell is taken as empty; so in 1 row(s)`})
	if writeMoment(s.Samples[0].Stop) != "2026-03-14 15:10" || s.Samples[1].Stop.Known || writeMoment(s.Samples[2].Stop) != "2026-03-14 15:10" {
		t.Errorf("read %+v", s.Samples)
	}
}

// A point between hours and minutes may be that of decimal hours.
func TestDecimalHoursAreNamed(t *testing.T) {
	for _, text := range []string{"7.30", `"7,5"`} {
		_, got := readFolder(t, with("samples.csv", "sample,kind,start,stop\nS-1,area,2026-03-14 07:00,"+text+"\n"))
		if len(got) != 1 || !strings.Contains(got[0], "in one way only: it may be hours and minutes or hours and their decimals; expected") {
			t.Errorf("%s: %q", text, got)
		}
	}
}

// A spreadsheet that takes 03/04/2026 for the other order makes a date of it,
// and leaves 14/04/2026 as text. Common practice, no source.
func TestRealDatesAmongTexts(t *testing.T) {
	rows := workbookRows()
	rows["Laboratory results"] = [][]any{{"sample", "analyte", "result", "unit", "analysed"},
		{"007", "Manganese", 12.3, "ug", shown{at("2026-04-03 00:00").value, "yyyy-mm-dd"}},
		{"007", "Nickel", 12.3, "ug", "14/04/2026"}}
	path := writeWorkbook(t, rows, nil)
	_, list, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	wantLines(t, lines(list, filepath.Dir(path)), []string{
		`check dates-mixed survey.xlsx:lab!E2 [] analysed holds 1 real dates beside dates as text, which are written day, month, year ("14/04/2026" in E3); no real date has a day over 12, so a spreadsheet may have swapped day and month in them`})
}
