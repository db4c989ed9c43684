package stats

import "math"

// least and greatest ln σ that a posterior looks at. A GSD nearer to 1 than
// 1e-10 cannot be told from rounding of the data, and one over exp(exp(300))
// cannot be written.
var (
	leastLogSigma    = math.Log(1e-10)
	greatestLogSigma = 300.0
)

// posteriorDensity is the density of μ and u = ln σ: likelihood by prior.
// Given u it is log-concave in μ, for every prior here and every kind of
// observation, so that it has one ridge over u.
type posteriorDensity struct {
	sample *CensoredSample
	prior  Prior   // about the sample's shift
	last   float64 // μ of the ridge last found: a start for the next
	home   float64 // μ on the ridge at its peak: where every search starts anew
}

// at returns the density of μ given σ, but for what is the same for every μ, as
// e^log·factor: most observations come as a factor, which costs no logarithm.
func (d *posteriorDensity) at(mu, sigma float64) (log, factor float64) {
	log, _ = d.prior.logOfMean(mu)
	tau := 1 / sigma
	r := (d.sample.mean - mu) * tau
	log -= d.sample.exact * r * r / 2
	factor = 1
	for i := range d.sample.terms {
		c := &d.sample.terms[i]
		exponent, part, ok := c.probability(mu, tau)
		if !ok {
			log += c.log(mu, sigma)
			continue
		}
		log += exponent
		factor *= part
		if factor < 1e-150 {
			log += math.Log(factor)
			factor = 1
		}
	}
	return log, factor
}

// probability returns the likelihood of one or two equal observations as
// e^exponent·factor; it is not ok for more, and where it is so small that a
// logarithm is needed to keep its digits.
func (c *censoredTerm) probability(mu, tau float64) (exponent, factor float64, ok bool) {
	low, high := (c.low-mu)*tau, (c.high-mu)*tau
	if low > -high { // the side of the lower tail has the digits
		low, high = -high, -low
	}
	if c.count > 2 || high < tableFrom {
		return 0, 0, false
	}
	if low < -40 {
		factor = quickCDF(high)
	} else {
		exponent, factor = between(-(low+high)/2, (c.high-c.low)*tau) // not high − low: a narrow width would lose its digits
	}
	if c.count == 2 {
		return 2 * exponent, factor * factor, true
	}
	return exponent, factor, true
}

// between returns Φ(m + h/2) − Φ(m − h/2) for m ≥ 0 as e^exponent·factor.
func between(m, h float64) (exponent, factor float64) {
	if h < 0.5 && m*h < 1 {
		return -m * m / 2, h * narrowSum(m, h) / math.Sqrt(2*math.Pi)
	}
	return 0, quickCDF(h/2-m) - quickCDF(-h/2-m)
}

// log returns ln of the likelihood of the term.
func (c censoredTerm) log(mu, sigma float64) float64 {
	switch {
	case math.IsInf(c.low, -1):
		return c.count * lowerTailLog((c.high-mu)/sigma)
	case math.IsInf(c.high, 1):
		return c.count * lowerTailLog((mu-c.low)/sigma)
	}
	value, _ := betweenLog(math.Abs((c.low+c.high)/2-mu)/sigma, (c.high-c.low)/sigma)
	return c.count * value
}

// slopesAt returns ln of the likelihood and prior of μ with derivatives: b and
// bb in μ/σ, t and tt in u at fixed μ. Bounds are taken from μ, which keeps the
// digits that μ/σ would lose where σ is small.
func (d *posteriorDensity) slopesAt(mu, sigma float64) slopes {
	var s slopes
	tau := 1 / sigma
	for _, c := range d.sample.terms {
		if math.IsInf(c.low, -1) || math.IsInf(c.high, 1) {
			s.add(censoredTerm{low: c.low - mu, high: c.high - mu, count: c.count}, 0, tau)
			continue
		}
		s.addAround(c.count, (c.low+c.high)/2-mu, (c.high-c.low)/2, 0, tau)
	}
	s.tt, s.t = tau*tau*s.tt+tau*s.t, -tau*s.t
	n := d.sample.exact
	if n > 0 {
		r := (d.sample.mean - mu) / sigma
		squares := n*r*r + d.sample.squares*tau*tau
		s.value -= n*math.Log(sigma) + squares/2
		s.b += n * r
		s.bb -= n
		s.t += squares - n
		s.tt -= 2 * squares
	}
	value, slope := d.prior.logOfMean(mu)
	s.value += value
	s.b += slope * sigma
	s.bb -= (sigma / d.prior.spread) * (sigma / d.prior.spread)
	return s
}

// ridge returns the μ that is most probable given u, and the derivatives there.
func (d *posteriorDensity) ridge(u float64) (mu float64, s slopes) {
	sigma := math.Exp(u)
	for _, edge := range []struct{ at, inward float64 }{{d.prior.low, 1}, {d.prior.high, -1}} {
		if math.IsInf(edge.at, 0) {
			continue
		}
		if s = d.slopesAt(edge.at, sigma); s.b*edge.inward <= 0 {
			return edge.at, s
		}
	}
	start := math.Max(d.prior.low, math.Min(d.prior.high, d.last))
	fall := func(t float64) (y, slope float64) {
		s = d.slopesAt(start+t*sigma, sigma)
		return -s.b, -s.bb
	}
	for range 20 {
		t, _, err := findRootBySlope(fall, 0)
		if err != nil { // a plateau: any point of it is on the ridge
			break
		}
		start += t * sigma
		if math.Abs(t) < 1e3 { // found to the digits of t, which are few from afar
			break
		}
	}
	mu = math.Max(d.prior.low, math.Min(d.prior.high, start))
	d.last = mu
	return mu, d.slopesAt(mu, sigma)
}

// nearRidge is ridge where a place near it will do: within a third of the width
// of the density of μ given u.
func (d *posteriorDensity) nearRidge(u float64) (mu float64, s slopes) {
	const near, steps = 0.3, 5
	sigma := math.Exp(u)
	mu = d.last
	for range steps {
		if !(mu >= d.prior.low && mu <= d.prior.high) {
			break
		}
		s = d.slopesAt(mu, sigma)
		if s.b*s.b <= -near*near*s.bb {
			d.last = mu
			return mu, s
		}
		mu -= s.b / s.bb * sigma
	}
	return d.ridge(u)
}

// climb returns ln of the density on the ridge over u, per unit of μ/σ and u,
// with its slope and, without their signs, its curvatures in u and in μ/σ. The
// slope is that at fixed μ, because on the ridge the density does not change with μ.
func (d *posteriorDensity) climb(u float64) (value, slope, along, across float64) {
	_, s := d.ridge(u)
	value, slope = d.prior.logOfSpread(u)
	narrow := 1 / (d.prior.sigmaSpread * d.prior.sigmaSpread)
	return value + s.value + u, slope + s.t + 1, narrow + math.Max(0, -s.tt), math.Max(0, -s.bb)
}

// bounds returns the range of u.
func (d *posteriorDensity) bounds() (low, high float64) {
	low, high = leastLogSigma, greatestLogSigma
	if d.prior.sigmaLow > 0 {
		low = math.Max(low, math.Log(d.prior.sigmaLow))
	}
	return low, math.Min(high, math.Log(d.prior.sigmaHigh))
}

// peak returns about the u where the ridge is highest: uphill from the maximum
// of the likelihood and from the middle of the prior, the higher of both.
func (d *posteriorDensity) peak() float64 {
	low, high := d.bounds()
	var starts []float64
	if fit, err := d.sample.Fit(); err == nil {
		d.last = fit.Mu - d.sample.Shift
		starts = append(starts, math.Log(fit.Sigma))
	} else {
		d.last = d.prior.mean
	}
	if !math.IsInf(d.prior.sigmaSpread, 1) {
		starts = append(starts, d.prior.logSigma)
	} else if len(starts) == 0 {
		starts = append(starts, math.Log(d.prior.sigmaHigh/2))
	}
	best, highest := low, math.Inf(-1)
	for _, start := range starts {
		u := d.uphill(math.Max(low, math.Min(high, start)), low, high)
		if value, _, _, _ := d.climb(u); value > highest {
			best, highest = u, value
		}
	}
	d.home, _ = d.ridge(best)
	return best
}

// uphill returns about where the slope of the ridge changes sign, or the bound
// that it still rises to.
func (d *posteriorDensity) uphill(u, low, high float64) float64 {
	slope := func(u float64) float64 {
		_, slope, _, _ := d.climb(u)
		return slope
	}
	sign := math.Copysign(1, slope(u))
	for step := 0.25; ; step *= 2 {
		next := math.Max(low, math.Min(high, u+sign*step))
		if slope(next)*sign <= 0 {
			peak, _, err := findRoot(slope, math.Min(u, next), math.Max(u, next), 1e-3)
			if err != nil {
				return u
			}
			return peak
		}
		if u = next; u == low || u == high {
			return u
		}
	}
}
