package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// greatestShapiro is the largest sample for which the approximation was made.
const greatestShapiro = 5000

// ShapiroWilk returns the statistic W of normality and its P; for lognormal
// data give logarithms. Royston (1995), "Remark AS R94: A remark on algorithm
// AS 181: The W-test for normality", Applied Statistics 44:547–551. It fails
// with ErrTooFew under 3 values, over 5000, and with ErrNoSpread where all are
// equal or nearly so.
func ShapiroWilk(values []float64) (w, p float64, err error) {
	n := len(values)
	if n < 3 {
		return 0, 0, fmt.Errorf("%w: %d, need 3 or more to test normality", ErrTooFew, n)
	}
	if n > greatestShapiro {
		return 0, 0, fmt.Errorf("%d values: the test of normality holds up to %d", n, greatestShapiro)
	}
	x := slices.Sorted(slices.Values(values))
	if math.IsNaN(x[0]) || math.IsInf(x[0], 0) || math.IsInf(x[n-1], 0) {
		return 0, 0, fmt.Errorf("a value is not a finite number")
	}
	offset, ss := centre(x)
	if ss == 0 || x[n-1]-x[0] < 1e-14*math.Abs(x[0]) {
		return 0, 0, ErrNoSpread
	}
	weights := shapiroWeights(n)
	var b float64
	for i, a := range weights {
		b += float64(a * (x[n-1-i] - x[i]))
	}
	// 1 − W as a sum of squares about the fitted line, which cannot cancel.
	var lack float64
	for i := range x {
		a := 0.0
		if i < len(weights) {
			a = -weights[i]
		} else if n-1-i < len(weights) {
			a = weights[n-1-i]
		}
		r := (x[i] - x[0]) - offset - a*b
		lack += float64(r * r)
	}
	lack = math.Min(1, lack/ss)
	return 1 - lack, shapiroP(n, lack), nil
}

// shapiroWeights returns the weights of the upper half of the sample, largest
// first; those of the lower half are their negatives.
func shapiroWeights(n int) []float64 {
	if n == 3 {
		return []float64{math.Sqrt2 / 2}
	}
	weights := make([]float64, n/2)
	var squares float64
	for i := range weights {
		weights[i] = -mathext.NormalQuantile((float64(i) + 1 - 0.375) / (float64(n) + 0.25))
		squares += 2 * weights[i] * weights[i]
	}
	root := 1 / math.Sqrt(float64(n))
	fixed := []float64{polynomial(root, weights[0]/math.Sqrt(squares), 0.221157, -0.147981, -2.07119, 4.434685, -2.706056)}
	if n > 5 {
		fixed = append(fixed, polynomial(root, weights[1]/math.Sqrt(squares), 0.042981, -0.293762, -1.752461, 5.682633, -3.582633))
	}
	left, rest := squares, 1.0
	for i, a := range fixed {
		left -= 2 * weights[i] * weights[i]
		rest -= 2 * a * a
	}
	scale := math.Sqrt(left / rest)
	for i := range weights {
		weights[i] /= scale
	}
	copy(weights, fixed)
	return weights
}

// shapiroP returns P for lack = 1 − W.
func shapiroP(n int, lack float64) float64 {
	x := float64(n)
	if n == 3 { // exact
		return math.Max(0, 6/math.Pi*(math.Asin(math.Sqrt(1-lack))-math.Asin(math.Sqrt(0.75))))
	}
	y := math.Log(lack)
	if n <= 11 {
		greatest := polynomial(x, -2.273, 0.459)
		if y >= greatest {
			return 1e-99
		}
		y = -math.Log(greatest - y)
		mean := polynomial(x, 0.544, -0.39978, 0.025054, -6.714e-4)
		deviation := math.Exp(polynomial(x, 1.3822, -0.77857, 0.062767, -0.0020322))
		return normalCDF((mean - y) / deviation)
	}
	log := math.Log(x)
	mean := polynomial(log, -1.5861, -0.31082, -0.083751, 0.0038915)
	deviation := math.Exp(polynomial(log, -0.4803, -0.082676, 0.0030302))
	return normalCDF((mean - y) / deviation)
}

// polynomial returns Σ cᵢ·xⁱ.
func polynomial(x float64, coefficients ...float64) (sum float64) {
	for _, c := range slices.Backward(coefficients) {
		sum = float64(sum*x) + c
	}
	return sum
}
