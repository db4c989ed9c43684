package limits_test

import (
	"errors"
	"math"
	"testing"

	"airtally/limits"
	"airtally/stats"
)

// TestReduceForShift: factors of Brief & Scala 1975; 10 h gives 0.7 in print,
// the others by the formula, the week's from memory.
func TestReduceForShift(t *testing.T) {
	limit := limits.Limit{Analyte: "Toluene", Kind: limits.TWA8, Value: 200, Unit: limits.PartsPerMillion}
	for name, c := range map[string]struct {
		schedule limits.Schedule
		want     float64
		byWeek   bool
	}{
		"8 hours":                      {limits.Schedule{ShiftHours: 8}, 200, false},
		"6 hours never raise it":       {limits.Schedule{ShiftHours: 6}, 200, false},
		"10 hours":                     {limits.Schedule{ShiftHours: 10}, 140, false},
		"12 hours":                     {limits.Schedule{ShiftHours: 12}, 100, false},
		"16 hours":                     {limits.Schedule{ShiftHours: 16}, 50, false},
		"a week of 40 takes the day's": {limits.Schedule{ShiftHours: 10, WeekHours: stats.Some(40)}, 140, false},
		"a week of 84 over 8 hours":    {limits.Schedule{ShiftHours: 8, WeekHours: stats.Some(84)}, 62.5, true},
		"a week of 30 never raises it": {limits.Schedule{ShiftHours: 8, WeekHours: stats.Some(30)}, 200, false},
	} {
		got, err := limits.ReduceForShift(limit, c.schedule)
		if err != nil || !near(got.Value, c.want) || got.ByWeek != c.byWeek || !near(got.Value, limit.Value*got.Factor) || got.Schedule != c.schedule {
			t.Errorf("%s: %+v %v; want %v", name, got, err, c.want)
		}
	}
}

func TestReduceForShiftRefuses(t *testing.T) {
	twelve := limits.Schedule{ShiftHours: 12}
	week := func(h float64) limits.Schedule { return limits.Schedule{ShiftHours: 12, WeekHours: stats.Some(h)} }
	eight := limits.Limit{Kind: limits.TWA8, Value: 1}
	for name, c := range map[string]struct {
		limit    limits.Limit
		schedule limits.Schedule
		want     error
	}{
		"STEL":               {limits.Limit{Kind: limits.STEL, Value: 1}, twelve, limits.ErrShortTerm},
		"ceiling":            {limits.Limit{Kind: limits.Ceiling, Value: 1}, twelve, limits.ErrShortTerm},
		"peak":               {limits.Limit{Kind: limits.Peak, Value: 1}, twelve, limits.ErrShortTerm},
		"action level":       {limits.Limit{Kind: limits.Action, Value: 1}, twelve, limits.ErrActionLevel},
		"up to 10 hours":     {limits.Limit{Kind: limits.TWA10, Value: 1}, twelve, limits.ErrTenHours},
		"lead":               {limits.Limit{Kind: limits.TWA8, Value: 50, ShiftAdjusted: true}, twelve, limits.ErrOwnRule},
		"no value":           {limits.Limit{Kind: limits.TWA8}, twelve, limits.ErrNoLimitNumber},
		"no hours":           {eight, limits.Schedule{}, limits.ErrShiftHours},
		"hours not a number": {eight, limits.Schedule{ShiftHours: math.NaN()}, limits.ErrShiftHours},
		"a day and night":    {eight, limits.Schedule{ShiftHours: 24}, limits.ErrShiftHours},
		"a week too short":   {eight, week(11), limits.ErrHoursInWeek},
		"a whole week":       {eight, week(168), limits.ErrHoursInWeek},
		"week not a number":  {eight, week(math.NaN()), limits.ErrHoursInWeek},
	} {
		got, err := limits.ReduceForShift(c.limit, c.schedule)
		if !errors.Is(err, c.want) || got != (limits.ReducedLimit{}) {
			t.Errorf("%s: %+v, %v; want %v", name, got, err, c.want)
		}
	}
	_, err := limits.ReduceForShift(limits.Limit{Analyte: "Chlorine", Kind: limits.Ceiling, Value: 1}, twelve)
	if want := "Chlorine CEILING: a short-term, ceiling or peak limit is not reduced for a longer shift"; err == nil || err.Error() != want {
		t.Errorf("%v; want %s", err, want)
	}
}

// TestReducedNeverRaised tries every hour of a shift and a week.
func TestReducedNeverRaised(t *testing.T) {
	limit := limits.Limit{Kind: limits.TWA8, Value: 3}
	last := limit.Value
	for hours := 1.0; hours < 24; hours++ {
		got, err := limits.ReduceForShift(limit, limits.Schedule{ShiftHours: hours})
		if err != nil || !(got.Value > 0) || got.Value > last {
			t.Errorf("%v h: %v after %v, %v", hours, got.Value, last, err)
		}
		last = got.Value
	}
}
