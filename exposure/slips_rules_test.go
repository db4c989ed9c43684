package exposure_test

import (
	"fmt"
	"strings"
	"testing"
)

// labRows is a laboratory table of plain's columns and a report.
func labRows(rows ...string) string {
	return "\n-- lab --\nreport,sample,analyte,result,unit,reporting_limit,cas,section\n" + strings.Join(rows, "\n") + "\n"
}

// manyFlows are checks of five more trains, readings with three decimals.
func manyFlows(odd string) string {
	text := "\n-- flows + --\n"
	for i := range 5 {
		text += fmt.Sprintf("X%d,A,pre,2.001;2.010;2.004,M2,2026-03-02 06:30\n", i)
	}
	return text + "T1,A,pre," + odd + ",M2,2026-03-02 06:50\n"
}

// samplesOf is a samples table of one group with filters at 2 L/min on n
// workers' own trains, and their shifts and flow checks.
func samplesOf(n int) string {
	samples, shifts, flows, workers := "", "", "", ""
	for i := range n {
		samples += fmt.Sprintf("S%d,personal,T%d,A,FIL,L1,W%d,D,2026-03-02 07:00,2026-03-02 15:00\n", i+1, i+1, i+1)
		shifts += fmt.Sprintf("D,W%d,2026-03-02 07:00,2026-03-02 15:00\n", i+1)
		workers += fmt.Sprintf("W%d,G1\n", i+1)
		flows += fmt.Sprintf("T%d,A,pre,2;2;2,M1,2026-03-02 06:30\nT%d,A,post,2;2;2,M1,2026-03-02 15:30\n", i+1, i+1)
	}
	return "\n-- samples --\nsample,kind,train,leg,medium,lot,worker,shift,start,stop\n" + samples +
		"\n-- shifts --\nshift,worker,start,end\n" + shifts + "\n-- workers --\nworker,group\n" + workers +
		"\n-- flows --\ntrain,leg,stage,readings,device,taken_at\n" + flows
}

// proportions are results of three dusts in the proportions 100 : 200 : 400 on
// n samples at different levels; that of the second dust on S2 is given.
func proportions(n int, second string) string {
	var rows []string
	for i := range n {
		middle := fmt.Sprint(200 * (i + 1))
		if i == 1 {
			middle = second
		}
		rows = append(rows, fmt.Sprintf("R1,S%d,Quillite,%d,ug,1,,", i+1, 100*(i+1)), fmt.Sprintf("R1,S%d,Zorbium,%s,ug,1,,", i+1, middle),
			fmt.Sprintf("R1,S%d,Tarnite,%d,ug,1,,", i+1, 400*(i+1)))
	}
	return samplesOf(n) + labRows(rows...)
}

// Slips that leave every row readable. The thresholds are common practice, no
// source; the figures are arithmetic on the rows.
func TestSlips(t *testing.T) {
	blanks := []string{"R1,B1,Quillite,<1,ug,1,,", "R1,B2,Quillite,<1,ug,1,,"}
	with := func(rows ...string) string { return labRows(append(rows, blanks...)...) }
	history := func(value string) string {
		row := "G1,Quillite,2025-03-0%d,W1," + value + ",mg/m3\n"
		return "\n-- history --\ngroup,analyte,date,worker,value,unit\n" + fmt.Sprintf(row+row+row, 1, 2, 3)
	}
	digits := func(odd string) string {
		rows := []string{"R1,S1,Quillite,96.1,ug,1,,"}
		for i, result := range []string{"12.4", "8.10", "33.0", "0.512", odd, "41.7", "27.2"} {
			rows = append(rows, fmt.Sprintf("R1,S1,Metal%d,%s,ug,0.01,,", i, result))
		}
		return with(rows...)
	}
	for _, c := range []check{
		{"a digit more in a reading", "reading-written-unlike", "check", manyFlows("2.0022;2.001;2.003"), manyFlows("2.002;2.001;2.003"),
			[]string{"S1", "T1 A"}, []string{"2.0022", "4 decimals", "17", "12", "have 3"}},
		{"a digit more in a result", "result-written-unlike", "check", digits("7.222"), digits("7.22"), []string{"S1", "Metal4"}, []string{"7.222", "4 significant", "have 3"}},
		{"a digit less in a result, where zeros are kept", "result-written-unlike", "check", digits("7.2"), digits("7.20"), []string{"S1", "Metal4"}, []string{"2 significant"}},
		{"a decimal shifted", "out-of-profile", "check", proportions(4, "4000"), proportions(4, "400"), []string{"S2", "Zorbium"}, []string{"10 times", "6 times"}},
		{"far from the history", "far-from-history", "check", history("0.0001"), history("0.05"), []string{"S1", "Quillite", "G1"}, []string{"1000", "30"}},
		{"the sign of a non-detect lost", "at-reporting-limit", "check", with("R1,S1,Quillite,1,ug,1,,"), with("R1,S1,Quillite,<1,ug,1,,"),
			[]string{"S1", "Quillite"}, []string{"reads 1", "limit of 1 ug"}},
		{"a blank that looks like a sample", "blank-high", "check",
			labRows("R1,S1,Quillite,96,ug,1,,", "R1,B1,Quillite,5,ug,1,,", "R1,B2,Quillite,<1,ug,1,,"), "", []string{"B1", "Quillite"}, []string{"5 times", "2 times"}},
		{"a pause in hours", "pause-short", "check", plainSample("pause_min", "0.5"), plainSample("pause_min", "30"), []string{"S1"}, []string{"0.5 min", "3 min"}},
		{"a pre check after the start", "pre-check-unused", "check", "\n-- flows + --\nT1,A,pre,2;2;2,M1,2026-03-02 08:30\n", "", []string{"S1", "T1 A"}, []string{"08:30"}},
		{"a check in the wrong month", "flow-check-far", "check", "\n-- flows + --\nT1,A,pre,2;2;2,M1,2026-02-02 06:30\n", "\n-- flows + --\nT1,A,pre,2;2;2,M1,2026-03-01 06:30\n",
			[]string{"S1", "T1 A"}, []string{"28", "7"}},
		{"a shift of days", "shift-long", "check", "\n-- shifts --\nshift,worker,start,end\nD,W1,2026-03-02 07:00,2026-03-04 15:00\n", "", []string{"D", "W1"}, []string{"56 h", "24 h"}},
		{"a blank of another lot", "blank-without-samples", "check", "\n-- samples + --\nB3,blank,,,FIL,L11,,,,\n", "\n-- samples + --\nB3,blank,,,FIL,L1,,,,\n",
			[]string{"B3", "L11"}, []string{"lot L11", "FIL", "L1"}},
		{"a limit for nearly another name", "name-nearly-another", "check", "\n-- limits + --\nQuillit,House,STEL,1,mg/m3\n", "\n-- limits + --\nQuillite,House,STEL,1,mg/m3\n",
			[]string{"Quillit", "Quillite"}, []string{"limits"}},
		{"a report in the wrong unit", "balance-too-fine", "check",
			"\n-- media --\nmedium,target_flow_lpm,method\nFIL,2,house gravimetric\n" + with("R1,S1,Quillite,96,ng,50,,"),
			"\n-- media --\nmedium,target_flow_lpm,method\nFIL,2,house gravimetric\n" + with("R1,S1,Quillite,96,ug,50,,"), []string{"S1"}, []string{"0.05 ug", "1 ug"}},
		{"reporting limits far too low", "reporting-limit-too-low", "check", samplesOf(3) + labRows("R1,S1,Quillite,96,ng,1,,", "R1,S2,Quillite,96,ng,1,,", "R1,S3,Quillite,96,ng,1,,"),
			samplesOf(3) + labRows("R1,S1,Quillite,96,ug,1,,", "R1,S2,Quillite,96,ug,1,,", "R1,S3,Quillite,96,ug,1,,"), []string{"S1", "S2", "S3"}, []string{"1e-06", "1e-05"}},
		{"two CAS numbers of one analyte", "cas-differs", "check", with("R1,S1,Quillite,96,ug,1,7440-47-3,") + "R1,B1,Zorbium,<1,ug,1,7440-02-0,\nR1,S1,Zorbium,9,ug,1,7440-47-3,\nR1,B2,Zorbium,<1,ug,1,7440-02-0,\n",
			"", []string{"S1", "Zorbium"}, []string{"7440-47-3", "7440-02-0"}},
		{"an offset missing", "offset-missing", "check", "\n-- shifts --\nshift,worker,start,end\nD,W1,2026-03-02 07:00 +00:00,2026-03-02 15:00 +00:00\n", "", []string{"S1", "T1"}, []string{"no offset"}},
	} {
		t.Run(c.name, c.run)
	}
}

// Steps and times of one sitting must agree.
func TestFlowStepsInOrder(t *testing.T) {
	flows := func(second string) string {
		return "\n-- flows --\ntrain,leg,stage,step,readings,device,taken_at\nT1,A,pre,1,2;2;2,M1,2026-03-02 06:30\n" +
			"T1,A,pre,2,2;2;2,M1," + second + "\nT1,A,post,1,2;2;2,M1,2026-03-02 15:30\n"
	}
	check{code: "flow-steps-disordered", severity: "check", broken: flows("2026-03-01 06:40"), mended: flows("2026-03-02 06:40"),
		names: []string{"S1", "T1 A"}, says: []string{"step 2", "step 1"}}.run(t)
}

// A front section without its back, where most tubes have both.
func TestBackSectionMissing(t *testing.T) {
	tubes := func(last ...string) string {
		var rows []string
		for i := range 3 {
			rows = append(rows, fmt.Sprintf("R1,S%d,Quillite,96,ug,1,,front", i+1), fmt.Sprintf("R1,S%d,Quillite,<1,ug,1,,back", i+1))
		}
		return samplesOf(4) + labRows(append(append(rows, "R1,S4,Quillite,96,ug,1,,front"), last...)...)
	}
	check{code: "back-missing", severity: "check", broken: tubes(), mended: tubes("R1,S4,Quillite,<1,ug,1,,back"),
		names: []string{"S4", "Quillite"}, says: []string{"3 of 4"}}.run(t)
}

// Many high reporting limits of one report are told once.
func TestHighReportingLimitsAreToldOnce(t *testing.T) {
	rows := func(limit string) string {
		var all []string
		for i := range 4 {
			all = append(all, fmt.Sprintf("R1,S%d,Quillite,9600,ug,%s,,", i+1, limit))
		}
		return samplesOf(4) + labRows(all...)
	}
	check{code: "reporting-limits-high", severity: "check", broken: rows("2000"), mended: rows("1"),
		names: []string{"S1", "S4", "Quillite"}, says: []string{"4 reporting limits", "10 %"}}.run(t)
}

// A limit under another name of the library's for what was found. OSHA's Table
// Z-1 has "Particulates not otherwise regulated"; that dust and particulates
// are names for it is what the library says.
func TestLimitUnderAnotherNameOfTheLibrary(t *testing.T) {
	rows := "\n-- survey --\nitem,value\nauthorities,\"OSHA, House\"\n" + labRows("R1,S1,Particulates,960,ug,1,,")
	limit := func(name string) string {
		return rows + "\n-- limits --\nanalyte,authority,kind,value,unit\n" + name + ",House,TWA8,3,mg/m3\n"
	}
	check{code: "name-nearly-another", severity: "check", broken: limit("Dust"), mended: limit("Particulates"),
		names: []string{"Dust", "Particulates"}, says: []string{"limits names Dust", "the library takes it for the same"}}.run(t)
}

// A shift that is too long is told at the end that is wrong: the one that its
// samples are further from. Common practice, no source.
func TestLongShiftIsToldAtTheWrongEnd(t *testing.T) {
	run(t, []rule{
		{"a start days before the samples", "\n-- shifts --\nshift,worker,start,end\nD,W1,2026-02-25 07:00,2026-03-02 15:00\n", []fact{{"finding shift-long cell", "shifts!C2"}}},
		{"an end days after them", "\n-- shifts --\nshift,worker,start,end\nD,W1,2026-03-02 07:00,2026-03-06 15:00\n", []fact{{"finding shift-long cell", "shifts!D2"}}},
	})
}

func TestWhatTheSurveyDoesNotName(t *testing.T) {
	for _, c := range []check{
		{"an authority of own limits that is not listed", "authority-not-listed", "note", "\n-- survey --\nitem,value\nauthorities,OSHA\n", "", []string{"House"}, []string{"limits of House", "(OSHA)", "come last"}},
		{"no meter at all", "no-meter-named", "note", strings.ReplaceAll(flowsOf("", "2;2;2", "2;2;2"), "M1", ""), "", nil, []string{"none of the 2 flow checks", "counts as 0"}},
	} {
		t.Run(c.name, c.run)
	}
	run(t, []rule{
		{"no meter is told once, not for every check", strings.ReplaceAll(flowsOf("", "2;2;2", "2;2;2"), "M1", ""), []fact{{"finding no-meter-named count", 1}, {"finding device-not-named code", absent}}},
		{"one check without its meter", strings.Replace(flowsOf("", "2;2;2", "2;2;2"), "M1", "", 1), []fact{{"finding no-meter-named code", absent}, {"finding device-not-named count", 1}}},
		// 480 min by the clock, 450 by the timer
		{"a timer a lunch short of the clock", plainSample("run_min", "450"), []fact{{"finding clock-disagrees remedy", has("enter 30 as pause_min")}}},
		{"a timer longer than the clock", plainSample("run_min", "500"), []fact{{"finding clock-disagrees remedy", "correct start, stop, pause_min or run_min"}}},
		{"off target on a cassette", flowsOf("", "1.8;1.8;1.8", "1.8;1.8;1.8"), []fact{{"finding flow-off-target remedy", has("from the flow measured")}}},
		{"off target on a size-selective sampler", medium("form", "respirable") + flowsOf("", "1.8;1.8;1.8", "1.8;1.8;1.8"), []fact{{"finding flow-off-target remedy", has("another cut-point")}}},
	})
}
