package stats

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// groupCase is one row of the reference cases: its source and status stand in
// the file beside the numbers.
type groupCase struct {
	id, data, parameters, expected string
	tolerance                      float64
}

// groupCases returns the reference cases of a topic.
func groupCases(t *testing.T, topic string) []groupCase {
	t.Helper()
	file, err := os.Open("../testdata/reference/stats_groups_cases.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var cases []groupCase
	for _, r := range rows[1:] {
		if r[1] == topic {
			tolerance, _ := strconv.ParseFloat(r[5], 64)
			cases = append(cases, groupCase{r[0], r[2], r[3], r[4], tolerance})
		}
	}
	require.NotEmpty(t, cases, topic)
	return cases
}

func mustNumber(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	require.NoError(t, err)
	return x
}

// named reads "a=1; b=2".
func named(t *testing.T, text string) map[string]float64 {
	t.Helper()
	all := map[string]float64{}
	for part := range strings.SplitSeq(text, ";") {
		name, value, _ := strings.Cut(part, "=")
		all[strings.TrimSpace(name)] = mustNumber(t, value)
	}
	return all
}

func numberList(t *testing.T, text string) (xs []float64) {
	t.Helper()
	for _, field := range strings.Fields(text) {
		xs = append(xs, mustNumber(t, field))
	}
	return xs
}

// grouped reads "A:1 A:2 B:3".
func grouped(t *testing.T, text string) (groups [][]float64) {
	t.Helper()
	last := ""
	for _, field := range strings.Fields(text) {
		name, value, _ := strings.Cut(field, ":")
		if name != last {
			groups, last = append(groups, nil), name
		}
		groups[len(groups)-1] = append(groups[len(groups)-1], mustNumber(t, value))
	}
	return groups
}

func exactIntervals(xs []float64) (all []Interval) {
	for _, x := range xs {
		all = append(all, Exact(x))
	}
	return all
}

// near compares each expected number with what came out.
func (c groupCase) near(t *testing.T, got map[string]float64) {
	t.Helper()
	for name, want := range named(t, c.expected) {
		value, ok := got[name]
		require.True(t, ok, "%s: nothing for %s", c.id, name)
		require.LessOrEqual(t, math.Abs(value-want), c.tolerance*math.Max(math.Abs(want), 1e-3),
			"%s %s: got %.12g, want %.12g", c.id, name, value, want)
	}
}

func TestOneWayReachesReferences(t *testing.T) {
	for _, c := range groupCases(t, "anova") {
		a, err := OneWay(grouped(t, c.data))
		require.NoError(t, err)
		got := map[string]float64{
			"n0": a.EffectiveGroupSize, "SSb": a.SSBetween, "SSw": a.SSWithin,
			"MSb": a.MSBetween.Value, "MSw": a.MSWithin.Value, "F": a.F.Value, "p": a.P.Value,
			"sb2_anova": a.VarBetween.Value, "sw2_anova": a.VarWithin.Value,
		}
		c.near(t, got)
		if c.id == "nist-AtmWtAg" { // its sums are too small for the floor of near
			require.InEpsilon(t, 3.638341875e-09, a.SSBetween, 1e-6)
			require.InEpsilon(t, 1.04951729166667e-08, a.SSWithin, 1e-6)
		}
	}
}

func TestOneWayRefusesWhatItCannotCompare(t *testing.T) {
	_, err := OneWay([][]float64{{1, 2}})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = OneWay([][]float64{{1, 2}, nil})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = OneWay([][]float64{{1, 2}, {math.NaN()}})
	require.EqualError(t, err, "observation 1 of group 2 is not a finite number")
	a, err := OneWay([][]float64{{0.1, 0.1, 0.1}, {0.3}})
	require.NoError(t, err)
	require.Zero(t, a.SSWithin)
	require.False(t, a.F.Known)
}

func TestRestrictedLikelihoodReachesReferences(t *testing.T) {
	for _, c := range groupCases(t, "reml") {
		v, err := workerVarianceOfLogs(grouped(t, c.data))
		require.NoError(t, err)
		c.near(t, map[string]float64{"sb2_REML": v.VarBetween, "sw2_REML": v.VarWithin, "mu_REML": v.Mu,
			"reml_crit": v.Criterion.Value})
	}
}

// In balanced data restricted maximum likelihood and analysis of variance
// agree where the latter is not negative: Searle, Casella & McCulloch (1992),
// section 4.8 (from memory).
func TestBalancedDataGiveMoments(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		workers := make([][]float64, 2+r.IntN(8))
		shifts := 2 + r.IntN(5)
		for i := range workers {
			b := r.NormFloat64()
			for range shifts {
				workers[i] = append(workers[i], b+r.NormFloat64())
			}
		}
		a, err := OneWay(workers)
		require.NoError(t, err)
		v, err := workerVarianceOfLogs(workers)
		require.NoError(t, err)
		if a.VarBetween.Value > 1e-6 {
			require.InEpsilon(t, a.VarBetween.Value, v.VarBetween, 1e-6)
			require.InEpsilon(t, a.VarWithin.Value, v.VarWithin, 1e-9)
		} else if a.VarBetween.Value < 0 {
			require.Zero(t, v.VarBetween)
		}
	}
}

func TestWorkerExceedances(t *testing.T) {
	for _, c := range groupCases(t, "overexposure") {
		p := named(t, c.parameters)
		v := WorkerVariance{Mu: p["mu"], VarBetween: p["sb2"], VarWithin: p["sw2"]}
		c.near(t, map[string]float64{"group": v.GroupExceedance(p["limit"]),
			"theta": v.WorkerMeanExceedance(p["limit"]), "indiv": v.WorkerExceedance(p["limit"], 0.05),
			"share": v.Share().Value})
	}
}

func TestWorkersThatCannotBeToldApart(t *testing.T) {
	_, err := EstimateWorkerVariance([][]float64{{1}, {2}, {3}})
	require.ErrorIs(t, err, ErrTooFew)
	_, err = EstimateWorkerVariance([][]float64{{1, 0}, {2}})
	require.ErrorContains(t, err, "value 2 of group 1 is 0: need a positive finite number")
	v, err := EstimateWorkerVariance([][]float64{{2, 2}, {2}})
	require.NoError(t, err)
	require.False(t, v.Share().Known)
	require.Zero(t, v.GroupExceedance(3))
	require.Equal(t, 1.0, v.WorkerExceedance(1, 0.05))
	v, err = EstimateWorkerVariance([][]float64{{1, 1}, {math.E, math.E}})
	require.NoError(t, err)
	require.InDelta(t, 0.5, v.VarBetween, 1e-12)
	require.Zero(t, v.VarWithin)
}

func TestOneWorkerStandsApart(t *testing.T) {
	group := [][]float64{{1, 1.3, 0.9}, {1.1, 0.8, 1.2}, {9, 12, 10}, {1, 1.2}}
	apart, found := StandsApart(group, 0.05)
	require.True(t, found)
	require.Equal(t, 2, apart.Worker)
	require.Greater(t, apart.Ratio, 8.0)
	_, found = StandsApart(group[:2], 0.05)
	require.False(t, found, "two workers")
	_, found = StandsApart([][]float64{{1, 1.1}, {10, 11}, {100, 120}, {1000, 900}}, 0.05)
	require.False(t, found, "all differ")
}

func TestStudentizedRange(t *testing.T) {
	for _, c := range groupCases(t, "studentized range") {
		a, err := studentizedRangeQuantile(0.05, 3, 27)
		require.NoError(t, err)
		b, err := studentizedRangeQuantile(0.01, 5, 10)
		require.NoError(t, err)
		// In the file the parts of an argument are set apart by semicolons.
		c.expected = strings.NewReplacer("(.95;3;27)", "1", "(.99;5;10)", "2", "(3.5;4;20)", "3").Replace(c.expected)
		c.near(t, map[string]float64{"q1": a, "q2": b, "p3": 1 - studentizedRangeTail(3.5, 4, 20)})
	}
}

// The range of two is √2·|t|: an identity.
func TestStudentizedRangeOfTwoIsStudent(t *testing.T) {
	for _, df := range []float64{1, 2, 5, 30, 1000} {
		for _, x := range []float64{0.1, 1, 2.5, 6, 15} {
			want := studentTwoSided(x, df)
			require.InDelta(t, want, studentizedRangeTail(x*math.Sqrt2, 2, df), 1e-10+1e-8*want, "t %g df %g", x, df)
		}
	}
}

func TestTukeyPairs(t *testing.T) {
	for _, c := range groupCases(t, "tukey") {
		groups := grouped(t, c.data)
		for _, g := range groups {
			for i := range g {
				g[i] = math.Exp(g[i])
			}
		}
		got, err := CompareGeometricMeans(groups, 0.95)
		require.NoError(t, err)
		for i, part := range strings.Split(c.expected, ";") {
			_, list, _ := strings.Cut(part, "=")
			want := numberList(t, strings.ReplaceAll(list, ",", " "))
			p := got.Pairs[i]
			require.InDeltaSlice(t, want, []float64{math.Log(p.Ratio), math.Log(p.Low), math.Log(p.High), p.P}, c.tolerance)
		}
	}
}

func TestKruskalWallis(t *testing.T) {
	for _, c := range groupCases(t, "kruskal-wallis") {
		r, err := KruskalWallis(grouped(t, c.data))
		require.NoError(t, err)
		c.near(t, map[string]float64{"H": r.Statistic, "df": float64(r.DF), "p": r.P})
	}
	_, err := KruskalWallis([][]float64{{1, 1}, {1}})
	require.ErrorIs(t, err, ErrTooFew)
}

func TestPetoPeto(t *testing.T) {
	for _, c := range groupCases(t, "peto-peto") {
		var groups [][]Interval
		for part := range strings.SplitSeq(c.data, "|") {
			_, list, _ := strings.Cut(part, ":")
			var g []Interval
			for _, field := range strings.Fields(list) {
				if under, ok := strings.CutPrefix(field, "<"); ok {
					g = append(g, Under(mustNumber(t, under), 0))
				} else {
					g = append(g, Exact(mustNumber(t, field)))
				}
			}
			groups = append(groups, g)
		}
		r, err := PetoPeto(groups)
		require.NoError(t, err)
		c.near(t, map[string]float64{"chisq": r.Statistic, "p": r.P})
	}
	_, err := PetoPeto([][]Interval{{AtLeast(1)}, {Exact(2)}})
	require.EqualError(t, err, "result 1 of group 1: known only to reach 1: cannot be ranked")
	_, err = PetoPeto([][]Interval{{Under(1, 0)}, {Under(2, 1)}})
	require.ErrorIs(t, err, ErrTooFew)
}

func TestMannKendall(t *testing.T) {
	for _, c := range groupCases(t, "mann-kendall") {
		xs := numberList(t, c.data)
		times := make([]float64, len(xs))
		for i := range times {
			times[i] = float64(i)
		}
		m, err := MannKendall(times, exactIntervals(xs))
		require.NoError(t, err)
		c.near(t, map[string]float64{"S": float64(m.S), "varS": m.Variance, "Z": m.Z, "p2": m.P,
			"sen": m.Slope.Value, "tau_b": m.Tau.Value})
	}
}

// Of 24 orders of four values one rises throughout and one falls: P = 2/24.
// Of 6 orders of three, S = 1 or more in absolute value is all of them.
func TestExactKendallCountsOrders(t *testing.T) {
	require.InDelta(t, 2.0/24, exactKendall(4, 6), 1e-15)
	require.InDelta(t, 2.0/24, exactKendall(4, -6), 1e-15)
	require.InDelta(t, 1.0, exactKendall(3, 1), 1e-15)
	require.InDelta(t, 8.0/24, exactKendall(4, 4), 1e-15)
}

func TestTrendWithNonDetects(t *testing.T) {
	m, err := MannKendall([]float64{1, 2, 3, 4}, []Interval{Under(2, 1), Exact(1), Exact(3), Exact(4)})
	require.NoError(t, err)
	require.Equal(t, 5, m.S) // 1 is under the limit of 2: equal to the non-detect
	require.False(t, m.Slope.Known)
	require.False(t, m.Exact)
}

// Least squares through e⁰, e¹, e³ at 0, 1, 2: slope 1.5, residuals 1/6, −1/3,
// 1/6, so the standard error is √((1/6)/2); t with one degree of freedom is
// tan(π·0.45) at 95 %.
func TestLogTrendByHand(t *testing.T) {
	l, err := FitLogTrend([]float64{0, 1, 2}, []float64{1, math.E, math.Exp(3)}, 0.90)
	require.NoError(t, err)
	require.InDelta(t, 1.5, l.Slope, 1e-12)
	require.InDelta(t, math.Sqrt(1.0/12), l.StandardError, 1e-12)
	require.InDelta(t, 1.5+math.Tan(math.Pi*0.45)*math.Sqrt(1.0/12), l.SlopeHigh, 1e-10)
	require.InDelta(t, 1-2/math.Pi*math.Atan(1.5/math.Sqrt(1.0/12)), l.P, 1e-12)
	_, err = FitLogTrend([]float64{1, 1, 1}, []float64{1, 2, 3}, 0.95)
	require.ErrorIs(t, err, ErrTooFew)
}

func TestGroupTestOfEN689(t *testing.T) {
	for _, c := range groupCases(t, "en689 group") {
		xs := numberList(t, c.data)
		var mean, ss float64
		for _, x := range xs {
			mean += math.Log(x) / float64(len(xs))
		}
		for _, x := range xs {
			ss += (math.Log(x) - mean) * (math.Log(x) - mean)
		}
		gm, gsd := math.Exp(mean), math.Exp(math.Sqrt(ss/float64(len(xs)-1)))
		want := named(t, c.expected)
		r, err := GroupEN689(len(xs), gm, gsd, named(t, c.parameters)["limit"], want["U_T"])
		require.NoError(t, err)
		require.InEpsilon(t, want["U_R"], r.UR.Value, c.tolerance)
		require.Equal(t, EN689Below, r.Outcome)
		require.InDelta(t, want["U_T"], EN689Coefficient(len(xs)).Value, 0.0005001)
	}
	r, err := GroupEN689(6, 0.2, 2, 0.8, 2.187) // U_R = 2 reaches 2.005 at 10, 1.981 at 11
	require.NoError(t, err)
	require.Equal(t, EN689Above, r.Outcome)
	require.Equal(t, Some(11), r.Needed)
	_, err = GroupEN689(5, 1, 2, 1, 2)
	require.ErrorIs(t, err, ErrTooFew)
	_, err = GroupEN689(6, 1, 2, 0, 2)
	require.EqualError(t, err, "limit is 0, need a positive finite number")
}

func TestPreliminaryTestOfEN689(t *testing.T) {
	for _, c := range groupCases(t, "en689 preliminary") {
		r, err := PreliminaryEN689(exactIntervals(numberList(t, c.data)), 1)
		require.NoError(t, err)
		require.Equal(t, strings.TrimPrefix(c.expected, "outcome="), string(r.Outcome), c.id)
		require.Equal(t, EN689Preliminary, r.Stage)
	}
	r, err := PreliminaryEN689([]Interval{Under(0.1, 0.05), Exact(0.05), Exact(0.05)}, 1)
	require.NoError(t, err)
	require.Equal(t, EN689Below, r.Outcome, "under 0.1 is under 10 %")
	r, err = PreliminaryEN689([]Interval{Under(0.3, 0.15), Exact(0.05), Exact(0.05)}, 1)
	require.NoError(t, err)
	require.Equal(t, EN689Undecided, r.Outcome, "a limit of detection that is too high")
	r, err = PreliminaryEN689([]Interval{Exact(0.01), Exact(0.01)}, 1)
	require.NoError(t, err)
	require.Equal(t, EN689None, r.Stage)
}

// Whatever the scale, ties and sizes: no number that is none, shares between 0
// and 1, limits around the estimate, and the same answer in another unit.
func TestGroupsOfAnyKindGiveNumbers(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		scale := math.Pow(10, -12+24*r.Float64())
		groups := make([][]float64, 2+r.IntN(5))
		other := make([][]float64, len(groups))
		for i := range groups {
			for range 1 + r.IntN(5) {
				x := math.Exp(math.Round(3*r.NormFloat64()) / 2)
				groups[i], other[i] = append(groups[i], x*scale), append(other[i], x)
			}
		}
		v, err := EstimateWorkerVariance(groups)
		if err == nil {
			w, _ := EstimateWorkerVariance(other)
			require.InDelta(t, w.VarBetween, v.VarBetween, 1e-8*(1+w.VarBetween+w.VarWithin))
			require.InDelta(t, w.VarWithin, v.VarWithin, 1e-8*(1+w.VarBetween+w.VarWithin))
			share := v.Share().Or(0)
			require.True(t, share >= 0 && share <= 1, "share %g of %v", share, groups)
			chance := v.WorkerExceedance(scale, 0.05)
			require.True(t, chance >= 0 && chance <= 1, "chance %g of %v", chance, groups)
		}
		if k, err := KruskalWallis(groups); err == nil {
			require.True(t, k.P >= 0 && k.P <= 1, "P %g of %v", k.P, groups)
		}
	}
}
