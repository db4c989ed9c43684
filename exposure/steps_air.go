package exposure

import (
	"math"
	"time"

	"airtally/exposure/survey"
	"airtally/volume"
)

// self returns the sample that the results of the same survey refer to.
func (s *Sample) self() *Sample { return &s.of.samples[s.number] }

// Title names what the steps of a sample lead to.
func (s *Sample) Title() string { return "volume of " + s.ID }

// Steps returns how the air of a sample is worked out, under the names of the
// output fields. A sample without flow or minutes has only follows, which says
// whether its times stand as they were.
func (s *Sample) Steps() []Step {
	if s.of == nil {
		return nil // made without a survey
	}
	s = s.self()
	l := newSteps(s, 20)
	if !s.Minutes.Known {
		l.follow(s.unchanged()...)
		return l.all
	}
	ran := s.ranSteps(l)
	if s.leg == nil {
		stands := s.unchanged()
		if s.leftOut != nil {
			stands = s.leftOutStands(s.leftOut)
		}
		l.follow(append(stands, positive(ran))...)
		s.minutesStep(l, ran)
		return l.all
	}
	l.follow(append([]Expression{positive(ran)}, s.checksStand()...)...)
	t := s.minutesStep(l, ran)
	low, used, high := s.flowSteps(l)
	s.volumeSteps(l, t, low, used, high)
	s.uncertaintySteps(l, t)
	return l.all
}

// ranSteps adds the minutes by the clock, and returns the minutes run, whether
// or not they can be.
func (s *Sample) ranSteps(l *steps) Expression {
	row := s.Row
	run := optionalCell(row, "run_min", "t_pump", row.Run)
	if _, clocked := clockMinutes(row); !clocked {
		return run
	}
	clock := l.work(Step{Key: "clock_min", Symbol: "t_clock", Name: "stop − start − pause", Unit: "min",
		By: minus(divided(operate(Round, times(minus(s.at("stop", row.Stop), s.at("start", row.Start)), figure(86400))), figure(60)),
			cell(row, "pause_min", "pause", float64(row.Pause))),
		Source: "times of the survey, to the second"})
	return when(positive(run), run, clock)
}

func (s *Sample) minutesStep(l *steps, ran Expression) Expression {
	return l.add(Step{Key: "minutes", Symbol: "t", Name: "minutes run", Unit: "min", By: ran, Value: s.Minutes.Value,
		Source: "the pump's timer where it was read, else stop − start − pause"})
}

// flowSteps adds the flows before and after, and returns those that make the
// volume and its bounds.
func (s *Sample) flowSteps(l *steps) (low, used, high Expression) {
	leg, o := s.leg, s.of.settings.Volume
	pre := l.add(Step{Key: "flow_pre_lpm", Symbol: "Q_pre", Name: "flow before", Unit: "L/min",
		By: s.flowOf(leg.pre, leg.preScale), Value: s.FlowPre.Value, Source: "mean of the readings of the check before"})
	mean, lowest, highest := pre, pre, pre
	var drifted Expression
	if leg.post != nil {
		post := l.add(Step{Key: "flow_post_lpm", Symbol: "Q_post", Name: "flow after", Unit: "L/min",
			By: s.flowOf(leg.post, leg.postScale), Value: s.FlowPost.Value, Source: "mean of the readings of the check after"})
		mean = l.work(Step{Key: "flow_mean_lpm", Symbol: "Q_mean", Name: "mean flow", Unit: "L/min",
			By: operate(Mean, pre, post), Source: "mean of the checks before and after"})
		drift := l.add(Step{Key: "drift_pct", Symbol: "D", Name: "drift", Unit: "%",
			By: divided(times(figure(100), minus(post, pre)), pre), Value: s.DriftPct.Value, Source: "(Q_post − Q_pre)/Q_pre"})
		drifted = holds(l.work(Step{Key: "drifted", Symbol: "drifted", Name: "1 where the drift is over its limit",
			By:     isOver(operate(Magnitude, drift), constant("drift_limit_pct", o.DriftLimitPct)),
			Source: "drift_limit_pct"}))
		lowest = when(drifted, operate(Least, pre, post), mean)
		highest = when(drifted, operate(Greatest, pre, post), mean)
	}
	low, used, high = s.flowByPolicy(l, drifted, mean, lowest, highest)
	s.targetStep(l)
	return low, used, high
}

// flowByPolicy adds the flow that makes the volume, with its bounds.
func (s *Sample) flowByPolicy(l *steps, drifted, mean, lowest, highest Expression) (low, used, high Expression) {
	leg, o := s.leg, s.of.settings.Volume
	flow, source := mean, "mean of the checks before and after"
	if leg.post == nil {
		source = "the check before alone"
	}
	if n := float64(leg.run.Nominal); n > 0 {
		nominal := constant("nominal flow", n)
		flow, source = nominal, "nominal flow of the medium (NIOSH Manual of Analytical Methods 0600)"
		if leg.post == nil {
			lowest, highest = nominal, nominal
		} else {
			lowest = when(drifted, operate(Least, lowest, nominal), nominal)
			highest = when(drifted, operate(Greatest, highest, nominal), nominal)
		}
	} else if leg.post != nil && o.DriftPolicy == volume.UseLower {
		flow, source = lowest, "drift_policy lower: the lower flow where it drifted"
	}
	bounds := "the lower and the higher check where the flow drifted over its limit"
	low = l.add(Step{Key: "flow_low_lpm", Symbol: "Q_low", Name: "lowest flow", Unit: "L/min", By: lowest,
		Value: float64(leg.air.Low), Source: bounds})
	high = l.add(Step{Key: "flow_high_lpm", Symbol: "Q_high", Name: "highest flow", Unit: "L/min", By: highest,
		Value: float64(leg.air.High), Source: bounds})
	if s.Flow.Known {
		used = l.add(Step{Key: "flow_lpm", Symbol: "Q", Name: "flow used", Unit: "L/min", By: flow,
			Value: s.Flow.Value, Source: source})
	}
	return low, used, high
}

// targetStep adds how far the check furthest from the target is.
func (s *Sample) targetStep(l *steps) {
	leg := s.leg
	if !leg.target.Known {
		return
	}
	target := constant("target flow", leg.target.Value)
	off := func(key string, flow float64) Expression {
		q := reference(s, key, "Q", flow)
		return divided(times(figure(100), minus(q, target)), target)
	}
	by := off("flow_pre_lpm", s.FlowPre.Value)
	if leg.post != nil {
		before := l.work(Step{Key: "target_dev_pre_pct", Symbol: "Δ_pre", Name: "off target before", Unit: "%", By: by, Source: "target flow"})
		after := l.work(Step{Key: "target_dev_post_pct", Symbol: "Δ_post", Name: "off target after", Unit: "%",
			By: off("flow_post_lpm", s.FlowPost.Value), Source: "target flow"})
		by = when(isOver(operate(Magnitude, after), operate(Magnitude, before)), after, before)
	}
	l.add(Step{Key: "target_dev_pct", Symbol: "Δ", Name: "off target", Unit: "%", By: by, Value: s.TargetDevPct.Value,
		Source: "the check furthest from the target"})
}

// volumeSteps adds the volume and its bounds.
func (s *Sample) volumeSteps(l *steps, t, low, used, high Expression) {
	if s.Volume.Known {
		l.add(Step{Key: "volume_l", Symbol: "V", Name: "volume", Unit: "L", By: times(used, t), Value: s.Volume.Value, Source: "flow times minutes"})
	}
	l.add(Step{Key: "volume_low_l", Symbol: "V_low", Name: "volume at least", Unit: "L", By: times(low, t),
		Value: s.VolumeLow.Value, Source: "lowest flow times minutes"})
	l.add(Step{Key: "volume_high_l", Symbol: "V_high", Name: "volume at most", Unit: "L", By: times(high, t),
		Value: s.VolumeHigh.Value, Source: "highest flow times minutes"})
}

// uncertaintySteps adds the relative standard uncertainty of the volume, part
// by part.
func (s *Sample) uncertaintySteps(l *steps, t Expression) {
	leg := s.leg
	pre := reference(s, "flow_pre_lpm", "Q_pre", s.FlowPre.Value)
	accuracy := leg.run.Pre.AccuracyPct
	readings := divided(root(s.varianceOfMean(leg.pre, leg.preScale)), pre)
	drift := number0
	if leg.post != nil {
		accuracy = max(accuracy, leg.run.Post.AccuracyPct)
		post := reference(s, "flow_post_lpm", "Q_post", s.FlowPost.Value)
		mean := reference(s, "flow_mean_lpm", "Q_mean", (s.FlowPre.Value+s.FlowPost.Value)/2)
		readings = divided(root(plus(s.varianceOfMean(leg.pre, leg.preScale), s.varianceOfMean(leg.post, leg.postScale))),
			times(number2, mean))
		drift = divided(minus(post, pre), times(times(number2, root(figure(3))), mean))
	}
	const source = "JCGM 100:2008, 4.3.7 and 5.1.2"
	parts := []Expression{
		l.work(Step{Key: "u_readings", Symbol: "u_r", Name: "uncertainty from the spread of the readings", By: readings, Source: source}),
		l.work(Step{Key: "u_meter", Symbol: "u_m", Name: "uncertainty of the meter",
			By: divided(divided(constant("accuracy of the meter, %", accuracy), figure(100)), root(figure(3))), Source: source}),
		l.work(Step{Key: "u_drift", Symbol: "u_d", Name: "uncertainty from drift", By: drift, Source: source}),
		l.work(Step{Key: "u_clock", Symbol: "u_c", Name: "uncertainty of 1 min at both ends",
			By: divided(number1, times(root(figure(6)), t)), Source: source}),
	}
	for i := range parts {
		parts[i] = squared(parts[i])
	}
	l.add(Step{Key: "u_volume_rel", Symbol: "u_V", Name: "relative standard uncertainty of the volume, k = 1",
		By: root(sum(parts)), Value: s.UVolumeRel.Value, Source: source})
}

// varianceOfMean returns (s/√n)² of the readings of a check, as the sample
// takes them.
func (s *Sample) varianceOfMean(f *survey.Flow, scale float64) Expression {
	n := len(f.Readings)
	if n < 2 {
		return number0
	}
	check := volume.Check{Readings: f.Readings}
	spread := reference(f, "spread_lpm", "s", check.CVPct()*float64(check.Flow())/100)
	if scale != 1 {
		spread = times(spread, constant("factor to actual conditions", scale))
	}
	return divided(squared(spread), constant("number of readings", float64(n)))
}

// halfSecond is by how much two times of a workbook, in days, may differ and
// still be the same second.
const halfSecond = 0.5 / 86400

// Serial returns the wall clock of a moment as workbooks count days.
func Serial(t time.Time) float64 {
	wall := time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), 0, time.UTC)
	return wall.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
}

// at refers to a time of the sample, on the clock of its start.
func (s *Sample) at(column string, m survey.Moment) Expression {
	return s.clock(s.Row, column, m)
}

// clock refers to a time of a row, on the clock that the sample's start was
// read from: a clock put on or back in between is a constant.
func (s *Sample) clock(row any, column string, m survey.Moment) Expression {
	e := cell(row, column, column, Serial(m.T))
	_, own := m.T.Zone()
	_, start := s.Row.Start.T.Zone()
	if s.Row.Start.Known && own != start {
		e = plus(e, constant("clock change", float64(start-own)/86400))
	}
	return e
}

// notBefore is the condition that time a is at or after time b, to the second.
func notBefore(a, b Expression) Expression {
	return operate(LessEqual, b, plus(a, figure(halfSecond)))
}

// stands returns the conditions that hold of the survey as it is. One that
// does not, as between times that were written with offsets of their own,
// cannot tell whether an edit changed anything.
func stands(conditions ...Expression) []Expression {
	var out []Expression
	for _, c := range conditions {
		if c.Evaluate(nil).Number == 1 {
			out = append(out, c)
		}
	}
	return out
}

// unchanged returns the conditions that the times of a sample are as they were.
func (s *Sample) unchanged() []Expression {
	row := s.Row
	var out []Expression
	for _, c := range []struct {
		column string
		m      survey.Moment
	}{{"start", row.Start}, {"stop", row.Stop}} {
		if !timed(c.m) {
			continue
		}
		moved := operate(Magnitude, minus(cell(row, c.column, c.column, Serial(c.m.T)), figure(Serial(c.m.T))))
		out = append(out, less(moved, figure(halfSecond)))
	}
	return append(out, same(optionalCell(row, "run_min", "t_pump", row.Run), figure(row.Run.Or(0))))
}

// checksStand returns the conditions that the sample's flow checks are still
// those that belong to it, that its times stay on the same side of a change of
// the clocks, and that drift_policy void still says the same.
func (s *Sample) checksStand() []Expression {
	out := []Expression{followed(s.leg.pre)}
	if s.leg.post != nil {
		out = append(out, followed(s.leg.post))
	}
	out = append(out, holds(when(all(out...), s.plausible(s.leg), number0)))
	key := legKey{s.Train, s.Leg}
	if timed(s.Row.Start) {
		out = append(out, s.preStands(key)...)
		out = append(out, s.sameClock("start", s.Row.Start)...)
	}
	if timed(s.Row.Stop) {
		out = append(out, s.postStands(key)...)
		out = append(out, s.sameClock("stop", s.Row.Stop)...)
	}
	return append(out, s.voidStands()...)
}

// preStands: the start is not before the pre check, and before the next one.
func (s *Sample) preStands(key legKey) []Expression {
	start, pre := s.at("start", s.Row.Start), s.leg.pre
	out := []Expression{positive(start)}
	if dated(pre.TakenAt) {
		out[0] = notBefore(start, s.clock(pre, "taken_at", pre.TakenAt))
	}
	var next *survey.Flow
	for _, f := range s.of.flowBook().rows[key][survey.Pre] {
		if dated(f.TakenAt) && f.TakenAt.T.After(s.Row.Start.T) && later(f, pre) && (next == nil || f.TakenAt.T.Before(next.TakenAt.T)) {
			next = f
		}
	}
	if next != nil {
		out = append(out, not(notBefore(start, s.clock(next, "taken_at", next.TakenAt))))
	}
	return stands(out...)
}

// postStands: the stop is not after the post check, and after the one before.
func (s *Sample) postStands(key legKey) []Expression {
	stop, post := s.at("stop", s.Row.Stop), s.leg.post
	var out []Expression
	end := func(f *survey.Flow) Expression {
		at := s.clock(f, "taken_at", f.TakenAt)
		if f.TakenAt.DateOnly {
			return plus(at, number1)
		}
		return at
	}
	if post != nil && dated(post.TakenAt) {
		out = append(out, notBefore(end(post), stop))
	}
	var last *survey.Flow
	for _, f := range s.of.flowBook().rows[key][survey.Post] {
		if dated(f.TakenAt) && endOf(f.TakenAt).Before(s.Row.Stop.T) && sooner(f, post) && (last == nil || endOf(f.TakenAt).After(endOf(last.TakenAt))) {
			last = f
		}
	}
	if last != nil {
		out = append(out, not(notBefore(end(last), stop)))
	}
	return stands(out...)
}

// sooner reports whether post check f would count before another, were both
// after the stop.
func sooner(f, post *survey.Flow) bool {
	switch {
	case post == nil || f.Action != survey.Adjusted && post.Action == survey.Adjusted:
		return true
	case f.Action == survey.Adjusted && post.Action != survey.Adjusted:
		return false
	}
	return later(post, f)
}

func dated(m survey.Moment) bool { return m.Known && !m.Bare }

// nearClockChange is within how many days of a time a change of the clocks
// matters: an edit that moves a sample further leaves its flow checks behind.
const nearClockChange = 7 * 24 * time.Hour

// sameClock: a time stays on its side of a change of the clocks.
func (s *Sample) sameClock(column string, m survey.Moment) []Expression {
	if !m.Zoned {
		return nil
	}
	at := cell(s.Row, column, column, Serial(m.T))
	from, to := m.T.ZoneBounds()
	var out []Expression
	if !from.IsZero() && m.T.Sub(from) < nearClockChange {
		before := Serial(from.Add(-time.Second)) + 1.0/86400
		out = append(out, notBefore(at, constant("clocks changed", math.Max(before, Serial(from)))))
	}
	if !to.IsZero() && to.Sub(m.T) < nearClockChange {
		before := Serial(to.Add(-time.Second)) + 1.0/86400
		out = append(out, not(notBefore(at, constant("clocks change", before))))
	}
	return stands(out...)
}

// voidStands: under drift_policy void, a drift over the limit leaves the
// sample out of all exposures.
func (s *Sample) voidStands() []Expression {
	leg, o := s.leg, s.of.settings.Volume
	if o.DriftPolicy != volume.UseVoid || leg.post == nil {
		return nil
	}
	pre, post := s.flowOf(leg.pre, leg.preScale), s.flowOf(leg.post, leg.postScale)
	drift := divided(times(figure(100), minus(post, pre)), pre)
	drifted := isOver(operate(Magnitude, drift), constant("drift_limit_pct", o.DriftLimitPct))
	if !leg.air.Drifted {
		drifted = not(drifted)
	}
	return []Expression{holds(when(all(followed(leg.pre), followed(leg.post)), drifted, number0))}
}
