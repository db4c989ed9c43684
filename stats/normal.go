package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// normalCDF returns Φ(z), with its digits in the lower tail.
func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

const (
	tableFrom, tableTo = -10, 9 // Φ is 1 to every digit from there
	tableRate          = 64     // rows to one of z
)

// normalTable holds the first coefficients of Taylor's series of Φ about
// tableFrom + row/tableRate.
var normalTable = func() (table [(tableTo-tableFrom)*tableRate + 1][8]float64) {
	for row := range table {
		z := tableFrom + float64(row)/tableRate
		table[row][0] = normalCDF(z)
		before, derivative, factorial := 0.0, math.Exp(normalLogDensity(z)), 1.0
		for k := 1; k < 8; k++ {
			factorial *= float64(k)
			table[row][k] = derivative / factorial
			before, derivative = derivative, -(z*derivative + float64(k-1)*before)
		}
	}
	return table
}()

// quickCDF returns Φ(z), to 1e-13 of it: for integrals, which take it often.
func quickCDF(z float64) float64 {
	if z >= tableTo {
		return 1
	}
	if !(z >= tableFrom) {
		return normalCDF(z)
	}
	row := int((z-tableFrom)*tableRate + 0.5)
	c := &normalTable[row]
	d := z - (tableFrom + float64(row)/tableRate)
	square := d * d
	return c[0] + c[1]*d + (c[2]+c[3]*d)*square + (c[4]+c[5]*d+(c[6]+c[7]*d)*square)*(square*square)
}

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
