package group_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

// shiftsOf returns a shift of a worker of its own for each value; a negative
// value stands for a result under a reporting limit.
func shiftsOf(values ...float64) []group.Shift {
	shifts := make([]group.Shift, len(values))
	for i, v := range values {
		shifts[i] = group.Shift{Worker: fmt.Sprintf("W-%d", i+1), Date: fmt.Sprintf("2026-03-%02d", i+2), Exposure: stats.Exact(v)}
		if v < 0 {
			shifts[i].Exposure = stats.Under(-v, -v/2)
		}
	}
	return shifts
}

func judge(t *testing.T, shifts []group.Shift, limit float64, o group.Options) *group.Statistics {
	t.Helper()
	s, err := group.Judge(shifts, limit, o)
	require.NoError(t, err)
	return s
}

func near(t *testing.T, want float64, got stats.Optional, relative float64, what string) {
	t.Helper()
	require.True(t, got.Known, "%s is missing", what)
	require.InEpsilon(t, want, got.Value, relative, what)
}

// TestTenKnownExposures holds a whole group of ten made-up values against
// figures computed apart from this project: tolerance factors and exceedance
// limits by a 30-digit integral of the noncentral t.
func TestTenKnownExposures(t *testing.T) {
	s := judge(t, shiftsOf(1.9, 4.2, 7.2, 0.9, 2.3, 5.4, 1.2, 3.3, 0.6, 2.7), 5, group.Options{})
	require.Equal(t, group.Exact, s.Method)
	require.Equal(t, 10, s.N)
	require.Equal(t, 10, s.Workers)
	near(t, 0.164319037135, s.Exceedance.Value, 1e-9, "exceedance")
	near(t, 0.0552608625854, s.Exceedance.LCL, 1e-9, "lower limit of exceedance")
	near(t, 0.376152200172, s.Exceedance.UCL, 1e-9, "upper limit of exceedance")
	near(t, 5.1634533, s.P95.LCL, 1e-7, "lower limit of the 95th percentile")
	near(t, 23.288968, s.P95.UCL, 1e-7, "upper limit of the 95th percentile")
	near(t, 11.331056, s.P95UCL70, 1e-7, "70 % limit of the 95th percentile")
	near(t, 8.8993607, s.Bayes.P95.Value, 1e-7, "posterior median of the 95th percentile")
	near(t, 0.17184794, s.Bayes.Exceedance.Value, 1e-6, "posterior median of exceedance")
	near(t, 0.96141548, s.Bayes.OverLimit, 1e-7, "probability over the limit")
	near(t, 0.96141548+0.038583944, s.Bayes.OverHalf, 1e-7, "probability over half of it")
	near(t, 2.5, s.Median, 1e-12, "median")
	near(t, 0.6, s.Min, 1e-12, "least")
	near(t, 7.2, s.Max, 1e-12, "greatest")
	require.Equal(t, "reference", s.Bayes.Prior)
	require.Nil(t, s.Between, "no worker has two shifts")
}

// TestWeldingFume is a teaching example of six welding fume exposures in
// mg/m³ with its printed geometric mean 1.06 and geometric standard deviation
// 1.83; the limits computed apart from this project.
func TestWeldingFume(t *testing.T) {
	s := judge(t, shiftsOf(0.84, 0.98, 0.42, 1.16, 1.36, 2.66), 5, group.Options{})
	near(t, 1.06, s.GM.Value, 0.005, "GM as printed")
	near(t, 1.83, s.GSD, 0.005, "GSD as printed")
	near(t, 4.00042660320, s.P95UCL70, 1e-9, "70 % limit")
	near(t, 10.0496378730, s.P95.UCL, 1e-9, "95 % limit")
	near(t, 2.80853713162, s.AM.UCL, 1e-9, "Land's limit of the mean")
}

// TestEN689GroupTest has the coefficient 2.187 of EN 689:2018 for six results
// (from memory, equal to the computed tolerance factor) and U_R computed apart.
func TestEN689GroupTest(t *testing.T) {
	values := []float64{.12, .35, .08, .27, .19, .41}
	s := judge(t, shiftsOf(values...), 1, group.Options{})
	require.Equal(t, stats.EN689Group, s.EN689.Stage)
	near(t, 2.50608550719, s.EN689.UR, 1e-10, "U_R")
	near(t, 2.187, s.EN689.UT, 1e-12, "U_T")
	require.Equal(t, stats.EN689Below, s.EN689.Outcome)

	many := judge(t, shiftsOf(append(values, repeated(31-len(values))...)...), 1, group.Options{})
	near(t, 1.816855406, many.EN689.UT, 1e-9, "beyond the table, by the tolerance factor of R 4.2")
}

// repeated returns values that differ a little.
func repeated(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 0.2 + 0.01*float64(i%7)
	}
	return out
}

// TestCensoredGroup is a made-up set of ten with three results under 0.5; its
// maximum likelihood fit by survreg of R's survival 3.5, its limits by the
// profile likelihood searched by brute force.
func TestCensoredGroup(t *testing.T) {
	s := judge(t, shiftsOf(-.5, -.5, -.5, .62, .81, .95, 1.3, 1.7, 2.4, 4.1), 20, group.Options{})
	require.Equal(t, group.MLE, s.Method)
	require.Equal(t, 3, s.NCensored)
	near(t, -0.146540860665, s.Mu, 1e-8, "mu")
	near(t, 0.930335498568, s.Sigma, 1e-8, "sigma")
	near(t, 3.98973518265, s.P95.Value, 1e-8, "95th percentile")
	near(t, 2.17013855469, s.P95.LCL, 1e-7, "its lower limit")
	near(t, 12.9629960956, s.P95.UCL, 1e-7, "its upper limit")
	near(t, 0.800972978032, s.AM.LCL, 1e-7, "lower limit of the mean")
	near(t, 3.38985182110, s.AM.UCL, 1e-7, "upper limit of the mean")
	near(t, math.Exp(s.Mu.Value+s.Sigma.Value*s.Sigma.Value/2), s.AM.Value, 1e-12, "mean of the fit")
	near(t, 0.25, s.Min, 1e-12, "a value under 0.5 stands at half of it")
	require.Equal(t, group.ByPosterior, s.DecidedBy)
	require.Equal(t, "reference", s.Bayes.Prior)
	require.Greater(t, s.Bayes.P95.UCL.Value, s.P95.UCL.Value, "profile limits are too narrow for few shifts")
}

// TestUpperLimitAndExceedanceAgree: the upper limit of the 95th percentile is
// over the limit exactly where the upper limit of the exceedance is over 5 %;
// Owen & Hua (1977) for the two as one question.
func TestUpperLimitAndExceedanceAgree(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 95))
	sides := map[bool]int{}
	for range 300 {
		shifts := make([]group.Shift, 2+random.IntN(20))
		for i := range shifts {
			shifts[i].Exposure = stats.Exact(math.Exp(random.NormFloat64()))
		}
		d := judge(t, shifts, 1, group.Options{})
		if !d.P95.UCL.Known {
			continue
		}
		limit := d.P95.UCL.Value * (1 + 0.2*random.NormFloat64()*random.NormFloat64())
		if limit <= 0 {
			continue
		}
		s := judge(t, shifts, limit, group.Options{})
		over := s.P95.UCL.Value > limit
		sides[over]++
		require.Equal(t, over, s.Exceedance.UCL.Value > 0.05, "limit %g", limit)
		require.InDelta(t, s.P95.UCL.Value, s.Bayes.P95.UCL.Value, 1e-9*s.P95.UCL.Value)
		require.InDelta(t, s.Exceedance.UCL.Value, s.Bayes.Exceedance.UCL.Value, 1e-9)
	}
	require.Greater(t, min(sides[true], sides[false]), 50)
}

// TestNamedFiguresDoNotMove: other percentiles, confidences and cross-checks
// change only what they name.
func TestNamedFiguresDoNotMove(t *testing.T) {
	for _, values := range [][]float64{{1.9, 4.2, 7.2, 0.9, 2.3}, {-.5, -.5, .62, .81, .95, 1.3}, {-.1, -.1, -.1}} {
		plain := *judge(t, shiftsOf(values...), 5, group.Options{})
		asked := *judge(t, shiftsOf(values...), 5, group.Options{Percentile: 0.9, Confidence: 0.7, KaplanMeier: true})
		if plain.Method != group.None {
			require.NotEqual(t, plain.Asked, asked.Asked)
			require.Equal(t, plain.P95, plain.Asked)
		}
		asked.Percentile, asked.Confidence, asked.Asked = plain.Percentile, plain.Confidence, plain.Asked
		asked.KaplanMeier, asked.Notes = nil, plain.Notes
		assert.Equal(t, plain, asked)
	}
}

// TestZeroWidthIsKnown: bounds that are equal are a known exposure.
func TestZeroWidthIsKnown(t *testing.T) {
	known := shiftsOf(1.9, 4.2, 7.2, 0.9, 2.3, 5.4)
	bounded := shiftsOf(1.9, 4.2, 7.2, 0.9, 2.3, 5.4)
	for i := range bounded {
		v := bounded[i].Exposure.Value
		bounded[i].Exposure = stats.Interval{Low: v, Value: v, High: v}
	}
	assert.Equal(t, judge(t, known, 5, group.Options{}), judge(t, bounded, 5, group.Options{}))

	// Bounds a hair apart are censored, and the fit comes to the sample moments
	// with divisor n.
	hair := shiftsOf(1.9, 4.2, 7.2, 0.9, 2.3, 5.4)
	hair[0].Exposure = stats.Interval{Low: 1.9 * (1 - 1e-9), Value: 1.9, High: 1.9 * (1 + 1e-9)}
	s, exact := judge(t, hair, 5, group.Options{}), judge(t, known, 5, group.Options{})
	require.Equal(t, group.MLE, s.Method)
	near(t, exact.Mu.Value, s.Mu, 1e-7, "mu")
	near(t, exact.Sigma.Value*math.Sqrt(5./6), s.Sigma, 1e-7, "sigma")
	near(t, exact.P95.UCL.Value, s.Bayes.P95.UCL, 1e-6, "the posterior meets the exact limit")
}

// TestOrderOfShiftsDoesNotMatter but for rounding.
func TestOrderOfShiftsDoesNotMatter(t *testing.T) {
	shifts := shiftsOf(1.9, -4.2, 7.2, 0.9, -2.3, 5.4, 1.1)
	a := judge(t, shifts, 5, group.Options{})
	shifts[0], shifts[5] = shifts[5], shifts[0]
	b := judge(t, shifts, 5, group.Options{})
	near(t, a.P95.UCL.Value, b.P95.UCL, 1e-9, "profile limit")
	near(t, a.Bayes.P95.UCL.Value, b.Bayes.P95.UCL, 1e-9, "posterior limit")
	require.Equal(t, a.Outcome, b.Outcome)
}

func TestRefused(t *testing.T) {
	fine := shiftsOf(1, 2, 3)
	with := func(x stats.Interval) []group.Shift {
		out := shiftsOf(1, 2, 3)
		out[1].Exposure = x
		return out
	}
	for _, c := range []struct {
		shifts []group.Shift
		limit  float64
		o      group.Options
		want   string
	}{
		{nil, 5, group.Options{}, "no exposures"},
		{fine, 0, group.Options{}, "limit is 0, need a positive finite number"},
		{fine, -1, group.Options{}, "limit is -1, need a positive finite number"},
		{fine, math.NaN(), group.Options{}, "limit is NaN, need a positive finite number"},
		{fine, math.Inf(1), group.Options{}, "limit is +Inf, need a positive finite number"},
		{fine, 5, group.Options{Percentile: 95}, "percentile 95 is not a fraction between 0 and 1"},
		{fine, 5, group.Options{Confidence: 0.05}, "confidence 0.05 is not a fraction from 0.5 to under 1"},
		{with(stats.Exact(0)), 5, group.Options{}, "W-2, 2026-03-03: an exposure of 0 is not a result: state the reporting limit it is under"},
		{with(stats.Exact(-1)), 5, group.Options{}, "W-2, 2026-03-03: -1 to -1 is not an exposure: need a number over 0, or bounds with the lower first"},
		{with(stats.Exact(math.NaN())), 5, group.Options{}, "W-2, 2026-03-03: NaN to NaN is not an exposure: need a number over 0, or bounds with the lower first"},
		{with(stats.Interval{Low: 2, Value: 2, High: 1}), 5, group.Options{}, "W-2, 2026-03-03: 2 to 1 is not an exposure: need a number over 0, or bounds with the lower first"},
		{with(stats.Interval{Low: 1, Value: 3, High: 2}), 5, group.Options{}, "W-2, 2026-03-03: value 3 is not within its bounds 1 to 2"},
	} {
		_, err := group.Judge(c.shifts, c.limit, c.o)
		assert.EqualError(t, err, c.want)
	}
}

// TestHistoryIsMarked: earlier exposures count, and are told.
func TestHistoryIsMarked(t *testing.T) {
	shifts := shiftsOf(1.9, 4.2, 7.2, 0.9, 2.3, 5.4)
	shifts[0].History, shifts[3].History = true, true
	s := judge(t, shifts, 50, group.Options{})
	require.Equal(t, 6, s.N)
	require.Equal(t, 2, s.NHistory)
	require.Contains(t, s.Notes, "2 of the 6 exposures are of earlier surveys; they count only if the work has not changed since.")
}

// TestStatisticsHoldNumbersAlone: what JSON cannot write never comes out.
func TestStatisticsHoldNumbersAlone(t *testing.T) {
	for _, shifts := range [][]group.Shift{shiftsOf(1e-300, 1e300), shiftsOf(1e-300, -1e300, 4), shiftsOf(1e308, 1.5e308), shiftsOf(5e-324, 1e-323, 1)} {
		s := judge(t, shifts, 1, group.Options{})
		require.Empty(t, notFinite(reflect.ValueOf(*s), "statistics"), "%v", shifts)
	}
}

func TestOutcomeWordsAreThoseOfEveryComparison(t *testing.T) {
	require.Equal(t, limits.Below, judge(t, shiftsOf(1, 1.1, 1.2, .9, 1.05, .95), 10, group.Options{}).Outcome)
	require.Equal(t, limits.Exceeds, judge(t, shiftsOf(1, 1.1, 1.2, .9, 1.05, .95), .5, group.Options{}).Outcome)
	require.Equal(t, limits.Undecided, judge(t, shiftsOf(1, 1.1, 1.2, .9, 1.05, .95), 1.3, group.Options{}).Outcome)
}

func logsOf(groups [][]float64) [][]float64 {
	out := make([][]float64, len(groups))
	for i, g := range groups {
		for _, v := range g {
			out[i] = append(out[i], math.Log(v))
		}
	}
	return out
}

// One sample against limit after limit says what each limit alone would.
func TestSampleAgainstLimits(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 12))
	for _, every := range []int{0, 4, 2, 1} {
		shifts := twelve(random, every)
		o := group.Options{KaplanMeier: true, OrderStatistics: true}
		sample, err := group.NewSample(shifts, o)
		require.NoError(t, err)
		for _, limit := range []float64{0.1, 2, 5, 1e6, 2} {
			got, err := sample.Against(limit)
			require.NoError(t, err)
			want, err := group.Judge(shifts, limit, o)
			require.NoError(t, err)
			require.Equal(t, want, got, "limit %g, every %d censored", limit, every)
		}
		_, err = sample.Against(0)
		require.Error(t, err)
	}
}
