package stats

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ErrNoSpread says that all values are equal, so that nothing can be said of
// how they vary.
var ErrNoSpread = errors.New("all values are equal")

// Lognormal is what a lognormal distribution is estimated from: the mean and
// standard deviation of the logarithms of values known exactly. Limits beyond
// the greatest number come out as +Inf.
type Lognormal struct {
	N       int
	LogMean float64 // of ln values
	LogSD   float64 // of ln values, with divisor N − 1; over 0
}

// NewLognormal returns the estimates from values. It fails for a value that
// is not positive and finite, with ErrTooFew for fewer than two values and
// with ErrNoSpread where all are equal.
func NewLognormal(values []float64) (Lognormal, error) {
	if len(values) < 2 {
		return Lognormal{}, fmt.Errorf("%w: %d, need 2 or more to tell how exposures vary", ErrTooFew, len(values))
	}
	ys := make([]float64, len(values))
	for i, x := range values {
		if !(x > 0) || math.IsInf(x, 1) {
			return Lognormal{}, fmt.Errorf("value %d is %g: need a positive finite number", i+1, x)
		}
		ys[i] = math.Log(x)
	}
	offset, ss := centre(ys)
	if ss == 0 {
		return Lognormal{}, ErrNoSpread
	}
	n := len(values)
	return Lognormal{N: n, LogMean: ys[0] + offset, LogSD: math.Sqrt(ss / float64(n-1))}, nil
}

// GM returns the geometric mean.
func (d Lognormal) GM() float64 { return math.Exp(d.LogMean) }

// GSD returns the geometric standard deviation.
func (d Lognormal) GSD() float64 { return math.Exp(d.LogSD) }

// Percentile returns exp(mean + z·sd) for the fraction, such as 0.95.
func (d Lognormal) Percentile(fraction float64) float64 {
	return math.Exp(d.LogMean + mathext.NormalQuantile(fraction)*d.LogSD)
}

// Exceedance returns the fraction of the distribution over a limit > 0.
func (d Lognormal) Exceedance(limit float64) float64 { return normalCDF(-d.deviate(limit)) }

func (d Lognormal) deviate(limit float64) float64 { return (math.Log(limit) - d.LogMean) / d.LogSD }

// Mean returns the unbiased estimate of least variance of the arithmetic mean,
// GM·ψ(s²/2) with
//
//	ψ(t) = 1 + ν·t/n + ν³·t²/(2!·n²·(n + 1)) + ν⁵·t³/(3!·n³·(n + 1)(n + 3)) + …
//
// Finney (1941), "On the distribution of a variate whose logarithm is normally
// distributed", Supplement to the Journal of the Royal Statistical Society
// 7:155–161. All terms are positive and the series converges for every s.
func (d Lognormal) Mean() float64 {
	n, nu := float64(d.N), float64(d.N-1)
	x := nu * nu / n * d.LogSD * d.LogSD / 2
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum && !math.IsInf(sum, 1); k++ {
		term *= x / (k * (nu + 2*(k-1)))
		sum += term
	}
	return math.Exp(d.LogMean + math.Log(sum))
}

// GMLimits returns the one-sided confidence limits of the geometric mean, by
// Student's t.
func (d Lognormal) GMLimits(confidence float64) (OneSided, error) {
	if err := checkFraction("confidence", confidence); err != nil {
		return OneSided{}, err
	}
	t, err := NoncentralT{Nu: float64(d.N - 1)}.Quantile(confidence)
	if err != nil {
		return OneSided{}, err
	}
	margin := t * d.LogSD / math.Sqrt(float64(d.N))
	return OneSided{Lower: math.Exp(d.LogMean - margin), Upper: math.Exp(d.LogMean + margin)}, nil
}

// GSDLimits returns the one-sided confidence limits of the geometric standard
// deviation, by χ².
func (d Lognormal) GSDLimits(confidence float64) (OneSided, error) {
	if err := checkFraction("confidence", confidence); err != nil {
		return OneSided{}, err
	}
	half := float64(d.N-1) / 2
	spread := d.LogSD * math.Sqrt(half)
	return OneSided{
		Lower: math.Exp(spread / math.Sqrt(mathext.GammaIncRegInv(half, confidence))),
		Upper: math.Exp(spread / math.Sqrt(mathext.GammaIncRegCompInv(half, confidence))),
	}, nil
}

// PercentileLimits returns the exact one-sided confidence limits of a
// percentile: the upper one is the upper tolerance limit.
func (d Lognormal) PercentileLimits(fraction, confidence float64) (OneSided, error) {
	upper, err := ToleranceFactor(d.N, fraction, confidence)
	if err != nil {
		return OneSided{}, err
	}
	lower, err := ToleranceFactor(d.N, fraction, 1-confidence)
	return OneSided{
		Lower: math.Exp(d.LogMean + lower*d.LogSD),
		Upper: math.Exp(d.LogMean + upper*d.LogSD),
	}, err
}

// ExceedanceLimits returns the exact one-sided confidence limits of the
// fraction over a limit. It fails for a limit that is not positive and finite.
func (d Lognormal) ExceedanceLimits(limit, confidence float64) (OneSided, error) {
	if err := checkLimit(limit); err != nil {
		return OneSided{}, err
	}
	return ExceedanceLimits(d.N, d.deviate(limit), confidence)
}

// checkLimit returns an error unless limit is positive and finite.
func checkLimit(limit float64) error {
	if !(limit > 0) || math.IsInf(limit, 1) {
		return fmt.Errorf("limit %g is not a positive finite number", limit)
	}
	return nil
}

const (
	// greatestGSD is the geometric standard deviation over which the limits of
	// a lognormal mean say nothing of use; common practice, no source.
	greatestGSD = 50.0
	// greatestMean is the greatest limit of the mean that is given, over GM.
	greatestMean = 1e6
)

// MeanLimits are one-sided confidence limits of a lognormal mean. A limit
// that would be astronomically large is missing, and Why says so.
type MeanLimits struct {
	Lower, Upper Optional
	Why          string
}

// MeanLimits returns Land's exact one-sided confidence limits of the
// arithmetic mean. They are missing where GSD is over 50, and a limit that is
// over 1e6 times GM.
func (d Lognormal) MeanLimits(confidence float64) (MeanLimits, error) {
	if err := checkFraction("confidence", confidence); err != nil {
		return MeanLimits{}, err
	}
	return meaningful(d.LogMean, d.LogSD, func(upper bool) (float64, error) {
		if upper {
			return landShift(d.N, d.LogSD, 1-confidence)
		}
		return landShift(d.N, d.LogSD, confidence)
	})
}

// meaningful returns the limits of a lognormal mean that are worth giving;
// shift returns ln(limit/GM).
func meaningful(logGM, logGSD float64, shift func(upper bool) (float64, error)) (MeanLimits, error) {
	if math.Exp(logGSD) > greatestGSD {
		return MeanLimits{Why: fmt.Sprintf("not meaningful: GSD is over %g", greatestGSD)}, nil
	}
	var limits MeanLimits
	for _, side := range []struct {
		limit *Optional
		upper bool
	}{{&limits.Lower, false}, {&limits.Upper, true}} {
		over, err := shift(side.upper)
		if err != nil {
			return MeanLimits{}, err
		}
		if over > math.Log(greatestMean) {
			limits.Why = fmt.Sprintf("not meaningful: the limit is over %g times GM", greatestMean)
			continue
		}
		*side.limit = Some(math.Exp(logGM + over))
	}
	return limits, nil
}
