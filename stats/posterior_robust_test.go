package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// figuresOf returns what a posterior says, quantiles in rising order of
// probability, and reports what is not a number or out of order.
func figuresOf(t *testing.T, points []Interval, q *Posterior, limit float64) [][]float64 {
	t.Helper()
	probabilities := []float64{0.05, 0.3, 0.5, 0.7, 0.95}
	rows := make([][]float64, 5)
	for _, p := range probabilities {
		rows[0] = append(rows[0], q.Percentile(0.95, p))
		rows[1] = append(rows[1], q.GM(p))
		rows[2] = append(rows[2], q.GSD(p))
		rows[3] = append(rows[3], q.Exceedance(limit, p))
	}
	rows[4] = []float64{q.Over(0.95, limit), q.Over(0.95, limit/2), q.Over(0.95, limit/10)}
	for i, row := range rows {
		for j, v := range row {
			if math.IsNaN(v) || v < 0 || j > 0 && v < row[j-1]*(1-1e-9) {
				t.Errorf("%v under %s, limit %g: figures %d are %v", points, q, limit, i, row)
				break
			}
		}
	}
	return rows
}

// Any small data set under any prior gives numbers in order.
func TestPosteriorRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 3))
	proper := 0
	for range 60 {
		points := randomPoints(r)
		s, err := NewCensoredSample(points)
		if err != nil {
			t.Fatal(err)
		}
		middle := math.Exp(s.Shift)
		limit := middle * math.Exp(3*r.NormFloat64())
		bounded, err := BoundedPrior(limit/2000, limit*5, 1.05, 4)
		if err != nil {
			t.Fatal(err)
		}
		informed, err := InformedPrior(middle*2, 3, 0.8, 1.5)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []Prior{ReferencePrior(), DefaultPrior(limit), bounded, informed} {
			q, err := NewPosterior(s, p)
			if err != nil {
				if p.String() != "reference" || !errors.Is(err, ErrImproper) {
					t.Errorf("%v under %s: %v", points, p, err)
				}
				continue
			}
			proper++
			figuresOf(t, points, q, limit)
			q.Warning()
		}
	}
	if proper < 200 {
		t.Errorf("only %d posteriors were proper", proper)
	}
}

// repeated returns n copies of each point.
func repeated(n int, points ...Interval) []Interval {
	var all []Interval
	for range n {
		all = append(all, points...)
	}
	return all
}

// Data at the edge of sense still give numbers in order.
func TestPosteriorExtremes(t *testing.T) {
	narrow := func(v float64) Interval { return Interval{Low: v, Value: v, High: v * (1 + 1e-12)} }
	for name, points := range map[string][]Interval{
		"one value":               {Exact(3)},
		"one non-detect":          {Under(3, 1)},
		"all over":                repeated(5, AtLeast(3)),
		"both ways":               {Under(1, 1), AtLeast(30), AtLeast(40), Under(2, 1)},
		"no overlap, both ways":   repeated(20, Under(1, 1), AtLeast(1e6)),
		"nothing known":           repeated(3, Interval{High: math.Inf(1)}),
		"1000 equal":              repeated(1000, Exact(2)),
		"1000 non-detects":        repeated(1000, Under(2, 1)),
		"equal to the limit":      append(repeated(9, Under(2, 1)), Exact(2)),
		"two values and 998 ties": append(repeated(998, Exact(2)), Exact(2.0000001), Under(1.999, 1)),
		"narrow":                  {narrow(1), narrow(2), narrow(3)},
		"narrow about one value":  repeated(4, narrow(1), narrow(1+1e-13)),
		"nearly equal":            exactPoints(1, 1+1e-12, 1+3e-12),
		"touching":                {{Low: 1, Value: 1, High: 2}, {Low: 2, Value: 2, High: 3}},
		"barely apart":            {{Low: 1, Value: 1, High: 2}, {Low: 2.0001, Value: 2.1, High: 3}},
		"24 decades":              {Exact(1e-12), Exact(1e12), Under(1e-6, 1e-6)},
		"wide":                    repeated(3, Interval{Low: 1e-12, Value: 1, High: 1e12}),
	} {
		s, err := NewCensoredSample(points)
		if err != nil {
			t.Fatal(err)
		}
		bounded, err := BoundedPrior(0.01, 100, 1, 4)
		if err != nil {
			t.Fatal(err)
		}
		informed, err := InformedPrior(1e-3, 1.5, 0.8, 1.1)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []Prior{ReferencePrior(), DefaultPrior(1e-9), DefaultPrior(2), DefaultPrior(1e12), bounded, informed} {
			q, err := NewPosterior(s, p)
			if err == nil {
				figuresOf(t, points[:min(3, len(points))], q, 2)
				q.Warning()
			} else if !errors.Is(err, ErrImproper) {
				t.Errorf("%s under %s: %v", name, p, err)
			}
		}
	}
}

// Arguments at the ends of their ranges give numbers too.
func TestPosteriorArguments(t *testing.T) {
	q := posteriorOf(t, parsePoints(t, "<0.5 0.62 0.95 1.3"), ReferencePrior())
	for _, c := range []struct{ got, want float64 }{
		{q.Exceedance(0, 0.5), 1}, {q.Exceedance(math.Inf(1), 0.5), 0}, {q.Exceedance(1e300, 0.5), 0},
		{q.Over(0.95, -1), 1}, {q.Over(0.95, math.Inf(1)), 0}, {q.Over(0.95, 1e-300), 1},
	} {
		if math.Abs(c.got-c.want) > 1e-6 {
			t.Errorf("got %g, want %g", c.got, c.want)
		}
	}
	for _, v := range []float64{q.Percentile(0, 0.5), q.Percentile(1, 0.5), q.Percentile(0.95, 0), q.Percentile(0.95, 1), q.GSD(0), q.GSD(1)} {
		if math.IsNaN(v) || v < 0 {
			t.Errorf("got %g", v)
		}
	}
}

// A change of unit moves nothing but the unit, from 1e-12 to 1e12.
func TestPosteriorScale(t *testing.T) {
	for _, text := range []string{"1.9 4.2 7.2 0.9 2.3", "<0.5 <0.5 0.62 0.95 1.3 >1.7 2~4", "<0.3 0.4 0.7~1.1 0.9 >2 1.6"} {
		points := parsePoints(t, text)
		for _, p := range []func(limit float64) Prior{func(float64) Prior { return ReferencePrior() }, DefaultPrior} {
			want := figuresOf(t, points, posteriorOf(t, points, p(5)), 5)
			for _, scale := range []float64{1e-12, 1e12} {
				scaled := make([]Interval, len(points))
				for i, x := range points {
					scaled[i] = x.Scale(scale)
				}
				for i, row := range figuresOf(t, scaled, posteriorOf(t, scaled, p(5*scale)), 5*scale) {
					unit := 1.0
					if i < 2 {
						unit = scale
					}
					for j, v := range row {
						nearly(t, text+" scaled", v, want[i][j]*unit, 1e-9)
					}
				}
			}
		}
	}
}

// An interval that shrinks to a value becomes that value: no width is the same
// as exact, and a narrow one is as near as it is narrow.
func TestPosteriorOfNarrowIntervals(t *testing.T) {
	values := []float64{1.9, 4.2, 7.2, 0.9, 2.3, 5.4}
	want := figuresOf(t, nil, posteriorOf(t, exactPoints(values...), ReferencePrior()), 5)
	for _, width := range []float64{0, 1e-12, 1e-9} {
		points := make([]Interval, len(values))
		for i, v := range values {
			points[i] = Interval{Low: v, Value: v, High: v * (1 + width)}
		}
		for i, row := range figuresOf(t, points, posteriorOf(t, points, ReferencePrior()), 5) {
			for j, v := range row {
				nearly(t, "narrow", v, want[i][j], 1e-6*math.Min(1, width*1e9))
			}
		}
	}
}

// The reference prior needs two observations bounded on both sides and no one
// value that agrees with all.
func TestPosteriorImproper(t *testing.T) {
	for text, want := range map[string]string{
		"3":            "the reference prior has no proper posterior: the likelihood has no maximum: one value agrees with every observation, so nothing tells the spread",
		"<10 <10 25":   "the reference prior has no proper posterior: 1 observation is bounded on both sides, need 2",
		"<0.1 <0.1":    "the reference prior has no proper posterior: the likelihood has no maximum: no observation is bounded on both sides",
		"1~3 2~4 <2.5": "the reference prior has no proper posterior: the likelihood has no maximum: one value agrees with every observation, so nothing tells the spread",
	} {
		s, err := NewCensoredSample(parsePoints(t, text))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := NewPosterior(s, ReferencePrior()); !errors.Is(err, ErrImproper) || err.Error() != want {
			t.Errorf("%s: error %v, want %s", text, err, want)
		}
		if _, err := NewPosterior(s, DefaultPrior(5)); err != nil {
			t.Errorf("%s under the default: %v", text, err)
		}
		for _, p := range []Prior{{}, DefaultPrior(0), DefaultPrior(math.NaN())} {
			if _, err := NewPosterior(s, p); err == nil {
				t.Errorf("%s: no error under prior %+v", text, p)
			}
		}
	}
}

// Why one bounded observation is too few: with it the density of ln σ on the
// ridge stays level as σ grows, and with two it falls by one for each e-fold.
func TestPosteriorTailOfSpread(t *testing.T) {
	for text, want := range map[string]float64{"<10 <10 25": 0, "<10 >20 25": 0, "<10 5 25": -1, "1~3 5~9 >2": -1, "1 2 3 <2": -2} {
		s, err := NewCensoredSample(parsePoints(t, text))
		if err != nil {
			t.Fatal(err)
		}
		d := posteriorDensity{sample: s, prior: ReferencePrior()}
		far, further := spreadDensity(&d, 20), spreadDensity(&d, 21)
		if math.Abs(further-far-want) > 1e-6 {
			t.Errorf("%s: ln density falls by %g, want %g", text, further-far, want)
		}
	}
}

// spreadDensity returns ln of the density of u, the logarithm of a spread.
func spreadDensity(d *posteriorDensity, u float64) float64 {
	top, _, _, _ := d.climb(u)
	_, log, _ := d.node(u, top)
	return top + log
}

func TestPriorRefuses(t *testing.T) {
	for want, f := range map[string]func() (Prior, error){
		"bounds of GM 2 to 1: need two positive numbers, the lower first":           func() (Prior, error) { return BoundedPrior(2, 1, 1.1, 4) },
		"bounds of GM 0 to 1: need two positive numbers, the lower first":           func() (Prior, error) { return BoundedPrior(0, 1, 1.1, 4) },
		"bounds of GSD 0.9 to 4: need two numbers of 1 or more, the lower first":    func() (Prior, error) { return BoundedPrior(1, 2, 0.9, 4) },
		"bounds of GSD 1.1 to +Inf: need two numbers of 1 or more, the lower first": func() (Prior, error) { return BoundedPrior(1, 2, 1.1, math.Inf(1)) },
		"median of GM -1 is not a positive number":                                  func() (Prior, error) { return InformedPrior(-1, 2, 1, 2) },
		"spread of GM 1 is not a factor over 1":                                     func() (Prior, error) { return InformedPrior(1, 1, 1, 2) },
		"median of sigma NaN is not a positive number":                              func() (Prior, error) { return InformedPrior(1, 2, math.NaN(), 2) },
		"spread of sigma +Inf is not a factor over 1":                               func() (Prior, error) { return InformedPrior(1, 2, 1, math.Inf(1)) },
	} {
		if _, err := f(); err == nil || err.Error() != want {
			t.Errorf("error %v, want %s", err, want)
		}
	}
}

// The GSD bound of 4 sets the limits of the first sample, whose own GSD is 3.6;
// the second lies well within its bounds; the third is against the floor of GM.
func TestPosteriorWarning(t *testing.T) {
	for _, c := range []struct {
		text            string
		gmLow, gmHigh   float64
		gsdLow, gsdHigh float64
		wants           []string
	}{
		{"0.15 0.27 0.33 0.48 0.61 0.72 1.1 1.9 2.5 0.2 <0.1 <0.1 <0.2 <0.2 <0.5", 0.0025, 25, 1.05, 4, []string{"upper bound of GSD, 4:"}},
		{"1.9 4.2 7.2 0.9 2.3 5.4 1.2 3.3 0.6 2.7", 0.005, 50, 1.05, 8, nil},
		{"<0.1 <0.1 <0.1 <0.1 <0.2 <0.2", 0.0005, 5, 1.05, 4, []string{"lower bound of GM, 0.0005"}},
		{"50 60 70 65", 0.01, 60, 1.05, 4, []string{"upper bound of GM, 60"}},
		{"50 51 52 53", 0.01, 600, 1.3, 4, []string{"lower bound of GSD, 1.3"}},
	} {
		p, err := BoundedPrior(c.gmLow, c.gmHigh, c.gsdLow, c.gsdHigh)
		if err != nil {
			t.Fatal(err)
		}
		got := posteriorOf(t, parsePoints(t, c.text), p).Warning()
		if (got == "") != (c.wants == nil) {
			t.Errorf("%s: warning %q, want %q", c.text, got, c.wants)
		}
		for _, want := range c.wants {
			if !strings.Contains(got, want) {
				t.Errorf("%s: warning %q, want %q", c.text, got, want)
			}
		}
		if got := posteriorOf(t, parsePoints(t, c.text), DefaultPrior(5)).Warning(); got != "" {
			t.Errorf("%s under the default: warning %q", c.text, got)
		}
	}
}
