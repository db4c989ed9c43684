package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// EstimateCensoredWorkerVariance fits the spread between and within workers to
// exposures that may be known only between bounds, by maximum likelihood:
//
//	L = Πᵢ ∫ φ(u)·Πⱼ pᵢⱼ(μ + σb·u, σw) du
//
// where p is the density of a known ln x, and the probability of the bounds of
// any other. Not restricted: of few workers VarBetween comes out smaller, by
// about one part in their number, than EstimateWorkerVariance gives for values
// that are all known. Pinheiro & Bates (1995), Journal of Computational and
// Graphical Statistics 4:12–35, for the integral about its peak.
//
// It fails with ErrTooFew for fewer than two workers or no worker with two
// shifts, and with ErrNoMaximum where one value for each worker agrees with all
// that is known of the shifts, or where one lognormal cannot be told from all
// shifts together.
func EstimateCensoredWorkerVariance(workers [][]Interval) (WorkerVariance, error) {
	l, err := newWorkerLikelihood(workers)
	if err != nil {
		return WorkerVariance{}, err
	}
	at, _, err := l.maximise()
	if err != nil {
		return WorkerVariance{}, err
	}
	v := WorkerVariance{
		N: l.pooled.N, Workers: len(workers), Repeated: l.repeated,
		Mu:         l.pooled.Shift + at.mu,
		VarBetween: at.between * at.between,
		VarWithin:  at.within * at.within,
	}
	v.Warnings = append(v.Warnings,
		"shifts known only between bounds: by maximum likelihood, which makes the spread between few workers look smaller")
	v.warn()
	return v, nil
}

// workerLikelihood is the likelihood of the shifts of workers, in logs about
// the Shift of all of them.
type workerLikelihood struct {
	pooled   *CensoredSample
	workers  []*CensoredSample
	repeated int // workers with two shifts or more
}

// workerPoint is a place to take the likelihood at: mean of ln x about the
// Shift, and standard deviations.
type workerPoint struct{ mu, between, within float64 }

func newWorkerLikelihood(workers [][]Interval) (*workerLikelihood, error) {
	l := &workerLikelihood{}
	if err := l.check(workers); err != nil {
		return nil, err
	}
	var err error
	if l.pooled, err = NewCensoredSample(slices.Concat(workers...)); err != nil {
		return nil, err
	}
	if err = l.pooled.Maximum(); err != nil {
		return nil, err
	}
	agree := true
	for _, shifts := range workers {
		s := &CensoredSample{N: len(shifts), Shift: l.pooled.Shift}
		s.collect(shifts)
		agree = agree && s.highest <= s.lowest
		l.workers = append(l.workers, s)
	}
	if agree {
		return nil, fmt.Errorf("%w: one value for each worker agrees with all that is known of the shifts, "+
			"so nothing tells the spread within workers", ErrNoMaximum)
	}
	return l, nil
}

// check counts the workers with repeats, and returns an error where there are
// too few, or what cannot be an exposure.
func (l *workerLikelihood) check(workers [][]Interval) error {
	if len(workers) < 2 {
		return fmt.Errorf("%w: %d worker, need 2 or more to compare", ErrTooFew, len(workers))
	}
	for i, shifts := range workers {
		if len(shifts) == 0 {
			return fmt.Errorf("%w: worker %d has no shift", ErrTooFew, i+1)
		}
		for j, x := range shifts {
			if err := checkObservation(x); err != nil {
				return fmt.Errorf("shift %d of worker %d: %w", j+1, i+1, err)
			}
		}
		if len(shifts) > 1 {
			l.repeated++
		}
	}
	if l.repeated == 0 {
		return fmt.Errorf("%w: every worker has one shift, need a worker with 2 or more to tell workers apart", ErrTooFew)
	}
	return nil
}

// point turns what is sought, μ, σb and ln σw, into a place. The likelihood is
// the same for ±σb, so that σb = 0 is no edge.
func (l *workerLikelihood) point(x [3]float64) workerPoint {
	return workerPoint{mu: x[0], between: x[1], within: math.Exp(x[2])}
}

// at returns ln L and its derivatives in μ, σb and ln σw.
func (l *workerLikelihood) at(x [3]float64) workerSlopes { return l.by(workerEffect.integrate, x) }

// roughly is at to a few digits.
func (l *workerLikelihood) roughly(x [3]float64) workerSlopes { return l.by(workerEffect.roughly, x) }

func (l *workerLikelihood) by(integrate func(workerEffect) workerSlopes, x [3]float64) (sum workerSlopes) {
	p := l.point(x)
	for _, s := range l.workers {
		sum.add(integrate(workerEffect{sample: s, workerPoint: p}))
	}
	return sum
}

// maximise returns where the likelihood is highest, and ln L there. It climbs
// from two starts, most of the spread within workers and most of it between,
// and compares with no spread between. A rough climb comes first.
func (l *workerLikelihood) maximise() (workerPoint, float64, error) {
	together, err := l.pooled.Fit()
	if err != nil {
		return workerPoint{}, 0, err
	}
	mu, sigma := together.Mu-l.pooled.Shift, together.Sigma
	best := [3]float64{mu, 0, math.Log(sigma)}
	highest := l.at(best).value
	for _, share := range [2]float64{0.2, 0.8} {
		x := [3]float64{mu, sigma * math.Sqrt(share), math.Log(sigma * math.Sqrt(1-share))}
		x, _ = climb(l.roughly, x, sigma, climbRough)
		x, value := climb(l.at, x, sigma, climbEnough)
		// A spread that gains less than rounding is none.
		if value > highest+1e-11*(1+math.Abs(highest)) {
			best, highest = x, value
		}
	}
	if math.IsNaN(highest) || math.IsInf(highest, 0) {
		return workerPoint{}, 0, errors.New("the likelihood of the workers' shifts cannot be computed")
	}
	p := l.point(best)
	p.between = math.Abs(p.between)
	return p, highest, nil
}

const (
	climbSteps = 60 // more than twice what the climb has been seen to need
	// climbEnough is the gain, of ln L, under which one more step is the last: it
	// brings what is left to the square of it, where ln L has lost its digits.
	climbEnough = 1e-12
	climbRough  = 1e-6
	// climbNoise is the fall of ln L that can be rounding.
	climbNoise = 1e-10
)

// climb goes uphill from x by Newton's method, μ and σb in units of scale, until
// a step gains no more than enough, and returns where it ends with ln L there.
func climb(at func([3]float64) workerSlopes, x [3]float64, scale, enough float64) ([3]float64, float64) {
	units := [3]float64{scale, scale, 1}
	d := at(x)
	for range climbSteps {
		step, gain := d.uphill(units)
		size := 1 + math.Abs(d.value)
		last := gain <= enough*size
		moved := false
		for factor := 1.0; factor > 1e-9 && !moved; factor /= 2 {
			next := [3]float64{x[0] + factor*step[0], x[1] + factor*step[1], x[2] + factor*step[2]}
			there := at(next)
			if moved = there.value > d.value || last && there.value > d.value-climbNoise*size; moved {
				x, d = next, there
			}
			if last {
				return x, d.value
			}
		}
		if !moved {
			break
		}
	}
	return x, d.value
}

// longestStep is the longest step of a climb, in units: over it the likelihood
// resembles no parabola.
const longestStep = 1.5

// uphill returns the Newton step and the gain it promises. A direction in which
// the likelihood is not concave is taken as concave of the same curvature.
func (s workerSlopes) uphill(units [3]float64) (step [3]float64, gain float64) {
	bend := mat.NewSymDense(3, nil)
	for i := range s.bend {
		for j := i; j < 3; j++ {
			bend.SetSym(i, j, s.bend[i][j]*units[i]*units[j])
		}
	}
	var eigen mat.EigenSym
	if math.IsNaN(mat.Sum(bend)) || !eigen.Factorize(bend, true) {
		return step, 0
	}
	values := eigen.Values(nil)
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	largest := math.Max(math.Abs(values[0]), math.Abs(values[2]))
	for k, curvature := range values {
		along := 0.0
		for i := range step {
			along += float64(vectors.At(i, k) * s.gradient[i] * units[i])
		}
		length := along / math.Max(math.Abs(curvature), 1e-12*largest)
		length = math.Max(-longestStep, math.Min(longestStep, length))
		gain += along * length
		for i := range step {
			step[i] += float64(length * vectors.At(i, k) * units[i])
		}
	}
	return step, gain
}
