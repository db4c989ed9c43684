package exposure

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
	"airtally/volume"
)

// Thresholds of the looks for slips in dates, units, lots and names.
var (
	longestHours = finding.Threshold(finding.ShiftLong)
	farthestDays = finding.Threshold(finding.CheckFar)
	lowestShare  = finding.Threshold(finding.LimitTooLow)
	balanceUG    = finding.Threshold(finding.BalanceTooFine)
	fewestLimits = 3 // reporting limits of a report, before their middle says anything
)

// checkSlips looks for rows that can each be read, and cannot stand beside the
// others.
func (r *reduction) checkSlips() {
	r.checkReadings()
	r.checkWritten()
	r.checkFlowTimes()
	r.checkLong()
	r.checkBlankLots()
	r.checkKinds()
	r.checkVoids()
	r.checkReports()
	r.checkNames()
	r.checkLabNames()
	r.checkLimitRows()
	r.checkCAS()
	r.checkProfiles()
	r.checkHistory()
}

// checkFlowTimes looks at the order of flow checks, and at how far they are
// from the samples of their leg.
func (r *reduction) checkFlowTimes() {
	byLeg := map[legKey][]*Sample{}
	for i := range r.samples {
		s := &r.samples[i]
		if s.Kind == survey.Blank || !timed(s.Start) {
			continue
		}
		for _, leg := range []string{s.Leg, survey.TotalLeg} {
			byLeg[legKey{s.Train, leg}] = append(byLeg[legKey{s.Train, leg}], s)
		}
	}
	for i := range r.survey.Flows {
		f := &r.survey.Flows[i]
		if samples := byLeg[legKey{f.Train, f.Leg}]; len(samples) > 0 && timed(f.TakenAt) {
			r.checkNear(f, samples)
		}
		if i > 0 {
			r.checkSteps(&r.survey.Flows[i-1], f)
		}
	}
}

// checkNear tells of a check far from every sample of its leg, and of a pre
// check that came after the start of all.
func (r *reduction) checkNear(f *survey.Flow, samples []*Sample) {
	days, late := math.Inf(1), f.Stage == survey.Pre
	for _, s := range samples {
		days = min(days, math.Abs(f.TakenAt.T.Sub(s.Start.T).Hours()/24), math.Abs(f.TakenAt.T.Sub(s.stop()).Hours()/24))
		late = late && f.TakenAt.T.After(s.Start.T)
	}
	tell := func(code finding.Code) {
		r.findings.Add(code, f.Place("taken_at"), subject(samples, legName(f)), finding.Values{
			"stage": f.Stage.String(), "leg": legName(f), "days": days, "limit": farthestDays, "taken": f.Text("taken_at")})
	}
	switch {
	case over(days, farthestDays):
		tell(finding.CheckFar)
	case late:
		tell(finding.PreUnused)
	}
}

// checkSteps tells of two checks, written one after the other, whose steps and
// times disagree.
func (r *reduction) checkSteps(a, b *survey.Flow) {
	if a.Train != b.Train || a.Stage != b.Stage || !a.Step.Known || !b.Step.Known || a.Step.Value >= b.Step.Value ||
		!timed(a.TakenAt) || !timed(b.TakenAt) || !b.TakenAt.T.Before(a.TakenAt.T) {
		return
	}
	r.findings.Add(finding.StepsDisordered, b.Place("taken_at"), append(slices.Concat(r.onLeg(a), r.onLeg(b)), legName(a), legName(b)),
		finding.Values{"stage": b.Stage.String(), "train": b.Train, "later": b.Step.Value, "laterat": b.Text("taken_at"),
			"earlier": a.Step.Value, "earlierat": a.Text("taken_at")})
}

// checkLong tells of shifts and personal samples over a day long, at the end
// that is further from the times it should be near: those of its samples, of
// its shift or of its flow checks.
func (r *reduction) checkLong() {
	tell := func(start, end survey.Moment, row survey.Ref, last, what string, times func() []time.Time, names ...string) {
		hours := end.T.Sub(start.T).Hours()
		if !timed(start) || !timed(end) || !over(hours, longestHours) {
			return
		}
		at, near := last, times()
		if distance(start.T, near) > distance(end.T, near) {
			at = "start"
		}
		r.findings.Add(finding.ShiftLong, row.Place(at), names, finding.Values{"what": what, "hours": hours, "limit": longestHours})
	}
	for i := range r.survey.Shifts {
		s := &r.survey.Shifts[i]
		tell(s.Start, s.End, s.Ref, "end", "shift "+s.ID+" of worker "+s.Worker, func() []time.Time { return r.timesOfShift(s) }, s.ID, s.Worker)
	}
	for i := range r.samples {
		if s := &r.samples[i]; s.Kind == survey.Personal {
			tell(s.Start, s.Stop, s.Row.Ref, "stop", "sample "+s.ID, func() []time.Time { return r.timesNear(s) }, s.ID)
		}
	}
}

// timesOfShift returns the times of the samples that name a shift.
func (r *reduction) timesOfShift(shift *survey.Shift) []time.Time {
	var all []time.Time
	for i := range r.samples {
		s := &r.samples[i]
		if s.Worker != shift.Worker || s.Row.Shift != shift.ID {
			continue
		}
		for _, m := range []survey.Moment{s.Start, s.Stop} {
			if timed(m) {
				all = append(all, m.T)
			}
		}
	}
	return all
}

// timesNear returns the times of a sample's shift and of its flow checks.
func (r *reduction) timesNear(s *Sample) []time.Time {
	var all []time.Time
	for i := range r.survey.Shifts {
		if shift := &r.survey.Shifts[i]; shift.Worker == s.Worker && shift.ID == s.Row.Shift && timed(shift.Start) && timed(shift.End) {
			all = append(all, shift.Start.T, shift.End.T)
		}
	}
	for i := range r.survey.Flows {
		if f := &r.survey.Flows[i]; f.Train == s.Train && f.Leg == s.Leg && timed(f.TakenAt) {
			all = append(all, f.TakenAt.T)
		}
	}
	return all
}

// distance returns how far a time is from the nearest of others.
func distance(at time.Time, near []time.Time) time.Duration {
	least := time.Duration(math.MaxInt64)
	for _, t := range near {
		least = min(least, at.Sub(t).Abs())
	}
	return least
}

// checkKinds tells of personal and area samples without anything that a sample
// of air has: they look like blanks.
func (r *reduction) checkKinds() {
	for i := range r.samples {
		s := &r.samples[i]
		bare := s.Train == "" && s.Leg == "" && s.Worker == "" && !s.Start.Known && !s.Stop.Known && !s.Row.Run.Known
		if bare && s.Kind != survey.Blank {
			r.findings.Add(finding.LooksBlank, s.Row.Place("kind"), []string{s.ID, s.Row.Lot}, finding.Values{
				"sample": s.ID, "kind": s.Row.Text("kind"), "lot": s.Row.Lot})
		}
	}
}

// elsewhere are words of other columns of samples: no reason why a sample is
// void, but a cell that slipped.
var elsewhere = map[string]string{"field": "blank_type", "media": "blank_type", "ok": "coc_condition", "good": "coc_condition",
	"intact": "coc_condition", "personal": "kind", "area": "kind", "blank": "kind", "shift": "purpose", "short-term": "purpose",
	"ceiling": "purpose", "duplicate": "purpose"}

// checkVoids tells of samples that are void for the word of another column.
func (r *reduction) checkVoids() {
	for i := range r.samples {
		s := &r.samples[i]
		if column := elsewhere[strings.ToLower(strings.TrimSpace(s.Row.VoidBecause))]; s.Row.Void && column != "" {
			r.findings.Add(finding.VoidLooksMoved, s.Row.Place("void"), []string{s.ID}, finding.Values{
				"sample": s.ID, "read": s.Row.VoidBecause, "column": column})
		}
	}
}

// checkBlankLots tells of field blanks that can correct no sample.
func (r *reduction) checkBlankLots() {
	type supply struct{ lot, medium string }
	used := map[supply]bool{}
	var lots []string
	for i := range r.samples {
		if s := &r.samples[i]; s.Kind != survey.Blank {
			used[supply{s.Row.Lot, s.Medium}] = true
			lots = append(lots, s.Row.Lot)
		}
	}
	for i := range r.samples {
		s := &r.samples[i]
		if s.Kind != survey.Blank || s.Void || used[supply{s.Row.Lot, s.Medium}] {
			continue
		}
		near := ""
		if lot := survey.Nearest(s.Row.Lot, distinct(slices.Clone(lots))); lot != "" && lot != s.Row.Lot {
			near = "; the nearest lot of samples is " + lot
		}
		r.findings.Add(finding.BlankUnused, s.Row.Place("lot"), []string{s.ID, s.Row.Lot}, finding.Values{
			"sample": s.ID, "lot": lotText(s), "medium": s.Medium, "near": near})
	}
}

// reportLimits gathers the reporting limits of one report of the laboratory.
type reportLimits struct {
	shares  []float64 // of the strictest limit, in the air sampled
	first   *Concentration
	weighed []*Concentration // whose reporting limit no balance tells
	samples []string
}

// checkReports looks at the reporting limits of each report: they tell its unit.
func (r *reduction) checkReports() {
	if len(r.survey.Lab) > mostWritten {
		return
	}
	reports := map[string]*reportLimits{}
	var order []string
	for i := range r.concentrations {
		c := &r.concentrations[i]
		if c.origin.row == nil || !c.limit.Known || c.Quantity != OfMass {
			continue
		}
		name := c.origin.row.Text("report")
		if reports[name] == nil {
			reports[name] = &reportLimits{}
			order = append(order, name)
		}
		reports[name].add(r, c)
	}
	for _, name := range order {
		x := reports[name]
		if share := 0.0; len(x.shares) >= fewestLimits {
			if share = middleOf(x.shares); share < lowestShare {
				r.findings.Add(finding.LimitTooLow, x.first.origin.row.Place("unit"), distinct(x.samples), finding.Values{
					"report": name, "share": fmt.Sprintf("%.2g", share), "limit": fmt.Sprintf("%.0g", lowestShare), "n": len(x.shares)})
			}
		}
		if len(x.weighed) > 0 {
			r.tellBalance(name, x.weighed)
		}
	}
}

func (x *reportLimits) add(r *reduction, c *Concentration) {
	a := assay{reduction: r}
	if a.gravimetric(&pair{sample: c.Sample, substance: c.Substance}, c.origin.row) && under(c.limit.Value, balanceUG) {
		x.weighed = append(x.weighed, c)
	}
	if !c.HasAir || c.Void {
		return
	}
	litres := volume.Litres(c.Sample.Volume.OrElse(c.Sample.VolumeLow).Value)
	strictest, share := r.strictest(c, inAir(stats.Exact(c.limit.Value), c.Quantity, litres, litres, litres).Value)
	if strictest == nil {
		return
	}
	if x.first == nil {
		x.first = c
	}
	x.shares, x.samples = append(x.shares, share/100), append(x.samples, c.Sample.ID)
}

func (r *reduction) tellBalance(report string, weighed []*Concentration) {
	lowest := math.Inf(1)
	var samples []string
	for _, c := range weighed {
		lowest, samples = min(lowest, c.limit.Value), append(samples, c.Sample.ID)
	}
	r.findings.Add(finding.BalanceTooFine, weighed[0].origin.row.Place("unit"), distinct(samples), finding.Values{
		"report": report, "n": len(weighed), "low": lowest, "limit": balanceUG})
}
