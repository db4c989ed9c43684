package survey

import "testing"

func TestPlainSurveyHasNoFindings(t *testing.T) {
	s, got := readFolder(t, plainSurvey())
	wantLines(t, got, nil)
	if len(s.Samples) != 1 || len(s.Flows) != 2 || len(s.Lab) != 1 {
		t.Fatalf("%d samples, %d flows, %d results", len(s.Samples), len(s.Flows), len(s.Lab))
	}
}

// TestTraps reads a survey with one thing wrong in it and compares every
// finding word for word. The traps are common practice, no source.
func TestTraps(t *testing.T) {
	const samples = "sample,kind,train,leg,medium,worker,shift,start,stop"
	lab := func(header, rows string) map[string]string {
		return with("lab.csv", "sample,analyte,result,unit"+header+"\n"+rows)
	}
	for _, c := range []struct {
		name  string
		files map[string]string
		want  []string
	}{
		{"not a number", lab("", "S-1,Iron,2O4,ug\n"), []string{
			`stop unreadable-result lab.csv:lab!C2 [S-1, Iron] result "2O4" is not a result; expected a number, a number after < or >, or ND; the row is left out`,
		}},
		{"desorption in percent", lab(",desorption", "S-1,Iron,20,ug,96\nS-1,Zinc,20,ug,96 %\nS-1,Lead,20,ug,9.6\nS-1,Tin,20,ug,0\n"), []string{
			`check looks-like-percent lab.csv:lab!E4 [S-1, Lead] desorption "9.6" looks like a percentage; expected a fraction, over 0 and at most 1.5; the cell is taken as empty`,
			`check out-of-range lab.csv:lab!E5 [S-1, Tin] desorption "0" cannot be; expected over 0 and at most 1.5; the cell is taken as empty`,
			`note percent-converted lab.csv:lab!E2 [S-1, Iron] desorption "96" is taken as the fraction 0.96`,
			`note percent-converted lab.csv:lab!E3 [S-1, Zinc] desorption "96 %" is taken as the fraction 0.96`,
		}},
		{"cv in percent", lab(",cv", "S-1,Iron,20,ug,7 %\nS-1,Zinc,20,ug,7\nS-1,Lead,20,ug,0.07\n"), []string{
			`check looks-like-percent lab.csv:lab!E3 [S-1, Zinc] cv "7" looks like a percentage; expected a fraction, over 0 and at most 1; the cell is taken as empty`,
			`note percent-converted lab.csv:lab!E2 [S-1, Iron] cv "7 %" is taken as the fraction 0.07`,
		}},
		{"unit", lab("", "S-1,Iron,20,ugh\nS-1,Zinc,20,\n"), []string{
			`stop missing-value lab.csv:lab!D3 [S-1, Zinc] unit is empty; expected ug, mg, ng, g, fibres, fibres/mm2, or a concentration such as mg/m3, ug/m3, ppm or f/cc; the row is left out`,
			`stop unreadable-unit lab.csv:lab!D2 [S-1, Iron] unit "ugh" is not a known unit; expected ug, mg, ng, g, fibres, fibres/mm2, or a concentration such as mg/m3, ug/m3, ppm or f/cc; the row is left out`,
		}},
		{"missing sample", lab("", ",Iron,20,ug\n"), []string{
			`stop missing-value lab.csv:lab!A2 [Iron] sample is empty; expected number of the sample; the row is left out`,
		}},
		{"section", lab(",section", "S-1,Iron,20,ug,frnt\n"), []string{
			`stop unknown-choice lab.csv:lab!E2 [S-1, Iron] section "frnt" is not one of front, back, pre, post; the nearest known one is front; the row is left out`,
		}},
		{"cas", lab(",cas", "S-1,Platinum,20,ug,7440-06-04\nS-1,Zinc,20,ug,7440-66-5\nS-1,Lead,20,ug,lead\n"), []string{
			`check cas-invalid lab.csv:lab!E3 [S-1, Zinc] cas 7440-66-5 is not a CAS number: its check digit should be 6`,
			`check cas-invalid lab.csv:lab!E4 [S-1, Lead] cas lead is not a CAS number: expected digits such as 7440-47-3`,
			`check cas-repaired lab.csv:lab!E2 [S-1, Platinum] cas 7440-06-04 is a date; it is taken as the CAS number 7440-06-4, whose check digit is right`,
		}},
		{"duplicate samples", with("samples.csv", samples+"\nS-1,personal,T1,A,M1,W-1,D1,2026-03-02 07:00,2026-03-02 15:00\nS-1,area,T1,A,M1,,,2026-03-02 07:00,2026-03-02 15:00\n"), []string{
			`stop duplicate-id samples.csv:samples!A3 [S-1] sample S-1 stands in rows 2 and 3; none of these rows is used`,
		}},
		{"day and month", with("samples.csv", samples+"\nS-1,personal,T1,A,M1,W-1,D1,03/04/2026 07:00,2026-03-02 15:00\n"), []string{
			`check ambiguous-date samples.csv:samples!H2 [S-1] start "03/04/2026 07:00" can be read in two ways, 2026-03-04 or 2026-04-03: no cell of the table shows the order of day and month; the cell is taken as empty; so in 1 row(s)`,
		}},
		{"backwards", with("samples.csv", samples+",run_min\nS-1,personal,T1,A,M1,W-1,D1,2026-03-02 15:00,2026-03-02 07:00,\nS-2,personal,T1,A,M1,W-1,D1,2026-03-02 15:00,2026-03-02 07:00,480\n"), []string{
			`check stop-before-start samples.csv:samples!I3 [S-2] stop 2026-03-02 07:00 is not after the start at 2026-03-02 15:00; the stop is not used; run_min gives the 480 min`,
			`stop stop-before-start samples.csv:samples!I2 [S-1] stop 2026-03-02 07:00 is not after the start at 2026-03-02 15:00; neither is used`,
		}},
		{"kind", with("samples.csv", samples+"\nS-1,persnal,T1,A,M1,W-1,D1,2026-03-02 07:00,2026-03-02 15:00\n"), []string{
			`stop unknown-choice samples.csv:samples!B2 [S-1] kind "persnal" is not one of personal, area, blank; the nearest known one is personal; the row is left out`,
		}},
		{"ragged", with("lab.csv", "sample,analyte,result,unit,note\nS-1,Iron,1,29,ug,ok\nS-1,Zinc,1,ug\nS-1,Lead,1,ug\n"), []string{
			`note short-rows lab.csv:lab row 3 [] 2 rows have fewer cells than the header; the missing ones are taken as empty; the first is this`,
			`stop long-row lab.csv:lab row 2 [S-1, Iron] the row has 6 cells under 5 headers; it is left out, because its cells may stand in the wrong columns`,
		}},
		{"stray quote", with("lab.csv", "sample,analyte,result,unit\nS-1,\"Iron,12,ug\n"), []string{
			`check stray-quote lab.csv:lab row 2 [] the row has a quotation mark that nothing closes; it is read as an ordinary character`,
		}},
		{"unknown column", lab(",qualfier,,Batch", "S-1,Iron,20,ug,J,x,y\n"), []string{
			`check unknown-column lab.csv:lab!G1 [] column "Batch" of the lab table is not known and not used; the table has no column reporting_limit`,
			`check unknown-column lab.csv:lab!E1 [] column "qualfier" of the lab table is not known and not used; the nearest known one is qualifier`,
			`note unnamed-column lab.csv:lab!F1 [] the lab table has cells under no header; they are not used`,
		}},
		{"duplicate column", lab(",Units", "S-1,Iron,20,ug,mg\n"), []string{
			`check duplicate-column lab.csv:lab!E1 [] the headers "unit" and "Units" both mean unit; "unit" is used and "Units" is not`,
		}},
		{"zero flow", with("flows.csv", "train,leg,stage,reading_1,reading_2\nT1,A,pre,2.0,0\nT1,A,post,,\nT1,A,post,2.0,two\n"), []string{
			`stop missing-value flows.csv:flows!D3 [T1, A, S-1] reading_1 is empty; expected flow readings with ; between them, or columns reading_1, reading_2, ...; the row is left out`,
			`stop out-of-range flows.csv:flows!E2 [T1, A, S-1] reading_2 "0" cannot be; expected a number over 0; the row is left out`,
			`stop unreadable-number flows.csv:flows!E4 [T1, A, S-1] reading_2 "two" is not a number; expected a number over 0 L/min; the row is left out`,
		}},
		{"header converts", with("flows.csv", "train,leg,stage,Reading 1 [mL/min],Reading_2 (mL/min)\nT1,A,pre,1998,2002\n",
			"samples.csv", samples+",target_flow (mL/min),Custody volume (m³)\nS-1,personal,T1,A,M1,W-1,D1,2026-03-02 07:00,2026-03-02 15:00,2000,0.96\n"), []string{
			`note header-converted samples.csv:samples!K1 [] the header "Custody volume (m³)" gives m³; its numbers are turned into L`,
			`note header-converted samples.csv:samples!J1 [] the header "target_flow (mL/min)" gives mL/min; its numbers are turned into L/min`,
		}},
		{"header refused", with("samples.csv", samples+",target_flow (gal/h)\nS-1,personal,T1,A,M1,W-1,D1,2026-03-02 07:00,2026-03-02 15:00,2000\n"), []string{
			`stop header-unit-refused samples.csv:samples!J1 [] the header "target_flow (gal/h)" gives the unit "gal/h", which cannot be turned into L/min; the column is not used`,
		}},
		{"items", with("survey.csv", "item,value\ndrift_limit,six\nunsmpled,same\ntimezone,Mars/Base\nsector,General\nsector,maritime\n"), []string{
			`check unknown-item survey.csv:survey!A3 [unsmpled] unsmpled is not an item of the survey table and is not used; the nearest known one is unsampled`,
			`check unknown-timezone survey.csv:survey!B4 [] timezone "Mars/Base" is not known; times are taken as they stand, without clock changes`,
			`stop duplicate-id survey.csv:survey!A6 [sector] item sector stands in rows 5 and 6; the later row is left out`,
			`stop unreadable-number survey.csv:survey!B2 [drift_limit] value "six" is not a number; expected 0 to 100 %; the row is left out`,
		}},
		{"other files", with("notes.csv", "a,b\n1,2\n", "Laboratory results.csv", "sample,analyte,result,unit\n", "old.xlsx", ""), []string{
			`note unknown-table notes.csv [] notes is not one of the input tables and was not read`,
			`note unknown-table old.xlsx [] the workbook old.xlsx is not one of the input tables and was not read; give it as a survey of its own`,
			`stop duplicate-table Laboratory results.csv:lab [] Laboratory results is a second lab table beside lab; it was not read`,
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, got := readFolder(t, c.files)
			wantLines(t, got, c.want)
		})
	}
}
