package stats

import (
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
)

// parsePoints reads observations as the reference table writes them: 1.2, <0.5, >3, 1~2.
func parsePoints(t *testing.T, text string) []Interval {
	t.Helper()
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatalf("observation %q: %v", s, err)
		}
		return v
	}
	var points []Interval
	for _, word := range strings.Fields(text) {
		low, high, between := strings.Cut(word, "~")
		switch {
		case between:
			points = append(points, Interval{Low: number(low), Value: number(low), High: number(high)})
		case word[0] == '<':
			points = append(points, Under(number(word[1:]), number(word[1:])))
		case word[0] == '>':
			points = append(points, AtLeast(number(word[1:])))
		default:
			points = append(points, Exact(number(word)))
		}
	}
	return points
}

// censoredCase is one row of the reference table.
type censoredCase struct {
	id, what  string
	points    []Interval
	inputs    map[string]string
	expected  map[string]float64
	tolerance float64 // relative, absolute under 1
}

func censoredCases(t *testing.T) []censoredCase {
	t.Helper()
	return casesIn(t, "stats_censored_cases.csv")
}

// casesIn reads a reference table.
func casesIn(t *testing.T, name string) []censoredCase {
	t.Helper()
	file, err := os.Open("../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var cases []censoredCase
	for _, row := range rows[1:] {
		c := censoredCase{id: row[0], what: row[1], points: parsePoints(t, row[2]), inputs: map[string]string{}, expected: map[string]float64{}}
		for _, pair := range strings.Split(row[3], ";") {
			name, value, _ := strings.Cut(pair, "=")
			c.inputs[name] = value
		}
		for _, pair := range strings.Split(row[4], ";") {
			name, value, _ := strings.Cut(pair, "=")
			if c.expected[name], err = strconv.ParseFloat(value, 64); err != nil {
				t.Fatalf("%s: %s: %v", c.id, name, err)
			}
		}
		if c.tolerance, err = strconv.ParseFloat(row[5], 64); err != nil {
			t.Fatalf("%s: %v", c.id, err)
		}
		cases = append(cases, c)
	}
	return cases
}

// check compares every expected number of the case with got.
func (c censoredCase) check(t *testing.T, got map[string]float64) {
	t.Helper()
	for name, want := range c.expected {
		value, known := got[name]
		if !known {
			t.Errorf("%s: nothing computes %s", c.id, name)
			continue
		}
		if !(math.Abs(value-want) <= c.tolerance*math.Max(math.Abs(want), math.Min(1, math.Abs(want)+1e-3))) {
			t.Errorf("%s: %s = %.12g, want %.12g within %g", c.id, name, value, want, c.tolerance)
		}
	}
}

func TestCensoredFitReferences(t *testing.T) {
	for _, c := range censoredCases(t) {
		if c.what != "maximum likelihood" {
			continue
		}
		f, err := FitCensored(c.points)
		if err != nil {
			t.Errorf("%s: %v", c.id, err)
			continue
		}
		c.check(t, map[string]float64{
			"mu": f.Mu, "sigma": f.Sigma, "gm": f.GM(), "gsd": f.GSD(), "p95": f.Percentile(0.95), "am": f.Mean(),
			"se_mu": f.SEMu, "se_sigma": f.SESigma, "loglik_log": f.LogLik + f.sample.logs,
		})
	}
}

// The published rule: a detect at or under every limit, or no detect, has no
// maximum (likelihoods that grow without end, computed beside the fits above).
func TestCensoredFitWithoutMaximum(t *testing.T) {
	for text, why := range map[string]string{
		"5 <10 <10":       "one value agrees with every observation",
		"10 <10":          "one value agrees with every observation",
		"3 3 3":           "one value agrees with every observation",
		"1~3 2~4 <2.5":    "one value agrees with every observation",
		"<0.1 <0.1 <0.2":  "no observation is bounded on both sides",
		"<0.1 >5 >7":      "no observation is bounded on both sides",
		"4":               "one value agrees with every observation",
		"0.1~0.2 0.2~0.3": "one value agrees with every observation",
	} {
		_, err := FitCensored(parsePoints(t, text))
		if !errors.Is(err, ErrNoMaximum) || !strings.Contains(err.Error(), why) {
			t.Errorf("%s: error %v, want %s", text, err, why)
		}
	}
}

func TestCensoredSampleRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		points []Interval
		want   string
	}{
		"none":     {nil, "too few observations: none"},
		"zero":     {[]Interval{Exact(1), Exact(0)}, "observation 2: zero is not a result: state the reporting limit it is under"},
		"negative": {[]Interval{Exact(-1)}, "observation 1: bounds -1 to -1 are not an interval of positive values"},
		"reversed": {[]Interval{{Low: 3, High: 2}}, "observation 1: bounds 3 to 2 are not an interval of positive values"},
		"nan":      {[]Interval{Exact(math.NaN())}, "observation 1: bounds NaN to NaN are not an interval of positive values"},
		"infinite": {[]Interval{Exact(math.Inf(1))}, "observation 1: the lower bound is infinite"},
	} {
		if _, err := NewCensoredSample(c.points); err == nil || err.Error() != c.want {
			t.Errorf("%s: error %v, want %s", name, err, c.want)
		}
	}
}

// The gradient and Hessian agree with differences of the value and gradient.
func TestCensoredSlopes(t *testing.T) {
	for _, text := range []string{"1.5 2 7", "<2 <3 8", ">2 >300 8", "1~2 3~90 2~2.0001", "1~1.3 5~5.1 0.0001~0.0002", "1~400"} {
		s, err := NewCensoredSample(parsePoints(t, text))
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range [][2]float64{{0, 1}, {2, 0.4}, {-3, 2}, {-9, 0.1}} {
			const h = 1e-5
			d := s.at(at[0], at[1])
			b1, b0 := s.at(at[0]+h, at[1]), s.at(at[0]-h, at[1])
			t1, t0 := s.at(at[0], at[1]+h), s.at(at[0], at[1]-h)
			for name, pair := range map[string][2]float64{
				"b": {d.b, (b1.value - b0.value) / (2 * h)}, "t": {d.t, (t1.value - t0.value) / (2 * h)},
				"bb": {d.bb, (b1.b - b0.b) / (2 * h)}, "bt": {d.bt, (b1.t - b0.t) / (2 * h)}, "tt": {d.tt, (t1.t - t0.t) / (2 * h)},
			} {
				if math.Abs(pair[0]-pair[1]) > 1e-5*(1+math.Abs(pair[1])) {
					t.Errorf("%s at %v: %s = %g, by differences %g", text, at, name, pair[0], pair[1])
				}
			}
		}
	}
}

// randomPoints draws a small data set with ties, censoring of every kind and
// any scale.
func randomPoints(r *rand.Rand) []Interval {
	n, scale := 2+r.IntN(29), math.Pow(10, 24*r.Float64()-12)
	sigma, digits := 2.5*r.Float64()*r.Float64(), math.Pow(10, float64(r.IntN(4)))
	share := r.Float64()
	points := make([]Interval, n)
	for i := range points {
		v := scale * math.Max(1, math.Round(digits*3*math.Exp(sigma*r.NormFloat64()))) / digits
		points[i] = Exact(v)
		if r.Float64() < share {
			points[i] = []Interval{Under(v, v), AtLeast(v), {Low: v, Value: v, High: v * (1 + r.Float64())}, Under(2*v, v)}[r.IntN(4)]
		}
	}
	return points
}

// Any small data set gives a fit of finite numbers or a reason, and a change
// of unit moves μ alone.
func TestCensoredFitRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 1))
	fitted := 0
	for range 3000 {
		points := randomPoints(r)
		f, err := FitCensored(points)
		if err != nil {
			if !errors.Is(err, ErrNoMaximum) {
				t.Errorf("%v: %v", points, err)
			}
			continue
		}
		fitted++
		for _, v := range []float64{f.Mu, f.Sigma, f.LogLik, f.SEMu, f.SESigma} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Errorf("%v: fit %+v", points, f)
			}
		}
		scaled := make([]Interval, len(points))
		for i, x := range points {
			scaled[i] = x.Scale(1024)
		}
		g, err := FitCensored(scaled)
		if err != nil || math.Abs(g.Mu-f.Mu-math.Log(1024)) > 1e-9*(1+math.Abs(f.Mu)) || math.Abs(g.Sigma/f.Sigma-1) > 1e-9 {
			t.Errorf("%v: scaled μ %g σ %g, unscaled μ %g σ %g: %v", points, g.Mu, g.Sigma, f.Mu, f.Sigma, err)
		}
	}
	if fitted < 1500 {
		t.Errorf("only %d data sets had a maximum", fitted)
	}
}

// Where ln L at the maximum is near 0, its rounding is that of its terms.
func TestCensoredFitNearZeroLikelihood(t *testing.T) {
	if _, err := FitCensored(parsePoints(t, ">0.00018347033783670054 0.0001981479648636366 >0.0001981479648636366 0.00016145389729629647")); err != nil {
		t.Error(err)
	}
}

func BenchmarkFitCensored(b *testing.B) {
	points := []Interval{Under(0.5, 0.5), Under(0.5, 0.5), Under(0.5, 0.5), Exact(0.62), Exact(0.81), Exact(0.95),
		Exact(1.3), Exact(1.7), Exact(2.4), Exact(4.1)}
	for b.Loop() {
		if _, err := FitCensored(points); err != nil {
			b.Fatal(err)
		}
	}
}
