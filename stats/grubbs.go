package stats

import (
	"fmt"
	"math"
)

// GrubbsOutlier returns which of the values lies farthest from their mean, how
// many standard deviations g, and the two-sided P of a value so far out among
// as many normal ones, by Bonferroni's bound; for lognormal data give
// logarithms. A small P is a reason to look at the sample, none to drop it.
// Grubbs (1969), "Procedures for detecting outlying observations in samples",
// Technometrics 11:1–21. It fails with ErrTooFew under 3 values and with
// ErrNoSpread where all are equal.
func GrubbsOutlier(values []float64) (index int, g, p float64, err error) {
	n := len(values)
	if n < 3 {
		return 0, 0, 0, fmt.Errorf("%w: %d, need 3 or more to tell an outlier", ErrTooFew, n)
	}
	offset, ss := centre(values)
	if ss == 0 {
		return 0, 0, 0, ErrNoSpread
	}
	sd := math.Sqrt(ss / float64(n-1))
	for i, v := range values {
		if away := math.Abs(v-values[0]-offset) / sd; away > g {
			index, g = i, away
		}
	}
	return index, g, grubbsP(float64(n), g), nil
}

// grubbsP turns g into Student's t with n − 2 degrees of freedom.
func grubbsP(n, g float64) float64 {
	left := (n-1)*(n-1) - n*g*g
	if left <= 0 {
		return 0 // g is as great as it can be
	}
	t := g * math.Sqrt(n*(n-2)/left)
	return math.Min(1, 2*n*NoncentralT{Nu: n - 2}.Survival(t))
}
