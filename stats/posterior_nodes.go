package stats

import (
	"math"
	"slices"
)

const (
	// widerCurvature makes the panels along ln σ seven deviations wide, of the
	// density and the step in it together, which 16 points integrate to 1e-11.
	widerCurvature = 16.0 / 49
	// widestCurvature makes them ten wide, which gives 1e-8, where every node
	// costs a quadrature of its own.
	widestCurvature = 16.0 / 100
	// steepestLeast is the normal deviate that the coarsest panels serve. The
	// finest serve any exceedance that can be written, or, where every node costs
	// a quadrature, those over 1e-9: fewer come out roughly, from the coarsest.
	steepestLeast, steepestMost, steepestCostly = 4.0, 40.0, 6.0
	// spreadNegligible and meanNegligible are the part of the whole that may be
	// left beyond the last panel along ln σ and along μ. logNegligible is about ln
	// of what a node may add.
	spreadNegligible = 1e-13
	meanNegligible   = 1e-10
	logNegligible    = -23.0
)

// series is a function on [from, to] as a sum of Legendre polynomials.
type series struct {
	from, to    float64
	coefficient [panelPoints]float64
	before      float64 // its integral over all panels below
}

// legendreAt holds (2k + 1)/2·wⱼ·Pₖ(xⱼ): node values to coefficients.
var legendreAt = func() (table [panelPoints][panelPoints]float64) {
	for j, x := range panelRule.nodes {
		previous, current := 0.0, 1.0
		for k := range panelPoints {
			degree := float64(k)
			table[j][k] = (2*degree + 1) / 2 * panelRule.weights[j] * current
			previous, current = current, ((2*degree+1)*x*current-degree*previous)/(degree+1)
		}
	}
	return table
}()

func newSeries(from, to float64, values *[panelPoints]float64) series {
	s := series{from: from, to: to}
	for j, value := range values {
		for k, part := range &legendreAt[j] {
			s.coefficient[k] += value * part
		}
	}
	return s
}

// total returns the integral over the whole panel.
func (s *series) total() float64 { return s.coefficient[0] * (s.to - s.from) }

// ends reports whether at most a negligible part lies beyond the panel, in the
// next panel outwards, where the function falls: its lower end by the width.
// Every Pₖ is 1 at the upper end, and 1 and −1 in turn at the lower.
func (s *series) ends(negligible float64) bool {
	first, last, sign := 0.0, 0.0, 1.0
	for _, c := range &s.coefficient {
		first += sign * c
		last += c
		sign = -sign
	}
	return !(math.Min(first, last)*(s.to-s.from) > negligible)
}

// below returns the integral up to x within the panel and the value there,
// from ∫Pₖ = (Pₖ₊₁ − Pₖ₋₁)/(2k + 1).
func (s *series) below(x float64) (integral, value float64) {
	half := (s.to - s.from) / 2
	at := (x-s.from)/half - 1
	previous, current := 1.0, at
	integral, value = s.coefficient[0]*(at+1), s.coefficient[0]
	for k := 1; k < panelPoints; k++ {
		degree := float64(k)
		next := ((2*degree+1)*at*current - degree*previous) / (degree + 1)
		integral += s.coefficient[k] * (next - previous) / (2*degree + 1)
		value += s.coefficient[k] * current
		previous, current = current, next
	}
	return integral * half, value
}

// distribution is a distribution on a line, in panels; those that hold nothing
// are left out.
type distribution []series

// settle puts the panels in order and makes the whole 1. It returns the mass
// that there was.
func (d distribution) settle() float64 {
	slices.SortFunc(d, func(a, b series) int {
		if a.from < b.from {
			return -1
		}
		return 1
	})
	sum := 0.0
	for i := range d {
		sum += d[i].total()
	}
	below := 0.0
	for i := range d {
		for k := range d[i].coefficient {
			d[i].coefficient[k] /= sum
		}
		d[i].before = below
		below += d[i].total()
	}
	return sum
}

// at returns the probability of less than x and of more, and the density.
func (d distribution) at(x float64) (less, more, density float64) {
	for i := range d {
		s := &d[i]
		if x > s.to {
			continue
		}
		if x <= s.from {
			return s.before, 1 - s.before, 0
		}
		part, density := s.below(x)
		less = math.Max(0, math.Min(1, s.before+part))
		return less, 1 - less, math.Max(0, density)
	}
	return 1, 0, 0
}

// posteriorNode is the distribution of μ given one σ: of t = (μ − centre)/σ,
// normal where spread is over 0, else in panels.
type posteriorNode struct {
	sigma, centre float64
	weight        float64 // of σ
	spread        float64 // standard deviation of t
	given         distribution
}

// at returns P(μ < x), P(μ > x) and the density at x.
func (n *posteriorNode) at(x float64) (less, more, density float64) {
	t := (x - n.centre) / n.sigma
	if n.spread > 0 {
		z := t / n.spread
		tail := upperTail(math.Abs(z))
		less, more = tail, 1-tail
		if z > 0 {
			less, more = more, less
		}
		return less, more, math.Exp(normalLogDensity(z)) / (n.spread * n.sigma)
	}
	less, more, density = n.given.at(t)
	return less, more, density / n.sigma
}

// normalGivenSpread reports whether μ is normal given σ.
func (d *posteriorDensity) normalGivenSpread() bool {
	return len(d.sample.terms) == 0 && d.sample.exact > 0 && math.IsInf(d.prior.low, -1)
}

// node returns the distribution of μ given u, and ln of the density of u less
// top; it is not ok where that is negligible.
func (d *posteriorDensity) node(u, top float64) (n posteriorNode, log float64, ok bool) {
	of := d.nearRidge
	if d.normalGivenSpread() {
		of = d.ridge
	}
	mu, s := of(u)
	value, _ := d.prior.logOfSpread(u)
	value += s.value + u - top
	n = posteriorNode{sigma: math.Exp(u), centre: mu}
	if d.normalGivenSpread() {
		n.spread = 1 / math.Sqrt(-s.bb)
		return n, value + math.Log(n.spread*math.Sqrt(2*math.Pi)), true
	}
	if value-math.Log(1+math.Max(0, -s.bb))/2 < logNegligible {
		return n, math.Inf(-1), false
	}
	c := conditionalDensity{of: d, mu: mu, sigma: n.sigma, slope: math.Abs(s.b), panels: make(distribution, 0, 6)}
	log, factor := d.at(mu, n.sigma)
	c.top = log + math.Log(factor)
	for _, end := range [2]float64{(d.prior.low - mu) / n.sigma, (d.prior.high - mu) / n.sigma} {
		if end != 0 {
			c.walk(end)
		}
	}
	n.given = c.panels
	return n, value + math.Log(n.given.settle()), true
}

// conditionalDensity is the density of t = (μ − centre)/σ given σ.
type conditionalDensity struct {
	of             *posteriorDensity
	mu, sigma, top float64
	slope          float64 // at the centre, without its sign: great at a bound of μ alone, and then nowhere less
	panels         distribution
	sum            float64
}

// walk adds panels from the centre outwards up to end at most, until what is
// left is negligible.
func (c *conditionalDensity) walk(end float64) {
	direction := math.Copysign(1, end)
	for t := 0.0; t != end; {
		left := math.Abs(end - t)
		width := c.width(t, direction, left)
		next := t + direction*width
		if width >= left {
			next = end
		}
		if c.panel(math.Min(t, next), math.Max(t, next)) {
			return
		}
		t = next
	}
}

// width returns how wide a panel from t may be, at most left.
func (c *conditionalDensity) width(t, direction, left float64) float64 {
	const widest = 1e6 // where nothing else bounds it; the density is level there
	width := min(left, widest, c.bell(t), panelDecay/c.slope)
	if width > panelWidest {
		width = min(width, c.plain(t, direction))
	}
	return min(width, c.bell(t+direction*width/2))
}

// bell returns the width that the curvature at t allows, at most: that of the
// prior, one for an exact value, and as much as mostBent for any other.
func (c *conditionalDensity) bell(t float64) float64 {
	mu, tau := c.mu+t*c.sigma, 1/c.sigma
	bend := c.of.sample.exact + (c.sigma/c.of.prior.spread)*(c.sigma/c.of.prior.spread)
	for i := range c.of.sample.terms {
		term := &c.of.sample.terms[i]
		bend += term.count * mostBent(min(term.high-mu, mu-term.low)*tau)
	}
	return panelWidths / math.Sqrt(bend)
}

// mostBent returns the most that ln Φ is curved at z or beyond it.
func mostBent(z float64) float64 {
	switch {
	case z < 0:
		return 1
	case z < 1:
		return 0.64
	case z < 2:
		return 0.38
	case z < 4:
		return 0.12
	}
	return 0
}

// plain returns the way from t to where the next bound of an observation makes
// itself felt; 2 near a bound, which takes one or two of t.
func (c *conditionalDensity) plain(t, direction float64) float64 {
	const felt = 9 // deviations from a bound: Φ is 1 to the last digit
	way := math.Inf(1)
	for _, term := range c.of.sample.terms {
		for _, bound := range [2]float64{term.low, term.high} {
			ahead := direction * ((bound-c.mu)/c.sigma - t)
			if ahead > -felt {
				way = math.Min(way, math.Max(panelWidest, ahead-felt))
			}
		}
	}
	return way
}

// panel adds a panel and reports whether what is left is negligible.
func (c *conditionalDensity) panel(from, to float64) bool {
	var values [panelPoints]float64
	middle, half := (from+to)/2, (to-from)/2
	for i, x := range panelRule.nodes {
		log, factor := c.of.at(c.mu+(middle+half*x)*c.sigma, c.sigma)
		values[i] = math.Exp(log-c.top) * factor
	}
	c.panels = append(c.panels, newSeries(from, to, &values))
	last := &c.panels[len(c.panels)-1]
	c.sum += last.total()
	return last.ends(meanNegligible * c.sum)
}

// posteriorGrid is the joint distribution: σ in panels of nodes.
type posteriorGrid struct {
	density   *posteriorDensity
	top, mass float64 // ln of the density at the peak, and the whole over it
	panels    []spreadPanel
	spread    distribution // of u
}

// spreadPanel holds the nodes with u in [from, to].
type spreadPanel struct {
	from, to float64
	nodes    []posteriorNode
}

// grid returns the joint distribution, with panels of u narrow enough for the
// step that μ + z·σ makes over a value, for |z| up to steepest.
func (d *posteriorDensity) grid(peak, steepest float64) *posteriorGrid {
	g := &posteriorGrid{density: d, mass: 1}
	d.last = d.home
	g.top, _, _, _ = d.climb(peak)
	wider := widestCurvature
	if d.normalGivenSpread() {
		wider = widerCurvature
	}
	sum := 0.0
	panel := func(from, to float64) (added, total float64) {
		nodes, s := g.between(from, to)
		g.panels = append(g.panels, spreadPanel{from, to, nodes})
		g.spread = append(g.spread, s)
		sum += s.total()
		if s.ends(spreadNegligible * sum) {
			return 0, sum
		}
		return sum, sum // go on
	}
	curvature := func(u float64) float64 {
		_, _, along, across := d.climb(u)
		step := steepest*math.Sqrt(across) + 2 // the flank of the step, where μ is two deviations off
		return wider * (along + step*step)
	}
	decay := func(u float64) float64 {
		_, slope, _, _ := d.climb(u)
		return math.Abs(slope)
	}
	low, high := d.bounds()
	for _, end := range [2]float64{low, high} {
		if end != peak {
			walkPanels(peak, end, curvature, decay, panel)
		}
	}
	g.mass = g.spread.settle()
	for _, p := range g.panels {
		for i := range p.nodes {
			p.nodes[i].weight /= g.mass
		}
	}
	return g
}

// between returns the nodes of one panel of u and the density of u there.
func (g *posteriorGrid) between(from, to float64) (nodes []posteriorNode, density series) {
	var values [panelPoints]float64
	middle, half := (from+to)/2, (to-from)/2
	for i, x := range panelRule.nodes {
		n, value, ok := g.density.node(middle+half*x, g.top)
		if !ok {
			continue
		}
		values[i] = math.Exp(value)
		n.weight = half * panelRule.weights[i] * values[i] / g.mass
		if n.weight > 0 {
			nodes = append(nodes, n)
		}
	}
	return nodes, newSeries(from, to, &values)
}

// at returns P(μ + z·σ < x), the probability of more, and the slopes of the
// first in x and in z.
func (g *posteriorGrid) at(z, x float64) (less, more, inX, inZ float64) {
	add := func(nodes []posteriorNode) {
		for i := range nodes {
			n := &nodes[i]
			l, m, density := n.at(x - z*n.sigma)
			less += n.weight * l
			more += n.weight * m
			inX += n.weight * density
			inZ -= n.weight * density * n.sigma
		}
	}
	for i := range g.panels {
		p := &g.panels[i]
		nodes, from := p.nodes, p.from
		for _, u := range g.bends(p, z, x) {
			below, _ := g.between(from, u)
			add(below)
			nodes, _ = g.between(u, p.to)
			from = u
		}
		add(nodes)
	}
	return less, more, inX, inZ
}

// bends returns the u within a panel, in rising order, where the line
// μ + z·σ = x leaves the bounds of μ: the probability of less is not smooth
// there, so that the panel must be parted.
func (g *posteriorGrid) bends(p *spreadPanel, z, x float64) (us []float64) {
	for _, bound := range [2]float64{g.density.prior.low, g.density.prior.high} {
		if math.IsInf(bound, 0) || !p.reaches(bound) {
			continue
		}
		if u := math.Log((x - bound) / z); u > p.from && u < p.to {
			us = append(us, u)
		}
	}
	slices.Sort(us)
	return us
}

// reaches reports whether there is more than a negligible density of μ at a bound.
func (p *spreadPanel) reaches(bound float64) bool {
	return slices.ContainsFunc(p.nodes, func(n posteriorNode) bool {
		t := (bound - n.centre) / n.sigma
		return t >= n.given[0].from && t <= n.given[len(n.given)-1].to
	})
}

// heaviest returns the node with the greatest weight.
func (g *posteriorGrid) heaviest() *posteriorNode {
	var best *posteriorNode
	for _, p := range g.panels {
		for i := range p.nodes {
			if best == nil || p.nodes[i].weight > best.weight {
				best = &p.nodes[i]
			}
		}
	}
	return best
}
