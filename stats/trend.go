package stats

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// LogTrend is the straight line of ln x on time.
type LogTrend struct {
	N              int
	Slope          float64 // of ln x, per unit of time
	StandardError  float64
	P              float64 // two-sided, of no trend
	Confidence     float64
	SlopeLow       float64 // two-sided limits of Slope
	SlopeHigh      float64
	Factor         float64 // exp(Slope): what the exposure is multiplied by in one unit of time
	FactorLow      float64
	FactorHigh     float64
	ResidualSpread float64 // standard deviation of ln x about the line
	Warnings       []string
}

// FitLogTrend fits ln x = a + b·t by least squares, with limits of b by
// Student's t on n − 2 degrees of freedom. It supposes the same spread at all
// times and independent values. It fails with ErrTooFew for fewer than three
// values or for values all of one time, and for a value that is not positive
// or a time that is not finite.
func FitLogTrend(times, values []float64, confidence float64) (LogTrend, error) {
	if err := checkTimes(times, len(values)); err != nil {
		return LogTrend{}, err
	}
	if !(confidence > 0 && confidence < 1) {
		return LogTrend{}, fmt.Errorf("confidence %g is not between 0 and 1", confidence)
	}
	ys, err := logGroups([][]float64{values})
	if err != nil {
		return LogTrend{}, err
	}
	n := len(values)
	if n < 3 {
		return LogTrend{}, fmt.Errorf("%w: %d values, need 3 or more for a line", ErrTooFew, n)
	}
	timeOffset, sxx := centre(times)
	if sxx == 0 {
		return LogTrend{}, fmt.Errorf("%w: all values are of one time", ErrTooFew)
	}
	offset, _ := centre(ys[0])
	var sxy, sse float64
	for i, y := range ys[0] {
		sxy += float64(((times[i] - times[0]) - timeOffset) * ((y - ys[0][0]) - offset))
	}
	l := LogTrend{N: n, Slope: sxy / sxx, Confidence: confidence, P: 1}
	for i, y := range ys[0] {
		e := (y - ys[0][0]) - offset - float64(l.Slope*((times[i]-times[0])-timeOffset))
		sse += float64(e * e)
	}
	l.finish(sse, sxx)
	return l, nil
}

// finish fills in what follows from the slope and the sum of squared residuals.
func (l *LogTrend) finish(sse, sxx float64) {
	df := float64(l.N - 2)
	l.ResidualSpread = math.Sqrt(sse / df)
	l.StandardError = l.ResidualSpread / math.Sqrt(sxx)
	switch {
	case l.StandardError > 0:
		l.P = studentTwoSided(l.Slope/l.StandardError, df)
	case l.Slope != 0:
		l.P = 0
	}
	half := studentAbove((1-l.Confidence)/2, df) * l.StandardError
	l.SlopeLow, l.SlopeHigh = l.Slope-half, l.Slope+half
	l.Factor, l.FactorLow, l.FactorHigh = math.Exp(l.Slope), math.Exp(l.SlopeLow), math.Exp(l.SlopeHigh)
	if l.N < 6 {
		l.Warnings = append(l.Warnings, fmt.Sprintf("%d values: a trend is hard to tell from chance", l.N))
	}
}

// studentAbove returns t with P(T > t) = tail < 1/2, for df degrees of freedom.
func studentAbove(tail, df float64) float64 {
	x := mathext.InvRegIncBeta(df/2, 0.5, 2*tail)
	return math.Sqrt(df * (1 - x) / x)
}

// checkTimes returns an error unless there is a finite time for each value.
func checkTimes(times []float64, values int) error {
	if len(times) != values {
		return fmt.Errorf("%d times for %d values", len(times), values)
	}
	for i, t := range times {
		if math.IsNaN(t) || math.IsInf(t, 0) {
			return fmt.Errorf("time %d is not a finite number", i+1)
		}
	}
	return nil
}

// MonotoneTrend is a test of whether values rise or fall with time, by their
// order alone.
type MonotoneTrend struct {
	TestResult
	N        int
	S        int      // later values above earlier ones, less those below
	Variance float64  // of S without a trend
	Z        float64  // (S ∓ 1)/√Variance
	Exact    bool     // P counts all orders; else it is from Z
	Tau      Optional // Kendall's τ_b; missing where all values or all times are equal
	Slope    Optional // Sen's median slope; missing where values were not detected
}

// exactOrders is the largest number of values whose orders are counted.
const exactOrders = 60

// MannKendall tests for a trend of the values over time: Mann (1945),
// Econometrica 13:245–259; Kendall (1975), "Rank Correlation Methods", also for
// equal times; with Sen's slope (1968, Journal of the American Statistical
// Association 63:1379–1389). Without ties P counts all orders; with ties it is
// from the normal with continuity correction (Gilbert 1987, "Statistical
// Methods for Environmental Pollution Monitoring", section 16.4), which is
// rough for under ten values.
//
// Results under a reporting limit, and values under the largest such limit,
// count as equal: the test cannot tell them apart. A result known only from
// below or between positive bounds cannot be ranked: an error.
func MannKendall(times []float64, values []Interval) (MonotoneTrend, error) {
	if err := checkTimes(times, len(values)); err != nil {
		return MonotoneTrend{}, err
	}
	n := len(values)
	if n < 3 {
		return MonotoneTrend{}, fmt.Errorf("%w: %d values, need 3 or more for a trend", ErrTooFew, n)
	}
	xs, censored, err := commonFloor(values)
	if err != nil {
		return MonotoneTrend{}, err
	}
	m := MonotoneTrend{N: n}
	var slopes []float64
	for i := range n {
		for j := i + 1; j < n; j++ {
			m.S += orderSign(times[j]-times[i]) * orderSign(xs[j]-xs[i])
			if dt := times[j] - times[i]; dt != 0 && !censored {
				slopes = append(slopes, (xs[j]-xs[i])/dt)
			}
		}
	}
	if len(slopes) > 0 {
		m.Slope = Some(medianSlope(slopes))
	}
	m.judge(tieRuns(times), tieRuns(xs), censored)
	return m, nil
}

// judge fills in the test from S and the lengths of runs of equal times and
// equal values.
func (m *MonotoneTrend) judge(timeRuns, valueRuns []float64, censored bool) {
	n := float64(m.N)
	pairs := n * (n - 1) / 2
	var t, u tieSums
	t.add(timeRuns)
	u.add(valueRuns)
	m.Variance = (n*(n-1)*(2*n+5)-t.cubic-u.cubic)/18 +
		t.triples*u.triples/(9*n*(n-1)*(n-2)) + t.pairs*u.pairs/(2*n*(n-1))
	if free := (pairs - t.pairs/2) * (pairs - u.pairs/2); free > 0 {
		m.Tau = Some(float64(m.S) / math.Sqrt(free))
	}
	m.P = 1
	if m.Variance > 0 && m.S != 0 {
		m.Z = (float64(m.S) - float64(orderSign(float64(m.S)))) / math.Sqrt(m.Variance)
		m.P = math.Erfc(math.Abs(m.Z) / math.Sqrt2)
	}
	m.Rule, m.Statistic = "rank test of trend of Mann (1945) and Kendall (1975), normal P", m.Z
	if t.pairs == 0 && u.pairs == 0 && m.N <= exactOrders {
		m.Exact, m.P = true, exactKendall(m.N, m.S)
		m.Rule, m.Statistic = "rank test of trend of Mann (1945) and Kendall (1975), exact P", float64(m.S)
	} else if m.N < 10 {
		m.Warnings = append(m.Warnings, fmt.Sprintf("%d values with ties: P is approximate under 10", m.N))
	}
	if censored {
		m.Warnings = append(m.Warnings,
			"values under the largest reporting limit count as equal; no slope is given")
	}
}

// tieSums are the sums over runs of t equal entries that Kendall's variance takes.
type tieSums struct {
	pairs   float64 // Σ t(t − 1)
	triples float64 // Σ t(t − 1)(t − 2)
	cubic   float64 // Σ t(t − 1)(2t + 5)
}

func (s *tieSums) add(runs []float64) {
	for _, t := range runs {
		s.pairs += t * (t - 1)
		s.triples += t * (t - 1) * (t - 2)
		s.cubic += t * (t - 1) * (2*t + 5)
	}
}

// commonFloor returns one number for each result: its value, or 0 for all that
// lie under the largest reporting limit, if any.
func commonFloor(values []Interval) (xs []float64, censored bool, err error) {
	floor := 0.0
	for i, x := range values {
		if err := rankable(x); err != nil {
			return nil, false, fmt.Errorf("result %d: %w", i+1, err)
		}
		if x.Censored() {
			floor, censored = math.Max(floor, x.High), true
		}
	}
	xs = make([]float64, len(values))
	for i, x := range values {
		if !x.Censored() && x.High >= floor {
			xs[i] = x.High
		}
	}
	return xs, censored, nil
}

// tieRuns returns the lengths of the runs of equal numbers.
func tieRuns(xs []float64) []float64 {
	sorted := slices.Sorted(slices.Values(xs))
	var lengths []float64
	for start := 0; start < len(sorted); {
		end := start
		for end < len(sorted) && sorted[end] == sorted[start] {
			end++
		}
		lengths = append(lengths, float64(end-start))
		start = end
	}
	return lengths
}

// exactKendall returns the two-sided P of S over all orders of n values
// without ties. The number of orders with i pairs out of order is built up one
// value at a time: the m-th can pass 0 to m − 1 earlier ones, each as likely.
func exactKendall(n, s int) float64 {
	chance := []float64{1}
	for m := 2; m <= n; m++ {
		next := make([]float64, len(chance)+m-1)
		for i, c := range chance {
			for passed := range m {
				next[i+passed] += c / float64(m)
			}
		}
		chance = next
	}
	most := n * (n - 1) / 2
	discordant := (most - max(s, -s)) / 2
	var tail float64
	for _, c := range chance[:discordant+1] {
		tail += c
	}
	return math.Min(1, 2*tail)
}

// orderSign returns −1, 0 or 1.
func orderSign(x float64) int { return cmp.Compare(x, 0) }

// medianSlope returns the median.
func medianSlope(xs []float64) float64 {
	slices.Sort(xs)
	n := len(xs)
	return xs[(n-1)/2] + (xs[n/2]-xs[(n-1)/2])/2
}
