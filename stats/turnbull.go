package stats

import (
	"fmt"
	"math"
)

const (
	// turnbullGap is how far ln L per result may be from its maximum.
	turnbullGap        = 1e-12
	turnbullEnough     = 1e-8 // tell of a larger one
	turnbullIterations = 10000
	// turnbullNothing is a share that is on its way to 0.
	turnbullNothing = 1e-7
)

// selfConsistent fills in the steps from results with bounds of any kind, by
// the EM iteration of Turnbull (1976):
//
//	pⱼ ← pⱼ·(1/n)·Σᵢ αᵢⱼ/Σₖ αᵢₖpₖ,  αᵢⱼ = 1 where result i covers step j
//
// It has converged where no factor of pⱼ exceeds 1: then no share can grow.
func (k *KaplanMeier) selfConsistent(points []Interval) {
	lows, highs := innermost(points)
	covers := make([][2]int, len(points)) // first step a result covers, and the one after the last
	for i, x := range points {
		for j := range lows {
			if compareEdges(lows[j], x.lowerEdge()) < 0 {
				covers[i][0] = j + 1
			}
			if compareEdges(highs[j], x.upperEdge()) <= 0 {
				covers[i][1] = j + 1
			}
		}
	}
	shares := make([]float64, len(lows))
	for j := range shares {
		shares[j] = 1 / float64(len(shares))
	}
	gap := math.Inf(1)
	for k.Iterations = 0; k.Iterations < turnbullIterations && gap > turnbullGap; k.Iterations++ {
		shares, gap = accelerated(shares, covers)
	}
	if gap > turnbullEnough {
		k.Warnings = append(k.Warnings, fmt.Sprintf(
			"the self-consistent estimate was stopped after %d iterations, within %.1g of its maximum", k.Iterations, gap*float64(len(points))))
	}
	kept := 0.0
	for j, share := range shares {
		if share > turnbullNothing {
			k.Steps = append(k.Steps, Step{Low: lows[j].value, High: highs[j].value, Share: share})
			kept += share
		}
	}
	for j := range k.Steps {
		k.Steps[j].Share /= kept
	}
}

// selfConsistency returns the next shares, ln L per result of the present ones,
// and by how much the largest factor exceeds 1.
func selfConsistency(shares []float64, covers [][2]int) (next []float64, logLik, gap float64) {
	n := float64(len(covers))
	upTo := make([]float64, len(shares)+1)
	for j, p := range shares {
		upTo[j+1] = upTo[j] + p
	}
	changes := make([]float64, len(shares)+1) // of the factor from one step to the next
	for _, c := range covers {
		covered := upTo[c[1]] - upTo[c[0]]
		logLik += math.Log(covered) / n
		changes[c[0]] += 1 / (n * covered)
		changes[c[1]] -= 1 / (n * covered)
	}
	next = make([]float64, len(shares))
	factor := 0.0
	for j, p := range shares {
		factor += changes[j]
		next[j] = p * factor
		gap = math.Max(gap, factor-1)
	}
	return next, logLik, gap
}

// accelerated takes two steps of the iteration and extrapolates from them, where
// that does not lower the likelihood: Varadhan & Roland (2008), Scandinavian
// Journal of Statistics 35:335–353.
func accelerated(shares []float64, covers [][2]int) (next []float64, gap float64) {
	first, _, gap := selfConsistency(shares, covers)
	second, _, _ := selfConsistency(first, covers)
	var moved, bent float64
	for j := range shares {
		r := first[j] - shares[j]
		v := second[j] - first[j] - r
		moved += r * r
		bent += v * v
	}
	if gap <= turnbullGap || bent == 0 {
		return second, gap
	}
	length := math.Max(1, math.Sqrt(moved/bent))
	leap := make([]float64, len(shares))
	sum := 0.0
	for j := range shares {
		r := first[j] - shares[j]
		v := second[j] - first[j] - r
		// Kept over half of what plain steps give: a share at 0 could not grow again.
		leap[j] = math.Max(second[j]/2, shares[j]+2*length*r+length*length*v)
		sum += leap[j]
	}
	for j := range leap {
		leap[j] /= sum
	}
	_, after, _ := selfConsistency(leap, covers)
	_, before, _ := selfConsistency(second, covers)
	if after >= before {
		return leap, gap
	}
	return second, gap
}
