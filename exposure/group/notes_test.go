package group_test

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

// byWorker returns a shift for each value of each worker, a day apart.
func byWorker(workers ...[]float64) []group.Shift {
	var shifts []group.Shift
	for i, values := range workers {
		for j, s := range shiftsOf(values...) {
			s.Worker = fmt.Sprintf("W-%d", i+1)
			s.Date = fmt.Sprintf("2026-04-%02d", 1+j)
			shifts = append(shifts, s)
		}
	}
	return shifts
}

func noted(t *testing.T, s *group.Statistics, want string) {
	t.Helper()
	assert.Contains(t, s.Notes, want)
}

func TestNotesOfData(t *testing.T) {
	s := judge(t, []group.Shift{{Exposure: stats.Exact(1)}, {Exposure: stats.Exact(2)}, {Worker: "W-1", Exposure: stats.Exact(3)}}, 5, group.Options{})
	noted(t, s, "2 exposures of 3 without a worker: whether workers differ cannot be told from those.")
	require.Equal(t, 1, s.Workers)
	require.Nil(t, s.Between)

	s = judge(t, byWorker([]float64{1, 2, 3}), 5, group.Options{})
	noted(t, s, "All 3 shifts are of one worker: they say nothing of how others of the group are exposed.")
	require.Nil(t, s.Between)

	shifts := shiftsOf(1, 2, 3, 4)
	shifts[3].Exposure = stats.Exact(1).Unbounded()
	shifts[3].Exposure.Low = 0
	s = judge(t, shifts, 5, group.Options{})
	require.Equal(t, group.MLE, s.Method)
	require.False(t, s.MaxHigh.Known)
	noted(t, s, "1 exposure of 4 with no bound at all: counted, but they tell nothing.")
	require.Contains(t, s.Why, "Perhaps over the limit, not known exactly: W-4, 2026-03-05, not known at all.")
}

func TestNotesOfShape(t *testing.T) {
	s := judge(t, shiftsOf(1, 1.1, .9, 1.2, .95, 1.3, 40), 5, group.Options{})
	require.Less(t, s.WP.Value, 0.05)
	noted(t, s, "The exposures hardly look lognormal (Shapiro-Wilk P = 5.71e-05), as all figures suppose: look for mixed tasks, groups or an error.")
	noted(t, s, "W-7, 2026-03-08, at 800 % of the limit, lies far above the others (Grubbs test, P = 1.75e-05): check the sample, but do not drop it for that alone.")

	s = judge(t, shiftsOf(1, 1.1, .9, 1.2, .95, 1.3, 1.05), 5, group.Options{})
	require.Empty(t, s.Notes)
	require.Greater(t, s.Plot.Value, 0.95)
}

// TestWorkersApart is a balanced made-up group, whose restricted likelihood has
// closed forms: σ²w = MSw and σ²b = (MSb − MSw)/n; Searle, Casella & McCulloch
// (1992), "Variance Components".
func TestWorkersApart(t *testing.T) {
	s := judge(t, byWorker([]float64{1, 1.2, .9}, []float64{1.1, .95, 1.05}, []float64{4, 5, 4.4}, []float64{.9, 1, 1.15}), 10, group.Options{})
	require.NotNil(t, s.Between)
	require.Equal(t, 4, s.Between.Workers)
	a, err := stats.OneWay(logsOf([][]float64{{1, 1.2, .9}, {1.1, .95, 1.05}, {4, 5, 4.4}, {.9, 1, 1.15}}))
	require.NoError(t, err)
	require.InEpsilon(t, a.MSWithin.Value, s.Between.VarWithin, 1e-9)
	require.InEpsilon(t, (a.MSBetween.Value-a.MSWithin.Value)/3, s.Between.VarBetween, 1e-9)
	require.InEpsilon(t, s.Between.VarBetween/(s.Between.VarBetween+s.Between.VarWithin), s.Between.Share.Value, 1e-12)
	require.Len(t, s.Notes, 3)
	require.Regexp(t, `^Worker W-3 stands apart: exposures about 4\.\d+ times higher than those of the others, who are alike \(P = .*\); find out what differs, or judge that worker alone\.$`, s.Notes[2])

	s = judge(t, byWorker([]float64{1, 4}, []float64{2, 2.1}), 10, group.Options{})
	require.Empty(t, s.Notes)
	require.Zero(t, s.Between.VarBetween)
}

func TestWorkersWithResultsUnderReportingLimits(t *testing.T) {
	s := judge(t, byWorker([]float64{-1, 1.2, .9}, []float64{1.1, .95, -1}, []float64{4, 5, 4.4}, []float64{-.9, 1, 1.15}), 2, group.Options{})
	require.Equal(t, group.MLE, s.Method)
	require.NotNil(t, s.Between)
	require.Greater(t, s.Between.Share.Value, 0.5)
	require.Greater(t, s.Between.Worker.Value, 0.2)
	require.Contains(t, s.Notes[0], "and under 20 % is taken as compliance of individuals (BOHS & NVvA 2011)")
}

// overTwoYears returns exposures a quarter apart.
func overTwoYears(values ...float64) []group.Shift {
	shifts := shiftsOf(values...)
	for i := range shifts {
		shifts[i].Date = fmt.Sprintf("%d-%02d-15", 2024+i/4, 1+3*(i%4))
	}
	return shifts
}

func TestTrend(t *testing.T) {
	s := judge(t, overTwoYears(8, 6.5, 5.2, 4.1, 3.1, 2.6, 2.1, 1.6), 50, group.Options{})
	require.NotNil(t, s.Trend)
	require.Nil(t, s.Trend.Monotone)
	require.InDelta(t, 0.4, s.Trend.PerYear.Value.Value, 0.05, "about 0.8 a quarter, 0.8⁴ a year")
	require.Less(t, s.Trend.PerYear.UCL.Value, 1.0)
	require.Regexp(t, `^Exposures fall with time \(P = .*\): one lognormal for all of them may not describe today's\.$`, s.Notes[0])

	s = judge(t, overTwoYears(-8, 6.5, 5.2, 4.1, 3.1, 2.6, 2.1, 1.6), 50, group.Options{})
	require.Equal(t, group.MLE, s.Method)
	require.Nil(t, s.Trend, "all but the first lie under its reporting limit, so ranks tell nothing")

	s = judge(t, overTwoYears(-1, 1.6, 2.2, 2.6, 3.1, 4.5, 5, 6), 50, group.Options{})
	require.NotNil(t, s.Trend)
	require.Nil(t, s.Trend.Linear)
	require.Equal(t, 28, s.Trend.Monotone.S, "all 28 pairs rise")

	require.Nil(t, judge(t, shiftsOf(8, 6.5, 5.2, 4.1), 50, group.Options{}).Trend, "a week shows no trend")
	two := overTwoYears(8, 6.5, 5.2, 4.1)
	two[1].Date, two[2].Date = two[0].Date, two[3].Date
	require.Nil(t, judge(t, two, 50, group.Options{}).Trend, "two days show no trend")
}

func TestPriors(t *testing.T) {
	known, few := shiftsOf(1.9, 4.2, 7.2, 0.9, 2.3, 5.4), shiftsOf(-.1, -.1, -.1)
	reference := stats.ReferencePrior()
	s := judge(t, few, 5, group.Options{Prior: &reference})
	require.Nil(t, s.Bayes)
	require.Equal(t, group.ByPreliminary, s.DecidedBy)
	require.Equal(t, limits.Below, s.Outcome)
	noted(t, s, "There is no posterior: the reference prior has no proper posterior: the likelihood has no maximum: no observation is bounded on both sides.")

	chosen := stats.DefaultPrior(5)
	s = judge(t, few, 5, group.Options{Prior: &chosen})
	require.Equal(t, group.ByPosterior, s.DecidedBy, "a prior that was asked for counts at any number of shifts")

	s = judge(t, few, 5, group.Options{})
	noted(t, s, "The exposures alone have no posterior, so the posterior rests on a default prior as well, which matters here: GM 0.5 within a factor of 10, GSD 2.5 (1.4 to 15).")
	require.Equal(t, "default: GM 0.5 within a factor of 10, GSD 2.5 (1.4 to 15)", s.Bayes.Prior)

	low, err := stats.BoundedPrior(0.01, 3, 1.05, 1.5)
	require.NoError(t, err)
	s = judge(t, known, 8, group.Options{Prior: &low})
	require.Equal(t, group.ByExact, s.DecidedBy)
	require.Equal(t, limits.Undecided, s.Outcome)
	noted(t, s, "The posterior under the bounded prior says otherwise: below. Every exposure is known, so the exact limits decide.")
	require.NotEmpty(t, s.Bayes.Warning)
	noted(t, s, s.Bayes.Warning)
}

func TestCrossChecks(t *testing.T) {
	s := judge(t, shiftsOf(-.5, .62, .81, .95, 1.3), 20, group.Options{KaplanMeier: true, OrderStatistics: true})
	require.NotNil(t, s.KaplanMeier)
	require.NotNil(t, s.Ordered)
	s = judge(t, shiftsOf(-.5, .62, .81, .95, 1.3), 20, group.Options{})
	require.Nil(t, s.KaplanMeier)
	require.Nil(t, s.Ordered)
}

func TestCompare(t *testing.T) {
	a, b, c := shiftsOf(1, 1.2, .9, 1.1, 1.05), shiftsOf(1.1, .95, 1.05, 1.2, .98), shiftsOf(4, 5, 4.4, 3.8, 4.1)
	got, err := group.Compare([]group.Named{{"Mixers", a}, {"Packers", b}, {"Dryers", c}})
	require.NoError(t, err)
	require.True(t, got.Differ)
	require.Regexp(t, `^The groups differ in their geometric means by more than chance explains \(P = [^)]*\)\. `+
		`Dryers is 4\.0\d times Mixers \(\d\.\d+ to \d\.\d+\); Dryers is 4\.0\d times Packers \(\d\.\d+ to \d\.\d+\), with 95 % confidence for all pairs together\. `+
		`Rule: analysis of variance of logarithms; pairs by the studentized range`, got.Why)
	require.NotNil(t, got.Ranks)

	got, err = group.Compare([]group.Named{{"Mixers", a}, {"Packers", b}})
	require.NoError(t, err)
	require.False(t, got.Differ)
	require.Contains(t, got.Why, "; that does not show them to be alike.")

	got, err = group.Compare([]group.Named{{"Mixers", shiftsOf(-1, 1.2, .9, -1)}, {"Dryers", c}})
	require.NoError(t, err)
	require.NotNil(t, got.Censored)
	require.Nil(t, got.GeometricMeans)
	require.True(t, got.Differ)

	_, err = group.Compare([]group.Named{{"Mixers", a}})
	require.ErrorIs(t, err, stats.ErrTooFew)
	_, err = group.Compare([]group.Named{{"Mixers", a}, {"Packers", nil}})
	require.EqualError(t, err, "too few observations: group Packers has no exposures")
	_, err = group.Compare([]group.Named{{"Mixers", a}, {"Packers", shiftsOf(0)}})
	require.EqualError(t, err, "group Packers: W-1, 2026-03-02: an exposure of 0 is not a result: state the reporting limit it is under")
	_, err = group.Compare([]group.Named{{"Mixers", unbounded(1, 2)}, {"Packers", a}})
	require.Error(t, err)
	require.False(t, errors.Is(err, stats.ErrTooFew))
}

// TestShiftsAreNamedOnce: a shift without a name of its own is called after its
// worker and day.
func TestShiftsAreNamedOnce(t *testing.T) {
	for want, s := range map[string]group.Shift{
		"W-1, shift night, 2026-03-02": {Worker: "W-1", Name: "night", Date: "2026-03-02"},
		"W-1 2026-03-02":               {Worker: "W-1", Name: "W-1 2026-03-02", Date: "2026-03-02"},
		"W-1, 2026-03-02":              {Worker: "W-1", Date: "2026-03-02"},
		"W-1":                          {Worker: "W-1"},
		"worker not named, 2026-03-02": {Date: "2026-03-02"},
		"worker not named":             {},
	} {
		_, err := group.Judge([]group.Shift{s}, 5, group.Options{})
		require.EqualError(t, err, want+": an exposure of 0 is not a result: state the reporting limit it is under")
	}
}
