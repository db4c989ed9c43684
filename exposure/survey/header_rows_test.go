package survey

import (
	"strings"
	"testing"
)

// TestHeadersAreFoundBelowTitles reads tables as people and programs hand them
// on: with titles above, groups over the headers, units under them, and the
// headers again on every page. Common practice, no source.
func TestHeadersAreFoundBelowTitles(t *testing.T) {
	const rows = "S-1,Manganese,12.5,ug,0.4\nS-1,Nickel,<0.06,ug,0.06\n"
	for _, c := range []struct {
		name, lab string
		first     int32 // row of the first result
		want      []string
	}{
		{"titles", "Results of week 10\n\n\"Report 123, received 2026-03-09\"\nsample,analyte,result,unit,RL\n" + rows, 5, []string{
			`note rows-above-header lab.csv:lab row 1 [] the headers stand in row 4; what stands above them is not used: rows 1, 3, the first "Results of week 10"`}},
		{"titles cut into cells", "Results of week 10,,,,\nClient,Works,,,\nsample,analyte,result,unit,RL\n" + rows, 4, []string{
			`note rows-above-header lab.csv:lab row 1 [] the headers stand in row 3; what stands above them is not used: rows 1–2, the first "Results of week 10"`}},
		{"a title that is a header too", "Analyte\nsample,analyte,result,unit,RL\n" + rows, 3, []string{
			`note rows-above-header lab.csv:lab row 1 [] the headers stand in row 2; what stands above them is not used: rows 1, the first "Analyte"`}},
		{"units below", "sample,analyte,result,unit,RL\n,,(ug),,µg\n" + rows, 3, []string{
			`note unit-row lab.csv:lab row 2 [] the row under the headers is read as their units: (ug), µg`}},
		{"groups above", "Sample,,Laboratory,,\nNo,Substance,Result,Unit,RL\n" + rows, 3, []string{
			`note two-header-rows lab.csv:lab row 1 [] the headers stand in the rows 1 and 2; they are read together`}},
		{"names in two rows", "sample,analyte,,,Reporting\n,,result,unit,limit\n" + rows, 3, []string{
			`note two-header-rows lab.csv:lab row 1 [] the headers stand in the rows 1 and 2; they are read together`}},
		{"headers again", "sample,analyte,result,unit,RL\n" + rows + "sample,analyte,result,unit,RL\n" + "S-1,Zinc,3,ug,1\n", 2, []string{
			`note header-repeated lab.csv:lab!A4 [] the headers stand again in 1 row(s), the first this one; they hold no data`}},
		{"blank rows and columns", ",,,,,\n,sample,analyte,,result,unit,RL\n\n" + strings.ReplaceAll(rows, "S-1,", ",S-1,"), 4, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.name == "blank rows and columns" {
				c.lab = strings.NewReplacer("Manganese,", "Manganese,,", "Nickel,", "Nickel,,").Replace(c.lab)
			}
			s, got := readFolder(t, with("lab.csv", c.lab))
			wantLines(t, got, c.want)
			if len(s.Lab) < 2 {
				t.Fatalf("read %+v", s.Lab)
			}
			a, b := s.Lab[0], s.Lab[1]
			if a.Row != c.first || a.Sample != "S-1" || a.Analyte != "Manganese" || a.Value != 12.5 || a.Unit.Name != "ug" || b.Kind != LessThan || b.ReportingLimit.Value != 0.06 {
				t.Errorf("read %+v", s.Lab[:2])
			}
		})
	}
}

// The numbers of readings under one heading for all are headers with it; a
// first row of data is never taken for headers.
func TestReadingsUnderOneHeading(t *testing.T) {
	s, got := readFolder(t, with("flows.csv", "train,leg,stage,reading,,,unit\n,,,1,2,3,\nT1,A,pre,2.01,1.99,2.00,L/min\nT1,A,post,1.98,1.97,1.99,L/min\n"))
	wantLines(t, got, []string{"note two-header-rows flows.csv:flows row 1 [] the headers stand in the rows 1 and 2; they are read together"})
	if len(s.Flows) != 2 || len(s.Flows[0].Readings) != 3 || float64(s.Flows[0].Readings[1]) != 1.99 {
		t.Errorf("read %+v", s.Flows)
	}
	s, got = readFolder(t, with("lab.csv", "sample,analyte,result,unit,batch\nS-1,Manganese,12.5,ug,note\nS-1,Nickel,2,ug,form\n"))
	if len(s.Lab) != 2 || len(got) != 1 || !strings.HasPrefix(got[0], "check unknown-column") {
		t.Errorf("read %+v, %q", s.Lab, got)
	}
}

// Units in a row of their own turn numbers as units in the headers do.
func TestUnitsInARowOfTheirOwn(t *testing.T) {
	s, got := readFolder(t, with("samples.csv", "sample,kind,train,leg,start,stop,pause,coc volume\n-,-,,,yyyy-mm-dd hh:mm,,h,mL\nS-1,area,T1,A,2026-03-02 07:00,2026-03-02 15:00,0.5,960000\n"))
	wantLines(t, got, []string{
		`note header-converted samples.csv:samples!H1 [] the header "coc volume (mL)" gives mL; its numbers are turned into L`,
		`note header-converted samples.csv:samples!G1 [] the header "pause (h)" gives h; its numbers are turned into min`,
		"note unit-row samples.csv:samples row 2 [] the row under the headers is read as their units: -, -, yyyy-mm-dd hh:mm, h, mL",
	})
	near(t, "pause", float64(s.Samples[0].Pause), 30)
	near(t, "custody volume", s.Samples[0].CustodyVolume.Value, 960)
}

// Where no row has all the columns, the likeliest is named in the refusal.
func TestAHeaderBelowTitlesThatLacksAColumn(t *testing.T) {
	_, _, err := Read(writeFolder(t, with("lab.csv", "Results\nof week 10\nsample,analyte,resullt,unit\nS-1,Iron,2,ug\n")))
	if err == nil || !strings.Contains(err.Error(), `there is no column result (the number; <0.06 or ND where not detected); the nearest header is "resullt"`) || strings.Contains(err.Error(), "column analyte") {
		t.Errorf("error %v", err)
	}
}

func TestDelimiters(t *testing.T) {
	const text = "sample,analyte,result,unit\nS-1,Zinc,1.5,ug\n"
	for name, lab := range map[string]string{
		"pipe":                   strings.ReplaceAll(text, ",", "|"),
		"pipe at both ends":      "|sample|analyte|result|unit|\n|S-1|Zinc|1.5|ug|\n",
		"sep of commas":          "sep=,\n" + text,
		"sep of tabs":            "sep=\t\n" + strings.ReplaceAll(text, ",", "\t"),
		"sep saved again":        "\"sep=;\"\n" + strings.ReplaceAll(text, ",", ";"),
		"sep filled up":          "sep=;;;;\n" + strings.ReplaceAll(text, ",", ";"),
		"commas in a title":      "Works A, line 1, line 2, line 3, week 10\n" + strings.ReplaceAll(text, ",", ";"),
		"semicolons in a title":  "Works A; line 1; line 2; line 3\n" + text,
		"decimal commas in rows": strings.ReplaceAll(strings.ReplaceAll(text, ",", ";"), "1.5", "1,5"),
		"commas in a header":     strings.ReplaceAll(text, ",", "\t") + "",
		"quoted delimiters":      "\"sample\",\"analyte\",\"result\",\"unit\"\n\"S-1\",\"Zinc\",\"1.5\",\"ug\"\n",
	} {
		t.Run(name, func(t *testing.T) {
			s, _ := readFolder(t, with("lab.csv", lab))
			if len(s.Lab) != 1 || s.Lab[0].Analyte != "Zinc" || s.Lab[0].Value != 1.5 || s.Lab[0].Unit.Name != "ug" {
				t.Errorf("read %+v", s.Lab)
			}
		})
	}
}

// A title of one word that is also a heading is a title where a fuller row of
// headers stands below.
func TestTitlesThatAreHeadings(t *testing.T) {
	rows, got := readListOf(t, "Exposure\ngroup,value,unit\nA,2,mg/m3\n")
	if len(rows) != 1 || rows[0].Group != "A" || len(got) != 1 || !strings.HasPrefix(got[0], "note rows-above-header") {
		t.Errorf("read %+v, %q", rows, got)
	}
	s, got := readFolder(t, with("workers.csv", "Employee\nworker,group\nW-1,Welders\n", "media.csv", "medium\nM1\n"))
	if len(s.Workers) != 1 || s.Workers[0].Group != "Welders" || len(s.Media) != 1 || len(got) != 1 {
		t.Errorf("read %+v, %q", s.Workers, got)
	}
}
