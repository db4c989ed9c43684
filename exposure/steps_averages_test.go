package exposure_test

import (
	"testing"
	"time"

	"airtally/exposure"
	"airtally/exposure/survey"
	"airtally/volume"
)

// threeInARow has three samples on worker W1 over 2, 2 and 4 hours: 36, 18 and
// 24 mg at 2 L/min are 150, 75 and 50 mg/m³. The gap lies in the third.
const threeInARow = `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,purpose
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 09:00,
S2,personal,T1,A,FIL,L1,W1,D,2026-03-02 09:00,2026-03-02 11:00,
S3,personal,T1,A,FIL,L1,W1,D,2026-03-02 11:00,2026-03-02 15:00,
B1,blank,,,FIL,L1,,,,,
-- lab --
sample,analyte,result,unit,reporting_limit
S1,Quillite,36,mg,0.01
S2,Quillite,18,mg,0.01
S3,Quillite,24,mg,0.01
B1,Quillite,<0.01,mg,0.01
-- limits --
analyte,authority,kind,value,unit
Quillite,House,TWA8,100,mg/m3
`

const (
	overShift = "exposure of W1 shift D to Quillite/total shift "
	over8h    = "exposure of W1 shift D to Quillite/total twa8 "
	against   = "of W1 shift D to Quillite/total twa8   limit House  TWA8 Quillite/total as  100 mg/m3"
	thirdTerm = "term of W1 shift D in D Quillite/total by S3"
)

type edited struct {
	name   string
	tables string
	edit   func(s *survey.Survey)
	want   map[name]any
}

func (c edited) run(t *testing.T) {
	s, _ := readText(t, plain, threeInARow, c.tables)
	l := ledgerOf(reduceSurvey(t, s))
	l.check(t)
	c.edit(s)
	l.workOut()
	for n, want := range c.want {
		got, is := l.known[n]
		if !is {
			t.Errorf("there is no %s", n)
			continue
		}
		if number, ok := want.(float64); ok && (got.IsText || !near(got.Number, number, 1e-9)) || !ok && got.Text != want {
			t.Errorf("%s is %s, want %v", n, sayAnswer(got), want)
		}
	}
}

// started moves the start of a sample.
func started(at int, hour, minute int) func(s *survey.Survey) {
	return func(s *survey.Survey) {
		m := &s.Samples[at].Start
		m.T = time.Date(m.T.Year(), m.T.Month(), m.T.Day(), hour, minute, 0, 0, m.T.Location())
	}
}

// paused sets the pause of a sample.
func paused(at int, minutes volume.Minutes) func(s *survey.Survey) {
	return func(s *survey.Survey) { s.Samples[at].Pause = minutes }
}

func nothing(*survey.Survey) {}

// The averages of an edited survey, worked out by hand.
func TestEditedAveragesByHand(t *testing.T) {
	const gap = "\n-- gaps --\nshift,worker,start,end,treat\nD,W1,2026-03-02 11:00,2026-03-02 12:00,zero\n"
	for _, c := range []edited{
		// 29 CFR 1910.1000(d)(1)(ii): (2×150 + 2×75 + 4×50)/8 = 81.25 against 100
		{"the example of the regulation", "", nothing, map[name]any{
			{over8h, "value_mgm3"}: 81.25, {over8h, "coverage_pct"}: 100.0, {against, "fraction"}: 0.8125, {against, "outcome"}: "below"}},
		{"90 mg/m³ in the last four hours", "", func(s *survey.Survey) { s.Lab[2].Value = 43.2 }, map[name]any{
			{over8h, "value_mgm3"}: 101.25, {against, "outcome"}: "above"}},
		{"exactly at the limit", "", func(s *survey.Survey) { s.Lab[2].Value = 42 }, map[name]any{
			{against, "fraction"}: 1.0, {against, "outcome"}: "below"}},
		{"the first hour of the last four was not sampled", "", started(2, 12, 0), map[name]any{
			{thirdTerm, "sampled_min"}: 180.0, {thirdTerm, "unsampled_min"}: 60.0, {thirdTerm, "share"}: 180 / 420.0, {thirdTerm, "counted_min"}: 180 + 60*180/420.0,
			{over8h, "if_zero_mgm3"}: 81.25, {over8h, "value_mgm3"}: 39000 / 420.0, {over8h, "coverage_pct"}: 87.5, {against, "outcome"}: "below"}},
		{"and is stated to be zero", gap, started(2, 12, 0), map[name]any{
			{thirdTerm, "stated_min"}: 60.0, {thirdTerm, "unsampled_min"}: 0.0, {over8h, "value_mgm3"}: 81.25, {over8h, "gaps_cover"}: 1.0}},
		{"half of the gap was sampled", gap, started(2, 11, 30), map[name]any{
			{thirdTerm, "stated_min"}: 30.0, {thirdTerm, "unsampled_min"}: 0.0, {thirdTerm, "sampled_min"}: 210.0}},
		// 24 mg in 2 L/min × 180 min are 66.67 mg/m³
		{"the pump stood still in the gap", gap, paused(2, 60), map[name]any{
			{thirdTerm, "stated_min"}: 60.0, {thirdTerm, "unsampled_min"}: 0.0, {thirdTerm, "sampled_min"}: 180.0, {over8h, "value_mgm3"}: 81.25, {over8h, "gaps_cover"}: 1.0}},
		{"for half of it", gap, paused(2, 30), map[name]any{
			{thirdTerm, "stated_min"}: 30.0, {thirdTerm, "unsampled_min"}: 0.0, {thirdTerm, "sampled_min"}: 210.0, {over8h, "value_mgm3"}: 81.25}},
		{"and for longer than it", gap, paused(2, 90), map[name]any{
			{thirdTerm, "stated_min"}: 60.0, {thirdTerm, "unsampled_min"}: 30.0, {thirdTerm, "sampled_min"}: 150.0, {over8h, "if_zero_mgm3"}: 81.25}},
		{"20 minutes before the shift", "", started(0, 6, 40), map[name]any{
			{over8h, "value_mgm3"}: (36000/280.0*120 + 75*120 + 50*240) / 480, {over8h, "sampled_min"}: 480.0}},
		{"two samples at once", "", started(1, 8, 30), map[name]any{
			{over8h, "value_mgm3"}: exposure.Stale, {overShift, "follows"}: 0.0, {against, "outcome"}: exposure.Stale}},
		{"too little of the shift for below", "\n-- survey + --\nmin_coverage_pct,80\n", started(2, 13, 0), map[name]any{
			{over8h, "coverage_pct"}: 75.0, {over8h, "value_mgm3"}: (18000 + 9000 + 12000) / 360.0, {against, "outcome"}: "undecided"}},
		{"a non-detect of 200 mg/m³", "", func(s *survey.Survey) { s.Lab[0].Kind, s.Lab[0].Value = survey.LessThan, 48 }, map[name]any{
			{over8h, "low_mgm3"}: 43.75, {over8h, "value_mgm3"}: 68.75, {over8h, "high_mgm3"}: 93.75, {against, "outcome"}: "below"}},
		{"a non-detect that the limit lies under", "", func(s *survey.Survey) { s.Lab[0].Kind, s.Lab[0].Value = survey.LessThan, 60 }, map[name]any{
			{over8h, "high_mgm3"}: 106.25, {against, "outcome"}: "undecided"}},
	} {
		t.Run(c.name, c.run)
	}
}

// A short-term sample after its end was edited.
func TestEditedShortTermByHand(t *testing.T) {
	const short = `
-- samples + --
ST,personal,T2,A,FIL,L1,W1,D,2026-03-02 12:00,2026-03-02 12:30,short-term
-- flows + --
T2,A,pre,2;2;2,M1,2026-03-02 11:30
T2,A,post,2;2;2,M1,2026-03-02 12:40
-- lab + --
ST,Quillite,12,mg,0.01
-- limits + --
Quillite,House,STEL,300,mg/m3
`
	const row = "of W1 shift D to Quillite/total short ST ST limit House  STEL Quillite/total as  300 mg/m3"
	stopped := func(minute int) func(s *survey.Survey) {
		return func(s *survey.Survey) {
			stop := &s.Samples[4].Stop
			stop.T = stop.T.Add(time.Duration(minute-30) * time.Minute)
		}
	}
	for _, c := range []edited{
		{"30 minutes at 200: all of it may have been in 15", short, nothing, map[name]any{
			{row, "value"}: 200.0, {row, "fraction_low"}: 200 / 300.0, {row, "fraction_high"}: 400 / 300.0, {row, "outcome"}: "undecided"}},
		{"15 minutes at 400", short, stopped(15), map[name]any{
			{row, "value"}: 400.0, {row, "fraction_high"}: 400 / 300.0, {row, "outcome"}: "above"}},
		{"10 minutes at 600: at least 400 over 15, no upper bound", short, stopped(10), map[name]any{
			{row, "value"}: 400.0, {row, "fraction_low"}: 400 / 300.0, {row, "fraction_high"}: unbounded, {row, "outcome"}: "above"}},
		{"35 minutes: at least a third of the dose in 15", short, stopped(35), map[name]any{
			{row, "value"}: 12000 / 70.0, {row, "fraction_low"}: 12000 / 70.0 * 35 / 45 / 300, {row, "fraction_high"}: 12000 / 70.0 * 35 / 15 / 300}},
	} {
		t.Run(c.name, c.run)
	}
}

// 29 CFR 1910.1000(d)(2)(ii): 500/1000 + 45/200 + 40/200 = 0.925. With 70 in
// place of 45 it is 1.05.
func TestEditedMixtureByHand(t *testing.T) {
	const three = `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00
-- lab --
sample,analyte,result,unit,reporting_limit
S1,Quillite,480,mg,0.1
S1,Sorrel,43.2,mg,0.1
S1,Tansy,38.4,mg,0.1
-- limits --
analyte,authority,kind,value,unit
Quillite,House,TWA8,1000,mg/m3
Sorrel,House,TWA8,200,mg/m3
Tansy,House,TWA8,200,mg/m3
-- mixtures --
mixture,analyte
Three,Quillite
Three,Sorrel
Three,Tansy
`
	const index = "index of Three House of W1 shift D TWA8 twa8 "
	for _, c := range []edited{
		{"as printed", three, nothing, map[name]any{{index, "index"}: 0.925, {index, "outcome"}: "below"}},
		{"70 in place of 45", three, func(s *survey.Survey) { s.Lab[1].Value = 67.2 }, map[name]any{{index, "index"}: 1.05, {index, "outcome"}: "above"}},
	} {
		t.Run(c.name, c.run)
	}
}

// Edits of times, pauses and timers in a shift with gaps inside its samples.
func TestEditedPausesGiveWhatAFreshReductionGives(t *testing.T) {
	t.Parallel()
	s, _ := readText(t, plain, threeInARow, `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,pause_min,run_min
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 06:45,2026-03-02 09:00,10,
S2,personal,T1,A,FIL,L1,W1,D,2026-03-02 09:00,2026-03-02 11:00,30,95
S3,personal,T1,A,FIL,L1,W1,D,2026-03-02 11:15,2026-03-02 15:00,40,
B1,blank,,,FIL,L1,,,,,,
-- gaps --
shift,worker,start,end,treat
D,W1,2026-03-02 08:50,2026-03-02 09:10,same
D,W1,2026-03-02 10:30,2026-03-02 11:20,zero
D,W1,2026-03-02 12:00,2026-03-02 12:30,5 mg/m3
D,W1,2026-03-02 14:00,2026-03-02 14:30,zero
`)
	edits := 40
	if testing.Short() {
		edits = 15
	}
	for seed := range int64(2) {
		counted := tryEdits(t, s, edits, seed)
		t.Logf("%v; of what rests on them: %v", counted.air, counted.rest)
		if counted.rest.changed < edits {
			t.Errorf("too little follows: %+v", counted.rest)
		}
	}
}
