package reports

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

const (
	groupRuleNote = "below: the upper confidence limit of the 95th percentile (one-sided, 95 %) is at or under the limit. above: its lower one is over it. Few shifts decide little."
	groupFoot     = "Each shift counts once, by the average that the limit is for. Figures suppose that the logarithms of the group's exposures are normally distributed."
)

type groupRow = exposure.Group

// groupKeys are the fields that say which group and limit a row is of.
var groupKeys = []field[groupRow]{
	in("group", "Group", figures, func(g *groupRow) cell { return text(g.Name) }),
	in("analyte", "Analyte", figures, func(g *groupRow) cell { return text(g.Substance.Analyte) }),
	in("form", "Form", figures, func(g *groupRow) cell { return text(g.Substance.Form) }),
	in("authority", "Authority", figures, func(g *groupRow) cell { return text(g.Limit.Authority) }),
	in("instrument", "", figures, func(g *groupRow) cell { return text(g.Limit.Instrument) }),
	in("kind", "Kind of limit", figures, func(g *groupRow) cell { return text(string(g.Limit.Kind)) }),
	in("basis", "", figures, func(g *groupRow) cell { return text(string(g.Basis)) }),
	in("", "As", figures, func(g *groupRow) cell { return text(g.Limit.As) }).aside("What the limit is expressed as."),
	in("limit", "Limit", published, func(g *groupRow) cell { return number(g.Limit.Value) }),
	in("", "How well known", remark, func(g *groupRow) cell { return text(limits.MemoryMark).where(g.Limit.FromMemory()) }),
	in("unit", "", figures, func(g *groupRow) cell { return text(g.Limit.Unit.Name) }),
	in("", "Unit", figures, func(g *groupRow) cell { return text(prettyUnit(g.Limit.Unit.Name)) }),
}

// groupFigures are what a person reads of a group, in the workbook alone: the
// estimates that the outcome rests on.
var groupFigures = []field[groupRow]{
	in("", "Outcome", verdict, func(g *groupRow) cell { return text(string(g.Statistics.Outcome)) }).by("outcome").noted(groupRuleNote),
	in("", "Shifts", whole, func(g *groupRow) cell { return number(float64(g.Statistics.N)) }),
	in("", "Workers", whole, func(g *groupRow) cell { return number(float64(g.Statistics.Workers)) }).aside(""),
	in("", "Known only in bounds", whole, func(g *groupRow) cell { return number(float64(g.Statistics.NCensored)) }).
		aside("Shifts whose exposure lies between bounds, such as under a reporting limit, and is not known more closely."),
	in("", "Of earlier surveys", whole, func(g *groupRow) cell { return number(float64(g.Statistics.NHistory)) }).
		aside("Shifts of the history table, among the shifts."),
	ofGroup("95th percentile", func(e leadingEstimates) stats.Optional { return e.p95.Value }).by("p95").
		noted("Best estimate of what 95 of 100 shifts stay under."),
	ofGroup("At least", func(e leadingEstimates) stats.Optional { return e.p95.LCL }).by("p95_lcl95").
		aside("Lower confidence limit of the 95th percentile, one-sided 95 %."),
	in("", "At most", figures, func(g *groupRow) cell {
		p95 := leadingOf(g).p95
		return optional(p95.UCL).against(g.Limit.Value).ofFew(g.Statistics.TooFew(p95))
	}).by("p95_ucl95").
		noted("Upper confidence limit of the 95th percentile, one-sided 95 %. " + tooFewNote),
	in("", "At most, share of limit", percent, func(g *groupRow) cell {
		p95 := leadingOf(g).p95
		return optional(shareOf(p95.UCL, g.Limit.Value)).against(1).ofFew(g.Statistics.TooFew(p95))
	}).shareOf("p95_ucl95", "limit"),
	in("", "Shifts over the limit", percent, func(g *groupRow) cell { return optional(leadingOf(g).exceedance.Value).against(exceedanceMark) }).by("exceed").
		aside("Best estimate of the share of shifts over the limit."),
	in("", "Over the limit, at most", percent, func(g *groupRow) cell { return optional(leadingOf(g).exceedance.UCL).against(exceedanceMark) }).by("exceed_ucl95").
		noted("Upper confidence limit of the share of shifts over the limit, one-sided 95 %."),
	ofGroup("Geometric mean", func(e leadingEstimates) stats.Optional { return e.gm }).by("gm").aside(""),
	in("", "Geometric standard deviation", figures, func(g *groupRow) cell { return optional(leadingOf(g).gsd) }).by("gsd"),
	in("", "Rests on", remark, func(g *groupRow) cell { return text(decidedWords[g.Statistics.DecidedBy]) }).aside(""),
	in("", "Why", prose, func(g *groupRow) cell { return text(g.Statistics.Why) }),
	in("", "To know besides", prose, func(g *groupRow) cell { return text(strings.Join(g.Statistics.Notes, " ")) }).aside("What bears on the estimates."),
	in("", "Left out", prose, func(g *groupRow) cell { return list(excludedLines(g)) }).aside("What does not count in the group, and why."),
}

var decidedWords = map[group.DecidedBy]string{
	group.ByExact:       "exact limits of the percentile",
	group.ByPosterior:   "the posterior's limits",
	group.ByPreliminary: "the preliminary test of EN 689",
	group.ByNothing:     "nothing decides",
}

// ofGroup returns a column of a figure of exposure, set against the limit.
func ofGroup(heading string, get func(leadingEstimates) stats.Optional) field[groupRow] {
	return in("", heading, figures, func(g *groupRow) cell { return optional(get(leadingOf(g))).against(g.Limit.Value) })
}

// leadingEstimates are those that the outcome of a group rests on.
type leadingEstimates struct {
	p95, exceedance group.Estimate
	gm, gsd         stats.Optional
}

func leadingOf(g *groupRow) (e leadingEstimates) {
	e.p95, e.exceedance, e.gm, e.gsd = groupText{Statistics: &g.Statistics}.leading()
	return e
}

func shareOf(o stats.Optional, limit float64) stats.Optional {
	if !o.Known {
		return o
	}
	return stats.Some(o.Value / limit)
}

// excludedLines says, a line each, what a group left out.
func excludedLines(g *groupRow) []string {
	lines := make([]string, len(g.Excluded))
	for i, e := range g.Excluded {
		lines[i] = e.Why
		if who := strings.Join(nonEmpty(e.Worker, e.Shift), ", "); who != "" {
			lines[i] = who + ": " + e.Why
		}
	}
	return lines
}

var excludedFields = []field[exposure.Excluded]{
	in("worker", "", figures, func(e *exposure.Excluded) cell { return text(e.Worker) }),
	in("shift", "", figures, func(e *exposure.Excluded) cell { return text(e.Shift) }),
	in("why", "", figures, func(e *exposure.Excluded) cell { return text(e.Why) }),
}

var historyCount = in("n_history", "", whole, func(g *groupRow) cell { return number(float64(g.Statistics.NHistory)) })

// groups returns the groups for results.json, where the statistics are an
// object as the group command prints it, and for the workbook.
func (r *Report) groups() array {
	return arrayOf("groups", "Groups", r.Results.Groups(), slices.Concat(groupKeys, groupFigures, []field[groupRow]{
		in("excluded", "", figures, func(g *groupRow) cell { return objects(g.Excluded, excludedFields) }),
		historyCount,
		in("stats", "", figures, func(g *groupRow) cell {
			return object(&exposure.ListGroup{Group: g.Name, Analyte: g.Substance.Analyte, Unit: g.Limit.Unit, Statistics: g.Statistics}, listGroupFields)
		}),
	})).footed(groupFoot)
}

// groupTable returns the groups for a table, with nothing nested: bayes.gm of
// the statistics is the column stats.bayes.gm.
func (r *Report) groupTable() array {
	return arrayOf("groups", "", r.Results.Groups(), slices.Concat(groupKeys, []field[groupRow]{
		in("excluded", "", figures, func(g *groupRow) cell { return list(excludedLines(g)) }),
		historyCount,
	}, under("stats.", statisticsColumns, func(g *groupRow) *group.Statistics { return &g.Statistics })))
}

// groupRows is how many lines the terminal has for groups not shown to be below.
const groupRows = 12

// writeGroupOutcomes writes how the groups come out under the limits of the
// authority that governs, those of a group together under its tally; what is
// below is only counted.
func (r *Report) writeGroupOutcomes(p *page) {
	all := r.governedGroups()
	if len(all) == 0 {
		return
	}
	p.heading("Groups against the limits that govern")
	shown, more := gravestGroups(all, groupRows)
	t := textTable{
		headings: []string{"Analyte", "Limit", "Shifts", "95th", "At most", "Outcome"},
		right:    map[int]bool{3: true, 4: true},
	}
	for from, to := 0, 0; from < len(all); from = to {
		for to = from; to < len(all) && all[to].Name == all[from].Name; to++ {
		}
		over := tallyOfGroups(all[from].Name, all[from:to])
		t.rows = append(t.rows, []string{over.authority + ": " + over.words()})
		for _, g := range all[from:to] {
			if shown[g] {
				t.rows = append(t.rows, groupLine(g))
			}
		}
	}
	for _, l := range t.lines(columns) {
		p.line(l)
	}
	if more > 0 {
		p.wrapped("", "", fmt.Sprintf("and %d more undecided", more))
	}
	p.wrapped("", "", "95th: the percentile that 95 of 100 shifts are under, as a share of the limit; at most: with 95 % confidence. "+
		tooFewNote+" Past: of the history. The sheet Groups says why, and what was left out.")
}

// tallyOfGroups counts the outcomes of groups.
func tallyOfGroups(name string, groups []*groupRow) tally {
	t := tally{authority: name}
	for _, g := range groups {
		t.add(g.Statistics.Outcome)
	}
	return t
}

func groupLine(g *groupRow) []string {
	shifts := fmt.Sprint(g.Statistics.N)
	if n := g.Statistics.NHistory; n > 0 {
		shifts += fmt.Sprintf(", %d past", n)
	}
	p95, atMost := percentileTexts(g)
	limit := fmt.Sprintf("%s %s %s %s", g.Limit.Authority, g.Limit.Kind, publishedText(g.Limit.Value), prettyUnit(g.Limit.Unit.Name))
	return []string{substanceText(g.Substance), limit, shifts,
		p95, atMost, outcomeText(g.Statistics.Outcome)}
}

// Words where too few shifts leave a percentile without a useful upper limit;
// the machine-readable files have the figure.
const (
	tooFew     = "too few"
	tooFewNote = "Too few: so few shifts give no useful upper limit."
)

// percentileTexts returns the 95th percentile of a group and its upper limit as
// shares of the limit.
func percentileTexts(g *groupRow) (p95, atMost string) {
	e := leadingOf(g).p95
	if g.Statistics.TooFew(e) {
		return limitShare(e.Value, g.Limit.Value), tooFew
	}
	return limitShare(e.Value, g.Limit.Value), limitShare(e.UCL, g.Limit.Value)
}

// mostShare is the fraction of a limit beyond which no figure is worth reading.
const mostShare = 100

// limitShare returns a figure as a percentage of a limit, "-" where there is none.
func limitShare(o stats.Optional, limit float64) string {
	switch {
	case !tellable(o):
		return "-"
	case o.Value > mostShare*limit:
		return fmt.Sprintf(">%d %%", mostShare*100)
	}
	return percentOf(stats.Exact(o.Value / limit))
}

// gravestGroups picks the groups above a limit and the undecided ones, at most
// so many, and says how many there are beyond: those that ask least of a
// reader.
func gravestGroups(all []*groupRow, most int) (shown map[*groupRow]bool, more int) {
	grave := slices.DeleteFunc(slices.Clone(all), func(g *groupRow) bool { return g.Statistics.Outcome == limits.Below })
	slices.SortStableFunc(grave, func(a, b *groupRow) int {
		return cmp.Or(cmp.Compare(outcomeRank(a.Statistics.Outcome), outcomeRank(b.Statistics.Outcome)),
			cmp.Compare(reach(b), reach(a)))
	})
	n := min(len(grave), most)
	shown = map[*groupRow]bool{}
	for _, g := range grave[:n] {
		shown[g] = true
	}
	return shown, len(grave) - n
}

// reach is how near a group comes to its limit: the share that its percentile
// is, or its highest exposure where none can be told.
func reach(g *groupRow) float64 {
	return leadingOf(g).p95.Value.OrElse(g.Statistics.Max).Value / g.Limit.Value
}

// governedGroups returns each group and substance under the limits of the first
// authority that has any.
func (r *Report) governedGroups() []*groupRow {
	type subject struct{ group, analyte, form string }
	of := func(g *groupRow) subject { return subject{g.Name, g.Substance.Analyte, g.Substance.Form} }
	all := r.Results.Groups()
	first := map[subject]string{}
	for i := range all {
		g := &all[i]
		held, ok := first[of(g)]
		if !ok || r.authorityRank(g.Limit.Authority) < r.authorityRank(held) {
			first[of(g)] = g.Limit.Authority
		}
	}
	var governed []*groupRow
	for i := range all {
		if g := &all[i]; g.Limit.Authority == first[of(g)] {
			governed = append(governed, g)
		}
	}
	return governed
}
