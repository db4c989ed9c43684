package survey

import "testing"

func TestParseNumber(t *testing.T) {
	point := spoken
	comma := numberStyle{decimal, doubtful}
	continental := numberStyle{decimal, thousands}
	open := numberStyle{doubtful, doubtful}
	for _, c := range []struct {
		text  string
		style numberStyle
		want  float64
		fault fault
	}{
		{"1550", point, 1550, readable},
		{"1,550", point, 1550, readable},
		{"1,550", comma, 1.55, readable},
		{"1,550", open, 0, ambiguous},
		{"1.550", point, 1.55, readable},
		{"1.550", comma, 0, ambiguous},
		{"1.550", continental, 1550, readable},
		{"1.550,2", point, 1550.2, readable},
		{"1,550.2", comma, 1550.2, readable},
		{"1,234,567", comma, 1234567, readable},
		{"1,5", point, 1.5, readable},
		{"0,123", point, 0.123, readable},
		{",5", point, 0.5, readable},
		{".5", point, 0.5, readable},
		{"1\u00a0550,5", point, 1550.5, readable},
		{"1\u202f550", point, 1550, readable},
		{"1'550.5", point, 1550.5, readable},
		{"1’550", point, 1550, readable},
		{"１２．５", point, 12.5, readable},
		{"−0.3", point, -0.3, readable},
		{"- 0.3", point, -0.3, readable},
		{"1.5E-3", point, 0.0015, readable},
		{"1,5e-3", point, 0.0015, readable},
		{"1,5,5", point, 0, unreadable},
		{"12 34", point, 0, unreadable},
		{"1,23,456", point, 0, unreadable},
		{"2O4", point, 0, unreadable},
		{"", point, 0, unreadable},
		{".", point, 0, unreadable},
		{"-", point, 0, unreadable},
		{"1e999", point, 0, unreadable},
		{"0x10", point, 0, unreadable},
		{"NaN", point, 0, unreadable},
		{"1_000", point, 0, unreadable},
		{"inf", point, 0, unreadable},
	} {
		got, f := parseNumber(c.text, c.style)
		if got != c.want || f != c.fault {
			t.Errorf("%q in style %v: %v, fault %d; want %v, fault %d", c.text, c.style, got, f, c.want, c.fault)
		}
	}
}

// TestColumnStyle reads one doubtful cell, 1,550, in columns that tell and in
// columns that do not.
func TestColumnStyle(t *testing.T) {
	read := func(header, sep string, rows ...string) (*Survey, []string) {
		text := header + "\n"
		for _, r := range rows {
			text += r + "\n"
		}
		return readFolder(t, with("lab.csv", text))
	}
	const comma, semicolon = "sample,analyte,result,unit,reporting_limit", "sample;analyte;result;unit;reporting_limit"
	for _, c := range []struct {
		name   string
		header string
		rows   []string
		want   float64
		lines  []string
	}{
		{"a decimal comma beside it", comma, []string{`S-1,A,"1,550",ug,`, `S-1,B,"1,55",ug,`}, 1.55, nil},
		{"a zero before the comma", comma, []string{`S-1,A,"1,550",ug,`, `S-1,B,"<0,123",ug,`}, 1.55, nil},
		{"a decimal point beside it", comma, []string{`S-1,A,"1,550",ug,`, `S-1,B,0.5,ug,`}, 1550, nil},
		{"both signs in one cell", comma, []string{`S-1,A,"1,550",ug,`, `S-1,B,"1,550.2",ug,`}, 1550, nil},
		{"only another column tells", comma, []string{`S-1,A,"1,550",ug,"0,5"`}, 1.55, nil},
		{"nothing tells", comma, []string{`S-1,A,"1,550",ug,`}, 1550, []string{
			`note thousands-assumed lab.csv:lab!C2 [] result "1,550" is read as 1550: nothing in the table shows a decimal comma`}},
		{"nothing tells but semicolons", semicolon, []string{`S-1;A;1,550;ug;`}, 1.55, nil},
		{"semicolons and points", semicolon, []string{`S-1;A;1,550;ug;`, `S-1;B;0.5;ug;`}, 1550, nil},
		{"a tab", "sample\tanalyte\tresult\tunit", []string{"S-1\tA\t1,550\tug", "S-1\tB\t1,5\tug"}, 1.55, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, got := read(c.header, ",", c.rows...)
			wantLines(t, got, c.lines)
			if len(s.Lab) == 0 || s.Lab[0].Value != c.want {
				t.Errorf("read %+v, want %v first", s.Lab, c.want)
			}
		})
	}
}

func TestDoubtfulCellsAreRefused(t *testing.T) {
	s, got := readFolder(t, with("lab.csv", "sample;analyte;result;unit\nS-1;A;1,550;ug\nS-1;B;1,5;ug\nS-1;C;0.5;ug\nS-1;D;<1.550;ug\n"))
	wantLines(t, got, []string{
		`stop ambiguous-number lab.csv:lab!C2 [S-1, A] result "1,550" can be read as two numbers, 1550 or 1.55; the column does not tell which is meant; the row is left out`,
		`stop ambiguous-number lab.csv:lab!C5 [S-1, D] result "<1.550" can be read as two numbers, 1550 or 1.55; the column does not tell which is meant; the row is left out`,
	})
	if len(s.Lab) != 2 || s.Lab[0].Value != 1.5 || s.Lab[1].Value != 0.5 {
		t.Errorf("read %+v", s.Lab)
	}
}

func TestPointsWithSemicolonsAloneAreRefused(t *testing.T) {
	_, got := readFolder(t, with("lab.csv", "sample;analyte;result;unit\nS-1;A;1.550;ug\n"))
	wantLines(t, got, []string{
		`stop ambiguous-number lab.csv:lab!C2 [S-1, A] result "1.550" can be read as two numbers, 1550 or 1.55; the column does not tell which is meant; the row is left out`})
}

func TestUnitsInCellsAndHeaders(t *testing.T) {
	s, got := readFolder(t, with(
		"samples.csv", "sample,kind,pause (h),coc volume [mL],pressure (mmHg),temperature (°F),target flow\n"+
			"S-1,area,0.5,960000,760,77,2000 mL/min\n",
		"flows.csv", "train,leg,stage,\"readings (cc/min)\"\nT1,A,pre,1998;2002\nT1,total,pre,2000\n",
	))
	for _, line := range got {
		if line[:4] != "note" {
			t.Error(line)
		}
	}
	p := s.Samples[0]
	// 0.5 h = 30 min; 960 000 mL = 960 L; 760 mmHg = 101.325 kPa and 77 °F =
	// 25 °C by definition of the units (NIST SP 811, appendix B.8).
	near(t, "pause", float64(p.Pause), 30)
	near(t, "custody volume", p.CustodyVolume.Value, 960)
	near(t, "pressure", p.Pressure.Value, 101.325)
	near(t, "temperature", p.Temperature.Value, 25)
	near(t, "target flow", p.TargetFlow.Value, 2)
	near(t, "reading", float64(s.Flows[0].Readings[1]), 2.002)
	if s.Flows[1].Leg != TotalLeg {
		t.Errorf("leg %q", s.Flows[1].Leg)
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if d := got - want; d > 1e-9 || d < -1e-9 {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}
