package group_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

// TestOutcomesAndReasons holds whole reasons: what a reader is told of groups
// of every kind. The rules of EN 689:2018 are from memory.
func TestOutcomesAndReasons(t *testing.T) {
	for _, c := range outcomeCases {
		t.Run(c.name, func(t *testing.T) {
			s := judge(t, c.shifts, c.limit, group.Options{})
			assert.Equal(t, c.outcome, s.Outcome)
			assert.Equal(t, c.by, s.DecidedBy)
			assert.Equal(t, c.method, s.Method)
			assert.Equal(t, c.why, s.Why)
		})
	}
}

type outcomeCase struct {
	name    string
	shifts  []group.Shift
	limit   float64
	method  group.Method
	outcome limits.Outcome
	by      group.DecidedBy
	why     string
}

var ten = []float64{1.9, 4.2, 7.2, 0.9, 2.3, 5.4, 1.2, 3.3, 0.6, 2.7}

// unbounded returns shifts of which the last is known only to reach its value.
func unbounded(values ...float64) []group.Shift {
	shifts := shiftsOf(values...)
	last := &shifts[len(shifts)-1].Exposure
	*last = stats.AtLeast(last.Value)
	return shifts
}

var outcomeCases = []outcomeCase{
	{"known and far below", shiftsOf(ten...), 50, group.Exact, limits.Below, group.ByExact,
		"With 95 % confidence at most 5 of 100 shifts are over the limit: 95 of 100 stay under 46.6 % of it. " +
			"Rule: exact confidence limits of the 95th percentile (Owen & Hua 1977)."},
	{"known and above", shiftsOf(ten...), 2.5, group.Exact, limits.Exceeds, group.ByExact,
		"With 95 % confidence more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under is at least 207 % of it. " +
			"Rule: exact confidence limits of the 95th percentile (Owen & Hua 1977). " +
			"Over the limit: W-2, 2026-03-03, at 168 % of it; W-3, 2026-03-04, at 288 % of it; W-6, 2026-03-07, at 216 % of it; W-8, 2026-03-09, at 132 % of it; W-10, 2026-03-11, at 108 % of it."},
	{"known and undecided", shiftsOf(ten...), 15, group.Exact, limits.Undecided, group.ByExact,
		"It cannot be told whether more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under may be anywhere from 34.4 % to 155 % of it (95 % confidence on either side). " +
			"Rule: exact confidence limits of the 95th percentile (Owen & Hua 1977). " +
			"To decide: about 12 shifts more, 22 in all, if they resemble those there are."},
	{"three known", shiftsOf(.02, .05, .09), 0.5, group.Exact, limits.Undecided, group.ByExact,
		"Only 3 shifts: so few say little about all the others. " +
			"It cannot be told whether more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under may be anywhere from 14.5 % to 2970 % of it (95 % confidence on either side). " +
			"Rule: exact confidence limits of the 95th percentile (Owen & Hua 1977). " +
			"The preliminary test of EN 689:2018 by itself: undecided, 2 of 3 results not shown to be under 10 % of the limit; 6 results or more allow the group test. " +
			"To decide: about 6 shifts more, 9 in all, if they resemble those there are."},
	{"two known far apart", shiftsOf(.002, .4), 1, group.Exact, limits.Undecided, group.ByExact,
		"Only 2 shifts: so few say little about all the others. " +
			"It cannot be told whether more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under is at least 16.8 % of it (95 % confidence), and it has no useful upper limit from 2 shifts. " +
			"Rule: exact confidence limits of the 95th percentile (Owen & Hua 1977). " +
			"The preliminary test of EN 689:2018 does not apply: 2 results, need 3 or more. " +
			"To decide: about 6 shifts more, 8 in all, if they resemble those there are."},
	{"three known far below", shiftsOf(.02, .03, .04), 0.5, group.Exact, limits.Below, group.ByExact,
		"Only 3 shifts: so few say little about all the others. " +
			"With 95 % confidence at most 5 of 100 shifts are over the limit: 95 of 100 stay under 83 % of it. " +
			"Rule: exact confidence limits of the 95th percentile (Owen & Hua 1977). " +
			"The preliminary test of EN 689:2018 by itself: below, all 3 results under 10 % of the limit."},
	{"one under", shiftsOf(.3), 0.5, group.None, limits.Undecided, group.ByNothing,
		"Only 1 shift: it says nothing of how other shifts differ. " +
			"Nothing can be estimated from the data alone: there is only one exposure. " +
			"The default prior would weigh more than 1 shift, so its posterior decides nothing. " +
			"The one exposure is at most 60 % of the limit. " +
			"Whatever their distribution, with 95 % confidence at most 95 of 100 shifts are over the limit. " +
			"The preliminary test of EN 689:2018 does not apply: 1 result, need 3 or more. " +
			"To decide: 5 shifts more, 6 in all."},
	{"one over", shiftsOf(3), 0.5, group.None, limits.Exceeds, group.ByPreliminary,
		"Only 1 shift: it says nothing of how other shifts differ. " +
			"Nothing can be estimated from the data alone: there is only one exposure. " +
			"Rule: EN 689:2018, 5.5.2, preliminary test: 1 of 1 result over the limit. " +
			"Over the limit: W-1, 2026-03-02, at 600 % of it."},
	{"seven equal", shiftsOf(.3, .3, .3, .3, .3, .3, .3), 5, group.None, limits.Below, group.ByPosterior,
		"Nothing can be estimated from the data alone: all exposures are equal. " +
			"With 95 % probability at most 5 of 100 shifts are over the limit: 95 of 100 stay under 11.4 % of it. " +
			"Rule: limits of the 95th percentile from the posterior, default prior. " +
			"All 7 are at most 6 % of the limit. " +
			"Whatever their distribution, with 95 % confidence at most 34.9 of 100 shifts are over the limit."},
	{"three under reporting limits far below", shiftsOf(-.01, -.01, -.02), 1, group.None, limits.Below, group.ByPreliminary,
		"Only 3 shifts: so few say little about all the others. " +
			"Nothing can be estimated from the data alone: no exposure is known exactly, and nothing tells how they spread. " +
			"Rule: EN 689:2018, 5.5.2, preliminary test: all 3 results under 10 % of the limit. " +
			"All 3 are at most 2 % of the limit. " +
			"Whatever their distribution, with 95 % confidence at most 63.2 of 100 shifts are over the limit."},
	{"three under reporting limits near", shiftsOf(-.4, -.4, -.5), 1, group.None, limits.Undecided, group.ByNothing,
		"Only 3 shifts: so few say little about all the others. " +
			"Nothing can be estimated from the data alone: no exposure is known exactly, and nothing tells how they spread. " +
			"The default prior would weigh more than 3 shifts, so its posterior decides nothing. " +
			"All 3 are at most 50 % of the limit. " +
			"Whatever their distribution, with 95 % confidence at most 63.2 of 100 shifts are over the limit. " +
			"The preliminary test of EN 689:2018 by itself: undecided, 3 of 3 results not shown to be under 10 % of the limit; 6 results or more allow the group test. " +
			"To decide: 3 shifts more, 6 in all, with lower reporting limits or results that are known exactly."},
	{"six under reporting limits", shiftsOf(-.1, -.1, -.1, -.1, -.2, -.2), 1, group.None, limits.Below, group.ByPosterior,
		"Nothing can be estimated from the data alone: no exposure is known exactly, and nothing tells how they spread. " +
			"With 95 % probability at most 5 of 100 shifts are over the limit: 95 of 100 stay under 31.7 % of it. " +
			"Rule: limits of the 95th percentile from the posterior, default prior. " +
			"All 6 are at most 20 % of the limit. " +
			"Whatever their distribution, with 95 % confidence at most 39.4 of 100 shifts are over the limit."},
	{"six under reporting limits over the limit", shiftsOf(-3, -3, -3, -3, -2, -2), 1, group.None, limits.Undecided, group.ByPosterior,
		"Nothing can be estimated from the data alone: no exposure is known exactly, and nothing tells how they spread. " +
			"It cannot be told whether more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under may be anywhere from 0.739 % to 365 % of it (95 % probability on either side). " +
			"Rule: limits of the 95th percentile from the posterior, default prior. " +
			"Perhaps over the limit, not known exactly: W-1, 2026-03-02, under 300 % of it; W-2, 2026-03-03, under 300 % of it; W-3, 2026-03-04, under 300 % of it; W-4, 2026-03-05, under 300 % of it; W-5, 2026-03-06, under 200 % of it; W-6, 2026-03-07, under 200 % of it. " +
			"To decide: more shifts, with lower reporting limits or results that are known exactly."},
	{"part under reporting limits", shiftsOf(-.1, -.1, -.2, .15, .27, .33, .48, .61, .72, 1.1, 1.9, 2.5), 5, group.MLE, limits.Undecided, group.ByPosterior,
		"It cannot be told whether more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under may be anywhere from 29.7 % to 427 % of it (95 % probability on either side). " +
			"Rule: limits of the 95th percentile from the posterior, reference prior. " +
			"To decide: many more shifts, over 50, if they resemble those there are and are known exactly; lower exposures would decide sooner."},
	{"known beside higher reporting limits", shiftsOf(5, -10, -10), 5, group.None, limits.Undecided, group.ByNothing,
		"Only 3 shifts: so few say little about all the others. " +
			"Nothing can be estimated from the data alone: one and the same figure agrees with every exposure, so that nothing tells how they spread. " +
			"The default prior would weigh more than 3 shifts, so its posterior decides nothing. " +
			"Perhaps over the limit, not known exactly: W-2, 2026-03-03, under 200 % of it; W-3, 2026-03-04, under 200 % of it. " +
			"The preliminary test of EN 689:2018 by itself: undecided, 3 of 3 results not shown to be under 10 % of the limit; 6 results or more allow the group test. " +
			"To decide: 3 shifts more, 6 in all, with lower reporting limits or results that are known exactly."},
	{"a lower bound over the limit", unbounded(1, 2, 1.5, 1.2, 1.1, 6), 5, group.MLE, limits.Undecided, group.ByPosterior,
		"It cannot be told whether more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under may be anywhere from 70.1 % to 1550 % of it (95 % probability on either side). " +
			"Rule: limits of the 95th percentile from the posterior, reference prior. " +
			"Over the limit: W-6, 2026-03-07, at 120 % of it or more. " +
			"To decide: about 10 shifts more, 16 in all, if they resemble those there are and are known exactly."},
	{"four with one under a reporting limit", shiftsOf(-.02, .01, .03, .02), 1, group.MLE, limits.Below, group.ByPosterior,
		"Only 4 shifts: so few say little about all the others. " +
			"With 95 % probability at most 5 of 100 shifts are over the limit: 95 of 100 stay under 63.4 % of it. " +
			"Rule: limits of the 95th percentile from the posterior, reference prior. " +
			"The preliminary test of EN 689:2018 by itself: below, all 4 results under 15 % of the limit."},
}
