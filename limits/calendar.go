package limits

import "time"

// Calendar knows which days are worked: Monday to Friday, less the holidays.
// The zero Calendar has no holidays.
type Calendar struct {
	holidays map[date]bool
}

// date is a day without its hour and zone.
type date struct {
	year  int
	month time.Month
	day   int
}

func dateOf(t time.Time) date {
	y, m, d := t.Date()
	return date{y, m, d}
}

// NewCalendar returns the calendar with the given days off, each taken as the
// day it names in its own zone.
func NewCalendar(holidays ...time.Time) Calendar {
	c := Calendar{holidays: make(map[date]bool, len(holidays))}
	for _, h := range holidays {
		c.holidays[dateOf(h)] = true
	}
	return c
}

// WorkingDay reports whether a day is worked.
func (c Calendar) WorkingDay(t time.Time) bool {
	return t.Weekday() != time.Saturday && t.Weekday() != time.Sunday && !c.holidays[dateOf(t)]
}

// AddWorkingDays returns the day that is n working days after another. The day
// of the event is not counted; none are counted for n under 1. The regulations
// do not say how to count: the day after the event as the first is common
// practice, no source.
func (c Calendar) AddWorkingDays(from time.Time, n int) time.Time {
	day := from
	for n > 0 {
		day = day.AddDate(0, 0, 1)
		if c.WorkingDay(day) {
			n--
		}
	}
	return day
}

// addMonths returns the same day of the month n months later, or the last of
// that month where it is shorter: 31 August and 6 months is 28 or 29 February.
func addMonths(from time.Time, n int) time.Time {
	day := from.AddDate(0, n, 0)
	if day.Day() != from.Day() {
		return day.AddDate(0, 0, -day.Day())
	}
	return day
}
