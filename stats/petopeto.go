package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// PetoPeto tests whether groups with results under reporting limits differ, by
// the generalised Wilcoxon test of Peto & Peto (1972, Journal of the Royal
// Statistical Society A 135:185–207) in the form that weights each value with
// the product-limit estimate (Harrington & Fleming 1982, Biometrika
// 69:553–566, with ρ = 1). Values are taken from the highest down, so that
// "under R" is what a survival test calls censored. It supposes no
// distribution. It fails for a result known only from below or between
// positive bounds, and where no value was detected above another result.
func PetoPeto(groups [][]Interval) (TestResult, error) {
	if len(groups) < 2 {
		return TestResult{}, fmt.Errorf("%w: %d group, need 2 or more to compare", ErrTooFew, len(groups))
	}
	for i, g := range groups {
		if len(g) == 0 {
			return TestResult{}, fmt.Errorf("%w: group %d is empty", ErrTooFew, i+1)
		}
		for j, x := range g {
			if err := rankable(x); err != nil {
				return TestResult{}, fmt.Errorf("result %d of group %d: %w", j+1, i+1, err)
			}
		}
	}
	excess, covariance := petoScores(groups)
	statistic, df := quadraticForm(excess, covariance)
	if df == 0 {
		return TestResult{}, fmt.Errorf("%w: no value detected above another result", ErrTooFew)
	}
	r := TestResult{
		Rule: "generalised Wilcoxon test of Peto & Peto (1972), product-limit weights " +
			"(Harrington & Fleming 1982), P by chi-square",
		Statistic: statistic,
		DF:        df,
		P:         chiSquareAbove(statistic, float64(df)),
	}
	if df < len(groups)-1 {
		r.Warnings = append(r.Warnings, "a group tells nothing: all its results lie under limits above every value")
	}
	return r, nil
}

// rankable returns an error unless the result is a value or under a limit.
func rankable(x Interval) error {
	switch {
	case math.IsNaN(x.Low) || math.IsNaN(x.High) || x.Low > x.High:
		return fmt.Errorf("bounds %g to %g are not an interval", x.Low, x.High)
	case !x.Bounded():
		return fmt.Errorf("known only to reach %g: cannot be ranked", x.Low)
	case x.Censored() && x.Low > 0:
		return fmt.Errorf("known only between %g and %g: cannot be ranked", x.Low, x.High)
	}
	return nil
}

// petoScores returns, for each group, the weighted excess of values over those
// expected if the groups were alike, and the covariance of the excesses.
func petoScores(groups [][]Interval) ([]float64, *mat.SymDense) {
	k := len(groups)
	excess := make([]float64, k)
	covariance := mat.NewSymDense(k, nil)
	below := 1.0 // product-limit estimate of the fraction under the value
	for _, value := range detectedDown(groups) {
		risk, hits := make([]float64, k), make([]float64, k)
		var n, d float64
		for i, g := range groups {
			for _, x := range g {
				if x.High <= value {
					risk[i]++
				}
				if !x.Censored() && x.High == value {
					hits[i]++
				}
			}
			n += risk[i]
			d += hits[i]
		}
		for i := range k {
			excess[i] += float64(below * (hits[i] - d*risk[i]/n))
			for j := i; j < k && n > 1; j++ {
				same := 0.0
				if i == j {
					same = 1
				}
				v := below * below * d * (n - d) / (n - 1) * risk[i] / n * (same - risk[j]/n)
				covariance.SetSym(i, j, covariance.At(i, j)+v)
			}
		}
		below *= 1 - d/n
	}
	return excess, covariance
}

// detectedDown returns the distinct detected values, highest first.
func detectedDown(groups [][]Interval) []float64 {
	var values []float64
	for _, g := range groups {
		for _, x := range g {
			if !x.Censored() {
				values = append(values, x.High)
			}
		}
	}
	slices.Sort(values)
	values = slices.Compact(values)
	slices.Reverse(values)
	return values
}

// quadraticForm returns u'V⁻u with the generalised inverse of V, and the rank
// of V. The excesses of all groups sum to 0, so V never has full rank.
func quadraticForm(u []float64, v *mat.SymDense) (float64, int) {
	var eigen mat.EigenSym
	if !eigen.Factorize(v, true) {
		return 0, 0
	}
	values := eigen.Values(nil)
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	largest := slices.Max(values)
	var sum float64
	rank := 0
	for j, value := range values {
		if value <= 1e-10*largest || value <= 0 {
			continue
		}
		rank++
		along := mat.Dot(vectors.ColView(j), mat.NewVecDense(len(u), u))
		sum += along * along / value
	}
	return sum, rank
}
