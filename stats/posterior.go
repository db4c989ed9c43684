package stats

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mathext"
)

// Posterior is what a sample and a prior together say of a lognormal. All
// figures come from quadrature over σ and, given σ, over μ: no draws, the same
// numbers every time, good to about 1e-9 (1e-7 for heavily censored samples).
// It is not for use by several goroutines at once.
type Posterior struct {
	density posteriorDensity
	peak    float64
	grids   map[float64]*posteriorGrid
}

// NewPosterior returns the posterior of a sample under a prior.
//
// Under the reference prior it fails with ErrImproper unless two observations
// or more are bounded on both sides and no one value agrees with every
// observation. With fewer than two, one-sided observations leave the likelihood,
// integrated over μ, level as σ grows, and 1/σ has no finite integral; where
// one value agrees with all of them, it stays level or grows as σ shrinks. (Where
// intervals only touch in one point the integral is finite; they are refused
// all the same, for the likelihood has no maximum there.)
func NewPosterior(s *CensoredSample, p Prior) (*Posterior, error) {
	if p.name == "" || math.IsNaN(p.mean) || math.IsInf(p.mean, 0) {
		return nil, fmt.Errorf("prior %q is not one of those made from positive finite numbers", p.name)
	}
	if p.improper {
		if err := s.Maximum(); err != nil {
			return nil, fmt.Errorf("%w: %w", ErrImproper, err)
		}
		if s.bounded < 2 {
			return nil, fmt.Errorf("%w: %d observation is bounded on both sides, need 2", ErrImproper, s.bounded)
		}
	}
	q := &Posterior{density: posteriorDensity{sample: s, prior: p.about(s.Shift)}, grids: map[float64]*posteriorGrid{}}
	q.peak = q.density.peak()
	return q, nil
}

// String returns the name of the prior.
func (q *Posterior) String() string { return q.density.prior.name }

// grid returns nodes close enough for percentiles at the normal deviate z.
func (q *Posterior) grid(z float64) *posteriorGrid {
	steepest, most := steepestLeast, steepestCostly
	if q.density.normalGivenSpread() {
		most = steepestMost
	}
	for steepest < most && math.Abs(z) > steepest {
		steepest = math.Min(2*steepest, most)
	}
	if q.grids[steepest] == nil {
		q.grids[steepest] = q.density.grid(q.peak, steepest)
	}
	return q.grids[steepest]
}

// Percentile returns the posterior quantile at probability p of the value that
// fraction of the exposures lie under. Fraction and p lie in (0, 1); +Inf
// stands for more than the greatest number.
func (q *Posterior) Percentile(fraction, p float64) float64 {
	z := deviateOf(fraction)
	g := q.grid(z)
	start := g.heaviest()
	probit := func(v float64) (y, slope float64) {
		less, more, inX, _ := g.at(z, start.centre+(z+v)*start.sigma)
		return probitOf(less, more, inX*start.sigma, p)
	}
	v := quantileNear(probit, 0)
	return math.Exp(q.density.sample.Shift + start.centre + (z+v)*start.sigma)
}

// Exceedance returns the posterior quantile at probability p of the fraction
// of exposures over a limit; all are over a limit of zero or less.
func (q *Posterior) Exceedance(limit, p float64) float64 {
	if limit <= 0 || math.IsInf(limit, 1) {
		return everyOrNone(limit)
	}
	x := math.Log(limit) - q.density.sample.Shift
	solve := func(g *posteriorGrid, start float64) float64 {
		return quantileNear(func(minusZ float64) (y, slope float64) {
			less, more, _, inZ := g.at(-minusZ, x)
			return probitOf(less, more, -inZ, p)
		}, start)
	}
	g := q.grid(0)
	start := g.heaviest()
	minusZ := solve(g, (start.centre-x)/start.sigma)
	if z := math.Abs(minusZ); z > steepestLeast && (z <= steepestCostly || q.density.normalGivenSpread()) {
		minusZ = solve(q.grid(z), minusZ)
	}
	return normalCDF(minusZ)
}

// GM returns the posterior quantile at probability p of the geometric mean.
func (q *Posterior) GM(p float64) float64 { return q.Percentile(0.5, p) }

// GSD returns the posterior quantile at probability p of the geometric
// standard deviation.
func (q *Posterior) GSD(p float64) float64 {
	g := q.grid(0)
	u := quantileNear(func(u float64) (y, slope float64) {
		less, more, density := g.spread.at(u)
		return probitOf(less, more, density, p)
	}, q.peak)
	low, high := q.density.bounds()
	return math.Exp(math.Exp(math.Max(low, math.Min(high, u))))
}

// Over returns the posterior probability that the value which fraction of the
// exposures lie under is over a limit.
func (q *Posterior) Over(fraction, limit float64) float64 {
	if limit <= 0 || math.IsInf(limit, 1) {
		return everyOrNone(limit)
	}
	z := deviateOf(fraction)
	_, more, _, _ := q.grid(z).at(z, math.Log(limit)-q.density.sample.Shift)
	return math.Max(0, math.Min(1, more))
}

// everyOrNone returns the part of positive numbers over a limit that is no
// positive finite number.
func everyOrNone(limit float64) float64 {
	if limit <= 0 {
		return 1
	}
	return 0
}

const (
	// edgePart is the part of a bounded prior's range that counts as near a bound.
	edgePart = 0.05
	// edgeMass is the posterior mass near a bound that is warned of; the prior
	// alone has as much there.
	edgeMass = 0.05
)

// Warning names the bounds of the prior that the posterior piles up on; "" where
// there is none. More than 5 % of it then lies in the twentieth of the range
// next to the bound, so that the bound and not the data sets the limits.
func (q *Posterior) Warning() string {
	p := q.density.prior
	if math.IsInf(p.low, -1) {
		return ""
	}
	g := q.grid(0)
	nearGM, nearSigma := edgePart*(p.high-p.low), edgePart*(p.sigmaHigh-p.sigmaLow)
	gmLow, _, _, _ := g.at(0, p.low+nearGM)
	_, gmHigh, _, _ := g.at(0, p.high-nearGM)
	gsdLow, _, _ := g.spread.at(math.Log(p.sigmaLow + nearSigma))
	_, gsdHigh, _ := g.spread.at(math.Log(p.sigmaHigh - nearSigma))
	shift := q.density.sample.Shift
	var piles []string
	for _, edge := range []struct {
		what     string
		mass, at float64
	}{
		{"lower bound of GM", gmLow, p.low + shift}, {"upper bound of GM", gmHigh, p.high + shift},
		{"lower bound of GSD", gsdLow, p.sigmaLow}, {"upper bound of GSD", gsdHigh, p.sigmaHigh},
	} {
		if edge.mass > edgeMass {
			piles = append(piles, fmt.Sprintf("%.0f %% of the posterior is near the %s, %.4g", 100*edge.mass, edge.what, math.Exp(edge.at)))
		}
	}
	if piles == nil {
		return ""
	}
	return strings.Join(piles, "; ") + ": the prior's bounds and not the data set the limits"
}

// deviateOf returns the normal deviate of a probability, kept finite.
func deviateOf(p float64) float64 {
	return mathext.NormalQuantile(math.Max(math.SmallestNonzeroFloat64, math.Min(1-0x1p-53, p)))
}

// probitOf returns how far a probability is from p in normal deviates, where
// distributions are nearly straight lines, and the slope of that.
func probitOf(less, more, density, p float64) (y, slope float64) {
	z := deviateOf(less)
	if more < less {
		z = -deviateOf(more)
	}
	return z - deviateOf(p), density / math.Exp(normalLogDensity(z))
}

// quantileNear returns the root of a probitOf that rises with x. Newton's
// method is believed only where its last step was from near zero: in a far
// tail, where a probability is all rounding, its slope means nothing. Brent's
// method then settles it.
func quantileNear(f func(x float64) (y, slope float64), start float64) float64 {
	last := math.Inf(1)
	x, _, err := findRootBySlope(func(x float64) (y, slope float64) {
		y, slope = f(x)
		last = y
		return y, slope
	}, start)
	if err == nil && math.Abs(last) < 0.1 {
		return x
	}
	value := func(x float64) float64 {
		y, _ := f(x)
		return y
	}
	low, high := start-1, start+1
	for step := 1.0; value(low) > 0 && step < 1e18; step *= 2 {
		low -= step
	}
	for step := 1.0; value(high) < 0 && step < 1e18; step *= 2 {
		high += step
	}
	x, _, err = findRoot(value, low, high, 1e-13)
	if err != nil { // it never gets there: all is on one side
		return start
	}
	return x
}
