package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// ErrNoMaximum says that the likelihood of a sample has no maximum: one
// lognormal cannot be told from the data.
var ErrNoMaximum = errors.New("the likelihood has no maximum")

// CensoredSample is a set of lognormal observations, each exact or known only
// between bounds, prepared for repeated use of its likelihood. Logs are taken
// about Shift, so that the scale of the data costs no digits.
type CensoredSample struct {
	N, NCensored int
	Shift        float64 // ln of the unit the logs are taken in

	exact   float64 // number of exact values
	mean    float64 // of the logs of the exact values, about Shift
	squares float64 // Σ(y − mean)² of the exact values
	logs    float64 // Σ ln x of the exact values, Shift included
	terms   []censoredTerm
	bounded int // observations with a bound on both sides

	lowest, highest float64 // smallest upper and largest lower bound: see Maximum
}

// NewCensoredSample prepares observations; values are positive, a bound from
// below may be zero. An observation without any bound (0 to +Inf) is counted
// and tells nothing.
func NewCensoredSample(points []Interval) (*CensoredSample, error) {
	if len(points) == 0 {
		return nil, fmt.Errorf("%w: none", ErrTooFew)
	}
	for i, x := range points {
		if err := checkObservation(x); err != nil {
			return nil, fmt.Errorf("observation %d: %w", i+1, err)
		}
	}
	s := &CensoredSample{N: len(points), Shift: centreOfLogs(points)}
	s.collect(points)
	return s, nil
}

// checkObservation returns an error unless x can be a lognormal observation.
func checkObservation(x Interval) error {
	switch {
	case math.IsNaN(x.Low) || math.IsNaN(x.High) || x.Low < 0 || x.Low > x.High:
		return fmt.Errorf("bounds %g to %g are not an interval of positive values", x.Low, x.High)
	case x.High == 0:
		return errors.New("zero is not a result: state the reporting limit it is under")
	case math.IsInf(x.Low, 1):
		return errors.New("the lower bound is infinite")
	}
	return nil
}

// centreOfLogs returns the middle of the range of all finite positive bounds, in logs.
func centreOfLogs(points []Interval) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	for _, x := range points {
		for _, v := range [2]float64{x.Low, x.High} {
			if v > 0 && !math.IsInf(v, 1) {
				least, most = math.Min(least, v), math.Max(most, v)
			}
		}
	}
	if least > most {
		return 0
	}
	return (math.Log(least) + math.Log(most)) / 2
}

// collect sorts the observations into exact values, kept by their moments, and
// censored terms, equal ones counted together.
func (s *CensoredSample) collect(points []Interval) {
	s.lowest, s.highest = math.Inf(1), math.Inf(-1)
	var exact []float64
	for _, x := range points {
		low, high := math.Log(x.Low)-s.Shift, math.Log(x.High)-s.Shift
		s.lowest, s.highest = math.Min(s.lowest, high), math.Max(s.highest, low)
		if x.Censored() {
			s.NCensored++
		}
		if !math.IsInf(low, -1) && !math.IsInf(high, 1) {
			s.bounded++
		}
		if low == high {
			exact = append(exact, low)
			s.logs += math.Log(x.Low)
			continue
		}
		s.count(low, high)
	}
	s.exact = float64(len(exact))
	for _, y := range exact {
		s.mean += y / s.exact
	}
	for _, y := range exact {
		s.squares += float64((y - s.mean) * (y - s.mean))
	}
}

// count adds one observation between low and high to the terms.
func (s *CensoredSample) count(low, high float64) {
	if math.IsInf(low, -1) && math.IsInf(high, 1) {
		return
	}
	i := slices.IndexFunc(s.terms, func(c censoredTerm) bool { return c.low == low && c.high == high })
	if i < 0 {
		s.terms = append(s.terms, censoredTerm{low: low, high: high, count: 1})
		return
	}
	s.terms[i].count++
}

// Maximum returns nil where the likelihood has a maximum, else ErrNoMaximum
// with the reason: one point lies within every observation, bounds included,
// so that the likelihood grows without end as σ shrinks about it; or no
// observation is bounded on both sides, so that it grows as μ runs away.
func (s *CensoredSample) Maximum() error {
	if s.bounded == 0 {
		return fmt.Errorf("%w: no observation is bounded on both sides", ErrNoMaximum)
	}
	if s.highest <= s.lowest {
		return fmt.Errorf("%w: one value agrees with every observation, so nothing tells the spread", ErrNoMaximum)
	}
	return nil
}

// at returns ln L on the log scale with its derivatives.
func (s *CensoredSample) at(beta, tau float64) slopes {
	var d slopes
	if s.exact > 0 {
		r, n := tau*s.mean-beta, s.exact
		raw := float64(n*s.mean*s.mean) + s.squares
		d.value = n*math.Log(tau/math.Sqrt(2*math.Pi)) - (n*r*r+tau*tau*s.squares)/2
		d.b, d.t = n*r, n/tau-n*r*s.mean-tau*s.squares
		d.bb, d.bt, d.tt = -n, n*s.mean, -n/(tau*tau)-raw
	}
	for _, c := range s.terms {
		d.add(c, beta, tau)
	}
	return d
}

// start returns β and τ of the observations with their nearest known value in
// place of each; they are never all equal where a maximum exists.
func (s *CensoredSample) start() (beta, tau float64) {
	n, sum := s.exact, float64(s.exact*s.mean)
	for _, c := range s.terms {
		n, sum = n+c.count, sum+c.count*c.standIn()
	}
	mean := sum / n
	squares := s.squares + float64(s.exact*(s.mean-mean)*(s.mean-mean))
	for _, c := range s.terms {
		squares += c.count * (c.standIn() - mean) * (c.standIn() - mean)
	}
	tau = math.Sqrt(n / squares)
	return mean * tau, tau
}

// standIn returns the middle of a term, or its one bound.
func (c censoredTerm) standIn() float64 {
	switch {
	case math.IsInf(c.low, -1):
		return c.high
	case math.IsInf(c.high, 1):
		return c.low
	}
	return (c.low + c.high) / 2
}

// CensoredFit is the lognormal of maximum likelihood.
type CensoredFit struct {
	N, NCensored int
	Mu, Sigma    float64 // of ln x; σ has divisor n, without correction
	SEMu         float64 // standard error of μ, from the Hessian
	SESigma      float64 // standard error of σ
	LogLik       float64 // on the scale of the data: densities of exact values, probabilities of the rest
	Iterations   int

	sample *CensoredSample
}

// FitCensored returns the maximum likelihood lognormal of observations that
// may be exact, under a limit, above one, or between two. It fails with
// ErrNoMaximum where none exists.
func FitCensored(points []Interval) (CensoredFit, error) {
	s, err := NewCensoredSample(points)
	if err != nil {
		return CensoredFit{}, err
	}
	return s.Fit()
}

// Fit returns the maximum likelihood lognormal of the sample.
func (s *CensoredSample) Fit() (CensoredFit, error) {
	if err := s.Maximum(); err != nil {
		return CensoredFit{}, err
	}
	beta, tau := s.start()
	d := s.at(beta, tau)
	for i := 1; i <= 200; i++ {
		stepB, stepT, gain := d.newton()
		if !(gain > 1e-24*(1+math.Abs(d.value))) { // also where the Hessian has lost its sign to rounding
			return s.fitted(beta, tau, d, i), nil
		}
		next, factor := s.climb(beta, tau, stepB, stepT, d.value)
		beta, tau = beta+factor*stepB, tau+factor*stepT
		if factor == 0 || (factor == 1 && gain < 1e-15) { // a Newton step from there is below rounding
			return s.fitted(beta, tau, next, i), nil
		}
		d = next
	}
	return CensoredFit{}, fmt.Errorf("%w that 200 Newton steps could reach (μ %g, σ %g)", ErrNoMaximum, s.Shift+beta/tau, 1/tau)
}

// newton returns the Newton step and twice the gain it promises.
func (d slopes) newton() (stepB, stepT, gain float64) {
	det := d.bb*d.tt - d.bt*d.bt
	stepB = (d.bt*d.t - d.tt*d.b) / det
	stepT = (d.bt*d.b - d.bb*d.t) / det
	return stepB, stepT, d.b*stepB + d.t*stepT
}

// climb halves the step until τ stays positive and ln L does not fall. It
// returns factor 0 where rounding allows no step.
func (s *CensoredSample) climb(beta, tau, stepB, stepT, value float64) (slopes, float64) {
	for factor := 1.0; factor > 1e-12; factor /= 2 {
		if tau+factor*stepT <= 0 {
			continue
		}
		next := s.at(beta+factor*stepB, tau+factor*stepT)
		if next.value >= value-1e-13*(1+math.Abs(value)) { // ln L may be near 0 where its terms are not
			return next, factor
		}
	}
	return s.at(beta, tau), 0
}

// fitted turns β and τ into the fit.
func (s *CensoredSample) fitted(beta, tau float64, d slopes, iterations int) CensoredFit {
	mu, sigma := beta/tau, 1/tau
	det := d.bb*d.tt - d.bt*d.bt
	vb, vt, vbt := -d.tt/det, -d.bb/det, d.bt/det
	return CensoredFit{
		N: s.N, NCensored: s.NCensored, Iterations: iterations,
		Mu: s.Shift + mu, Sigma: sigma,
		SEMu:    sigma * math.Sqrt(vb-2*mu*vbt+mu*mu*vt),
		SESigma: sigma * sigma * math.Sqrt(vt),
		LogLik:  d.value - s.logs,
		sample:  s,
	}
}

// GM returns the geometric mean.
func (f CensoredFit) GM() float64 { return math.Exp(f.Mu) }

// GSD returns the geometric standard deviation.
func (f CensoredFit) GSD() float64 { return math.Exp(f.Sigma) }

// Mean returns the arithmetic mean exp(μ + σ²/2) of the fit.
func (f CensoredFit) Mean() float64 { return math.Exp(f.Mu + f.Sigma*f.Sigma/2) }

// Percentile returns the value that fraction of the exposures lie under.
func (f CensoredFit) Percentile(fraction float64) float64 {
	return math.Exp(f.Mu + mathext.NormalQuantile(fraction)*f.Sigma)
}

// Exceedance returns the fraction of exposures over the limit.
func (f CensoredFit) Exceedance(limit float64) float64 {
	return upperTail((math.Log(limit) - f.Mu) / f.Sigma)
}
