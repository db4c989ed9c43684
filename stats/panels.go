package stats

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

const (
	panelPoints = 16
	// panelWidths is the width of a panel in standard deviations of the bell
	// that the integrand resembles there; 16 points then miss under 1e-16.
	panelWidths = 4.0
	// panelDecay is the fall of an exponential tail over one panel, in e-folds.
	panelDecay = 16.0
	// panelWidest is the width at most: the integrands hold exp(−exp(2x)), whose
	// turn from flat to steep takes one or two of x.
	panelWidest = 2.0
	// panelEnough is the part of an integral that the panels left out may add.
	panelEnough = 1e-17
)

// panelRule holds nodes and weights of Gauss and Legendre on [−1, 1].
var panelRule = func() (rule struct{ nodes, weights [panelPoints]float64 }) {
	quad.Legendre{}.FixedLocations(rule.nodes[:], rule.weights[:], -1, 1)
	return rule
}()

// walkPanels integrates an integrand with one peak outwards from a point near
// the peak, up to end at most, in panels whose width follows the integrand,
// until the next would add nothing, which falls by more from panel to panel.
// It reports whether it stopped before the end.
// panel integrates over [from, to] and returns what it added and the sum so far.
// curvature returns the second derivative of the integrand's logarithm near a
// point, without its sign; decay the greatest slope of the logarithm far out.
func walkPanels(start, end float64, curvature, decay func(x float64) float64, panel func(from, to float64) (added, sum float64)) bool {
	return walkPanelsUpTo(panelWidest, start, end, curvature, decay, panel)
}

// walkPanelsUpTo is walkPanels with panels no wider than widest.
func walkPanelsUpTo(widest, start, end float64, curvature, decay func(x float64) float64, panel func(from, to float64) (added, sum float64)) bool {
	before := math.Inf(-1) // what the last panel added
	direction := math.Copysign(1, end-start)
	for x := start; x != end; {
		atStart := math.Min(widest, panelWidths/math.Sqrt(curvature(x)))
		middle := x + direction*atStart/2
		width := min(atStart, panelWidths/math.Sqrt(curvature(middle)), panelDecay/decay(middle))
		next := x + direction*width
		if direction*(end-next) <= 0 {
			next = end
		}
		added, sum := panel(math.Min(x, next), math.Max(x, next))
		whole := before > 0 && next != end
		if added <= panelEnough*sum || whole && added*added <= panelEnough*sum*before {
			return true
		}
		before = added
		x = next
	}
	return false
}
