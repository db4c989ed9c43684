package stats

import (
	"fmt"
	"math"
)

// OneSided is a pair of one-sided confidence limits: each holds alone at the
// confidence asked for.
type OneSided struct{ Lower, Upper float64 }

// ToleranceFactor returns k such that mean + k·sd of n normal observations
// exceeds the coverage quantile of their distribution with the confidence:
//
//	k = t′(confidence; ν = n − 1, δ = z(coverage)·√n) / √n
//
// With 1 − confidence it gives the lower confidence limit of that quantile.
// Owen (1968), "A survey of properties and applications of the noncentral
// t-distribution", Technometrics 10:445–478. It fails for n under 2 (ErrTooFew)
// and for a coverage or confidence outside (0, 1).
func ToleranceFactor(n int, coverage, confidence float64) (float64, error) {
	if n < 2 {
		return 0, fmt.Errorf("%w: %d, need 2 or more for a tolerance limit", ErrTooFew, n)
	}
	if err := checkFraction("coverage", coverage); err != nil {
		return 0, err
	}
	if err := checkFraction("confidence", confidence); err != nil {
		return 0, err
	}
	root := math.Sqrt(float64(n))
	t, err := NoncentralT{Nu: float64(n - 1), Delta: normalQuantileOfLog(math.Log(coverage)) * root}.Quantile(confidence)
	return t / root, err
}

// farLimit is where, in standard deviations, a limit is as good as infinitely
// far from the mean: the exceedance is 0 or 1 to every digit.
const farLimit = 1e8

// ExceedanceLimits returns the exact one-sided confidence limits of the
// fraction of a normal distribution over a limit that lies z standard
// deviations over the mean of n observations: Φ(−δ/√n) where
//
//	P(T′ ≤ √n·z; n − 1, δ) = confidence for the upper limit, 1 − confidence for the lower
//
// Owen & Hua (1977), "Tables of confidence limits on the tail area of the
// normal distribution", Communications in Statistics B6:285–311. It fails for
// n under 2 (ErrTooFew), z not a number and a confidence outside (0, 1).
func ExceedanceLimits(n int, z, confidence float64) (OneSided, error) {
	if n < 2 {
		return OneSided{}, fmt.Errorf("%w: %d, need 2 or more for limits of an exceedance", ErrTooFew, n)
	}
	if err := checkFraction("confidence", confidence); err != nil {
		return OneSided{}, err
	}
	root := math.Sqrt(float64(n))
	t := root * math.Max(-farLimit, math.Min(farLimit, z))
	upper, err := noncentralityFor(float64(n-1), t, confidence)
	if err != nil {
		return OneSided{}, err
	}
	lower, err := noncentralityFor(float64(n-1), t, 1-confidence)
	if err != nil {
		return OneSided{}, err
	}
	return OneSided{Lower: normalCDF(-lower / root), Upper: normalCDF(-upper / root)}, nil
}

// checkFraction returns an error unless value lies between 0 and 1.
func checkFraction(what string, value float64) error {
	if !(value > 0 && value < 1) {
		return fmt.Errorf("%s %g is not between 0 and 1", what, value)
	}
	return nil
}
