package exposure

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"airtally/exposure/finding"
	"airtally/limits"
	"airtally/stats"
)

// governing is the authority whose standards attach duties to an exposure.
const governing = "OSHA"

// FollowUp is one duty that follows from the exposure of a worker in a shift.
type FollowUp struct {
	*WorkerShift
	Substance *Substance
	limits.FollowUp
	Due string // the last day, "2026-06-22"; "" where there is none, or its base is not known
}

// FollowUps returns what the substance-specific standards ask after each
// worker-shift, sorted. Bands go by the measured value, without its error
// band; local rules may differ, and the regulation decides
// ([limits.FollowUpCaution]). They are worked out when asked for.
func (x *Results) FollowUps() []FollowUp {
	var all []FollowUp
	for from := 0; from < len(x.Comparisons); {
		first := &x.Comparisons[from]
		to := from
		var m limits.Measured
		for ; to < len(x.Comparisons) && x.Comparisons[to].WorkerShift == first.WorkerShift && x.Comparisons[to].Substance == first.Substance; to++ {
			x.Comparisons[to].measured(&m)
		}
		from = to
		if first.WorkerShift.of != nil { // it comes from a reduction
			all = append(all, first.followUps(m)...)
		}
	}
	slices.SortStableFunc(all, compareFollowUps)
	return all
}

// followUps returns the duties of one substance in one worker-shift.
func (k *Comparison) followUps(m limits.Measured) []FollowUp {
	r := k.WorkerShift.of
	dates := r.dates
	dates.Sampled = k.WorkerShift.Start.T
	var all []FollowUp
	for _, standard := range standardsOf(k.Substance) {
		for _, f := range limits.FollowUps(standard, r.settings.Limits.Sector, m) {
			x := FollowUp{WorkerShift: k.WorkerShift, Substance: k.Substance, FollowUp: f}
			if due, known := f.Due(dates, r.calendar); known {
				x.Due = dateOf(due)
			}
			all = append(all, x)
		}
	}
	return all
}

func compareFollowUps(a, b FollowUp) int {
	return cmp.Or(cmp.Compare(a.Worker, b.Worker), cmp.Compare(a.Shift, b.Shift),
		cmp.Compare(a.Substance.Analyte, b.Substance.Analyte), cmp.Compare(a.Standard, b.Standard),
		cmp.Compare(a.Band, b.Band), cmp.Compare(a.Action, b.Action), cmp.Compare(a.Due, b.Due),
		cmp.Compare(a.BaseEvent, b.BaseEvent), cmp.Compare(a.Citation, b.Citation))
}

// measured enters a comparison with the governing authority's limits.
func (k *Comparison) measured(m *limits.Measured) {
	if k.Limit.Authority != governing {
		return
	}
	at := &m.ShortTerm
	switch k.Limit.Kind {
	case limits.Action:
		at = &m.Action
	case limits.TWA8:
		at = &m.TWA
	case limits.TWA10:
		return
	}
	*at = append(*at, k.Fraction)
}

// standardsOf returns the instruments, one for each standard, that set the
// governing authority's limits for a substance.
func standardsOf(s *Substance) []string {
	var standards, seen []string
	for _, l := range s.limits {
		standard, _, _ := strings.Cut(l.Instrument, "(")
		if l.Authority == governing && !l.User && !slices.Contains(seen, standard) {
			seen = append(seen, standard)
			standards = append(standards, l.Instrument)
		}
	}
	return standards
}

// readDates reads the dates that follow-up periods are counted by.
func (r *reduction) readDates() {
	r.dates = limits.Dates{
		ResultsReceived:   r.dayOf("results_received", r.settings.ResultsReceived),
		DeterminationMade: r.dayOf("determined_on", r.settings.DeterminedOn),
	}
	var holidays []time.Time
	for _, text := range r.settings.Holidays {
		if day := r.dayOf("holidays", text); !day.IsZero() {
			holidays = append(holidays, day)
		}
	}
	r.calendar = limits.NewCalendar(holidays...)
}

// dayOf reads a date among the settings; zero where it is not given.
func (r *reduction) dayOf(item, text string) time.Time {
	if text == "" {
		return time.Time{}
	}
	day, err := time.Parse(time.DateOnly, text[:min(len(text), len(time.DateOnly))])
	if err != nil {
		r.unreadableDay(item, text)
	}
	return day
}

func (r *reduction) unreadableDay(item, text string) {
	place := finding.Place{File: r.survey.Path, Table: "survey"}
	for i := range r.survey.Items {
		if r.survey.Items[i].Name == item {
			place = r.survey.Items[i].Place("value")
		}
	}
	r.findings.Add(finding.UnreadableSetting, place, []string{item},
		finding.Values{"item": item, "read": text, "expected": "a date such as 2026-06-22"})
}

// Protection is the respirator that would cover the greatest exposure of a
// worker-shift against a limit. It is advice beside the result: no protection
// factor is ever taken off an exposure.
type Protection struct {
	*Comparison
	Ratio   stats.Optional // upper bound over the limit; missing where unbounded
	Factor  float64        // the smallest assigned protection factor that covers it
	Classes []limits.Respirator
	Covered bool
}

// Protections returns, for every comparison of the governing authority that is
// not below, the smallest class of respirator that covers its upper bound
// (29 CFR 1910.134, Table 1).
func (x *Results) Protections() []Protection {
	var all []Protection
	for i := range x.Comparisons {
		k := &x.Comparisons[i]
		if k.Outcome == limits.Below || k.Limit.Authority != governing || k.Limit.Kind == limits.Action {
			continue
		}
		upper := math.Inf(1)
		if k.Fraction.Bounded() {
			upper = k.UCL.Or(k.Fraction.High)
		}
		ratio := limits.HazardRatio(upper, 1)
		factor, classes, ok := limits.SmallestAPF(ratio)
		all = append(all, Protection{Comparison: k, Ratio: ratio, Factor: factor, Classes: classes, Covered: ok})
	}
	return all
}

// Reduced is an 8-hour limit reduced for a shift of more than 8 hours by the
// model of Brief and Scala, beside the mean over that shift. It is advice: the
// regulation knows no such limit.
type Reduced struct {
	*Exposure // the mean over the shift
	Limit     *limits.Limit
	limits.ReducedLimit
	Fraction stats.Interval // of the reduced limit
	Refused  string         // why none is given; "" where one is
}

// ReducedLimits returns, for every shift of more than 8 hours and every 8-hour
// limit of what was sampled in it, the limit reduced for the shift and, where
// its hours are given, for the week. The mean over the shift is compared with
// it, never a dose spread over 8 hours.
func (x *Results) ReducedLimits(weekHours stats.Optional) []Reduced {
	var all []Reduced
	for i := range x.Exposures {
		e := &x.Exposures[i]
		if e.Basis != OverShift || e.Minutes <= minutes8h+instant || e.WorkerShift.of == nil {
			continue
		}
		c := comparer{reduction: e.WorkerShift.of}
		for _, l := range e.Substance.limits {
			if l.Kind != limits.TWA8 || !e.comparableWith(l) {
				continue
			}
			r := Reduced{Exposure: e, Limit: l}
			var err error
			r.ReducedLimit, err = limits.ReduceForShift(*l, limits.Schedule{ShiftHours: e.Minutes / 60, WeekHours: weekHours})
			if err != nil {
				r.Refused = err.Error()
			} else {
				r.Fraction = c.inUnit(e, asStated, l).Per(r.ReducedLimit.Value)
			}
			all = append(all, r)
		}
	}
	return all
}
