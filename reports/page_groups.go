package reports

import (
	"fmt"
	"strings"

	"airtally/limits"
)

// pageGroup is one group and substance against one limit.
type pageGroup struct {
	Name, Substance, Limit, Shifts string
	P95, AtMost, Over              string
	Outcome                        limits.Outcome
	Why, Notes, LeftOut            string
	FromMemory                     bool
}

// Mark returns the mark of an outcome.
func (g pageGroup) Mark() string { return outcomeMarks[g.Outcome] }

// groups fills in what the shifts of each group say together, under the limits
// that govern.
func (p *webPage) groups(r *Report) {
	all := r.governedGroups()
	if len(all) == 0 {
		return
	}
	p.GroupSays = groupRuleNote + " " + tooFewNote + " " + groupFoot
	for _, g := range all {
		s := &g.Statistics
		lead := leadingOf(g)
		p95, atMost := percentileTexts(g)
		shifts := counted(s.N, "shift")
		if s.Workers > 0 {
			shifts += " of " + counted(s.Workers, "worker")
		}
		if s.NHistory > 0 {
			shifts += fmt.Sprintf(", %d of them of earlier surveys", s.NHistory)
		}
		row := pageGroup{
			Name: g.Name, Substance: substanceText(g.Substance), Shifts: shifts,
			Limit: g.Limit.Authority + " " + string(g.Limit.Kind) + " " + publishedText(g.Limit.Value) + " " + prettyUnit(g.Limit.Unit.Name),
			P95:   p95, AtMost: atMost, Over: "-",
			Outcome: s.Outcome, Why: s.Why, Notes: strings.Join(s.Notes, " "), LeftOut: strings.Join(excludedLines(g), "; "),
			FromMemory: g.Limit.FromMemory(),
		}
		if tellable(lead.exceedance.Value) {
			row.Over = shareText(lead.exceedance.Value.Value)
		}
		p.Groups = append(p.Groups, row)
	}
	p.Intervals = r.intervalPlots()
	p.Plots = r.probabilityPlots()
}
