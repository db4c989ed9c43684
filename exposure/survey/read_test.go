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
		{"not a number", lab("", "S-1,Iron,2O4,ug\n"), nil},
		{"desorption in percent", lab(",desorption", "S-1,Iron,20,ug,96\nS-1,Zinc,20,ug,96 %\nS-1,Lead,20,ug,9.6\nS-1,Tin,20,ug,0\n"), nil},
		{"cv in percent", lab(",cv", "S-1,Iron,20,ug,7 %\nS-1,Zinc,20,ug,7\nS-1,Lead,20,ug,0.07\n"), nil},
		{"unit", lab("", "S-1,Iron,20,ugh\nS-1,Zinc,20,\n"), nil},
		{"missing sample", lab("", ",Iron,20,ug\n"), nil},
		{"section", lab(",section", "S-1,Iron,20,ug,frnt\n"), nil},
		{"cas", lab(",cas", "S-1,Platinum,20,ug,7440-06-04\nS-1,Zinc,20,ug,7440-66-5\nS-1,Lead,20,ug,lead\n"), nil},
		{"duplicate samples", with("samples.csv", samples+"\nS-1,personal,T1,A,M1,W-1,D1,2026-03-02 07:00,2026-03-02 15:00\nS-1,area,T1,A,M1,,,2026-03-02 07:00,2026-03-02 15:00\n"), nil},
		{"day and month", with("samples.csv", samples+"\nS-1,personal,T1,A,M1,W-1,D1,03/04/2026 07:00,2026-03-02 15:00\n"), nil},
		{"backwards", with("samples.csv", samples+",run_min\nS-1,personal,T1,A,M1,W-1,D1,2026-03-02 15:00,2026-03-02 07:00,\nS-2,personal,T1,A,M1,W-1,D1,2026-03-02 15:00,2026-03-02 07:00,480\n"), nil},
		{"kind", with("samples.csv", samples+"\nS-1,persnal,T1,A,M1,W-1,D1,2026-03-02 07:00,2026-03-02 15:00\n"), nil},
		{"ragged", with("lab.csv", "sample,analyte,result,unit,note\nS-1,Iron,1,29,ug,ok\nS-1,Zinc,1,ug\nS-1,Lead,1,ug\n"), nil},
		{"stray quote", with("lab.csv", "sample,analyte,result,unit\nS-1,\"Iron,12,ug\n"), nil},
		{"unknown column", lab(",qualfier,,Batch", "S-1,Iron,20,ug,J,x,y\n"), nil},
		{"duplicate column", lab(",Units", "S-1,Iron,20,ug,mg\n"), nil},
		{"zero flow", with("flows.csv", "train,leg,stage,reading_1,reading_2\nT1,A,pre,2.0,0\nT1,A,post,,\nT1,A,post,2.0,two\n"), nil},
		{"header converts", with("flows.csv", "train,leg,stage,Reading 1 [mL/min],Reading_2 (mL/min)\nT1,A,pre,1998,2002\n",
			"samples.csv", samples+",target_flow (mL/min),Custody volume (m³)\nS-1,personal,T1,A,M1,W-1,D1,2026-03-02 07:00,2026-03-02 15:00,2000,0.96\n"), nil},
		{"header refused", with("samples.csv", samples+",target_flow (gal/h)\nS-1,personal,T1,A,M1,W-1,D1,2026-03-02 07:00,2026-03-02 15:00,2000\n"), nil},
		{"items", with("survey.csv", "item,value\ndrift_limit,six\nunsmpled,same\ntimezone,Mars/Base\nsector,General\nsector,maritime\n"), nil},
		{"other files", with("notes.csv", "a,b\n1,2\n", "Laboratory results.csv", "sample,analyte,result,unit\n", "old.xlsx", ""), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, got := readFolder(t, c.files)
			wantLines(t, got, c.want)
		})
	}
}
