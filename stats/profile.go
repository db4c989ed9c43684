package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// profileCurve is where a function of the lognormal keeps one value, u steps
// from its estimate; a step is one estimated σ of ln x:
//
//	β = (slope + u·perSlope)·τ − (offset + u·perOffset) − bend/(2τ)
//
// In β = μ/σ and τ = 1/σ a percentile, an exceedance and the geometric mean
// keep their value along straight lines, on which ln L is concave. The region
// of all β and τ that a confidence allows is convex, and closed where the
// likelihood has a maximum: limits then exist on both sides.
type profileCurve struct {
	slope, offset, bend float64
	perSlope, perOffset float64
}

// at returns β and its first and second derivative in τ.
func (c profileCurve) at(u, tau float64) (beta, first, second float64) {
	slope, offset := c.slope+u*c.perSlope, c.offset+u*c.perOffset
	return slope*tau - offset - c.bend/(2*tau), slope + c.bend/(2*tau*tau), -c.bend / (tau * tau * tau)
}

// profileLimit returns the u of a curve at which the signed root of the
// likelihood ratio, ±√(2·(ln L greatest − ln L greatest on the curve)), is
// deviate: a search in u, and at each u one in τ along the curve.
func (f CensoredFit) profileLimit(c profileCurve, deviate float64) (float64, error) {
	if deviate == 0 {
		return 0, nil
	}
	side, target := math.Copysign(1, deviate), math.Abs(deviate)
	tau := 1 / f.Sigma
	top := f.sample.at((f.Mu-f.sample.Shift)*tau, tau)
	var failure error
	root := func(u float64) (y, slope float64) {
		if u <= 0 {
			return -target, 0
		}
		d, at, err := f.sample.greatestOn(c, side*u, tau)
		if err != nil {
			failure = err
			return 0, 1
		}
		tau = at
		r := math.Sqrt(2 * math.Max(0, top.value-d.value))
		return r - target, -side * d.b * (c.perSlope*tau - c.perOffset) / r
	}
	_, first, second := c.at(0, tau)
	spread := math.Sqrt(-top.along(first, second) / (top.bb*top.tt - top.bt*top.bt))
	if !(spread > 0 && spread < math.Inf(1)) { // rounding has taken the curvature
		spread = 1
	}
	u, _, err := findRootBySlope(root, target*spread)
	if failure != nil {
		err = failure
	}
	if err != nil {
		return 0, fmt.Errorf("profile limit: %w", err)
	}
	return side * u, nil
}

// along returns the second derivative of ln L in τ on a curve whose β has the
// derivatives first and second.
func (d slopes) along(first, second float64) float64 {
	return d.bb*first*first + 2*d.bt*first + d.tt + d.b*second
}

// greatestOn returns ln L with its derivatives where it is greatest on the
// curve at u, and the τ of that place, searched from tau.
func (s *CensoredSample) greatestOn(c profileCurve, u, tau float64) (d slopes, at float64, err error) {
	fall := func(x float64) (y, slope float64) {
		if x <= 0 {
			return -1, 0
		}
		beta, first, second := c.at(u, tau*x)
		d := s.at(beta, tau*x)
		return -tau * (d.b*first + d.t), -tau * tau * d.along(first, second)
	}
	x, _, err := findRootBySlope(fall, 1)
	at = tau * x
	beta, _, _ := c.at(u, at)
	return s.at(beta, at), at, err
}

// confidenceDeviate returns the normal deviate of a confidence.
func confidenceDeviate(confidence float64) (float64, error) {
	if err := checkFraction("confidence", confidence); err != nil {
		return 0, err
	}
	return mathext.NormalQuantile(confidence), nil
}

// both returns the limits on either side of a curve, as u.
func (f CensoredFit) both(c profileCurve, confidence float64) (OneSided, error) {
	deviate, err := confidenceDeviate(confidence)
	if err != nil {
		return OneSided{}, err
	}
	lower, err := f.profileLimit(c, -deviate)
	if err != nil {
		return OneSided{}, err
	}
	upper, err := f.profileLimit(c, deviate)
	return OneSided{Lower: lower, Upper: upper}, err
}

// GMLimits returns the one-sided profile likelihood limits of the geometric mean.
func (f CensoredFit) GMLimits(confidence float64) (OneSided, error) {
	return f.PercentileLimits(0.5, confidence)
}

// PercentileLimits returns the one-sided profile likelihood limits of a
// percentile: those values for which twice the fall of ln L from its maximum
// is the square of the confidence's normal deviate. They hold for large
// samples; for few observations they cover less than they say. A limit beyond
// the greatest number is +Inf.
func (f CensoredFit) PercentileLimits(fraction, confidence float64) (OneSided, error) {
	if err := checkFraction("percentile", fraction); err != nil {
		return OneSided{}, err
	}
	z := mathext.NormalQuantile(fraction)
	c := profileCurve{slope: f.Mu - f.sample.Shift + z*f.Sigma, offset: z, perSlope: f.Sigma}
	u, err := f.both(c, confidence)
	if err != nil {
		return OneSided{}, err
	}
	centre := f.Mu + z*f.Sigma
	return OneSided{Lower: math.Exp(centre + u.Lower*f.Sigma), Upper: math.Exp(centre + u.Upper*f.Sigma)}, nil
}

// farthestLimit is the distance, in σ, from which a limit's exceedance is 0 or
// 1 to every digit, and its confidence limits too. From remoteLimit on they are
// taken to be where rounding hides the likelihood from the search for them.
const farthestLimit, remoteLimit = 1e5, 1e3

// ExceedanceLimits returns the one-sided profile likelihood limits of the
// fraction over a limit > 0.
func (f CensoredFit) ExceedanceLimits(limit, confidence float64) (OneSided, error) {
	if err := checkLimit(limit); err != nil {
		return OneSided{}, err
	}
	z := (math.Log(limit) - f.Mu) / f.Sigma
	z = math.Max(-farthestLimit, math.Min(farthestLimit, z))
	c := profileCurve{slope: f.Mu - f.sample.Shift + z*f.Sigma, offset: z, perOffset: 1}
	u, err := f.both(c, confidence)
	if err != nil && math.Abs(z) > remoteLimit {
		return OneSided{Lower: upperTail(z), Upper: upperTail(z)}, nil
	}
	return OneSided{Lower: upperTail(z + u.Upper), Upper: upperTail(z + u.Lower)}, err
}

// MeanLimits returns the one-sided profile likelihood limits of the arithmetic
// mean exp(μ + σ²/2), missing under the same rule as Land's.
func (f CensoredFit) MeanLimits(confidence float64) (MeanLimits, error) {
	deviate, err := confidenceDeviate(confidence)
	if err != nil {
		return MeanLimits{}, err
	}
	half := f.Sigma * f.Sigma / 2
	c := profileCurve{slope: f.Mu - f.sample.Shift + half, bend: 1, perSlope: f.Sigma}
	return meaningful(f.Mu, f.Sigma, func(upper bool) (float64, error) {
		side := deviate
		if !upper {
			side = -deviate
		}
		u, err := f.profileLimit(c, side)
		return half + u*f.Sigma, err
	})
}
