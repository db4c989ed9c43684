package stats

import (
	"math"
	"testing"
)

// The quick distribution against that of the error function, over its table,
// at and between its rows, and beyond it.
func TestQuickCDF(t *testing.T) {
	for z := -12.0; z < 12; z += 0.00137 {
		nearly(t, "quick Φ", quickCDF(z), normalCDF(z), 2e-13)
	}
	for _, z := range []float64{math.Inf(-1), -50, tableFrom, tableTo, math.Inf(1)} {
		nearly(t, "quick Φ", quickCDF(z), normalCDF(z), 2e-13)
	}
}

// The series of a narrow interval against its integral by Gauss and Legendre.
func TestNarrowSum(t *testing.T) {
	for h := 0.001; h < 0.5; h += 0.0241 {
		for m := 0.0; m*h < 1 && m < 50; m += 0.31 {
			sum := 0.0
			for i, x := range panelRule.nodes {
				at := x / 2
				sum += panelRule.weights[i] / 2 * math.Exp(-m*h*at-h*h*at*at/2)
			}
			nearly(t, "narrow sum", narrowSum(m, h), sum, 2e-13)
		}
	}
}
