package group

import (
	"errors"
	"fmt"

	"airtally/stats"
)

// posterior fills in what the data say together with the prior asked for, else
// with the reference prior.
func (j *judging) posterior() {
	prior := stats.ReferencePrior()
	if j.options.Prior != nil {
		prior = *j.options.Prior
	}
	j.improper = j.conclude(prior)
}

// conclude fills in the posterior under a prior, and its figures that need no
// limit.
func (j *judging) conclude(prior stats.Prior) error {
	q, err := stats.NewPosterior(j.sample, prior)
	if err != nil {
		return err
	}
	j.conclusion, j.prior = q, prior
	j.Bayes = &Bayes{
		Prior:    prior.String(),
		GM:       finite(q.GM(0.5)),
		GSD:      finite(q.GSD(0.5)),
		P95:      quantiles(func(p float64) float64 { return q.Percentile(judgedPercentile, p) }),
		P95UCL70: finite(q.Percentile(judgedPercentile, lesserConfidence)),
		Warning:  q.Warning(),
	}
	if prior.Figures() != "" {
		j.Bayes.Prior += ": " + prior.Figures()
	}
	return nil
}

// posteriorAgainst fills in what the posterior says of the limit. The default
// prior, which rests on the limit, stands in for a reference prior without a
// posterior.
func (j *judging) posteriorAgainst() {
	failed := j.improper
	if j.Bayes == nil && j.options.Prior == nil {
		failed = errors.Join(failed, j.conclude(stats.DefaultPrior(j.Limit)))
	}
	if j.Bayes == nil {
		j.remarks = append(j.remarks, fmt.Sprintf("There is no posterior: %v.", failed))
		return
	}
	q, b := j.conclusion, *j.Bayes
	b.Exceedance = quantiles(func(p float64) float64 { return q.Exceedance(j.Limit, p) })
	b.OverLimit = finite(q.Over(judgedPercentile, j.Limit))
	b.OverHalf = finite(q.Over(judgedPercentile, j.Limit/2))
	b.OverTenth = finite(q.Over(judgedPercentile, j.Limit/10))
	j.Bayes = &b
}

// quantiles returns the median of a figure and its limits.
func quantiles(of func(p float64) float64) Estimate {
	return Estimate{Value: finite(of(0.5)), LCL: finite(of(1 - judgedConfidence)), UCL: finite(of(judgedConfidence))}
}
