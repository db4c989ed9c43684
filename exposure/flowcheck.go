package exposure

import (
	"math"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/volume"
)

// Tolerances of the flow checks, from the catalogue. Readings: "at least twice
// more", NIOSH Manual of Analytical Methods, chapter D; the others are common
// practice, no source.
var (
	spreadLimitPct    = finding.Threshold(finding.ReadingsSpread) // CV of the readings of one check
	readingsWanted    = finding.Threshold(finding.FewReadings)
	closureLimitPct   = finding.Threshold(finding.TotalOff)        // TOTAL against the sum of the legs
	defaultCertMonths = finding.Threshold(finding.DeviceOutOfDate) // of a device that states no interval
)

// flowUse gathers which samples each flow check serves, so that a fact of a
// leg is told once and names all its samples.
type flowUse struct {
	r     *reduction
	book  *flowBook
	order []*survey.Flow
	rows  [][]*Sample   // by row of the check
	pairs [][]*flowPair // by row of the pre check
	made  []*flowPair

	meters  bool                  // some check names its meter
	crossed map[*survey.Flow]bool // checks that are told as exchanged
}

// flowPair is a pre and a post check that serve the same samples.
type flowPair struct {
	pre, post *survey.Flow
	samples   []*Sample
}

func newFlowUse(r *reduction, book *flowBook) *flowUse {
	last, meters := int32(0), false
	for i := range r.survey.Flows {
		f := &r.survey.Flows[i]
		last, meters = max(last, f.Row), meters || f.Device != ""
	}
	return &flowUse{r: r, book: book, rows: make([][]*Sample, last+1), pairs: make([][]*flowPair, last+1), meters: meters, crossed: map[*survey.Flow]bool{}}
}

// withoutMeters tells, once, of a survey whose flow checks name no meter.
func (u *flowUse) withoutMeters() {
	if n := len(u.r.survey.Flows); n > 0 && !u.meters {
		u.r.findings.Add(finding.NoMeterNamed, u.r.survey.Flows[0].Place("device"), nil, finding.Values{"n": n})
	}
}

// of returns the samples that a check serves.
func (u *flowUse) of(f *survey.Flow) []*Sample { return u.rows[f.Row] }

func (u *flowUse) add(s *Sample) {
	leg := s.leg
	for _, f := range []*survey.Flow{leg.pre, leg.post} {
		if f == nil {
			continue
		}
		if u.rows[f.Row] == nil {
			u.order = append(u.order, f)
		}
		u.rows[f.Row] = append(u.rows[f.Row], s)
	}
	of := &u.pairs[leg.pre.Row]
	at := slices.IndexFunc(*of, func(p *flowPair) bool { return p.post == leg.post })
	if at < 0 {
		at = len(*of)
		*of = append(*of, &flowPair{pre: leg.pre, post: leg.post})
		u.made = append(u.made, (*of)[at])
	}
	(*of)[at].samples = append((*of)[at].samples, s)
}

func (u *flowUse) report() {
	u.withoutMeters()
	u.exchanged()
	for _, f := range u.order {
		if u.readings(f) {
			u.target(f)
		}
		u.device(f)
	}
	for _, p := range u.made {
		u.drift(p)
	}
	u.verified(u.reverified())
	u.closure()
	u.unused()
	u.unusedUnits()
	u.shared()
	u.leaveOut()
}

// subject names the samples of a leg's fact, then the leg, then more.
func subject(samples []*Sample, more ...string) []string {
	ids := make([]string, 0, len(samples)+len(more))
	for _, s := range samples {
		ids = append(ids, s.ID)
	}
	slices.Sort(ids)
	return append(ids, more...)
}

func legName(f *survey.Flow) string { return legKey{f.Train, f.Leg}.String() }

// actual returns the check of row f as actual flow, as sample s uses it.
func (s *Sample) actual(f *survey.Flow) volume.Check {
	if f == s.leg.pre {
		return s.leg.run.Pre
	}
	return *s.leg.run.Post
}

// readingColumn returns the first column the readings of a check stand in.
func readingColumn(f *survey.Flow) string {
	if f.Text("readings") == "" {
		return "reading_1"
	}
	return "readings"
}

// readings judges the readings of a check. It returns false where one is in the
// other unit: what else is wrong with the check then comes of it.
func (u *flowUse) readings(f *survey.Flow) bool {
	first := u.of(f)[0]
	cv := first.actual(f).CVPct()
	raise := func(code finding.Code, values finding.Values) {
		values["leg"], values["stage"] = legName(f), f.Stage.String()
		u.r.findings.Add(code, f.Place(readingColumn(f)), subject(u.of(f), legName(f)), values)
	}
	if n := len(f.Readings); n < int(readingsWanted) {
		raise(finding.FewReadings, finding.Values{"n": n, "wanted": readingsWanted})
	}
	odd, found := first.leg.otherUnit(first.actual(f))
	switch {
	case found:
		u.tellUnit(f, odd, u.of(f))
	case volume.Over(cv, spreadLimitPct):
		raise(finding.ReadingsSpread, finding.Values{"cv": cv, "limit": spreadLimitPct, "moved": movedPct(first.actual(f))})
	}
	return !found
}

// movedPct returns how far the odd reading of a check moves its mean from the
// middle reading, in % of the smaller.
func movedPct(check volume.Check) float64 {
	readings := slices.Clone(check.Readings)
	slices.Sort(readings)
	mean, middle := float64(check.Flow()), float64(readings[len(readings)/2])
	return 100 * math.Abs(mean-middle) / math.Min(mean, middle)
}

// target checks a flow against the target of each sample it serves.
func (u *flowUse) target(f *survey.Flow) {
	type wanted struct{ target, tolerance float64 }
	if !slices.ContainsFunc(u.of(f), func(s *Sample) bool { return s.leg.target.Known }) {
		return
	}
	groups := map[wanted][]*Sample{}
	var order []wanted
	for _, s := range u.of(f) {
		if !s.leg.target.Known {
			continue
		}
		w := wanted{s.leg.target.Value, s.leg.tolerance.Value}
		if groups[w] == nil {
			order = append(order, w)
		}
		groups[w] = append(groups[w], s)
	}
	for _, w := range order {
		samples := groups[w]
		flow := samples[0].actual(f).Flow()
		off := volume.DeviationPct(flow, volume.LitresPerMinute(w.target))
		raise := func(code finding.Code, limit float64) {
			u.r.findings.Add(code, f.Place(readingColumn(f)), subject(samples, legName(f)),
				finding.Values{"leg": legName(f), "stage": f.Stage.String(), "flow": float64(flow),
					"target": w.target, "off": off, "limit": limit, "consequence": u.ofWrongFlow(samples[0])})
		}
		switch verify := u.r.settings.Volume.VerifyTolerancePct; {
		case volume.Over(off, w.tolerance) && !u.mistyped(f, w.target, w.tolerance):
			raise(finding.OffTarget, w.tolerance)
		case f.Stage == survey.Pre && f.Action == survey.Verified && volume.Over(off, verify):
			raise(finding.VerifiedOff, verify)
		}
	}
}

// ofWrongFlow says what a flow off its target does to a sample.
func (u *flowUse) ofWrongFlow(s *Sample) string {
	if m := u.r.media[s.Medium]; m != nil && slices.Contains([]string{"respirable", "thoracic", "inhalable"}, m.Form) {
		return "a size-selective sampler off its flow has another cut-point"
	}
	return "the volume is made from the flow measured, not from the target"
}

// mistyped reports whether a check is off its target by one reading alone: its
// readings spread over the limit, which is told, and the middle one is on target.
func (u *flowUse) mistyped(f *survey.Flow, target, tolerance float64) bool {
	check := u.of(f)[0].actual(f)
	readings := slices.Clone(check.Readings)
	slices.Sort(readings)
	middle := volume.DeviationPct(readings[len(readings)/2], volume.LitresPerMinute(target))
	return volume.Over(check.CVPct(), spreadLimitPct) && !volume.Over(middle, tolerance)
}

// device checks the certificate of the meter on the day it was used.
func (u *flowUse) device(f *survey.Flow) {
	if !u.meters {
		return // told once for the survey
	}
	samples := u.of(f)
	who := subject(samples, legName(f), f.Device)
	values := finding.Values{"leg": legName(f), "stage": f.Stage.String(), "device": f.Device}
	device := u.r.devices[f.Device]
	switch {
	case f.Device == "":
		u.r.findings.Add(finding.DeviceNotNamed, f.Place("device"), who, values)
		return
	case device == nil:
		u.r.findings.Add(finding.UnknownDevice, f.Place("device"), who, values)
		return
	}
	if device.Kind == volume.PumpRotameter {
		u.r.findings.Add(finding.PumpReadout, f.Place("device"), who, values)
	}
	day := f.TakenAt
	if !day.Known {
		day = samples[0].Start
	}
	if !device.Certified.Known || !day.Known {
		u.r.findings.Add(finding.NoCertificate, device.Place("certified"), who, values)
		return
	}
	months := int(device.IntervalMonths.Or(defaultCertMonths))
	due := device.Certified.T.AddDate(0, months, 0)
	values["certified"], values["due"] = dateOf(device.Certified.T), dateOf(due)
	values["used"] = dateOf(day.T)
	used := dateOf(day.T)
	if used > dateOf(due) || used < dateOf(device.Certified.T) {
		u.r.findings.Add(finding.DeviceOutOfDate, device.Place("certified"), who, values)
	}
}

// drift tells of a flow that changed over the limit, and of a missing post check.
func (u *flowUse) drift(p *flowPair) {
	if p.post == nil {
		u.r.findings.Add(finding.NoPostCheck, p.pre.Place("stage"), subject(p.samples, legName(p.pre)),
			finding.Values{"leg": legName(p.pre)})
		return
	}
	air := p.samples[0].leg.air
	if air.Drifted && !p.samples[0].leg.inOtherUnit() {
		u.r.findings.Add(finding.Drift, p.post.Place(readingColumn(p.post)), subject(p.samples, legName(p.pre)), finding.Values{
			"leg": legName(p.pre), "pre": float64(air.Pre), "post": float64(air.Post), "drift": air.DriftPct,
			"limit": u.r.settings.Volume.DriftLimitPct, "policy": string(u.r.settings.Volume.DriftPolicy)})
	}
	u.laterDeployment(p)
}

// laterDeployment tells of a post check with a fresh pre check between it and
// the sample's stop: it may belong to the next deployment of the leg.
func (u *flowUse) laterDeployment(p *flowPair) {
	for _, s := range p.samples {
		if !timed(s.Stop) || !timed(p.post.TakenAt) {
			continue
		}
		for _, f := range u.book.rows[legKey{s.Train, s.Leg}][survey.Pre] {
			if timed(f.TakenAt) && f.TakenAt.T.After(s.Stop.T) && f.TakenAt.T.Before(p.post.TakenAt.T) {
				u.r.findings.Add(finding.PostOfLater, p.post.Place("taken_at"), []string{s.ID, legName(f)},
					finding.Values{"sample": s.ID, "leg": legName(f)})
				return
			}
		}
	}
}

// reverified checks that every leg was read once more after the last
// adjustment of any other leg of its train: legs on one pump act on each other.
// It returns the trains with a leg that was not.
func (u *flowUse) reverified() (unread map[string]bool) {
	unread = map[string]bool{}
	for _, p := range u.made {
		start := p.samples[0].Start
		var adjusted *survey.Flow
		for _, leg := range u.book.legs[p.pre.Train] {
			for _, f := range u.book.rows[legKey{p.pre.Train, leg}][survey.Pre] {
				if f.Action != survey.Adjusted || start.Known && f.TakenAt.Known && f.TakenAt.T.After(start.T) {
					continue
				}
				if adjusted == nil || later(f, adjusted) {
					adjusted = f
				}
			}
		}
		if adjusted != nil && adjusted.Leg != p.pre.Leg && later(adjusted, p.pre) {
			unread[p.pre.Train] = true
			u.r.findings.Add(finding.NotReverified, p.pre.Place("action"), subject(p.samples, legName(p.pre)),
				finding.Values{"leg": legName(p.pre), "other": legName(adjusted)})
		}
	}
	return unread
}

// closure checks a flow measured at the pump against the sum of its legs.
func (u *flowUse) closure() {
	type closing struct {
		total *survey.Flow
		sum   float64
	}
	seen := map[closing][]*Sample{}
	var order []closing
	for _, p := range u.made {
		for _, s := range p.samples {
			for _, stage := range []survey.Stage{survey.Pre, survey.Post} {
				total, legs := u.atPump(s, stage)
				if total == nil {
					continue
				}
				c := closing{total, sumOf(legs)}
				if seen[c] == nil {
					order = append(order, c)
				}
				seen[c] = append(seen[c], s)
			}
		}
	}
	for _, c := range order {
		total := volume.Check{Readings: c.total.Readings}.Flow()
		off := volume.ClosurePct(total, []volume.LitresPerMinute{volume.LitresPerMinute(c.sum)})
		if volume.Over(off, closureLimitPct) {
			u.r.findings.Add(finding.TotalOff, c.total.Place(readingColumn(c.total)), subject(seen[c], c.total.Train),
				finding.Values{"train": c.total.Train, "stage": c.total.Stage.String(), "total": float64(total),
					"sum": c.sum, "off": off, "limit": closureLimitPct})
		}
	}
}

// atPump returns the TOTAL check of a sample's train in a stage, with the flow
// of every leg; nil where one is missing.
func (u *flowUse) atPump(s *Sample, stage survey.Stage) (*survey.Flow, []volume.LitresPerMinute) {
	find := func(leg string) *survey.Flow {
		if stage == survey.Pre {
			return u.book.pre(legKey{s.Train, leg}, s.Start)
		}
		return u.book.post(legKey{s.Train, leg}, s.Stop)
	}
	total := find(survey.TotalLeg)
	if total == nil {
		return nil, nil
	}
	var flows []volume.LitresPerMinute
	for _, leg := range u.book.legs[s.Train] {
		f := find(leg)
		if f == nil {
			return nil, nil
		}
		flows = append(flows, volume.Check{Readings: f.Readings}.Flow())
	}
	return total, flows
}

func sumOf(flows []volume.LitresPerMinute) float64 {
	sum := 0.0
	for _, q := range flows {
		sum += float64(q)
	}
	return sum
}

// unused tells of legs with flow checks that no sample names, and of post
// checks of other legs that serve no sample: they may stand on the wrong leg.
func (u *flowUse) unused() {
	named := map[legKey]bool{}
	for i := range u.r.samples {
		named[legKey{u.r.samples[i].Train, u.r.samples[i].Leg}] = true
	}
	told := map[legKey]bool{}
	for i := range u.r.survey.Flows {
		f := &u.r.survey.Flows[i]
		key := legKey{f.Train, f.Leg}
		switch {
		case f.Leg == survey.TotalLeg:
		case !named[key] && !told[key]:
			told[key] = true
			u.r.findings.Add(finding.FlowUnused, f.Place("leg"), []string{key.String()},
				finding.Values{"leg": key.String()})
		case named[key] && f.Stage == survey.Post && f.Action != survey.Adjusted && u.of(f) == nil:
			u.r.findings.Add(finding.PostUnused, f.Place("leg"), append(u.r.onLeg(f), key.String()),
				finding.Values{"leg": key.String()})
		}
	}
}

// shared tells of samples that ran at once on one leg.
func (u *flowUse) shared() {
	byLeg := map[legKey][]*Sample{}
	for i := range u.r.samples {
		if s := &u.r.samples[i]; s.leg != nil && timed(s.Start) && !s.Void {
			key := legKey{s.Train, s.Leg}
			byLeg[key] = append(byLeg[key], s)
		}
	}
	for key, samples := range byLeg {
		slices.SortFunc(samples, compareStart)
		for i := 1; i < len(samples); i++ {
			a, b := samples[i-1], samples[i]
			if sharedMinutes(a, b) > clockToleranceMin {
				u.r.findings.Add(finding.LegShared, b.Row.Place("leg"), []string{a.ID, b.ID, key.String()},
					finding.Values{"a": a.ID, "b": b.ID, "leg": key.String()})
			}
		}
	}
}

// custodyTolerancePct is how far the custody volume may be from the final one.
var custodyTolerancePct = finding.Threshold(finding.CustodyVolume)

// checkVolume judges a sample's volume against its method and its custody form.
func (r *reduction) checkVolume(s *Sample) {
	row := s.Row
	if !s.Volume.Known {
		return
	}
	v := s.Volume.Value
	if m := r.media[row.Medium]; m != nil && !unlikeCustody(row, v) {
		values := finding.Values{"sample": s.ID, "volume": v, "medium": m.ID}
		if m.VolumeMin.Known && v < m.VolumeMin.Value {
			values["limit"] = m.VolumeMin.Value
			r.findings.Add(finding.VolumeLow, row.Place("sample"), []string{s.ID, m.ID}, values)
		}
		if m.VolumeMax.Known && v > m.VolumeMax.Value {
			values["limit"] = m.VolumeMax.Value
			r.findings.Add(finding.VolumeHigh, row.Place("sample"), []string{s.ID, m.ID}, values)
		}
	}
	if row.CustodyVolume.Known {
		off := 100 * (row.CustodyVolume.Value - v) / v
		if volume.Over(off, custodyTolerancePct) {
			r.findings.Add(finding.CustodyVolume, row.Place("coc_volume_l"), []string{s.ID}, finding.Values{
				"sample": s.ID, "custody": row.CustodyVolume.Value, "volume": v, "off": math.Abs(off),
				"limit": custodyTolerancePct})
		}
	}
}

// unlikeCustody reports whether a volume is not even half or double that of the
// custody form: then that is told, and the volume is in too much doubt to be
// judged by the method's.
func unlikeCustody(row *survey.Sample, litres float64) bool {
	custody := row.CustodyVolume
	return custody.Known && custody.Value > 0 && (litres > 2*custody.Value || custody.Value > 2*litres)
}

var soundConditions = []string{"", "ok", "good", "intact", "seal intact"}

func (r *reduction) checkCustody(row *survey.Sample) {
	condition := strings.ToLower(strings.TrimSpace(row.CustodyCondition))
	if !slices.Contains(soundConditions, condition) {
		r.findings.Add(finding.CustodyCondition, row.Place("coc_condition"), []string{row.ID},
			finding.Values{"sample": row.ID, "condition": row.CustodyCondition})
	}
}

// checkBlankVolume tells of a blank that was given a volume on its custody form.
func (r *reduction) checkBlankVolume(s *Sample) {
	if v := s.Row.CustodyVolume; v.Known && v.Value > 0 {
		r.findings.Add(finding.BlankVolume, s.Row.Place("coc_volume_l"), []string{s.ID},
			finding.Values{"sample": s.ID, "volume": v.Value})
	}
}
