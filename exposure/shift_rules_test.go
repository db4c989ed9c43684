package exposure_test

import (
	"strings"
	"testing"
)

// The rules for shifts: which samples belong together, what unsampled time
// stands for, overlaps, and the averages over 8 hours, 10 hours and the shift.

// spans gives samples of worker W1 and what was found on each, in µg of
// Quillite. All run at 2 L/min on one leg without times of its checks. Each is
// "id start stop µg", with the purpose after it where there is one.
func spans(shifts string, samples ...string) string {
	text := "\n-- flows --\ntrain,leg,stage,readings,device\nT1,A,pre,2;2;2,M1\nT1,A,post,2;2;2,M1\n"
	rows, found := "", ""
	for _, s := range samples {
		var w [5]string
		for i, word := range strings.Fields(s) {
			w[i] = word
		}
		rows += w[0] + ",personal,T1,A,FIL,L1,W1," + shiftOf(shifts) + "," + day(w[1]) + "," + day(w[2]) + "," + w[4] + "\n"
		found += w[0] + ",Quillite," + w[3] + ",ug,1\n"
	}
	if shifts != "" {
		text += "-- shifts --\nshift,worker,start,end,unsampled\n" + shifts + "\n"
	} else {
		text += "-- shifts --\n"
	}
	return text + "-- samples --\nsample,kind,train,leg,medium,lot,worker,shift,start,stop,purpose\n" + rows +
		"B1,blank,,,FIL,L1\nB2,blank,,,FIL,L1\n" +
		"-- lab --\nsample,analyte,result,unit,reporting_limit\n" + found + "B1,Quillite,<1,ug,1\nB2,Quillite,<1,ug,1\n"
}

const (
	eightHours  = "D,W1,2026-03-02 07:00,2026-03-02 15:00,"
	twelveHours = "D,W1,2026-03-02 07:00,2026-03-02 19:00,"
)

func TestBases(t *testing.T) {
	run(t, []rule{
		// 240 min at 0.2 and 240 min at 0.1: 96/480 and 48/480 mg/m³; mean 0.15
		{"consecutive samples weighed by their minutes", spans(eightHours, "S1 07:00 11:00 96", "S2 11:00 15:00 48"), []fact{
			{"exposure D Quillite shift value", 0.15}, {"exposure D Quillite twa8 value", 0.15}, {"exposure D Quillite twa8 coverage", 100},
			{"exposure D Quillite twa10", absent}, {"exposure D Quillite worst8", absent},
			{"exposure D Quillite twa8 samples", "S1 S2"}, {"exposure D Quillite twa8 group", "G1"},
		}},
		// 29 CFR 1910.1000(d)(1)(ii): 2 h at 150, 2 h at 75, 4 h at 50 make 81.25.
		// 150 mg/m³ × 240 L = 36 000 µg; 75 × 240 = 18 000; 50 × 480 = 24 000
		{"the worked example of the regulation", spans(eightHours, "S1 07:00 09:00 36000", "S2 09:00 11:00 18000", "S3 11:00 15:00 24000"), []fact{
			{"exposure D Quillite twa8 value", 81.25},
		}},
		// six hours at 0.1: the shift's mean is 0.1, its dose over 8 hours 0.1 × 360/480
		{"a short shift", spans("D,W1,2026-03-02 07:00,2026-03-02 13:00,", "S1 07:00 13:00 72"), []fact{
			{"exposure D Quillite shift value", 0.1}, {"exposure D Quillite twa8 value", 0.075}, {"exposure D Quillite worst8", absent},
		}},
		// 12 h at 0.1: 144 µg / 1440 L. Dose/480 = 0.15, dose/600 = 0.12.
		{"a shift of twelve hours", spans(twelveHours, "S1 07:00 19:00 144"), []fact{
			{"exposure D Quillite shift value", 0.1}, {"exposure D Quillite twa8 value", 0.15}, {"exposure D Quillite twa10 value", 0.12},
			{"exposure D Quillite worst8 value", 0.1},
		}},
		{"ten hours are not over ten: no twa10", spans("D,W1,2026-03-02 07:00,2026-03-02 17:00,", "S1 07:00 17:00 120"), []fact{
			{"exposure D Quillite twa10", absent}, {"exposure D Quillite worst8 value", 0.1}, {"exposure D Quillite twa8 value", 0.125},
		}},
		// 6 h at 0.3 (216/720), 6 h at 0.1 (72/720): the worst 8 h are the first: (360 × 0.3 + 120 × 0.1)/480
		{"the worst contiguous 480 minutes", spans(twelveHours, "S1 07:00 13:00 216", "S2 13:00 19:00 72"), []fact{
			{"exposure D Quillite worst8 value", 0.25}, {"exposure D Quillite shift value", 0.2},
		}},
		// 0.1 for 3 h, 0.3 for 5 h, 0.1 for 4 h: worst window 0.3 for 300 min and 0.1 for 180
		{"the worst window may start anywhere", spans(twelveHours, "S1 07:00 10:00 36", "S2 10:00 15:00 180", "S3 15:00 19:00 48"), []fact{
			{"exposure D Quillite worst8 value", (0.3*300 + 0.1*180) / 480},
		}},
		// A 4 h not detected under 0.6 (0 to 288/480), B 4 h at 0.25, C 4 h at 0.2.
		// value 0.3 for A: windows AB 0.275, BC 0.225. low: AB 0.125, BC 0.225. high: AB 0.425, BC 0.225.
		{"each bound of the worst window is maximised on its own",
			spans(twelveHours, "S1 07:00 11:00 <288", "S2 11:00 15:00 120", "S3 15:00 19:00 96"), []fact{
				{"exposure D Quillite worst8 value", 0.275}, {"exposure D Quillite worst8 low", 0.225}, {"exposure D Quillite worst8 high", 0.425},
			}},
		// sampled 07:00 to 15:00 at 0.1, four hours not: same fills them with 0.1, zero with nothing
		{"unsampled minutes in the worst window take the shift's policy", spans(twelveHours+"same", "S1 11:00 19:00 96"), []fact{
			{"exposure D Quillite worst8 value", 0.1}, {"exposure D Quillite shift value", 0.1},
		}},
		{"and with zero", spans(twelveHours+"zero", "S1 07:00 11:00 48", "S2 15:00 19:00 48"), []fact{
			{"exposure D Quillite worst8 value", 0.05}, {"exposure D Quillite shift value", 0.1 * 480 / 720}, // any window holds 240 sampled minutes
		}},
	})
}

func TestWhichSamplesMakeAShift(t *testing.T) {
	run(t, []rule{
		// 07:00 to 09:00 and 12:59 to 15:00: 3 h 59 between
		{"without a row: gaps under four hours make one, of shift_min", spans("", "S1 07:00 09:00 24", "S2 12:59 15:00 24.2"), []fact{
			{"exposure W1_2026-03-02 Quillite shift minutes", 480}, {"exposure W1_2026-03-02 Quillite shift sampled", 241},
			{"exposure W1_2026-03-02 Quillite shift samples", "S1 S2"},
		}},
		{"four hours part them", overMidnight("2026-03-03 02:00"), []fact{
			{"exposure W1_2026-03-02 Quillite shift samples", "S1"}, {"exposure W1_2026-03-03 Quillite shift samples", "S2"},
		}},
		{"a minute less does not, and the start's date names the shift", overMidnight("2026-03-03 01:59"), []fact{
			{"exposure W1_2026-03-02 Quillite shift samples", "S1 S2"}, {"exposure W1_2026-03-03 Quillite shift", absent},
		}},
		{"as long as its span where that is longer than shift_min", spans("", "S1 07:00 13:00 72", "S2 13:00 17:00 48"), []fact{
			{"exposure W1_2026-03-02 Quillite shift minutes", 600}, {"exposure W1_2026-03-02 Quillite twa8 value", 0.125},
		}},
		{"the survey's shift_min", setting("shift_min", "360") + spans("", "S1 07:00 11:00 48"), []fact{
			{"exposure W1_2026-03-02 Quillite shift minutes", 360},
		}},
		{"two shifts on one day are one worker-day for 8-hour limits", twoShifts, []fact{
			// (240 × 0.1 + 240 × 0.2)/480
			{"exposure D1+D2 Quillite twa8 value", 0.15}, {"exposure D1+D2 Quillite shift", absent}, {"exposure D1+D2 Quillite worst8", absent},
			{"exposure D1 Quillite shift value", 0.1}, {"exposure D2 Quillite shift value", 0.2},
			{"exposure D1 Quillite twa8", absent}, {"exposure D2 Quillite twa8", absent},
			{"comparison D1+D2 Quillite twa8 TWA8 fraction", 0.15}, {"comparison D1 Quillite twa8 TWA8", absent},
			{"finding two-shifts-one-day severity", "check"}, {"finding two-shifts-one-day subject", has("S1")}, {"finding two-shifts-one-day subject", has("S2")},
		}},
		// nothing sampled in D2: its four hours take the day's mean, 0.1; (24 + 24)/480
		{"a shift of the day without a sample of its own is unsampled time", twoShifts + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,L1,W1,D1,2026-03-02 06:00,2026-03-02 10:00
S2,personal,T1,A,FIL,L1,W1,D2,2026-03-02 18:00,2026-03-02 22:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
-- lab --
sample,analyte,result,unit,reporting_limit
S1,Quillite,48,ug,1
S2,Marrite,96,ug,1
B1,Quillite,<1,ug,1
B2,Quillite,<1,ug,1
`, []fact{
			{"exposure D1+D2 Quillite twa8 value", 0.1}, {"exposure D1+D2 Quillite twa8 zero", 0.05}, {"exposure D1+D2 Quillite twa8 coverage", 50},
			{"exposure D1+D2 Marrite twa8 value", 0.2}, {"exposure D1+D2 Marrite twa8 zero", 0.1},
		}},
		{"a shift begun the day before is another day", `
-- shifts --
shift,worker,start,end
N1,W1,2026-03-01 22:00,2026-03-02 06:00
D2,W1,2026-03-02 14:00,2026-03-02 22:00
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,2;2;2,M1
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,L1,W1,N1,2026-03-01 22:00,2026-03-02 06:00
S2,personal,T1,A,FIL,L1,W1,D2,2026-03-02 14:00,2026-03-02 22:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
-- lab + --
S2,Quillite,192,ug,1
`, []fact{{"exposure N1 Quillite twa8 value", 0.1}, {"exposure D2 Quillite twa8 value", 0.2}, {"finding two-shifts-one-day", absent}}},
	})
}

// overMidnight gives samples without a shift: one until 22:00, one from start
// until 04:00.
func overMidnight(start string) string {
	return spans("", "S1 07:00 09:00 24") + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,L1,W1,,2026-03-02 20:00,2026-03-02 22:00
S2,personal,T1,A,FIL,L1,W1,,` + start + `,2026-03-03 04:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
-- lab + --
S2,Quillite,24,ug,1
`
}

// twoShifts gives worker W1 four hours at 0.1 in the morning and four at 0.2
// in the evening of one day.
const twoShifts = `
-- shifts --
shift,worker,start,end
D1,W1,2026-03-02 06:00,2026-03-02 10:00
D2,W1,2026-03-02 18:00,2026-03-02 22:00
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,2;2;2,M1
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,L1,W1,D1,2026-03-02 06:00,2026-03-02 10:00
S2,personal,T1,A,FIL,L1,W1,D2,2026-03-02 18:00,2026-03-02 22:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
-- lab --
sample,analyte,result,unit,reporting_limit
S1,Quillite,48,ug,1
S2,Quillite,96,ug,1
B1,Quillite,<1,ug,1
B2,Quillite,<1,ug,1
`

// gap is a gaps table of rows "start end treat".
func gap(rows ...string) string {
	text := "\n-- gaps --\nshift,worker,start,end,treat,reason\n"
	for _, r := range rows {
		var w [4]string
		for i, word := range strings.Fields(r) {
			w[i] = word
		}
		treat := w[2]
		if w[3] != "" {
			treat += " " + w[3]
		}
		text += "D,W1," + day(w[0]) + "," + day(w[1]) + "," + treat + ",seen\n"
	}
	return text
}

func TestUnsampledTime(t *testing.T) {
	sixHours := "S1 07:00 13:00 72" // 0.1 for 360 of 480 min: 75 %
	run(t, []rule{
		{"by the survey's default, as sampled", spans(eightHours, sixHours), []fact{
			{"exposure D Quillite twa8 value", 0.1}, {"exposure D Quillite twa8 zero", 0.075}, {"exposure D Quillite twa8 same", 0.1},
			{"exposure D Quillite twa8 coverage", 75}, {"exposure D Quillite twa8 sampled", 360},
		}},
		{"by the survey's policy", setting("unsampled", "zero") + spans(eightHours, sixHours), []fact{
			{"exposure D Quillite twa8 value", 0.075}, {"exposure D Quillite twa8 same", 0.1}, {"exposure D Quillite twa8 zero", 0.075},
		}},
		{"the shift's own policy before the survey's", spans(eightHours+"zero", sixHours), []fact{{"exposure D Quillite twa8 value", 0.075}}},
		{"gaps rows before the shift's policy: zero", spans(eightHours+"same", sixHours) + gap("13:00 14:00 zero"), []fact{
			// 360 sampled, 60 at zero, 60 as sampled: 0.1 × 420/480
			{"exposure D Quillite twa8 value", 0.0875}, {"exposure D Quillite twa8 same", 0.0875}, {"exposure D Quillite twa8 zero", 0.075},
		}},
		{"a gap as sampled holds in if_zero too", spans(eightHours+"zero", sixHours) + gap("13:00 14:00 same"), []fact{
			{"exposure D Quillite twa8 value", 0.0875}, {"exposure D Quillite twa8 zero", 0.0875}, {"exposure D Quillite twa8 same", 0.1},
		}},
		{"a gap with a value", spans(eightHours, sixHours) + gap("13:00 14:00 0.4 mg/m3"), []fact{
			// (36 + 60 × 0.4 + 60 × [0.1])/480
			{"exposure D Quillite twa8 value", (36 + 24 + 6) / 480.0}, {"exposure D Quillite twa8 zero", 60 / 480.0}, {"exposure D Quillite twa8 same", 66 / 480.0},
		}},
		{"a gap in another unit", spans(eightHours, sixHours) + gap("13:00 14:00 400 ug/m3"), []fact{
			{"exposure D Quillite twa8 value", 66 / 480.0},
		}},
		{"a gap counts only where nothing was sampled", spans(eightHours, sixHours) + gap("12:00 14:00 0.4 mg/m3"), []fact{
			{"exposure D Quillite twa8 value", 66 / 480.0},
		}},
		{"same: the sampled mean, not the last sample", spans(eightHours, "S1 07:00 09:00 48", "S2 09:00 13:00 24"), []fact{
			// 0.2 for 120, 0.05 for 240: mean 0.1; zero dose 36/480
			{"exposure D Quillite twa8 value", 0.1}, {"exposure D Quillite twa8 zero", 36 / 480.0},
		}},
		{"minutes sampled outside the shift are cut off", spans(eightHours, "S1 06:30 15:30 108"), []fact{
			{"exposure D Quillite twa8 value", 0.1}, {"exposure D Quillite twa8 coverage", 100}, {"exposure D Quillite twa8 sampled", 480},
			{"finding sampled-outside-shift severity", "check"}, {"finding sampled-outside-shift subject", has("S1")},
		}},
		{"coverage is never over 100 %, and same adds nothing then", spans(eightHours, "S1 06:30 15:30 108"), []fact{
			{"exposure D Quillite twa8 zero", 0.1}, {"exposure D Quillite twa8 same", 0.1},
		}},
		{"nor where the pump's timer ran longer than the shift", plainSample("run_min", "500"), []fact{{"exposure D Quillite twa8 coverage", 100}}},
		// 07:00 to 15:00 with 80 min of pause, shift to 11:00: half of the 400 minutes run
		{"a pause is spread evenly over its sample", spans("D,W1,2026-03-02 07:00,2026-03-02 11:00,zero", "S1 07:00 15:00 80") + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,pause_min
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,80
B1,blank,,,FIL,L1,,,,,
B2,blank,,,FIL,L1,,,,,
`, []fact{
			{"sample S1 minutes", 400}, {"exposure D Quillite shift sampled", 200}, {"exposure D Quillite shift value", 0.1 * 200 / 240},
		}},
		// common practice, no source: the pump stood still where the log says so; 07:00 to 15:00 with 80 min of pause
		{"a gap inside a sample counts as its pause: zero", plainPause + gap("11:00 12:20 zero"), []fact{
			{"exposure D Quillite twa8 value", 0.1 * 400 / 480}, {"exposure D Quillite twa8 same", 0.1 * 400 / 480},
			{"exposure D Quillite twa8 sampled", 400}, {"finding gap-cut code", absent},
		}},
		{"a gap inside a sample counts as its pause: same", spans(eightHours+"zero") + plainPause + gap("11:00 12:20 same"), []fact{
			{"exposure D Quillite twa8 value", 0.1}, {"exposure D Quillite twa8 zero", 0.1}, {"finding gap-cut code", absent},
		}},
		{"a gap inside a sample counts as its pause: a value", plainPause + gap("11:00 12:20 0.3 mg/m3"), []fact{
			{"exposure D Quillite twa8 value", (40 + 80*0.3) / 480}, {"finding gap-cut code", absent},
		}},
		{"never more than the pause", plainPause + gap("11:00 13:00 zero"), []fact{
			{"exposure D Quillite twa8 value", 0.1 * 400 / 480}, {"exposure D Quillite twa8 same", 0.1 * 400 / 480},
			{"finding gap-cut message", has("of a gap of 120 min in shift D, worker W1, 80 min count")}, {"finding gap-cut remedy", has("pause_min")},
		}},
		{"nor for all gaps together", plainPause + gap("09:00 10:00 zero", "11:00 12:00 0.3 mg/m3"), []fact{
			{"exposure D Quillite twa8 value", (40 + 20*0.3) / 480}, {"finding gap-cut message", has("20 min count")},
		}},
		{"the rest of the pause takes the policy", plainPause + gap("11:00 11:30 zero"), []fact{
			{"exposure D Quillite twa8 zero", 0.1 * 400 / 480}, {"exposure D Quillite twa8 value", 0.1 * 450 / 480},
		}},
		{"without a pause the gap was sampled", plainSample("pause_min", "") + gap("11:00 11:30 zero"), []fact{
			{"exposure D Quillite twa8 value", 0.1}, {"finding gap-cut message", has(" 0 min count")}, {"finding gap-cut remedy", has("pause_min")},
		}},
		{"where the only sample failed its gap is not said to be sampled", plainPause + gap("11:00 11:30 zero") + `
-- flows --
train,leg,stage,readings,unit
T9,A,pre,2,L/min
`, []fact{{"finding gap-cut code", absent}, {"sample S1 minutes", 400}}},
		{"nor where the pump's timer says that it ran through the pause", gap("11:00 11:30 zero") + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,pause_min,run_min
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,30,480
B1,blank,,,FIL,L1,,,,,,
B2,blank,,,FIL,L1,,,,,,
`, []fact{{"exposure D Quillite twa8 value", 0.1}, {"finding gap-cut message", has(" 0 min count")}}},
		// ten hours, 07:00 to 17:00, an hour of pause at noon: 540 min at 0.1; any 8 hours hold the hour
		{"the worst 8 hours hold the pause where it was", spans("D,W1,2026-03-02 07:00,2026-03-02 17:00,zero", "S1 07:00 17:00 108") + gap("12:00 13:00 zero") + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,pause_min
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 17:00,60
B1,blank,,,FIL,L1,,,,,
B2,blank,,,FIL,L1,,,,,
`, []fact{{"exposure D Quillite worst8 value", 0.1 * 420 / 480}, {"exposure D Quillite twa8 value", 0.1 * 540 / 480}}},
		{"a pause counts as unsampled time", plainPause, []fact{
			{"exposure D Quillite twa8 sampled", 400}, {"exposure D Quillite twa8 zero", 0.1 * 400 / 480}, {"exposure D Quillite twa8 same", 0.1},
		}},
	})
}

// plainPause is plain's sample with 80 min of pause: 80 µg in 800 L.
const plainPause = `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,pause_min
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,80
B1,blank,,,FIL,L1,,,,,
B2,blank,,,FIL,L1,,,,,
-- lab --
sample,analyte,result,unit,reporting_limit
S1,Quillite,80,ug,1
B1,Quillite,<1,ug,1
B2,Quillite,<1,ug,1
`

func TestOverlaps(t *testing.T) {
	run(t, []rule{
		// 0.1 and 0.12 (115.2 µg): mean 0.11; 0.02/0.11 = 18.18 %
		{"duplicates are averaged, with a note that names both", spans(eightHours, "S1 07:00 15:00 96", "S2 07:00 15:00 115.2 duplicate"), []fact{
			{"exposure D Quillite twa8 value", 0.11}, {"exposure D Quillite twa8 coverage", 100}, {"exposure D Quillite twa8 sampled", 480},
			{"finding side-by-side severity", "note"}, {"finding side-by-side subject", has("S1, S2")}, {"finding side-by-side message", has("18.18 %")},
		}},
		// 15 min at 2 L/min: 30 µg/30 L = 1 mg/m³, inside the shift's sample
		{"a short-term sample inside a shift sample is not counted twice", spans(eightHours, "S1 07:00 15:00 96", "S2 09:00 09:15 30 short-term"), []fact{
			{"exposure D Quillite twa8 value", 0.1}, {"exposure D Quillite twa8 sampled", 480},
			{"exposure D Quillite short:S2 value", 1}, {"finding samples-overlap", absent},
		}},
		// 240 min at (0.1 + 0.2)/2 and 240 at 0.1
		{"a duplicate of a part is averaged in that part", spans(eightHours, "S1 07:00 15:00 96", "S2 07:00 11:00 96 duplicate"), []fact{
			{"exposure D Quillite twa8 value", 0.125},
		}},
		{"a duplicate under its reporting limit is averaged as an interval", spans(eightHours, "S1 07:00 15:00 96", "S2 07:00 15:00 <96 duplicate"), []fact{
			{"exposure D Quillite twa8 low", 0.05}, {"exposure D Quillite twa8 value", 0.075}, {"exposure D Quillite twa8 high", 0.1},
		}},
		// 360 min at 0.1, then 15 min at 1: (36 + 15)/480 with the rest at zero
		{"and fills the gap where the shift sampler was off", spans(eightHours+"zero", "S1 07:00 13:00 72", "S2 13:30 13:45 30 short-term"), []fact{
			{"exposure D Quillite twa8 value", 51 / 480.0}, {"exposure D Quillite twa8 sampled", 375}, {"exposure D Quillite twa8 coverage", 100 * 375 / 480.0},
		}},
		// off at 13:00, short-term 12:55 to 13:10 at 1: its last ten minutes fill the gap
		{"only its minutes in the gap", spans(eightHours+"zero", "S1 07:00 13:00 72", "S2 12:55 13:10 30 short-term"), []fact{
			{"exposure D Quillite twa8 value", (36 + 10) / 480.0}, {"exposure D Quillite twa8 sampled", 370},
		}},
		{"a ceiling sample does the same", spans(eightHours+"zero", "S1 07:00 13:00 72", "S2 13:30 13:45 30 ceiling"), []fact{
			{"exposure D Quillite twa8 value", 51 / 480.0}, {"exposure D Quillite short:S2 value", 1},
		}},
		{"short-term samples without a shift sample form the dose and coverage alone",
			spans(eightHours+"zero", "S1 09:00 09:15 30 short-term", "S2 11:00 11:15 15 short-term"), []fact{
				{"exposure D Quillite twa8 value", 22.5 / 480}, {"exposure D Quillite twa8 coverage", 100 * 30 / 480.0}, // 15 × 1 + 15 × 0.5
				{"exposure D Quillite short:S1 value", 1}, {"exposure D Quillite short:S2 value", 0.5},
			}},
		{"any other overlap is a stop", spans(eightHours, "S1 07:00 11:30 54", "S2 11:00 15:00 48"), []fact{
			{"finding samples-overlap severity", "stop"}, {"finding samples-overlap subject", has("S1, S2")}, {"finding samples-overlap message", has("30 min")},
			{"exposure D Quillite twa8", absent}, {"concentration S1 Quillite value", 0.1},
		}},
		{"other analytes on the same samples side by side do not overlap", spans(eightHours, "S1 07:00 15:00 96") + `
-- samples + --
S2,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,
-- lab + --
S2,Marrite,48,ug,1
`, []fact{{"exposure D Quillite twa8 value", 0.1}, {"exposure D Marrite twa8 value", 0.05}, {"finding samples-overlap", absent}}},
		{"nor do other forms of one analyte", spans(eightHours, "S1 07:00 15:00 96") + `
-- samples + --
S2,personal,T1,A,CYC,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,
-- media + --
CYC,2
-- lab --
sample,analyte,result,unit,reporting_limit,form
S1,Quillite,96,ug,1,
S2,Quillite,48,ug,1,respirable
B1,Quillite,<1,ug,1,
B2,Quillite,<1,ug,1,
`, []fact{{"exposure D Quillite twa8 value", 0.1}, {"exposure D Quillite/respirable twa8 value", 0.05}, {"finding samples-overlap", absent}}},
		{"area samples never enter an exposure", `
-- samples + --
S2,area,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00
-- lab + --
S2,Quillite,960,ug,1
`, []fact{{"exposure D Quillite twa8 value", 0.1}, {"concentration S2 Quillite value", 1}}},
		{"nor do voids", `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,void
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,
S2,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,hose off
B1,blank,,,FIL,L1,,,,,
B2,blank,,,FIL,L1,,,,,
-- lab + --
S2,Quillite,960,ug,1
`, []fact{{"exposure D Quillite twa8 value", 0.1}, {"exposure D Quillite twa8 samples", "S1"}, {"sample S2 void", true}}},
	})
}
