package group

import (
	"fmt"
	"math"
	"strings"

	"airtally/limits"
	"airtally/stats"
)

// fewShifts is the number under which a group is said loudly to be small: that
// from which EN 689 trusts statistics.
const fewShifts = 6

// farBound is the multiple of the limit beyond which an upper limit of the
// percentile is of no use to a reader. Common practice, no source.
const farBound = 100

// TooFew reports whether there are too few shifts to bound a percentile from
// above to any use, so that its upper limit is better told in words.
func (s *Statistics) TooFew(p Estimate) bool {
	return p.UCL.Known && s.Outcome != limits.Below && (s.N < fewShifts || s.IsFar(p.UCL))
}

// IsFar reports whether an upper limit is so far over the limit that its figure is
// not worth a word.
func (s *Statistics) IsFar(upper stats.Optional) bool {
	return upper.Known && upper.Value > farBound*s.Limit
}

// why says what the outcome rests on, in sentences for a reader who knows no
// statistics.
func (j *judging) why() string {
	var said []string
	add := func(sentences ...string) {
		for _, s := range sentences {
			if s != "" {
				said = append(said, s)
			}
		}
	}
	add(j.small())
	if j.WhyNone != "" {
		add(fmt.Sprintf("Nothing can be estimated from the data alone: %s.", j.WhyNone))
	}
	switch j.DecidedBy {
	case ByExact:
		add(j.byLimits(j.P95, "confidence"), "Rule: exact confidence limits of the 95th percentile (Owen & Hua 1977).")
	case ByPosterior:
		add(j.byLimits(j.Bayes.P95, "probability"), fmt.Sprintf("Rule: limits of the 95th percentile from the posterior, %s prior.", j.prior))
	case ByPreliminary:
		add(fmt.Sprintf("Rule: %s: %s.", j.EN689.Rule, j.EN689.Why))
	default:
		add(j.nothingDecides())
	}
	add(j.overLimit())
	if j.Method == None {
		add(j.farthest(), j.anyDistribution())
	}
	add(j.beside(), j.more())
	return strings.Join(said, " ")
}

// small says loudly that there are few shifts.
func (j *judging) small() string {
	switch {
	case j.N == 1:
		return "Only 1 shift: it says nothing of how other shifts differ."
	case j.N < fewShifts:
		return fmt.Sprintf("Only %d shifts: so few say little about all the others.", j.N)
	}
	return ""
}

// byLimits says what the limits of the 95th percentile mean, each of which
// holds with 95 % of what is called confidence or probability.
func (j *judging) byLimits(p Estimate, called string) string {
	switch j.Outcome {
	case limits.Below:
		return fmt.Sprintf("With 95 %% %s at most 5 of 100 shifts are over the limit: 95 of 100 stay under %s of it.", called, j.ofLimit(p.UCL.Value))
	case limits.Exceeds:
		return fmt.Sprintf("With 95 %% %s more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under is at least %s of it.", called, j.ofLimit(p.LCL.Value))
	}
	if j.IsFar(p.UCL) {
		return j.tooFewFor(p, called)
	}
	from, to := "0 %", "no bound"
	if p.LCL.Known {
		from = j.ofLimit(p.LCL.Value)
	}
	if p.UCL.Known {
		to = j.ofLimit(p.UCL.Value)
	}
	return fmt.Sprintf("It cannot be told whether more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under may be anywhere from %s to %s of it (95 %% %s on either side).", from, to, called)
}

// tooFewFor says what can be told of the 95th percentile without its upper limit.
func (j *judging) tooFewFor(p Estimate, called string) string {
	said := "It cannot be told whether more than 5 of 100 shifts are over the limit: the level that 95 of 100 stay under "
	if p.LCL.Known {
		said += fmt.Sprintf("is at least %s of it (95 %% %s), and it ", j.ofLimit(p.LCL.Value), called)
	}
	return said + fmt.Sprintf("has no useful upper limit from %s.", counted(j.N, "shift"))
}

// nothingDecides says why there is no decision.
func (j *judging) nothingDecides() string {
	switch {
	case j.Bayes == nil:
		return "Without estimates or a posterior nothing decides."
	case j.N < fewShifts:
		return fmt.Sprintf("The default prior would weigh more than %s, so its posterior decides nothing.", counted(j.N, "shift"))
	}
	return "Nothing decides."
}

// overLimit names every shift over the limit, and those that may be.
func (j *judging) overLimit() string {
	var over, perhaps []string
	for _, s := range j.shifts {
		x := s.Exposure
		switch {
		case exceeds(x.Low, j.Limit) && !x.Censored():
			over = append(over, fmt.Sprintf("%s, at %s of it", s.name(), j.ofLimit(x.Low)))
		case exceeds(x.Low, j.Limit):
			over = append(over, fmt.Sprintf("%s, at %s of it or more", s.name(), j.ofLimit(x.Low)))
		case exceeds(x.High, j.Limit):
			perhaps = append(perhaps, s.name()+", "+j.bounds(x))
		}
	}
	var said []string
	if len(over) > 0 {
		said = append(said, "Over the limit: "+strings.Join(over, "; ")+".")
	}
	if len(perhaps) > 0 {
		said = append(said, "Perhaps over the limit, not known exactly: "+strings.Join(perhaps, "; ")+".")
	}
	return strings.Join(said, " ")
}

// bounds says what is known of an exposure that may be over the limit.
func (j *judging) bounds(x stats.Interval) string {
	switch {
	case x.Low == 0 && !x.Bounded():
		return "not known at all"
	case x.Low == 0:
		return "under " + j.ofLimit(x.High) + " of it"
	case !x.Bounded():
		return "at " + j.ofLimit(x.Low) + " of it or more"
	}
	return fmt.Sprintf("between %s and %s of it", j.ofLimit(x.Low), j.ofLimit(x.High))
}

// exceeds reports whether an exposure is over the limit; within 1e-9 of it they
// are equal, as in every comparison.
func exceeds(v, limit float64) bool { return v > limit*(1+1e-9) }

// farthest says how near the limit the highest exposure can be.
func (j *judging) farthest() string {
	if !j.MaxHigh.Known || exceeds(j.MaxHigh.Value, j.Limit) {
		return ""
	}
	if j.N == 1 {
		return fmt.Sprintf("The one exposure is at most %s of the limit.", j.ofLimit(j.MaxHigh.Value))
	}
	return fmt.Sprintf("All %d are at most %s of the limit.", j.N, j.ofLimit(j.MaxHigh.Value))
}

// anyDistribution says what holds whatever the distribution: n shifts none of
// which is over the limit bound the fraction q over it by (1 − q)ⁿ ≥ 0.05.
func (j *judging) anyDistribution() string {
	for _, x := range j.exposures {
		if exceeds(x.High, j.Limit) {
			return ""
		}
	}
	// Rounded up, so that what is said holds.
	most := -100 * math.Expm1(math.Log(judgedExceedance)/float64(j.N))
	return fmt.Sprintf("Whatever their distribution, with 95 %% confidence at most %s of 100 shifts are over the limit.", figure(math.Ceil(10*most-1e-9)/10))
}

// beside says how the preliminary test of EN 689 comes out where something
// else decides.
func (j *judging) beside() string {
	e := j.EN689
	if j.N >= fewShifts || j.DecidedBy == ByPreliminary || e.Why == "" {
		return ""
	}
	if e.Stage == stats.EN689None {
		return fmt.Sprintf("The preliminary test of EN 689:2018 does not apply: %s.", e.Why)
	}
	return fmt.Sprintf("The preliminary test of EN 689:2018 by itself: %s, %s.", e.Outcome, e.Why)
}

// manyShifts is from where more sampling is no way to a decision, and how many
// they would be is not said. Common practice, no source.
const manyShifts = 50

// more says how many more shifts could decide.
func (j *judging) more() string {
	if j.Outcome != limits.Undecided {
		return ""
	}
	gm, gsd := j.GM.Value, j.GSD
	if j.DecidedBy == ByPosterior { // the fit's own spread is too small for few shifts
		gm, gsd = j.Bayes.GM, j.Bayes.GSD
	}
	if j.Method == None || !gm.Known || !gsd.Known || gsd.Value <= 1 {
		return j.moreWithoutEstimates()
	}
	deviate := (math.Log(j.Limit) - math.Log(gm.Value)) / math.Log(gsd.Value)
	total, ok := stats.ShiftsToDecide(j.N, deviate, judgedPercentile, judgedConfidence)
	if !ok {
		return "The level that 95 of 100 shifts stay under is so near the limit that sampling is not likely to decide."
	}
	more := max(1, total-j.N)
	said := fmt.Sprintf("To decide: about %s more, %d in all, if they resemble those there are", counted(more, "shift"), j.N+more)
	if more > manyShifts {
		said = fmt.Sprintf("To decide: many more shifts, over %d, if they resemble those there are", manyShifts)
	}
	if j.NCensored > 0 {
		said += " and are known exactly"
	}
	if more > manyShifts {
		said += "; lower exposures would decide sooner"
	}
	return said + "."
}

// moreWithoutEstimates says what would make a decision likelier where nothing
// tells how shifts differ.
func (j *judging) moreWithoutEstimates() string {
	said := "more shifts"
	if j.N < fewShifts {
		said = fmt.Sprintf("%s more, 6 in all", counted(fewShifts-j.N, "shift"))
	}
	if j.NCensored > 0 {
		said += ", with lower reporting limits or results that are known exactly"
	}
	return "To decide: " + said + "."
}

// ofLimit returns an exposure as a percentage of the limit.
func (j *judging) ofLimit(v float64) string {
	share := 100 * (v / j.Limit)
	if share > 1e9 {
		return "over 1000000000 %"
	}
	return figureBeside(share, 100) + " %"
}

// counted returns a number of things in words.
func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
