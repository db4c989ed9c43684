package exposure

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
	"airtally/volume"
)

// legKey names one leg of one train: what flow, drift and volume belong to.
type legKey struct{ train, leg string }

func (k legKey) String() string { return k.train + " " + k.leg }

// legFlow is how the flow of one sample was got: the checks that belong to it
// and the meters they were read on.
type legFlow struct {
	pre, post           *survey.Flow // post nil where there was none
	preScale, postScale float64      // indicated to actual flow
	run                 volume.Run
	air                 volume.Air
	target, tolerance   stats.Optional
}

// flowBook finds the flow checks of a leg.
type flowBook struct {
	rows map[legKey][2][]*survey.Flow // by stage
	legs map[string][]string          // of each train, TOTAL left out
}

func newFlowBook(flows []survey.Flow) *flowBook {
	b := &flowBook{rows: map[legKey][2][]*survey.Flow{}, legs: map[string][]string{}}
	for i := range flows {
		f := &flows[i]
		key := legKey{f.Train, f.Leg}
		stages, known := b.rows[key]
		stages[f.Stage] = append(stages[f.Stage], f)
		b.rows[key] = stages
		if !known && f.Leg != survey.TotalLeg {
			b.legs[f.Train] = append(b.legs[f.Train], f.Leg)
		}
	}
	return b
}

// later reports whether flow check a was taken after b: by time, else by
// step, else by the order of the rows.
func later(a, b *survey.Flow) bool {
	if a.TakenAt.Known && b.TakenAt.Known && !a.TakenAt.T.Equal(b.TakenAt.T) {
		return a.TakenAt.T.After(b.TakenAt.T)
	}
	if a.Step.Known && b.Step.Known && a.Step.Value != b.Step.Value {
		return a.Step.Value > b.Step.Value
	}
	return a.Row > b.Row
}

// pre returns the last pre check of the leg at or before start, or nil. A
// check without a time belongs to every deployment.
func (b *flowBook) pre(key legKey, start survey.Moment) *survey.Flow {
	var last *survey.Flow
	for _, f := range b.rows[key][survey.Pre] {
		if start.Known && f.TakenAt.Known && f.TakenAt.T.After(start.T) {
			continue
		}
		if last == nil || later(f, last) {
			last = f
		}
	}
	return last
}

// post returns the first post check of the leg at or after stop, or nil. One
// that adjusted the flow never counts where a later one exists.
func (b *flowBook) post(key legKey, stop survey.Moment) *survey.Flow {
	var first, firstAdjusted *survey.Flow
	for _, f := range b.rows[key][survey.Post] {
		if stop.Known && f.TakenAt.Known && endOf(f.TakenAt).Before(stop.T) {
			continue
		}
		to := &first
		if f.Action == survey.Adjusted {
			to = &firstAdjusted
		}
		if *to == nil || later(*to, f) {
			*to = f
		}
	}
	if first == nil {
		return firstAdjusted
	}
	return first
}

// endOf returns the last instant a moment may mean: a date without a time of
// day lasts until midnight.
func endOf(m survey.Moment) time.Time {
	if m.DateOnly {
		return m.T.AddDate(0, 0, 1)
	}
	return m.T
}

// air works out minutes, flow and volume of every sample of the survey.
func (r *reduction) air() {
	book := newFlowBook(r.survey.Flows)
	r.inChunks(len(r.samples), func(r *reduction, i int) { r.airOf(&r.samples[i], book) })
	use := newFlowUse(r, book)
	for i := range r.samples {
		if s := &r.samples[i]; s.leg != nil {
			use.add(s)
		}
	}
	use.report()
}

// airOf works out minutes, flow and volume of one sample.
func (r *reduction) airOf(s *Sample, book *flowBook) {
	if s.Void {
		r.findings.Add(finding.SampleVoid, s.Row.Place("void"), []string{s.ID},
			finding.Values{"sample": s.ID, "reason": voidReason(s.Row)})
	}
	r.checkCustody(s.Row)
	if s.Kind == survey.Blank {
		r.checkBlankVolume(s)
		return
	}
	minutes, ok := r.minutes(s.Row)
	if !ok {
		return
	}
	s.Minutes = stats.Some(float64(minutes))
	if leg := r.legFlow(s.Row, book, minutes); leg != nil {
		s.leg = leg
		s.setAir(minutes, r.settings.Volume)
		r.checkVolume(s)
	}
}

// voidReason says why a sample was voided, as far as the survey does.
func voidReason(row *survey.Sample) string {
	return cmp.Or(row.VoidBecause, row.Note, "no reason given")
}

// setAir writes the leg's figures into the sample.
func (s *Sample) setAir(t volume.Minutes, o volume.Options) {
	leg := s.leg
	leg.air = o.Air(leg.run)
	a := leg.air
	s.FlowPre = stats.Some(float64(a.Pre))
	if leg.post != nil {
		s.FlowPost = stats.Some(float64(a.Post))
		s.DriftPct = stats.Some(a.DriftPct)
	}
	s.TargetDevPct = leg.worstDeviation()
	s.VolumeLow = stats.Some(float64(a.VolumeLow(t)))
	s.VolumeHigh = stats.Some(float64(a.VolumeHigh(t)))
	s.UVolumeRel = stats.Some(a.URel)
	if a.Void {
		s.Void = true
		return
	}
	s.Flow = stats.Some(float64(a.Flow))
	s.Volume = stats.Some(float64(a.Volume))
}

// worstDeviation returns how far the check furthest from the target is, in %.
func (l *legFlow) worstDeviation() stats.Optional {
	if !l.target.Known {
		return stats.Optional{}
	}
	target := volume.LitresPerMinute(l.target.Value)
	worst := volume.DeviationPct(l.air.Pre, target)
	if l.post != nil {
		if d := volume.DeviationPct(l.air.Post, target); volume.Over(d, math.Abs(worst)) {
			worst = d
		}
	}
	return stats.Some(worst)
}

// clockToleranceMin is how far a pump timer may be from the clock.
// Common practice, no source.
var clockToleranceMin = finding.Threshold(finding.ClockDisagrees)

// shortestPauseMin is under how many minutes a pause looks like hours.
var shortestPauseMin = finding.Threshold(finding.PauseShort)

// minutes returns how long the sample ran: the pump's timer where it was
// read, else stop − start − pause.
func (r *reduction) minutes(s *survey.Sample) (volume.Minutes, bool) {
	clock, clocked := clockMinutes(s)
	ran := clock - float64(s.Pause)
	if s.Pause > 0 {
		r.findings.Add(finding.Paused, s.Place("pause_min"), []string{s.ID},
			finding.Values{"sample": s.ID, "minutes": float64(s.Pause)})
		if under(float64(s.Pause), shortestPauseMin) {
			r.findings.Add(finding.PauseShort, s.Place("pause_min"), []string{s.ID},
				finding.Values{"sample": s.ID, "minutes": float64(s.Pause), "limit": shortestPauseMin})
		}
	}
	if s.Run.Known {
		if clocked && math.Abs(s.Run.Value-ran) > clockToleranceMin {
			r.findings.Add(finding.ClockDisagrees, s.Place("run_min"), []string{s.ID}, finding.Values{
				"sample": s.ID, "run": s.Run.Value, "clock": ran, "limit": clockToleranceMin, "hint": pauseHint(s, ran)})
		}
		clocked, ran = true, s.Run.Value
	}
	if !clocked {
		r.findings.Add(finding.NoRunTime, s.Place("stop"), []string{s.ID}, finding.Values{"sample": s.ID})
		return 0, false
	}
	if ran <= 0 {
		r.findings.Add(finding.NotPositiveTime, s.Place("stop"), []string{s.ID},
			finding.Values{"sample": s.ID, "minutes": ran})
		return 0, false
	}
	return volume.Minutes(ran), true
}

// pauseHint says which pause would make the clock agree with a pump's timer that
// ran shorter.
func pauseHint(s *survey.Sample, clock float64) string {
	if clock < s.Run.Value {
		return ""
	}
	return fmt.Sprintf("; if the pump stood still in between, as over a break, enter %.4g as pause_min", float64(s.Pause)+clock-s.Run.Value)
}

// clockMinutes returns stop − start, where both are known to the minute.
func clockMinutes(s *survey.Sample) (float64, bool) {
	if !timed(s.Start) || !timed(s.Stop) {
		return 0, false
	}
	return s.Stop.T.Sub(s.Start.T).Minutes(), true
}

func timed(m survey.Moment) bool { return m.Known && !m.DateOnly && !m.Bare }

// legFlow finds the checks of a sample and turns them into actual flow. It
// returns nil, with a finding, where the sample has no usable pre check.
func (r *reduction) legFlow(s *survey.Sample, book *flowBook, t volume.Minutes) *legFlow {
	key := legKey{s.Train, s.Leg}
	if _, known := book.rows[key]; !known {
		r.findings.Add(finding.UnknownLeg, s.Place("leg"), []string{s.ID, key.String()},
			finding.Values{"sample": s.ID, "train": s.Train, "leg": s.Leg, "legs": legsOf(book, s.Train)})
		return nil
	}
	leg := &legFlow{pre: book.pre(key, s.Start), post: book.post(key, s.Stop)}
	if leg.pre == nil {
		r.findings.Add(finding.NoPreCheck, s.Place("start"), []string{s.ID, key.String()},
			finding.Values{"sample": s.ID, "leg": key.String()})
		return nil
	}
	var ok bool
	if leg.run.Pre, leg.preScale, ok = r.actualFlow(leg.pre, s); !ok {
		return nil
	}
	if leg.post != nil {
		if post, scale, ok := r.actualFlow(leg.post, s); ok {
			leg.run.Post, leg.postScale = &post, scale
		} else {
			leg.post = nil
		}
	}
	leg.run.Minutes = t
	return leg.withMethod(s, r)
}

// withMethod adds what the medium asks: target, tolerance, nominal flow.
func (l *legFlow) withMethod(s *survey.Sample, r *reduction) *legFlow {
	l.target = s.TargetFlow
	l.tolerance = stats.Some(r.settings.Volume.TargetTolerancePct)
	m := r.media[s.Medium]
	if m == nil {
		return l
	}
	l.target = l.target.OrElse(m.TargetFlow)
	l.tolerance = m.TolerancePct.OrElse(l.tolerance)
	if !m.NominalVolume {
		return l
	}
	if !m.NominalFlow.Known {
		r.findings.Add(finding.NoNominalFlow, m.Place("nominal_flow_lpm"), []string{s.ID, m.ID},
			finding.Values{"sample": s.ID, "medium": m.ID})
		return nil
	}
	l.run.Nominal = volume.LitresPerMinute(m.NominalFlow.Value)
	return l
}

func legsOf(book *flowBook, train string) string {
	legs := book.legs[train]
	if len(legs) == 0 {
		return "none"
	}
	return strings.Join(legs, ", ")
}

// actualFlow returns a flow check as actual flow, by the kind of its meter,
// and the factor that made it so.
func (r *reduction) actualFlow(f *survey.Flow, s *survey.Sample) (volume.Check, float64, bool) {
	check := volume.Check{Readings: f.Readings}
	device := r.devices[f.Device]
	if device == nil {
		return check, 1, true
	}
	if device.Kind == volume.Volumetric {
		check.AccuracyPct = device.AccuracyPct.Or(0)
		return check, 1, true
	}
	check.AccuracyPct = device.AccuracyPct.Or(0)
	scale, missing := deviceScale(device, f, s)
	if missing != "" {
		r.findings.Add(finding.NoConditions, f.Place("device"),
			[]string{s.ID, legKey{f.Train, f.Leg}.String(), device.ID},
			finding.Values{"device": device.ID, "kind": string(device.Kind), "stage": f.Stage.String(),
				"leg": legKey{f.Train, f.Leg}.String(), "missing": missing})
		return check, 0, false
	}
	return check.Scaled(scale), scale, true
}

// deviceScale returns the factor from indicated to actual flow, or what is
// missing to know it.
func deviceScale(d *survey.Device, f *survey.Flow, s *survey.Sample) (scale float64, missing string) {
	atCheck, atCheckKnown := conditions(f.Temperature, f.Pressure, s.Temperature, s.Pressure)
	atSite, atSiteKnown := conditions(s.Temperature, s.Pressure, f.Temperature, f.Pressure)
	certificate, certified := conditions(d.Temperature, d.Pressure, stats.Optional{}, stats.Optional{})
	switch d.Kind {
	case volume.MassFlow:
		reference, known := conditions(d.RefTemperature, d.RefPressure, stats.Optional{}, stats.Optional{})
		if !known {
			return 0, "ref_temperature_c and ref_pressure_kpa of the device"
		}
		if !atCheckKnown {
			return 0, "temperature_c and pressure_kpa of the check"
		}
		return volume.FromReference(reference, atCheck), ""
	case volume.Rotameter:
		if !certified {
			return 0, "temperature_c and pressure_kpa of the device's certificate"
		}
		if !atCheckKnown {
			return 0, "temperature_c and pressure_kpa of the check"
		}
		return volume.FromRotameter(certificate, atCheck), ""
	case volume.PumpRotameter:
		if !certified {
			certificate, certified = conditions(f.Temperature, f.Pressure, stats.Optional{}, stats.Optional{})
		}
		if !certified || !atSiteKnown {
			return 0, "temperature_c and pressure_kpa at calibration and of the sample"
		}
		return volume.FromRotameter(certificate, atSite), ""
	}
	return 1, ""
}

// conditions pairs a temperature and a pressure, each from the first place
// that has it.
func conditions(t, p, otherT, otherP stats.Optional) (volume.Conditions, bool) {
	t, p = t.OrElse(otherT), p.OrElse(otherP)
	return volume.Conditions{TemperatureC: t.Value, PressureKPa: p.Value}, t.Known && p.Known
}
