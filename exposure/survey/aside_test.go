package survey

import "testing"

// TestRowsThatAreNoData reads a table with a sum, a mean and remarks under it.
// Each is told of by its row; rows that only lack cells are still missed.
// Common practice, no source.
func TestRowsThatAreNoData(t *testing.T) {
	const head = "sample,analyte,result,unit,method,note\n"
	for _, c := range []struct {
		name, rows string
		results    int
		want       []string
	}{
		{"a sum and a mean", "S-1,Iron,12,ug,,\nTotal,,12,ug,,\n,Mean:,12,,,of one\n", 1, []string{
			`check summary-row lab.csv:lab!A3 [] the row begins with "Total" and names nothing else: it is taken as a summary of others and left out`,
			`check summary-row lab.csv:lab!B4 [] the row begins with "Mean:" and names nothing else: it is taken as a summary of others and left out`,
		}},
		{"remarks", "S-1,Iron,12,ug,,\n,,,,,\n* corrected for the blank\nNote: see report\n\"results are those of the samples as received\",,,,,\n", 1, []string{
			`note remark-row lab.csv:lab!A4 [] the row holds one cell alone: "* corrected for the blank"; it is taken as a remark and left out`,
			`note remark-row lab.csv:lab!A5 [] the row holds one cell alone: "Note: see report"; it is taken as a remark and left out`,
			`note remark-row lab.csv:lab!A6 [] the row holds one cell alone: "results are those of the samples as received"; it is taken as a remark and left out`,
		}},
		{"rows that lack cells", "S-1,Iron,12,ug,,\nS-2,,,,,\nS-1,Total,3,ug,,\nTotal,Iron,3,ug,,\n,Iron,3,ug,,\n", 3, []string{
			`stop missing-value lab.csv:lab!B3 [S-2] analyte is empty; expected what was determined, as the laboratory writes it; the row is left out`,
			`stop missing-value lab.csv:lab!A6 [Iron] sample is empty; expected number of the sample; the row is left out`,
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, got := readFolder(t, with("lab.csv", head+c.rows))
			var kept []string
			for _, line := range got {
				if line[:10] != "note short" {
					kept = append(kept, line)
				}
			}
			wantLines(t, kept, c.want)
			if len(s.Lab) != c.results {
				t.Errorf("%d results, want %d", len(s.Lab), c.results)
			}
		})
	}
}

// A leg called TOTAL is the train measured at the pump, and a lone code in a
// table that needs no more is a row of it.
func TestWordsThatAreData(t *testing.T) {
	s, got := readFolder(t, with(
		"flows.csv", "train,leg,stage,readings\nT1,A,pre,2.0\nT1,total,pre,2.0\nMean,,,2.0\n",
		"workers.csv", "worker,job\nW-1,\nNote,\n* left the works,\n"))
	wantLines(t, got, []string{
		`check summary-row flows.csv:flows!A4 [] the row begins with "Mean" and names nothing else: it is taken as a summary of others and left out`,
		`note remark-row workers.csv:workers!A4 [] the row holds one cell alone: "* left the works"; it is taken as a remark and left out`,
	})
	if len(s.Flows) != 2 || s.Flows[1].Leg != TotalLeg || len(s.Workers) != 2 {
		t.Errorf("read %+v, %+v", s.Flows, s.Workers)
	}
}

// A mean under a plain list is no group of its own.
func TestSummariesUnderAList(t *testing.T) {
	rows, got := readListOf(t, "group,worker,date,value,unit\nA,W-1,2026-03-02,2,mg/m3\nA,W-2,2026-03-03,3,mg/m3\nMean,,,2.5,mg/m3\nn,,,2,\n")
	if len(rows) != 2 || len(got) != 2 {
		t.Errorf("read %+v, %q", rows, got)
	}
	rows, got = readListOf(t, "group,value,unit\nGM,2,mg/m3\nSum,3,mg/m3\n")
	if len(rows) != 2 || len(got) != 0 {
		t.Errorf("groups of those names: %+v, %q", rows, got)
	}
}
