package exposure_test

import (
	"math"
	"testing"
)

// The rules for comparing with limits: which average meets which limit, what
// equality means, error bounds, and when nothing may be called below.

// limit is a limits table; a row is "kind value" or "kind value unit", with
// further columns after a comma.
func limitRows(columns string, rows ...string) string {
	text := "\n-- limits --\nanalyte,authority,kind,value,unit" + columns + "\n"
	for _, r := range rows {
		text += "Quillite,House," + r + "\n"
	}
	return text
}

func TestWhichAverageMeetsWhichLimit(t *testing.T) {
	all := limitRows("", "TWA8,1,mg/m3", "TWA10,1,mg/m3", "ACTION,0.5,mg/m3")
	run(t, []rule{
		{"eight hours", all, []fact{
			{"comparison D Quillite twa8 TWA8 fraction", 0.1}, {"comparison D Quillite twa8 ACTION fraction", 0.2}, {"comparison D Quillite shift TWA10 fraction", 0.1},
			{"comparison D Quillite worst8 TWA8", absent}, {"comparison D Quillite shift TWA8", absent}, {"comparison D Quillite twa8 TWA10", absent},
		}},
		// ten hours at 0.1: dose/480 = 0.125; worst 8 h and shift 0.1
		{"ten hours: also the worst eight, TWA10 by the shift", all + spans("D,W1,2026-03-02 07:00,2026-03-02 17:00,", "S1 07:00 17:00 120"), []fact{
			{"comparison D Quillite twa8 TWA8 fraction", 0.125}, {"comparison D Quillite worst8 TWA8 fraction", 0.1},
			{"comparison D Quillite twa8 ACTION fraction", 0.25}, {"comparison D Quillite worst8 ACTION fraction", 0.2},
			{"comparison D Quillite shift TWA10 fraction", 0.1}, {"comparison D Quillite twa10 TWA10", absent},
			{"finding worst-8-hours-differ", absent},
		}},
		// twelve hours at 0.1: dose/600 = 0.12
		{"twelve hours: TWA10 by the dose over ten", all + spans(twelveHours, "S1 07:00 19:00 144"), []fact{
			{"comparison D Quillite twa10 TWA10 fraction", 0.12}, {"comparison D Quillite shift TWA10", absent},
		}},
		// twelve hours at 0.1: dose/480 = 0.15 against 0.12, the worst eight hours 0.1
		{"a finding where dose and worst eight hours disagree", limitRows("", "TWA8,0.12,mg/m3") + spans(twelveHours, "S1 07:00 19:00 144"), []fact{
			{"comparison D Quillite twa8 TWA8 outcome", "above"}, {"comparison D Quillite worst8 TWA8 outcome", "below"},
			{"finding worst-8-hours-differ severity", "check"}, {"finding worst-8-hours-differ subject", has("S1")},
			{"finding worst-8-hours-differ message", has("above")}, {"finding worst-8-hours-differ message", has("below")},
		}},
		{"a limit in another unit", limitRows("", "TWA8,500,ug/m3"), []fact{
			{"comparison D Quillite twa8 TWA8 value", 100}, {"comparison D Quillite twa8 TWA8 limit", 500}, {"comparison D Quillite twa8 TWA8 fraction", 0.2},
		}},
	})
}

func TestEquality(t *testing.T) {
	run(t, []rule{
		{"at a user's limit is not over it", limitRows("", "TWA8,0.1,mg/m3"), []fact{{"comparison D Quillite twa8 TWA8 outcome", "below"}}},
		{"at a user's action level is over it", limitRows("", "ACTION,0.1,mg/m3"), []fact{{"comparison D Quillite twa8 ACTION outcome", "above"}}},
		{"within 1e-9 counts as at", limitRows("", "TWA8,0.09999999995,mg/m3", "ACTION,0.10000000005,mg/m3"), []fact{
			{"comparison D Quillite twa8 TWA8 outcome", "below"}, {"comparison D Quillite twa8 ACTION outcome", "above"},
		}},
		{"a hundred-millionth over is over, under is under", limitRows("", "TWA8,0.099999999,mg/m3", "ACTION,0.100000001,mg/m3"), []fact{
			{"comparison D Quillite twa8 TWA8 outcome", "above"}, {"comparison D Quillite twa8 ACTION outcome", "below"},
		}},
		{"the fraction is not rounded", limitRows("", "TWA8,0.3,mg/m3"), []fact{{"comparison D Quillite twa8 TWA8 fraction", 1 / 3.0}}},
		// <96 µg in 960 L is under 0.1: it never reaches an action level of 0.1
		{"<x at an action level of x is below: it is under, not at", lab("", "<96,ug,96") + limitRows("", "ACTION,0.1,mg/m3", "TWA8,0.1,mg/m3"), []fact{
			{"comparison D Quillite twa8 ACTION high", 1}, {"comparison D Quillite twa8 ACTION outcome", "below"}, {"comparison D Quillite twa8 TWA8 outcome", "below"},
		}},
		{"<x over a limit under x is undecided", lab("", "<96,ug,96") + limitRows("", "TWA8,0.09,mg/m3"), []fact{
			{"comparison D Quillite twa8 TWA8 low", 0}, {"comparison D Quillite twa8 TWA8 high", 0.1 / 0.09}, {"comparison D Quillite twa8 TWA8 outcome", "undecided"},
		}},
		// flow from 2 to 1.8: 96/960 = 0.1 to 96/864 = 0.1111: closed at its bound
		{"a closed upper bound at an action level reaches it", drifted + limitRows("", "ACTION,0.11111111111111,mg/m3"), []fact{
			{"comparison D Quillite twa8 ACTION outcome", "undecided"},
		}},
		{"at least x at a limit of x says nothing", lab(",qualifier", "96,ug,1,E") + limitRows("", "TWA8,0.1,mg/m3", "ACTION,0.1,mg/m3"), []fact{
			{"comparison D Quillite twa8 TWA8 outcome", "undecided"}, {"comparison D Quillite twa8 ACTION outcome", "above"}, {"comparison D Quillite twa8 TWA8 high", unbounded},
		}},
	})
}

func TestLibraryEquality(t *testing.T) {
	// 29 CFR 1910.1018(b),(c),(e)(3): inorganic arsenic's action level 5 µg/m³ is met only above it;
	// 1910.1026(b): chromium (VI)'s 2.5 at it. 4.8 µg and 2.4 µg in 960 L are 5 and 2.5 µg/m³.
	text := "\n-- survey --\nitem,value\nauthorities,OSHA\n" + lab("", "96,ug,1", "S1,Inorganic arsenic,4.8,ug,0.1", "S1,Chromium (VI),2.4,ug,0.1")
	run(t, []rule{{"which side equality falls on is the library's", text, []fact{
		{"comparison D Inorganic_arsenic twa8 OSHA:ACTION outcome", "below"}, {"comparison D Chromium_(VI) twa8 OSHA:ACTION outcome", "above"},
	}}})
}

func TestWhenNothingIsBelow(t *testing.T) {
	sixHours := "S1 07:00 13:00 72"   // 0.1 for 360 of 480 min; zero 0.075, same 0.1
	threeHours := "S1 07:00 10:00 36" // 37.5 %
	run(t, []rule{
		{"above by default policy must hold under zero too", limitRows("", "TWA8,0.09,mg/m3") + spans(eightHours, sixHours), []fact{
			{"comparison D Quillite twa8 TWA8 fraction", 0.1 / 0.09}, {"comparison D Quillite twa8 TWA8 outcome", "undecided"},
		}},
		{"and is above where it does", limitRows("", "TWA8,0.07,mg/m3") + spans(eightHours, sixHours), []fact{{"comparison D Quillite twa8 TWA8 outcome", "above"}}},
		{"a stated policy stands alone", limitRows("", "TWA8,0.09,mg/m3") + spans(eightHours+"same", sixHours), []fact{{"comparison D Quillite twa8 TWA8 outcome", "above"}}},
		{"below by default policy must hold under same too", setting("unsampled", "zero") + limitRows("", "TWA8,0.09,mg/m3") + spans(eightHours, sixHours), []fact{
			{"comparison D Quillite twa8 TWA8 fraction", 0.075 / 0.09}, {"comparison D Quillite twa8 TWA8 outcome", "undecided"},
		}},
		{"a stated zero stands alone", setting("unsampled", "zero") + limitRows("", "TWA8,0.09,mg/m3") + spans(eightHours+"zero", sixHours), []fact{
			{"comparison D Quillite twa8 TWA8 outcome", "below"},
		}},
		{"under the least coverage there is no below", limitRows("", "TWA8,10,mg/m3") + spans(eightHours, threeHours), []fact{
			{"comparison D Quillite twa8 TWA8 outcome", "undecided"}, {"finding coverage-low severity", "check"},
		}},
		{"but there is an above", limitRows("", "TWA8,0.03,mg/m3") + spans(eightHours, threeHours), []fact{{"comparison D Quillite twa8 TWA8 outcome", "above"}}},
		{"unless the shift states its policy", limitRows("", "TWA8,10,mg/m3") + spans(eightHours+"zero", threeHours), []fact{{"comparison D Quillite twa8 TWA8 outcome", "below"}}},
		{"or gaps rows cover the rest", limitRows("", "TWA8,10,mg/m3") + spans(eightHours, threeHours) + gap("10:00 15:00 zero"), []fact{{"comparison D Quillite twa8 TWA8 outcome", "below"}}},
		{"gaps rows that leave a minute do not", limitRows("", "TWA8,10,mg/m3") + spans(eightHours, threeHours) + gap("10:01 15:00 zero"), []fact{{"comparison D Quillite twa8 TWA8 outcome", "undecided"}}},
		{"exactly the least coverage is enough", limitRows("", "TWA8,10,mg/m3") + spans(eightHours, "S1 07:00 12:36 67.2"), []fact{ // 336/480 = 70 %
			{"exposure D Quillite twa8 coverage", 70}, {"comparison D Quillite twa8 TWA8 outcome", "below"}, {"finding coverage-low", absent},
		}},
		{"the survey's own least coverage", setting("min_coverage_pct", "30") + limitRows("", "TWA8,10,mg/m3") + spans(eightHours, threeHours), []fact{
			{"comparison D Quillite twa8 TWA8 outcome", "below"},
		}},
	})
}

// consecutive is the OSHA field-manual's example of consecutive samples:
// 3005 µg in 480 L and 2457 µg in 420 L, 6.26 and 5.85 mg/m³ over 240 and
// 210 min, a shift of the 450 min sampled, limit 5 mg/m³, SAE 0.23. Source:
// Boss & Day, Air Sampling and Industrial Hygiene Engineering, chapter 4,
// 4.6.3 and 4.6.4. The laboratory's masses are chosen to give its printed
// concentrations: 6.26 × 480 and 5.85 × 420.
func consecutive(sae string) string {
	return setting("shift_min", "450") + spans("", "S1 07:00 11:00 3004.8", "S2 11:00 14:30 2457") +
		limitRows(",sae", "TWA10,5,mg/m3,"+sae, "ACTION,5,mg/m3,"+sae)
}

func TestSamplingAndAnalyticalError(t *testing.T) {
	y := (6.26*240 + 5.85*210) / 450 / 5
	h := 0.23 * math.Hypot(6.26*240, 5.85*210) / (5 * 450)
	run(t, []rule{
		// the same manual, 4.6.2: 6.07 against 5, Y = 1.214, bounds 0.984 and 1.444: possible overexposure
		{"one sample: Y ± SAE", lab("", "5827.2,ug,1") + limitRows(",sae", "TWA8,5,mg/m3,0.23"), []fact{
			{"comparison D Quillite twa8 TWA8 sae", 0.23}, {"comparison D Quillite twa8 TWA8 lcl", 1.214 - 0.23}, {"comparison D Quillite twa8 TWA8 ucl", 1.214 + 0.23},
			{"comparison D Quillite twa8 TWA8 outcome", "undecided"},
		}},
		{"consecutive samples: the exact band flips the class", consecutive("0.23"), []fact{
			{"comparison W1_2026-03-02 Quillite shift TWA10 fraction", y}, {"comparison W1_2026-03-02 Quillite shift TWA10 lcl", y - h}, {"comparison W1_2026-03-02 Quillite shift TWA10 ucl", y + h},
			{"comparison W1_2026-03-02 Quillite shift TWA10 outcome", "above"}, // 1.0153 to 1.4121
		}},
		{"the simple band stands where it decides", consecutive("0.1"), []fact{
			{"comparison W1_2026-03-02 Quillite shift TWA10 lcl", y - 0.1}, {"comparison W1_2026-03-02 Quillite shift TWA10 outcome", "above"},
		}},
		{"never for an action level", consecutive("0.23"), []fact{
			{"comparison W1_2026-03-02 Quillite twa8 ACTION sae", nil}, {"comparison W1_2026-03-02 Quillite twa8 ACTION lcl", nil},
			{"comparison W1_2026-03-02 Quillite twa8 ACTION outcome", "above"},
		}},
		{"the limit's before the medium's", "\n-- media --\nmedium,target_flow_lpm,sae,cv\nFIL,2,0.3,0.1\n" + limitRows(",sae", "TWA8,1,mg/m3,0.2"), []fact{
			{"comparison D Quillite twa8 TWA8 sae", 0.2},
		}},
		{"the medium's before 1.645 cv", "\n-- media --\nmedium,target_flow_lpm,sae,cv\nFIL,2,0.3,0.1\n", []fact{{"comparison D Quillite twa8 TWA8 sae", 0.3}}},
		{"1.645 times the cv", "\n-- media --\nmedium,target_flow_lpm,cv\nFIL,2,0.1\n", []fact{{"comparison D Quillite twa8 TWA8 sae", 0.1645}}},
		{"the laboratory's cv", lab(",cv", "96,ug,1,0.08"), []fact{{"comparison D Quillite twa8 TWA8 sae", 0.08 * 1.645}}},
		{"none known: no band", "", []fact{{"comparison D Quillite twa8 TWA8 sae", nil}, {"comparison D Quillite twa8 TWA8 lcl", nil}, {"comparison D Quillite twa8 TWA8 ucl", nil}}},
		{"ucl of exactly 1 is below", limitRows(",sae", "TWA8,0.125,mg/m3,0.2"), []fact{ // 0.8 + 0.2
			{"comparison D Quillite twa8 TWA8 ucl", 1}, {"comparison D Quillite twa8 TWA8 outcome", "below"},
		}},
		// <96 in 960 L against 0.2: fraction 0 to 0.5, value 0.25
		{"a band never narrows the interval", lab("", "<96,ug,96") + limitRows(",sae", "TWA8,0.2,mg/m3,0.1"), []fact{
			{"comparison D Quillite twa8 TWA8 lcl", -0.1}, {"comparison D Quillite twa8 TWA8 ucl", 0.6}, {"comparison D Quillite twa8 TWA8 high", 0.5},
		}},
		{"no upper bound, no ucl", lab(",qualifier", "96,ug,1,E") + limitRows(",sae", "TWA8,1,mg/m3,0.1"), []fact{
			{"comparison D Quillite twa8 TWA8 ucl", nil}, {"comparison D Quillite twa8 TWA8 lcl", 0}, {"comparison D Quillite twa8 TWA8 outcome", "undecided"},
		}},
	})
}

// TestErrorWeights holds the weights of the exact band to those of the value
// itself: unsampled minutes filled with the sampled mean weigh too.
func TestErrorWeights(t *testing.T) {
	// 180 min at 1.6 and 180 at 1.2 of 480: mean 1.4 fills 120. Y = 1.4/1.18 = 1.1864, less 0.2 is under 1.
	// Each sample has 180 + 60 min of weight: h = 0.2 × √((240 × 1.6)² + (240 × 1.2)²)/480/1.18 = 0.1695
	h := 0.2 * 240 * math.Hypot(1.6, 1.2) / 480 / 1.18
	parts := `
-- derived --
derived,analyte,factor
Blend,Iron,1
Blend,Marrite,2
-- media --
medium,target_flow_lpm,sae
FIL,2,
` + lab(",cv", "96,ug,1,", "S1,Iron,960,ug,1,0.1", "S1,Marrite,480,ug,1,0.05", "B1,Iron,<1,ug,1,", "B2,Iron,<1,ug,1,", "B1,Marrite,<1,ug,1,", "B2,Marrite,<1,ug,1,") + `
-- limits --
analyte,authority,kind,value,unit
Blend,House,TWA8,1.9,mg/m3
`
	run(t, []rule{
		{"with the shift's policy", limitRows(",sae", "TWA8,1.18,mg/m3,0.2") + spans(eightHours+"same", "S1 07:00 10:00 576", "S2 10:00 13:00 432"), []fact{
			{"comparison D Quillite twa8 TWA8 fraction", 1.4 / 1.18}, {"comparison D Quillite twa8 TWA8 lcl", 1.4/1.18 - h},
			{"comparison D Quillite twa8 TWA8 outcome", "above"}, // 1.0169
		}},
		// without the fill 180 min each: h = 0.2 × 180 × 2/480/0.9; Y = 1.05/0.9
		{"with a stated zero", limitRows(",sae", "TWA8,0.9,mg/m3,0.2") + spans(eightHours+"zero", "S1 07:00 10:00 576", "S2 10:00 13:00 432"), []fact{
			{"comparison D Quillite twa8 TWA8 lcl", 1.05/0.9 - 0.2*180*2/480/0.9},
		}},
		{"a derived analyte's parts each bring their own", parts, []fact{
			{"comparison D Blend twa8 TWA8 fraction", 2 / 1.9}, {"comparison D Blend twa8 TWA8 sae", 1.645 * 0.1}, {"comparison D Blend twa8 TWA8 outcome", "undecided"},
		}},
	})
}

func TestLead(t *testing.T) {
	// 29 CFR 1910.1025(c)(2): 400/hours over 8 hours; the action level of 30 stays.
	osha := "\n-- survey --\nitem,value\nauthorities,OSHA\n"
	lead := func(ug string) string {
		return osha + spans("D,W1,2026-03-02 07:00,2026-03-02 17:00,", "S1 07:00 17:00 1") + lab("", "1,ug,1", "S1,Lead,"+ug+",ug,0.1")
	}
	run(t, []rule{
		// 50.4 µg / 1200 L = 42 µg/m³ over ten hours, limit 40; dose over 8 h 52.5
		{"ten hours: the mean against 40", lead("50.4"), []fact{
			{"comparison D Lead shift OSHA:TWA8 limit", 40}, {"comparison D Lead shift OSHA:TWA8 value", 42}, {"comparison D Lead shift OSHA:TWA8 fraction", 1.05},
			{"comparison D Lead shift OSHA:TWA8 outcome", "above"}, {"comparison D Lead twa8 OSHA:ACTION limit", 30}, {"comparison D Lead twa8 OSHA:ACTION value", 52.5},
		}},
		{"the same as the dose over 8 hours against 50", lead("48"), []fact{ // 40 µg/m³; 400/480 × 600 = 50
			{"comparison D Lead shift OSHA:TWA8 fraction", 1}, {"comparison D Lead shift OSHA:TWA8 outcome", "below"},
		}},
		{"eight hours: 50", osha + lab("", "1,ug,1", "S1,Lead,40.32,ug,0.1"), []fact{ // 42 µg/m³
			{"comparison D Lead twa8 OSHA:TWA8 limit", 50}, {"comparison D Lead twa8 OSHA:TWA8 fraction", 0.84},
		}},
		{"a user's row is compared as its kind says", lead("50.4") + "\n-- limits --\nanalyte,authority,kind,value,unit\nLead,OSHA,TWA8,50,ug/m3\n", []fact{
			{"comparison D Lead twa8 OSHA:TWA8 limit", 50}, {"comparison D Lead twa8 OSHA:TWA8 value", 52.5}, {"comparison D Lead shift OSHA:TWA8", absent},
		}},
	})
}

func TestWhoseLimit(t *testing.T) {
	osha := func(sector string) string {
		return "\n-- survey --\nitem,value\nauthorities,OSHA\nsector," + sector + "\n"
	}
	iron := lab(",cas", "96,ug,1,", "S1,Iron,960,ug,1,7439-89-6")
	run(t, []rule{
		{"the user's wins for that analyte, authority and kind only", "\n-- survey --\nitem,value\nauthorities,OSHA\n" +
			lab("", "1,ug,1", "S1,Lead,9.6,ug,0.1") + "\n-- limits --\nanalyte,authority,kind,value,unit\nLead,OSHA,TWA8,20,ug/m3\n", []fact{
			{"comparison D Lead twa8 OSHA:TWA8 limit", 20}, {"comparison D Lead twa8 OSHA:ACTION limit", 30}, // the library's action level stays
		}},
		{"another authority's stays", "\n-- survey --\nitem,value\nauthorities,\"House,OSHA\"\n" +
			lab("", "1,ug,1", "S1,Lead,9.6,ug,0.1") + "\n-- limits --\nanalyte,authority,kind,value,unit\nLead,House,TWA8,20,ug/m3\n", []fact{
			{"comparison D Lead twa8 House:TWA8 limit", 20}, {"comparison D Lead twa8 OSHA:TWA8 limit", 50},
		}},
		{"only the authorities asked for", lab("", "1,ug,1", "S1,Lead,9.6,ug,0.1"), []fact{{"comparison D Lead twa8 OSHA:TWA8", absent}}},
		{"a name with a limit of its own is not another's", "\n-- limits --\nanalyte,authority,kind,value,unit\nQuillite dust,House,TWA8,1,mg/m3\n", []fact{
			{"comparison D Quillite twa8 TWA8", absent},
		}},
		// iron oxide's limit is for Fe2O3 (29 CFR 1910.1000 Table Z-1); iron has none
		{"iron does not meet the limit for its oxide", osha("general") + iron, []fact{{"comparison D Iron twa8 OSHA:TWA8", absent}}},
		// 1.4297 × 960 µg / 960 L against 10 mg/m³ of iron oxide fume
		{"but a derived oxide does", osha("general") + iron + "\n-- derived --\nderived,analyte,factor\nIron oxide fume,Iron,1.4297\n", []fact{
			{"comparison D Iron_oxide_fume twa8 OSHA:TWA8 fraction", 0.14297},
		}},
		{"a limit expressed as something else needs a derived row", "\n-- limits --\nanalyte,authority,kind,value,unit,as\nQuillite,House,TWA8,1,mg/m3,Fe2O3\n", []fact{
			{"comparison D Quillite twa8 TWA8", absent}, {"finding limit-as-differs severity", "check"},
		}},
		// lead: 1910.1025 in general industry, 1926.62 in construction
		{"the sector's own rule: construction", osha("construction") + lab("", "1,ug,1", "S1,Lead,9.6,ug,0.1"), []fact{{"comparison D Lead twa8 OSHA:TWA8 limit", 50}}},
	})
}
