package reports

import (
	"math"
	"slices"

	"airtally/exposure"
	"airtally/exposure/group"
	"airtally/stats"
)

// statisticsFields are the fields of a group's statistics, in JSON and as
// columns of a table. Limits are one-sided 95 % unless the name says
// otherwise.
var (
	statisticsFields = slices.Concat(figureFields, []field[group.Statistics]{
		in("between", "", figures, func(s *group.Statistics) cell { return object(s.Between, betweenFields) }),
		in("en689", "", figures, func(s *group.Statistics) cell { return object(&s.EN689, en689Fields) }),
		in("bayes", "", figures, func(s *group.Statistics) cell { return object(s.Bayes, bayesFields) }),
	}, outcomeFields, []field[group.Statistics]{
		in("trend", "", figures, func(s *group.Statistics) cell { return object(s.Trend, trendFields) }),
	}, besideFields)

	// statisticsColumns are the same with nothing nested: bayes.gm is a column.
	statisticsColumns = slices.Concat(figureFields,
		under("between.", betweenFields, func(s *group.Statistics) *group.Between { return s.Between }),
		under("en689.", en689Fields, func(s *group.Statistics) *stats.EN689Test { return &s.EN689 }),
		under("bayes.", bayesFields, func(s *group.Statistics) *group.Bayes { return s.Bayes }),
		outcomeFields,
		under("trend.", trendFields, func(s *group.Statistics) *group.Trend { return s.Trend }),
		besideFields)
)

// under returns the fields of a part as fields of the whole, under a prefix;
// missing where the whole has no such part.
func under[R, P any](prefix string, fields []field[P], part func(*R) *P) []field[R] {
	out := make([]field[R], len(fields))
	for i, f := range fields {
		out[i].header = f.header
		out[i].name = prefix + f.name
		out[i].cell = func(r *R) cell {
			if p := part(r); p != nil {
				return f.cell(p)
			}
			return cell{}
		}
	}
	return out
}

type statistic = func(*group.Statistics) stats.Optional

func statisticField(name string, get statistic) field[group.Statistics] {
	return in(name, "", figures, func(s *group.Statistics) cell { return optional(get(s)) })
}

// estimateFields are the fields of an estimate and its limits, those that have
// a name.
func estimateFields[R any](value, lcl, ucl string, get func(*R) group.Estimate) []field[R] {
	return []field[R]{
		in(value, "", figures, func(r *R) cell { return optional(get(r).Value) }),
		in(lcl, "", figures, func(r *R) cell { return optional(get(r).LCL) }),
		in(ucl, "", figures, func(r *R) cell { return optional(get(r).UCL) }),
	}
}

func of95(name string, get func(*group.Statistics) group.Estimate) []field[group.Statistics] {
	return estimateFields(name, name+"_lcl95", name+"_ucl95", get)
}

var figureFields = slices.Concat(
	[]field[group.Statistics]{
		in("n", "", whole, func(s *group.Statistics) cell { return number(float64(s.N)) }),
		in("workers", "", whole, func(s *group.Statistics) cell { return number(float64(s.Workers)) }),
		in("n_censored", "", whole, func(s *group.Statistics) cell { return number(float64(s.NCensored)) }),
		in("limit", "", published, func(s *group.Statistics) cell { return number(s.Limit) }),
		statisticField("min", func(s *group.Statistics) stats.Optional { return s.Min }),
		statisticField("max", func(s *group.Statistics) stats.Optional { return s.Max }),
		statisticField("max_high", func(s *group.Statistics) stats.Optional { return s.MaxHigh }),
		statisticField("median", func(s *group.Statistics) stats.Optional { return s.Median }),
		in("method", "", figures, func(s *group.Statistics) cell { return text(string(s.Method)) }),
	},
	of95("gm", func(s *group.Statistics) group.Estimate { return s.GM }),
	[]field[group.Statistics]{statisticField("gsd", func(s *group.Statistics) stats.Optional { return s.GSD })},
	of95("am", func(s *group.Statistics) group.Estimate { return s.AM }),
	of95("p95", func(s *group.Statistics) group.Estimate { return s.P95 }),
	[]field[group.Statistics]{statisticField("p95_ucl70", func(s *group.Statistics) stats.Optional { return s.P95UCL70 })},
	of95("exceed", func(s *group.Statistics) group.Estimate { return s.Exceedance }),
	[]field[group.Statistics]{
		statisticField("mu", func(s *group.Statistics) stats.Optional { return s.Mu }),
		statisticField("sigma", func(s *group.Statistics) stats.Optional { return s.Sigma }),
		statisticField("loglik", func(s *group.Statistics) stats.Optional { return s.LogLik }),
		statisticField("w", func(s *group.Statistics) stats.Optional { return s.W }),
		statisticField("w_p", func(s *group.Statistics) stats.Optional { return s.WP }),
		in("percentile", "", published, func(s *group.Statistics) cell { return number(asPercent(s.Percentile)) }),
		in("confidence", "", published, func(s *group.Statistics) cell { return number(asPercent(s.Confidence)) }),
	},
	estimateFields("pq", "pq_lcl", "pq_ucl", func(s *group.Statistics) group.Estimate { return s.Asked }),
)

// asPercent returns a fraction as the percentage that it was asked as.
func asPercent(fraction float64) float64 { return math.Round(fraction*1e10) / 1e8 }

var betweenFields = []field[group.Between]{
	in("mu", "", figures, func(b *group.Between) cell { return number(b.Mu) }),
	in("var_between", "", figures, func(b *group.Between) cell { return number(b.VarBetween) }),
	in("var_within", "", figures, func(b *group.Between) cell { return number(b.VarWithin) }),
	in("gsd_between", "", figures, func(b *group.Between) cell { return number(spreadOf(b.VarBetween)) }),
	in("gsd_within", "", figures, func(b *group.Between) cell { return number(spreadOf(b.VarWithin)) }),
	in("share", "", figures, func(b *group.Between) cell { return optional(b.Share) }),
	in("exceed_group", "", figures, func(b *group.Between) cell { return optional(b.GroupExceedance) }),
	in("exceed_worker", "", figures, func(b *group.Between) cell { return optional(b.Worker) }),
}

// spreadOf returns the geometric standard deviation of a variance of logs.
func spreadOf(variance float64) float64 { return math.Exp(math.Sqrt(variance)) }

var en689Fields = []field[stats.EN689Test]{
	in("stage", "", figures, func(t *stats.EN689Test) cell { return text(string(stageOf(t))) }),
	in("ur", "", figures, func(t *stats.EN689Test) cell { return optional(t.UR) }),
	in("ut", "", figures, func(t *stats.EN689Test) cell { return optional(t.UT) }),
	in("outcome", "", figures, func(t *stats.EN689Test) cell { return text(string(t.Outcome)).where(stageOf(t) != stats.EN689None) }),
}

func stageOf(t *stats.EN689Test) stats.EN689Stage {
	if t.Stage == "" {
		return stats.EN689None
	}
	return t.Stage
}

var bayesFields = slices.Concat(
	[]field[group.Bayes]{
		in("prior", "", figures, func(b *group.Bayes) cell { return text(b.Prior) }),
		in("gm", "", figures, func(b *group.Bayes) cell { return optional(b.GM) }),
		in("gsd", "", figures, func(b *group.Bayes) cell { return optional(b.GSD) }),
	},
	estimateFields("p95", "p95_lcl95", "p95_ucl95", func(b *group.Bayes) group.Estimate { return b.P95 }),
	[]field[group.Bayes]{in("p95_ucl70", "", figures, func(b *group.Bayes) cell { return optional(b.P95UCL70) })},
	estimateFields("exceed", "exceed_lcl95", "exceed_ucl95", func(b *group.Bayes) group.Estimate { return b.Exceedance }),
	[]field[group.Bayes]{
		in("over_limit", "", figures, func(b *group.Bayes) cell { return optional(b.OverLimit) }),
		in("over_half", "", figures, func(b *group.Bayes) cell { return optional(b.OverHalf) }),
		in("over_tenth", "", figures, func(b *group.Bayes) cell { return optional(b.OverTenth) }),
	},
)

var outcomeFields = []field[group.Statistics]{
	in("decided_by", "", figures, func(s *group.Statistics) cell { return text(string(s.DecidedBy)) }),
	in("outcome", "", verdict, func(s *group.Statistics) cell { return text(string(s.Outcome)) }),
	in("why", "", prose, func(s *group.Statistics) cell { return text(s.Why) }),
}

// trendFields have the factor of a year, of the line of the logs, and the
// probability that there is no trend, of the line or of the rank test.
var trendFields = slices.Concat(
	estimateFields("per_year", "per_year_lcl95", "per_year_ucl95", func(r *group.Trend) group.Estimate { return r.PerYear }),
	[]field[group.Trend]{in("p", "", figures, func(r *group.Trend) cell { return optional(trendP(r)) })},
)

func trendP(r *group.Trend) stats.Optional {
	switch {
	case r.Linear != nil:
		return stats.Some(r.Linear.P)
	case r.Monotone != nil:
		return stats.Some(r.Monotone.P)
	}
	return stats.Optional{}
}

// besideFields are what a reader should know beside the figures: the
// correlation of the probability plot, and the notes.
var besideFields = []field[group.Statistics]{
	statisticField("plot_r", func(s *group.Statistics) stats.Optional { return s.Plot }),
	in("notes", "", prose, func(s *group.Statistics) cell { return list(s.Notes) }),
}

// listGroupFields are the fields of a group of a plain list in JSON.
var listGroupFields = slices.Concat(
	[]field[exposure.ListGroup]{
		in("group", "", figures, func(g *exposure.ListGroup) cell { return text(g.Group) }),
		in("analyte", "", figures, func(g *exposure.ListGroup) cell { return text(g.Analyte) }),
		in("unit", "", figures, func(g *exposure.ListGroup) cell { return text(g.Unit.Name) }),
	},
	under("", statisticsFields, func(g *exposure.ListGroup) *group.Statistics { return &g.Statistics }),
)

// fields are those of a group with the cross-checks that were asked for.
func (l *GroupList) fields() []field[exposure.ListGroup] {
	fields := listGroupFields
	if l.Options.KaplanMeier {
		fields = append(slices.Clip(fields), in("km", "", figures, func(g *exposure.ListGroup) cell { return object(g.KaplanMeier, kaplanMeierFields) }))
	}
	if l.Options.OrderStatistics {
		fields = append(slices.Clip(fields), in("ros", "", figures, func(g *exposure.ListGroup) cell { return object(g.Ordered, orderFields) }))
	}
	if l.Compare {
		fields = append(slices.Clip(fields), in("compare", "", figures, func(g *exposure.ListGroup) cell { return object(l.comparisonOf(g), comparisonFields) }))
	}
	return fields
}

// comparisonOf returns the comparison that a group takes part in, nil where it
// is alone with its analyte.
func (l *GroupList) comparisonOf(g *exposure.ListGroup) *exposure.ListComparison {
	for i := range l.Compared {
		if l.Compared[i].Analyte == g.Analyte {
			return &l.Compared[i]
		}
	}
	return nil
}

var comparisonFields = []field[exposure.ListComparison]{
	in("groups", "", figures, func(c *exposure.ListComparison) cell { return list(c.Names) }),
	in("p", "", figures, func(c *exposure.ListComparison) cell { return optional(comparisonP(&c.Comparison)) }),
	in("differ", "", figures, func(c *exposure.ListComparison) cell { return truth(c.Differ).where(c.Fault == "") }),
	in("why", "", prose, func(c *exposure.ListComparison) cell { return text(c.Why + c.Fault) }),
	in("notes", "", prose, func(c *exposure.ListComparison) cell { return list(c.Notes) }),
}

// comparisonP returns the probability of the test that is read first.
func comparisonP(c *group.Comparison) stats.Optional {
	switch {
	case c.Censored != nil:
		return stats.Some(c.Censored.P)
	case c.GeometricMeans != nil:
		return c.GeometricMeans.Anova.P
	case c.Ranks != nil:
		return stats.Some(c.Ranks.P)
	}
	return stats.Optional{}
}

var kaplanMeierFields = []field[stats.KaplanMeier]{
	in("mean", "", figures, func(k *stats.KaplanMeier) cell { return optional(k.Mean) }),
	in("mean_low", "", figures, func(k *stats.KaplanMeier) cell { return number(k.MeanLow) }),
	in("sd", "", figures, func(k *stats.KaplanMeier) cell { return optional(k.SD) }),
	in("se_mean", "", figures, func(k *stats.KaplanMeier) cell { return optional(k.SEMean) }),
	in("median_low", "", figures, func(k *stats.KaplanMeier) cell { return number(k.Median.Low) }),
	in("median_high", "", figures, func(k *stats.KaplanMeier) cell { return number(k.Median.High) }),
}

var orderFields = []field[stats.OrderStatistics]{
	in("mu", "", figures, func(o *stats.OrderStatistics) cell { return number(o.Mu) }),
	in("sigma", "", figures, func(o *stats.OrderStatistics) cell { return number(o.Sigma) }),
	in("r", "", figures, func(o *stats.OrderStatistics) cell { return number(o.Correlation) }),
	in("mean", "", figures, func(o *stats.OrderStatistics) cell { return number(o.Mean) }),
	in("sd", "", figures, func(o *stats.OrderStatistics) cell { return number(o.SD) }),
}
