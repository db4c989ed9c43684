package stats

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// NIST/SEMATECH e-Handbook of Statistical Methods 1.3.5.17.1 (from memory):
// G = 2.4687; the digits and the two-sided 5 % critical value by R 4.2.2.
func TestGrubbsOutlierOfTheHandbook(t *testing.T) {
	values := []float64{199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57}
	index, g, p, err := GrubbsOutlier(values)
	require.NoError(t, err)
	assert.Equal(t, 7, index)
	assert.InEpsilon(t, 2.46876461121, g, 1e-11)
	assert.Less(t, p, 0.001)
	assert.InEpsilon(t, 0.05, grubbsP(8, 2.12664508720), 1e-9)
}

func TestGrubbsOutlierAtTheEdges(t *testing.T) {
	_, _, _, err := GrubbsOutlier([]float64{1, 2})
	assert.ErrorIs(t, err, ErrTooFew)
	_, _, _, err = GrubbsOutlier([]float64{2, 2, 2})
	assert.ErrorIs(t, err, ErrNoSpread)
	// One value apart from equal ones is as far out as can be.
	index, g, p, err := GrubbsOutlier([]float64{3, 3, 1e9, 3})
	require.NoError(t, err)
	assert.Equal(t, 2, index)
	assert.InEpsilon(t, 1.5, g, 1e-12) // (n − 1)/√n
	assert.Less(t, p, 1e-6)
}
