package survey

import (
	"testing"

	"airtally/exposure/finding"
)

// A finding speaks of columns as the person's own file heads them; what it
// quotes, and names that no column of the file has, stay.
func TestFindingsNameColumnsAsTheyAreHeaded(t *testing.T) {
	s, _ := readFolder(t, with(
		"samples.csv", "Sample,Kind,Train,Leg,Medium,Start,Stop,Pump minutes,pause (min)\nS-1,personal,T1,A,M1,,,480,30\n",
		"flows.csv", "train (required),leg,stage,reading 1 (required),unit,taken at (yyyy-mm-dd hh:mm)\nT1,A,pre,2.01,L/min,2026-03-02 06:30\n",
		"lab.csv", "sample,analyte,result,unit,reporting limit\nS-1,Manganese,12.5,ug,0.5\n"))
	file := s.Tables[0].File
	for _, c := range []struct{ name, table, says, want string }{
		{"a synonym", "samples", "run_min of sample S-1 is 480 min", `"Pump minutes" of sample S-1 is 480 min`},
		{"a unit in brackets stays", "samples", "correct start, stop, pause_min or run_min", `correct start, stop, "pause (min)" or "Pump minutes"`},
		{"of another table", "samples", "fill in reporting_limit.", `fill in "reporting limit".`},
		{"how dates are written goes", "flows", "correct taken_at", `correct "taken at"`},
		{"that it is required goes", "flows", "reading_1 is the greatest", `"reading 1" is the greatest`},
		{"not in the file", "lab", "fill in lab_volume_l, or enter the mass", "fill in lab_volume_l, or enter the mass"},
		{"quoted", "samples", `"run_min" cannot be read`, `"run_min" cannot be read`},
		{"part of a longer name", "samples", "RUN-7_run_min", "RUN-7_run_min"},
	} {
		f := []finding.Finding{{Place: finding.Place{File: file, Table: c.table}, Message: c.says, Remedy: c.says}}
		NameAsHeaded(f, []*Survey{s})
		if f[0].Message != c.want || f[0].Remedy != c.want {
			t.Errorf("%s: %q, to do %q, expected %q", c.name, f[0].Message, f[0].Remedy, c.want)
		}
	}
}

// Of several surveys each finding takes the headings of its own.
func TestFindingsNameColumnsAsTheirOwnSurveyHeadsThem(t *testing.T) {
	plain, _ := readFolder(t, plainSurvey())
	headed, _ := readFolder(t, with("samples.csv", "sample,kind,train,leg,medium,pump minutes\nS-1,personal,T1,A,M1,480\n"))
	message := func(s *Survey) string {
		f := []finding.Finding{{Place: finding.Place{File: s.Path}, Message: "run_min is used"}}
		NameAsHeaded(f, []*Survey{plain, headed})
		return f[0].Message
	}
	if got := message(plain); got != "run_min is used" {
		t.Errorf("the plain survey says %q", got)
	}
	if got := message(headed); got != `"pump minutes" is used` {
		t.Errorf("the other says %q", got)
	}
}

// A fact that is not known yet states nothing and is no fault; a setting
// without its value is one.
func TestFactsMayStayBlank(t *testing.T) {
	s, got := readFolder(t, with("survey.csv", "item,value\ntitle,Some survey\nresults_received,\ndetermined_on,\ntimezone,\ndrift_limit_pct,\n"))
	wantLines(t, got, []string{
		`stop missing-value survey.csv:survey!B6 [drift_limit_pct] value is empty; expected largest change of flow between the checks, such as 5; the row is left out`})
	if len(s.Items) != 1 || s.Items[0].Name != "title" {
		t.Errorf("read %+v", s.Items)
	}
}
