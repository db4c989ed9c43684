package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// Balanced data, all known: with k workers of n shifts each, maximum likelihood
// puts σw² = MSw and σb² = ((1 − 1/k)·MSb − MSw)/n, or SS/(k·n) and 0 where that
// is negative (Searle, Casella & McCulloch 1992, "Variance Components", section
// 3.7, from memory).
func TestCensoredWorkersOfKnownValuesIsPlainLikelihood(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	negative := 0
	for range 60 {
		k, n := 2+r.IntN(6), 2+r.IntN(4)
		logs := make([][]float64, k)
		workers := make([][]Interval, k)
		spread := 2 * r.Float64()
		for i := range logs {
			b := spread * r.NormFloat64()
			for range n {
				x := math.Exp(b + r.NormFloat64())
				logs[i] = append(logs[i], math.Log(x))
				workers[i] = append(workers[i], Exact(x))
			}
		}
		a, err := OneWay(logs)
		require.NoError(t, err)
		within := a.MSWithin.Value
		between := ((1-1/float64(k))*a.MSBetween.Value - within) / float64(n)
		if between < 0 {
			negative++
			between, within = 0, (a.SSBetween+a.SSWithin)/float64(k*n)
		}
		v, err := EstimateCensoredWorkerVariance(workers)
		require.NoError(t, err)
		require.InDelta(t, a.Mean, v.Mu, 1e-8)
		require.InDelta(t, between, v.VarBetween, 1e-8*(1+between), "%v", workers)
		require.InDelta(t, within, v.VarWithin, 1e-8*(1+within), "%v", workers)
	}
	require.Greater(t, negative, 3)
}

func TestCensoredWorkersReachReferences(t *testing.T) {
	for _, c := range crosscheckCases(t, "workers ml") {
		logs := grouped(t, c.data)
		// Logs about their mean, as many as an exponential holds.
		origin, unit := logs[0][0], math.Max(1, math.Abs(logs[0][0])/100)
		workers := make([][]Interval, len(logs))
		n := 0.0
		for i, ys := range logs {
			for _, y := range ys {
				workers[i] = append(workers[i], Exact(math.Exp((y-origin)/unit)))
				n++
			}
		}
		l, err := newWorkerLikelihood(workers)
		require.NoError(t, err)
		at, value, err := l.maximise()
		require.NoError(t, err)
		c.near(t, map[string]float64{
			"sb2_ML": at.between * at.between * unit * unit, "sw2_ML": at.within * at.within * unit * unit,
			"mu_ML": origin + unit*(at.mu+l.pooled.Shift), "logLik_ML": value - n*math.Log(unit),
		})
	}
}

// bruteEffect integrates the likelihood of one worker by a fine trapezoidal
// rule, with the probabilities of bounds from the error function.
func bruteEffect(shifts []Interval, mu, between, within float64) float64 {
	const steps = 100000
	const width = 24.0 / steps
	sum := 0.0
	for i := range steps + 1 {
		u := -12 + width*float64(i)
		product := math.Exp(-u*u/2) / math.Sqrt(2*math.Pi)
		for _, x := range shifts {
			z := func(v float64) float64 { return (math.Log(v) - mu - between*u) / within }
			switch {
			case x.Low == 0:
				product *= math.Erfc(-z(x.High)/math.Sqrt2) / 2
			case x.Low == x.High:
				product *= math.Exp(-z(x.Low)*z(x.Low)/2) / math.Sqrt(2*math.Pi) / within
			default:
				product *= (math.Erf(z(x.High)/math.Sqrt2) - math.Erf(z(x.Low)/math.Sqrt2)) / 2
			}
		}
		sum += product * width
	}
	return math.Log(sum)
}

// The integral agrees with a brute one however narrow a bound is beside the
// spread between workers, and the gradient with differences of the value.
func TestWorkerEffect(t *testing.T) {
	for _, text := range []string{"1.5 2 7", "<2 <3 8", ">2 >30 8", "<1 <1 <1", "<4 >2", "1~2 3~90 2~2.1", ">5", "<0.01 0.3"} {
		for _, at := range []workerPoint{{0, 1, 1}, {1, 2, 0.2}, {0.5, 0, 0.7}, {1, 3, 0.02}, {-1, 0.1, 2}} {
			shifts := parsePoints(t, text)
			s, err := NewCensoredSample(shifts)
			require.NoError(t, err)
			s = &CensoredSample{}
			s.collect(shifts)
			d := workerEffect{s, at}.integrate()
			if want := bruteEffect(shifts, at.mu, at.between, at.within); want > -300 {
				require.InDelta(t, want, d.value, 1e-9*(1+math.Abs(want)), "%s at %v", text, at)
			}
			// The two ways to integrate agree where both serve.
			if e := (workerEffect{s, at}); e.smooth() {
				require.InDelta(t, e.panels(e.peak()).value, d.value, 1e-12*(1+math.Abs(d.value)), "%s at %v", text, at)
			}
			for i := range d.gradient {
				requireSlopes(t, s, at, i, d)
			}
		}
	}
}

// requireSlopes compares derivatives in the i-th argument with differences.
func requireSlopes(t *testing.T, s *CensoredSample, at workerPoint, i int, d workerSlopes) {
	t.Helper()
	const h = 1e-5
	up, down := at, at
	switch i {
	case 0:
		up.mu, down.mu = at.mu+h, at.mu-h
	case 1:
		up.between, down.between = at.between+h, at.between-h
	case 2:
		up.within, down.within = at.within*math.Exp(h), at.within*math.Exp(-h)
	}
	above, below := workerEffect{s, up}.integrate(), workerEffect{s, down}.integrate()
	want := (above.value - below.value) / (2 * h)
	require.InDelta(t, want, d.gradient[i], 1e-5*(1+math.Abs(want)), "%v at %v, %d", s, at, i)
	for j := range d.gradient {
		want := (above.gradient[j] - below.gradient[j]) / (2 * h)
		require.InDelta(t, want, d.bend[i][j], 1e-5*(1+math.Abs(want)), "%v at %v, %d %d", s, at, i, j)
	}
}

// randomWorkers draws shifts of a few workers, some known only between bounds,
// and the same in another unit.
func randomWorkers(r *rand.Rand) (workers, scaled [][]Interval) {
	unit := math.Pow(2, float64(r.IntN(81)-40)) // 1e-12 to 1e12, without rounding
	spread, share := 2*r.Float64(), r.Float64()
	workers, scaled = make([][]Interval, 2+r.IntN(6)), nil
	for i := range workers {
		b := spread * r.NormFloat64()
		for range 1 + r.IntN(5) {
			v := math.Max(1, math.Round(8*math.Exp(b+r.NormFloat64()))) / 8
			x := Exact(v)
			if r.Float64() < share {
				x = []Interval{Under(v, v), AtLeast(v), {Low: v, Value: v, High: 1.5 * v}, Under(2*v, v)}[r.IntN(4)]
			}
			workers[i] = append(workers[i], x)
		}
		other := make([]Interval, len(workers[i]))
		for j, x := range workers[i] {
			other[j] = x.Scale(unit)
		}
		scaled = append(scaled, other)
	}
	return workers, scaled
}

// Whatever the data: finite numbers that no place nearby is better than, the
// same in any unit, or a reason.
func TestCensoredWorkersOfAnyKindGiveNumbers(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	fitted := 0
	for range 400 {
		workers, scaled := randomWorkers(r)
		v, err := EstimateCensoredWorkerVariance(workers)
		w, errScaled := EstimateCensoredWorkerVariance(scaled)
		require.Equal(t, err == nil, errScaled == nil, "%v: %v, %v", workers, err, errScaled)
		if err != nil {
			require.True(t, errors.Is(err, ErrNoMaximum) || errors.Is(err, ErrTooFew), "%v: %v", workers, err)
			continue
		}
		fitted++
		for _, x := range []float64{v.Mu, v.VarBetween, v.VarWithin} {
			require.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%v: %+v", workers, v)
		}
		require.True(t, v.VarWithin > 0 && v.VarBetween >= 0, "%v: %+v", workers, v)
		require.InDelta(t, v.VarBetween, w.VarBetween, 1e-7*(1+v.VarBetween), "%v", workers)
		require.InDelta(t, v.VarWithin, w.VarWithin, 1e-7*(1+v.VarWithin), "%v", workers)
		requireHighest(t, r, workers, v)
	}
	require.Greater(t, fitted, 250)
}

// requireHighest fails where a place near or far is better than the fit.
func requireHighest(t *testing.T, r *rand.Rand, workers [][]Interval, v WorkerVariance) {
	t.Helper()
	l, err := newWorkerLikelihood(workers)
	require.NoError(t, err)
	fit := [3]float64{v.Mu - l.pooled.Shift, math.Sqrt(v.VarBetween), math.Log(v.VarWithin) / 2}
	highest := l.at(fit).value
	for range 30 {
		far := math.Pow(10, -3*r.Float64())
		other := [3]float64{fit[0] + far*r.NormFloat64(), fit[1] + far*r.NormFloat64(), fit[2] + far*r.NormFloat64()}
		value := l.at(other).value
		require.LessOrEqual(t, value, highest+1e-8*(1+math.Abs(highest)), "%v: %v is better than %v", workers, other, fit)
	}
}

// A narrow interval is a value, but for the constant that its width makes.
func TestNarrowBoundsAreValues(t *testing.T) {
	values := [][]Interval{parsePoints(t, "1 1.5 2.2"), parsePoints(t, "4 3 7"), parsePoints(t, "0.8 <0.5"), parsePoints(t, "2 3")}
	narrow := make([][]Interval, len(values))
	for i, shifts := range values {
		for _, x := range shifts {
			if !x.Censored() {
				x.Low, x.High = x.Low*(1-1e-6), x.High*(1+1e-6)
			}
			narrow[i] = append(narrow[i], x)
		}
	}
	v, err := EstimateCensoredWorkerVariance(values)
	require.NoError(t, err)
	w, err := EstimateCensoredWorkerVariance(narrow)
	require.NoError(t, err)
	require.InDelta(t, v.Mu, w.Mu, 1e-8)
	require.InDelta(t, v.VarBetween, w.VarBetween, 1e-8)
	require.InDelta(t, v.VarWithin, w.VarWithin, 1e-8)
}

func TestCensoredWorkersThatCannotBeToldApart(t *testing.T) {
	for name, c := range map[string]struct {
		workers []string
		want    string
	}{
		"one worker": {[]string{"1 2 <3"}, "too few observations: 1 worker, need 2 or more to compare"},
		"no shift":   {[]string{"1 2", ""}, "too few observations: worker 2 has no shift"},
		"one shift each": {[]string{"1", "<2", "3"},
			"too few observations: every worker has one shift, need a worker with 2 or more to tell workers apart"},
		"not detected": {[]string{"<1 <1", "<2 <3"}, "the likelihood has no maximum: no observation is bounded on both sides"},
		"all agree": {[]string{"1 <2", "3 <4", "<1 <3"}, "the likelihood has no maximum: one value for each worker agrees " +
			"with all that is known of the shifts, so nothing tells the spread within workers"},
		"zero": {[]string{"1 2", "3 0"}, "shift 2 of worker 2: zero is not a result: state the reporting limit it is under"},
	} {
		var workers [][]Interval
		for _, text := range c.workers {
			workers = append(workers, parsePoints(t, text))
		}
		_, err := EstimateCensoredWorkerVariance(workers)
		require.EqualError(t, err, c.want, name)
	}
}

func BenchmarkCensoredWorkers(b *testing.B) {
	workers := [][]Interval{
		{Exact(1), Exact(1.5), Under(0.5, 0.5)}, {Exact(4), Exact(3), Exact(7)},
		{Under(0.5, 0.5), Under(0.5, 0.5), Exact(0.8)}, {Exact(2), Exact(3), AtLeast(4)},
	}
	for b.Loop() {
		if _, err := EstimateCensoredWorkerVariance(workers); err != nil {
			b.Fatal(err)
		}
	}
}

// The likelihood of these shifts has two maxima, one of them with no spread
// between workers; the other is the higher by 0.015.
func TestHigherOfTwoMaxima(t *testing.T) {
	var workers [][]Interval
	for _, text := range []string{"1.57 0.29", "1.41", "0.01", "11.58", "0.23"} {
		workers = append(workers, parsePoints(t, text))
	}
	v, err := EstimateCensoredWorkerVariance(workers)
	require.NoError(t, err)
	require.InDelta(t, 1.8411596, math.Sqrt(v.VarBetween), 1e-6)
	l, err := newWorkerLikelihood(workers)
	require.NoError(t, err)
	together, err := l.pooled.Fit()
	require.NoError(t, err)
	none := [3]float64{together.Mu - l.pooled.Shift, 0, math.Log(together.Sigma)}
	near := [3]float64{none[0], 0.1, none[2]}
	require.Less(t, l.at(near).value, l.at(none).value)
}
