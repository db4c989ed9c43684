package exposure

import (
	"math"

	"airtally/limits"
	"airtally/stats"
	"airtally/volume"
)

// Micrograms is a mass on a medium.
type Micrograms float64

// Over returns the concentration of m in v; 1 µg/L is 1 mg/m³.
func (m Micrograms) Over(v volume.Litres) limits.MgPerM3 {
	return limits.MgPerM3(float64(m) / float64(v))
}

// Fibres is a count of fibres on a filter.
type Fibres float64

// Over returns the concentration of n fibres in v: f/cc = n / (1000·L).
func (n Fibres) Over(v volume.Litres) limits.FibresPerCC {
	return limits.FibresPerCC(float64(n) / (1000 * float64(v)))
}

// Value returns what stands for a result under the reporting limit R, in the
// unit of R. Half and Root are the substitutions of Hornung and Reed 1990,
// Appl Occup Environ Hyg 5(1):46-51.
func (n NonDetect) Value(reportingLimit float64) float64 {
	switch n {
	case Root:
		return reportingLimit / math.Sqrt2
	case Zero:
		return 0
	case Full:
		return reportingLimit
	}
	return reportingLimit / 2
}

// under returns the interval of a result under the reporting limit R.
func (n NonDetect) under(reportingLimit float64) stats.Interval {
	return stats.Under(reportingLimit, n.Value(reportingLimit))
}

// inAir returns the concentration of what a sample holds, µg or fibres, in the
// volumes it may have drawn. The greater volume makes the lower bound.
func inAir(held stats.Interval, q Quantity, low, mid, high volume.Litres) stats.Interval {
	over := func(held float64, v volume.Litres) float64 {
		if q == OfFibres {
			return float64(Fibres(held).Over(v))
		}
		return float64(Micrograms(held).Over(v))
	}
	return stats.Interval{
		Low:   over(held.Low, high),
		Value: over(held.Value, mid),
		High:  over(held.High, low),
		Open:  held.Open,
	}
}

// roundingTolerance keeps a figure exactly at a threshold from counting as past
// it for the sake of its last bit.
const roundingTolerance = 1e-9

func over(x, threshold float64) bool { return x > threshold*(1+roundingTolerance) }

func under(x, threshold float64) bool { return x < threshold*(1-roundingTolerance) }
