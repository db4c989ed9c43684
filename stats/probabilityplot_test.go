package stats

import (
	"math/rand/v2"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Positions from the product limit by hand and the normal deviates of Python's
// statistics.NormalDist.
func TestProbabilityPlotReferences(t *testing.T) {
	for _, c := range censoredCases(t) {
		if c.what != "probability plot" {
			continue
		}
		r, err := ProbabilityPlot(c.points)
		require.NoError(t, err, c.id)
		c.check(t, map[string]float64{"r": r})
	}
}

func TestProbabilityPlotOfIntervals(t *testing.T) {
	// Narrow intervals plot like the values in their middle.
	exact, err := ProbabilityPlot(parsePoints(t, "1 2 5 9 11"))
	require.NoError(t, err)
	near, err := ProbabilityPlot(parsePoints(t, "0.99999~1.00001 2 4.99999~5.00001 9 11"))
	require.NoError(t, err)
	assert.InDelta(t, exact, near, 1e-6)
	// A result known from below moves the positions of those over it.
	above, err := ProbabilityPlot(parsePoints(t, "1 2 5 9 11 >6"))
	require.NoError(t, err)
	assert.NotEqual(t, exact, above)

	_, err = ProbabilityPlot(parsePoints(t, "<1 <2 3 4"))
	assert.ErrorIs(t, err, ErrTooFew)
	_, err = ProbabilityPlot(parsePoints(t, "<1 3 3 3"))
	assert.ErrorIs(t, err, ErrNoSpread)
	_, err = ProbabilityPlot(parsePoints(t, "<1 <2"))
	assert.Error(t, err)
}

func TestProbabilityPlotRandom(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	plotted := 0
	for range 500 {
		points := randomPoints(random)
		r, err := ProbabilityPlot(points)
		if err != nil {
			continue
		}
		plotted++
		require.True(t, r > 0 && r <= 1+1e-12, "%v: r %s", points, strconv.FormatFloat(r, 'g', -1, 64))
	}
	assert.Greater(t, plotted, 250)
}

// Without censoring the positions are (i − ½)/n: of three, 1/6, 1/2 and 5/6,
// whose normal deviates are ∓0.967422 and 0 (Python 3.11.7, statistics.NormalDist().inv_cdf).
func TestProbabilityPoints(t *testing.T) {
	points, err := ProbabilityPoints([]Interval{Exact(8), Exact(2), Exact(4)})
	require.NoError(t, err)
	require.Len(t, points, 3)
	for i, want := range []PlotPoint{{2, -0.967422}, {4, 0}, {8, 0.967422}} {
		assert.InEpsilon(t, want.Value, points[i].Value, 1e-12)
		assert.InDelta(t, want.Score, points[i].Score, 1e-6)
	}
	_, err = ProbabilityPoints(nil)
	require.ErrorIs(t, err, ErrTooFew)
	// A result between bounds stands at the middle of their logs; one under its
	// limit moves the others up and is not plotted.
	points, err = ProbabilityPoints([]Interval{Under(1, 0.5), {Low: 2, Value: 3, High: 8}, Exact(16)})
	require.NoError(t, err)
	require.Len(t, points, 2)
	assert.InEpsilon(t, 4, points[0].Value, 1e-12)
	assert.InDelta(t, 0, points[0].Score, 1e-6)
}
