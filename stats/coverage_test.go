//go:build coverage

package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
)

// coverageCell is one kind of group: n shifts of a lognormal with the GSD,
// with results under its censored quantile given as non-detects.
type coverageCell struct {
	n             int
	gsd, censored float64
}

// coverage counts, in a number of groups, how often the limits of the 95th
// percentile held, and how often the default prior was needed.
type coverage struct{ groups, upper, lower, byDefault float64 }

const coverageGroups = 4000

// TestCoverage prints how often the one-sided 95 % limits of the 95th
// percentile that decide a group hold: exact ones without censoring, else
// those of the posterior, under the reference prior where it is proper and
// the default elsewhere. The limit of exposure is the true percentile, where
// a wrong decision is most likely, so that the default is centred on a tenth
// of that.
func TestCoverage(t *testing.T) {
	var cells []coverageCell
	for _, censored := range []float64{0, 0.2, 0.5} {
		for _, n := range []int{6, 10, 20} {
			for _, gsd := range []float64{1.5, 2.5, 4} {
				cells = append(cells, coverageCell{n, gsd, censored})
			}
		}
	}
	results := make([]coverage, len(cells))
	var wait sync.WaitGroup
	for i, cell := range cells {
		wait.Go(func() { results[i] = cell.run(t, rand.New(rand.NewPCG(20, uint64(i)))) })
	}
	wait.Wait()
	var table strings.Builder
	fmt.Fprintln(&table, "censored   n  GSD   upper %  lower %  default prior %")
	for i, c := range cells {
		r := results[i]
		upper, lower := 100*r.upper/r.groups, 100*r.lower/r.groups
		fmt.Fprintf(&table, "%6.0f %% %4d %4.1f   %6.1f   %6.1f   %6.1f\n", 100*c.censored, c.n, c.gsd, upper, lower, 100*r.byDefault/r.groups)
		within := 3 * 100 * math.Sqrt(0.95*0.05/r.groups)
		if c.censored == 0 && (math.Abs(upper-95) > within || math.Abs(lower-95) > within) {
			t.Errorf("%+v: exact limits hold in %.2f and %.2f %% of groups, want 95 within %.2f", c, upper, lower, within)
		}
		if upper < 93 {
			t.Errorf("%+v: upper limits hold in %.2f %% of groups, want 93 or more", c, upper)
		}
	}
	t.Logf("one-sided 95 %% limits of the 95th percentile, %d groups each\n%s", coverageGroups, table.String())
}

// run draws the groups of a cell.
func (c coverageCell) run(t *testing.T, r *rand.Rand) (held coverage) {
	sigma := math.Log(c.gsd)
	truth := math.Exp(1.6448536269514722 * sigma)
	reporting := 0.0
	if c.censored > 0 {
		reporting = math.Exp(-normalTailQuantile(c.censored) * sigma)
	}
	for held.groups < coverageGroups {
		points := make([]Interval, c.n)
		for i := range points {
			x := math.Exp(sigma * r.NormFloat64())
			points[i] = Exact(x)
			if x < reporting {
				points[i] = Under(reporting, reporting/2)
			}
		}
		held.groups++
		limits, byDefault := decidingLimits(t, points, truth)
		if limits.Upper >= truth {
			held.upper++
		}
		if limits.Lower <= truth {
			held.lower++
		}
		if byDefault {
			held.byDefault++
		}
	}
	return held
}

// decidingLimits returns the limits that decide a group against a limit.
func decidingLimits(t *testing.T, points []Interval, limit float64) (_ OneSided, byDefault bool) {
	s, err := NewCensoredSample(points)
	if err != nil {
		t.Error(err)
		return OneSided{}, false
	}
	if s.NCensored == 0 {
		values := make([]float64, len(points))
		for i, x := range points {
			values[i] = x.Value
		}
		exact, err := NewLognormal(values)
		if err != nil {
			t.Error(err)
			return OneSided{}, false
		}
		limits, err := exact.PercentileLimits(0.95, 0.95)
		if err != nil {
			t.Error(err)
		}
		return limits, false
	}
	q, err := NewPosterior(s, ReferencePrior())
	if errors.Is(err, ErrImproper) {
		byDefault = true
		q, err = NewPosterior(s, DefaultPrior(limit))
	}
	if err != nil {
		t.Error(err)
		return OneSided{}, byDefault
	}
	return OneSided{Lower: q.Percentile(0.95, 0.05), Upper: q.Percentile(0.95, 0.95)}, byDefault
}
