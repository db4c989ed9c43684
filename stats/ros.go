package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// OrderStatistics is the robust regression on order statistics: a line through
// the logs of detected values on their normal scores stands in for the results
// under reporting limits; detected values stay as they are.
type OrderStatistics struct {
	N, NCensored int
	Mu, Sigma    float64 // intercept and slope of the line: of ln x
	Correlation  float64 // of the detected values with their normal scores
	Mean, SD     float64 // of the values with the stand-ins; SD has divisor N − 1
	LogMean      float64 // of their logs
	LogSD        float64
	Values       []float64 // detected values and stand-ins, from the lowest up
	Warnings     []string
}

// EstimateOrderStatistics returns the regression with the plotting positions of
// Helsel & Cohn (1988), "Estimation of descriptive statistics for multiply
// censored water quality data", Water Resources Research 24:1997–2004, which
// serve for more than one reporting limit. A value at a reporting limit counts
// as over it. Stand-ins can come out over their limit; only their number and
// spread are meant. It fails with ErrTooFew for fewer than two different
// detected values, and for a result with a bound from below.
func EstimateOrderStatistics(points []Interval) (OrderStatistics, error) {
	o := OrderStatistics{N: len(points)}
	var values, limits []float64
	for i, x := range points {
		if err := checkObservation(x); err != nil {
			return OrderStatistics{}, fmt.Errorf("observation %d: %w", i+1, err)
		}
		if err := rankable(x); err != nil {
			return OrderStatistics{}, fmt.Errorf("observation %d: %w", i+1, err)
		}
		if x.Censored() {
			limits = append(limits, x.High)
		} else {
			values = append(values, x.High)
		}
	}
	o.NCensored = len(limits)
	slices.Sort(values)
	slices.Sort(limits)
	if len(values) == 0 || values[0] == values[len(values)-1] {
		return OrderStatistics{}, fmt.Errorf("%w: need two different detected values for a line", ErrTooFew)
	}
	detected, under := plottingPositions(values, limits)
	o.fit(values, detected)
	o.Values = values
	for _, position := range under {
		o.Values = append(o.Values, math.Exp(o.Mu+o.Sigma*mathext.NormalQuantile(position)))
	}
	slices.Sort(o.Values)
	o.summarise()
	return o, nil
}

// plottingPositions returns the share of the distribution that each detected
// value, and each result under a limit, is taken to stand at; both arguments
// sorted. With A values from limit j up to the next and B results, values or
// not, under limit j, the chance of reaching limit j is
//
//	eⱼ = eⱼ₊₁ + A/(A + B)·(1 − eⱼ₊₁),  e = 0 past the last limit
//
// The values from limit j up to the next stand evenly between 1 − eⱼ and
// 1 − eⱼ₊₁, and the results under limit j evenly between 0 and 1 − eⱼ.
func plottingPositions(values, limits []float64) (detected, under []float64) {
	detected, under = make([]float64, len(values)), make([]float64, len(limits))
	over := 0.0 // eⱼ₊₁
	end := len(values)
	distinct := slices.Compact(slices.Clone(limits))
	for j := len(distinct) - 1; j >= -1; j-- {
		limit := 0.0
		if j >= 0 {
			limit = distinct[j]
		}
		start, _ := slices.BinarySearch(values, limit)
		from, _ := slices.BinarySearch(limits, limit)
		to := from
		for to < len(limits) && limits[to] == limit {
			to++
		}
		a, b := float64(end-start), float64(start+to)
		reached := over
		if a > 0 {
			reached += a / (a + b) * (1 - over)
		}
		for i := start; i < end; i++ {
			detected[i] = 1 - reached + (reached-over)*float64(i-start+1)/(a+1)
		}
		for i := from; i < to; i++ {
			under[i] = (1 - reached) * float64(i-from+1) / float64(to-from+1)
		}
		over, end = reached, start
	}
	return detected, under
}

// fit fills in the line of ln value on the normal score of its position.
func (o *OrderStatistics) fit(values, positions []float64) {
	ys, scores := make([]float64, len(values)), make([]float64, len(values))
	for i, x := range values {
		ys[i], scores[i] = math.Log(x), mathext.NormalQuantile(positions[i])
	}
	offset, syy := centre(ys)
	scoreOffset, szz := centre(scores)
	var szy float64
	for i := range ys {
		szy += float64(((scores[i] - scores[0]) - scoreOffset) * ((ys[i] - ys[0]) - offset))
	}
	o.Sigma = szy / szz
	o.Mu = ys[0] + offset - o.Sigma*(scores[0]+scoreOffset)
	o.Correlation = math.Min(1, szy/math.Sqrt(szz*syy))
}

// summarise fills in what follows from the values.
func (o *OrderStatistics) summarise() {
	logs := make([]float64, o.N)
	for i, x := range o.Values {
		logs[i] = math.Log(x)
	}
	divisor := float64(o.N - 1)
	offset, ss := centre(o.Values)
	o.Mean, o.SD = o.Values[0]+offset, math.Sqrt(ss/divisor)
	offset, ss = centre(logs)
	o.LogMean, o.LogSD = logs[0]+offset, math.Sqrt(ss/divisor)
	if detected := o.N - o.NCensored; detected < 3 || float64(o.NCensored) > 0.8*float64(o.N) {
		o.Warnings = append(o.Warnings, fmt.Sprintf(
			"the line rests on %d of %d results: a rough guide with fewer than 3, or with more than 80 %% not detected",
			detected, o.N))
	}
}

// Percentile returns the value that fraction of the results and stand-ins lie
// under, the i-th of N standing at i/(N + 1), with a straight line between
// neighbours and the outermost beyond.
func (o OrderStatistics) Percentile(fraction float64) float64 {
	at := fraction*float64(o.N+1) - 1
	if at <= 0 {
		return o.Values[0]
	}
	i := int(at)
	if i >= o.N-1 {
		return o.Values[o.N-1]
	}
	return o.Values[i] + (at-float64(i))*(o.Values[i+1]-o.Values[i])
}
