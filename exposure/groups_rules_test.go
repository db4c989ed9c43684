package exposure_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"airtally/exposure"
	"airtally/exposure/survey"
)

// shiftsOf returns the tables of worker-shifts, each written "worker day
// result": one filter at 2 L/min through the 8 hours of that day in March
// 2026, 960 L. Worker-shifts are named by day and worker.
func shiftsOf(turns ...string) string {
	tables := map[string]*strings.Builder{}
	add := func(table, format string, a ...any) {
		if tables[table] == nil {
			tables[table] = &strings.Builder{}
		}
		fmt.Fprintf(tables[table], format+"\n", a...)
	}
	add("workers", "worker,group\nW1,G1\nW2,G1\nW3,G1\nW9,G2")
	add("shifts", "shift,worker,start,end")
	add("flows", "train,leg,stage,readings,device")
	add("samples", "sample,kind,train,leg,medium,lot,worker,shift,start,stop\nB1,blank,,,FIL,L1,,,,\nB2,blank,,,FIL,L1,,,,")
	add("lab", "sample,analyte,result,unit,reporting_limit\nB1,Quillite,<1,ug,1\nB2,Quillite,<1,ug,1")
	for _, turn := range turns {
		f := strings.Fields(turn)
		worker, day, result := f[0], f[1], f[2]
		id, date := day+worker, "2026-03-"+day
		add("shifts", "D%s,%s,%s 07:00,%s 15:00", id, worker, date, date)
		add("flows", "T%s,A,pre,2;2;2,M1\nT%s,A,post,2;2;2,M1", id, id)
		add("samples", "S%s,personal,T%s,A,FIL,L1,%s,D%s,%s 07:00,%s 15:00", id, id, worker, id, date, date)
		add("lab", "S%s,Quillite,%s,ug,1", id, result)
	}
	var all strings.Builder
	for name, rows := range tables {
		fmt.Fprintf(&all, "-- %s --\n%s", name, rows)
	}
	return all.String()
}

// G1 has 0.1, 0.2 and 0.4 mg/m³.
var threeShifts = shiftsOf("W1 02 96", "W2 03 192", "W3 04 384")

const quillite = "group G1 Quillite House:TWA8 "

func TestGroups(t *testing.T) {
	run(t, []rule{
		{"one value a worker-shift, against the limit's average", threeShifts, []fact{
			{quillite + "n", 3}, {quillite + "workers", 3}, {quillite + "censored", 0}, {quillite + "history", 0},
			{quillite + "basis", "twa8"}, {quillite + "limit", 1}, {quillite + "unit", "mg/m3"},
			{quillite + "min", 0.1}, {quillite + "median", 0.2}, {quillite + "max", 0.4},
			{quillite + "gm", 0.2}, // the cube root of 0.1 × 0.2 × 0.4
			{quillite + "p95", 0.2 * math.Exp(1.6448536269514722*math.Ln2)}, // logs ln 0.2 and ± ln 2: sd ln 2
			{quillite + "shifts", "W1|D02W1|2026-03-02|0.1..0.1|false; W2|D03W2|2026-03-03|0.2..0.2|false; W3|D04W3|2026-03-04|0.4..0.4|false"},
			{quillite + "excluded", ""}, {"group G2 Quillite House:TWA8 n", absent},
		}},
		{"the limit's own unit", threeShifts + "\n-- limits --\nanalyte,authority,kind,value,unit\nQuillite,House,TWA8,1000,ug/m3\n", []fact{
			{quillite + "unit", "ug/m3"}, {quillite + "limit", 1000}, {quillite + "max", 400}, {quillite + "gm", 200},
		}},
		{"two groups apart", shiftsOf("W1 02 96", "W2 03 192", "W9 03 480"), []fact{
			{quillite + "n", 2}, {"group G2 Quillite House:TWA8 n", 1}, {"group G2 Quillite House:TWA8 max", 0.5},
			{"group G2 Quillite House:TWA8 method", "none"}, {"group G2 Quillite House:TWA8 outcome", "undecided"},
		}},
		{"a non-detect keeps its bounds", shiftsOf("W1 02 96", "W2 03 192", "W3 04 <48"), []fact{
			{quillite + "n", 3}, {quillite + "censored", 1}, {quillite + "min", 0.025}, {quillite + "method", "mle"},
			{quillite + "shifts", has("W3|D04W3|2026-03-04|0..0.05|false")},
		}},
		{"short-term limits and action levels have no groups", threeShifts + `
-- limits --
analyte,authority,kind,value,unit
Quillite,House,STEL,2,mg/m3
Quillite,House,ACTION,0.5,mg/m3
Quillite,Other,TWA10,1,mg/m3
`, []fact{
			{"group G1 Quillite House:STEL n", absent}, {"group G1 Quillite House:ACTION n", absent},
		}},
	})
}

func TestGroupsLeaveOut(t *testing.T) {
	run(t, []rule{
		{"low coverage", threeShifts + `
-- shifts --
shift,worker,start,end
D02W1,W1,2026-03-02 07:00,2026-03-02 15:00
D03W2,W2,2026-03-03 07:00,2026-03-03 15:00
D04W3,W3,2026-03-04 07:00,2026-03-04 19:00
`, []fact{
			{quillite + "n", 2}, {quillite + "excluded", "W3|D04W3|66.66 % of the shift was sampled, under the 70 % asked for"},
		}},
		{"low coverage under a policy of the shift's own counts", threeShifts + `
-- shifts --
shift,worker,start,end,unsampled
D02W1,W1,2026-03-02 07:00,2026-03-02 15:00,
D03W2,W2,2026-03-03 07:00,2026-03-03 15:00,
D04W3,W3,2026-03-04 07:00,2026-03-04 19:00,zero
`, []fact{{quillite + "n", 3}, {quillite + "excluded", ""}, {quillite + "max", 0.4}}},
		{"a void", threeShifts + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,void
S02W1,personal,T02W1,A,FIL,L1,W1,D02W1,2026-03-02 07:00,2026-03-02 15:00,
S03W2,personal,T03W2,A,FIL,L1,W2,D03W2,2026-03-03 07:00,2026-03-03 15:00,hose off
S04W3,personal,T04W3,A,FIL,L1,W3,D04W3,2026-03-04 07:00,2026-03-04 15:00,
`, []fact{{quillite + "n", 2}, {quillite + "excluded", "W2|D03W2|sample S03W2 is void: hose off"}}},
		{"a void without results, by what its medium is analysed for", threeShifts + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,void
S02W1,personal,T02W1,A,FIL,L1,W1,D02W1,2026-03-02 07:00,2026-03-02 15:00,
S03W2,personal,T03W2,A,FIL,L1,W2,D03W2,2026-03-03 07:00,2026-03-03 15:00,
SV,personal,T04W3,A,FIL,L1,W3,D04W3,2026-03-04 07:00,2026-03-04 15:00,yes
-- lab --
sample,analyte,result,unit
S02W1,Quillite,96,ug
S03W2,Quillite,192,ug
`, []fact{{quillite + "n", 2}, {quillite + "excluded", has("W3|D04W3|sample SV is void")}}},
		{"area and short-term samples", threeShifts + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,purpose
S02W1,personal,T02W1,A,FIL,L1,W1,D02W1,2026-03-02 07:00,2026-03-02 15:00,
S03W2,personal,T03W2,A,FIL,L1,W2,D03W2,2026-03-03 07:00,2026-03-03 15:00,
S04W3,area,T04W3,A,FIL,L1,,,2026-03-04 07:00,2026-03-04 15:00,
SST,personal,T02W1,A,FIL,L1,W1,D02W1,2026-03-02 09:00,2026-03-02 09:15,short-term
SONLY,personal,T02W1,A,FIL,L1,W3,D04W3,2026-03-04 07:00,2026-03-04 15:00,short-term
-- lab --
sample,analyte,result,unit,reporting_limit
S02W1,Quillite,96,ug,1
S03W2,Quillite,192,ug,1
S04W3,Quillite,9600,ug,1
SST,Quillite,30,ug,1
SONLY,Quillite,9600,ug,1
`, []fact{
			{quillite + "n", 2}, {quillite + "max", 0.2},
			{quillite + "excluded", has("||area samples, or of no worker: S04W3")},
			{quillite + "excluded", has("W1|D02W1|sample SST is short-term")},
			{quillite + "excluded", has("W3|D04W3|only short-term samples were taken")},
		}},
		{"duplicates count once, averaged", threeShifts + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,purpose
S02W1,personal,T02W1,A,FIL,L1,W1,D02W1,2026-03-02 07:00,2026-03-02 15:00,
S03W2,personal,T03W2,A,FIL,L1,W1,D02W1,2026-03-02 07:00,2026-03-02 15:00,duplicate
S04W3,personal,T04W3,A,FIL,L1,W3,D04W3,2026-03-04 07:00,2026-03-04 15:00,
`, []fact{{quillite + "n", 2}, {quillite + "min", 0.15}, {quillite + "max", 0.4}, {quillite + "excluded", ""}}},
		{"a group that counts nothing is there, and says so", shiftsOf("W1 02 96") + "\n-- shifts --\nshift,worker,start,end\nD02W1,W1,2026-03-02 07:00,2026-03-02 23:00\n", []fact{
			{quillite + "n", 0}, {quillite + "outcome", "undecided"}, {quillite + "why", has("what was left out")},
			{quillite + "excluded", has("50 % of the shift")},
		}},
	})
}

func TestGroupBreakthroughHasNoUpperBound(t *testing.T) {
	r := reduce(t, plain, shiftsOf("W1 02 96", "W2 03 192", "W3 04 384"), `
-- lab --
sample,analyte,result,unit,reporting_limit,section
S02W1,Quillite,96,ug,1,front
S02W1,Quillite,<1,ug,1,back
S03W2,Quillite,192,ug,1,front
S03W2,Quillite,<1,ug,1,back
S04W3,Quillite,384,ug,1,front
S04W3,Quillite,96,ug,1,back
`)
	for _, f := range []fact{
		{quillite + "n", 3}, {quillite + "censored", 1}, {quillite + "max", 0.5}, {quillite + "max_high", nil},
		{quillite + "shifts", has("W3|D04W3|2026-03-04|0.5..+Inf|false")},
	} {
		r.check(f)
	}
	r.showIfFailed()
}

func history(rows ...string) string {
	return "\n-- history --\ngroup,analyte,date,worker,value,unit\n" + strings.Join(rows, "\n") + "\n"
}

func TestGroupHistory(t *testing.T) {
	run(t, []rule{
		{"counts and is marked, in the limit's unit", threeShifts + history("G1,Quillite,2025-03-02,W1,300,ug/m3", "G1,Quillite,2025-03-03,W8,<0.05,mg/m3"), []fact{
			{quillite + "n", 5}, {quillite + "history", 2}, {quillite + "workers", 4}, {quillite + "censored", 1},
			{quillite + "shifts", has("W1||2025-03-02|0.3..0.3|true; W8||2025-03-03|0..0.05|true")},
		}},
		{"of a group that was not sampled", threeShifts + history("G7,Quillite,2025-03-02,W1,0.3,mg/m3", "G7,Quillite,2025-03-03,W1,0.3,mg/m3"), []fact{
			{quillite + "n", 3}, {"finding history-unused count", 1}, {"finding history-unused message", has("2 earlier exposures of group G7 to Quillite")},
		}},
		{"in a unit that cannot be the limit's", threeShifts + history("G1,Quillite,2025-03-02,W1,0.3,f/cc"), []fact{
			{quillite + "n", 3}, {quillite + "excluded", has("earlier exposure of 2025-03-02 in f/cc cannot be put in mg/m3")},
			{"finding history-left-out severity", "stop"}, {"finding history-left-out cell", "history!E2"},
		}},
		{"of a day that the survey has", threeShifts + history("G1,Quillite,2026-03-02,W1,0.1,mg/m3"), []fact{
			{quillite + "n", 3}, {quillite + "excluded", has("W1||earlier exposure of 2026-03-02 is of the day of shift D02W1")},
			{"finding history-left-out count", 1},
		}},
		{"zero is no result", threeShifts + history("G1,Quillite,2025-03-02,W1,0,mg/m3"), []fact{
			{quillite + "n", 3}, {quillite + "excluded", has("is 0, which is not a result")},
		}},
		{"of the one form that was sampled", threeShifts + "\n-- media --\nmedium,target_flow_lpm,form\nFIL,2,respirable\n" + `
-- limits --
analyte,authority,kind,value,unit,form
Quillite,House,TWA8,1,mg/m3,respirable
` + history("G1,Quillite,2025-03-02,W1,0.3,mg/m3"), []fact{
			{"group G1 Quillite/respirable House:TWA8 n", 4}, {"finding history-form severity", "note"},
			{"finding history-form message", has("taken as respirable: no other form")},
		}},
	})
}

// ppm = mg/m³ × 24.45 / molecular weight: NIOSH Pocket Guide, introduction.
func TestGroupHistoryBetweenMassAndPPM(t *testing.T) {
	inPPM := "\n-- limits --\nanalyte,authority,kind,value,unit,molecular_weight\nQuillite,House,TWA8,1,ppm,48.9\n"
	run(t, []rule{
		{"mass to ppm", threeShifts + inPPM + history("G1,Quillite,2025-03-02,W1,0.3,mg/m3", "G1,Quillite,2025-03-03,W1,70,ppb"), []fact{
			{quillite + "unit", "ppm"}, {quillite + "min", 0.05}, {quillite + "max", 0.2},
			{quillite + "shifts", has("W1||2025-03-02|0.15..0.15|true; W1||2025-03-03|0.07..0.07|true")},
		}},
	})
}

func TestWorkersWithoutAGroup(t *testing.T) {
	run(t, []rule{
		{"are told of where others have one", threeShifts + "\n-- workers --\nworker,group\nW1,G1\nW2,\nW3,G1\n", []fact{
			{quillite + "n", 2}, {"finding worker-without-group severity", "note"}, {"finding worker-without-group subject", "W2"},
			{"finding worker-without-group cell", "workers!B3"},
		}},
		{"are nothing to tell where none has", threeShifts + "\n-- workers --\nworker,group\nW1,\nW2,\nW3,\n", []fact{
			{quillite + "n", absent}, {"finding worker-without-group count", absent},
		}},
	})
}

// 29 CFR 1910.1025(c)(2): over 8 hours a day the limit is 400/hours µg/m³,
// which a dose over 8 hours against 50 says too.
func TestGroupOfLeadOverEightHoursByItsDose(t *testing.T) {
	long := strings.ReplaceAll(shiftsOf("W1 02 24", "W2 03 48"), "15:00", "17:00") // 1200 L: 20 and 40 µg/m³ over 10 hours
	r := reduce(t, plain, long, `
-- survey --
item,value
authorities,OSHA
-- lab --
sample,analyte,result,unit,cas
S02W1,Lead,24,ug,7439-92-1
S03W2,Lead,48,ug,7439-92-1
`)
	for _, f := range []fact{
		{"comparison D02W1 Lead shift OSHA:TWA8 limit", 40},
		{"group G1 Lead OSHA:TWA8 n", 2}, {"group G1 Lead OSHA:TWA8 basis", "twa8"}, {"group G1 Lead OSHA:TWA8 limit", 50},
		{"group G1 Lead OSHA:TWA8 min", 25}, {"group G1 Lead OSHA:TWA8 max", 50},
	} {
		r.check(f)
	}
	r.showIfFailed()
}

func TestGroupAgainstATenHourLimit(t *testing.T) {
	tenHours := "\n-- limits --\nanalyte,authority,kind,value,unit\nQuillite,House,TWA10,1,mg/m3\n"
	long := strings.ReplaceAll(threeShifts, "2026-03-04 15:00", "2026-03-04 19:00") // the last is 12 hours: 384 µg in 1440 L
	const of = "group G1 Quillite House:TWA10 "
	run(t, []rule{
		{"up to 10 hours by the mean over the shift", threeShifts + tenHours, []fact{{of + "n", 3}, {of + "basis", "shift"}, {of + "max", 0.4}}},
		{"longer by the dose over 10 hours", long + tenHours, []fact{{of + "n", 3}, {of + "basis", "twa10"}, {of + "max", 0.32}}},
	})
}

func TestGroupsOfSeveralSurveysArePooled(t *testing.T) {
	past := history("G1,Quillite,2025-03-02,W1,0.3,mg/m3")
	first, found := readText(t, plain, shiftsOf("W1 02 96", "W2 03 192"), past)
	second, foundToo := readText(t, plain, shiftsOf("W2 03 192", "W3 04 384"), past)
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{first, second}, found, foundToo)
	if err != nil {
		t.Fatal(err)
	}
	r := reduced{results, t}
	for _, f := range []fact{
		{quillite + "n", 4}, {quillite + "history", 1}, {quillite + "workers", 3}, {quillite + "max", 0.4},
		{quillite + "excluded", has("W2|D03W2|the shift that starts at this time is counted already, from ")},
	} {
		r.check(f)
	}
	if len(results.Groups()) != 1 {
		t.Errorf("%d groups, want the two surveys' in one", len(results.Groups()))
	}
	r.showIfFailed()
}
