package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// landShift returns ln(limit/GM) for the exact limit of a lognormal mean that
// n observations with standard deviation s of logarithms put below with
// probability 1 − tail: tail under ½ gives an upper limit.
//
// Land (1971), "Confidence intervals for linear functions of the normal mean
// and variance", Annals of Mathematical Statistics 42:1187–1205. Given the
// sufficient statistic under a supposed mean at d = ln(mean/GM), the test
// statistic v = asinh(√n·d/(√ν·s)) has a density proportional to
//
//	sechᵛ(v)·exp(c·tanh v) with power ν = n − 1,  c = √(nν)·s·cosh(v observed)/2
//
// and the limit is the d whose observed v has probability tail beyond it. No
// table is needed, nor its interpolation.
func landShift(n int, s, tail float64) (float64, error) {
	nu := float64(n - 1)
	target := mathext.NormalQuantile(tail)
	excess := func(v float64) float64 { return landDeviate(nu, math.Sqrt(float64(n)*nu)*s/2, v) - target }
	low, high := -1.0, 1.0
	for ; excess(low) < 0 && low > -64; low *= 2 {
	}
	for ; excess(high) > 0 && high < 64; high *= 2 {
	}
	v, _, err := findRoot(excess, low, high, 1e-14)
	if err != nil {
		return 0, fmt.Errorf("limit of the mean: %w", err)
	}
	return s * math.Sqrt(nu/float64(n)) * math.Sinh(v), nil
}

// landDeviate returns the normal deviate of the probability that the test
// statistic is over the observed v, where half is √(nν)·s/2. It falls as v grows.
func landDeviate(nu, half, v float64) float64 {
	d := landDensity{nu: nu, c: half * math.Cosh(v)}
	tanh := 2 * d.c / (nu + math.Sqrt(nu*nu+4*d.c*d.c))
	d.peak = math.Asinh(math.Sqrt(tanh * d.c / nu))
	d.coshPeak = math.Cosh(d.peak)
	above, below := d.parts(v)
	if above < below {
		return math.Max(-40, mathext.NormalQuantile(above/(above+below)))
	}
	return math.Min(40, -mathext.NormalQuantile(below/(above+below)))
}

// landDensity is the density of landShift over its peak.
type landDensity struct{ nu, c, peak, coshPeak float64 }

// parts returns the integrals above and below v.
func (d landDensity) parts(v float64) (above, below float64) {
	var sum float64
	panel := func(from, to float64) (float64, float64) {
		added := d.panel(from, to)
		sum += added
		return added, sum
	}
	walk := func(from, to float64) float64 {
		sum = 0
		walkPanels(from, to, d.curvature, d.decay, panel)
		return sum
	}
	outward := math.Inf(1)
	if v < d.peak {
		outward = math.Inf(-1)
	}
	between := walk(d.peak, v)
	beyond := walk(v, outward)
	other := walk(d.peak, -outward)
	if v < d.peak {
		return other + between, beyond
	}
	return beyond, other + between
}

// panel returns the integral over [from, to]. The exponent is taken from the
// difference to the peak, which keeps its digits where c is great.
func (d landDensity) panel(from, to float64) (added float64) {
	middle, half := (from+to)/2, (to-from)/2
	for i, node := range panelRule.nodes {
		x := middle + half*node
		cosh := math.Cosh(x)
		exponent := d.c*math.Sinh(x-d.peak)/(cosh*d.coshPeak) - d.nu*math.Log(cosh/d.coshPeak)
		added += half * panelRule.weights[i] * math.Exp(exponent)
	}
	return added
}

func (d landDensity) curvature(x float64) float64 {
	sech := 1 / math.Cosh(x)
	return (d.nu + 2*d.c) * sech * sech
}

func (d landDensity) decay(x float64) float64 {
	sech := 1 / math.Cosh(x)
	return math.Abs(d.c*sech*sech - d.nu*math.Tanh(x))
}
