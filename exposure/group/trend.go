package group

import (
	"slices"
	"time"

	"airtally/stats"
)

const (
	daysOfYear = 365.25
	// leastDays and leastSpan are what a trend needs: three days, over half a
	// year. Common practice, no source.
	leastDays = 3
	leastSpan = 0.5
	// mostRanked keeps the rank test, whose work grows with the square of the
	// number of shifts, to what is done at once.
	mostRanked = 2000
)

// trend fills in how exposures change with time, where the dates are known and
// far enough apart: a line of the logs where every value is known, else the
// rank test.
func (j *judging) trend() {
	years, exposures := j.dated()
	if distinct := slices.Compact(slices.Sorted(slices.Values(years))); len(distinct) < leastDays ||
		distinct[len(distinct)-1]-distinct[0] < leastSpan-1/daysOfYear {
		return
	}
	if j.Method == Exact {
		j.linearTrend(years, exposures)
		return
	}
	if len(years) > mostRanked {
		return
	}
	if m, err := stats.MannKendall(years, exposures); err == nil && m.Tau.Known {
		j.Trend = &Trend{Monotone: &m}
	}
}

func (j *judging) linearTrend(years []float64, exposures []stats.Interval) {
	values := make([]float64, len(exposures))
	for i, x := range exposures {
		values[i] = x.High
	}
	// Two-sided 90 % limits are one-sided 95 % ones, as all others here.
	line, err := stats.FitLogTrend(years, values, 2*judgedConfidence-1)
	if err != nil {
		return
	}
	j.Trend = &Trend{Linear: &line, PerYear: Estimate{
		Value: finite(line.Factor), LCL: finite(line.FactorLow), UCL: finite(line.FactorHigh),
	}}
}

// dated returns the shifts whose date is known, with the years since the first.
func (j *judging) dated() (years []float64, exposures []stats.Interval) {
	var first time.Time
	for _, s := range j.shifts {
		day, err := time.Parse(time.DateOnly, s.Date[:min(len(s.Date), len(time.DateOnly))])
		if err != nil {
			continue
		}
		if years == nil {
			first = day
		}
		years = append(years, day.Sub(first).Hours()/24/daysOfYear)
		exposures = append(exposures, s.Exposure)
	}
	return years, exposures
}
