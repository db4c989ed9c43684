package reports

import (
	"airtally/exposure"
	"airtally/exposure/group"
)

// writeMethods says how the figures were made, and after whom.
func writeMethods(p *page, groups []exposure.ListGroup) {
	if len(groups) == 0 {
		return
	}
	p.heading("How the figures are made")
	for _, m := range methodsUsed(groups) {
		p.wrapped("", "  ", m)
	}
}

// methodsUsed returns the methods of these groups, in words.
func methodsUsed(groups []exposure.ListGroup) []string {
	used := func(is func(*group.Statistics) bool) bool {
		for i := range groups {
			if is(&groups[i].Statistics) {
				return true
			}
		}
		return false
	}
	var out []string
	for _, m := range methodWords {
		if used(m.is) {
			out = append(out, m.words)
		}
	}
	return out
}

// methodWords explains the methods, with their sources from memory.
var methodWords = []struct {
	is    func(*group.Statistics) bool
	words string
}{
	{func(*group.Statistics) bool { return true },
		"Outcome: below where the upper 95 % confidence limit of the 95th percentile does not exceed the limit, " +
			"above where its lower limit exceeds it, else undecided. Confidence limits are one-sided. " +
			"All figures suppose that the logarithms of the group's exposures are normally distributed."},
	{func(s *group.Statistics) bool { return s.Method == group.Exact },
		"Every value known: limits of the percentile and of the share over the limit are exact, by the noncentral t " +
			"distribution (Owen & Hua 1977); the mean is the minimum-variance unbiased estimate (Finney 1941) with exact limits (Land 1971)."},
	{func(s *group.Statistics) bool { return s.Method == group.MLE },
		"Some values known only between bounds: maximum likelihood, with limits of the profile likelihood. " +
			"Those come out a little too narrow for few shifts, so the posterior decides."},
	{func(s *group.Statistics) bool { return s.Bayes != nil },
		"Posterior: what the prior named and the data together say of the lognormal, by numerical integration; estimates are its medians."},
	{func(s *group.Statistics) bool { return stageOf(&s.EN689) != "none" },
		"EN 689:2018, clause 5.5: the European standard's tests of compliance, from memory. Its group test asks for 70 % confidence " +
			"that at most 5 of 100 shifts are over the limit, the outcome above for 95 %."},
	{func(s *group.Statistics) bool { return s.Between != nil },
		"Workers: variance components of the logarithms by (restricted) maximum likelihood."},
}
