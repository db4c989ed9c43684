package exposure_test

import (
	"math"
	"testing"
)

// The rules for flows and volumes. Expectations are worked by hand beside
// each case.

func TestWhichCheckBelongsToWhichSample(t *testing.T) {
	run(t, []rule{
		{"the last pre at or before the start and the first post at or after the stop", `
-- flows --
train,leg,stage,readings,device,taken_at
T1,A,pre,1.8;1.8;1.8,M1,2026-03-02 06:00
T1,A,pre,2.02;2.02;2.02,M1,2026-03-02 07:00
T1,A,pre,2.2;2.2;2.2,M1,2026-03-02 08:00
T1,A,post,1.98;1.98;1.98,M1,2026-03-02 15:00
T1,A,post,1.7;1.7;1.7,M1,2026-03-02 16:00
`, []fact{
			{"sample S1 pre", 2.02}, {"sample S1 post", 1.98}, {"sample S1 flow", 2}, // (2.02 + 1.98)/2
		}},
		{"a post check before the stop is another deployment's", `
-- flows --
train,leg,stage,readings,device,taken_at
T1,A,pre,2;2;2,M1,2026-03-02 06:30
T1,A,post,1.96;1.96;1.96,M1,2026-03-02 14:00
`, []fact{
			{"sample S1 post", nil}, {"sample S1 flow", 2}, {"finding no-post-check subject", has("S1")},
		}},
		{"two deployments of one leg each have their own checks", `
-- flows --
train,leg,stage,readings,device,taken_at
T1,A,pre,2;2;2,M1,2026-03-02 06:30
T1,A,post,2;2;2,M1,2026-03-02 11:00
T1,A,pre,2.04;2.04;2.04,M1,2026-03-02 11:10
T1,A,post,2;2;2,M1,2026-03-02 15:30
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 11:00
S2,personal,T1,A,FIL,L1,W1,D,2026-03-02 11:30,2026-03-02 15:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
-- lab + --
S2,Quillite,40,ug,1
`, []fact{
			{"sample S1 flow", 2}, {"sample S2 flow", 2.02}, {"sample S2 volume", 2.02 * 210},
		}},
		{"without times one train is one deployment", `
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,1.96;1.96;1.96,M1
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 11:00
S2,personal,T1,A,FIL,L1,W1,D,2026-03-02 11:00,2026-03-02 15:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
-- lab + --
S2,Quillite,40,ug,1
`, []fact{
			{"sample S1 volume", 1.98 * 240}, {"sample S2 volume", 1.98 * 240},
		}},
		{"an adjusted row never counts where a later row of that leg exists", `
-- flows --
train,leg,stage,readings,device,step,action
T1,A,pre,2.3;2.3;2.3,M1,1,adjusted
T1,A,pre,2.02;2.02;2.02,M1,2,verified
T1,A,post,1.98;1.98;1.98,M1,3,
`, []fact{{"sample S1 pre", 2.02}, {"sample S1 flow", 2}}},
		{"later is by step, whatever the order of the rows", `
-- flows --
train,leg,stage,readings,device,step,action
T1,A,pre,2.02;2.02;2.02,M1,2,verified
T1,A,pre,2.3;2.3;2.3,M1,1,adjusted
T1,A,post,1.98;1.98;1.98,M1,3,
`, []fact{{"sample S1 pre", 2.02}}},
		{"later is by time, whatever the order of the rows", `
-- flows --
train,leg,stage,readings,device,taken_at,action
T1,A,pre,2.02;2.02;2.02,M1,2026-03-02 06:40,verified
T1,A,pre,2.3;2.3;2.3,M1,2026-03-02 06:30,adjusted
T1,A,post,1.98;1.98;1.98,M1,2026-03-02 15:30,
`, []fact{{"sample S1 pre", 2.02}}},
		{"an adjusted row counts where it is the leg's last before the start", `
-- flows --
train,leg,stage,readings,device,taken_at,action
T1,A,pre,2.02;2.02;2.02,M1,2026-03-02 06:30,adjusted
T1,A,post,1.98;1.98;1.98,M1,2026-03-02 15:30,
`, []fact{{"sample S1 pre", 2.02}, {"sample S1 volume", 960}}},
		{"a check is the mean of its readings, a leg's flow the mean of its checks", `
-- flows --
train,leg,stage,readings,device
T1,A,pre,1.99;2.00;2.04,M1
T1,A,post,1.97;1.96;1.95,M1
`, []fact{{"sample S1 pre", 2.01}, {"sample S1 post", 1.96}, {"sample S1 flow", 1.985}, {"sample S1 volume", 1.985 * 480}}},
		{"mL/min", `
-- flows --
train,leg,stage,readings,unit,device
T1,A,pre,"1,996;1,997;1,998",mL/min,M1
T1,A,post,2.003;2.003;2.003,L/min,M1
`, []fact{{"sample S1 pre", 1.997}, {"sample S1 flow", 2}}},
		{"the pre check alone where there is no post", `
-- flows --
train,leg,stage,readings,device,taken_at
T1,A,pre,2.1;2.1;2.1,M1,2026-03-02 06:30
`, []fact{{"sample S1 flow", 2.1}, {"sample S1 post", nil}, {"sample S1 drift", nil}, {"sample S1 volume", 2.1 * 480},
			{"finding no-post-check severity", "check"}}},
		{"the pump's TOTAL is no leg's flow", `
-- flows + --
T1,TOTAL,pre,2;2;2,M1,2026-03-02 06:31
T1,TOTAL,post,2;2;2,M1,2026-03-02 15:31
`, []fact{{"sample S1 volume", 960}, {"finding total-flow-off", absent}}},
	})
}

// drifted is a flow that fell by 10 %: 2.0 to 1.8 L/min, mean 1.9.
const drifted = `
-- flows --
train,leg,stage,readings,device,taken_at
T1,A,pre,2;2;2,M1,2026-03-02 06:30
T1,A,post,1.8;1.8;1.8,M1,2026-03-02 15:30
-- media --
medium,target_flow_lpm,tolerance_pct
FIL,2,15
`

const notDetected = `
-- lab --
sample,analyte,result,unit,reporting_limit
S1,Quillite,<9,ug,9
B1,Quillite,<9,ug,9
B2,Quillite,<9,ug,9
`

func TestDrift(t *testing.T) {
	run(t, []rule{
		{"mean: the mean stands and the checks bound it", drifted, []fact{
			{"sample S1 drift", -10.0}, // (1.8 - 2)/2
			{"sample S1 flow", 1.9}, {"sample S1 volume", 1.9 * 480}, {"sample S1 volume_low", 1.8 * 480}, {"sample S1 volume_high", 2 * 480.0},
			{"concentration S1 Quillite low", 96 / 960.0}, {"concentration S1 Quillite value", 96 / 912.0}, {"concentration S1 Quillite high", 96 / 864.0},
			{"finding flow-drift severity", "check"}, {"sample S1 void", false},
		}},
		{"mean, non-detect: half of R at the mean flow, R at the lower flow above", drifted + notDetected, []fact{
			{"concentration S1 Quillite low", 0}, {"concentration S1 Quillite value", 4.5 / 912}, {"concentration S1 Quillite high", 9 / 864.0},
		}},
		{"lower: the lower flow, so the higher concentration", drifted + `
-- survey --
item,value
authorities,House
drift_policy,lower
`, []fact{
			{"sample S1 flow", 1.8}, {"sample S1 volume", 1.8 * 480},
			{"concentration S1 Quillite low", 96 / 960.0}, {"concentration S1 Quillite value", 96 / 864.0}, {"concentration S1 Quillite high", 96 / 864.0},
		}},
		{"lower, with a flow that rose: still the lower", `
-- survey --
item,value
authorities,House
drift_policy,lower
-- flows --
train,leg,stage,readings,device
T1,A,pre,1.8;1.8;1.8,M1
T1,A,post,2;2;2,M1
`, []fact{{"sample S1 drift", 100 * 0.2 / 1.8}, {"sample S1 volume", 1.8 * 480}, {"concentration S1 Quillite value", 96 / 864.0}, {"concentration S1 Quillite low", 0.1}}},
		{"lower, non-detect: half of R at the lower flow", drifted + notDetected + `
-- survey --
item,value
authorities,House
drift_policy,lower
`, []fact{{"concentration S1 Quillite value", 4.5 / 864}, {"concentration S1 Quillite high", 9 / 864.0}, {"concentration S1 Quillite low", 0}}},
		{"void: no value, no exposure, bounds still shown", drifted + `
-- survey --
item,value
authorities,House
drift_policy,void
`, []fact{
			{"sample S1 void", true}, {"concentration S1 Quillite value", nil},
			{"concentration S1 Quillite low", 96 / 960.0}, {"concentration S1 Quillite high", 96 / 864.0},
			{"exposure D Quillite twa8", absent}, {"finding flow-drift severity", "check"},
		}},
		{"exactly at the limit is not over it", `
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,1.9;1.9;1.9,M1
`, []fact{{"sample S1 drift", -5.0}, {"finding flow-drift", absent}, {"sample S1 volume_low", 1.95 * 480}, {"concentration S1 Quillite high", 96 / 936.0}}},
		{"the survey's own limit", `
-- survey --
item,value
authorities,House
drift_limit_pct,3
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,1.92;1.92;1.92,M1
`, []fact{{"finding flow-drift", true}, {"sample S1 volume_low", 1.92 * 480}}},
		{"of one leg only: the other leg of the train stands", `
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,B,pre,1;1;1,M1
T1,A,post,1.8;1.8;1.8,M1
T1,B,post,1;1;1,M1
-- samples + --
S2,personal,T1,B,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00
-- lab + --
S2,Marrite,48,ug,1
`, []fact{{"sample S2 volume_low", 480}, {"sample S2 volume_high", 480}, {"finding flow-drift subject", has("S1, T1")}, {"finding flow-drift count", 1}}},
	})
}

func TestMetersAndConditions(t *testing.T) {
	conditions := func(device, kind string) string {
		return `
-- devices --
device,kind,certified,interval_months,ref_temperature_c,ref_pressure_kpa,temperature_c,pressure_kpa
` + device + "," + kind + `
-- flows --
train,leg,stage,readings,device,taken_at,temperature_c,pressure_kpa
T1,A,pre,2;2;2,M1,2026-03-02 06:30,10,95
T1,A,post,2;2;2,M1,2026-03-02 15:30,10,95
-- media --
medium,target_flow_lpm,tolerance_pct
FIL,2,25
`
	}
	run(t, []rule{
		{"volumetric reads actual flow, whatever the conditions", conditions("M1", "volumetric,2026-01-05,12,,,,"), []fact{{"sample S1 flow", 2}}},
		{"mass: from reference to actual conditions", conditions("M1", "mass,2026-01-05,12,20,101.325,,"), []fact{
			{"sample S1 flow", 2 * 283.15 / 293.15 * 101.325 / 95}, // ideal gas law
		}},
		// Qind·√(Pcal·T/(P·Tcal)): NIOSH Manual of Analytical Methods, chapter D, as the trade quotes it.
		{"a rotameter as calibrator: its certificate's conditions", conditions("M1", "rotameter,2026-01-05,12,,,25,100"), []fact{
			{"sample S1 flow", 2 * math.Sqrt(100*283.15/(95*298.15))},
		}},
		{"a mass meter without the conditions of the check cannot be used", `
-- devices --
device,kind,certified,interval_months,ref_temperature_c,ref_pressure_kpa
M1,mass,2026-01-05,12,20,101.325
`, []fact{{"finding no-flow-conditions severity", "stop"}, {"sample S1 volume", nil}}},
		{"nominal flow makes the volume; the measured flow decides drift and the sampler's window", `
-- media --
medium,target_flow_lpm,volume_flow,nominal_flow_lpm,form
FIL,2.2,nominal,2.2,respirable
-- flows --
train,leg,stage,readings,device,taken_at
T1,A,pre,2.2;2.2;2.2,M1,2026-03-02 06:30
T1,A,post,1.98;1.98;1.98,M1,2026-03-02 15:30
`, []fact{
			{"sample S1 volume", 2.2 * 480},
			{"sample S1 drift", -10.0}, {"finding flow-drift severity", "check"},
			{"sample S1 target", -10.0}, {"finding flow-off-target severity", "check"}, // 1.98 against 2.2
		}},
	})
}

func TestTargetDeviationIsTheWorst(t *testing.T) {
	run(t, []rule{
		// 1.96 is 2 % under, 2.02 is 1 % over 2 L/min
		{"of the two checks", "-- flows --\ntrain,leg,stage,readings,device\nT1,A,pre,2.02;2.02;2.02,M1\nT1,A,post,1.96;1.96;1.96,M1\n",
			[]fact{{"sample S1 target", -2.0}}},
		{"the sample's own target wins over the medium's", `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,target_flow_lpm
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,1.6
B1,blank,,,FIL,L1,,,,,
B2,blank,,,FIL,L1,,,,,
`, []fact{{"sample S1 target", 25.0}, {"finding flow-off-target", true}}},
	})
}

func TestMinutes(t *testing.T) {
	sample := func(columns, values string) string {
		return "\n-- samples --\nsample,kind,train,leg,medium,lot,worker,shift," + columns + `
S1,personal,T1,A,FIL,L1,W1,D,` + values + `
B1,blank,,,FIL,L1
B2,blank,,,FIL,L1
`
	}
	night := `
-- shifts --
shift,worker,start,end
D,W1,2026-03-02 22:00,2026-03-03 06:00
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,2;2;2,M1
`
	run(t, []rule{
		{"stop less start less pause", sample("start,stop,pause_min", "2026-03-02 07:00,2026-03-02 15:00,25"), []fact{
			{"sample S1 minutes", 455}, {"finding pump-paused subject", "S1"}, {"finding pump-paused severity", "note"},
		}},
		{"a bare stop time before the start is the next day", night + sample("start,stop", "2026-03-02 22:10,05:40"), []fact{
			{"sample S1 minutes", 450}, {"finding stop-next-day severity", "note"}, {"finding stop-next-day subject", "S1"},
		}},
		{"a bare stop time after the start is the same day", sample("start,stop", "2026-03-02 07:00,14:40"), []fact{
			{"sample S1 minutes", 460}, {"finding stop-next-day", absent},
		}},
		// The United States put clocks on at 02:00 on 8 March 2026 (second Sunday of March, 15 U.S.C. 260a).
		{"a night of the clock change by the survey's timezone", `
-- survey --
item,value
authorities,House
timezone,America/Chicago
-- shifts --
shift,worker,start,end
D,W1,2026-03-07 22:00,2026-03-08 06:00
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,2;2;2,M1
` + sample("start,stop", "2026-03-07 22:00,2026-03-08 06:00"), []fact{{"sample S1 minutes", 420}, {"exposure D Quillite shift minutes", 420}}},
		{"a night of the clock change by offsets", `
-- shifts --
shift,worker,start,end
D,W1,2026-03-07T22:00-06:00,2026-03-08T06:00-05:00
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,2;2;2,M1
` + sample("start,stop", "2026-03-07T22:00-06:00,2026-03-08T06:00-05:00"), []fact{{"sample S1 minutes", 420}}},
		{"run_min wins and is compared with the clock", sample("start,stop,run_min", "2026-03-02 07:00,2026-03-02 15:00,460"), []fact{
			{"sample S1 minutes", 460}, {"sample S1 volume", 920}, {"finding clock-disagrees subject", "S1"},
		}},
		{"the clock less the pause is what run_min is compared with",
			sample("start,stop,pause_min,run_min", "2026-03-02 07:00,2026-03-02 15:00,20,460"), []fact{
				{"sample S1 minutes", 460}, {"finding clock-disagrees", absent},
			}},
		{"run_min alone", sample("start,stop,run_min", ",,460"), []fact{{"sample S1 minutes", 460}, {"sample S1 volume", 920}}},
	})
}

// TestUncertainty works the formula of the volume's uncertainty number by
// number (JCGM 100:2008, 5.1.2, for independent contributions).
func TestUncertainty(t *testing.T) {
	meter := `
-- devices --
device,kind,accuracy_pct,certified,interval_months
M1,volumetric,1,2026-01-05,12
-- flows --
train,leg,stage,readings,device
T1,A,pre,1.98;2.00;2.02,M1
T1,A,post,1.93;1.94;1.95,M1
`
	// pre: s = 0.02, s²/n = 0.0004/3; post: s = 0.01, s²/n = 0.0001/3; Q = 1.97
	squares := (0.0004/3+0.0001/3)/(4*1.97*1.97) + // readings
		0.01*0.01/3 + // the meter
		math.Pow(0.06/(2*math.Sqrt(3)*1.97), 2) + // the drift of 0.06
		1.0/(6*480*480) // the clock
	run(t, []rule{
		{"of a volume", meter, []fact{{"sample S1 u", math.Sqrt(squares)}}},
		{"of a concentration: the medium's cv in quadrature", meter + "\n-- media --\nmedium,target_flow_lpm,cv\nFIL,2,0.05\n", []fact{
			{"concentration S1 Quillite u", math.Sqrt(squares + 0.05*0.05)},
		}},
		{"of a concentration: the laboratory's cv before the medium's", meter + `
-- media --
medium,target_flow_lpm,cv
FIL,2,0.05
-- lab --
sample,analyte,result,unit,reporting_limit,cv
S1,Quillite,96,ug,1,0.08
B1,Quillite,<1,ug,1,
B2,Quillite,<1,ug,1,
`, []fact{{"concentration S1 Quillite u", math.Sqrt(squares + 0.08*0.08)}}},
		{"of a concentration without any cv: the volume's alone", meter, []fact{{"concentration S1 Quillite u", math.Sqrt(squares)}}},
	})
}
