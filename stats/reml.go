package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// WorkerVariance tells the spread between workers from the spread from shift
// to shift of one worker, for lognormal exposures:
//
//	ln xᵢⱼ = μ + bᵢ + eᵢⱼ,  bᵢ ~ N(0, VarBetween),  eᵢⱼ ~ N(0, VarWithin)
type WorkerVariance struct {
	N, Workers            int
	Repeated              int // workers with two shifts or more
	Mu                    float64
	VarBetween, VarWithin float64
	Criterion             Optional // −2 ln of the restricted likelihood; missing where VarWithin is 0
	Warnings              []string
}

// ratiosTried is how many ratios of variances are tried before the best is
// refined; unbalanced data can have more than one maximum.
const ratiosTried = 80

// EstimateWorkerVariance fits the spread between and within workers to the
// exposures of each worker by restricted maximum likelihood (Patterson &
// Thompson 1971, Biometrika 58:545–554), which allows different numbers of
// shifts. A negative component cannot come out: it stays at 0 and a warning
// says so. It fails with ErrTooFew for fewer than two workers or no worker
// with two shifts, and for a value that is not positive.
func EstimateWorkerVariance(workers [][]float64) (WorkerVariance, error) {
	ys, err := logGroups(workers)
	if err != nil {
		return WorkerVariance{}, err
	}
	return workerVarianceOfLogs(ys)
}

// workerVarianceOfLogs is EstimateWorkerVariance for logarithms.
func workerVarianceOfLogs(ys [][]float64) (WorkerVariance, error) {
	a, err := OneWay(ys)
	if err != nil {
		return WorkerVariance{}, err
	}
	v := WorkerVariance{N: a.N, Workers: len(ys)}
	for _, n := range a.Counts {
		if n > 1 {
			v.Repeated++
		}
	}
	if v.Repeated == 0 {
		return WorkerVariance{}, fmt.Errorf(
			"%w: every worker has one shift, need a worker with 2 or more to tell workers apart", ErrTooFew)
	}
	l := restricted{a: &a, mean: a.Mean}
	if a.SSWithin == 0 {
		v.Mu, v.VarBetween = l.spreadOfMeans()
		v.warn()
		return v, nil
	}
	ratio := l.maximise()
	at := l.at(ratio)
	v.Mu = at.mu
	v.VarWithin = at.q / float64(a.N-1)
	v.VarBetween = ratio * v.VarWithin
	v.Criterion = Some(at.criterion)
	v.warn()
	return v, nil
}

// warn adds what a reader should know beside the numbers.
func (v *WorkerVariance) warn() {
	if v.VarBetween == 0 {
		v.Warnings = append(v.Warnings,
			"the workers differ no more than their shifts do: the spread between workers is put at 0")
	}
	if v.VarWithin == 0 {
		v.Warnings = append(v.Warnings, "the shifts of each worker are all equal: no spread within workers")
	}
	if v.Workers < 5 || v.N < 15 {
		v.Warnings = append(v.Warnings, fmt.Sprintf(
			"%d workers and %d shifts: the split between and within workers is a rough guide", v.Workers, v.N))
	}
}

// restricted is the restricted likelihood of the ratio λ of the variance
// between to that within groups. Only λ has to be sought: the mean and the
// variance within follow from it.
type restricted struct {
	a    *Anova
	mean float64 // close to μ; deviations from it keep digits
}

// restrictedPoint is the likelihood at one ratio.
type restrictedPoint struct {
	mu, q     float64 // the mean, and (N − 1) times the variance within
	criterion float64 // −2 ln likelihood
	slope     float64 // of the criterion, by λ
}

// at returns the likelihood at ratio λ ≥ 0. With wᵢ = nᵢ/(1 + nᵢλ):
//
//	μ = Σwᵢȳᵢ/Σwᵢ,  q = SSw + Σwᵢ(ȳᵢ − μ)²
//	−2 ln L = (N − 1)(1 + ln 2π + ln(q/(N − 1))) + Σ ln(1 + nᵢλ) + ln Σwᵢ
//
// Searle, Casella & McCulloch (1992), "Variance Components", section 3.8, with
// the variance within at its maximum for the given λ.
func (l restricted) at(ratio float64) restrictedPoint {
	var sum, weighted, logs float64
	for i, count := range l.a.Counts {
		n := float64(count)
		w := n / (1 + float64(n*ratio))
		sum += w
		weighted += float64(w * (l.a.Means[i] - l.mean))
		logs += math.Log1p(n * ratio)
	}
	shift := weighted / sum
	var between, bent, squares float64
	for i, count := range l.a.Counts {
		n := float64(count)
		w := n / (1 + float64(n*ratio))
		d := (l.a.Means[i] - l.mean) - shift
		between += float64(w * d * d)
		bent += float64(w * w * d * d)
		squares += float64(w * w)
	}
	df := float64(l.a.N - 1)
	q := l.a.SSWithin + between
	return restrictedPoint{
		mu:        l.mean + shift,
		q:         q,
		criterion: df*(1+math.Log(2*math.Pi*q/df)) + logs + math.Log(sum),
		slope:     sum - df*bent/q - squares/sum,
	}
}

// maximise returns the ratio at the highest restricted likelihood. Beyond the
// largest ratio tried the likelihood only falls: there the slope is at least
// ((k − 1) − (N − 1)·Σdᵢ²/(λ·SSw))/λ to leading order.
func (l restricted) maximise() float64 {
	var spread float64
	for _, m := range l.a.Means {
		spread += (m - l.mean) * (m - l.mean)
	}
	top := 10 + 10*float64(l.a.N)*spread/l.a.SSWithin
	best, lowest := 0.0, l.at(0).criterion
	low := 0.0
	rising := l.at(0).slope > 0
	for i := range ratiosTried {
		high := top * math.Pow(10, -9*float64(ratiosTried-1-i)/float64(ratiosTried-1))
		up := l.at(high).slope > 0
		if up && !rising {
			ratio := l.turn(low, high)
			if c := l.at(ratio).criterion; c < lowest {
				best, lowest = ratio, c
			}
		}
		low, rising = high, up
	}
	return best
}

// turn returns the ratio between low and high where the slope of the criterion
// goes from falling to rising, to the last bits.
func (l restricted) turn(low, high float64) float64 {
	for range 200 {
		middle := low + (high-low)/2
		if middle <= low || middle >= high {
			break
		}
		if l.at(middle).slope > 0 {
			high = middle
		} else {
			low = middle
		}
	}
	return low + (high-low)/2
}

// spreadOfMeans returns the mean and variance of the workers' means, each
// counting once: what the fit comes to as the spread within workers goes to
// nothing.
func (l restricted) spreadOfMeans() (mu, variance float64) {
	offset, ss := centre(l.a.Means)
	return l.a.Means[0] + offset, ss / float64(len(l.a.Means)-1)
}

// GSDBetween returns the geometric standard deviation between workers.
func (v WorkerVariance) GSDBetween() float64 { return math.Exp(math.Sqrt(v.VarBetween)) }

// GSDWithin returns the geometric standard deviation from shift to shift of
// one worker.
func (v WorkerVariance) GSDWithin() float64 { return math.Exp(math.Sqrt(v.VarWithin)) }

// Share returns the part of the variance that lies between workers, 0 to 1;
// missing where nothing varies.
func (v WorkerVariance) Share() Optional {
	total := v.VarBetween + v.VarWithin
	if total == 0 {
		return Optional{}
	}
	return Some(v.VarBetween / total)
}

// GroupExceedance returns the fraction of all shifts of all workers over limit.
func (v WorkerVariance) GroupExceedance(limit float64) float64 {
	return lognormalOver(v.Mu, math.Sqrt(v.VarBetween+v.VarWithin), limit)
}

// WorkerMeanExceedance returns the probability that a worker's long-term
// arithmetic mean is over limit:
//
//	1 − Φ((ln L − μ − VarWithin/2)/√VarBetween)
//
// Lyles, Kupper & Rappaport (1997), "A lognormal distribution-based exposure
// assessment method for unbalanced data", Annals of Occupational Hygiene
// 41:63–76; the reference from memory.
func (v WorkerVariance) WorkerMeanExceedance(limit float64) float64 {
	return lognormalOver(v.Mu+v.VarWithin/2, math.Sqrt(v.VarBetween), limit)
}

// WorkerExceedance returns the probability that a worker drawn from the group
// is over limit on more than the fraction of shifts, as 0.05:
//
//	1 − Φ((ln L − μ − z·√VarWithin)/√VarBetween),  z = Φ⁻¹(1 − fraction)
//
// British Occupational Hygiene Society and Nederlandse Vereniging voor
// Arbeidshygiëne (2011), "Testing compliance with occupational exposure limits
// for airborne substances", which takes under 0.20 at 5 % as compliance of
// individuals; the formula from memory.
func (v WorkerVariance) WorkerExceedance(limit, fraction float64) float64 {
	z := normalTailQuantile(fraction)
	return lognormalOver(v.Mu+float64(z*math.Sqrt(v.VarWithin)), math.Sqrt(v.VarBetween), limit)
}

// lognormalOver returns the fraction of a lognormal quantity over limit. Without
// spread it is all or nothing.
func lognormalOver(mu, sigma, limit float64) float64 {
	if sigma == 0 {
		if mu > math.Log(limit) {
			return 1
		}
		return 0
	}
	return 0.5 * math.Erfc((math.Log(limit)-mu)/(sigma*math.Sqrt2))
}

// Apart is one worker whose shifts lie apart from those of all others, while
// the others do not differ among themselves.
type Apart struct {
	Worker int     // place in the data
	Ratio  float64 // worker's geometric mean over that of the others
	P      float64 // two-sided, adjusted for having looked at every worker
}

// StandsApart returns the worker who differs from all others at the level
// alpha, where the others do not differ among themselves; false where there is
// none. The mean on the log scale is compared with that of the others by
// Student's t, with the spread of shifts within workers pooled over all, and P
// is multiplied by the number of workers (Bonferroni), so that one of many is
// not picked out by chance; the others are compared by analysis of variance.
// It needs three workers and some spread within them.
func StandsApart(workers [][]float64, alpha float64) (Apart, bool) {
	ys, err := logGroups(workers)
	if err != nil || len(ys) < 3 {
		return Apart{}, false
	}
	a, err := OneWay(ys)
	if err != nil || a.DFWithin == 0 || a.SSWithin == 0 {
		return Apart{}, false
	}
	found := Apart{P: 1}
	for i := range ys {
		n, others := float64(a.Counts[i]), float64(a.N-a.Counts[i])
		// The others' mean is the mean of all without this worker's share.
		difference := (a.Means[i] - a.Mean) * float64(a.N) / others
		t := difference / math.Sqrt(a.MSWithin.Value*(1/n+1/others))
		if p := float64(len(ys)) * studentTwoSided(t, float64(a.DFWithin)); p < found.P {
			found = Apart{Worker: i, Ratio: math.Exp(difference), P: p}
		}
	}
	if found.P >= alpha {
		return Apart{}, false
	}
	rest, err := OneWay(slices.Delete(slices.Clone(ys), found.Worker, found.Worker+1))
	alike := err == nil && (rest.P.Known && rest.P.Value >= alpha || rest.SSBetween == 0)
	return found, alike
}

// studentTwoSided returns P(|T| > |t|) with df degrees of freedom.
func studentTwoSided(t, df float64) float64 {
	return mathext.RegIncBeta(df/2, 0.5, df/(df+t*t))
}
