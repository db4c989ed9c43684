package stats

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"
)

// workerEffect is the integral over the effect u of one worker, in standard
// deviations between workers, of the likelihood of the worker's shifts.
type workerEffect struct {
	sample *CensoredSample
	workerPoint
}

// at returns the logarithm of the integrand with its derivatives in u.
func (e workerEffect) at(u float64) (value, slope, bent float64, d slopes) {
	d = e.sample.at((e.mu+float64(e.between*u))/e.within, 1/e.within)
	rate := e.between / e.within
	return normalLogDensity(u) + d.value, -u + rate*d.b, -1 + rate*rate*d.bb, d
}

// peak returns the u of the highest integrand. Its logarithm is concave, with
// a second derivative of −1 or less.
func (e workerEffect) peak() float64 {
	u, _, err := findRootBySlope(func(u float64) (float64, float64) {
		_, slope, bent, _ := e.at(u)
		return -slope, -bent
	}, 0)
	if err != nil {
		return 0
	}
	return u
}

// workerSlopes is ln L of one worker or of all, with its first and second
// derivatives in μ, σb and ln σw.
type workerSlopes struct {
	value    float64
	gradient [3]float64
	bend     [3][3]float64
}

// add adds the slopes of another worker.
func (s *workerSlopes) add(o workerSlopes) {
	s.value += o.value
	for i := range s.gradient {
		s.gradient[i] += o.gradient[i]
		for j := range s.bend[i] {
			s.bend[i][j] += o.bend[i][j]
		}
	}
}

// integrate returns the logarithm of the integral with its derivatives. With
// the integrand f and E the mean over u with density ∝ f:
//
//	∂ ln ∫f = E[∂ ln f],  ∂² ln ∫f = E[∂² ln f + ∂ ln f·∂ ln f'] − E[∂ ln f]·E[∂ ln f]'
//
// Louis (1982), Journal of the Royal Statistical Society B 44:226–233.
func (e workerEffect) integrate() workerSlopes {
	start := e.peak()
	if e.smooth() {
		return e.bell(start, fineBell)
	}
	return e.panels(start)
}

// roughly is integrate to a few digits, and to fewer where the integrand is
// not smooth.
func (e workerEffect) roughly() workerSlopes { return e.bell(e.peak(), roughBell) }

// smooth reports whether no bound is narrower in the effect than the effect is,
// given the worker's exact values: then the integrand resembles a bell.
func (e workerEffect) smooth() bool {
	rate := e.between / e.within
	return len(e.sample.terms) == 0 || rate*rate <= smoothest*(1+float64(e.sample.exact*rate*rate))
}

// smoothest is the largest square of the effect's spread over a bound's at
// which the fine bell serves: its derivatives are then within 1e-11 of the panels'.
const smoothest = 1.0

// bellRule holds nodes x and weights·exp(x²) of Gauss and Hermite.
type bellRule struct{ nodes, weights []float64 }

var fineBell, roughBell = newBellRule(32), newBellRule(8)

func newBellRule(points int) bellRule {
	rule := bellRule{make([]float64, points), make([]float64, points)}
	quad.Hermite{}.FixedLocations(rule.nodes, rule.weights, math.Inf(-1), math.Inf(1))
	for i, x := range rule.nodes {
		rule.weights[i] *= math.Exp(x * x)
	}
	return rule
}

// bell integrates by the rule of Gauss and Hermite about the peak, as wide as
// the integrand bends there: Liu & Pierce (1994), Biometrika 81:624–629.
func (e workerEffect) bell(start float64, rule bellRule) workerSlopes {
	top, _, bent, _ := e.at(start)
	width := math.Sqrt(2 / -bent)
	var sums workerSlopes // of E before division
	for i, node := range rule.nodes {
		u := start + float64(width*node)
		log, _, _, d := e.at(u)
		density := width * rule.weights[i] * math.Exp(log-top)
		sums.value += density
		e.gather(&sums, density, u, d)
	}
	return sums.perUnit(top)
}

// effectReach is how far from the peak panels go, in u: the integrand falls at
// least as fast as the normal density does from its peak.
const effectReach = 9.5

// panels integrates from the peak outwards in panels that follow the integrand;
// where the likelihood of a bound is narrow in u, they stop at it and begin
// anew, so that none steps over it.
func (e workerEffect) panels(start float64) workerSlopes {
	top, _, _, _ := e.at(start)
	var sums workerSlopes // of E before division
	panel := func(from, to float64) (added, sum float64) {
		middle, half := (from+to)/2, (to-from)/2
		for i, node := range panelRule.nodes {
			u := middle + half*node
			log, _, _, d := e.at(u)
			density := float64(half * panelRule.weights[i] * math.Exp(log-top))
			added += density
			e.gather(&sums, density, u, d)
		}
		sums.value += added
		return added, sums.value
	}
	for _, end := range [2]float64{start - effectReach, start + effectReach} {
		from := start
		for _, stop := range e.stops(start, end) {
			curvature, decay := e.shape(from, stop)
			if walkPanels(from, stop, curvature, decay, panel) {
				break
			}
			from = stop
		}
	}
	return sums.perUnit(top)
}

// shape returns the curvature and the slope of the integrand's logarithm between
// two places; a walk that asks past them gets those of the nearer.
func (e workerEffect) shape(from, to float64) (curvature, decay func(float64) float64) {
	low, high := math.Min(from, to), math.Max(from, to)
	clamp := func(u float64) float64 { return math.Max(low, math.Min(high, u)) }
	curvature = func(u float64) float64 {
		_, _, bent, _ := e.at(clamp(u))
		return math.Max(1, -bent)
	}
	decay = func(u float64) float64 {
		_, slope, _, _ := e.at(clamp(u))
		return math.Abs(slope) + 1
	}
	return curvature, decay
}

// gather adds to the sums what the integrand at u, of that density, adds.
func (e workerEffect) gather(sums *workerSlopes, density, u float64, d slopes) {
	tau := 1 / e.within
	beta := (e.mu + float64(e.between*u)) * tau
	betas, taus := [3]float64{tau, u * tau, -beta}, [3]float64{0, 0, -tau}
	// Second derivatives of β, which with ln σw changes sign at each turn; of τ only the last.
	bends := [3][3]float64{{0, 0, -tau}, {0, 0, -u * tau}, {-tau, -u * tau, beta}}
	var first [3]float64
	for i := range first {
		first[i] = d.b*betas[i] + d.t*taus[i]
		sums.gradient[i] += float64(density * first[i])
	}
	for i := range first {
		for j := range i + 1 {
			second := d.bb*betas[i]*betas[j] + d.bt*(betas[i]*taus[j]+betas[j]*taus[i]) + d.tt*taus[i]*taus[j] + d.b*bends[i][j]
			if i == 2 && j == 2 {
				second += d.t * tau
			}
			sums.bend[i][j] += float64(density * (second + first[i]*first[j]))
		}
	}
}

// perUnit turns sums into ln of the integral, whose integrand peaks at e to the
// power of top, and its derivatives.
func (s workerSlopes) perUnit(top float64) workerSlopes {
	m := workerSlopes{value: top + math.Log(s.value)}
	for i := range m.gradient {
		m.gradient[i] = s.gradient[i] / s.value
		for j := range i + 1 {
			m.bend[i][j] = s.bend[i][j]/s.value - m.gradient[i]*m.gradient[j]
			m.bend[j][i] = m.bend[i][j]
		}
	}
	return m
}

// stops returns the places between start and end, in that order and with end,
// at which a bound of the worker's shifts begins, has its middle and ends.
func (e workerEffect) stops(start, end float64) []float64 {
	all := []float64{end}
	for _, c := range e.sample.terms {
		for _, bound := range [2]float64{c.low, c.high} {
			for _, width := range [3]float64{-6, 0, 6} {
				u := (bound - e.mu + width*e.within) / e.between
				if (u-start)*(end-u) > 0 { // false for a bound that is not there
					all = append(all, u)
				}
			}
		}
	}
	slices.SortFunc(all, func(a, b float64) int {
		if math.Abs(a-start) < math.Abs(b-start) {
			return -1
		}
		return 1
	})
	return slices.Compact(all)
}
