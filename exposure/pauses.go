package exposure

import (
	"math"
	"slices"

	"airtally/exposure/survey"
)

// standStill takes out of the runs the time in which their pumps stood still:
// where a gap is stated inside a sample's span, as far as the sample's pause
// goes. Of a pause that no gap states, the rest stays spread evenly.
func (t *turn) standStill(runs []run, samples []*Sample) []run {
	if len(t.gaps) == 0 || !slices.ContainsFunc(samples, func(s *Sample) bool { return s.Row.Pause > 0 }) {
		return runs
	}
	var out []run
	for _, x := range runs {
		out = append(out, t.withoutPause(x, runs, samples)...)
	}
	return out
}

// withoutPause returns the pieces of a run between the gaps in which its pump
// stood still.
func (t *turn) withoutPause(x run, runs []run, samples []*Sample) []run {
	s := samples[x.at]
	begin, end, placed := t.span(s)
	if !placed || s.Row.Pause <= 0 {
		return []run{x}
	}
	left := math.Min(float64(s.Row.Pause), end-begin-s.Minutes.Value)
	var out []run
	add := func(to float64) {
		if to-x.from > instant {
			out = append(out, run{at: x.at, from: x.from, to: to, purpose: x.purpose})
		}
	}
	still := 0.0
	for _, gap := range t.gaps {
		from, to := t.gapSpan(gap)
		from = math.Max(from, x.from)
		to = math.Min(math.Min(to, x.to), from+left)
		if to-from <= instant || takenOver(x, from, to, runs) {
			continue
		}
		add(from)
		x.from, left, still = to, left-(to-from), still+(to-from)
	}
	add(x.to)
	for i := range out {
		out[i].density = s.Minutes.Value / (end - begin - still)
	}
	return out
}

// takenOver reports whether another shift sample ran while a pump is said to
// have stood still: then the two overlap, whatever a gap states.
func takenOver(x run, from, to float64, runs []run) bool {
	return slices.ContainsFunc(runs, func(o run) bool {
		return o.at != x.at && o.purpose == survey.ShiftSample && x.purpose == survey.ShiftSample && overlapOf(o.from, o.to, from, to) > instant
	})
}

// gapSpan returns a stated gap in minutes from the start of its shift, cut to
// the shift.
func (t *turn) gapSpan(gap *survey.Gap) (from, to float64) {
	return math.Max(0, gap.Start.T.Sub(t.Start.T).Minutes()), math.Min(t.Minutes, gap.End.T.Sub(t.Start.T).Minutes())
}
