package limits

import (
	"errors"
	"fmt"

	"airtally/stats"
)

// ReducedCaution stands beside every reduced limit.
const ReducedCaution = "Advice only: a model of Brief and Scala, not a legal limit. It is compared with the mean over the shift itself, never with a dose " +
	"spread over 8 hours, which would count the long shift twice. It is not meant for limits that rest on irritation alone: see what the limit rests on."

// Why no reduced limit is given.
var (
	ErrShortTerm     = errors.New("a short-term, ceiling or peak limit is not reduced for a longer shift")
	ErrActionLevel   = errors.New("an action level is not reduced for a longer shift")
	ErrTenHours      = errors.New("a limit for shifts of up to 10 hours is not a limit for 8 hours: the model does not hold for it")
	ErrOwnRule       = errors.New("the standard reduces this limit by a rule of its own, 400 divided by the hours worked")
	ErrShiftHours    = errors.New("hours of a shift: want more than 0 and less than 24")
	ErrHoursInWeek   = errors.New("hours of a week: want at least those of the shift and less than 168")
	ErrNoLimitNumber = errors.New("the limit has no value that can be reduced")
)

// Schedule is the working time of an unusual shift, in hours.
type Schedule struct {
	ShiftHours float64
	WeekHours  stats.Optional // where it is to count as well
}

// ReducedLimit is an 8-hour limit reduced for a schedule.
type ReducedLimit struct {
	Value    float64 // in the limit's unit; compare with the mean over the shift
	Factor   float64 // in (0, 1]; 1 where nothing is reduced
	ByWeek   bool    // the week's hours gave the factor, not the shift's
	Schedule Schedule
}

// ReduceForShift returns an 8-hour limit reduced for a longer shift by
// [BriefScalaDaily] and, where the week's hours are given, [BriefScalaWeekly]:
// the smaller factor. It never raises a limit, and refuses those that the model
// is not made for. [ReducedCaution] goes with every result.
func ReduceForShift(l Limit, s Schedule) (ReducedLimit, error) {
	if err := reducible(l); err != nil {
		return ReducedLimit{}, fmt.Errorf("%s %s: %w", l.Analyte, l.Kind, err)
	}
	if !(s.ShiftHours > 0 && s.ShiftHours < 24) {
		return ReducedLimit{}, fmt.Errorf("%v: %w", s.ShiftHours, ErrShiftHours)
	}
	out := ReducedLimit{Factor: BriefScalaDaily(s.ShiftHours), Schedule: s}
	if s.WeekHours.Known {
		week := s.WeekHours.Value
		if !(week >= s.ShiftHours && week < 168) {
			return ReducedLimit{}, fmt.Errorf("%v: %w", week, ErrHoursInWeek)
		}
		if weekly := BriefScalaWeekly(week); weekly < out.Factor {
			out.Factor, out.ByWeek = weekly, true
		}
	}
	out.Value = l.Value * out.Factor
	return out, nil
}

// reducible returns why the model does not hold for a limit; nil where it does.
func reducible(l Limit) error {
	switch {
	case l.Kind.ShortTerm():
		return ErrShortTerm
	case l.Kind == Action:
		return ErrActionLevel
	case l.Kind == TWA10:
		return ErrTenHours
	case l.ShiftAdjusted:
		return ErrOwnRule
	case !(l.Value > 0):
		return ErrNoLimitNumber
	}
	return nil
}
