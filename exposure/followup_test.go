package exposure_test

import (
	"testing"

	"airtally/exposure"
	"airtally/limits"
	"airtally/stats"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hexavalent is plain with an amount of hexavalent chromium: 960 µg would be
// 1 mg/m³ over the shift.
func hexavalent(amount, items string) string {
	return "-- survey --\nitem,value\nauthorities,OSHA\n" + items +
		"\n-- lab --\nsample,analyte,cas,result,unit,reporting_limit\nS1,Chromium (VI),18540-29-9," + amount + ",ug,0.06\n"
}

const received = "results_received,2026-03-12\ndetermined_on,2026-03-13\n"

// duties returns the follow-up of one duty.
func duties(r reduced, duty limits.Duty) []exposure.FollowUp {
	var found []exposure.FollowUp
	for _, f := range r.FollowUps() {
		if f.Duty == duty {
			found = append(found, f)
		}
	}
	return found
}

// 29 CFR 1910.1026(d)(2): below the action level nothing more, at or above it
// 6 months, above the limit 3 months; 15 working days after the determination
// for the notice, (d)(4)(i). The shift is on 2 March 2026.
func TestFollowUpOfHexavalentChromium(t *testing.T) {
	for name, c := range map[string]struct{ amount, due string }{
		"under the action level": {"2.39", ""},           // 2.49 µg/m³
		"at the action level":    {"2.4", "2026-09-02"},  // 2.5
		"at the limit":           {"4.8", "2026-09-02"},  // 5
		"over the limit":         {"4.81", "2026-06-02"}, // 5.01
	} {
		t.Run(name, func(t *testing.T) {
			r := reduce(t, plain, hexavalent(c.amount, received))
			monitor := duties(r, limits.DutyMonitor)
			require.NotEmpty(t, monitor)
			assert.Equal(t, c.due, monitor[0].Due, monitor[0].Action)
			notify := duties(r, limits.DutyNotify)
			require.NotEmpty(t, notify)
			assert.Equal(t, "2026-04-03", notify[0].Due, "15 working days after Friday 13 March")
		})
	}
}

func TestFollowUpDates(t *testing.T) {
	r := reduce(t, plain, hexavalent("4.81", ""))
	assert.Empty(t, duties(r, limits.DutyNotify)[0].Due, "no date is given where its base is not known")

	r = reduce(t, plain, hexavalent("4.81", received+"holidays,2026-03-30\n"))
	assert.Equal(t, "2026-04-06", duties(r, limits.DutyNotify)[0].Due, "a holiday is no working day")

	// shipyards and construction: 5 days, 29 CFR 1926.1126(d)(4)
	r = reduce(t, plain, hexavalent("4.81", received+"sector,construction\n"))
	assert.Equal(t, "29 CFR 1926.1126", duties(r, limits.DutyNotify)[0].Standard)
	assert.Equal(t, "2026-03-20", duties(r, limits.DutyNotify)[0].Due)

	r = reduce(t, plain, hexavalent("4.81", "holidays,Easter\n"))
	r.check(fact{"finding unreadable-setting message", has("Easter")})
}

// A user's own limit leads to no federal standard.
func TestFollowUpIsOfTheLibrarysStandards(t *testing.T) {
	assert.Empty(t, reduce(t, plain).FollowUps())
}

// 29 CFR 1910.134 Table 1: 5.01/5 needs a factor of 5; 10 times the limit a
// half mask; what is below a limit needs none and is not listed.
func TestProtectionIsAdviceOnWhatIsNotBelow(t *testing.T) {
	for amount, factor := range map[string]float64{"4.81": 5, "48": 10, "4800": 1000} {
		p := reduce(t, plain, hexavalent(amount, "")).Protections()
		require.Len(t, p, 1, amount)
		assert.True(t, p[0].Covered)
		assert.Equal(t, factor, p[0].Factor, amount)
	}
	assert.Empty(t, reduce(t, plain, hexavalent("2", "")).Protections())
	p := reduce(t, plain, hexavalent(">48", "")).Protections()
	require.Len(t, p, 1)
	assert.False(t, p[0].Covered, "without an upper bound none can be named")
}

// Brief and Scala for 10 hours: 8/10 × 14/16 = 0.7. The mean over the shift,
// 0.1 mg/m³, is compared with 0.7 of the limit of 1 mg/m³.
func TestReducedLimitsAreForTheMeanOverALongShift(t *testing.T) {
	assert.Empty(t, reduce(t, plain).ReducedLimits(stats.Optional{}), "8 hours are not long")
	long := "-- shifts --\nshift,worker,start,end,unsampled\nD,W1,2026-03-02 07:00,2026-03-02 17:00,same\n"
	r := reduce(t, plain, long).ReducedLimits(stats.Optional{})
	require.Len(t, r, 1)
	assert.InDelta(t, 0.7, r[0].ReducedLimit.Value, 1e-12)
	assert.InDelta(t, 0.1/0.7, r[0].Fraction.Value, 1e-12)
	// a week of 60 h: 40/60 × 108/128 = 0.5625 is the smaller
	r = reduce(t, plain, long).ReducedLimits(stats.Some(60))
	assert.InDelta(t, 0.5625, r[0].Factor, 1e-12)
}
