package stats

import "math"

// censoredTerm is count equal observations between low and high on the log
// scale; an open side is infinite.
type censoredTerm struct {
	low, high, count float64
}

// The likelihood is written in β = μ/σ and τ = 1/σ, where it is concave for
// exact, one-sided and interval observations alike (Burridge 1981, Journal of
// the Royal Statistical Society B 43:41–45), so that Newton steps cannot run to
// a false maximum. z = τ·y − β.

// slopes holds ln L with its gradient and Hessian in (β, τ).
type slopes struct {
	value, b, t, bb, bt, tt float64
}

// add adds count times the derivatives of ln(Φ(τ·high − β) − Φ(τ·low − β)).
func (s *slopes) add(c censoredTerm, beta, tau float64) {
	switch {
	case math.IsInf(c.low, -1):
		z := tau*c.high - beta
		value, ratio := tailOfBound(z)
		s.addOneSided(c.count, c.high, value, ratio, -ratio*(z+ratio))
	case math.IsInf(c.high, 1):
		z := tau*c.low - beta
		value, ratio := tailOfBound(-z)
		s.addOneSided(c.count, c.low, value, -ratio, ratio*(z-ratio))
	default:
		s.addBetween(c, beta, tau)
	}
}

// tailOfBound returns ln Φ(z) and φ(z)/Φ(z).
func tailOfBound(z float64) (log, ratio float64) {
	if z < tableFrom {
		mills := millsRatio(-z)
		return normalLogDensity(z) + math.Log(mills), 1 / mills
	}
	p := quickCDF(z)
	return math.Log(p), math.Exp(normalLogDensity(z)) / p
}

// addOneSided adds a term with first and second derivative first and second in z.
func (s *slopes) addOneSided(count, y, value, first, second float64) {
	s.value += count * value
	s.b -= count * first
	s.t += count * first * y
	s.bb += count * second
	s.bt -= count * second * y
	s.tt += count * second * y * y
}

// addBetween works from the middle and the half width, and from the sum and
// difference of the densities at the ends, because the separate ends cancel
// when the interval is narrow.
func (s *slopes) addBetween(c censoredTerm, beta, tau float64) {
	s.addAround(c.count, (c.low+c.high)/2, (c.high-c.low)/2, beta, tau)
}

// addAround adds count intervals of a half width about a middle.
func (s *slopes) addAround(count, middle, half, beta, tau float64) {
	m, h := tau*middle-beta, 2*half*tau
	value, near := betweenLog(math.Abs(m), h)
	difference := math.Copysign(-near*math.Expm1(-h*math.Abs(m)), m) // density at low less that at high, over the probability
	sum := near * (1 + math.Exp(-h*math.Abs(m)))
	within := m*difference - h/2*sum
	bb := within - difference*difference
	cross := -(m*sum - h/2*difference) + difference*sum
	width := within - sum*sum
	s.value += count * value
	s.b += count * difference
	s.t += count * (half*sum - middle*difference)
	s.bb += count * bb
	s.bt -= count * (middle*bb + half*cross)
	s.tt += count * (middle*middle*bb + 2*middle*half*cross + half*half*width)
}

// betweenLog returns ln(Φ(m + h/2) − Φ(m − h/2)) for m ≥ 0 and the normal
// density at m − h/2, the end nearer to zero, over that probability.
func betweenLog(m, h float64) (value, near float64) {
	if h < 0.5 && m*h < 1 {
		sum := narrowSum(m, h)
		return normalLogDensity(m) + math.Log(h*sum), math.Exp(m*h/2-h*h/8) / (h * sum)
	}
	low, high := m-h/2, m+h/2
	if low >= 0 {
		scaled := millsRatio(low) - millsRatio(high)*math.Exp(-h*m)
		return normalLogDensity(low) + math.Log(scaled), 1 / scaled
	}
	value = math.Log1p(-(upperTail(high) + upperTail(-low)))
	return value, math.Exp(normalLogDensity(low) - value)
}

// narrowSum returns ∫ exp(−m·h·t − h²t²/2) dt over (−½, ½) as the series
// Σ h²ᵏ·He₂ₖ(m)/((2k + 1)!·4ᵏ) in Hermite's polynomials; 1e-13 for h < 0.5 and
// m·h < 1.
func narrowSum(m, h float64) float64 {
	slope, square := m*h, h*h
	odd, even := slope, slope*slope-square // hⁿ·Heₙ of n = 1 and 2
	sum := 1 + even/24
	degree := 2.0
	for _, divisor := range [4]float64{1920, 322560, 92897280, 40874803200} {
		odd = slope*even - degree*square*odd
		even = slope*odd - (degree+1)*square*even
		degree += 2
		sum += even / divisor
	}
	return sum
}
