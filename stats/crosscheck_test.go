package stats

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// crosscheckCases returns the reference cases of a topic.
func crosscheckCases(t *testing.T, topic string) (cases []groupCase) {
	t.Helper()
	for _, r := range readReference(t, "stats_crosscheck_cases.csv") {
		if r[1] == topic {
			cases = append(cases, groupCase{r[0], r[2], r[3], r[4], mustNumber(t, r[5])})
		}
	}
	require.NotEmpty(t, cases, topic)
	return cases
}

// atLowestValue moves the part under the lowest value up to that value, the
// convention of some of the references, instead of to its limit.
func atLowestValue(steps []Step) func(Step) float64 {
	return func(s Step) float64 {
		if s.Low == 0 {
			return steps[1].Low
		}
		return s.High
	}
}

func TestKaplanMeierReachesReferences(t *testing.T) {
	for _, c := range crosscheckCases(t, "kaplan-meier") {
		k, err := EstimateKaplanMeier(parsePoints(t, c.data))
		require.NoError(t, err)
		place := atLowestValue(k.Steps)
		if c.parameters == "part under the lowest value at its limit" {
			place = func(s Step) float64 { return s.High }
		}
		mean, sd := momentsOfSteps(k.Steps, place)
		meanLog, sdLog := momentsOfSteps(k.Steps, func(s Step) float64 { return math.Log(place(s)) })
		c.near(t, map[string]float64{"mean": mean, "sd": sd, "meanlog": meanLog, "sdlog": sdLog})
	}
}

func TestKaplanMeierFractionsReachReferences(t *testing.T) {
	for _, c := range crosscheckCases(t, "kaplan-meier fractions") {
		k, err := EstimateKaplanMeier(parsePoints(t, c.data))
		require.NoError(t, err)
		var values []float64
		for _, s := range k.Steps {
			if s.Low == s.High {
				values = append(values, s.High)
			}
		}
		require.Equal(t, numberList(t, c.parameters), values, c.id)
		for i, want := range numberList(t, c.expected) {
			require.InDelta(t, want, k.Fraction(values[i]), c.tolerance, "%s at %g", c.id, values[i])
		}
	}
}

// Without censoring the estimate is the data themselves: mean, s/√n, median.
func TestKaplanMeierOfValues(t *testing.T) {
	k, err := EstimateKaplanMeier(parsePoints(t, "4 1 3 3"))
	require.NoError(t, err)
	assert.Equal(t, []Step{{1, 1, 0.25}, {3, 3, 0.5}, {4, 4, 0.25}}, k.Steps)
	assert.InDelta(t, 2.75, k.Mean.Value, 1e-14)
	assert.InDelta(t, math.Sqrt(4.75/4), k.SD.Value, 1e-14)
	assert.InDelta(t, math.Sqrt(4.75/3/4), k.SEMean.Value, 1e-14)
	assert.Equal(t, Exact(3), k.Median)
	k, err = EstimateKaplanMeier(parsePoints(t, "1 2"))
	require.NoError(t, err)
	assert.Equal(t, Exact(1.5), k.Median)
	assert.Equal(t, Exact(2), k.Percentile(0.95))
}

// By hand, from the highest value down: at 5 one of 4 results at risk is a hit,
// at 3 one of 3; half of the distribution is left under the limit of 2. The
// mean is 5/4 + 3/4 + 2/2; its variance ((1/2 + 3/2)²/(4·3) + (1/2)²/(3·2))·2/1.
func TestKaplanMeierByHand(t *testing.T) {
	k, err := EstimateKaplanMeier(parsePoints(t, "<2 5 3 <3"))
	require.NoError(t, err)
	require.Len(t, k.Steps, 3)
	assert.Equal(t, 2.0, k.Steps[0].High)
	assert.InDeltaSlice(t, []float64{0.5, 0.25, 0.25}, []float64{k.Steps[0].Share, k.Steps[1].Share, k.Steps[2].Share}, 1e-14)
	assert.InDelta(t, 3, k.Mean.Value, 1e-14)
	assert.InDelta(t, 2, k.MeanLow, 1e-14)
	assert.InDelta(t, math.Sqrt((4.0/12+0.25/6)*2), k.SEMean.Value, 1e-14)
	assert.Equal(t, Interval{Low: 0, Value: 2, High: 2, Open: true}, k.Percentile(0.2))
	assert.Equal(t, Interval{Low: 1.5, Value: 2.5, High: 2.5, Open: true}, k.Median)

	k, err = EstimateKaplanMeier(parsePoints(t, "1 2 >3"))
	require.NoError(t, err)
	assert.False(t, k.Mean.Known)
	assert.Equal(t, AtLeast(3), k.Percentile(0.95))
	assert.Equal(t, []string{"33.3 % of the distribution is known only to reach 3: it has no mean"}, k.Warnings)
}

// For results under limits the self-consistent estimate is the product limit,
// and results known from below are their mirror image: Turnbull (1976).
func TestSelfConsistentEstimateIsProductLimit(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 300 {
		points := make([]Interval, 2+r.IntN(20))
		mirrored := make([]Interval, len(points))
		for i := range points {
			v := float64(1 + r.IntN(12))
			if points[i], mirrored[i] = Exact(v), Exact(20-v); r.IntN(3) == 0 {
				points[i], mirrored[i] = Under(v, v), AtLeast(20-v)
				mirrored[i].Low += 1e-9 // under 20 − v, never at it
			}
		}
		want, err := EstimateKaplanMeier(points)
		require.NoError(t, err)
		var got KaplanMeier
		got.selfConsistent(points)
		requireSameFractions(t, points, want.Steps, got.Steps)
		mirror, err := EstimateKaplanMeier(mirrored)
		require.NoError(t, err)
		for v := 1.0; v <= 12; v++ {
			require.InDelta(t, 1-want.Fraction(v-0.5), mirror.Fraction(20.1-v)+unboundedShare(mirror, 20.1-v), 1e-6, "%v over %g", points, v)
		}
	}
}

// unboundedShare returns the share of a last part that begins at or under x.
func unboundedShare(k KaplanMeier, x float64) float64 {
	if last := k.Steps[len(k.Steps)-1]; math.IsInf(last.High, 1) && last.Low <= x {
		return last.Share
	}
	return 0
}

func requireSameFractions(t *testing.T, points []Interval, want, got []Step) {
	t.Helper()
	require.Equal(t, len(want), len(got), "%v: %v and %v", points, want, got)
	for i := range want {
		require.Equal(t, want[i].Low, got[i].Low, "%v", points)
		require.Equal(t, want[i].High, got[i].High, "%v", points)
		require.InDelta(t, want[i].Share, got[i].Share, 1e-6, "%v", points)
	}
}

// Two results that overlap meet in their common part, and one between bounds
// that hold no other is spread over nothing else.
func TestSelfConsistentEstimateByHand(t *testing.T) {
	k, err := EstimateKaplanMeier(parsePoints(t, "1~3 2~5 7~8"))
	require.NoError(t, err)
	require.Len(t, k.Steps, 2)
	assert.InDelta(t, 2.0/3, k.Steps[0].Share, 1e-9)
	assert.Equal(t, [2]float64{2, 3}, [2]float64{k.Steps[0].Low, k.Steps[0].High})
	assert.InDelta(t, 3*2.0/3+8.0/3, k.Mean.Value, 1e-9)
	assert.InDelta(t, 2*2.0/3+7.0/3, k.MeanLow, 1e-9)
	assert.False(t, k.SEMean.Known)
	_, err = EstimateKaplanMeier([]Interval{{High: math.Inf(1)}})
	assert.EqualError(t, err, "too few observations: no result has a bound")
	_, err = EstimateKaplanMeier(parsePoints(t, "1 0"))
	assert.EqualError(t, err, "observation 2: zero is not a result: state the reporting limit it is under")
}

// No other shares of the same steps make bounds of any kind more likely.
func TestSelfConsistentEstimateIsMostLikely(t *testing.T) {
	logLik := func(steps []Step, points []Interval) (sum float64) {
		for _, x := range points {
			covered := 0.0
			for _, s := range steps {
				if s.Low >= x.Low && s.High <= x.High && !(x.Open && s.Low == x.High) {
					covered += s.Share
				}
			}
			sum += math.Log(covered)
		}
		return sum
	}
	r := rand.New(rand.NewPCG(9, 10))
	for range 200 {
		points := make([]Interval, 2+r.IntN(12))
		for i := range points {
			v := float64(1 + r.IntN(9))
			points[i] = []Interval{Exact(v), Under(v, v), AtLeast(v), {Low: v, Value: v, High: v + float64(1+r.IntN(4))}}[r.IntN(4)]
		}
		k, err := EstimateKaplanMeier(points)
		require.NoError(t, err)
		highest := logLik(k.Steps, points)
		for range 50 {
			other, sum := slices.Clone(k.Steps), 0.0
			for i := range other {
				other[i].Share *= math.Exp(r.NormFloat64() * math.Pow(10, -3*r.Float64()))
				sum += other[i].Share
			}
			for i := range other {
				other[i].Share /= sum
			}
			require.LessOrEqual(t, logLik(other, points), highest+1e-7, "%v", points)
		}
	}
}

func TestOrderStatisticsReachReferences(t *testing.T) {
	for _, c := range crosscheckCases(t, "order statistics") {
		o, err := EstimateOrderStatistics(parsePoints(t, c.data))
		require.NoError(t, err)
		c.near(t, map[string]float64{"intercept": o.Mu, "slope": o.Sigma, "mean": o.Mean, "sd": o.SD,
			"meanlog": o.LogMean, "sdlog": o.LogSD})
	}
}

func TestPlottingPositionsReachReferences(t *testing.T) {
	for _, c := range crosscheckCases(t, "plotting positions") {
		var values, limits []float64
		for _, x := range parsePoints(t, c.data) {
			if x.Censored() {
				limits = append(limits, x.High)
			} else {
				values = append(values, x.High)
			}
		}
		slices.Sort(values)
		slices.Sort(limits)
		detected, under := plottingPositions(values, limits)
		got := slices.Concat(under, detected)
		want := numberList(t, c.expected)
		slices.Sort(got)
		slices.Sort(want)
		require.InDeltaSlice(t, want, got, c.tolerance, c.id)
	}
}

// Without reporting limits the positions are i/(n + 1), and values on a line
// come back as that line.
func TestOrderStatisticsOfValues(t *testing.T) {
	detected, _ := plottingPositions([]float64{1, 2, 5, 9}, nil)
	assert.InDeltaSlice(t, []float64{0.2, 0.4, 0.6, 0.8}, detected, 1e-15)
	o, err := EstimateOrderStatistics(parsePoints(t, "1 2 4 3"))
	require.NoError(t, err)
	assert.InDelta(t, 2.5, o.Mean, 1e-15)
	assert.InDelta(t, math.Sqrt(5.0/3), o.SD, 1e-15)
	assert.Equal(t, 2.5, o.Percentile(0.5))
	assert.Equal(t, 4.0, o.Percentile(0.95))
	assert.Equal(t, 1.0, o.Percentile(0.01))
	for text, want := range map[string]string{
		"<1 <2 3":  "too few observations: need two different detected values for a line",
		"1 2 >3":   "observation 3: known only to reach 3: cannot be ranked",
		"1 2 3~4":  "observation 3: known only between 3 and 4: cannot be ranked",
		"1 2 0":    "observation 3: zero is not a result: state the reporting limit it is under",
		"<1 <1 <1": "too few observations: need two different detected values for a line",
	} {
		_, err := EstimateOrderStatistics(parsePoints(t, text))
		assert.EqualError(t, err, want, text)
	}
}

// Whatever the data: finite numbers, and the same in another unit.
func TestCrosschecksOfAnyKindGiveNumbers(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 1000 {
		points := randomPoints(r)
		scaled := make([]Interval, len(points))
		for i, x := range points {
			scaled[i] = x.Scale(1024)
		}
		k, err := EstimateKaplanMeier(points)
		require.NoError(t, err)
		l, err := EstimateKaplanMeier(scaled)
		require.NoError(t, err)
		total := 0.0
		for _, s := range k.Steps {
			require.True(t, s.Share > 0 && s.Low <= s.High && !math.IsNaN(s.Share), "%v: %v", points, s)
			total += s.Share
		}
		require.InDelta(t, 1, total, 1e-9)
		require.Equal(t, k.Mean.Known, l.Mean.Known)
		if k.Mean.Known {
			require.InEpsilon(t, k.Mean.Value*1024, l.Mean.Value, 1e-9, "%v", points)
			require.LessOrEqual(t, k.MeanLow, k.Mean.Value*(1+1e-12))
		}
		require.False(t, strings.Contains(strings.Join(k.Warnings, " "), "stopped"), "%v: %v", points, k.Warnings)
		o, err := EstimateOrderStatistics(points)
		if err != nil {
			continue
		}
		for _, v := range []float64{o.Mu, o.Sigma, o.Mean, o.SD, o.LogMean, o.LogSD, o.Correlation} {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%v: %+v", points, o)
		}
		require.True(t, o.Sigma > 0 && o.Correlation > 0 && o.Correlation <= 1, "%v: %+v", points, o)
	}
}
