package stats

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// U_T(n) is the tolerance factor of 95 % coverage at 70 % confidence (EN
// 689:2018, annex F, from memory), printed to three decimals.
func TestCoefficientsOfEN689AreToleranceFactors(t *testing.T) {
	for n := 6; n <= 30; n++ {
		k, err := ToleranceFactor(n, 0.95, 0.70)
		require.NoError(t, err)
		require.InDelta(t, k, EN689Coefficient(n).Value, 0.0005001, "n = %d", n)
	}
	require.False(t, EN689Coefficient(5).Known)
	require.False(t, EN689Coefficient(31).Known)
}
