package group

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"airtally/limits"
	"airtally/stats"
)

// The percentile, confidence and share of shifts that outcomes rest on,
// whatever else is asked for.
const (
	judgedPercentile = 0.95
	judgedConfidence = 0.95
	lesserConfidence = 0.70 // that of EN 689
	judgedExceedance = 1 - judgedPercentile
)

// Judge returns what the shifts of one group say against a limit > 0. It fails
// for no shifts, for an exposure that is zero or no interval of positive
// numbers, and for a limit or options out of range. Groups may be judged at the
// same time.
func Judge(shifts []Shift, limit float64, o Options) (*Statistics, error) {
	if err := checkLimit(limit); err != nil {
		return nil, err
	}
	s, err := NewSample(shifts, o)
	if err != nil {
		return nil, err
	}
	return s.Against(limit)
}

// Sample is the shifts of one group with all that they say before a limit is
// known, so that to judge them against several limits is hardly more work than
// against one. It is not for use by several goroutines at once.
type Sample struct{ before judging }

// NewSample prepares shifts; it fails as Judge does.
func NewSample(shifts []Shift, o Options) (*Sample, error) {
	j, err := newJudging(shifts, o)
	if err != nil {
		return nil, err
	}
	j.describe()
	j.estimate()
	j.posterior()
	j.betweenWorkers()
	j.trend()
	j.crossChecks()
	return &Sample{*j}, nil
}

// Against judges the shifts against a limit > 0.
func (s *Sample) Against(limit float64) (*Statistics, error) {
	if err := checkLimit(limit); err != nil {
		return nil, err
	}
	j := s.before
	j.Limit, j.remarks = limit, slices.Clone(j.remarks)
	j.exceedance()
	j.posteriorAgainst()
	j.en689()
	j.workersOver()
	j.decide()
	j.Why = j.why()
	j.Notes = j.notes()
	judged := j.Statistics // on its own: it outlives the posterior
	return &judged, nil
}

func checkLimit(limit float64) error {
	if !(limit > 0) || math.IsInf(limit, 1) {
		return fmt.Errorf("limit is %g, need a positive finite number", limit)
	}
	return nil
}

// judging is a group on its way from shifts to statistics.
type judging struct {
	Statistics
	shifts     []Shift
	exposures  []stats.Interval
	options    Options
	sample     *stats.CensoredSample
	lognormal  fitted           // nil where none is estimated
	conclusion *stats.Posterior // behind Bayes
	prior      stats.Prior      // of Bayes
	improper   error            // why there is no posterior without a limit
	remarks    []string         // for Notes, found on the way
}

func newJudging(shifts []Shift, o Options) (*judging, error) {
	if len(shifts) == 0 {
		return nil, errors.New("no exposures")
	}
	if o.Percentile == 0 {
		o.Percentile = judgedPercentile
	}
	if o.Confidence == 0 {
		o.Confidence = judgedConfidence
	}
	if !(o.Percentile > 0 && o.Percentile < 1) {
		return nil, fmt.Errorf("percentile %g is not a fraction between 0 and 1", o.Percentile)
	}
	if !(o.Confidence >= 0.5 && o.Confidence < 1) {
		return nil, fmt.Errorf("confidence %g is not a fraction from 0.5 to under 1", o.Confidence)
	}
	j := &judging{shifts: shifts, options: o}
	for _, s := range shifts {
		if err := checkExposure(s.Exposure); err != nil {
			return nil, fmt.Errorf("%s: %w", s.name(), err)
		}
		j.exposures = append(j.exposures, s.Exposure)
	}
	j.Percentile, j.Confidence = o.Percentile, o.Confidence
	var err error
	j.sample, err = stats.NewCensoredSample(j.exposures)
	return j, err
}

// checkExposure returns an error unless x can be the exposure of a shift.
func checkExposure(x stats.Interval) error {
	switch {
	case math.IsNaN(x.Low) || math.IsNaN(x.High) || x.Low < 0 || x.Low > x.High || math.IsInf(x.Low, 1):
		return fmt.Errorf("%g to %g is not an exposure: need a number over 0, or bounds with the lower first", x.Low, x.High)
	case math.IsNaN(x.Value) || x.Value < x.Low || x.Value > x.High || math.IsInf(x.Value, 1):
		return fmt.Errorf("value %g is not within its bounds %g to %g", x.Value, x.Low, x.High)
	case x.High == 0:
		return errors.New("an exposure of 0 is not a result: state the reporting limit it is under")
	}
	return nil
}

// name returns what people call the shift: worker, shift and date, each once,
// for shifts are named after either where they have no name of their own.
func (s Shift) name() string {
	parts := []string{"worker not named"}
	if s.Worker != "" {
		parts[0] = s.Worker
	}
	switch {
	case s.Worker != "" && strings.HasPrefix(s.Name, s.Worker):
		parts[0] = s.Name
	case s.Name != "":
		parts = append(parts, "shift "+s.Name)
	}
	if s.Date != "" && !strings.Contains(s.Name, s.Date) {
		parts = append(parts, s.Date)
	}
	return strings.Join(parts, ", ")
}

// describe fills in what needs no distribution.
func (j *judging) describe() {
	workers := map[string]bool{}
	values := make([]float64, 0, len(j.shifts))
	high := 0.0
	for _, s := range j.shifts {
		if s.Worker != "" {
			workers[s.Worker] = true
		}
		if s.Exposure.Censored() {
			j.NCensored++
		}
		if s.History {
			j.NHistory++
		}
		values = append(values, s.Exposure.Value)
		high = math.Max(high, s.Exposure.High)
	}
	slices.Sort(values)
	n := len(values)
	j.N, j.Workers = n, len(workers)
	j.Min, j.Max, j.MaxHigh = finite(values[0]), finite(values[n-1]), finite(high)
	j.Median = finite(values[(n-1)/2]/2 + values[n/2]/2)
}

// finite returns a number, missing where it is beyond the greatest one or none.
func finite(v float64) stats.Optional {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return stats.Optional{}
	}
	return stats.Some(v)
}

// estimateOf returns an estimate with its limits, missing where they failed.
func estimateOf(value float64, limits stats.OneSided, err error) Estimate {
	e := Estimate{Value: finite(value)}
	if err == nil {
		e.LCL, e.UCL = finite(limits.Lower), finite(limits.Upper)
	}
	return e
}

// fitted is a lognormal estimated from data, by sample moments or by maximum
// likelihood.
type fitted interface {
	GM() float64
	GSD() float64
	Mean() float64
	Percentile(fraction float64) float64
	Exceedance(limit float64) float64
	GMLimits(confidence float64) (stats.OneSided, error)
	MeanLimits(confidence float64) (stats.MeanLimits, error)
	PercentileLimits(fraction, confidence float64) (stats.OneSided, error)
	ExceedanceLimits(limit, confidence float64) (stats.OneSided, error)
}

// estimate fills in the lognormal and its limits: exact ones where every value
// is known, else those of the profile likelihood.
func (j *judging) estimate() {
	j.Method = None
	if j.NCensored == 0 {
		d, err := stats.NewLognormal(j.knownValues())
		if err != nil {
			j.WhyNone = j.noEstimates(err)
			return
		}
		j.Method = Exact
		j.Mu, j.Sigma = finite(d.LogMean), finite(d.LogSD)
		j.figures(d)
		j.shape()
		return
	}
	fit, err := j.sample.Fit()
	if err != nil {
		j.WhyNone = j.noEstimates(err)
		return
	}
	j.Method = MLE
	j.Mu, j.Sigma, j.LogLik = finite(fit.Mu), finite(fit.Sigma), finite(fit.LogLik)
	j.figures(fit)
	j.shape()
}

// noEstimates says why no lognormal can be told.
func (j *judging) noEstimates(err error) string {
	switch {
	case j.N == 1:
		return "there is only one exposure"
	case errors.Is(err, stats.ErrNoSpread):
		return "all exposures are equal"
	case !errors.Is(err, stats.ErrNoMaximum):
		return err.Error()
	case j.NCensored == j.N:
		return "no exposure is known exactly, and nothing tells how they spread"
	}
	return "one and the same figure agrees with every exposure, so that nothing tells how they spread"
}

// knownValues returns the exposures as numbers, where all are known exactly.
func (j *judging) knownValues() []float64 {
	values := make([]float64, len(j.exposures))
	for i, x := range j.exposures {
		values[i] = x.High
	}
	return values
}

// figures fills in the estimates of a lognormal that need no limit.
func (j *judging) figures(d fitted) {
	j.lognormal = d
	gm, gmErr := d.GMLimits(judgedConfidence)
	j.GM = estimateOf(d.GM(), gm, gmErr)
	j.GSD = finite(d.GSD())
	mean, err := d.MeanLimits(judgedConfidence)
	j.AM = Estimate{Value: finite(d.Mean())}
	if err == nil {
		j.AM.LCL, j.AM.UCL = finite(mean.Lower.Or(math.NaN())), finite(mean.Upper.Or(math.NaN()))
	}
	if mean.Why != "" {
		j.remarks = append(j.remarks, "Confidence limits of the arithmetic mean are "+mean.Why+".")
	}
	p95, p95Err := d.PercentileLimits(judgedPercentile, judgedConfidence)
	j.P95 = estimateOf(d.Percentile(judgedPercentile), p95, p95Err)
	lesser, lesserErr := d.PercentileLimits(judgedPercentile, lesserConfidence)
	if lesserErr == nil {
		j.P95UCL70 = finite(lesser.Upper)
	}
	j.Asked = j.P95
	var askedErr error
	if j.Percentile != judgedPercentile || j.Confidence != judgedConfidence {
		var asked stats.OneSided
		asked, askedErr = d.PercentileLimits(j.Percentile, j.Confidence)
		j.Asked = estimateOf(d.Percentile(j.Percentile), asked, askedErr)
	}
	j.remarkMissing(errors.Join(gmErr, err, p95Err, lesserErr, askedErr))
}

// exceedance fills in the fraction of shifts over the limit.
func (j *judging) exceedance() {
	if j.lognormal == nil {
		return
	}
	over, err := j.lognormal.ExceedanceLimits(j.Limit, judgedConfidence)
	j.Exceedance = estimateOf(j.lognormal.Exceedance(j.Limit), over, err)
	j.remarkMissing(err)
}

func (j *judging) remarkMissing(failed error) {
	if failed != nil {
		j.remarks = append(j.remarks, "A confidence limit is missing: "+failed.Error()+".")
	}
}

// shape fills in how well a lognormal agrees with the exposures.
func (j *judging) shape() {
	if r, err := stats.ProbabilityPlot(j.exposures); err == nil {
		j.Plot = finite(r)
	}
	if j.Method != Exact {
		return
	}
	if w, p, err := stats.ShapiroWilk(logs(j.knownValues())); err == nil {
		j.W, j.WP = finite(w), finite(p)
	}
}

func logs(values []float64) []float64 {
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = math.Log(v)
	}
	return out
}

// en689 fills in the test of EN 689 that the number of shifts allows.
func (j *judging) en689() {
	if j.N < 6 {
		t, err := stats.PreliminaryEN689(j.exposures, j.Limit)
		if err == nil {
			j.EN689 = t
		}
		return
	}
	j.EN689 = stats.EN689Test{Stage: stats.EN689None, N: j.N, Outcome: stats.EN689Undecided, Why: "no geometric standard deviation can be told"}
	if j.Method == None {
		return
	}
	factor := stats.EN689Coefficient(j.N)
	if !factor.Known {
		k, err := stats.ToleranceFactor(j.N, judgedPercentile, lesserConfidence)
		if err != nil {
			return
		}
		factor = stats.Some(k)
	}
	if t, err := stats.GroupEN689(j.N, j.GM.Value.Value, j.GSD.Value, j.Limit, factor.Value); err == nil {
		j.EN689 = t
	}
}

// crossChecks fills in the estimates that suppose less, where asked for.
func (j *judging) crossChecks() {
	if j.options.KaplanMeier {
		k, err := stats.EstimateKaplanMeier(j.exposures)
		if err == nil {
			j.KaplanMeier = &k
		}
		j.remarkOn("Kaplan-Meier", k.Warnings, err)
	}
	if j.options.OrderStatistics {
		o, err := stats.EstimateOrderStatistics(j.exposures)
		if err == nil {
			j.Ordered = &o
		}
		j.remarkOn("Regression on order statistics", o.Warnings, err)
	}
}

// remarkOn notes what a method warns of, or that it failed.
func (j *judging) remarkOn(method string, warnings []string, err error) {
	if err != nil {
		j.remarks = append(j.remarks, method+" is missing: "+err.Error()+".")
		return
	}
	for _, w := range warnings {
		j.remarks = append(j.remarks, method+": "+w+".")
	}
}

// decide fills in the outcome and what it rests on: the exact limits of the
// 95th percentile where every value is known, else those of the posterior.
//
// The default prior is our own, and with few shifts it would say more than
// they do. Under six shifts, the number from which EN 689 trusts statistics,
// a posterior that rests on it decides nothing: there the preliminary test of
// EN 689 decides, if it can.
func (j *judging) decide() {
	j.Outcome, j.DecidedBy = limits.Undecided, ByNothing
	switch {
	case j.Method == Exact:
		j.DecidedBy, j.Outcome = ByExact, j.against(j.P95)
	case j.Bayes != nil && (j.N >= 6 || !j.byDefault()):
		j.DecidedBy, j.Outcome = ByPosterior, j.against(j.Bayes.P95)
	case j.EN689.Stage == stats.EN689Preliminary && j.EN689.Outcome != stats.EN689Undecided:
		j.DecidedBy, j.Outcome = ByPreliminary, limits.Outcome(j.EN689.Outcome)
	}
}

// byDefault reports whether the posterior rests on the default prior, chosen
// for want of a better one and not asked for.
func (j *judging) byDefault() bool {
	return j.options.Prior == nil && j.prior.String() == stats.DefaultPrior(j.Limit).String()
}

// against returns the outcome that the limits of a percentile support.
func (j *judging) against(p Estimate) limits.Outcome {
	switch {
	case p.UCL.Known && p.UCL.Value <= j.Limit:
		return limits.Below
	case p.LCL.Known && p.LCL.Value > j.Limit:
		return limits.Exceeds
	}
	return limits.Undecided
}
