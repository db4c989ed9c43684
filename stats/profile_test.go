package stats

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// 95 % one-sided profile limits of the reference table.
func TestProfileLimitReferences(t *testing.T) {
	for _, c := range censoredCases(t) {
		if c.what != "profile limits" {
			continue
		}
		limit, err := strconv.ParseFloat(c.inputs["limit"], 64)
		require.NoError(t, err, c.id)
		f, err := FitCensored(c.points)
		require.NoError(t, err, c.id)
		c.check(t, profileLimits(t, f, limit))
	}
}

// profileLimits returns the limits under the names of the reference table.
func profileLimits(t *testing.T, f CensoredFit, limit float64) map[string]float64 {
	t.Helper()
	got := map[string]float64{}
	add := func(name string, l OneSided, err error) {
		require.NoError(t, err, name)
		got[name+"_lcl95"], got[name+"_ucl95"] = l.Lower, l.Upper
	}
	l, err := f.GMLimits(0.95)
	add("gm", l, err)
	l, err = f.PercentileLimits(0.95, 0.95)
	add("p95", l, err)
	l, err = f.ExceedanceLimits(limit, 0.95)
	add("exceed", l, err)
	mean, err := f.MeanLimits(0.95)
	add("am", OneSided{Lower: mean.Lower.Or(0), Upper: mean.Upper.Or(math.Inf(1))}, err)
	return got
}

// Without censoring the profile of μ is −n/2·ln(σ² + (μ − mean)²), so that the
// limits of GM have a closed form.
func TestProfileLimitsOfExactValues(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		values := randomLognormal(random)
		points := make([]Interval, len(values))
		for i, v := range values {
			points[i] = Exact(v)
		}
		f, err := FitCensored(points)
		require.NoError(t, err)
		confidence := 0.55 + 0.44*random.Float64()
		got, err := f.GMLimits(confidence)
		require.NoError(t, err)
		z := normalTailQuantile(1 - confidence)
		margin := f.Sigma * math.Sqrt(math.Expm1(z*z/float64(f.N)))
		require.InDelta(t, f.Mu-margin, math.Log(got.Lower), 1e-9*(1+f.Sigma), "%v", values)
		require.InDelta(t, f.Mu+margin, math.Log(got.Upper), 1e-9*(1+f.Sigma), "%v", values)
	}
}

// For any data with a maximum every limit is a number on its side of the
// estimate, grows with the confidence and with the unit, and the two rules of
// decision are one.
func TestProfileLimitsRandom(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	for range 2000 {
		points := randomPoints(random)
		f, err := FitCensored(points)
		if err != nil {
			continue
		}
		confidence := 0.8 + 0.19*random.Float64()
		limit := math.Exp(f.Mu + (4*random.Float64()-1)*f.Sigma)
		enclosed := func(what string, estimate float64, l OneSided, err error) {
			require.NoError(t, err, "%s of %v", what, points)
			require.True(t, l.Lower <= estimate && estimate <= l.Upper, "%s of %v: %g in %+v", what, points, estimate, l)
		}
		l, err := f.GMLimits(confidence)
		enclosed("GM", f.GM(), l, err)
		over, err := f.ExceedanceLimits(limit, confidence)
		enclosed("exceedance", f.Exceedance(limit), over, err)
		mean, err := f.MeanLimits(confidence)
		enclosed("mean", f.Mean(), OneSided{Lower: mean.Lower.Or(0), Upper: mean.Upper.Or(math.Inf(1))}, err)
		l, err = f.PercentileLimits(0.95, confidence)
		enclosed("percentile", f.Percentile(0.95), l, err)
		require.Equal(t, l.Upper > limit, over.Upper > 0.05, "%v against %g", points, limit)
		wider, err := f.PercentileLimits(0.95, confidence+0.005)
		require.NoError(t, err)
		require.True(t, wider.Lower < l.Lower && (wider.Upper > l.Upper || math.IsInf(l.Upper, 1)), "%v: %+v, then %+v", points, l, wider)

		scaled := make([]Interval, len(points))
		for i, x := range points {
			scaled[i] = x.Scale(1024)
		}
		g, err := FitCensored(scaled)
		require.NoError(t, err)
		s, err := g.PercentileLimits(0.95, confidence)
		require.NoError(t, err)
		require.InEpsilon(t, 1024*l.Lower, s.Lower, 1e-9, "%v", points)
		if !math.IsInf(l.Upper, 1) {
			require.InEpsilon(t, 1024*l.Upper, s.Upper, 1e-9*math.Max(1, math.Log(l.Upper/f.GM())), "%v", points)
		}
	}
}

// A limit at 50 % is the estimate, and below 50 % the sides change places.
func TestProfileLimitsAtAnyConfidence(t *testing.T) {
	f, err := FitCensored(parsePoints(t, "<0.5 <0.5 <0.5 0.62 0.81 0.95 1.3 1.7 2.4 4.1"))
	require.NoError(t, err)
	half, err := f.PercentileLimits(0.95, 0.5)
	require.NoError(t, err)
	assert.InEpsilon(t, f.Percentile(0.95), half.Lower, 1e-14)
	assert.InEpsilon(t, f.Percentile(0.95), half.Upper, 1e-14)
	low, err := f.PercentileLimits(0.95, 0.05)
	require.NoError(t, err)
	high, err := f.PercentileLimits(0.95, 0.95)
	require.NoError(t, err)
	assert.InEpsilon(t, high.Upper, low.Lower, 1e-9)
	assert.InEpsilon(t, high.Lower, low.Upper, 1e-9)

	_, err = f.PercentileLimits(95, 0.95)
	assert.EqualError(t, err, "percentile 95 is not between 0 and 1")
	_, err = f.ExceedanceLimits(0, 0.95)
	assert.EqualError(t, err, "limit 0 is not a positive finite number")
	_, err = f.MeanLimits(1)
	assert.EqualError(t, err, "confidence 1 is not between 0 and 1")
	far, err := f.ExceedanceLimits(1e300, 0.95)
	require.NoError(t, err)
	assert.Equal(t, OneSided{}, far)
}

func BenchmarkProfileLimits(b *testing.B) {
	f, err := FitCensored([]Interval{Under(0.5, 0.5), Under(0.5, 0.5), Under(0.5, 0.5), Exact(0.62), Exact(0.81),
		Exact(0.95), Exact(1.3), Exact(1.7), Exact(2.4), Exact(4.1)})
	require.NoError(b, err)
	for name, limits := range map[string]func(){
		"percentile": func() { _, _ = f.PercentileLimits(0.95, 0.95) },
		"exceedance": func() { _, _ = f.ExceedanceLimits(5, 0.95) },
		"mean":       func() { _, _ = f.MeanLimits(0.95) },
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				limits()
			}
		})
	}
}

// Nowhere on the curve of a limit does ln L exceed what it is at the limit: a
// search over σ from a thousandth to a thousand times the estimate.
func TestProfileLimitsAreGreatest(t *testing.T) {
	random := rand.New(rand.NewPCG(13, 14))
	const z = 1.6448536269514722
	for range 200 {
		points := randomPoints(random)
		f, err := FitCensored(points)
		if err != nil {
			continue
		}
		over := func(what string, theta float64, mu func(sigma float64) float64) {
			best := math.Inf(-1)
			for x := -7.0; x <= 7; x += 0.02 {
				sigma := f.Sigma * math.Exp(x)
				d := f.sample.at((mu(sigma)-f.sample.Shift)/sigma, 1/sigma)
				best = math.Max(best, d.value)
			}
			want := f.LogLik + f.sample.logs - z*z/2
			require.LessOrEqual(t, best, want+1e-8*(1+math.Abs(want)), "%s at %g of %v", what, theta, points)
			require.Greater(t, best, want-0.5, "%s at %g of %v", what, theta, points)
		}
		l, err := f.PercentileLimits(0.95, 0.95)
		require.NoError(t, err)
		for _, limit := range []float64{l.Lower, l.Upper} {
			over("percentile", limit, func(sigma float64) float64 { return math.Log(limit) - z*sigma })
		}
		mean, err := f.MeanLimits(0.95)
		require.NoError(t, err)
		for _, limit := range []Optional{mean.Lower, mean.Upper} {
			if limit.Known {
				over("mean", limit.Value, func(sigma float64) float64 { return math.Log(limit.Value) - sigma*sigma/2 })
			}
		}
	}
}

// The limit of the mean that would be 7e19 is missing, and said to be.
func TestProfileMeanLimitWithoutMeaning(t *testing.T) {
	f, err := FitCensored(parsePoints(t, "<10 <10 <10 25"))
	require.NoError(t, err)
	limits, err := f.MeanLimits(0.95)
	require.NoError(t, err)
	assert.True(t, limits.Lower.Known)
	assert.False(t, limits.Upper.Known)
	assert.Equal(t, "not meaningful: the limit is over 1e+06 times GM", limits.Why)
}

// Limits move outwards as the confidence grows, without a jump, for one
// detected value among four results under limits too.
func TestProfileLimitsGrowWithConfidence(t *testing.T) {
	f, err := FitCensored(parsePoints(t, "24628.01953049493 <7355.568499774486 <8866.087030978175 <25219.09199922681 <8340.689280994284"))
	require.NoError(t, err)
	before, err := f.PercentileLimits(0.95, 0.5)
	require.NoError(t, err)
	for confidence := 0.5005; confidence < 0.99; confidence += 0.00005 {
		l, err := f.PercentileLimits(0.95, confidence)
		require.NoError(t, err)
		require.True(t, l.Lower < before.Lower && l.Lower > before.Lower*0.9, "%g: %+v, before %+v", confidence, l, before)
		require.True(t, l.Upper > before.Upper, "%g: %+v, before %+v", confidence, l, before)
		before = l
	}
}

// A limit thousands of deviations off has limits too: none or all are over it.
func TestExceedanceLimitsFarOff(t *testing.T) {
	f, err := FitCensored([]Interval{Under(2.3868103e-12, 1e-12), Exact(2.38918789e-12), Under(2.39439399e-12, 1e-12)})
	require.NoError(t, err)
	for limit, want := range map[float64]float64{2.0457824e-08: 0, 1e-14: 1} {
		got, err := f.ExceedanceLimits(limit, 0.95)
		require.NoError(t, err)
		assert.Equal(t, OneSided{Lower: want, Upper: want}, got)
	}
}
