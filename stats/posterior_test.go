package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

func posteriorOf(t testing.TB, points []Interval, p Prior) *Posterior {
	t.Helper()
	s, err := NewCensoredSample(points)
	if err != nil {
		t.Fatal(err)
	}
	q, err := NewPosterior(s, p)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func exactPoints(values ...float64) []Interval {
	points := make([]Interval, len(values))
	for i, v := range values {
		points[i] = Exact(v)
	}
	return points
}

func nearly(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s = %.14g, want %.14g within %g", what, got, want, relative)
	}
}

// Under the reference prior the quantiles of a percentile are exact tolerance
// limits, those of an exceedance the exact limits by the noncentral t, and
// those of GM and GSD the limits by Student's t and χ² (Box & Tiao 1973,
// "Bayesian Inference in Statistical Analysis", section 2.4, from memory). The
// limits come from another algorithm: one integral over χ.
func TestPosteriorIsExactWithoutCensoring(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	for _, n := range []int{2, 3, 4, 6, 10, 20, 60, 300, 1000} {
		values := make([]float64, n)
		for i := range values {
			values[i] = math.Exp(1.2 + 0.9*r.NormFloat64())
		}
		exact, err := NewLognormal(values)
		if err != nil {
			t.Fatal(err)
		}
		q := posteriorOf(t, exactPoints(values...), ReferencePrior())
		for _, confidence := range []float64{0.05, 0.5, 0.7, 0.95, 0.99} {
			for _, fraction := range []float64{0.05, 0.5, 0.84, 0.95, 0.99, 0.9999} {
				limits, err := exact.PercentileLimits(fraction, confidence)
				if err != nil {
					t.Fatal(err)
				}
				what := fmt.Sprintf("n %d, percentile %g at %g", n, fraction, confidence)
				if !math.IsInf(limits.Upper, 1) {
					nearly(t, what, math.Log(q.Percentile(fraction, confidence)), math.Log(limits.Upper), 1e-9)
					nearly(t, what+", probability over it", q.Over(fraction, limits.Upper), 1-confidence, 1e-9)
				}
			}
			for _, k := range []float64{-2, 0, 1, 2, 5, 12} {
				limit := math.Exp(exact.LogMean + k*exact.LogSD)
				limits, err := exact.ExceedanceLimits(limit, confidence)
				if err != nil {
					t.Fatal(err)
				}
				what := fmt.Sprintf("n %d, exceedance of %g deviations at %g", n, k, confidence)
				nearly(t, what, q.Exceedance(limit, confidence), limits.Upper, 1e-9*(1+math.Abs(k*k*k)))
			}
			gsd, err := exact.GSDLimits(confidence)
			if err != nil {
				t.Fatal(err)
			}
			nearly(t, fmt.Sprintf("n %d, ln GSD at %g", n, confidence), math.Log(q.GSD(confidence)), math.Log(gsd.Upper), 1e-8)
		}
	}
}

// priorNamed reads a prior as the reference table writes it.
func priorNamed(t *testing.T, text string, limit float64) Prior {
	t.Helper()
	name, rest, _ := strings.Cut(text, " ")
	var a, b, c, d float64
	if rest != "" {
		if _, err := fmt.Sscan(rest, &a, &b, &c, &d); err != nil {
			t.Fatalf("prior %q: %v", text, err)
		}
	}
	var p Prior
	var err error
	switch name {
	case "reference":
		p = ReferencePrior()
	case "default":
		p = DefaultPrior(limit)
	case "bounded":
		p, err = BoundedPrior(a, b, c, d)
	case "informed":
		p, err = InformedPrior(a, b, c, d)
	}
	if err != nil || p.String() != name {
		t.Fatalf("prior %q: %v", text, err)
	}
	return p
}

// The references are posteriors by two other programs, with draws beside some
// of them. cat0 to cat4 are the probabilities that the 95th percentile lies
// between 0, 1, 10, 50 and 100 % of the limit and over it.
func TestPosteriorReferences(t *testing.T) {
	for _, c := range casesIn(t, "stats_posterior_cases.csv") {
		limit, err := strconv.ParseFloat(c.inputs["limit"], 64)
		if err != nil {
			t.Fatal(err)
		}
		q := posteriorOf(t, c.points, priorNamed(t, c.inputs["prior"], limit))
		over := func(part float64) float64 { return q.Over(0.95, part*limit) }
		got := map[string]float64{
			"over": over(1), "cat0": 1 - over(0.01), "cat1": over(0.01) - over(0.1),
			"cat2": over(0.1) - over(0.5), "cat3": over(0.5) - over(1), "cat4": over(1),
		}
		for _, percent := range []int{5, 50, 70, 90, 95} {
			p := float64(percent) / 100
			got[fmt.Sprintf("p95_q%d", percent)] = q.Percentile(0.95, p)
			got[fmt.Sprintf("gm_q%d", percent)] = q.GM(p)
			got[fmt.Sprintf("gsd_q%d", percent)] = q.GSD(p)
			got[fmt.Sprintf("exceed_q%d", percent)] = q.Exceedance(limit, p)
		}
		c.check(t, got)
	}
}

func benchmarkPosterior(b *testing.B, points []Interval) {
	s, err := NewCensoredSample(points)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		q, err := NewPosterior(s, ReferencePrior())
		if err != nil {
			b.Fatal(err)
		}
		for _, p := range []float64{0.05, 0.5, 0.7, 0.95} {
			q.Percentile(0.95, p)
		}
		for _, p := range []float64{0.05, 0.5, 0.95} {
			q.Exceedance(10, p)
		}
	}
}

func benchmarkPoints(censored int) []Interval {
	r := rand.New(rand.NewPCG(7, 2))
	points := make([]Interval, 30)
	for i := range points {
		v := math.Exp(0.9 * r.NormFloat64())
		points[i] = Exact(v)
		if i < censored {
			points[i] = Under(v*1.2, v)
		}
	}
	return points
}

func BenchmarkPosteriorExact(b *testing.B)    { benchmarkPosterior(b, benchmarkPoints(0)) }
func BenchmarkPosteriorCensored(b *testing.B) { benchmarkPosterior(b, benchmarkPoints(9)) }
