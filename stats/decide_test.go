package stats

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Read off the column k(n, 0.95, 0.95) of Natrella (1963), "Experimental
// Statistics", table A-7, from memory: 2.911 for 10 shifts, 2.396 for 20, 2.220 for 30.
func TestShiftsToDecideByTheTable(t *testing.T) {
	for _, c := range []struct {
		n       int
		deviate float64
		want    int
	}{
		{6, 2.911, 10},
		{6, 2.910, 11},
		{6, 2.397, 20},
		{6, 2.221, 30},
		{12, 3, 12}, // decided already
		{1, 30, 2},
	} {
		total, ok := ShiftsToDecide(c.n, c.deviate, 0.95, 0.95)
		assert.True(t, ok)
		assert.Equal(t, c.want, total, "n %d deviate %g", c.n, c.deviate)
	}
}

// The number decides and one fewer does not, on either side of the limit.
func TestShiftsToDecideIsTheLeast(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 12))
	const z = 1.6448536269514722
	for range 200 {
		n, confidence := 2+random.IntN(20), 0.6+0.39*random.Float64()
		deviate := z + 2*random.NormFloat64()
		total, ok := ShiftsToDecide(n, deviate, 0.95, confidence)
		if !ok {
			require.Less(t, math.Abs(deviate-z), 0.05, "n %d", n)
			continue
		}
		decides := func(n int) bool {
			upper, err := ToleranceFactor(n, 0.95, confidence)
			require.NoError(t, err)
			lower, err := ToleranceFactor(n, 0.95, 1-confidence)
			require.NoError(t, err)
			return upper <= deviate || lower > deviate
		}
		require.True(t, decides(total), "n %d deviate %g confidence %g: %d", n, deviate, confidence, total)
		if total > n {
			require.False(t, decides(total-1), "n %d deviate %g confidence %g: %d", n, deviate, confidence, total)
		}
	}
}

func TestShiftsToDecideWhereNoneDo(t *testing.T) {
	for name, c := range map[string]struct {
		n                             int
		deviate, coverage, confidence float64
	}{
		"at the limit":     {6, 0, 0.5, 0.95},
		"close to it":      {6, 1.646, 0.95, 0.95},
		"not a number":     {6, math.NaN(), 0.95, 0.95},
		"coverage":         {6, 2, 95, 0.95},
		"confidence":       {6, 2, 0.95, 1},
		"too many already": {20000, 1.646, 0.95, 0.95},
	} {
		_, ok := ShiftsToDecide(c.n, c.deviate, c.coverage, c.confidence)
		assert.False(t, ok, name)
	}
	for _, far := range []float64{math.Inf(1), math.Inf(-1)} {
		total, ok := ShiftsToDecide(4, far, 0.95, 0.95)
		assert.True(t, ok)
		assert.Equal(t, 4, total)
	}
}
