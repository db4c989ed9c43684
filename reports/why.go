package reports

import (
	"cmp"
	"slices"

	"airtally/exposure"
	"airtally/limits"
	"airtally/stats"
)

// Reasons that are said of a comparison and of a mixture alike.
const (
	onlyAtLeast  = "only a lower bound"
	errorDecides = "sampling and analytical error"
)

// whyUndecided says in few words what keeps a comparison from an outcome; ""
// where it has one. What neither the bounds nor the error leave open, only the
// minutes not sampled can.
func whyUndecided(c *exposure.Comparison) string {
	open := func(i stats.Interval) bool { return limits.Decide(i, c.Limit.Comparator) == limits.Undecided }
	switch {
	case c.Outcome != limits.Undecided:
		return ""
	case open(c.Fraction) && !c.Fraction.Bounded():
		return onlyAtLeast
	case open(c.Fraction):
		return "bounds span the limit"
	case c.LCL.Known && c.UCL.Known && open(stats.Interval{Low: c.LCL.Value, High: c.UCL.Value}):
		return errorDecides
	default:
		return sampledShare(c)
	}
}

// sampledShare says how much of a shift an exposure rests on.
func sampledShare(c *exposure.Comparison) string {
	if !c.Coverage.Known {
		return "minutes not sampled"
	}
	return figureText(c.Coverage.Value) + " % of shift sampled"
}

// whyMixtureUndecided says in few words what keeps a mixture from an outcome;
// "" where it has one.
func whyMixtureUndecided(m *exposure.MixtureResult) string {
	open := limits.Decide(m.Index, limits.Above) == limits.Undecided
	unbounded := func(c *exposure.Comparison) bool { return !c.Fraction.Bounded() }
	inError := func(c *exposure.Comparison) bool { return c.SAE.Known && c.SAE.Value > 0 }
	switch {
	case m.Outcome != limits.Undecided:
		return ""
	case open && slices.ContainsFunc(m.Parts, unbounded):
		return onlyAtLeast
	case open && !m.Index.Bounded():
		return "a part or its limit is missing"
	case open:
		return "bounds span 1"
	case m.Basis == exposure.Short:
		return errorDecides
	case slices.ContainsFunc(m.Parts, inError):
		return "error, or minutes not sampled"
	default:
		return leastSampled(m.Parts)
	}
}

// leastSampled speaks of the part of which least of the shift was sampled.
func leastSampled(parts []*exposure.Comparison) string {
	if len(parts) == 0 {
		return "minutes not sampled"
	}
	return sampledShare(slices.MinFunc(parts, func(a, b *exposure.Comparison) int {
		return cmp.Compare(a.Coverage.Value, b.Coverage.Value)
	}))
}
