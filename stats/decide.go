package stats

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mathext"
)

// mostShifts is the largest group that ShiftsToDecide plans.
const mostShifts = 10000

// ShiftsToDecide returns the smallest total number of shifts, n or more, at
// which an exact one-sided confidence limit of the coverage percentile would
// clear a limit that lies deviate standard deviations of logs over their mean,
// if mean and standard deviation stayed as they are: the upper limit at or
// under it where the percentile lies below, else the lower limit over it.
// It is n, or 2, where these decide already. It is not ok where 10,000 shifts
// would not decide, the percentile lies at the limit, or an argument is out of
// range.
func ShiftsToDecide(n int, deviate, coverage, confidence float64) (total int, ok bool) {
	if checkFraction("coverage", coverage) != nil || checkFraction("confidence", confidence) != nil || math.IsNaN(deviate) {
		return 0, false
	}
	z := mathext.NormalQuantile(coverage)
	if deviate == z {
		return 0, false
	}
	deviate = math.Max(-farLimit, math.Min(farLimit, deviate))
	decided := func(n int) bool {
		root := math.Sqrt(float64(n))
		chance := NoncentralT{Nu: float64(n - 1), Delta: z * root}.CDF(deviate * root)
		if deviate > z {
			return chance >= confidence
		}
		return chance < 1-confidence
	}
	low, high := max(n, 2), max(n, 2)
	for !decided(high) {
		if high >= mostShifts {
			return 0, false
		}
		low, high = high+1, min(2*high, mostShifts)
	}
	return low + sort.Search(high-low, func(more int) bool { return decided(low + more) }), true
}
