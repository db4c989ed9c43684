package group

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestFigures(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", 0.000012345: "1.23e-05", 0.012345: "0.0123", 0.5: "0.5", 9.999: "10", 12.345: "12.3", 1234.5: "1234", 63.2: "63.2", 1e8: "100000000",
	} {
		assert.Equal(t, want, figure(v))
	}
}

// TestFiguresStayOnTheirSide: what is over the limit is never printed at it.
func TestFiguresStayOnTheirSide(t *testing.T) {
	for v, want := range map[float64]string{
		99.96: "99.96", 100.04: "100.04", 100: "100", 99.99999: "99.99999", 100.4: "100.4", 95.4: "95.4", 1004: "1004",
		math.Nextafter(100, 101): "100",
	} {
		assert.Equal(t, want, figureBeside(v, 100))
	}
}
