package exposure_test

import (
	"math"
	"testing"
)

// The rules for masses: non-detects, qualifiers, blanks, weighings and
// laboratory concentrations. Volumes are plain's 960 L.

// lab is a laboratory table of one result on S1 and two clean blanks; columns
// after reporting_limit are given by the case.
func lab(columns, s1 string, more ...string) string {
	text := "\n-- lab --\nsample,analyte,result,unit,reporting_limit" + columns + "\nS1,Quillite," + s1 + "\n"
	if len(more) == 0 {
		more = []string{"B1,Quillite,<1,ug,1", "B2,Quillite,<1,ug,1"}
	}
	for _, row := range more {
		text += row + "\n"
	}
	return text
}

// setting is a survey table with one more item.
func setting(item, value string) string {
	return "\n-- survey --\nitem,value\nauthorities,House\n" + item + "," + value + "\n"
}

func TestNonDetects(t *testing.T) {
	// R = 12 µg: 0 to 12/960 = 0.0125 mg/m³, half of it standing for it
	under12 := []fact{
		{"concentration S1 Quillite mass", 6}, {"concentration S1 Quillite mass_low", 0}, {"concentration S1 Quillite mass_high", 12},
		{"concentration S1 Quillite low", 0}, {"concentration S1 Quillite value", 0.00625}, {"concentration S1 Quillite high", 0.0125},
		{"concentration S1 Quillite open", true}, {"concentration S1 Quillite censored", true},
	}
	at5 := []fact{{"concentration S1 Quillite mass", 5}, {"concentration S1 Quillite mass_low", 5}, {"concentration S1 Quillite mass_high", 5},
		{"concentration S1 Quillite censored", false}}
	run(t, []rule{
		{"<x", lab("", "<12,ug,"), under12},
		{"ND at the reporting limit", lab("", "ND,ug,12"), under12},
		{"U at the reporting limit", lab(",qualifier", "5,ug,12,U"), under12},
		{"UJ is U", lab(",qualifier", "5,ug,12,UJ"), under12},
		{"an unqualified number under R", lab("", "5,ug,12"), append(under12, fact{"finding under-reporting-limit subject", has("S1")})},
		{"J is a detect at its value", lab(",qualifier", "5,ug,12,J"), append(at5, fact{"finding result-estimated subject", has("S1")}, fact{"finding under-reporting-limit", absent})},
		{"a number at R is a detect", lab("", "12,ug,12"), []fact{{"concentration S1 Quillite mass_low", 12}, {"finding under-reporting-limit", absent}}},
		{"R/2 by default", lab("", "<12,ug,"), []fact{{"concentration S1 Quillite mass", 6}}},
		{"R/√2", setting("nondetect", "root2") + lab("", "<12,ug,"), []fact{{"concentration S1 Quillite mass", 12 / math.Sqrt2}}},
		{"zero", setting("nondetect", "zero") + lab("", "<12,ug,"), []fact{{"concentration S1 Quillite mass", 0}, {"concentration S1 Quillite high", 0.0125}}},
		{"R in full", setting("nondetect", "full") + lab("", "<12,ug,"), []fact{{"concentration S1 Quillite mass", 12}, {"concentration S1 Quillite low", 0}}},
		{"ND without a reporting limit cannot be used", lab("", "ND,ug,"), []fact{{"finding no-reporting-limit severity", "stop"}, {"exposure D Quillite twa8", absent}}},
		{"zero is no result", lab("", "0,ug,"), []fact{{"finding not-a-result severity", "stop"}, {"exposure D Quillite twa8", absent}}},
	})
}

func TestQualifiers(t *testing.T) {
	run(t, []rule{
		{"E is superseded by D", lab(",qualifier", "391,ug,1,E", "S1,Quillite,432,ug,5,D", "B1,Quillite,<1,ug,1,", "B2,Quillite,<1,ug,1,"), []fact{
			{"concentration S1 Quillite mass", 432}, {"concentration S1 Quillite mass_high", 432},
			{"finding result-superseded severity", "note"}, {"finding result-superseded message", has("391")}, {"finding result-superseded message", has("432")},
			{"finding duplicate-result", absent}, {"finding result-over-range", absent},
		}},
		{"E without D: used, no upper bound", lab(",qualifier", "391,ug,1,E"), []fact{
			{"concentration S1 Quillite mass", 391}, {"concentration S1 Quillite mass_low", 391}, {"concentration S1 Quillite mass_high", unbounded},
			{"finding result-over-range severity", "check"}, {"finding result-over-range subject", has("S1")},
		}},
		{"D alone: used as it is, with a note", lab(",qualifier", "391,ug,1,D"), []fact{
			{"concentration S1 Quillite mass_high", 391}, {"finding result-diluted severity", "note"},
		}},
		{"B is kept, noted, the value unchanged", lab(",qualifier", "96,ug,1,B"), []fact{
			{"concentration S1 Quillite mass_low", 96}, {"concentration S1 Quillite mass_high", 96}, {"finding laboratory-blank severity", "note"},
		}},
		{"an unknown letter is kept, noted, the value unchanged", lab(",qualifier", "96,ug,1,Q"), []fact{
			{"concentration S1 Quillite mass_low", 96}, {"concentration S1 Quillite mass_high", 96}, {"finding unknown-qualifier severity", "note"}, {"finding unknown-qualifier message", has("Q")},
		}},
		{"two rows without an order: stop for that pair only", lab("", "96,ug,1", "S1,Quillite,90,ug,1", "S1,Marrite,48,ug,1", "B1,Quillite,<1,ug,1", "B2,Quillite,<1,ug,1"), []fact{
			{"finding duplicate-result severity", "stop"}, {"finding duplicate-result subject", has("S1")}, {"finding duplicate-result subject", has("Quillite")},
			{"exposure D Quillite twa8", absent}, {"concentration S1 Marrite value", 0.05},
		}},
		{"two D rows for one E have no order either", lab(",qualifier", "391,ug,1,E", "S1,Quillite,432,ug,5,D", "S1,Quillite,440,ug,5,D", "B1,Quillite,<1,ug,1,", "B2,Quillite,<1,ug,1,"), []fact{
			{"finding duplicate-result severity", "stop"}, {"exposure D Quillite twa8", absent},
		}},
	})
}

func TestBlanks(t *testing.T) {
	found := func(b1, b2 string) []string { return []string{"B1,Quillite," + b1, "B2,Quillite," + b2} }
	run(t, []rule{
		{"the mean of the lot's field blanks is taken off", lab("", "96,ug,1", found("4,ug,1", "2,ug,1")...), []fact{
			{"concentration S1 Quillite mass", 93}, {"concentration S1 Quillite blank", 3}, {"concentration S1 Quillite uncorrected", 96},
			{"concentration S1 Quillite value", 93 / 960.0},
		}},
		{"a non-detect blank counts 0", lab("", "96,ug,1", found("4,ug,1", "<1,ug,1")...), []fact{
			{"concentration S1 Quillite blank", 2}, {"concentration S1 Quillite mass", 94},
		}},
		{"an unmarked blank under R is a non-detect, 0", lab("", "96,ug,1", found("0.6,ug,1", "4,ug,1")...), []fact{
			{"concentration S1 Quillite blank", 2}, {"concentration S1 Quillite mass", 94},
		}},
		{"only blanks of the same lot", `
-- samples + --
B3,blank,,,FIL,L2,,,,
B4,blank,,,FIL,L2,,,,
` + lab("", "96,ug,1", append(found("<1,ug,1", "<1,ug,1"), "B3,Quillite,40,ug,1", "B4,Quillite,40,ug,1")...), []fact{
			{"concentration S1 Quillite blank", 0}, {"concentration S1 Quillite mass", 96},
		}},
		{"only blanks with the same analyte", lab("", "96,ug,1", "S1,Marrite,48,ug,1", "B1,Quillite,4,ug,1", "B2,Quillite,4,ug,1", "B1,Marrite,2,ug,1", "B2,Marrite,2,ug,1"), []fact{
			{"concentration S1 Quillite mass", 92}, {"concentration S1 Marrite mass", 46},
		}},
		{"media blanks are not field blanks", `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,blank_type
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,
B1,blank,,,FIL,L1,,,,,
B2,blank,,,FIL,L1,,,,,field
B3,blank,,,FIL,L1,,,,,media
` + lab("", "96,ug,1", append(found("4,ug,1", "2,ug,1"), "B3,Quillite,60,ug,1")...), []fact{{"concentration S1 Quillite blank", 3}}},
		{"a void blank does not count", `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,void
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,
B1,blank,,,FIL,L1,,,,,
B2,blank,,,FIL,L1,,,,,
B3,blank,,,FIL,L1,,,,,left open in the hall
` + lab("", "96,ug,1", append(found("4,ug,1", "2,ug,1"), "B3,Quillite,60,ug,1")...), []fact{{"concentration S1 Quillite blank", 3}}},
		{"not where the laboratory applied it", lab(",blank_applied", "96,ug,1,yes", "B1,Quillite,4,ug,1,", "B2,Quillite,2,ug,1,"), []fact{
			{"concentration S1 Quillite mass", 96}, {"concentration S1 Quillite uncorrected", 96}, {"finding no-matching-blank", absent},
		}},
		{"not where the survey says none", setting("blank_correction", "none") + lab("", "96,ug,1", found("4,ug,1", "2,ug,1")...), []fact{
			{"concentration S1 Quillite mass", 96},
		}},
		{"no matching blank: uncorrected, with a finding", `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,L9,W1,D,2026-03-02 07:00,2026-03-02 15:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
` + lab("", "96,ug,1", found("4,ug,1", "2,ug,1")...), []fact{
			{"concentration S1 Quillite mass", 96}, {"concentration S1 Quillite blank", nil},
			{"finding no-matching-blank severity", "check"}, {"finding no-matching-blank subject", has("S1")},
		}},
		{"a corrected detect under R is a non-detect at R", lab("", "12,ug,10", found("4,ug,1", "4,ug,1")...), []fact{ // 12 - 4 = 8 < 10
			{"concentration S1 Quillite mass_low", 0}, {"concentration S1 Quillite mass", 5}, {"concentration S1 Quillite mass_high", 10},
			{"concentration S1 Quillite uncorrected", 12}, {"concentration S1 Quillite open", true},
		}},
		{"a corrected detect at R stays one", lab("", "14,ug,10", found("4,ug,1", "4,ug,1")...), []fact{
			{"concentration S1 Quillite mass_low", 10}, {"concentration S1 Quillite mass_high", 10},
		}},
		{"a corrected detect just under R does not", lab("", "13.999,ug,10", found("4,ug,1", "4,ug,1")...), []fact{
			{"concentration S1 Quillite mass_low", 0}, {"concentration S1 Quillite mass_high", 10},
		}},
		{"J stays a detect after the correction", lab(",qualifier", "6,ug,10,J", "B1,Quillite,2,ug,1,", "B2,Quillite,2,ug,1,"), []fact{
			{"concentration S1 Quillite mass_low", 4}, {"concentration S1 Quillite mass", 4}, {"concentration S1 Quillite mass_high", 4},
		}},
		{"correction never lowers a non-detect's R", lab("", "<12,ug,12", found("4,ug,1", "4,ug,1")...), []fact{
			{"concentration S1 Quillite mass_low", 0}, {"concentration S1 Quillite mass", 6}, {"concentration S1 Quillite mass_high", 12},
		}},
		{"a detect without R that the blank takes to nothing: stop", lab("", "4,ug,", found("5,ug,1", "5,ug,1")...), []fact{
			{"finding nothing-left severity", "stop"}, {"exposure D Quillite twa8", absent},
		}},
	})
}

// twoMedia is a lot L1 used on two media rows, as one kind of filter is on an
// open cassette and on a cyclone.
const twoMedia = `
-- media --
medium,target_flow_lpm,form
FIL,2,
CYC,2,respirable
`

func TestWhichBlankMatches(t *testing.T) {
	run(t, []rule{
		{"one lot is one medium even with several media rows", twoMedia + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,CYC,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
` + lab("", "96,ug,1", "B1,Quillite,4,ug,1", "B2,Quillite,4,ug,1"), []fact{
			{"concentration S1 Quillite/respirable mass", 92}, {"finding no-matching-blank", absent},
		}},
		{"medium and form decide where a lot has blanks of several", twoMedia + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,CYC,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
B3,blank,,,CYC,L1,,,,
B4,blank,,,CYC,L1,,,,
` + lab("", "96,ug,1", "B1,Quillite,40,ug,1", "B2,Quillite,40,ug,1", "B3,Quillite,4,ug,1", "B4,Quillite,4,ug,1"), []fact{
			{"concentration S1 Quillite/respirable mass", 92},
		}},
		{"without a lot: the same medium", twoMedia + `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,,W1,D,2026-03-02 07:00,2026-03-02 15:00
B1,blank,,,FIL,,,,,
B2,blank,,,FIL,,,,,
B3,blank,,,CYC,,,,,
B4,blank,,,CYC,,,,,
` + lab("", "96,ug,1", "B1,Quillite,4,ug,1", "B2,Quillite,4,ug,1", "B3,Quillite,40,ug,1", "B4,Quillite,40,ug,1"), []fact{
			{"concentration S1 Quillite mass", 92},
		}},
		{"front blanks correct fronts, back blanks backs", `
-- lab --
sample,analyte,result,unit,reporting_limit,section
S1,Quillite,96,ug,1,front
S1,Quillite,9,ug,1,back
B1,Quillite,6,ug,1,front
B1,Quillite,2,ug,1,back
B2,Quillite,6,ug,1,front
B2,Quillite,4,ug,1,back
`, []fact{{"concentration S1 Quillite mass", (96 - 6) + (9 - 3)}, {"concentration S1 Quillite uncorrected", 105}}},
	})
}

func TestGravimetric(t *testing.T) {
	// invented weighings; B1 lost 20 µg and B2 gained 10: their mean is -5 µg
	weighed := func(post string) string {
		return `
-- lab --
sample,analyte,result,unit,reporting_limit,section
S1,Particulates,31.500,mg,0.05,pre
S1,Particulates,` + post + `,mg,0.05,post
B1,Particulates,31.200,mg,0.05,pre
B1,Particulates,31.180,mg,0.05,post
B2,Particulates,30.900,mg,0.05,pre
B2,Particulates,30.910,mg,0.05,post
`
	}
	byMethod := func(column, s1, b1 string) string {
		return "\n-- lab --\nsample,analyte,result,unit,reporting_limit,qualifier," + column + "\nS1,Particulates,0.96,mg,0.05,," + s1 +
			"\nB1,Particulates," + b1 + "\nB2,Particulates,0.010,mg,0.05,," + s1 + "\n"
	}
	run(t, []rule{
		{"the difference of the weighings, less the blanks' mean with its sign", weighed("31.980"), []fact{
			{"concentration S1 Particulates uncorrected", 480}, {"concentration S1 Particulates blank", -5}, {"concentration S1 Particulates mass", 485},
		}},
		{"not positive, with R: a non-detect at R", weighed("31.490"), []fact{
			{"concentration S1 Particulates mass_low", 0}, {"concentration S1 Particulates mass_high", 50}, {"concentration S1 Particulates mass", 25},
			{"finding negative-weight severity", "check"},
		}},
		{"not positive and no R: stop", `
-- lab --
sample,analyte,result,unit,reporting_limit,section
S1,Particulates,31.500,mg,,pre
S1,Particulates,31.500,mg,,post
S1,Quillite,96,ug,1,
B1,Quillite,<1,ug,1,
B2,Quillite,<1,ug,1,
`, []fact{{"exposure D Particulates twa8", absent}, {"concentration S1 Quillite value", 0.1}}},
		{"the laboratory's method says gravimetric: a negative blank keeps its sign", byMethod("method", "gravimetric after drying", "-0.030,mg,0.05,,gravimetric after drying"), []fact{
			{"concentration S1 Particulates blank", -10}, {"concentration S1 Particulates mass", 970}, // (-30 + 10)/2
		}},
		{"a gravimetric blank under R keeps its number", byMethod("method", "gravimetric", "0.030,mg,0.05,,gravimetric"), []fact{
			{"concentration S1 Particulates blank", 20}, {"concentration S1 Particulates mass", 940}, // (30 + 10)/2
		}},
		{"a gravimetric blank marked U keeps its number", byMethod("method", "gravimetric", "0.030,mg,0.05,U,gravimetric"), []fact{
			{"concentration S1 Particulates blank", 20},
		}},
		{"a gravimetric blank given as <x counts 0", byMethod("method", "gravimetric", "<0.05,mg,0.05,,gravimetric"), []fact{
			{"concentration S1 Particulates blank", 5}, // (0 + 10)/2
		}},
		{"the medium's method says gravimetric where the laboratory gives none", "\n-- media --\nmedium,target_flow_lpm,method\nFIL,2,gravimetric\n" + byMethod("note", "", "0.030,mg,0.05,,"), []fact{
			{"concentration S1 Particulates blank", 20},
		}},
		{"the laboratory's method wins over the medium's", "\n-- media --\nmedium,target_flow_lpm,method\nFIL,2,gravimetric\n" + byMethod("method", "plasma spectrometry", "0.030,mg,0.05,,plasma spectrometry"), []fact{
			{"concentration S1 Particulates blank", 0}, // both blanks under R, so 0
		}},
		{"an analyte with a CAS number is not gravimetric by its method", byMethod("method,cas", "gravimetric,7439-89-6", "0.030,mg,0.05,,gravimetric,7439-89-6"), []fact{
			{"concentration S1 Particulates blank", 0},
		}},
	})
}

func TestLaboratoryConcentrations(t *testing.T) {
	run(t, []rule{
		// 0.12 mg/m3 × 900 L = 108 µg; /960 L = 0.1125 mg/m³
		{"turned back by its own volume, then divided by the final one", lab(",lab_volume_l", "0.12,mg/m3,0.01,900"), []fact{
			{"concentration S1 Quillite mass", 108}, {"concentration S1 Quillite value", 0.1125}, {"finding laboratory-concentration severity", "note"},
		}},
		{"ug/L is mg/m3", lab(",lab_volume_l", "0.12,ug/L,0.01,900"), []fact{{"concentration S1 Quillite value", 0.1125}}},
		{"ug/m3", lab(",lab_volume_l", "120,ug/m3,10,900"), []fact{{"concentration S1 Quillite value", 0.1125}}},
		{"the reporting limit goes the same way", lab(",lab_volume_l", "<0.12,mg/m3,0.12,900"), []fact{{"concentration S1 Quillite high", 0.1125}, {"concentration S1 Quillite low", 0}}},
		{"blank-corrected once it is a mass", lab(",lab_volume_l", "0.12,mg/m3,0.01,900", "B1,Quillite,4,ug,1,", "B2,Quillite,4,ug,1,"), []fact{{"concentration S1 Quillite mass", 104}}},
		{"without the laboratory's volume it cannot be used", lab("", "0.12,mg/m3,0.01"), []fact{{"finding no-laboratory-volume severity", "stop"}, {"exposure D Quillite twa8", absent}}},
		// toluene, MW 92.14: 2 ppm × 92.14/24.45 = 7.5370 mg/m³; × 10 L = 75.370 µg
		{"ppm by the molecular weight", lab(",lab_volume_l,cas", "96,ug,1,,", "S1,Toluene,2,ppm,0.1,10,108-88-3"), []fact{
			{"concentration S1 Toluene mass", 2 * 92.14 / 24.45 * 10},
		}},
	})
}
