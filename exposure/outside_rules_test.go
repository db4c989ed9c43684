package exposure_test

import "testing"

// Cases that an independent calculation of the rules found worth pinning, each
// worked by hand beside it. All are on plain: 2 L/min, shift D of 480 min, a
// House limit of 1 mg/m³ for Quillite, unless they say otherwise.
func TestCasesOfAnIndependentCalculation(t *testing.T) {
	const samples = "\n-- samples --\nsample,kind,train,leg,medium,lot,worker,shift,start,stop,purpose,run_min\n"
	const lab = "\n-- lab --\nsample,analyte,result,unit,reporting_limit,qualifier\n"
	const derivedLab = "\n-- derived --\nderived,analyte,factor\nSum,Aa,1\nSum,Bb,1\n-- lab --\nsample,analyte,result,unit\n" +
		"S1,Aa,24,ug\nS1,Bb,24,ug\nS2,Aa,24,ug\nS2,Bb,24,ug\n"
	halves := samples + "S1,personal,T1,A,FIL,,W1,D,2026-03-02 07:00,2026-03-02 11:00,,\nS2,personal,T1,A,FIL,,W1,D,2026-03-02 11:00,2026-03-02 15:00,,\n"
	run(t, []rule{
		// 425 min by the timer in 420 by the clock: 96/850 mg/m³ over 425 of 480 min
		{"a timer a little over the clock keeps its minutes", "-- shifts --\nshift,worker,start,end,unsampled\nD,W1,2026-03-02 07:00,2026-03-02 15:00,zero\n" +
			samples + "S1,personal,T1,A,FIL,,W1,D,2026-03-02 07:00,2026-03-02 14:00,,425\n" + lab + "S1,Quillite,96,ug,1,\n", []fact{
			{"exposure D Quillite twa8 sampled", 425}, {"exposure D Quillite twa8 value", 96.0 / 850 * 425 / 480},
		}},
		// 500 min by the timer in a shift of 480: 96/1000 mg/m³ all through
		{"but never more than the shift", samples + "S1,personal,T1,A,FIL,,W1,D,2026-03-02 07:00,2026-03-02 15:00,,500\n" + lab + "S1,Quillite,96,ug,1,\n", []fact{
			{"exposure D Quillite shift sampled", 480}, {"exposure D Quillite shift value", 0.096}, {"exposure D Quillite shift coverage", 100},
		}},
		// the pair averages; the duplicate alone holds 960/960 = 1 mg/m³, 1 × 480/(15 × 32) = 1 over 15 min at least
		{"a duplicate that decides a short-term limit shows", samples +
			"S1,personal,T1,A,FIL,,W1,D,2026-03-02 07:00,2026-03-02 15:00,shift,\nS2,personal,T1,A,FIL,,W1,D,2026-03-02 07:00,2026-03-02 15:00,duplicate,\n" +
			lab + "S1,Quillite,3,ug,1,\nS2,Quillite,960,ug,1,\n" + limitRows("", "STEL,0.5,mg/m3"), []fact{
			{"comparison D Quillite short:S1 STEL outcome", "below"}, {"comparison D Quillite short:S2 STEL outcome", "above"},
		}},
		// Y = 0.04 ± 0.2 is below by itself; only the coverage of 300 of 480 min keeps it undecided
		{"the band of consecutive samples is for a band that does not decide", samples +
			"S1,personal,T1,A,FIL,,W1,D,2026-03-02 07:00,2026-03-02 09:30,,\nS2,personal,T1,A,FIL,,W1,D,2026-03-02 09:30,2026-03-02 12:00,,\n" +
			lab + "S1,Quillite,12,ug,1,\nS2,Quillite,12,ug,1,\n" + limitRows(",sae", "TWA8,1,mg/m3,0.2"), []fact{
			{"comparison D Quillite twa8 TWA8 outcome", "undecided"}, {"comparison D Quillite twa8 TWA8 lcl", 0.04 - 0.2}, {"comparison D Quillite twa8 TWA8 ucl", 0.04 + 0.2},
		}},
		// Sum = 0.1 mg/m³ in both halves against 0.1: h = √2 × 0.2 × 0.5
		{"a derived analyte whose own limit states an error is one term", halves + derivedLab +
			"\n-- limits --\nanalyte,authority,kind,value,unit,sae\nSum,House,TWA8,0.1,mg/m3,0.2\n", []fact{
			{"comparison D Sum twa8 TWA8 fraction", 1}, {"comparison D Sum twa8 TWA8 lcl", 1 - 0.1414213562373}, {"comparison D Sum twa8 TWA8 ucl", 1 + 0.1414213562373},
		}},
		// with errors of the medium each of the four parts is a term: h = √4 × 0.2 × 0.25
		{"one whose medium states it has a term for each part", "-- media --\nmedium,target_flow_lpm,sae\nFIL,2,0.2\n" + halves + derivedLab +
			"\n-- limits --\nanalyte,authority,kind,value,unit\nSum,House,TWA8,0.1,mg/m3\n", []fact{
			{"comparison D Sum twa8 TWA8 lcl", 0.9}, {"comparison D Sum twa8 TWA8 ucl", 1.1},
		}},
		{"over range under R is at least what was read", lab + "S1,Quillite,0.4,ug,0.5,E\n", []fact{
			{"concentration S1 Quillite mass_low", 0.4}, {"concentration S1 Quillite mass_high", unbounded},
		}},
		// 13:00 to 16:30 is 210 min, of which sampling to 14:00 and the shift's end at 15:00 leave 60
		{"a gap cut by sampling and the shift's end is told of", "-- gaps --\nshift,worker,start,end,treat,reason\nD,W1,2026-03-02 13:00,2026-03-02 16:30,zero,cleaning\n" +
			samples + "S1,personal,T1,A,FIL,,W1,D,2026-03-02 07:00,2026-03-02 14:00,,\n" + lab + "S1,Quillite,96,ug,1,\n", []fact{
			{"finding gap-cut message", has("of a gap of 210 min")}, {"finding gap-cut message", has("60 min count")}, {"finding gap-cut subject", "S1, D, W1"},
		}},
		{"a gap that counts whole is not", "-- gaps --\nshift,worker,start,end,treat,reason\nD,W1,2026-03-02 14:00,2026-03-02 15:00,zero,cleaning\n" +
			samples + "S1,personal,T1,A,FIL,,W1,D,2026-03-02 07:00,2026-03-02 14:00,,\n" + lab + "S1,Quillite,96,ug,1,\n", []fact{
			{"finding gap-cut", absent},
		}},
		{"two rows for one limit do not both count", "-- limits + --\nQuillite,House,TWA8,2,mg/m3\n", []fact{
			{"comparison D Quillite twa8 House:TWA8 limit", 1}, {"finding duplicate-id message", has("limit")},
		}},
		{"a second post check is told of", "-- flows + --\nT1,A,post,2.1;2.1;2.1,M1,2026-03-02 15:40\n", []fact{
			{"sample S1 post", 2}, {"finding post-check-unused subject", "S1, T1 A"},
		}},
		{"two samples on one leg at once are told of", "-- samples + --\nS2,personal,T1,A,FIL,L1,W1,D,2026-03-02 09:00,2026-03-02 10:00\n", []fact{
			{"finding leg-shared subject", "S1, S2, T1 A"},
		}},
		{"an authority without limits is told of", "-- survey --\nitem,value\nauthorities,\"House, OHSA\"\n", []fact{
			{"finding unknown-authority message", has("OSHA")},
		}},
		// 480 min at 0.1 mg/m³ allow 3.2 mg/m³ in 15 min
		{"a short-term limit that nothing decides is told of", limitRows("", "STEL,1,mg/m3"), []fact{
			{"comparison D Quillite short:S1 STEL", absent}, {"finding short-term-not-judged message", has("3.2 times the limit in 15 min")},
		}},
		// nominal 2.2; 2.2 before and 1.98 after, −10 %: 88/(2.2 × 480) with bounds by 2.2 and 1.98
		{"a drifted flow widens a nominal volume", "-- media --\nmedium,target_flow_lpm,volume_flow,nominal_flow_lpm\nFIL,2.2,nominal,2.2\n" +
			"-- flows --\ntrain,leg,stage,readings,device,taken_at\nT1,A,pre,2.2;2.2;2.2,M1,2026-03-02 06:30\nT1,A,post,1.98;1.98;1.98,M1,2026-03-02 15:30\n" +
			lab + "S1,Quillite,88,ug,1,\n", []fact{
			{"concentration S1 Quillite value", 88 / (2.2 * 480)}, {"concentration S1 Quillite low", 88 / (2.2 * 480)}, {"concentration S1 Quillite high", 88 / (1.98 * 480)},
		}},
	})
}
