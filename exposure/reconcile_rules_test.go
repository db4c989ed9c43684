package exposure_test

import (
	"fmt"
	"strings"
	"testing"
)

// onMedia is a survey of n samples on each of two media, S1 to Sn on FIL and
// T1 to Tn on TUB, with lots of their own.
func onMedia(n int, rows ...string) string {
	samples, flows, shifts := "", "", ""
	for i := range n {
		day := fmt.Sprintf("2026-03-%02d", 2+i)
		shifts += fmt.Sprintf("D%d,W1,%s 07:00,%s 15:00\n", i+1, day, day)
		for _, on := range [][3]string{{"S", "A", "FIL"}, {"T", "B", "TUB"}} {
			id, leg, medium := on[0], on[1], on[2]
			samples += fmt.Sprintf("%s%d,personal,X%d,%s,%s,L-%s,W1,D%d,%s 07:00,%s 15:00\n", id, i+1, i+1, leg, medium, medium, i+1, day, day)
			flows += fmt.Sprintf("X%d,%s,pre,2;2;2,M1,%s 06:30\nX%d,%s,post,2;2;2,M1,%s 15:30\n", i+1, leg, day, i+1, leg, day)
		}
	}
	return "\n-- media --\nmedium,target_flow_lpm\nFIL,2\nTUB,2\n-- shifts --\nshift,worker,start,end\n" + shifts +
		"-- flows --\ntrain,leg,stage,readings,device,taken_at\n" + flows +
		"-- samples --\nsample,kind,train,leg,medium,lot,worker,shift,start,stop\n" + samples +
		"-- lab --\nsample,analyte,result,unit,reporting_limit\n" + strings.Join(rows, "\n") + "\n"
}

// panelsOf are results of Zorbium and Tarnite on S samples and of Lacquene on
// T samples, but for those of one of each, which are given.
func panelsOf(n int, filter, tube string) []string {
	var rows []string
	for i := range n {
		s, t := fmt.Sprintf("S%d", i+1), fmt.Sprintf("T%d", i+1)
		if i == 0 {
			s, t = filter, tube
		}
		rows = append(rows, s+",Zorbium,96,ug,1", s+",Tarnite,9,ug,1", t+",Lacquene,200,ug,1")
	}
	return rows
}

// Every sample has one current result for each analyte asked for, and none of
// another medium. What was asked for is what most samples of the medium have:
// common practice, no source. Elements are read from filters (NIOSH 7303) and
// aromatic solvents from charcoal (NIOSH 1501), so one never stands for the
// other: from memory.
func TestReconciliation(t *testing.T) {
	clean := onMedia(4, panelsOf(4, "S1", "T1")...)
	for _, c := range []check{
		{"results of another medium", "wrong-medium", "check", onMedia(4, panelsOf(4, "T1", "S1")...), clean, []string{"T1", "TUB", "Zorbium", "Tarnite"}, []string{"FIL", "3 others", "told with it", "no result for Lacquene"}},
		{"an analyte that no other sample has", "analyte-extra", "note", onMedia(4, append(panelsOf(4, "S1", "T1"), "S2,Quellium,5,ug,1")...), clean,
			[]string{"S2", "Quellium", "FIL"}, []string{"3 samples"}},
		{"a missing analyte", "analyte-missing", "check", onMedia(4, panelsOf(4, "S1", "T1")[1:]...), clean, []string{"S1", "Zorbium"}, []string{"3 of 4"}},
		{"two results for one", "duplicate-result", "stop", onMedia(4, append(panelsOf(4, "S1", "T1"), "S2,Tarnite,5,ug,1")...), clean, []string{"S2", "Tarnite"}, []string{"2 results"}},
		{"the lot of another medium", "lot-of-another-medium", "check", strings.Replace(clean, "FIL,L-FIL,W1,D2", "FIL,L-TUB,W1,D2", 1), clean,
			[]string{"S2", "L-TUB", "FIL"}, []string{"4 others", "3 others"}},
		{"a mistyped sample, with what is missing where it belongs", "unknown-sample", "stop", onMedia(4, append(panelsOf(4, "S1", "T1")[1:], "S1x,Zorbium,96,ug,1")...), clean,
			[]string{"S1x", "S1", "Zorbium"}, []string{"the nearest is S1", "told with it", "no result for Zorbium"}},
		{"a lot without blanks, nearly one that has", "no-matching-blank", "check", "\n-- samples --\nsample,kind,train,leg,medium,lot,worker,shift,start,stop\nS1,personal,T1,A,FIL,L-1,W1,D,2026-03-02 07:00,2026-03-02 15:00\nB1,blank,,,FIL,L1,,,,\nB2,blank,,,FIL,L1,,,,\n", "", []string{"S1", "L-1"}, []string{"the nearest lot with blanks is L1"}},
		{"another name for an analyte", "name-nearly-another", "check", strings.Replace(clean, "S1,Zorbium", "S1,Zorbiun", 1), clean,
			[]string{"S1", "Zorbium", "Zorbiun"}, []string{"lab names Zorbiun", "no result for Zorbium"}},
		{"a limit that meets nothing", "limit-unused", "check", "\n-- limits + --\nQuillite,House,STEL,9,mg/m3\nQuillite,House,CEILING,9,mg/m3\nGrimm,House,TWA8,1,mg/m3\n", "",
			[]string{"Grimm", "House"}, []string{"3 of 4"}},
	} {
		t.Run(c.name, c.run)
	}
}

// NIOSH 7303 (2003) reads elements from cellulose ester filters, 1501 (2003)
// aromatic hydrocarbons from charcoal tubes: seen in both methods. That the
// one medium does not give the other's analytes follows from what they are.
func TestAMediumGivesOnlyWhatItHolds(t *testing.T) {
	on := func(medium, analyte, cas string) string {
		return "\n-- media --\nmedium,description,target_flow_lpm\nFIL," + medium + ",2\n" + labRows("R,S1,"+analyte+",96,ug,1,"+cas+",")
	}
	const filter, tube = "37 mm MCE filter 0.8 um", "charcoal tube 100/50 mg"
	for _, c := range []check{
		{"a solvent from a filter", "wrong-medium", "check", on(filter, "Benzene", "71-43-2"), on(tube, "Benzene", "71-43-2"),
			[]string{"S1", "FIL", "Benzene"}, []string{"NIOSH 1501", "bare filter"}},
		{"a metal from charcoal", "wrong-medium", "check", on(tube, "Lead", "7439-92-1"), on(filter, "Lead", "7439-92-1"),
			[]string{"S1", "FIL", "Lead"}, []string{"NIOSH 7303", "charcoal does not"}},
		{"not from a filter before a tube", "wrong-medium", "check", on(tube, "Lead", "7439-92-1"), on("MCE filter before a charcoal tube", "Lead", "7439-92-1"),
			[]string{"S1"}, nil},
		{"nor where the medium is not described", "wrong-medium", "check", on(tube, "Lead", "7439-92-1"), on("", "Lead", "7439-92-1"),
			[]string{"S1"}, nil},
	} {
		t.Run(c.name, c.run)
	}
}

// A list of limits for everything in the house is no slip.
func TestAHouseListOfLimitsIsNoSlip(t *testing.T) {
	r := reduce(t, plain, "\n-- limits + --\nGrimm,House,TWA8,1,mg/m3\nVorne,House,TWA8,1,mg/m3\n")
	if found := r.coded("limit-unused"); len(found) > 0 {
		t.Errorf("%d of the limits of a house list are told of: %s", len(found), found[0].Message)
	}
}

// A sample analysed for more than the others is no sample of another medium.
func TestMoreThanTheUsualPanelIsNoOtherMedium(t *testing.T) {
	rows := append(panelsOf(4, "S1", "T1"), "S1,Lacquene,5,ug,1")
	if found := reduce(t, plain, onMedia(4, rows...)).coded("wrong-medium"); len(found) > 0 {
		t.Errorf("told of: %s", found[0].Message)
	}
}

// Checks that look at how a train, a tube and a filter hang together. The
// thresholds are common practice, no source.
func TestRowsThatHangTogether(t *testing.T) {
	legs := func(a, b string) string {
		return "\n-- media --\nmedium,target_flow_lpm\nFIL,2\nTUB,0.05\n-- flows --\ntrain,leg,stage,readings,device,taken_at\n" +
			"T1,A,pre," + a + ",M1,2026-03-02 06:30\nT1,B,pre," + b + ",M1,2026-03-02 06:32\n" +
			"T1,A,post,2;2;2,M1,2026-03-02 15:30\nT1,B,post,0.05;0.05;0.05,M1,2026-03-02 15:32\n" +
			"-- samples + --\nS2,personal,T1,B,TUB,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00\n" +
			"-- lab + --\nS2,Quillite,9,ug,1\n"
	}
	sections := func(back string) string {
		return "\n-- lab --\nsample,analyte,result,unit,reporting_limit,section,desorption,desorption_applied\n" +
			"S1,Quillite,96,ug,1,front,0.9,no\nS1,Quillite,<1,ug,1,back,0.9," + back + "\nB1,Quillite,<1,ug,1,front,0.9,no\nB2,Quillite,<1,ug,1,front,0.9,no\n"
	}
	tube := func(back string) string {
		return labRows("R,S1,Quillite,96,ug,1,,front", "R,S1,Quillite,"+back+",ug,1,,back")
	}
	weighed := func(mg string) string {
		return "\n-- media --\nmedium,target_flow_lpm,method\nFIL,2,house gravimetric\n" + labRows("R,S1,Quillite,"+mg+",mg,0.05,,")
	}
	for _, c := range []check{
		{"legs exchanged in the morning", "legs-exchanged", "stop", legs("0.05;0.05;0.05", "2;2;2"), legs("2;2;2", "0.05;0.05;0.05"),
			[]string{"S1", "S2", "T1 A", "T1 B"}, []string{"pre checks", "0.05 L/min", "target of 2", "no volume"}},
		{"sections corrected differently", "sections-disagree", "check", sections("yes"), sections("no"), []string{"S1", "Quillite"}, []string{"desorption_applied is no", "yes for the back"}},
		{"more behind than in front", "breakthrough-over-front", "check", tube("120"), tube("9"), []string{"S1", "Quillite"}, []string{"125 %", "10 %"}},
		{"more than a filter holds", "filter-load-implausible", "check", weighed("21"), weighed("2.1"), []string{"S1", "Quillite"}, []string{"21 mg", "20 mg"}},
		{"a sample that looks like a blank", "sample-looks-blank", "stop", "\n-- samples + --\nB3,personal,,,FIL,L1,,,,\n", "\n-- samples + --\nB3,blank,,,FIL,L1,,,,\n",
			[]string{"B3", "L1"}, []string{"no volume", "names no worker"}},
		{"a blank void for the word of another column", "void-looks-misplaced", "check", plainSample("void", "field"), plainSample("void", "hose off"), []string{"S1"}, []string{"field", "blank_type"}},
	} {
		t.Run(c.name, c.run)
	}
}

// A leg that was adjusted and not read again, where the others were.
func TestLegAdjustedAndNotReadAgain(t *testing.T) {
	flows := func(last string) string {
		text := samplesOf(4) + "\n-- flows --\ntrain,leg,stage,action,readings,device,taken_at\n"
		for i := range 4 {
			text += fmt.Sprintf("T%d,A,pre,adjusted,2;2;2,M1,2026-03-02 06:30\nT%d,A,post,,2;2;2,M1,2026-03-02 15:30\n", i+1, i+1)
			if i < 3 {
				text += fmt.Sprintf("T%d,A,pre,verified,2;2;2,M1,2026-03-02 06:40\n", i+1)
			}
		}
		return text + last
	}
	check{code: "leg-not-verified", severity: "check", broken: flows(""), mended: flows("T4,A,pre,verified,2;2;2,M1,2026-03-02 06:40\n"),
		names: []string{"S4", "T4 A"}, says: []string{"3 of 4"}}.run(t)
}

// A result that stands on a sample of another medium is told where it stands,
// not at the first row of the sample.
func TestWrongMediumIsToldAtTheResult(t *testing.T) {
	run(t, []rule{{"a filter's element on a tube", "\n-- media --\nmedium,target_flow_lpm,description\nFIL,2,charcoal tube\n" + `
-- lab --
sample,analyte,cas,result,unit,reporting_limit
S1,Toluene,108-88-3,96,ug,1
S1,Lead,7439-92-1,9,ug,1
B1,Toluene,108-88-3,<1,ug,1
B2,Toluene,108-88-3,<1,ug,1
`, []fact{{"finding wrong-medium cell", "lab!A3"}}}})
}
