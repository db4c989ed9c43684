package stats

import (
	"fmt"
	"math"
)

// The range of k standard normal deviates over an independent estimate s of
// their standard deviation with df degrees of freedom. Given s,
//
//	P(range > q·s) = k ∫ φ(z) [Φ(z)^(k−1) − (Φ(z) − Φ(z − q·s))^(k−1)] dz
//
// which is then averaged over s: Lund & Lund (1983), "Algorithm AS 190:
// Probabilities and upper quantiles for the studentized range", Applied
// Statistics 32:204–210. Here the difference of powers is taken as one factor,
// so that small probabilities keep their digits, and both integrals are sums
// over equal steps, in z and in ln s, which for such bell-shaped integrands
// converge faster than any power of the step.
const (
	rangeStep = 0.25 // of z; 2 to 200 groups need no finer one
	rangeEnd  = 8.5  // |z| beyond which φ is under 1e-16
	logEnd    = 42.0 // of the weight of ln s: e⁻⁴² is under 1e-18
)

// rangeTail returns P(range > w) for k standard normal deviates.
func rangeTail(w float64, k int) float64 {
	if w <= 0 {
		return 1
	}
	powers := float64(k - 1)
	var sum float64
	for z := -rangeEnd; z <= rangeEnd; z += rangeStep {
		below := normalCDF(z)
		part := normalCDF(z-w) / below // of those below z, how many are out of range
		one := -math.Expm1(powers * math.Log1p(-part))
		sum += math.Exp(-z*z/2+powers*math.Log(below)) * one
	}
	return math.Min(1, float64(k)*sum*rangeStep/math.Sqrt(2*math.Pi))
}

// studentizedRangeTail returns P(Q > q) for the studentized range of k ≥ 2
// groups and df ≥ 1 degrees of freedom, to about 1e-10.
func studentizedRangeTail(q float64, k int, df float64) float64 {
	if q <= 0 {
		return 1
	}
	// The weight of t = ln s has its peak at 0 and standard deviation 1/√(2·df)
	// near it; to the left it falls off only as s^df.
	step := 0.5 / math.Sqrt(2*math.Max(df, 8))
	var sum, weights float64
	add := func(t float64) bool {
		logWeight := df * (t - math.Expm1(2*t)/2)
		if logWeight < -logEnd {
			return false
		}
		weight := math.Exp(logWeight)
		weights += weight
		sum += weight * rangeTail(q*math.Exp(t), k)
		return true
	}
	add(0)
	for i := 1; add(float64(i) * step); i++ {
	}
	for i := 1; add(float64(-i) * step); i++ {
	}
	return sum / weights
}

// studentizedRangeQuantile returns q with P(Q > q) = tail, by bisection of
// ln q until nothing changes at ten digits. It fails for a tail outside (0, 1).
func studentizedRangeQuantile(tail float64, k int, df float64) (float64, error) {
	if !(tail > 0 && tail < 1) {
		return 0, fmt.Errorf("studentized range: tail probability %g is not between 0 and 1", tail)
	}
	low, high := 1e-6, 1e6
	for range 100 {
		middle := math.Sqrt(low * high)
		if studentizedRangeTail(middle, k, df) > tail {
			low = middle
		} else {
			high = middle
		}
		if high/low < 1+1e-11 {
			break
		}
	}
	return math.Sqrt(low * high), nil
}
