package exposure

import (
	"fmt"
	"math"

	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

// Title names what the steps of a group lead to.
func (g *Group) Title() string {
	return fmt.Sprintf("group %s, %s against %s %s", g.Name, g.Substance.Analyte, g.Limit.Authority, g.Limit.Kind)
}

// mostLive is how many logarithms of exposures a formula of a spreadsheet has
// room for.
const mostLive = 100

// Steps returns how the estimates that are read first of a group come about,
// under the names of the output fields. Where every exposure is known exactly
// they follow the exposures, by factors that hold for that number of shifts.
// Estimates from bounds, posteriors, means and shares of shifts over the limit
// stand while every exposure is what it was.
func (g *Group) Steps() []Step {
	l := newSteps(g, 24)
	unchanged := l.inParts("as_found", "unchanged", "1 while these exposures are what they were", g.unchanged())
	same := holds(l.work(Step{Key: "unchanged", Symbol: "unchanged", Name: "1 while every exposure is what it was",
		By: all(append(unchanged, number1)...), Source: "each shift's bounds against those of the run"}))
	live := g.isLive()
	stands := l.inParts("counting", "counting", "1 while these exposures count as they did", g.stands())
	if !live {
		stands = append(stands, same)
	}
	l.follow(stands...)
	s := &g.Statistics
	p95, over := s.P95, s.Exceedance
	if g.fromPosterior() {
		p95, over = s.Bayes.P95, s.Bayes.Exceedance
	}
	if live {
		g.exactSteps(l)
		g.fixedSteps(l, "exceed", over, func(e Expression) Expression { return when(same, e, word(Stale)) })
		return l.all
	}
	asFound := func(e Expression) Expression { return e }
	g.fixedSteps(l, "gm", g.typical(), asFound)
	g.fixedSteps(l, "p95", p95, asFound)
	g.fixedSteps(l, "exceed", over, asFound)
	l.add(Step{Key: "outcome", Symbol: "outcome", Name: "outcome", Word: string(s.Outcome), Source: g.source(), By: word(string(s.Outcome))})
	return l.all
}

// typical returns the geometric mean that is read first.
func (g *Group) typical() group.Estimate {
	if g.fromPosterior() {
		return group.Estimate{Value: g.Statistics.Bayes.GM}
	}
	return g.Statistics.GM
}

// AsFound names a figure that no formula works out again: it stands as the run
// found it.
const AsFound = "as found"

// estimateWords are the symbol and name of an estimate, by the key of its value.
var estimateWords = map[string][2]string{
	"gm": {"GM", "geometric mean"}, "p95": {"P95", "95th percentile"}, "exceed": {"F", "share of shifts over the limit"},
}

// fixedSteps adds an estimate and its limits as they were found.
func (g *Group) fixedSteps(l *steps, key string, e group.Estimate, guard func(Expression) Expression) {
	words, unit := estimateWords[key], g.Limit.Unit.Name
	if key == "exceed" {
		unit = ""
	}
	for _, f := range []struct {
		key, symbol, name string
		v                 stats.Optional
	}{{"", "", "", e.Value}, {"_lcl95", "_low", " at least", e.LCL}, {"_ucl95", "_high", " at most", e.UCL}} {
		if f.v.Known {
			l.add(Step{Key: key + f.key, Symbol: words[0] + f.symbol, Name: words[1] + f.name, Unit: unit, Value: f.v.Value,
				By: guard(constant(AsFound, f.v.Value)), Source: g.source()})
		}
	}
	if gsd := g.spread(); key == "gm" && gsd.Known {
		l.add(Step{Key: "gsd", Symbol: "GSD", Name: "geometric standard deviation", Value: gsd.Value, By: guard(constant(AsFound, gsd.Value)), Source: g.source()})
	}
}

// spread returns the geometric standard deviation that is read first.
func (g *Group) spread() stats.Optional {
	if g.fromPosterior() {
		return g.Statistics.Bayes.GSD
	}
	return g.Statistics.GSD
}

// fromPosterior reports whether the estimates read first are the posterior's.
func (g *Group) fromPosterior() bool {
	s := &g.Statistics
	return s.Bayes != nil && (s.DecidedBy == group.ByPosterior || s.Method == group.None)
}

// source says what the estimates of a group rest on.
func (g *Group) source() string {
	switch s := &g.Statistics; {
	case g.fromPosterior():
		return "posterior medians and quantiles, prior " + s.Bayes.Prior
	case s.Method == group.MLE:
		return "maximum likelihood, limits of the profile likelihood"
	case s.DecidedBy == group.ByPreliminary:
		return "preliminary test of EN 689"
	}
	return "exact limits of a lognormal"
}

// isLive reports whether formulas can follow the exposures.
func (g *Group) isLive() bool {
	s := &g.Statistics
	return s.Method == group.Exact && s.N <= mostLive && s.P95.LCL.Known && s.P95.UCL.Known && s.GM.LCL.Known && s.GM.UCL.Known
}

// What a group asks of an exposure, in numbers that never are a text.
const (
	countsNot   = 0 // it is stale, nothing, or too little of the shift was sampled
	countsBound = 1 // it is known between bounds
	countsExact = 2
)

// groupSteps adds what groups ask of an average, in steps that are 0 where the
// exposure is stale.
func (x *Exposure) groupSteps(l *steps) {
	counts := []Expression{positive(x.at(asStated, highEnd))}
	if covered, needed := x.coveredBy(); needed {
		counts = append(counts, covered)
	}
	exact := operate(LessEqual, x.at(asStated, highEnd), times(x.at(asStated, lowEnd), figure(1+1e-12)))
	var alike []Expression
	for _, b := range []bound{lowEnd, middle, highEnd} {
		alike = append(alike, unmovedFrom(x.at(asStated, b), of(x.Value, b)))
	}
	follows := l.follows
	l.guarded = false
	l.work(Step{Key: "counts", Symbol: "counts", Name: "how it counts in a group: 0 not, 1 as a bound, 2 as a number",
		By:     when(follows, when(all(counts...), when(exact, figure(countsExact), figure(countsBound)), number0), number0),
		Source: "over 0, and min_coverage_pct of the shift sampled or stated"})
	l.work(Step{Key: "as_found", Symbol: "unchanged", Name: "1 while it is what it was", By: when(follows, all(alike...), number0),
		Source: "its bounds against those of the run"})
}

// countsAt refers to how an exposure counts.
func (x *Exposure) countsAt() Expression {
	counts := float64(countsBound)
	switch {
	case !x.covered(x.WorkerShift.of.settings.Coverage) || !(x.Value.High > 0):
		counts = countsNot
	case !x.Value.Censored():
		counts = countsExact
	}
	return reference(x, "counts", "counts", counts)
}

// unmovedFrom is the condition that a number is what it was, but for the last
// digits in which programs differ.
func unmovedFrom(e Expression, was float64) Expression {
	if math.IsInf(was, 1) {
		return operate(LessEqual, figure(AnyBound), e)
	}
	return operate(LessEqual, operate(Magnitude, minus(e, figure(was))), figure(roundingTolerance*math.Abs(was)))
}

// stands are the conditions that the same shifts count, and, where estimates
// follow them, that all are known exactly.
func (g *Group) stands() []Expression {
	least := number0
	if g.isLive() {
		least = figure(countsBound)
	}
	var out []Expression
	for _, x := range g.members {
		out = append(out, less(least, x.countsAt()))
	}
	for _, x := range g.left {
		if at := x.countsAt(); at.Value == countsNot {
			out = append(out, followed(x), fails(at))
		}
	}
	return out
}

// unchanged are the conditions that every exposure is what it was.
func (g *Group) unchanged() []Expression {
	var out []Expression
	for _, x := range g.members {
		out = append(out, holds(reference(x, "as_found", "unchanged", 1)))
	}
	return out
}

// mostConditions is how many conditions a formula of a spreadsheet has room for.
const mostConditions = 100

// inParts returns conditions as they are or, where there are many, as steps
// that are 1 where all of a part hold.
func (l *steps) inParts(key, symbol, name string, conditions []Expression) []Expression {
	if len(conditions) <= mostConditions {
		return conditions
	}
	var parts []Expression
	for len(conditions) > 0 {
		n := min(mostConditions, len(conditions))
		parts = append(parts, holds(l.work(Step{Key: fmt.Sprintf("%s_%d", key, len(parts)+1), Symbol: symbol, Name: name,
			By: all(conditions[:n]...), Source: "the exposures of the group"})))
		conditions = conditions[n:]
	}
	return parts
}

// exactSteps adds the estimates of a lognormal from exposures known exactly.
func (g *Group) exactSteps(l *steps) {
	s, unit := &g.Statistics, g.Limit.Unit.Name
	var logs []Expression
	for _, x := range g.members {
		logs = append(logs, operate(NaturalLog, x.averageIn(g.Limit.Unit, asStated, highEnd)))
	}
	for _, h := range g.history {
		logs = append(logs, operate(NaturalLog, constant("an earlier exposure", h.exposure.High)))
	}
	const source = "mean and standard deviation (divisor n − 1) of the logarithms"
	mu := l.add(Step{Key: "mu", Symbol: "μ", Name: "mean of the logarithms", By: operate(Mean, logs...), Value: s.Mu.Value, Source: source})
	sigma := l.add(Step{Key: "sigma", Symbol: "σ", Name: "standard deviation of the logarithms", By: operate(SampleDeviation, logs...), Value: s.Sigma.Value, Source: source})
	l.add(Step{Key: "gm", Symbol: "GM", Name: "geometric mean", Unit: unit, By: operate(Exponential, mu), Value: s.GM.Value.Value, Source: source})
	l.add(Step{Key: "gsd", Symbol: "GSD", Name: "geometric standard deviation", By: operate(Exponential, sigma), Value: s.GSD.Value, Source: source})
	at := func(key, symbol, name, factor, source string, v stats.Optional) Expression {
		k := constant(fmt.Sprintf("%s for n = %d", factor, s.N), (math.Log(v.Value)-s.Mu.Value)/s.Sigma.Value)
		return l.add(Step{Key: key, Symbol: symbol, Name: name, Unit: unit, By: operate(Exponential, plus(mu, times(k, sigma))), Value: v.Value, Source: source})
	}
	const student, owen = "Student's t", "noncentral t (Owen 1968)"
	at("gm_lcl95", "GM_low", "geometric mean at least", "−t/√n", student, s.GM.LCL)
	at("gm_ucl95", "GM_high", "geometric mean at most", "t/√n", student, s.GM.UCL)
	at("p95", "P95", "95th percentile", "z", "quantile of a lognormal", s.P95.Value)
	low := at("p95_lcl95", "LCL", "95th percentile at least", "lower tolerance factor", owen, s.P95.LCL)
	high := at("p95_ucl95", "UCL", "95th percentile at most", "tolerance factor k", owen, s.P95.UCL)
	if s.P95UCL70.Known {
		at("p95_ucl70", "UCL_70", "95th percentile at most, 70 % confidence", "tolerance factor k at 70 %", owen, s.P95UCL70)
	}
	limit := reference(g.Limit, "value", "L", g.Limit.Value)
	by := when(operate(LessEqual, high, limit), word(string(limits.Below)),
		when(less(limit, low), word(string(limits.Exceeds)), word(string(limits.Undecided))))
	l.add(Step{Key: "outcome", Symbol: "outcome", Name: "outcome", By: by, Word: string(s.Outcome),
		Source: "below where the upper limit of the percentile is at or under the limit, above where its lower one is over it"})
}
