package exposure_test

import "testing"

// The rules for short-term limits, by samples shorter, as long and longer than
// the limit's averaging time, and the rules for mixtures.

func TestShortTermLimits(t *testing.T) {
	stel := limitRows("", "STEL,1,mg/m3")
	// c mg/m³ in t min at 2 L/min is 2·t·c µg
	short := func(samples ...string) string { return spans(eightHours+"zero", samples...) }
	run(t, []rule{
		{"as long as the averaging time, 15 min unless said", stel + short("S1 09:00 09:15 24 short-term"), []fact{ // 0.8
			{"comparison D Quillite short:S1 STEL value", 0.8}, {"comparison D Quillite short:S1 STEL low", 0.8}, {"comparison D Quillite short:S1 STEL high", 0.8},
			{"comparison D Quillite short:S1 STEL outcome", "below"},
		}},
		{"within 10 % of it counts as it", stel + short("S1 09:00 09:14 22.4 short-term"), []fact{ // 0.8, 14 min
			{"comparison D Quillite short:S1 STEL low", 0.8}, {"comparison D Quillite short:S1 STEL high", 0.8}, {"comparison D Quillite short:S1 STEL outcome", "below"},
		}},
		{"exactly 10 % off counts as it", limitRows(",averaging_min", "STEL,1,mg/m3,10") + short("S1 09:00 09:11 17.6 short-term"), []fact{ // 0.8, 11 min
			{"comparison D Quillite short:S1 STEL low", 0.8}, {"comparison D Quillite short:S1 STEL high", 0.8},
		}},
		// 40 min at 0.8: high 0.8 × 40/15, low 0.8 × 40/(15 × 3)
		{"longer: bounds about the value", stel + short("S1 09:00 09:40 64 short-term"), []fact{
			{"comparison D Quillite short:S1 STEL value", 0.8}, {"comparison D Quillite short:S1 STEL high", 0.8 * 40 / 15}, {"comparison D Quillite short:S1 STEL low", 0.8 * 40 / 45},
			{"comparison D Quillite short:S1 STEL outcome", "undecided"},
		}},
		// 30 min is two windows: low 0.8 × 30/30
		{"a whole number of windows", stel + short("S1 09:00 09:30 48 short-term"), []fact{
			{"comparison D Quillite short:S1 STEL low", 0.8}, {"comparison D Quillite short:S1 STEL high", 1.6},
		}},
		// 10 min at 0.9: low = value = 0.9 × 10/15, no upper bound
		{"shorter: a lower bound", stel + short("S1 09:00 09:10 18 short-term"), []fact{
			{"comparison D Quillite short:S1 STEL value", 0.6}, {"comparison D Quillite short:S1 STEL low", 0.6}, {"comparison D Quillite short:S1 STEL high", unbounded},
			{"comparison D Quillite short:S1 STEL outcome", "undecided"},
		}},
		// 10 min at 1.8: 1.2 of the limit at the least
		{"shorter, and yet above", stel + short("S1 09:00 09:10 36 short-term"), []fact{{"comparison D Quillite short:S1 STEL outcome", "above"}}},
		{"the limit's own averaging time", limitRows(",averaging_min", "STEL,1,mg/m3,30") + short("S1 09:00 09:15 24 short-term"), []fact{
			{"comparison D Quillite short:S1 STEL value", 0.4}, {"comparison D Quillite short:S1 STEL high", unbounded},
		}},
		// 8 min at 0.5 and 7 min at 1.2 with a minute between: 15 min, (4 + 8.4)/15
		{"contiguous ones are joined first", stel + short("S1 09:00 09:08 8 short-term", "S2 09:09 09:16 16.8 short-term"), []fact{
			{"comparison D Quillite short:S1+S2 STEL value", 12.4 / 15}, {"comparison D Quillite short:S1+S2 STEL high", 12.4 / 15},
			{"comparison D Quillite short:S1+S2 STEL outcome", "below"}, {"comparison D Quillite short:S1 STEL", absent},
			{"exposure D Quillite short:S1 value", 0.5}, {"exposure D Quillite short:S2 value", 1.2},
		}},
		// 15 min at 1.5 and 15 min at 0.2: 0.85 over 30 min is two windows of at
		// least 0.85 and at most 1.7; the first is over the limit by itself
		{"of contiguous ones, one that is above shows", stel + short("S1 09:00 09:15 45 short-term", "S2 09:15 09:30 6 short-term"), []fact{
			{"comparison D Quillite short:S1+S2 STEL value", 0.85}, {"comparison D Quillite short:S1+S2 STEL low", 0.85},
			{"comparison D Quillite short:S1+S2 STEL high", 1.7}, {"comparison D Quillite short:S1+S2 STEL outcome", "undecided"},
			{"comparison D Quillite short:S1 STEL outcome", "above"}, {"comparison D Quillite short:S2 STEL", absent},
		}},
		{"two minutes apart they are not", stel + short("S1 09:00 09:08 8 short-term", "S2 09:10 09:17 16.8 short-term"), []fact{
			{"comparison D Quillite short:S1+S2 STEL", absent}, {"comparison D Quillite short:S1 STEL high", unbounded}, {"comparison D Quillite short:S2 STEL value", 1.2 * 7 / 15},
		}},
		{"a non-detect", stel + short("S1 09:00 09:15 <24 short-term"), []fact{
			{"comparison D Quillite short:S1 STEL low", 0}, {"comparison D Quillite short:S1 STEL high", 0.8}, {"comparison D Quillite short:S1 STEL outcome", "below"},
		}},
		{"a ceiling without instantaneous data is judged at 15 min", limitRows("", "CEILING,1,mg/m3") + short("S1 09:00 09:15 24 ceiling"), []fact{
			{"comparison D Quillite short:S1 CEILING value", 0.8}, {"comparison D Quillite short:S1 CEILING outcome", "below"}, // 29 CFR 1910.1000(a)(1)
		}},
		{"the shift's coverage and policy do not touch them", stel + spans(eightHours, "S1 09:00 09:15 24 short-term"), []fact{
			{"comparison D Quillite short:S1 STEL outcome", "below"},
		}},
		{"SAE there too", limitRows(",sae", "STEL,1,mg/m3,0.25") + short("S1 09:00 09:15 24 short-term"), []fact{
			{"comparison D Quillite short:S1 STEL lcl", 0.55}, {"comparison D Quillite short:S1 STEL ucl", 1.05}, {"comparison D Quillite short:S1 STEL outcome", "undecided"},
		}},
	})
}

func TestShiftSamplesAgainstShortTermLimits(t *testing.T) {
	// plain: 0.1 over 480 min. Against 15 min: at most 0.1 × 480/15 = 3.2, at least 0.1 × 480/(15 × 32) = 0.1.
	run(t, []rule{
		{"below where all the dose in 15 minutes would be", limitRows("", "STEL,3.3,mg/m3"), []fact{
			{"comparison D Quillite short:S1 STEL outcome", "below"}, {"comparison D Quillite short:S1 STEL high", 3.2 / 3.3}, {"comparison D Quillite short:S1 STEL low", 0.1 / 3.3},
		}},
		{"above where its even share is", limitRows("", "STEL,0.09,mg/m3"), []fact{{"comparison D Quillite short:S1 STEL outcome", "above"}}},
		{"no row between", limitRows("", "STEL,1,mg/m3"), []fact{{"comparison D Quillite short:S1 STEL", absent}}},
		{"a shift sample decides a ceiling", limitRows("", "CEILING,0.09,mg/m3"), []fact{{"comparison D Quillite short:S1 CEILING outcome", "above"}}},
		{"and clears one", limitRows("", "CEILING,3.3,mg/m3"), []fact{{"comparison D Quillite short:S1 CEILING outcome", "below"}}},
		{"or leaves it open", limitRows("", "CEILING,1,mg/m3"), []fact{{"comparison D Quillite short:S1 CEILING", absent}}},
		{"and is no short exposure of its own", limitRows("", "STEL,3.3,mg/m3"), []fact{{"exposure D Quillite short:S1", absent}}},
	})
}

// blend gives three vapours to plain's worker: 0.5, 0.225 and 0.2 of their
// limits (the proportions of 29 CFR 1910.1000(d)(2)(ii)), which add up to 0.925.
func blend(sae string, results ...string) string {
	text := "\n-- mixtures --\nmixture,analyte\nBlend,Arvane\nBlend,Belane\nBlend,Tessine\n" +
		"-- limits --\nanalyte,authority,kind,value,unit,sae\nArvane,House,TWA8,1,mg/m3," + sae + "\nBelane,House,TWA8,0.2,mg/m3," + sae +
		"\nTessine,House,TWA8,0.2,mg/m3," + sae + "\n"
	return text + lab("", "96,ug,1", results...)
}

func TestMixtures(t *testing.T) {
	a, b, c := "S1,Arvane,480,ug,1", "S1,Belane,43.2,ug,1", "S1,Tessine,38.4,ug,1" // 0.5, 0.045, 0.04 mg/m³
	run(t, []rule{
		{"the sum of fractions: the regulation's example", blend("", a, b, c), []fact{
			{"mixture Blend twa8 TWA8 index", 0.925}, {"mixture Blend twa8 TWA8 low", 0.925}, {"mixture Blend twa8 TWA8 high", 0.925}, {"mixture Blend twa8 TWA8 outcome", "below"},
		}},
		{"over 1", blend("", "S1,Arvane,672,ug,1", b, c), []fact{{"mixture Blend twa8 TWA8 index", 1.125}, {"mixture Blend twa8 TWA8 outcome", "above"}}},
		{"exactly 1 is not over", blend("", "S1,Arvane,552,ug,1", b, c), []fact{{"mixture Blend twa8 TWA8 index", 1}, {"mixture Blend twa8 TWA8 outcome", "below"}}},
		// Tessine <38.4: 0 to 0.2
		{"as intervals", blend("", a, b, "S1,Tessine,<38.4,ug,38.4"), []fact{
			{"mixture Blend twa8 TWA8 low", 0.725}, {"mixture Blend twa8 TWA8 index", 0.825}, {"mixture Blend twa8 TWA8 high", 0.925}, {"mixture Blend twa8 TWA8 outcome", "below"},
		}},
		{"undecided where the interval straddles 1", blend("", "S1,Arvane,576,ug,1", b, "S1,Tessine,<38.4,ug,38.4"), []fact{ // 0.825 to 1.025
			{"mixture Blend twa8 TWA8 outcome", "undecided"},
		}},
		{"a missing component makes it unbounded", blend("", a, b), []fact{
			{"mixture Blend twa8 TWA8 low", 0.725}, {"mixture Blend twa8 TWA8 high", unbounded}, {"mixture Blend twa8 TWA8 outcome", "undecided"},
			{"finding mixture-incomplete severity", "check"}, {"finding mixture-incomplete message", has("Tessine")}, {"finding mixture-incomplete subject", has("S1")},
		}},
		{"a missing limit too", blend("", a, b, c) + "\n-- limits --\nanalyte,authority,kind,value,unit\nArvane,House,TWA8,1,mg/m3\nBelane,House,TWA8,0.2,mg/m3\n", []fact{
			{"mixture Blend twa8 TWA8 high", unbounded}, {"finding mixture-incomplete", true},
		}},
		{"unbounded, and yet above", blend("", "S1,Arvane,1056,ug,1", b), []fact{{"mixture Blend twa8 TWA8 outcome", "above"}}}, // 1.1 + 0.225
		// Ri = 0.5405, 0.2432, 0.2162; RSt = 0.2 × √(ΣRi²) = 0.2 × 0.63105; index + RSt = 1.0512
		{"with SAE: not below where index + RSt is over 1", blend("0.2", a, b, c), []fact{{"mixture Blend twa8 TWA8 outcome", "undecided"}}},
		// index + 0.05 × 0.63105 = 0.9566
		{"with a small SAE: below", blend("0.05", a, b, c), []fact{{"mixture Blend twa8 TWA8 outcome", "below"}}},
		// 0.7 + 0.225 + 0.2 = 1.125; Ri 0.6222, 0.2, 0.1778; RSt = 0.2 × 0.6773 = 0.1355: 0.9895
		{"with SAE: not above where index - RSt is not over 1", blend("0.2", "S1,Arvane,672,ug,1", b, c), []fact{{"mixture Blend twa8 TWA8 outcome", "undecided"}}},
		// RSt = 0.1 × 0.6773: 1.0573
		{"with a smaller SAE: above", blend("0.1", "S1,Arvane,672,ug,1", b, c), []fact{{"mixture Blend twa8 TWA8 outcome", "above"}}},
		{"for short-term kinds it carries its sample", `
-- mixtures --
mixture,analyte
Blend,Quillite
Blend,Marrite
-- limits --
analyte,authority,kind,value,unit
Quillite,House,STEL,1,mg/m3
Marrite,House,STEL,2,mg/m3
` + spans(eightHours, "S1 09:00 09:15 15 short-term", "S2 11:00 11:15 24 short-term") + `
-- lab + --
S1,Marrite,12,ug,1
S2,Marrite,18,ug,1
`, []fact{ // 0.5/1 + 0.4/2 and 0.8/1 + 0.6/2
			{"mixture Blend short:S1 STEL index", 0.7}, {"mixture Blend short:S1 STEL outcome", "below"},
			{"mixture Blend short:S2 STEL index", 1.1}, {"mixture Blend short:S2 STEL outcome", "above"}, {"mixture Blend short STEL", absent},
		}},
		{"action levels do not add up", blend("", a, b, c) + "\n-- limits --\nanalyte,authority,kind,value,unit\nArvane,House,ACTION,1,mg/m3\nBelane,House,ACTION,0.2,mg/m3\nTessine,House,ACTION,0.2,mg/m3\n", []fact{
			{"mixture Blend twa8 ACTION", absent},
		}},
		// 480 of 720 min are 66.7 %; 0.2 of the limits over the shift, 0.3 by the dose over 480
		{"coverage holds for mixtures", blend("", "S1,Arvane,48,ug,1", "S1,Belane,14.4,ug,1", "S1,Tessine,14.4,ug,1") + "\n-- shifts --\nshift,worker,start,end\nD,W1,2026-03-02 07:00,2026-03-02 19:00\n", []fact{
			{"mixture Blend twa8 TWA8 index", 0.3}, {"mixture Blend twa8 TWA8 outcome", "undecided"},
		}},
		// 0.925 × 720/480 as sampled is over 1, with the rest at zero it is not
		{"the default policy holds for mixtures", blend("", a, b, c) + "\n-- shifts --\nshift,worker,start,end\nD,W1,2026-03-02 07:00,2026-03-02 19:00\n", []fact{
			{"mixture Blend twa8 TWA8 index", 1.3875}, {"mixture Blend twa8 TWA8 outcome", "undecided"},
		}},
	})
}
