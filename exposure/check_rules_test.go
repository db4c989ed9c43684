package exposure_test

import (
	"strings"
	"testing"
)

// check is a finding that a survey must raise, and the same survey mended
// must not.
type check struct {
	name     string
	code     string
	severity string
	broken   string   // laid over plain
	mended   string   // laid over plain; "" is plain itself
	names    []string // every sample it touches, and what else it must name
	says     []string // the figure found and the threshold
}

func (c check) run(t *testing.T) {
	r := reduce(t, plain, c.broken)
	found := r.coded(c.code)
	if len(found) == 0 {
		t.Errorf("not raised")
		r.show()
		return
	}
	f := found[0]
	if f.Severity.String() != c.severity {
		t.Errorf("severity %s, want %s", f.Severity, c.severity)
	}
	for _, name := range c.names {
		if !strings.Contains(f.Subject, name) {
			t.Errorf("subject %q does not name %s", f.Subject, name)
		}
	}
	for _, figure := range c.says {
		if !strings.Contains(f.Message, figure) {
			t.Errorf("message %q does not say %s", f.Message, figure)
		}
	}
	if strings.TrimSpace(f.Remedy) == "" {
		t.Error("no remedy")
	}
	after := reduce(t, plain, c.mended)
	for _, left := range after.coded(c.code) {
		t.Errorf("still raised after mending: [%s] %s", left.Subject, left.Message)
	}
}

// flowsOf is a flows table of one leg: action and readings before and after.
func flowsOf(action, pre, post string) string {
	return "\n-- flows --\ntrain,leg,stage,readings,device,taken_at,action\n" +
		"T1,A,pre," + pre + ",M1,2026-03-02 06:30," + action + "\n" +
		"T1,A,post," + post + ",M1,2026-03-02 15:30,\n"
}

// plainSample is plain's samples table with one more column.
func plainSample(column, value string) string {
	return "\n-- samples --\nsample,kind,train,leg,medium,lot,worker,shift,start,stop," + column + `
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,` + value + `
B1,blank,,,FIL,L1,,,,,
B2,blank,,,FIL,L1,,,,,
`
}

func medium(columns, values string) string {
	return "\n-- media --\nmedium,target_flow_lpm," + columns + "\nFIL,2," + values + "\n"
}

// splitTrain is a train of two legs, both at 1 L/min, with the rows of the
// case between its pre checks and its posts.
func splitTrain(rows string) string {
	return `
-- media --
medium,target_flow_lpm
FIL,1
-- flows --
train,leg,stage,readings,device,taken_at,action
` + rows + `
T1,A,post,1;1;1,M1,2026-03-02 15:30,
T1,B,post,1;1;1,M1,2026-03-02 15:31,
-- samples + --
S2,personal,T1,B,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00
-- lab --
sample,analyte,result,unit,reporting_limit
S1,Quillite,48,ug,1
S2,Marrite,48,ug,1
B1,Quillite,<1,ug,1
B2,Quillite,<1,ug,1
`
}

func TestFlowChecks(t *testing.T) {
	twoLegs := "T1,A,pre,1;1;1,M1,2026-03-02 06:30,adjusted\nT1,B,pre,1;1;1,M1,2026-03-02 06:40,adjusted\n"
	reread := twoLegs + "T1,A,pre,1;1;1,M1,2026-03-02 06:50,verified"
	for _, c := range []check{
		{"drift over 5 %", "flow-drift", "check", flowsOf("", "2;2;2", "1.88;1.88;1.88"), flowsOf("", "2;2;2", "1.91;1.91;1.91"),
			[]string{"S1", "T1"}, []string{"-6 %", "5 %"}},
		{"target over 5 %", "flow-off-target", "check", flowsOf("", "1.88;1.88;1.88", "1.91;1.91;1.91"), flowsOf("", "1.9;1.9;1.9", "1.9;1.9;1.9"),
			[]string{"S1", "T1"}, []string{"-6 %", "5 %", "1.88"}},
		{"target by the medium's own tolerance", "flow-off-target", "check", medium("tolerance_pct", "2") + flowsOf("", "1.94;1.94;1.94", "1.98;1.98;1.98"), flowsOf("", "1.94;1.94;1.94", "1.98;1.98;1.98"),
			[]string{"S1"}, []string{"-3 %", "2 %"}},
		// common practice, no source: 1,997 mL/min against 2,000 is within 1 %; 2,800 against 3,000 is not
		{"verified off", "flow-verified-off", "note", "\n-- media --\nmedium,target_flow_lpm,tolerance_pct\nFIL,3,10\n" + flowsOf("verified", "2.8;2.8;2.8", "2.8;2.8;2.8"), flowsOf("verified", "1.997;1.997;1.997", "1.99;1.99;1.99"),
			[]string{"S1", "T1"}, []string{"2.8", "-6.667 %", "1 %"}},
		{"fewer than three readings", "few-readings", "check", flowsOf("", "2;2", "2;2;2"), "", []string{"S1", "T1"}, []string{"2", "3"}},
		// 1.9, 2.0, 2.1: s = 0.1, 5 %
		{"spread over 2 %", "readings-spread", "check", flowsOf("", "1.9;2;2.1", "2;2;2"), flowsOf("", "1.99;2;2.01", "2;2;2"), []string{"S1", "T1"}, []string{"5 %", "2 %"}},
		{"no post check", "no-post-check", "check", "\n-- flows --\ntrain,leg,stage,readings,device,taken_at\nT1,A,pre,2;2;2,M1,2026-03-02 06:30\n", "", []string{"S1", "T1"}, nil},
		// 2.2 against 1 + 1: 10 %
		{"TOTAL against the sum of legs", "total-flow-off", "check", splitTrain(reread + "\nT1,TOTAL,pre,2.2;2.2;2.2,M1,2026-03-02 06:55,"), splitTrain(reread + "\nT1,TOTAL,pre,2.09;2.09;2.09,M1,2026-03-02 06:55,"),
			[]string{"S1", "S2", "T1"}, []string{"10 %", "5 %", "2.2"}},
		{"a leg not read after the other was adjusted", "leg-not-reread", "check", splitTrain(twoLegs), splitTrain(reread), []string{"S1", "T1"}, nil},
		{"device out of date on the day of use", "device-out-of-date", "check", "\n-- devices --\ndevice,kind,certified,interval_months\nM1,volumetric,2025-03-01,12\n",
			"\n-- devices --\ndevice,kind,certified,interval_months\nM1,volumetric,2025-03-03,12\n", []string{"M1", "S1"}, []string{"2026-03-02"}},
		{"a reading that looks like the other unit", "flow-unit", "stop", flowsOf("", "2;2;2000", "2;2;2"), "", []string{"S1", "T1"}, []string{"2000", "no volume"}},
		{"a table in the other unit", "flow-unit", "stop", flowsOf("", "2000;2000;2000", "2000;2000;2000"), "", []string{"S1"}, []string{"2000"}},
		// 2 L/min are 120 L/h
		{"a check in litres an hour", "flow-unit", "stop", flowsOf("", "120;120;120", "2;2;2"), flowsOf("", "28;28;28", "2;2;2"), []string{"S1", "T1"}, []string{"120", "60 times", "no volume"}},
		{"one reading a thousand times too low moves the mean by a third", "flow-unit", "check", flowsOf("", "2;2;0.002", "2;2;2"), "", []string{"S1", "T1"}, []string{"0.002"}},
		{"a check before the adjustment, of which no number comes", "flow-unit", "note", splitTrain("T1,A,pre,1000;1000;1000,M1,2026-03-02 06:20,adjusted\n" + reread), splitTrain("T1,A,pre,1;1;1,M1,2026-03-02 06:20,adjusted\n" + reread),
			[]string{"S1", "T1"}, []string{"1000 L/min", "no number rests on it"}},
		{"no pre check before the start", "no-pre-check", "stop", "\n-- flows --\ntrain,leg,stage,readings,device,taken_at\nT1,A,pre,2;2;2,M1,2026-03-02 08:30\nT1,A,post,2;2;2,M1,2026-03-02 15:30\n", "", []string{"S1", "T1"}, nil},
		{"a leg without any check", "unknown-leg", "stop", "\n-- flows --\ntrain,leg,stage,readings,device\nT1,B,pre,2;2;2,M1\n", "", []string{"S1"}, []string{"B"}},
		{"a nominal volume without a nominal flow", "no-nominal-flow", "stop", medium("volume_flow,nominal_flow_lpm", "nominal,"), medium("volume_flow,nominal_flow_lpm", "nominal,2"), []string{"S1", "FIL"}, nil},
		{"a device not in devices", "unknown-device", "check", "\n-- devices --\ndevice,kind,certified,interval_months\nM2,volumetric,2026-01-05,12\n", "", []string{"S1", "M1"}, nil},
		{"a device without a certificate", "device-no-certificate", "note", "\n-- devices --\ndevice,kind,certified,interval_months\nM1,volumetric,,12\n", "", []string{"S1", "M1"}, nil},
		{"a leg without a sample", "flow-unused", "note", "\n-- flows + --\nT1,B,pre,2;2;2,M1,2026-03-02 06:30\n", "", []string{"T1", "B"}, nil},
		{"a post check of a later use", "post-of-later-deployment", "check", "\n-- flows --\ntrain,leg,stage,readings,device,taken_at\nT1,A,pre,2;2;2,M1,2026-03-02 06:30\nT1,A,pre,2;2;2,M1,2026-03-03 06:30\nT1,A,post,2;2;2,M1,2026-03-03 15:30\n", "", []string{"S1", "T1"}, nil},
		{"the pump's own rotameter", "pump-readout", "check", "\n-- devices --\ndevice,kind,certified,interval_months,temperature_c,pressure_kpa\nM1,pump-rotameter,2026-01-05,12,20,101.3\n" + plainSample("temperature_c,pressure_kpa", "20,101.3"), "", []string{"S1", "M1"}, nil},
	} {
		t.Run(c.name, c.run)
	}
}

func TestVolumeAndCustodyChecks(t *testing.T) {
	for _, c := range []check{
		{"neither times nor a timer", "no-run-time", "stop", "\n-- samples --\nsample,kind,train,leg,medium,lot,worker,shift\nS1,personal,T1,A,FIL,L1,W1,D\nB1,blank,,,FIL,L1,,\nB2,blank,,,FIL,L1,,\n", "", []string{"S1"}, nil},
		{"a pause as long as the sample", "time-not-positive", "stop", plainSample("pause_min", "480"), plainSample("pause_min", "479"), []string{"S1"}, []string{"0 min"}},
		{"pause", "pump-paused", "note", plainSample("pause_min", "30"), "", []string{"S1"}, []string{"30"}},
		{"clock against run time", "clock-disagrees", "check", plainSample("run_min", "470"), plainSample("run_min", "479"), []string{"S1"}, []string{"470", "480", "2 min"}},
		{"volume under the medium's range", "volume-under-minimum", "check", medium("volume_min_l", "1000"), medium("volume_min_l", "960"), []string{"S1"}, []string{"960", "1000"}},
		{"volume over the medium's range", "volume-over-maximum", "check", medium("volume_max_l", "900"), medium("volume_max_l", "960"), []string{"S1"}, []string{"960", "900"}},
		// 975/960 is 1.5625 % apart, 969 is 0.94 %
		{"custody volume", "custody-volume", "check", plainSample("coc_volume_l", "975"), plainSample("coc_volume_l", "969"), []string{"S1"}, []string{"975", "960", "1 %"}},
		{"custody condition", "custody-condition", "check", plainSample("coc_condition", "seal broken"), plainSample("coc_condition", "Seal intact"), []string{"S1"}, []string{"seal broken"}},
		{"custody condition: good", "custody-condition", "check", plainSample("coc_condition", "good but wet"), plainSample("coc_condition", "good"), []string{"S1"}, nil},
		{"custody condition: ok, intact", "custody-condition", "check", plainSample("coc_condition", "?"), plainSample("coc_condition", "intact"), []string{"S1"}, nil},
		{"holding days", "held-too-long", "check", medium("holding_days", "14") + lab(",analysed", "96,ug,1,2026-03-17"), medium("holding_days", "14") + lab(",analysed", "96,ug,1,2026-03-16"), []string{"S1"}, []string{"15", "14"}},
		{"a blank with a volume", "blank-with-volume", "check", "\n-- samples --\nsample,kind,train,leg,medium,lot,worker,shift,start,stop,coc_volume_l\nS1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,\nB1,blank,,,FIL,L1,,,,,960\nB2,blank,,,FIL,L1,,,,,0\n", "", []string{"B1"}, []string{"960"}},
	} {
		t.Run(c.name, c.run)
	}
}

// many are four samples of four shifts, with what was found on each.
func many(rows ...string) string {
	text := "\n-- shifts --\nshift,worker,start,end\nD,W1,2026-03-02 07:00,2026-03-02 15:00\nD3,W1,2026-03-03 07:00,2026-03-03 15:00\n" +
		"D4,W1,2026-03-04 07:00,2026-03-04 15:00\nD5,W1,2026-03-05 07:00,2026-03-05 15:00\n" +
		"-- flows --\ntrain,leg,stage,readings,device\nT1,A,pre,2;2;2,M1\nT1,A,post,2;2;2,M1\n" +
		"-- samples + --\n"
	for _, s := range []string{"3", "4", "5"} {
		text += "S" + s + ",personal,T1,A,FIL,L1,W1,D" + s + ",2026-03-0" + s + " 07:00,2026-03-0" + s + " 15:00\n"
	}
	text += "-- lab --\nsample,analyte,result,unit,reporting_limit\n"
	for _, r := range rows {
		text += r + "\n"
	}
	return text + "B1,Quillite,<1,ug,1\nB2,Quillite,<1,ug,1\n"
}

func TestLaboratoryChecks(t *testing.T) {
	three := []string{"S1,Quillite,96,ug,1", "S3,Quillite,90,ug,1", "S4,Quillite,100,ug,1"}
	with := func(last string) string { return many(append(append([]string{}, three...), last)...) }
	weighings := func(post string) string {
		return "\n-- lab --\nsample,analyte,result,unit,reporting_limit,section\nS1,Particulates,31.5,mg,0.05,pre\nS1,Particulates," + post + ",mg,0.05,post\n" +
			"B1,Particulates,31.2,mg,0.05,pre\nB1,Particulates,31.2,mg,0.05,post\nB2,Particulates,31.1,mg,0.05,pre\nB2,Particulates,31.1,mg,0.05,post\n"
	}
	for _, c := range []check{
		{"one blank for a lot", "few-blanks", "check", "\n-- samples --\nsample,kind,train,leg,medium,lot,worker,shift,start,stop\nS1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00\nB1,blank,,,FIL,L1,,,,\n" + lab("", "96,ug,1", "B1,Quillite,<1,ug,1"), "",
			[]string{"L1", "S1", "B1"}, []string{"1 field", "2 are"}},
		{"no blank for a lot", "few-blanks", "check", "\n-- samples --\nsample,kind,train,leg,medium,lot,worker,shift,start,stop\nS1,personal,T1,A,FIL,L2,W1,D,2026-03-02 07:00,2026-03-02 15:00\nB1,blank,,,FIL,L1,,,,\nB2,blank,,,FIL,L1,,,,\n" + lab("blank_applied", "96,ug,1,yes"), "",
			[]string{"L2", "S1"}, []string{"0 field", "2 are"}},
		// 12 of 96 is 12.5 %
		{"blank over 10 % of the sample", "blank-large", "check", lab("", "96,ug,1", "B1,Quillite,12,ug,7", "B2,Quillite,12,ug,7"), lab("", "96,ug,1", "B1,Quillite,9,ug,7", "B2,Quillite,9,ug,7"),
			[]string{"S1", "Quillite"}, []string{"12.5 %", "10 %"}},
		{"analyte found on a blank", "analyte-on-blank", "note", lab("", "96,ug,1", "B1,Quillite,3,ug,1", "B2,Quillite,<1,ug,1"), "", []string{"B1", "Quillite"}, []string{"3 ug"}},
		{"breakthrough", "breakthrough", "check", tube("960", "120", "<2", "<2"), tube("960", "90", "<2", "<2"), []string{"S1", "Quillite"}, []string{"12.5 %", "10 %"}},
		{"loading over 2 mg", "filter-overloaded", "check", weighings("33.6"), weighings("33.4"), []string{"S1", "Particulates"}, []string{"2.1", "2 mg"}},
		{"a gain under its reporting limit, unmarked", "under-reporting-limit", "check", weighings("31.53"), weighings("31.56"), []string{"S1", "Particulates"}, []string{"30", "50 ug"}},
		{"negative weight", "negative-weight", "check", weighings("31.48"), weighings("31.6"), []string{"S1", "Particulates"}, []string{"-20"}},
		{"a unit that differs", "unit-differs", "check", with("S5,Quillite,0.095,mg,0.001"), with("S5,Quillite,95,ug,1"), []string{"S5", "Quillite"}, []string{"mg", "ug"}},
		{"a thousand times off", "thousand-times-off", "check", with("S5,Quillite,95000,ug,1"), with("S5,Quillite,950,ug,1"), []string{"S5", "Quillite"}, []string{"98.96"}},
		{"a thousand times under", "thousand-times-off", "check", with("S5,Quillite,0.095,ug,0.01"), with("S5,Quillite,95,ug,1"), []string{"S5", "Quillite"}, nil},
		{"missing rows", "analyte-missing", "check", many("S1,Quillite,96,ug,1", "S1,Marrite,5,ug,1", "S3,Quillite,90,ug,1", "S3,Marrite,5,ug,1", "S4,Quillite,96,ug,1", "S4,Marrite,5,ug,1", "S5,Quillite,90,ug,1", "B1,Marrite,<1,ug,1", "B2,Marrite,<1,ug,1"),
			many("S1,Quillite,96,ug,1", "S1,Marrite,5,ug,1", "S3,Quillite,90,ug,1", "S3,Marrite,5,ug,1", "S4,Quillite,96,ug,1", "S4,Marrite,5,ug,1", "S5,Quillite,90,ug,1", "S5,Marrite,5,ug,1", "B1,Marrite,<1,ug,1", "B2,Marrite,<1,ug,1"),
			[]string{"S5", "Marrite"}, nil},
		{"duplicate rows", "duplicate-result", "stop", lab("", "96,ug,1", "S1,Quillite,95,ug,1"), "", []string{"S1", "Quillite"}, []string{"2 results"}},
		{"a sample without results", "sample-without-results", "check", many(three...), with("S5,Quillite,95,ug,1"), []string{"S5"}, nil},
		{"results without a sample", "unknown-sample", "stop", lab("", "96,ug,1", "S9,Quillite,95,ug,1"), "", []string{"S9", "Quillite"}, []string{"S9"}},
		{"J", "result-estimated", "note", lab(",qualifier", "96,ug,1,J"), "", []string{"S1", "Quillite"}, []string{"J", "96"}},
		{"E", "result-over-range", "check", lab(",qualifier", "96,ug,1,E"), "", []string{"S1", "Quillite"}, []string{"E", "96"}},
		{"D", "result-diluted", "note", lab(",qualifier", "96,ug,1,D"), "", []string{"S1", "Quillite"}, []string{"D", "96"}},
		{"a laboratory concentration turned back", "laboratory-concentration", "note", lab(",lab_volume_l", "0.1,mg/m3,0.001,950"), "", []string{"S1", "Quillite"}, []string{"950", "0.1"}},
		{"a number under its reporting limit, unmarked", "under-reporting-limit", "check", lab("", "3,ug,5"), lab("", "5,ug,5"), []string{"S1", "Quillite"}, []string{"3", "5"}},
		{"no matching blank", "no-matching-blank", "check", lab("", "96,ug,1", "S1,Marrite,5,ug,1"), lab("", "96,ug,1", "S1,Marrite,5,ug,1", "B1,Marrite,<1,ug,1", "B2,Marrite,<1,ug,1", "B1,Quillite,<1,ug,1", "B2,Quillite,<1,ug,1"),
			[]string{"S1", "Marrite"}, nil},
		{"masses and fibres on one pair", "quantities-mixed", "stop", "\n-- lab --\nsample,analyte,result,unit,reporting_limit,section\nS1,Quillite,96,ug,1,front\nS1,Quillite,960,fibres,1,back\n", tube("96", "<2", "<2", "<2"), []string{"S1", "Quillite"}, nil},
		{"a weighing without the other", "weighing-missing", "stop", "\n-- lab --\nsample,analyte,result,unit,reporting_limit,section\nS1,Particulates,31.5,mg,0.05,pre\n", weighings("32"), []string{"S1", "Particulates"}, nil},
		{"a back without a front", "back-without-front", "stop", tube("", "30", "<2", "<2"), tube("960", "30", "<2", "<2"), []string{"S1", "Quillite"}, nil},
		{"ppm of the laboratory without a molecular weight", "no-weight-for-laboratory", "stop", lab(",lab_volume_l", "2,ppm,0.1,900"), lab(",lab_volume_l", "2,ppm,0.1,900") + limitRows(",molecular_weight", "TWA8,5,ppm,80"), []string{"S1", "Quillite"}, nil},
		{"a derived analyte reported besides", "derived-reported", "check", "\n-- derived --\nderived,analyte,factor\nQuillite,Marrite,2\n" + lab("", "96,ug,1", "S1,Marrite,5,ug,1"), "", []string{"S1", "Quillite"}, nil},
		{"analysed before it was sampled", "analysed-before-sampling", "check", medium("holding_days", "14") + lab(",analysed", "96,ug,1,2026-02-20"), medium("holding_days", "14") + lab(",analysed", "96,ug,1,2026-03-04"), []string{"S1"}, nil},
		{"a reporting limit that disagrees with <x", "reporting-limits-disagree", "check", lab("", "<5,ug,3"), lab("", "<5,ug,5"), []string{"S1", "Quillite"}, []string{"5", "3"}},
		{"a gain of nothing without R", "nothing-left", "stop", strings.ReplaceAll(weighings("31.5"), ",0.05,", ",,"), weighings("31.6"), []string{"S1", "Particulates"}, nil},
	} {
		t.Run(c.name, c.run)
	}
}

// sideBySide puts two cassettes on one worker: S1 and S2, 960 L each.
func sideBySide(rows ...string) string {
	text := `
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,2;2;2,M1
T1,B,pre,2;2;2,M1
T1,B,post,2;2;2,M1
-- samples + --
S2,personal,T1,B,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00
-- lab --
sample,analyte,result,unit,reporting_limit,form
`
	for _, r := range rows {
		text += r + "\n"
	}
	return text
}

func TestResultChecks(t *testing.T) {
	for _, c := range []check{
		{"coverage under 70 %", "coverage-low", "check", spans(eightHours, "S1 07:00 12:00 60"), spans(eightHours, "S1 07:00 13:00 72"), []string{"S1", "D"}, []string{"62.5 %", "70 %"}},
		// R 144 µg in 960 L: 0.15 mg/m³, 15 % of 1
		{"R in air over 10 % of a limit: a non-detect", "reporting-limit-high", "check", lab("", "<144,ug,"), lab("", "<96,ug,"), []string{"S1", "Quillite"}, []string{"0.15", "15 %", "10 %"}},
		{"R in air over 10 % of a limit: a detect", "reporting-limit-high", "check", lab("", "500,ug,144"), lab("", "500,ug,96"), []string{"S1", "Quillite"}, []string{"15 %", "10 %"}},
		{"R in air is not judged against short-term limits", "reporting-limit-high", "check", lab("", "<144,ug,"), lab("", "<144,ug,") + limitRows("", "STEL,1,mg/m3", "ACTION,1,mg/m3"), []string{"S1"}, nil},
		{"hexavalent above total chromium", "hexavalent-over-total", "check", sideBySide("S1,Chromium (VI),9.6,ug,0.1,", "S2,Chromium,5,ug,0.1,"), sideBySide("S1,Chromium (VI),4.8,ug,0.1,", "S2,Chromium,5,ug,0.1,"), []string{"S1", "S2"}, []string{"0.01"}},
		{"hexavalent that may be under total chromium", "hexavalent-over-total", "check", sideBySide("S1,Chromium (VI),9.6,ug,0.1,", "S2,Chromium,<5,ug,5,"), sideBySide("S1,Chromium (VI),4.8,ug,0.1,", "S2,Chromium,<5,ug,5,"), []string{"S1", "S2"}, nil},
		{"respirable above total", "fraction-over-total", "check", sideBySide("S1,Quillite,96,ug,1,respirable", "S2,Quillite,48,ug,1,total"), sideBySide("S1,Quillite,48,ug,1,respirable", "S2,Quillite,96,ug,1,total"), []string{"S1", "S2", "Quillite"}, []string{"0.1", "0.05"}},
		{"a personal sample without a worker", "no-worker", "stop", "\n-- samples + --\nS2,personal,T1,A,FIL,L1,,D,2026-03-02 07:00,2026-03-02 15:00\n", "", []string{"S2"}, nil},
		{"a worker not in workers", "unknown-worker", "check", "\n-- workers --\nworker,group\nW2,G1\n", "", []string{"S1", "W1"}, nil},
		{"a shift not in shifts", "unknown-shift", "check", "\n-- shifts --\nshift,worker,start,end\nE,W1,2026-03-02 07:00,2026-03-02 15:00\n", "", []string{"S1", "D", "W1"}, nil},
		{"a gap of no shift", "gap-unused", "check", "\n-- gaps --\nshift,worker,start,end,treat\nX,W1,2026-03-02 07:00,2026-03-02 08:00,zero\n", "", []string{"X", "W1"}, nil},
		{"a gap in a unit the analyte cannot take", "gap-unit", "check", spans(eightHours, "S1 07:00 13:00 72") + gap("13:00 14:00 0.1 f/cc"), spans(eightHours, "S1 07:00 13:00 72") + gap("13:00 14:00 0.1 mg/m3"), []string{"D", "W1", "Quillite"}, []string{"f/cc"}},
		{"a medium not in media", "unknown-medium", "check", "\n-- media --\nmedium\nOTHER\n", "", []string{"S1", "FIL"}, nil},
		{"a shift that was not sampled", "shift-without-samples", "note", "\n-- shifts + --\nE,W1,2026-03-03 07:00,2026-03-03 15:00\n", "", []string{"E", "W1"}, nil},
		// lead's CAS number beside toluene's name
		{"a name and a CAS number of two substances", "name-and-cas-differ", "check", "\n-- survey --\nitem,value\nauthorities,OSHA\n" + lab(",cas", "96,ug,1,", "S1,Toluene,5,ug,1,7439-92-1"), "\n-- survey --\nitem,value\nauthorities,OSHA\n" + lab(",cas", "96,ug,1,", "S1,Toluene,5,ug,1,108-88-3"), []string{"S1", "Toluene"}, []string{"7439-92-1"}},
		{"no limit known", "no-limit", "note", "\n-- limits --\n", "", []string{"S1", "Quillite"}, nil},
	} {
		t.Run(c.name, c.run)
	}
}

// TestFindingsKnowTheirCell takes the place of a finding as a person would
// look it up: file, table, row and cell.
func TestFindingsKnowTheirCell(t *testing.T) {
	r := reduce(t, plain, lab("", "3,ug,5"))
	found := r.coded("under-reporting-limit")
	if len(found) != 1 {
		t.Fatalf("raised %d times", len(found))
	}
	f := found[0]
	if !strings.HasSuffix(f.File, "lab.csv") || f.Table != "lab" || f.Row != 2 || f.Column != "result" || f.Cell != "C2" {
		t.Errorf("place is %s %s row %d %s %s, want lab.csv lab row 2 result C2", f.File, f.Table, f.Row, f.Column, f.Cell)
	}
}
