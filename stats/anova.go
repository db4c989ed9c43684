package stats

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ErrTooFew says that there are not enough observations, groups or repeats
// for what was asked.
var ErrTooFew = errors.New("too few observations")

// Anova is a one-way analysis of variance.
type Anova struct {
	N                     int
	Counts                []int     // observations in each group
	Means                 []float64 // of each group
	Mean                  float64   // of all observations
	SSBetween, SSWithin   float64   // sums of squares
	DFBetween, DFWithin   int       // degrees of freedom: groups − 1, N − groups
	MSBetween, MSWithin   Optional  // mean squares; missing without degrees of freedom
	F, P                  Optional  // missing where no observation differs from its group's mean
	EffectiveGroupSize    float64   // n₀ = (N − Σnᵢ²/N)/(groups − 1)
	VarBetween, VarWithin Optional  // by the method of moments; VarBetween may be negative
}

// OneWay returns the one-way analysis of variance of the observations of each
// group:
//
//	SSb = Σ nᵢ(ȳᵢ − ȳ)²,  SSw = ΣΣ (yᵢⱼ − ȳᵢ)²,  F = (SSb/(k − 1)) / (SSw/(N − k))
//
// It fails with ErrTooFew for fewer than two groups, and for an empty group or
// an observation that is not finite. Sums are of differences from an
// observation and then from the mean, so that leading digits common to all
// cost nothing: Simon & Lesage (1989), "Assessing the accuracy of ANOVA
// calculations in statistical software", Computational Statistics & Data
// Analysis 8:325–332, the source of the harder reference sets of NIST.
func OneWay(groups [][]float64) (Anova, error) {
	if err := checkGroups(groups); err != nil {
		return Anova{}, err
	}
	k := len(groups)
	a := Anova{Counts: make([]int, k), Means: make([]float64, k), DFBetween: k - 1}
	origin := groups[0][0]
	var total, squares float64 // of counts
	offsets := make([]float64, k)
	for i, g := range groups {
		n := float64(len(g))
		offset, ss := centre(g)
		offsets[i] = (g[0] - origin) + offset
		a.Counts[i], a.Means[i] = len(g), g[0]+offset
		a.SSWithin += ss
		a.N += len(g)
		total += float64(n * offsets[i])
		squares += n * n
	}
	n := float64(a.N)
	mean := total / n
	for i, offset := range offsets {
		a.SSBetween += float64(float64(a.Counts[i]) * (offset - mean) * (offset - mean))
	}
	a.Mean = origin + mean
	a.DFWithin = a.N - k
	a.EffectiveGroupSize = (n - squares/n) / float64(k-1)
	a.test()
	return a, nil
}

// test fills in what follows from the sums of squares.
func (a *Anova) test() {
	between := a.SSBetween / float64(a.DFBetween)
	a.MSBetween = Some(between)
	if a.DFWithin == 0 {
		return
	}
	within := a.SSWithin / float64(a.DFWithin)
	a.MSWithin, a.VarWithin = Some(within), Some(within)
	a.VarBetween = Some((between - within) / a.EffectiveGroupSize)
	if within == 0 || math.IsInf(between/within, 0) {
		return
	}
	f := between / within
	a.F, a.P = Some(f), Some(fisherAbove(f, float64(a.DFBetween), float64(a.DFWithin)))
}

// checkGroups returns an error unless there are at least two groups of finite
// observations.
func checkGroups(groups [][]float64) error {
	if len(groups) < 2 {
		return fmt.Errorf("%w: %d group, need 2 or more to compare", ErrTooFew, len(groups))
	}
	for i, g := range groups {
		if len(g) == 0 {
			return fmt.Errorf("%w: group %d is empty", ErrTooFew, i+1)
		}
		for j, y := range g {
			if math.IsNaN(y) || math.IsInf(y, 0) {
				return fmt.Errorf("observation %d of group %d is not a finite number", j+1, i+1)
			}
		}
	}
	return nil
}

// centre returns the mean of the observations less the first of them, and the
// sum of squares about the mean. Equal observations give exactly 0 and 0.
func centre(ys []float64) (offset, ss float64) {
	for _, y := range ys {
		offset += y - ys[0]
	}
	offset /= float64(len(ys))
	for _, y := range ys {
		d := (y - ys[0]) - offset
		ss += float64(d * d)
	}
	return offset, ss
}

// fisherAbove returns P(F > f) with d1 and d2 degrees of freedom, exact in the
// far tail where 1 − CDF would be 0.
func fisherAbove(f, d1, d2 float64) float64 {
	return mathext.RegIncBeta(d2/2, d1/2, d2/(d2+d1*f))
}

// logGroups returns the natural logarithms of the values of each group. It fails
// for a value that is not positive and finite, which no lognormal quantity is.
func logGroups(groups [][]float64) ([][]float64, error) {
	all := make([][]float64, len(groups))
	for i, g := range groups {
		all[i] = make([]float64, len(g))
		for j, x := range g {
			if !(x > 0) || math.IsInf(x, 1) {
				return nil, fmt.Errorf("value %d of group %d is %g: need a positive finite number; "+
					"give the reporting limit for a result that was not detected", j+1, i+1, x)
			}
			all[i][j] = math.Log(x)
		}
	}
	return all, nil
}
