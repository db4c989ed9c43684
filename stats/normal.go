package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// normalCDF returns Φ(z), with its digits in the lower tail.
func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// upperTail returns 1 − Φ(z), with its digits in the upper tail.
func upperTail(z float64) float64 { return normalCDF(-z) }

// lowerTailLog returns ln Φ(z), also where Φ underflows.
func lowerTailLog(z float64) float64 {
	if z > -10 {
		return math.Log(upperTail(-z))
	}
	return normalLogDensity(z) + math.Log(millsRatio(-z))
}

// millsRatio returns (1 − Φ(z))/φ(z). The continued fraction (Abramowitz &
// Stegun 1964, 26.2.14) takes over at z = 10, where 20 terms give full precision.
func millsRatio(z float64) float64 {
	if z < 10 {
		return upperTail(z) * math.Sqrt(2*math.Pi) * math.Exp(z*z/2)
	}
	tail := z
	for k := 20; k > 0; k-- {
		tail = z + float64(k)/tail
	}
	return 1 / tail
}

// normalLogDensity returns ln φ(z).
func normalLogDensity(z float64) float64 { return -z*z/2 - math.Log(2*math.Pi)/2 }

// normalQuantileOfLog returns z with ln Φ(z) = log, kept within what Φ can
// tell from 1.
func normalQuantileOfLog(log float64) float64 {
	const halfLog2Pi = 0.9189385332046727
	if log > -600 {
		return mathext.NormalQuantile(math.Min(math.Exp(log), 1-0x1p-53))
	}
	z := -math.Sqrt(-2 * log)
	for range 4 { // each gives three digits or more
		z = -math.Sqrt(2 * (math.Log(millsRatio(-z)) - halfLog2Pi - log))
	}
	return z
}

// normalTailQuantile returns z with P(Z > z) = p for a standard normal Z.
func normalTailQuantile(p float64) float64 { return math.Sqrt2 * math.Erfcinv(2*p) }
