package exposure_test

import (
	"testing"

	"airtally/exposure"
	"airtally/volume"
)

// Nothing is called below a limit on a flow in another unit. Common practice,
// no source; 1 L/min is 1000 mL/min.
func TestFlowInAnotherUnitMakesNoVolume(t *testing.T) {
	left := []fact{
		{"sample S1 volume", nil}, {"sample S1 flow", nil}, {"sample S1 minutes", 480},
		{"comparison D Quillite twa8 House:TWA8 outcome", absent},
		{"finding flow-unit severity", "stop"}, {"finding flow-unit count", 1},
	}
	withUnit := func(rows string) string {
		return "\n-- flows --\ntrain,leg,stage,readings,unit,device,taken_at\n" + rows
	}
	run(t, []rule{
		{"the pre check, told at its unit", withUnit("T1,A,pre,2000;2000;2000,L/min,M1,2026-03-02 06:30\nT1,A,post,2;2;2,L/min,M1,2026-03-02 15:30\n"),
			append(left, fact{"finding flow-unit cell", "flows!E2"}, fact{"sample S1 pre", 2000})},
		{"the post check", withUnit("T1,A,pre,2;2;2,L/min,M1,2026-03-02 06:30\nT1,A,post,0.002;0.002;0.002,L/min,M1,2026-03-02 15:30\n"),
			append(left, fact{"finding flow-unit cell", "flows!E3"})},
		{"without a target, by the other check", "\n-- media --\nmedium\nFIL\n" + withUnit("T1,A,pre,2;2;2,L/min,M1,2026-03-02 06:30\nT1,A,post,2000;2000;2000,L/min,M1,2026-03-02 15:30\n"), left},
		{"four times low and then four times high is a drift, not a unit", withUnit("T1,A,pre,0.5;0.5;0.5,L/min,M1,2026-03-02 06:30\nT1,A,post,8;8;8,L/min,M1,2026-03-02 15:30\n"),
			[]fact{{"finding flow-unit code", absent}, {"finding flow-drift severity", "check"}, {"sample S1 flow", 4.25}}},
		// means of 2.01 and 30.2, 15.02 times apart
		{"without a target, just over fifteen times apart", "\n-- media --\nmedium\nFIL\n" + withUnit("T1,A,pre,1.99;2;2.04,L/min,M1,2026-03-02 06:30\nT1,A,post,30.2;30.2;30.2,L/min,M1,2026-03-02 15:30\n"), left},
		{"one reading alone is told at the readings", withUnit("T1,A,pre,2;2;0.002,L/min,M1,2026-03-02 06:30\nT1,A,post,2;2;2,L/min,M1,2026-03-02 15:30\n"),
			[]fact{{"finding flow-unit severity", "check"}, {"finding flow-unit cell", "flows!D2"}, {"comparison D Quillite twa8 House:TWA8 outcome", "below"}}},
	})
}

// A reader who edits a reading into another unit, or out of it, reads no number
// that a fresh reduction would not give.
func TestEditedFlowUnit(t *testing.T) {
	s, _ := readText(t, plain)
	l := ledgerOf(reduceSurvey(t, s))
	scale := func(k float64) {
		for i := range s.Flows[1].Readings {
			s.Flows[1].Readings[i] *= volume.LitresPerMinute(k)
		}
	}
	scale(1000)
	l.workOut()
	if got := l.known[name{over8h, "value_mgm3"}]; got.Text != exposure.Stale {
		t.Errorf("the average on a flow in another unit is %s", sayAnswer(got))
	}
	wrong := ledgerOf(reduceSurvey(t, s))
	scale(0.001)
	wrong.workOut()
	if got := wrong.known[name{"sample S1", "follows"}]; got.Number != 0 {
		t.Errorf("a flow back in its unit, and the sample without volume still stands: %s", sayAnswer(got))
	}
}
