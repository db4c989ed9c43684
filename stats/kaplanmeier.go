package stats

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Step is a part of a distribution that data without a supposed form can tell:
// a share of the quantity lies between Low and High, they do not say where.
// Low and High are equal for a detected value, and High is +Inf for a part
// known only from below.
type Step struct {
	Low, High float64
	Share     float64 // 0 to 1; the shares of all steps sum to 1
}

// KaplanMeier is the estimate of a distribution without any supposed form from
// results that are exact or known between bounds.
//
// A part that lies somewhere between bounds, above all the part under the
// lowest reporting limit, is put at its upper bound (Efron's convention, which
// takes the lowest result as detected at its limit: Helsel 2012, "Statistics
// for Censored Environmental Data", second edition, chapter 6, from memory).
// The mean so errs on the high side; MeanLow, with that part at its lower
// bound, says by how much at most.
type KaplanMeier struct {
	N, NCensored int
	Steps        []Step   // from the lowest up
	Mean         Optional // missing where a part has no upper bound
	MeanLow      float64  // the mean with each part at its lower bound
	SD           Optional // of the estimated distribution: divisor N, not N − 1
	SEMean       Optional // standard error of Mean; missing where results have two bounds or none above
	Median       Interval
	Iterations   int // of the self-consistent estimator; 0 where the product limit serves
	Warnings     []string
}

// EstimateKaplanMeier returns the distribution of the results:
//
//   - all exact or under a limit: the product-limit estimate of Kaplan & Meier
//     (1958, Journal of the American Statistical Association 53:457–481), from
//     the highest value down, so that "under R" is what a survival test calls
//     censored;
//   - else the self-consistent estimate of Turnbull (1976, Journal of the Royal
//     Statistical Society B 38:290–295), of which the first is a special case.
//
// A value at a reporting limit counts as over a result under that limit. It
// fails for what cannot be a result, and where no result has any bound.
func EstimateKaplanMeier(points []Interval) (KaplanMeier, error) {
	if len(points) == 0 {
		return KaplanMeier{}, fmt.Errorf("%w: none", ErrTooFew)
	}
	k := KaplanMeier{N: len(points)}
	var told []Interval
	rankableAll := true
	for i, x := range points {
		if err := checkObservation(x); err != nil {
			return KaplanMeier{}, fmt.Errorf("observation %d: %w", i+1, err)
		}
		if x.Censored() {
			k.NCensored++
		}
		if x.Low > 0 || x.Bounded() {
			told = append(told, x)
			rankableAll = rankableAll && rankable(x) == nil
		}
	}
	if len(told) == 0 {
		return KaplanMeier{}, fmt.Errorf("%w: no result has a bound", ErrTooFew)
	}
	if rankableAll {
		k.productLimit(told)
	} else {
		k.selfConsistent(told)
	}
	k.summarise()
	return k, nil
}

// productLimit fills in the steps and the standard error from values and
// results under limits. Down from the highest value x, with r results at or
// under it of which d are x:
//
//	F(under x) = F(x)·(1 − d/r)
//	Var(mean) = Σ (∫F up to x)²·d/(r·(r − d))·D/(D − 1),  D values detected
//
// The last factor, which Kaplan & Meier propose, makes the standard error of
// results without censoring s/√N.
func (k *KaplanMeier) productLimit(points []Interval) {
	values := detectedDown([][]Interval{points})
	rest := 1.0
	var risks, hits []float64
	for _, value := range values {
		var r, d float64
		for _, x := range points {
			if x.High <= value {
				r++
			}
			if !x.Censored() && x.High == value {
				d++
			}
		}
		k.Steps = append(k.Steps, Step{Low: value, High: value, Share: rest * d / r})
		risks, hits = append(risks, r), append(hits, d)
		if d == r {
			rest = 0
		} else {
			rest *= 1 - d/r
		}
	}
	if rest > 0 {
		lowest := math.Inf(1)
		for _, x := range points {
			lowest = math.Min(lowest, x.High)
		}
		k.Steps = append(k.Steps, Step{Low: 0, High: lowest, Share: rest})
	}
	slices.Reverse(k.Steps)
	slices.Reverse(risks)
	slices.Reverse(hits)
	k.greenwood(risks, hits)
}

// greenwood fills in the standard error of the mean from the results at risk
// and the hits of each value, lowest first.
func (k *KaplanMeier) greenwood(risks, hits []float64) {
	detected := 0.0
	for _, d := range hits {
		detected += d
	}
	if detected < 2 {
		return
	}
	first := len(k.Steps) - len(hits) // 1 where a part lies under the lowest value
	var variance, area, below float64
	for i, step := range k.Steps {
		if i > 0 {
			area += float64(below * (step.High - k.Steps[i-1].High))
		}
		below += step.Share
		if j := i - first; j >= 0 && risks[j] > hits[j] {
			variance += area * area * hits[j] / (risks[j] * (risks[j] - hits[j]))
		}
	}
	k.SEMean = Some(math.Sqrt(variance * detected / (detected - 1)))
}

// summarise fills in what follows from the steps.
func (k *KaplanMeier) summarise() {
	last := k.Steps[len(k.Steps)-1]
	for _, step := range k.Steps {
		k.MeanLow += float64(step.Share * step.Low)
	}
	if math.IsInf(last.High, 1) {
		k.Warnings = append(k.Warnings, fmt.Sprintf(
			"%.3g %% of the distribution is known only to reach %g: it has no mean", 100*last.Share, last.Low))
	} else {
		mean, sd := momentsOfSteps(k.Steps, func(s Step) float64 { return s.High })
		k.Mean, k.SD = Some(mean), Some(sd)
	}
	if first := k.Steps[0]; first.Low == 0 && first.Share > 0.5 {
		k.Warnings = append(k.Warnings, fmt.Sprintf(
			"%.3g %% of the distribution lies under %g, one cannot say where", 100*first.Share, first.High))
	}
	k.Median = k.Percentile(0.5)
}

// momentsOfSteps returns the mean and standard deviation of a distribution
// whose steps stand where place puts them.
func momentsOfSteps(steps []Step, place func(Step) float64) (mean, sd float64) {
	for _, s := range steps {
		mean += float64(s.Share * place(s))
	}
	for _, s := range steps {
		d := place(s) - mean
		sd += float64(s.Share * d * d)
	}
	return mean, math.Sqrt(sd)
}

// Percentile returns where the value lies that fraction of the distribution is
// at or under: a value, or the bounds between which the data cannot tell. Where
// the distribution is at the fraction exactly over a gap, it is the middle of
// the gap, as of the median of two values.
func (k KaplanMeier) Percentile(fraction float64) Interval {
	const same = 1e-9 // shares are sums of rounded numbers
	below := 0.0
	for i, s := range k.Steps {
		below += s.Share
		if i == len(k.Steps)-1 || below > fraction+same {
			return s.interval()
		}
		if below >= fraction-same {
			a, b := s.interval(), k.Steps[i+1].interval()
			return a.Add(b).Scale(0.5)
		}
	}
	return Interval{}
}

// interval returns the bounds of a step.
func (s Step) interval() Interval {
	switch {
	case s.Low == s.High:
		return Exact(s.Low)
	case math.IsInf(s.High, 1):
		return AtLeast(s.Low)
	}
	return Interval{Low: s.Low, Value: s.High, High: s.High, Open: s.Low == 0}
}

// Fraction returns the part of the distribution at or under x; a step counts
// where all of it is.
func (k KaplanMeier) Fraction(x float64) float64 {
	sum := 0.0
	for _, s := range k.Steps {
		if s.High <= x {
			sum += s.Share
		}
	}
	return math.Min(1, sum)
}

// edge is one end of a result's interval in the order of ends.
type edge struct {
	value float64
	rank  int // at one value: 0 an open upper end, 1 a lower end, 2 a closed upper end
}

func compareEdges(a, b edge) int {
	return cmp.Or(cmp.Compare(a.value, b.value), cmp.Compare(a.rank, b.rank))
}

func (x Interval) lowerEdge() edge { return edge{x.Low, 1} }

func (x Interval) upperEdge() edge {
	if x.Open && x.Censored() {
		return edge{x.High, 0}
	}
	return edge{x.High, 2}
}

// innermost returns the intervals that can carry a share: from a lower end to
// the upper end that is next in the order of all ends.
func innermost(points []Interval) (lows, highs []edge) {
	var edges []edge
	for _, x := range points {
		edges = append(edges, x.lowerEdge(), x.upperEdge())
	}
	slices.SortFunc(edges, compareEdges)
	for i := 1; i < len(edges); i++ {
		if edges[i-1].rank == 1 && edges[i].rank != 1 {
			lows, highs = append(lows, edges[i-1]), append(highs, edges[i])
		}
	}
	return lows, highs
}
