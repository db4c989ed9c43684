package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ln P from a 30-digit integral over u = ln √(χ²/ν) by mpmath 1.2.1, with the
// same density but tanh-sinh panels over a range found by search.
func TestNoncentralTailsAgainstThirtyDigits(t *testing.T) {
	for _, c := range []struct{ t, nu, delta, want float64 }{
		{5, 1, 0, -0.064893739621788607742},
		{0.5, 9, 5.2, -13.458973621895305372},
		{-1, 9, 5.2, -20.918627275721077475},
		{-5, 9, 5.2, -31.631363242389135111},
		{200, 99999, 600, -65505.118384491206228},
		{610, 99999, 600, -1.6258616621084196118e-9},
		{500, 99999, 520, -92.051960697851639257},
		{50, 2, 50, -0.99960047957369143866},
		{-42, 599, -40, -2.2688696016005877889},
		{1, 5, 600, -149985.99050595416113},
		{30, 30, 38.5, -4.0959806010864749966},
		{40, 1.5, 3, -0.01891056534258897444},
		{3, 1, 600, -18005.471456237212881},
		{-3, 4, 100, -5024.4699803924673303},
	} {
		got := NoncentralT{Nu: c.nu, Delta: c.delta}.LogCDF(c.t)
		tolerance := 1e-12
		if c.want < math.Log(1e-15) {
			tolerance = 1e-9 * -c.want
		}
		assert.InDelta(t, c.want, got, tolerance, "P(T ≤ %g; %g, %g)", c.t, c.nu, c.delta)
	}
}

func TestNoncentralIdentities(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		nu := math.Exp(random.Float64() * math.Log(1e5))
		d := NoncentralT{Nu: nu, Delta: (2*random.Float64() - 1) * math.Exp(random.Float64()*math.Log(600))}
		about := d.Delta * math.Exp(random.NormFloat64()/math.Sqrt(2*nu))
		x := about + random.NormFloat64()*2
		name := fmt.Sprintf("%+v at %g", d, x)
		require.InDelta(t, 1, d.CDF(x)+d.Survival(x), 1e-12, name)
		p := 0.001 + 0.998*random.Float64()
		q, err := d.Quantile(p)
		require.NoError(t, err, name)
		require.InEpsilon(t, p, d.CDF(q), 1e-10, "%s p %g", name, p)
		delta, err := noncentralityFor(nu, q, p)
		require.NoError(t, err, name)
		require.InDelta(t, d.Delta, delta, 1e-10*(1+math.Abs(d.Delta)+math.Abs(q)), name)
	}
	// P(T ≤ 0) = Φ(−δ), and without noncentrality Student's t with 1 degree of
	// freedom is Cauchy's distribution.
	assert.InEpsilon(t, normalCDF(-3), NoncentralT{Nu: 7, Delta: 3}.CDF(0), 1e-13)
	assert.InEpsilon(t, math.Atan(1e-6)/math.Pi, NoncentralT{Nu: 1}.Survival(1e6), 1e-12)
}

func TestNoncentralRefuses(t *testing.T) {
	assert.True(t, math.IsNaN(NoncentralT{Nu: 0.5}.CDF(1)))
	assert.True(t, math.IsNaN(NoncentralT{Nu: 3}.CDF(math.NaN())))
	assert.Equal(t, 1.0, NoncentralT{Nu: 3, Delta: 2}.CDF(math.Inf(1)))
	assert.Equal(t, 0.0, NoncentralT{Nu: 3, Delta: 2}.CDF(math.Inf(-1)))
	_, err := NoncentralT{Nu: 3}.Quantile(1)
	assert.EqualError(t, err, "noncentral t: probability 1 is not between 0 and 1")
	_, err = ToleranceFactor(1, 0.95, 0.95)
	assert.ErrorIs(t, err, ErrTooFew)
	_, err = ToleranceFactor(5, 95, 0.95)
	assert.EqualError(t, err, "coverage 95 is not between 0 and 1")
	_, _, err = findRoot(func(x float64) float64 { return x*x + 1 }, -1, 2, 1e-9)
	assert.EqualError(t, err, "no root between -1 and 2: the function is 2 and 5 there")
}

func TestFindRoot(t *testing.T) {
	x, iterations, err := findRoot(func(x float64) float64 { return x*x*x - 2 }, 0, 5, 1e-15)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Cbrt(2), x, 1e-14)
	assert.Less(t, iterations, 20)
}

func BenchmarkToleranceFactor(b *testing.B) {
	for _, n := range []int{3, 12, 100, 1000} {
		b.Run(fmt.Sprint("n=", n), func(b *testing.B) {
			for b.Loop() {
				_, _ = ToleranceFactor(n, 0.95, 0.95)
			}
		})
	}
}
