package exposure

import (
	"math"
	"slices"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
	"airtally/volume"
)

const (
	// wholeUnitRatio is from how many times on a whole check is in another unit
	// than its column says: 1 m³/h is 16.7 L/min, 1 ft³/min 28.3, 1 L/h 1/60 and
	// 1 mL/min 1/1000, by definition. No pump drifts as far.
	wholeUnitRatio = 15

	leavesOut = "; no volume is made from it"
	notUsed   = "; a later check is used, and no number rests on it"
)

// otherUnitRatio is from how many times on one reading looks like the other
// unit, mL/min for L/min. Common practice, no source.
var otherUnitRatio = finding.Threshold(finding.FlowUnit)

// oddFlow is a flow that looks like one in another unit.
type oddFlow struct {
	flow  volume.LitresPerMinute
	ratio float64 // to what is expected
	whole bool    // it is the mean of its check
}

// otherUnit returns what looks like another unit in a check of a leg, by the
// target, else by the middle reading: some of its readings, else all of it.
func (l *legFlow) otherUnit(check volume.Check) (oddFlow, bool) {
	expected := l.target.Value
	if !l.target.Known {
		expected = medianReading(l)
	}
	var odd []volume.LitresPerMinute
	for _, q := range check.Readings {
		if beyond(float64(q)/expected, otherUnitRatio) {
			odd = append(odd, q)
		}
	}
	if n := len(odd); n > 0 && n < len(check.Readings) {
		return oddFlow{odd[0], float64(odd[0]) / expected, false}, true
	}
	mean := oddFlow{check.Flow(), float64(check.Flow()) / expected, true}
	if l.target.Known {
		return mean, beyond(mean.ratio, wholeUnitRatio)
	}
	// of two checks that are so far apart, one is half as far from any middle
	return mean, l.implausible() && beyond(mean.ratio, 0.99*math.Sqrt(wholeUnitRatio))
}

// beyond reports whether a ratio is over a limit either way.
func beyond(ratio, limit float64) bool { return ratio > limit || ratio < 1/limit }

func medianReading(leg *legFlow) float64 {
	all := slices.Clone(leg.run.Pre.Readings)
	if leg.run.Post != nil {
		all = append(all, leg.run.Post.Readings...)
	}
	slices.Sort(all)
	return float64(all[len(all)/2])
}

// implausible reports whether a check of a leg is as far off the target, or
// without one off the other check, as one in another unit is.
func (l *legFlow) implausible() bool {
	pre, post := float64(l.run.Pre.Flow()), float64(l.run.Pre.Flow())
	if l.run.Post != nil {
		post = float64(l.run.Post.Flow())
	}
	if l.target.Known {
		return beyond(pre/l.target.Value, wholeUnitRatio) || beyond(post/l.target.Value, wholeUnitRatio)
	}
	return beyond(post/pre, wholeUnitRatio)
}

// inOtherUnit reports whether a reading of either check is in another unit.
func (l *legFlow) inOtherUnit() bool {
	_, pre := l.otherUnit(l.run.Pre)
	if l.run.Post == nil {
		return pre
	}
	_, post := l.otherUnit(*l.run.Post)
	return pre || post
}

// tellUnit tells of a check in another unit. Where that is all of it, its
// samples have no volume: nothing is called below a limit on it. Legs that look
// exchanged are told as such.
func (u *flowUse) tellUnit(f *survey.Flow, odd oddFlow, samples []*Sample) {
	if u.crossed[f] {
		return
	}
	severity, so, column := finding.Check, "", readingColumn(f)
	if odd.whole && f.Text("unit") != "" {
		column = "unit"
	}
	switch {
	case len(u.of(f)) == 0:
		severity, so = finding.Note, notUsed
	case slices.ContainsFunc(samples, func(s *Sample) bool { return s.leg.implausible() }):
		severity, so = finding.Stop, leavesOut
	}
	u.r.findings.AddAs(severity, finding.FlowUnit, f.Place(column), subject(samples, legName(f)), finding.Values{
		"leg": legName(f), "stage": f.Stage.String(), "flow": float64(odd.flow), "ratio": odd.ratio, "so": so})
}

// unusedUnits tells of checks that no sample uses, such as those before an
// adjustment, and that are in another unit than the leg's other checks.
func (u *flowUse) unusedUnits() {
	onLeg := map[legKey][]*Sample{}
	for i := range u.r.samples {
		if s := &u.r.samples[i]; s.leg != nil {
			key := legKey{s.Train, s.Leg}
			onLeg[key] = append(onLeg[key], s)
		}
	}
	for i := range u.r.survey.Flows {
		f := &u.r.survey.Flows[i]
		samples := onLeg[legKey{f.Train, f.Leg}]
		if len(u.of(f)) > 0 || len(samples) == 0 || samples[0].leg.inOtherUnit() {
			continue
		}
		if odd, found := samples[0].leg.otherUnit(volume.Check{Readings: f.Readings}); found {
			u.tellUnit(f, odd, samples)
		}
	}
}

// leaveOut takes the volume from samples with a check in another unit.
func (u *flowUse) leaveOut() {
	for i := range u.r.samples {
		s := &u.r.samples[i]
		if s.leg == nil || !s.leg.implausible() {
			continue
		}
		none := stats.Optional{}
		s.Flow, s.Volume, s.VolumeLow, s.VolumeHigh, s.UVolumeRel = none, none, none, none, none
		s.leg, s.leftOut = nil, s.leg
	}
}
