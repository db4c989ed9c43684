package group

import (
	"errors"
	"fmt"

	"airtally/stats"
)

// posterior fills in what the data say together with a prior: the one asked
// for, else the reference prior where that has a posterior, else the default.
func (j *judging) posterior() {
	choices := []stats.Prior{stats.ReferencePrior(), stats.DefaultPrior(j.Limit)}
	if j.options.Prior != nil {
		choices = []stats.Prior{*j.options.Prior}
	}
	var failed error
	for _, prior := range choices {
		q, err := stats.NewPosterior(j.sample, prior)
		if err == nil {
			j.prior = prior
			j.Bayes = j.posteriorFigures(q, prior)
			return
		}
		failed = errors.Join(failed, err)
	}
	j.remarks = append(j.remarks, fmt.Sprintf("There is no posterior: %v.", failed))
}

func (j *judging) posteriorFigures(q *stats.Posterior, prior stats.Prior) *Bayes {
	lower, upper := 1-judgedConfidence, judgedConfidence
	b := &Bayes{
		Prior: prior.String(),
		GM:    finite(q.GM(0.5)),
		GSD:   finite(q.GSD(0.5)),
		P95: Estimate{
			Value: finite(q.Percentile(judgedPercentile, 0.5)),
			LCL:   finite(q.Percentile(judgedPercentile, lower)),
			UCL:   finite(q.Percentile(judgedPercentile, upper)),
		},
		P95UCL70: finite(q.Percentile(judgedPercentile, lesserConfidence)),
		Exceedance: Estimate{
			Value: finite(q.Exceedance(j.Limit, 0.5)),
			LCL:   finite(q.Exceedance(j.Limit, lower)),
			UCL:   finite(q.Exceedance(j.Limit, upper)),
		},
		OverLimit: finite(q.Over(judgedPercentile, j.Limit)),
		OverHalf:  finite(q.Over(judgedPercentile, j.Limit/2)),
		OverTenth: finite(q.Over(judgedPercentile, j.Limit/10)),
		Warning:   q.Warning(),
	}
	if prior.Figures() != "" {
		b.Prior += ": " + prior.Figures()
	}
	return b
}
