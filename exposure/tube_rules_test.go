package exposure_test

import "testing"

// The rules for two-section tubes and for desorption. Volumes are plain's
// 960 L, which no tube would stand: only the arithmetic is looked at.

// tube is a laboratory table of a tube with two sections, and two blanks of
// which each section has the amount given.
func tube(front, back, blankFront, blankBack string) string {
	text := "\n-- lab --\nsample,analyte,result,unit,reporting_limit,section\n"
	for _, row := range []struct{ sample, section, result string }{
		{"S1", "front", front}, {"S1", "back", back},
		{"B1", "front", blankFront}, {"B2", "front", blankFront}, {"B1", "back", blankBack}, {"B2", "back", blankBack},
	} {
		if row.result != "" {
			text += row.sample + ",Quillite," + row.result + ",ug,2," + row.section + "\n"
		}
	}
	return text
}

func TestTwoSections(t *testing.T) {
	run(t, []rule{
		{"front and back are summed", tube("960", "48", "<2", "<2"), []fact{
			{"concentration S1 Quillite mass", 1008}, {"concentration S1 Quillite mass_high", 1008}, {"concentration S1 Quillite value", 1.05},
			{"finding breakthrough", absent},
		}},
		{"a non-detect back adds 0", tube("960", "<2", "<2", "<2"), []fact{
			{"concentration S1 Quillite mass_low", 960}, {"concentration S1 Quillite mass", 960}, {"concentration S1 Quillite mass_high", 960},
			{"finding breakthrough", absent},
		}},
		{"both non-detect: a non-detect at the front's R", `
-- lab --
sample,analyte,result,unit,reporting_limit,section
S1,Quillite,<4,ug,4,front
S1,Quillite,<2,ug,2,back
B1,Quillite,<4,ug,4,front
B2,Quillite,<4,ug,4,front
B1,Quillite,<2,ug,2,back
B2,Quillite,<2,ug,2,back
`, []fact{
			{"concentration S1 Quillite mass_low", 0}, {"concentration S1 Quillite mass", 2}, {"concentration S1 Quillite mass_high", 4},
			{"finding breakthrough", absent},
		}},
		{"over 10 % of the front: a lower bound", tube("960", "120", "<2", "<2"), []fact{ // 12.5 %
			{"concentration S1 Quillite mass_low", 1080}, {"concentration S1 Quillite mass", 1080}, {"concentration S1 Quillite mass_high", unbounded},
			{"concentration S1 Quillite high", unbounded}, {"finding breakthrough severity", "check"}, {"finding breakthrough subject", has("S1")},
			{"finding breakthrough message", has("12.5 %")}, {"finding breakthrough message", has("10 %")},
		}},
		{"exactly 10 % is not over it", tube("960", "96", "<2", "<2"), []fact{{"concentration S1 Quillite mass_high", 1056}, {"finding breakthrough", absent}}},
		{"the medium's own threshold", "\n-- media --\nmedium,target_flow_lpm,breakthrough_pct\nFIL,2,25\n" + tube("960", "120", "<2", "<2"), []fact{
			{"concentration S1 Quillite mass_high", 1080}, {"finding breakthrough", absent},
		}},
		// 105/1000 = 10.5 %, but (105 - 15)/(1000 - 50) = 9.47 %
		{"judged on blank-corrected sections, which clears it", tube("1000", "105", "50", "15"), []fact{
			{"concentration S1 Quillite mass", 950 + 90}, {"concentration S1 Quillite mass_high", 1040}, {"finding breakthrough", absent},
		}},
		// 98/1000 = 9.8 %, but 98/(1000 - 50) = 10.3 %
		{"judged on blank-corrected sections, which raises it", tube("1000", "98", "50", "<2"), []fact{
			{"concentration S1 Quillite mass_high", unbounded}, {"finding breakthrough", true},
		}},
		{"a non-detect front with a detected back is breakthrough", tube("<2", "30", "<2", "<2"), []fact{
			{"concentration S1 Quillite mass_low", 30}, {"concentration S1 Quillite mass_high", unbounded}, {"finding breakthrough severity", "check"},
		}},
		{"however little it is against the front's R", `
-- lab --
sample,analyte,result,unit,reporting_limit,section
S1,Quillite,<100,ug,100,front
S1,Quillite,4,ug,2,back
B1,Quillite,<2,ug,2,front
B2,Quillite,<2,ug,2,front
B1,Quillite,<2,ug,2,back
B2,Quillite,<2,ug,2,back
`, []fact{{"concentration S1 Quillite mass_low", 4}, {"concentration S1 Quillite mass_high", unbounded}, {"finding breakthrough", true}}},
		{"a back that its blank takes under R adds 0", tube("960", "5", "<2", "4"), []fact{ // 5 - 4 = 1 < 2
			{"concentration S1 Quillite mass_low", 960}, {"concentration S1 Quillite mass_high", 960}, {"concentration S1 Quillite uncorrected", 965},
		}},
		{"whole and sections together have no order: stop", tube("960", "48", "<2", "<2") + "S1,Quillite,1008,ug,2,\n", []fact{
			{"finding sections-mixed severity", "stop"}, {"exposure D Quillite twa8", absent},
		}},
		{"two fronts are duplicates: stop", tube("960", "48", "<2", "<2") + "S1,Quillite,1008,ug,2,front\n", []fact{
			{"finding duplicate-result severity", "stop"}, {"exposure D Quillite twa8", absent},
		}},
	})
}

func TestDesorption(t *testing.T) {
	run(t, []rule{
		{"not divided out where the laboratory did, which is the default", lab(",desorption,desorption_applied", "96,ug,1,0.8,"), []fact{{"concentration S1 Quillite mass", 96}}},
		{"yes said in words", lab(",desorption,desorption_applied", "96,ug,1,0.8,yes"), []fact{{"concentration S1 Quillite mass", 96}}},
		{"divided out where it did not", lab(",desorption,desorption_applied", "96,ug,1,0.8,no"), []fact{
			{"concentration S1 Quillite mass", 120}, {"concentration S1 Quillite value", 0.125},
		}},
		{"after the blank", lab(",desorption,desorption_applied", "96,ug,1,0.8,no", "B1,Quillite,4,ug,1,,", "B2,Quillite,4,ug,1,,"), []fact{
			{"concentration S1 Quillite mass", (96 - 4) / 0.8},
		}},
		// 29 CFR 1910.1045 Appendix D, 10.2 to 10.5: blank-correct each section, add, divide by
		// the efficiency at the front's mass.
		{"the front's efficiency holds for the sum", `
-- lab --
sample,analyte,result,unit,reporting_limit,section,desorption,desorption_applied
S1,Quillite,800,ug,2,front,0.96,no
S1,Quillite,40,ug,2,back,0.90,no
B1,Quillite,<2,ug,2,front,,
B2,Quillite,<2,ug,2,front,,
B1,Quillite,<2,ug,2,back,,
B2,Quillite,<2,ug,2,back,,
`, []fact{{"concentration S1 Quillite mass", 840 / 0.96}}},
		{"a non-detect's limit grows with it", lab(",desorption,desorption_applied", "<12,ug,12,0.8,no"), []fact{
			{"concentration S1 Quillite mass_low", 0}, {"concentration S1 Quillite mass_high", 15},
		}},
		{"to be divided out and not given: stop", lab(",desorption,desorption_applied", "96,ug,1,,no"), []fact{
			{"finding no-desorption severity", "stop"}, {"exposure D Quillite twa8", absent},
		}},
	})
}
