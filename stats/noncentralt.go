package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// NoncentralT is the distribution of (Z + δ)/√(χ²/ν), for a standard normal Z
// and an independent χ² with ν degrees of freedom.
//
// Both tails keep 1e-12 of their value where it is over 1e-15, and 1e-9 of
// its logarithm below, for ν from 1 to 1e5 and |δ| up to 600. For ν under 1
// or not finite, or δ not a number, the results are not a number.
type NoncentralT struct {
	Nu    float64 // ν, degrees of freedom, 1 or more; need not be whole
	Delta float64 // δ, noncentrality
}

// CDF returns P(T ≤ t).
func (d NoncentralT) CDF(t float64) float64 { return math.Min(1, math.Exp(d.LogCDF(t))) }

// Survival returns P(T > t), exact where 1 − CDF would have no digits.
func (d NoncentralT) Survival(t float64) float64 { return math.Min(1, math.Exp(d.LogSurvival(t))) }

// LogCDF returns ln P(T ≤ t), also where P is under the smallest number.
func (d NoncentralT) LogCDF(t float64) float64 {
	switch {
	case !d.valid() || math.IsNaN(t):
		return math.NaN()
	case math.IsInf(t, 0):
		return math.Log(float64((1 + int(math.Copysign(1, t))) / 2))
	}
	return lowerTail(d.Nu, d.Delta, t).log
}

// LogSurvival returns ln P(T > t).
func (d NoncentralT) LogSurvival(t float64) float64 { return d.mirrored().LogCDF(-t) }

// Quantile returns t with P(T ≤ t) = p, to about 1e-12 of it. It fails for p outside
// (0, 1) and parameters outside their range.
func (d NoncentralT) Quantile(p float64) (float64, error) {
	if !d.valid() {
		return 0, fmt.Errorf("noncentral t: %g degrees of freedom and noncentrality %g, need 1 or more and a finite number", d.Nu, d.Delta)
	}
	if !(p > 0 && p < 1) {
		return 0, fmt.Errorf("noncentral t: probability %g is not between 0 and 1", p)
	}
	if p > 0.5 { // the smaller tail decides
		t, err := d.mirrored().lowerQuantile(1 - p)
		return -t, err
	}
	return d.lowerQuantile(p)
}

func (d NoncentralT) valid() bool {
	return d.Nu >= 1 && !math.IsInf(d.Nu, 1) && !math.IsNaN(d.Delta) && !math.IsInf(d.Delta, 0)
}

// mirrored returns the distribution of −T.
func (d NoncentralT) mirrored() NoncentralT { return NoncentralT{d.Nu, -d.Delta} }

// lowerQuantile solves on the scale of normal deviates, where the
// distribution is nearly a straight line.
func (d NoncentralT) lowerQuantile(p float64) (float64, error) {
	target := mathext.NormalQuantile(p)
	probit := func(t float64) (y, slope float64) {
		tail := lowerTail(d.Nu, d.Delta, t)
		y = normalQuantileOfLog(tail.log)
		return y - target, tail.perT * millsRatio(-y)
	}
	t, _, err := findRootBySlope(probit, d.roughQuantile(target))
	return t, err
}

// roughQuantile returns a start for the quantile at the normal deviate z ≤ 0:
// the t whose line T = t, in the plane of Z and of the normal deviate w that
// Wilson & Hilferty (1931) give χ²,
//
//	Z + δ = t·(1 − q² + q·w)^(3/2),  q² = 2/(9ν)
//
// comes within z of the centre, by a step of the fixed point of Rackwitz &
// Fiessler (1978). For one or two degrees of freedom and the like, from the
// lower end of χ², which makes the heavy tail.
func (d NoncentralT) roughQuantile(z float64) float64 {
	q := math.Sqrt(2 / (9 * d.Nu))
	lean := (d.Delta + z) * 1.5 * q * math.Sqrt(1-q*q)
	r := math.Hypot(1, lean)
	if scale := 1 - q*q - q*z*lean/r; scale > 0.45 {
		return (d.Delta + z/r) / (scale * math.Sqrt(scale))
	}
	half := d.Nu / 2
	lnGamma, _ := math.Lgamma(half + 1)
	x := math.Exp((math.Log(normalCDF(z)) + lnGamma) / half)
	x += x * x / (half + 1) // χ²/2 there, by two terms of its series
	far := 1.0
	if d.Delta < 0 {
		far = math.Sqrt(d.Delta*d.Delta + d.Nu - 1)
	}
	return -math.Max(1, far) * math.Sqrt(half/x)
}

// noncentralityFor returns δ with P(T ≤ t) = p. P falls as δ grows.
func noncentralityFor(nu, t, p float64) (float64, error) {
	if !(nu >= 1) || math.IsInf(nu, 1) || math.IsNaN(t) || math.IsInf(t, 0) {
		return 0, fmt.Errorf("noncentral t: %g degrees of freedom and value %g, need 1 or more and a finite number", nu, t)
	}
	if !(p > 0 && p < 1) {
		return 0, fmt.Errorf("noncentral t: probability %g is not between 0 and 1", p)
	}
	if p > 0.5 {
		delta, err := noncentralityFor(nu, -t, 1-p)
		return -delta, err
	}
	target := mathext.NormalQuantile(p)
	probit := func(minusDelta float64) (y, slope float64) {
		tail := lowerTail(nu, -minusDelta, t)
		y = normalQuantileOfLog(tail.log)
		return y - target, -tail.perDelta * millsRatio(-y)
	}
	b := 1 - 1/(4*nu)
	start := target*math.Sqrt(1+t*t*(1-b*b)) - t*b
	minusDelta, _, err := findRootBySlope(probit, start)
	return -minusDelta, err
}

// tailOfT is ln P(T ≤ t) and its derivatives.
type tailOfT struct{ log, perT, perDelta float64 }

// normalSure is where Φ is 1 to the last digit but one.
const normalSure = 8.5

// lowerTail returns ln P(T ≤ t) and its derivatives, by quadrature over the
// scale s = √(χ²/ν) = eᵘ:
//
//	P = C ∫ exp(ν(u − (e²ᵘ − 1)/2)) Φ(t·eᵘ − δ) du,  C = 2(ν/2)^(ν/2) e^(−ν/2) / Γ(ν/2)
//
// In u the integrand is smooth for every ν and has a single peak, from which
// panels go outwards. Φ is a step in u where t is large, so a panel ends where
// Φ becomes 1, and below that panels are no wider than the step.
func lowerTail(nu, delta, t float64) tailOfT {
	m := scaleMixture{nu: nu, delta: delta, t: t}
	peak := m.peak()
	s := math.Exp(peak)
	m.offset = nu*(peak-(s*s-1)/2) + lowerTailLog(t*s-delta)
	cut := math.Log((delta + normalSure) / t) // not a number: no cut
	if math.IsNaN(cut) || math.IsInf(cut, 0) {
		cut = math.Inf(1)
		if t*s-delta >= normalSure == (t > 0) {
			cut = math.Inf(-1)
		}
	}
	m.walk(peak, cut, math.Inf(-1))
	m.walk(peak, cut, math.Inf(1))
	return tailOfT{
		log:      logChiConstant(nu) + m.offset + math.Log(m.sum),
		perT:     m.scaled / m.sum,
		perDelta: -m.density / m.sum,
	}
}

// scaleMixture sums the integrand of lowerTail, over e^offset.
type scaleMixture struct {
	nu, delta, t, offset float64
	sum                  float64 // of Φ
	density, scaled      float64 // of φ and s·φ
	steep                bool    // Φ is under 1 in this stretch
}

// peak returns about where the integrand is greatest, within a standard
// deviation: the slope of ln Φ(z) is taken as the greater of 0 and −z.
func (m *scaleMixture) peak() float64 {
	if m.t >= m.delta {
		return 0
	}
	a, b := m.nu+m.t*m.t, m.t*m.delta
	root := math.Sqrt(b*b + 4*m.nu*a)
	if b > 0 {
		return math.Log((b + root) / (2 * a))
	}
	return math.Log(2 * m.nu / (root - b))
}

// walk sums from the peak to an end, in two stretches where the cut lies between.
func (m *scaleMixture) walk(peak, cut, end float64) {
	below := end < 0 && peak <= cut || end > 0 && peak < cut
	m.steep = below == (m.t > 0)
	if (end > 0) == below && !math.IsInf(cut, 0) {
		if m.walkTo(peak, cut) {
			return
		}
		m.steep = !m.steep
		peak = cut
	}
	m.walkTo(peak, end)
}

// walkTo sums from a point outwards. Downwards the integrand only flattens,
// so that no panel meets a turn it has not allowed for.
func (m *scaleMixture) walkTo(from, to float64) bool {
	widest := panelWidest
	if to < from {
		widest *= 4
	}
	return walkPanelsUpTo(widest, from, to, m.curvature, m.decay, m.panel)
}

func (m *scaleMixture) curvature(u float64) float64 {
	s := math.Exp(u)
	c := 2 * m.nu * s * s
	if m.steep {
		ts := m.t * s
		c += ts*ts + math.Abs(ts)*math.Max(0, m.delta-ts)
	}
	return c
}

func (m *scaleMixture) decay(u float64) float64 { return m.nu * math.Abs(math.Expm1(2*u)) }

// panel adds the integral over [from, to].
func (m *scaleMixture) panel(from, to float64) (added, sum float64) {
	const perRoot2Pi = 0.3989422804014327
	middle, half := (from+to)/2, (to-from)/2
	var density, scaled float64
	for i, node := range panelRule.nodes {
		weight := half * panelRule.weights[i]
		s, logWeight, z := m.at(middle + half*node)
		if !m.steep {
			added += weight * math.Exp(logWeight)
			continue
		}
		var bell float64
		if z > -20 {
			e := weight * math.Exp(logWeight)
			bell = e * perRoot2Pi * math.Exp(-z*z/2)
			added += e * normalCDF(z)
		} else {
			bell = weight * perRoot2Pi * math.Exp(logWeight-z*z/2)
			added += bell * millsRatio(-z)
		}
		density += bell
		scaled += bell * s
	}
	m.sum += added
	m.density += density
	m.scaled += scaled
	return added, m.sum
}

// at returns the scale at u, the logarithm of its weight and the argument of
// Φ, without loss of digits near u = 0, where all the weight is for great ν.
func (m *scaleMixture) at(u float64) (s, logWeight, z float64) {
	if math.Abs(u) < 0.3 {
		more := math.Expm1(u)
		return 1 + more, m.nu*(u-more-more*more/2) - m.offset, (m.t - m.delta) + m.t*more
	}
	s = math.Exp(u)
	return s, m.nu*(u-(s*s-1)/2) - m.offset, m.t*s - m.delta
}

// logChiConstant returns ln C of lowerTail: by Stirling's series for ln Γ,
// where the great terms cancel on paper and not in the computer.
func logChiConstant(nu float64) float64 {
	const halfLog2Pi = 0.9189385332046727
	a := nu / 2
	if a < 10 {
		lnGamma, _ := math.Lgamma(a)
		return math.Ln2 + a*math.Log(a) - a - lnGamma
	}
	x := 1 / (a * a)
	series := (1.0/12 - x*(1.0/360-x*(1.0/1260-x*(1.0/1680-x*(1.0/1188-x*691.0/360360))))) / a
	return math.Ln2 + math.Log(a)/2 - halfLog2Pi - series
}
