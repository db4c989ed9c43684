package limits

import (
	"math"

	"airtally/stats"
)

// equalWithin is how near to a limit a value counts as equal to it, so that
// 0.1 + 0.2 against 0.3 does not turn on the last bit.
const equalWithin = 1e-9

// Decide returns what a fraction of a limit supports: the whole interval must
// lie on one side. Equality is over a limit that is reached at its value, and
// not over one that is exceeded only above it; an open upper end never reaches
// its bound.
func Decide(fraction stats.Interval, c Comparator) Outcome {
	low, high := snapToOne(fraction.Low), snapToOne(fraction.High)
	switch {
	case low > 1 || c == AtOrAbove && low == 1:
		return Exceeds
	case high < 1 || high == 1 && (c == Above || fraction.Open):
		return Below
	}
	return Undecided
}

func snapToOne(x float64) float64 {
	if math.Abs(x-1) <= equalWithin {
		return 1
	}
	return x
}

// nearAveraging is how far a sample's minutes may be from a limit's averaging
// time and still stand for it: common practice, no source.
const nearAveraging = 0.10

// ShortTermMean returns what a sample of mean concentration c over t minutes
// says of the worst mean over T minutes:
//
//	t ≥ T: at most all of the dose fell in T minutes, C·t/T;
//	       at least its even share did, C·t/(T·⌈t/T⌉); value C
//	t < T: at least the dose over T, C·t/T; no upper bound
//
// A t within 10 % of T counts as T. A limit of no averaging time, T = 0, has
// its worst moment at or above the mean.
func ShortTermMean(c stats.Interval, t, T float64) stats.Interval {
	if T <= 0 {
		return c.Unbounded()
	}
	ratio := t / T
	if math.Abs(ratio-1) <= nearAveraging+equalWithin {
		return c
	}
	if ratio < 1 {
		return stats.Interval{Low: c.Low * ratio, Value: c.Value * ratio, High: math.Inf(1)}
	}
	windows := math.Ceil(ratio - equalWithin)
	return stats.Interval{
		Low:   c.Low * ratio / windows,
		Value: c.Value,
		High:  c.High * ratio,
		Open:  c.Open,
	}
}

// SAEFromCV returns the sampling and analytical error of a method with a
// total coefficient of variation cv: 1.645·CV, a one-sided 95 % bound of a
// normal error. Source: NIOSH 77-173, from memory.
func SAEFromCV(cv float64) float64 { return 1.645 * cv }

// Band widens a fraction of a limit by the half-width of its error: its lower
// and upper one-sided 95 % confidence limits, LCL = Y − SAE and
// UCL = Y + SAE, are the ends. Low may come out negative. [Decide] of the band
// gives the three classes: UCL ≤ 1 is no overexposure, LCL > 1 is an
// overexposure, and between them it is a possible one.
//
// Source: OSHA field-manual method, single full-period sample, as reprinted in
// Boss & Day, Air Sampling and Industrial Hygiene Engineering, chapter 4.
func Band(fraction stats.Interval, halfWidth float64) stats.Interval {
	fraction.Low -= halfWidth
	fraction.High += halfWidth
	return fraction
}

// Term is one part of a sum with its own relative error: a sample of a
// time-weighted average, or a component of a mixture.
type Term struct {
	SAE      float64 // fraction
	Weighted float64 // what it adds to the sum: weight times concentration, or a fraction of a limit
}

// HalfWidth returns the half-width of the error of a sum of independent terms,
// as a fraction of divisor:
//
//	√Σ (SAEᵢ·wᵢ·cᵢ)² / L
//
// Source: OSHA field-manual method, full-period consecutive samples, as
// reprinted in Boss & Day, chapter 4, where one SAE holds for all samples.
func HalfWidth(terms []Term, divisor float64) float64 {
	sum := 0.0
	for _, t := range terms {
		sum += square(t.SAE * t.Weighted)
	}
	return math.Sqrt(sum) / divisor
}

// MixtureError returns RSt, the error of an additive index whose terms are
// fractions of the components' limits:
//
//	RSt = √Σ (Rᵢ·SAEᵢ)², Rᵢ = (Cᵢ/Lᵢ)/Em
//
// It is 0 for an index of 0. Source: OSHA field-manual method for mixtures;
// formula from memory.
func MixtureError(terms []Term) float64 {
	index := 0.0
	for _, t := range terms {
		index += t.Weighted
	}
	if index == 0 {
		return 0
	}
	return HalfWidth(terms, index)
}

// MixtureIndex returns Em = C₁/L₁ + … + Cₙ/Lₙ of the components' fractions;
// it must not exceed 1. Source: 29 CFR 1910.1000(d)(2)(i).
func MixtureIndex(fractions ...stats.Interval) stats.Interval {
	sum := stats.Exact(0)
	for _, f := range fractions {
		sum = sum.Add(f)
	}
	return sum
}

// DecideMixture returns what an additive index supports with the error rst of
// [MixtureError]: below if index + RSt ≤ 1, above if index − RSt > 1.
func DecideMixture(index stats.Interval, rst float64) Outcome {
	return Decide(Band(index, rst), Above)
}

func square(x float64) float64 { return float64(x * x) }
