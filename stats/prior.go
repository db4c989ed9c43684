package stats

import (
	"errors"
	"fmt"
	"math"
)

// ErrImproper says that the reference prior has no proper posterior for a
// sample: what is left undecided stretches without end.
var ErrImproper = errors.New("the reference prior has no proper posterior")

// Prior is what is held of a lognormal before its data: of μ = ln GM and
// σ = ln GSD. Make one with the functions below; the zero value is not a prior.
type Prior struct {
	name, figures string

	mean, spread          float64 // of μ, normal; spread +Inf where flat
	low, high             float64 // bounds of μ
	logSigma, sigmaSpread float64 // of ln σ, normal; sigmaSpread +Inf where it is not
	sigmaLow, sigmaHigh   float64 // bounds of σ
	power                 float64 // the density of ln σ holds σ to this power
	improper              bool
}

func flatPrior(name string) Prior {
	return Prior{
		name: name, spread: math.Inf(1), sigmaSpread: math.Inf(1),
		low: math.Inf(-1), high: math.Inf(1), sigmaHigh: math.Inf(1),
	}
}

// ReferencePrior returns the prior 1/σ, flat in μ and in ln σ. Where every
// value is exact, its posterior quantiles are the exact confidence limits of
// percentiles and exceedances. It is improper: see NewPosterior.
func ReferencePrior() Prior {
	p := flatPrior("reference")
	p.improper = true
	return p
}

// BoundedPrior returns the prior that is uniform in μ and in σ between bounds
// of GM, in the unit of the data, and of GSD. It fails unless
// 0 < gmLow < gmHigh and 1 ≤ gsdLow < gsdHigh, all finite.
func BoundedPrior(gmLow, gmHigh, gsdLow, gsdHigh float64) (Prior, error) {
	if !(gmLow > 0 && gmLow < gmHigh) || math.IsInf(gmHigh, 1) {
		return Prior{}, fmt.Errorf("bounds of GM %g to %g: need two positive numbers, the lower first", gmLow, gmHigh)
	}
	if !(gsdLow >= 1 && gsdLow < gsdHigh) || math.IsInf(gsdHigh, 1) {
		return Prior{}, fmt.Errorf("bounds of GSD %g to %g: need two numbers of 1 or more, the lower first", gsdLow, gsdHigh)
	}
	p := flatPrior("bounded")
	p.low, p.high, p.power = math.Log(gmLow), math.Log(gmHigh), 1
	p.sigmaLow, p.sigmaHigh = math.Log(gsdLow), math.Log(gsdHigh)
	p.figures = fmt.Sprintf("GM %g to %g, GSD %g to %g", gmLow, gmHigh, gsdLow, gsdHigh)
	return p, nil
}

// InformedPrior returns the prior with ln GM normal about ln gmMedian with
// standard deviation ln gmSpread, and ln σ normal about ln sigmaMedian with
// standard deviation ln sigmaSpread. It fails unless the medians are positive
// and the spreads over 1, all finite.
func InformedPrior(gmMedian, gmSpread, sigmaMedian, sigmaSpread float64) (Prior, error) {
	for _, part := range []struct {
		what           string
		median, spread float64
	}{{"GM", gmMedian, gmSpread}, {"sigma", sigmaMedian, sigmaSpread}} {
		if !(part.median > 0) || math.IsInf(part.median, 1) {
			return Prior{}, fmt.Errorf("median of %s %g is not a positive number", part.what, part.median)
		}
		if !(part.spread > 1) || math.IsInf(part.spread, 1) {
			return Prior{}, fmt.Errorf("spread of %s %g is not a factor over 1", part.what, part.spread)
		}
	}
	p := flatPrior("informed")
	p.mean, p.spread = math.Log(gmMedian), math.Log(gmSpread)
	p.logSigma, p.sigmaSpread = math.Log(sigmaMedian), math.Log(sigmaSpread)
	p.figures = fmt.Sprintf("GM %g within a factor of %g, sigma %g within a factor of %g", gmMedian, gmSpread, sigmaMedian, sigmaSpread)
	return p, nil
}

// DefaultPrior returns a weakly informative prior of our own for few or
// heavily censored exposures to something with a limit > 0:
//
//	ln GM ~ N(ln(limit/10), (ln 10)²)   ln σ ~ N(ln ln 2.5, 0.55²)
//
// GM: workplaces that are measured lie mostly between a thousandth of the
// limit and ten times it; two standard deviations reach that far, and no data
// of use are outweighed. σ: the spread between days and workers of one job is
// seldom under a GSD of 1.4 and rarely over 6; Kromhout, Symanski & Rappaport
// (1993), Annals of Occupational Hygiene 37:253–270, and Peretz et al. (1997),
// who studied many groups of workers, report spreads of that size (both from
// memory, not their figures). The 95 % range here is wider upwards, GSD 1.4 to
// 15: a prior that is too narrow finds limits that are too low. With it the
// upper limit of six shifts, half of them censored, holds in 95 % of groups
// with a GSD of 4, where a median of 2.3 with 0.45 held in 92 %.
func DefaultPrior(limit float64) Prior {
	p := flatPrior("default")
	p.mean, p.spread = math.Log(limit/10), math.Ln10
	p.logSigma, p.sigmaSpread = math.Log(math.Log(2.5)), 0.55
	p.figures = fmt.Sprintf("GM %g within a factor of 10, GSD 2.5 (1.4 to 15)", limit/10)
	return p
}

// String returns the name of the prior: reference, bounded, informed or default.
func (p Prior) String() string { return p.name }

// Figures returns what sets the prior apart from others of its name; "" for
// the reference prior.
func (p Prior) Figures() string { return p.figures }

// about returns the prior for logs taken about shift.
func (p Prior) about(shift float64) Prior {
	p.mean -= shift
	p.low -= shift
	p.high -= shift
	return p
}

// logOfMean returns ln of the density of μ, but for a constant, and its slope;
// the curvature is −1/spread².
func (p Prior) logOfMean(mu float64) (value, slope float64) {
	z := (mu - p.mean) / p.spread
	return -z * z / 2, -z / p.spread
}

// logOfSpread returns ln of the density of u = ln σ and its slope; the
// curvature is −1/sigmaSpread².
func (p Prior) logOfSpread(u float64) (value, slope float64) {
	z := (u - p.logSigma) / p.sigmaSpread
	return p.power*u - z*z/2, p.power - z/p.sigmaSpread
}
