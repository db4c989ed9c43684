package stats

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// TestResult is a test of whether groups, or times, differ.
type TestResult struct {
	Rule      string // that was applied, with its source
	Statistic float64
	DF        int
	P         float64
	Warnings  []string
}

// Pair is the ratio of the geometric means of two groups.
type Pair struct {
	First, Second int     // places in the data, First before Second
	Ratio         float64 // of Second over First
	Low, High     float64 // two-sided limits of Ratio, that hold for all pairs together
	P             float64 // adjusted for the number of pairs
}

// LogComparison is a comparison of the geometric means of groups.
type LogComparison struct {
	Rule       string
	Anova      Anova // of the logarithms
	Confidence float64
	Pairs      []Pair
	Warnings   []string
}

// CompareGeometricMeans compares the geometric means of groups of lognormal
// exposures: one-way analysis of variance of the logarithms, and each pair by
// Tukey's studentized range with Kramer's allowance for unequal groups
//
//	ln ratio ± (q/√2)·√(MSw·(1/nᵢ + 1/nⱼ))
//
// It supposes the same geometric standard deviation in all groups. It fails
// for a value that is not positive, and with ErrTooFew where no group has two
// values that differ.
func CompareGeometricMeans(groups [][]float64, confidence float64) (LogComparison, error) {
	ys, err := logGroups(groups)
	if err != nil {
		return LogComparison{}, err
	}
	a, err := OneWay(ys)
	if err != nil {
		return LogComparison{}, err
	}
	if !a.F.Known {
		return LogComparison{}, fmt.Errorf("%w: no spread within the groups to compare them by", ErrTooFew)
	}
	c := LogComparison{
		Rule: "analysis of variance of logarithms; pairs by the studentized range " +
			"(Tukey 1953, Kramer 1956, Biometrics 12:307–310)",
		Anova:      a,
		Confidence: confidence,
	}
	if err := c.comparePairs(); err != nil {
		return LogComparison{}, err
	}
	if spread := spreadRatio(ys); spread > 3 {
		c.Warnings = append(c.Warnings, fmt.Sprintf(
			"the spread of logarithms differs %.1f-fold between groups; the comparison supposes one spread", spread))
	}
	return c, nil
}

// comparePairs fills in the pairs.
func (c *LogComparison) comparePairs() error {
	a := &c.Anova
	k, df := len(a.Counts), float64(a.DFWithin)
	q, err := studentizedRangeQuantile(1-c.Confidence, k, df)
	if err != nil {
		return err
	}
	for i := range k {
		for j := i + 1; j < k; j++ {
			difference := a.Means[j] - a.Means[i]
			unit := math.Sqrt(a.MSWithin.Value / 2 * (1/float64(a.Counts[i]) + 1/float64(a.Counts[j])))
			c.Pairs = append(c.Pairs, Pair{
				First: i, Second: j,
				Ratio: math.Exp(difference),
				Low:   math.Exp(difference - q*unit),
				High:  math.Exp(difference + q*unit),
				P:     studentizedRangeTail(math.Abs(difference)/unit, k, df),
			})
		}
	}
	return nil
}

// spreadRatio returns the largest standard deviation of a group over the
// smallest, of groups with three observations or more and some spread; 1
// where fewer than two are such.
func spreadRatio(ys [][]float64) float64 {
	low, high := math.Inf(1), 0.0
	for _, g := range ys {
		if len(g) < 3 {
			continue
		}
		if _, ss := centre(g); ss > 0 {
			deviation := math.Sqrt(ss / float64(len(g)-1))
			low, high = math.Min(low, deviation), math.Max(high, deviation)
		}
	}
	return math.Max(1, high/low)
}

// KruskalWallis tests whether groups differ by the ranks of their values, with
// the correction for ties:
//
//	H = (12/(N(N + 1))·Σ Rᵢ²/nᵢ − 3(N + 1)) / (1 − Σ(t³ − t)/(N³ − N))
//
// with P from χ² on groups − 1 degrees of freedom (Kruskal & Wallis 1952,
// Journal of the American Statistical Association 47:583–621). It supposes no
// distribution. It fails where all values are equal.
func KruskalWallis(groups [][]float64) (TestResult, error) {
	if err := checkGroups(groups); err != nil {
		return TestResult{}, err
	}
	ranks, ties := rankAll(groups)
	smallest, n := len(groups[0]), 0.0
	for _, g := range groups {
		smallest = min(smallest, len(g))
		n += float64(len(g))
	}
	untied := 1 - ties/(n*n*n-n)
	if untied <= 0 {
		return TestResult{}, fmt.Errorf("%w: all values are equal", ErrTooFew)
	}
	r := TestResult{
		Rule: "rank test of Kruskal & Wallis (1952), corrected for ties, P by chi-square",
		DF:   len(groups) - 1,
	}
	// H from deviations of mean ranks, which cannot come out negative.
	for i, g := range groups {
		d := ranks[i]/float64(len(g)) - (n+1)/2
		r.Statistic += float64(12 / (n * (n + 1)) * float64(len(g)) * d * d)
	}
	r.Statistic /= untied
	r.P = chiSquareAbove(r.Statistic, float64(r.DF))
	if smallest < 5 {
		r.Warnings = append(r.Warnings, fmt.Sprintf(
			"the smallest group has %d values: P is approximate under 5", smallest))
	}
	return r, nil
}

// rankAll returns the sum of the ranks of each group's values among all, tied
// values sharing their mean rank, and Σ(t³ − t) over runs of t tied values.
func rankAll(groups [][]float64) (sums []float64, ties float64) {
	type placed struct {
		value float64
		group int
	}
	var all []placed
	for i, g := range groups {
		for _, x := range g {
			all = append(all, placed{x, i})
		}
	}
	slices.SortStableFunc(all, func(a, b placed) int { return cmp.Compare(a.value, b.value) })
	sums = make([]float64, len(groups))
	for start := 0; start < len(all); {
		end := start
		for end < len(all) && all[end].value == all[start].value {
			end++
		}
		for _, p := range all[start:end] {
			sums[p.group] += float64(start+end+1) / 2
		}
		t := float64(end - start)
		ties += t*t*t - t
		start = end
	}
	return sums, ties
}

// chiSquareAbove returns P(χ² > x) with df degrees of freedom.
func chiSquareAbove(x, df float64) float64 { return mathext.GammaIncRegComp(df/2, x/2) }
