package exposure

import (
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/volume"
)

// exchanged tells of two legs of a train whose checks of one stage, or of both,
// lie each on the target of the other. Common practice, no source: the
// tolerance is that of the targets.
func (u *flowUse) exchanged() {
	byTrain := map[string][]*flowPair{}
	for _, a := range u.made {
		for _, b := range byTrain[a.pre.Train] {
			if a.pre.Leg == b.pre.Leg {
				continue
			}
			var stages []string
			for stage, of := range [][2]*survey.Flow{{a.pre, b.pre}, {a.post, b.post}} {
				if of[0] != nil && of[1] != nil && crossed(a, b, of[0], of[1]) {
					stages = append(stages, survey.Stage(stage).String())
					u.crossed[of[0]], u.crossed[of[1]] = true, true
				}
			}
			if len(stages) > 0 {
				u.tellExchanged(b, a, stages)
			}
		}
		byTrain[a.pre.Train] = append(byTrain[a.pre.Train], a)
	}
}

// crossed reports whether check f of pair a and check g of pair b are off their
// own targets and on each other's.
func crossed(a, b *flowPair, f, g *survey.Flow) bool {
	s, t := a.samples[0], b.samples[0]
	if !s.leg.target.Known || !t.leg.target.Known {
		return false
	}
	p, q := s.actual(f).Flow(), t.actual(g).Flow()
	return offTarget(p, s) && offTarget(q, t) && !offTarget(p, t) && !offTarget(q, s)
}

// offTarget reports whether a flow is off the target of a sample.
func offTarget(flow volume.LitresPerMinute, of *Sample) bool {
	off := volume.DeviationPct(flow, volume.LitresPerMinute(of.leg.target.Value))
	return volume.Over(off, of.leg.tolerance.Value)
}

func (u *flowUse) tellExchanged(a, b *flowPair, stages []string) {
	f, g := a.pre, b.pre
	if stages[0] != "pre" {
		f, g = a.post, b.post
	}
	s, t := a.samples[0], b.samples[0]
	names := subject(slices.Concat(a.samples, b.samples), legName(f), legName(g))
	severity, so := finding.Check, ""
	if s.leg.implausible() || t.leg.implausible() {
		severity, so = finding.Stop, leavesOut
	}
	u.r.findings.AddAs(severity, finding.LegsExchanged, f.Place("leg"), names, finding.Values{"so": so,
		"stages": strings.Join(stages, " and ") + " checks", "a": legName(f), "b": legName(g),
		"flowa": float64(s.actual(f).Flow()), "targeta": s.leg.target.Value,
		"flowb": float64(t.actual(g).Flow()), "targetb": t.leg.target.Value})
}

// fewestVerified is how many adjusted legs must have been read again, and twice
// those that were not, before one lacks a check. Common practice, no source.
const fewestVerified = 3

// verified tells of legs whose flow rests on the adjustment itself, where most
// adjusted legs were read once more. A flow at the pump after it does as well;
// where another leg was not reread either, reverified has told of the train.
func (u *flowUse) verified(unread map[string]bool) {
	var without []*flowPair
	read := 0
	for _, p := range u.made {
		switch {
		case p.pre.Action != survey.Adjusted:
			if u.anyPre(p, p.pre.Leg, func(f *survey.Flow) bool { return f.Action == survey.Adjusted && later(p.pre, f) }) {
				read++
			}
		case !unread[p.pre.Train] && !u.anyPre(p, survey.TotalLeg, func(f *survey.Flow) bool { return later(f, p.pre) }):
			without = append(without, p)
		}
	}
	if read < max(fewestVerified, 2*len(without)) {
		return
	}
	for _, p := range without {
		u.r.findings.Add(finding.NotVerified, p.pre.Place("action"), subject(p.samples, legName(p.pre)), finding.Values{
			"leg": legName(p.pre), "n": read, "of": read + len(without)})
	}
}

// anyPre reports whether any pre check of a leg of the pair's train is as asked.
func (u *flowUse) anyPre(p *flowPair, leg string, as func(*survey.Flow) bool) bool {
	return slices.ContainsFunc(u.book.rows[legKey{p.pre.Train, leg}][survey.Pre], as)
}
