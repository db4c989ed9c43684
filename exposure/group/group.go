// Package group judges similar exposure groups: from the exposures of a
// group's workers over their shifts, exact or known between bounds, to
// estimates, their confidence limits and an outcome against a limit.
package group

import (
	"airtally/limits"
	"airtally/stats"
)

// Shift is the exposure of one worker in one shift.
type Shift struct {
	Worker   string         // "" where it is not known who
	Date     string         // "2026-03-02"; "" where it is not known
	Name     string         // of the shift; "" in a plain list
	Exposure stats.Interval // in the unit of the limit
	History  bool           // of an earlier survey
}

// Options say what is asked of a group. Fractions are 0 to 1.
type Options struct {
	Percentile      float64      // of pq; 0 means 0.95
	Confidence      float64      // of the limits of pq; 0 means 0.95
	Prior           *stats.Prior // nil: the reference prior where it is proper, else the default
	KaplanMeier     bool         // cross-checks wanted
	OrderStatistics bool
}

// Method is how a group's lognormal was estimated.
type Method string

// The methods of estimation.
const (
	Exact Method = "exact" // every value is known: sample moments of the logs
	MLE   Method = "mle"   // some are known between bounds: maximum likelihood
	None  Method = "none"  // no lognormal can be told from the data
)

// DecidedBy is what the outcome of a group rests on.
type DecidedBy string

// What an outcome can rest on.
const (
	ByExact       DecidedBy = "exact"       // exact limits of the 95th percentile
	ByPosterior   DecidedBy = "posterior"   // posterior limits of the 95th percentile
	ByPreliminary DecidedBy = "preliminary" // the preliminary test of EN 689
	ByNothing     DecidedBy = "none"
)

// Estimate is a figure with its one-sided confidence limits; a part that
// cannot be told is missing.
type Estimate struct{ Value, LCL, UCL stats.Optional }

// Statistics is what a group's shifts say about it. Limits are one-sided 95 %
// unless said otherwise.
type Statistics struct {
	N, Workers, NCensored, NHistory int
	Limit                           float64

	Min, Median, Max stats.Optional // of the values
	MaxHigh          stats.Optional // of the upper bounds; missing where one is unbounded

	Method     Method
	WhyNone    string // why there are no estimates; "" where there are
	GM         Estimate
	GSD        stats.Optional
	AM         Estimate
	P95        Estimate
	P95UCL70   stats.Optional
	Exceedance Estimate // fraction of shifts over the limit
	Mu, Sigma  stats.Optional
	LogLik     stats.Optional
	W, WP      stats.Optional // Shapiro-Wilk on the logs, exact values alone
	Plot       stats.Optional // correlation of the probability plot

	Percentile, Confidence float64 // of Asked, fractions
	Asked                  Estimate

	Between     *Between // nil where workers cannot be told apart
	EN689       stats.EN689Test
	Bayes       *Bayes // nil where no posterior exists
	KaplanMeier *stats.KaplanMeier
	Ordered     *stats.OrderStatistics
	Trend       *Trend

	DecidedBy DecidedBy
	Outcome   limits.Outcome
	Why       string   // one or more sentences
	Notes     []string // what a reader should also know
}

// Between tells the workers of a group apart.
type Between struct {
	stats.WorkerVariance
	Share           stats.Optional
	GroupExceedance stats.Optional // of all shifts of all workers
	Worker          stats.Optional // probability that a worker is over the limit on more than 5 % of days
}

// Bayes is what the posterior says, medians and quantiles.
type Bayes struct {
	Prior      string // its name and figures
	GM, GSD    stats.Optional
	P95        Estimate
	P95UCL70   stats.Optional
	Exceedance Estimate
	OverLimit  stats.Optional // probability that the 95th percentile is over the limit
	OverHalf   stats.Optional
	OverTenth  stats.Optional
	Warning    string // "" unless the posterior piles up on a bound of the prior
}

// Trend is how a group's exposures change with time.
type Trend struct {
	Linear   *stats.LogTrend // exact values alone
	Monotone *stats.MonotoneTrend
	PerYear  Estimate // factor by which exposures change in a year
}
