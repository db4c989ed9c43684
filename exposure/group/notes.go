package group

import (
	"fmt"
	"math"

	"airtally/limits"
	"airtally/stats"
)

// doubtful is the probability under which a finding is not put down to chance.
const doubtful = 0.05

// manyOver is the probability that a worker is over the limit on more than 5 %
// of days from which individuals do not comply: BOHS & NVvA (2011), "Testing
// compliance with occupational exposure limits for airborne substances", from
// memory.
const manyOver = 0.20

// notes returns what a reader should know beside the outcome.
func (j *judging) notes() []string {
	var said []string
	for _, note := range []string{
		j.ofHistory(), j.unnamed(), j.oneWorker(), j.boundless(),
		j.ofPrior(), j.otherwise(), j.fitDoubtful(), j.outlier(),
		j.ofWorkers(), j.ofTrend(),
	} {
		if note != "" {
			said = append(said, note)
		}
	}
	if j.Bayes != nil && j.Bayes.Warning != "" {
		said = append(said, j.Bayes.Warning)
	}
	return append(said, j.remarks...)
}

func (j *judging) ofHistory() string {
	if j.NHistory == 0 {
		return ""
	}
	return fmt.Sprintf("%d of the %s are of earlier surveys; they count only if the work has not changed since.", j.NHistory, counted(j.N, "exposure"))
}

func (j *judging) unnamed() string {
	count := 0
	for _, s := range j.shifts {
		if s.Worker == "" {
			count++
		}
	}
	if count == 0 {
		return ""
	}
	return fmt.Sprintf("%s of %d without a worker: whether workers differ cannot be told from those.", counted(count, "exposure"), j.N)
}

func (j *judging) oneWorker() string {
	if j.Workers != 1 || j.N == 1 {
		return ""
	}
	for _, s := range j.shifts {
		if s.Worker == "" {
			return ""
		}
	}
	return fmt.Sprintf("All %d shifts are of one worker: they say nothing of how others of the group are exposed.", j.N)
}

// boundless counts exposures that tell nothing.
func (j *judging) boundless() string {
	count := 0
	for _, x := range j.exposures {
		if x.Low == 0 && !x.Bounded() {
			count++
		}
	}
	if count == 0 {
		return ""
	}
	return fmt.Sprintf("%s of %d with no bound at all: counted, but they tell nothing.", counted(count, "exposure"), j.N)
}

// ofPrior says that the default prior was needed.
func (j *judging) ofPrior() string {
	if j.Bayes == nil || !j.byDefault() {
		return ""
	}
	return "The exposures alone have no posterior, so the posterior rests on a default prior as well, which matters here: " + j.prior.Figures() + "."
}

// otherwise says that a prior that was asked for would decide otherwise than
// the exact limits do.
func (j *judging) otherwise() string {
	if j.DecidedBy != ByExact || j.options.Prior == nil || j.Bayes == nil {
		return ""
	}
	posterior := j.against(j.Bayes.P95)
	if posterior == j.Outcome {
		return ""
	}
	said := "below"
	switch posterior {
	case limits.Exceeds:
		said = "above"
	case limits.Undecided:
		said = "undecided"
	}
	return fmt.Sprintf("The posterior under the %s prior says otherwise: %s. Every exposure is known, so the exact limits decide.", j.prior, said)
}

func (j *judging) fitDoubtful() string {
	if !j.WP.Known || j.WP.Value >= doubtful {
		return ""
	}
	return fmt.Sprintf("The exposures hardly look lognormal (Shapiro-Wilk P = %s), as all figures suppose: look for mixed tasks, groups or an error.", figure(j.WP.Value))
}

// outlier names the exposure that lies too far from the others for chance.
func (j *judging) outlier() string {
	if j.Method != Exact {
		return ""
	}
	at, _, p, err := stats.GrubbsOutlier(logs(j.knownValues()))
	if err != nil || p >= doubtful {
		return ""
	}
	s := j.shifts[at]
	side := "above"
	if math.Log(s.Exposure.High) < j.Mu.Value {
		side = "under"
	}
	return fmt.Sprintf("%s, at %s of the limit, lies far %s the others (Grubbs test, P = %s): check the sample, but do not drop it for that alone.",
		s.name(), j.ofLimit(s.Exposure.High), side, figure(p))
}

// apartSentence says that one worker stands apart.
func apartSentence(w worker, apart stats.Apart) string {
	times, side := apart.Ratio, "higher"
	if times < 1 {
		times, side = 1/times, "lower"
	}
	return fmt.Sprintf("Worker %s stands apart: exposures about %s times %s than those of the others, who are alike (P = %s); find out what differs, or judge that worker alone.",
		w.name, figure(times), side, figure(apart.P))
}

// ofWorkers says what the spread between workers means, where there is any.
func (j *judging) ofWorkers() string {
	b := j.Between
	if b == nil || b.VarBetween == 0 || !b.Share.Known {
		return ""
	}
	said := fmt.Sprintf("%s %% of the spread lies between workers, the rest between the shifts of one worker", figure(100*b.Share.Value))
	if b.Workers < 5 || b.N < 15 {
		said += ", a rough guide with so few"
	}
	if b.Worker.Known && b.Worker.Value >= manyOver {
		said += fmt.Sprintf("; the probability that a worker is over the limit on more than 5 of 100 days is %s %%, and under 20 %% is taken as compliance of individuals (BOHS & NVvA 2011)",
			figureBeside(100*b.Worker.Value, 100*manyOver))
	}
	return said + "."
}

// ofTrend says that exposures change with time, where chance does not explain it.
func (j *judging) ofTrend() string {
	if j.Trend == nil {
		return ""
	}
	rises, p := false, 1.0
	if l := j.Trend.Linear; l != nil {
		rises, p = l.Slope > 0, l.P
	} else if m := j.Trend.Monotone; m != nil {
		rises, p = m.S > 0, m.P
	}
	if p >= doubtful {
		return ""
	}
	direction := "fall"
	if rises {
		direction = "rise"
	}
	return fmt.Sprintf("Exposures %s with time (P = %s): one lognormal for all of them may not describe today's.", direction, figure(p))
}
