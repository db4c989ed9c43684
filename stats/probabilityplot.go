package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat"
)

// PlotPoint is a result on a normal probability plot of logarithms.
type PlotPoint struct {
	Value float64 // as measured; the middle, on the log scale, of one between bounds
	Score float64 // normal deviate of its plotting position
}

// ProbabilityPoints returns the points of a normal probability plot of
// logarithms, lowest first. The position of a result is the middle of the step
// that the estimated distribution (EstimateKaplanMeier) makes at it, which
// without censoring is (i − ½)/n; Waller & Turnbull (1992), "Probability
// plotting with censored data", The American Statistician 46:5–12, from memory.
// A step between two bounds is plotted at the middle of their logs; results
// known from one side alone move the positions and are not plotted. It fails
// where EstimateKaplanMeier does.
func ProbabilityPoints(points []Interval) ([]PlotPoint, error) {
	k, err := EstimateKaplanMeier(points)
	if err != nil {
		return nil, err
	}
	var plotted []PlotPoint
	below := 0.0
	for _, s := range k.Steps {
		score := mathext.NormalQuantile(below + s.Share/2)
		below += s.Share
		if s.Low == 0 || math.IsInf(s.High, 1) {
			continue
		}
		middle := math.Sqrt(s.Low) * math.Sqrt(s.High)
		for range s.plotted(points) {
			plotted = append(plotted, PlotPoint{middle, score})
		}
	}
	return plotted, nil
}

// ProbabilityPlot returns the correlation r of a normal probability plot of
// logarithms, between the logs of its points and their normal deviates. It
// fails with ErrTooFew under three plotted results and with ErrNoSpread where
// all of them are equal.
func ProbabilityPlot(points []Interval) (r float64, err error) {
	plotted, err := ProbabilityPoints(points)
	if err != nil {
		return 0, err
	}
	var logs, scores []float64
	for _, p := range plotted {
		logs, scores = append(logs, math.Log(p.Value)), append(scores, p.Score)
	}
	switch {
	case len(logs) < 3:
		return 0, fmt.Errorf("%w: %d known between bounds, need 3 or more for a probability plot", ErrTooFew, len(logs))
	case logs[0] == logs[len(logs)-1]:
		return 0, ErrNoSpread
	}
	return stat.Correlation(logs, scores, nil), nil
}

// plotted returns how many results the step stands for: those within it, or
// one where several only overlap in it.
func (s Step) plotted(points []Interval) int {
	n := 0
	for _, x := range points {
		if s.Low <= x.Low && x.High <= s.High {
			n++
		}
	}
	return max(1, n)
}
