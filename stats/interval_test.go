package stats_test

import (
	"math"
	"testing"

	"airtally/stats"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestIntervals(t *testing.T) {
	inf := math.Inf(1)
	for name, c := range map[string]struct{ got, want stats.Interval }{
		"exact has no width":              {stats.Exact(3), stats.Interval{Low: 3, Value: 3, High: 3}},
		"under is open at its bound":      {stats.Under(2.5, 1.25), stats.Interval{Low: 0, Value: 1.25, High: 2.5, Open: true}},
		"at least has no upper bound":     {stats.AtLeast(7), stats.Interval{Low: 7, Value: 7, High: inf}},
		"bounds add, openness stays":      {stats.Exact(1).Add(stats.Under(2, 1)), stats.Interval{Low: 1, Value: 2, High: 3, Open: true}},
		"unbounded swallows":              {stats.AtLeast(1).Add(stats.Under(2, 1)), stats.Interval{Low: 1, Value: 2, High: inf, Open: true}},
		"a lifted bound is not open":      {stats.Under(2, 1).Unbounded(), stats.Interval{Low: 0, Value: 1, High: inf}},
		"scaling scales every bound":      {stats.Under(2, 1).Scale(3), stats.Interval{Low: 0, Value: 3, High: 6, Open: true}},
		"zero times unbounded is zero":    {stats.AtLeast(5).Scale(0), stats.Interval{}},
		"nothing is added at no weight":   {stats.Exact(4).AddScaled(0, stats.AtLeast(9)), stats.Exact(4)},
		"a part in weight is added by it": {stats.Exact(4).AddScaled(0.5, stats.Exact(6)), stats.Exact(7)},
		"dividing divides every bound":    {stats.Under(6, 3).Per(3), stats.Interval{Low: 0, Value: 1, High: 2, Open: true}},
	} {
		t.Run(name, func(t *testing.T) { assert.Equal(t, c.want, c.got) })
	}
	assert.True(t, stats.Under(1, 0.5).Censored())
	assert.False(t, stats.Exact(1).Censored())
	assert.False(t, stats.AtLeast(1).Bounded())
}

func TestOptional(t *testing.T) {
	assert.Equal(t, 0.0, stats.Some(0).Or(9), "a known zero is not missing")
	assert.Equal(t, 9.0, stats.Optional{}.Or(9))
	assert.Equal(t, stats.Some(2), stats.Optional{}.OrElse(stats.Some(2)))
	assert.Equal(t, stats.Some(1), stats.Some(1).OrElse(stats.Some(2)))
}

// Sums and multiples keep the order of the bounds, and an exact quantity stays
// exact.
func TestIntervalOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sum := stats.Exact(0)
		exact := true
		for range rapid.IntRange(1, 6).Draw(t, "terms") {
			high := rapid.Float64Range(1e-3, 1e6).Draw(t, "high") // no part so small that the sum swallows it
			x := stats.Exact(high)
			if rapid.Bool().Draw(t, "censored") {
				x, exact = stats.Under(high, high/2), false
			}
			sum = sum.AddScaled(rapid.Float64Range(0.1, 10).Draw(t, "weight"), x)
		}
		if sum.Low > sum.Value || sum.Value > sum.High || sum.Censored() == exact {
			t.Fatalf("%+v, exact %v", sum, exact)
		}
	})
}
