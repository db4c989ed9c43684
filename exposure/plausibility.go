package exposure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
)

// Thresholds of the checks on results, from the catalogue. A filter over 2 mg
// may be overloaded: NIOSH Manual of Analytical Methods 0600; the others are
// common practice, no source.
var (
	loadingLimitMG   = finding.Threshold(finding.Loading)
	heapedMG         = finding.Threshold(finding.Heaped)
	thousandfold     = finding.Threshold(finding.FarFromUsual)       // from where on a result looks a thousand times off
	limitShareWanted = finding.Threshold(finding.ReportingLimitHigh) // % of a limit that the reporting limit in air may be
)

const (
	fewestForUsual   = 4    // results of an analyte before one can look out of place
	usualSampleSize  = 2001 // results that the usual level is taken from
	companionOverlap = 0.5  // of the shorter sample, before two are set side by side
)

// checkAmount judges what was found on one sample.
func (a *assay) checkAmount(p *pair, m amount) {
	if p.sample.Kind == survey.Blank {
		if !m.nonDetect && m.held.Value > 0 && !p.sample.Row.MediaBlank {
			a.blankFound(p, m)
		}
		return
	}
	if share := 100 * m.shareOfOne; over(share, blankSharePct) {
		a.raise(finding.BlankLarge, p, m.row, "result", finding.Values{
			"share": share, "limit": blankSharePct, "blank": m.blank.Value, "mass": m.uncorrected,
			"unit": m.quantity.held()})
	}
	if mg := m.held.Value / 1000; m.quantity == OfMass && mg > loadingLimitMG && a.gravimetric(p, m.row) {
		code, limit := finding.Loading, loadingLimitMG
		if mg > heapedMG {
			code, limit = finding.Heaped, heapedMG
		}
		a.raise(code, p, m.row, "result", finding.Values{"mass": mg, "limit": limit})
	}
}

// blankHighTimes is how many times its reporting limit a field blank may hold.
var blankHighTimes = finding.Threshold(finding.BlankHigh)

// blankFound tells of an analyte on a field blank.
func (a *assay) blankFound(p *pair, m amount) {
	values := finding.Values{"amount": m.held.Value, "unit": m.quantity.held(), "lot": p.sample.Row.Lot}
	a.raise(finding.BlankFound, p, m.row, "result", values)
	if m.limit.Known && over(m.held.Value, blankHighTimes*m.limit.Value) {
		values["ratio"], values["limit"] = m.held.Value/m.limit.Value, blankHighTimes
		a.raise(finding.BlankHigh, p, m.row, "result", values)
	}
}

// held returns the unit of what is on a sample.
func (q Quantity) held() string { return [...]string{"ug", "fibres"}[q] }

// checkHolding tells of a sample analysed after its method's holding days.
func (a *assay) checkHolding(s *Sample, rows []int32) {
	m := a.media[s.Medium]
	taken := s.Stop
	if !taken.Known {
		taken = s.Start
	}
	if m == nil || !m.HoldingDays.Known || !taken.Known {
		return
	}
	latest, at := 0.0, (*survey.LabRow)(nil)
	for _, i := range rows {
		row := &a.survey.Lab[i]
		if !row.Analysed.Known {
			continue
		}
		if days := daysBetween(taken, row.Analysed); at == nil || days > latest {
			latest, at = days, row
		}
	}
	values := finding.Values{"sample": s.ID, "days": latest, "limit": m.HoldingDays.Value, "medium": m.ID}
	switch {
	case at == nil:
	case latest > m.HoldingDays.Value:
		a.findings.Add(finding.HeldTooLong, at.Place("analysed"), []string{s.ID, m.ID}, values)
	case latest < 0:
		a.findings.Add(finding.AnalysedBefore, at.Place("analysed"), []string{s.ID, m.ID}, values)
	}
}

// daysBetween counts calendar days.
func daysBetween(from, to survey.Moment) float64 {
	day := func(m survey.Moment) time.Time {
		year, month, d := m.T.Date()
		return time.Date(year, month, d, 0, 0, 0, 0, time.UTC)
	}
	return day(to).Sub(day(from)).Hours() / 24
}

// checkResults looks at the results as a whole: what is missing, out of place
// or contradicts itself.
func (r *reduction) checkResults(exposures []Exposure) {
	var waits []func()
	for _, check := range []func(*reduction){
		(*reduction).checkMissing,
		(*reduction).checkMedia,
		(*reduction).checkLotMedia,
		(*reduction).checkBacks,
		(*reduction).checkUsual,
		(*reduction).checkReportingLimits,
		(*reduction).checkCompanions,
		(*reduction).checkSlips,
		func(r *reduction) { r.checkLimitsFound(exposures) },
		func(r *reduction) { r.checkCoverage(exposures) },
		func(r *reduction) { r.checkDuplicates(exposures) },
	} {
		waits = append(waits, r.aside(check))
	}
	for _, wait := range waits {
		wait()
	}
}

// checkUsual tells of results that are hundreds of times over or under the
// usual level of their analyte, as a slip between units makes them.
func (r *reduction) checkUsual() {
	values := map[*Substance][]float64{}
	for i := range r.concentrations {
		if c := &r.concentrations[i]; detectedInAir(c) {
			values[c.Substance] = append(values[c.Substance], c.Air.Value)
		}
	}
	usual := map[*Substance]float64{}
	for s, all := range values {
		if len(all) >= fewestForUsual {
			usual[s] = roughMedian(all)
		}
	}
	for i := range r.samples {
		var far []*Concentration
		for c := range r.of(&r.samples[i]) {
			middle := usual[c.Substance]
			if middle == 0 || !detectedInAir(c) {
				continue
			}
			if ratio := c.Air.Value / middle; ratio >= thousandfold || ratio <= 1/thousandfold {
				far = append(far, c)
			}
		}
		if len(far) > 0 {
			r.tellFar(far, usual[far[0].Substance])
		}
	}
}

// tellFar tells of the results of one sample that are far from the usual. The
// first stands for all: they come of one slip.
func (r *reduction) tellFar(far []*Concentration, usual float64) {
	c := far[0]
	var analytes []string
	for _, o := range far {
		analytes = append(analytes, o.Substance.Analyte)
	}
	r.findings.Add(finding.FarFromUsual, c.origin.place(), append([]string{c.Sample.ID}, analytes...),
		finding.Values{"sample": c.Sample.ID, "analyte": analytes, "value": c.Air.Value,
			"unit": c.Quantity.Unit(), "ratio": c.Air.Value / usual, "usual": usual})
}

func detectedInAir(c *Concentration) bool {
	return c.HasAir && c.Air.Low > 0 && !c.Void && c.origin.derived == nil
}

// roughMedian returns the median of at most usualSampleSize of the values,
// taken evenly.
func roughMedian(all []float64) float64 {
	step := (len(all) + usualSampleSize - 1) / usualSampleSize
	some := make([]float64, 0, usualSampleSize)
	for i := 0; i < len(all); i += step {
		some = append(some, all[i])
	}
	slices.Sort(some)
	return some[len(some)/2]
}

// checkLimitsFound tells, once each, of substances without a limit, and of
// limits in ppm that cannot be met for want of a molecular weight.
func (r *reduction) checkLimitsFound(exposures []Exposure) {
	first := map[*Substance]*Exposure{}
	for i := range exposures {
		if x := &exposures[i]; first[x.Substance] == nil {
			first[x.Substance] = x
		}
	}
	for _, s := range r.sortedSubstances() {
		if first[s] == nil {
			continue
		}
		at := first[s].average.doses[0].terms[0].conc.origin.place()
		r.checkMatch(s, at, exposures)
		for _, l := range s.limits {
			if l.Unit.Dim == limits.Molar && !s.Weight.Known && first[s].Quantity == OfMass {
				r.findings.Add(finding.NoWeight, at, exposedTo(s, exposures), finding.Values{
					"analyte": s.Analyte, "authority": l.Authority, "kind": string(l.Kind)})
			}
		}
	}
}

// exposedTo names the samples behind the exposures to a substance, then the
// substance.
func exposedTo(s *Substance, exposures []Exposure) []string {
	var samples []string
	for i := range exposures {
		if exposures[i].Substance == s {
			samples = append(samples, exposures[i].Samples...)
		}
	}
	return append(distinct(samples), s.Analyte)
}

// checkMatch tells what the library could not settle for a substance.
func (r *reduction) checkMatch(s *Substance, at finding.Place, exposures []Exposure) {
	match := r.nearMatches[s]
	values := finding.Values{"analyte": s.Analyte, "form": s.Form, "cas": cmp.Or(s.CAS, "not given"), "near": "none of a like name"}
	if len(match.Near) > 0 {
		values["near"] = strings.Join(match.Near, "; ")
	}
	values["cure"] = derivedCure(s, match.Near)
	r.tellCompounds(s, at, exposedTo(s, exposures))
	switch {
	case match.Conflict:
		r.findings.Add(finding.NameAndCAS, at, exposedTo(s, exposures), values)
	case len(match.NoNumber) > 0:
		values["authority"] = match.NoNumber[0].Authority
		r.findings.Add(finding.NoNumber, at, exposedTo(s, exposures), values)
	case len(s.limits) == 0 && len(r.compounds[s]) == 0 && !r.isPart(s):
		r.findings.Add(finding.NoLimit, at, exposedTo(s, exposures), values)
	}
}

// derivedCure says how an element is turned into the compound that a limit of a
// like name is expressed as, "" where there is none.
func derivedCure(s *Substance, near []string) string {
	element := limits.Element(s.Analyte)
	if element == "" {
		return ""
	}
	cure := ""
	for _, c := range limits.CompoundsOf(element, near) {
		cure += fmt.Sprintf("; the limit for %s is as %s: a derived row %q, %q, %.4g makes it from the result", c.Substance, c.Formula, c.Substance, s.Analyte, c.Factor)
	}
	return cure
}

func (r *reduction) isPart(s *Substance) bool {
	for _, d := range r.derivations {
		if slices.ContainsFunc(d.parts, func(p part) bool { return p.analyte == s.Analyte }) {
			return true
		}
	}
	return false
}

func distinct(names []string) []string {
	slices.Sort(names)
	return slices.Compact(names)
}

// checkCoverage tells of shifts of which less was sampled than the survey
// asks. It is only a note where the shift says how the rest is to be taken.
func (r *reduction) checkCoverage(exposures []Exposure) {
	for from := 0; from < len(exposures); {
		shift := exposures[from].WorkerShift
		lowest, stated := math.Inf(1), true
		var samples, analytes []string
		to := from
		for ; to < len(exposures) && exposures[to].WorkerShift == shift; to++ {
			x := &exposures[to]
			if x.Basis == OverShift && under(x.Coverage.Value, r.settings.Coverage) {
				lowest = math.Min(lowest, x.Coverage.Value)
				stated = stated && (x.PolicyStated || x.GapsCover)
				samples = append(samples, x.Samples...)
				analytes = append(analytes, x.Substance.Analyte)
			}
		}
		from = to
		if len(samples) == 0 {
			continue
		}
		samples, analytes = distinct(samples), distinct(analytes)
		severity, so := finding.Check, "so nothing is called below a limit"
		if stated {
			severity, so = finding.Note, "and the survey states how the rest is taken"
		}
		r.findings.AddAs(severity, finding.CoverageLow, r.sampleRow(samples[0]).Place("stop"),
			slices.Concat(samples, []string{shift.Shift, shift.Worker}, analytes), finding.Values{
				"worker": shift.Worker, "shift": shift.Shift, "coverage": lowest, "limit": r.settings.Coverage,
				"analytes": analytes, "so": so})
	}
}

// checkDuplicates reports how far samples side by side are from each other.
func (r *reduction) checkDuplicates(exposures []Exposure) {
	for i := range exposures {
		x := &exposures[i]
		if x.Basis != OverShift {
			continue
		}
		terms := x.average.doses[0].terms
		for _, d := range terms {
			if d.conc.Sample.Row.Purpose != survey.Duplicate {
				continue
			}
			for _, s := range terms {
				if s.conc.Sample.Row.Purpose == survey.ShiftSample && sharedMinutes(s.conc.Sample, d.conc.Sample) > instant {
					r.duplicates(x, s.conc, d.conc)
				}
			}
		}
	}
}

// duplicatesApart is from how many % of their mean on duplicates are a check.
var duplicatesApart = finding.Threshold(finding.DuplicatesDiffer)

func (r *reduction) duplicates(x *Exposure, a, b *Concentration) {
	mean := (a.Air.Value + b.Air.Value) / 2
	if mean == 0 {
		return
	}
	rpd := 100 * math.Abs(a.Air.Value-b.Air.Value) / mean
	severity := finding.Note
	if over(rpd, duplicatesApart) {
		severity = finding.Check
	}
	r.findings.AddAs(severity, finding.DuplicatesDiffer, b.origin.place(),
		[]string{a.Sample.ID, b.Sample.ID, x.Shift, x.Substance.Analyte}, finding.Values{
			"a": a.Sample.ID, "b": b.Sample.ID, "analyte": x.Substance.Analyte, "x": a.Air.Value, "y": b.Air.Value,
			"unit": x.Quantity.Unit(), "rpd": rpd})
}

// sharedMinutes returns how long two samples ran at once.
func sharedMinutes(a, b *Sample) float64 {
	if !timed(a.Start) || !timed(b.Start) {
		return 0
	}
	from, to := a.Start.T, a.stop()
	if b.Start.T.After(from) {
		from = b.Start.T
	}
	if b.stop().Before(to) {
		to = b.stop()
	}
	return math.Max(0, to.Sub(from).Minutes())
}
