package limits_test

import (
	"testing"
	"time"

	"airtally/limits"
)

// day reads a date at noon, so that no zone moves it.
func day(text string) time.Time {
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return d.Add(12 * time.Hour)
}

// TestAddWorkingDays: counted on a wall calendar of 2026 and 2027 (Friday 29
// May 2026 is the demo survey's determination).
func TestAddWorkingDays(t *testing.T) {
	for name, c := range map[string]struct {
		from     string
		n        int
		holidays []string
		want     string
	}{
		"Monday to Tuesday":               {"2026-06-01", 1, nil, "2026-06-02"},
		"Friday to Monday":                {"2026-05-29", 1, nil, "2026-06-01"},
		"Saturday to Monday":              {"2026-05-30", 1, nil, "2026-06-01"},
		"Sunday to Monday":                {"2026-05-31", 1, nil, "2026-06-01"},
		"5 days are a week":               {"2026-06-03", 5, nil, "2026-06-10"},
		"15 days are three weeks":         {"2026-05-29", 15, nil, "2026-06-19"},
		"a holiday in the count":          {"2026-05-29", 15, []string{"2026-06-19"}, "2026-06-22"},
		"a holiday before the count":      {"2026-05-29", 15, []string{"2026-05-25", "2026-06-19"}, "2026-06-22"},
		"a holiday on the event's day":    {"2026-05-25", 1, []string{"2026-05-25"}, "2026-05-26"},
		"a holiday on a weekend":          {"2026-07-03", 1, []string{"2026-07-04"}, "2026-07-06"},
		"a holiday twice":                 {"2026-06-18", 1, []string{"2026-06-19", "2026-06-19"}, "2026-06-22"},
		"over the year's end":             {"2026-12-30", 3, []string{"2027-01-01"}, "2027-01-05"},
		"over the end of February":        {"2027-02-26", 1, nil, "2027-03-01"},
		"over a leap day":                 {"2028-02-28", 2, nil, "2028-03-01"},
		"none":                            {"2026-05-30", 0, nil, "2026-05-30"},
		"fewer than none":                 {"2026-05-30", -3, nil, "2026-05-30"},
		"a fortnight of days off at once": {"2026-12-18", 1, []string{"2026-12-21", "2026-12-22", "2026-12-23", "2026-12-24", "2026-12-25"}, "2026-12-28"},
	} {
		var off []time.Time
		for _, h := range c.holidays {
			off = append(off, day(h))
		}
		if got := limits.NewCalendar(off...).AddWorkingDays(day(c.from), c.n).Format(time.DateOnly); got != c.want {
			t.Errorf("%s: %s; want %s", name, got, c.want)
		}
	}
}

// TestHolidayInItsZone: a holiday is the day it names, whatever its hour and
// zone, and the count keeps the hour over a change of clocks.
func TestHolidayInItsZone(t *testing.T) {
	west := time.FixedZone("west", -8*3600)
	c := limits.NewCalendar(time.Date(2026, 6, 19, 23, 0, 0, 0, west))
	if c.WorkingDay(time.Date(2026, 6, 19, 1, 0, 0, 0, time.UTC)) || !c.WorkingDay(time.Date(2026, 6, 22, 0, 0, 0, 0, west)) {
		t.Error("the holiday is not 19 June, or 22 June is none")
	}
	if !(limits.Calendar{}).WorkingDay(day("2026-06-19")) {
		t.Error("a calendar without holidays has one")
	}
}

func TestMonthsEnd(t *testing.T) {
	for _, c := range []struct {
		from   string
		months int
		want   string
	}{
		{"2026-08-31", 6, "2027-02-28"},
		{"2027-08-31", 6, "2028-02-29"},
		{"2026-08-30", 6, "2027-02-28"},
		{"2026-08-28", 6, "2027-02-28"},
		{"2026-11-30", 3, "2027-02-28"},
		{"2026-05-31", 6, "2026-11-30"},
		{"2026-02-28", 6, "2026-08-28"},
		{"2028-02-29", 12, "2029-02-28"},
		{"2026-12-15", 12, "2027-12-15"},
	} {
		f := limits.FollowUp{Months: c.months, BaseEvent: limits.Sampled}
		if got, ok := f.Due(limits.Dates{Sampled: day(c.from)}, limits.Calendar{}); !ok || got.Format(time.DateOnly) != c.want {
			t.Errorf("%d months after %s: %v; want %s", c.months, c.from, got, c.want)
		}
	}
}
