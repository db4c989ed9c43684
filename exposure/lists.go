package exposure

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/group"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
)

// ListGroup is a group of plain lists, judged against a limit.
type ListGroup struct {
	Group, Analyte string
	Unit           limits.Unit // of the limit and all figures; the zero Unit where none is known
	Shifts         []group.Shift
	group.Statistics
}

// ListOptions say how the groups of plain lists are judged.
type ListOptions struct {
	Limit float64
	Unit  limits.Unit // of the limit; the zero Unit: that of the lists
	// Prior returns the prior of a group whose values are multiplied by factor
	// to be in the unit of the limit, for a prior is stated in the unit of the
	// list. Nil: the group's own choice.
	Prior func(factor float64) *stats.Prior
	group.Options
}

// JudgeLists judges the groups of plain lists, each analyte on its own, in the
// order of their names. A group that cannot be judged is among the findings.
// It fails where the limit's unit is not given and the groups are in several.
func JudgeLists(rows []survey.ListRow, o ListOptions, found *finding.List) ([]ListGroup, error) {
	gathered := gatherLists(rows)
	unalike(gathered, found)
	var groups []*rowGroup
	for _, g := range gathered {
		if g.oneUnit(found) {
			groups = append(groups, g)
		}
	}
	unit, err := limitUnit(groups, o.Unit)
	if err != nil {
		return nil, err
	}
	o.Unit = unit
	groups = slices.DeleteFunc(groups, func(g *rowGroup) bool { return !g.toUnit(unit, found) })
	faults := make([]error, len(groups))
	judged := gather(len(groups), func(int) int { return 1 }, func() func([]ListGroup, int) []ListGroup {
		return func(out []ListGroup, i int) []ListGroup {
			one, err := groups[i].judge(o)
			faults[i] = err
			return append(out, one)
		}
	})
	kept := judged[:0]
	for i, g := range groups {
		if faults[i] != nil {
			found.Add(finding.GroupRefused, g.place(), g.subject(), finding.Values{"group": g.name(), "reason": faults[i].Error()})
			continue
		}
		g.remark(&judged[i], found)
		kept = append(kept, judged[i])
	}
	return kept, nil
}

// rowGroup is the rows of one group and analyte.
type rowGroup struct {
	group, analyte string
	rows           []*survey.ListRow
	factor         float64 // to the unit of the limit
}

// gatherLists parts the rows into groups, in the order of their names.
func gatherLists(rows []survey.ListRow) []*rowGroup {
	at := map[[2]string]*rowGroup{}
	var groups []*rowGroup
	for i := range rows {
		key := [2]string{rows[i].Group, rows[i].Analyte}
		g := at[key]
		if g == nil {
			g = &rowGroup{group: key[0], analyte: key[1], factor: 1}
			at[key] = g
			groups = append(groups, g)
		}
		g.rows = append(g.rows, &rows[i])
	}
	slices.SortFunc(groups, func(a, b *rowGroup) int {
		return cmp.Or(cmp.Compare(a.group, b.group), cmp.Compare(a.analyte, b.analyte))
	})
	return groups
}

// unalike finds names of groups and analytes that differ only in case and
// spaces: they are kept apart, but may be meant as one.
func unalike(groups []*rowGroup, found *finding.List) {
	first := map[string]*rowGroup{}
	for _, g := range groups {
		key := strings.ToLower(strings.Join(strings.Fields(g.group+" \x00 "+g.analyte), " "))
		if f := first[key]; f != nil {
			found.Add(finding.GroupsSpellings, g.place(), slices.Concat(f.subject(), g.subject()), finding.Values{"first": f.name(), "second": g.name()})
			continue
		}
		first[key] = g
	}
}

// name returns what people call the group.
func (g *rowGroup) name() string { return ListGroupName(g.group, g.analyte) }

// ListGroupName returns the name of a group for people: with its analyte where
// the list has one.
func ListGroupName(group, analyte string) string {
	if group == "" {
		group = "all exposures"
	}
	if analyte == "" {
		return group
	}
	return group + ", " + analyte
}

func (g *rowGroup) subject() []string { return []string{g.group, g.analyte} }

// place is the first row of the group.
func (g *rowGroup) place() finding.Place { return g.rows[0].Place("group") }

// oneUnit reports whether all values are in one unit.
func (g *rowGroup) oneUnit(found *finding.List) bool {
	var names []string
	other := g.rows[0]
	for _, r := range g.rows {
		if name := unitName(r.Unit); !slices.Contains(names, name) {
			names, other = append(names, name), r
		}
	}
	if len(names) > 1 {
		found.Add(finding.MixedUnits, other.Place("unit"), g.subject(), finding.Values{"group": g.name(), "units": strings.Join(names, " and ")})
	}
	return len(names) == 1
}

func unitName(u limits.Unit) string {
	if u.Name == "" {
		return "no unit"
	}
	return u.Name
}

// limitUnit returns the unit that the limit is in: the one stated, else the
// one that all groups share.
func limitUnit(groups []*rowGroup, stated limits.Unit) (limits.Unit, error) {
	if stated.Name != "" || len(groups) == 0 {
		return stated, nil
	}
	var names []string
	for _, g := range groups {
		if name := unitName(g.rows[0].Unit); !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) > 1 {
		return limits.Unit{}, fmt.Errorf("the groups are in %s; say with --unit which of them the limit is in", strings.Join(names, " and "))
	}
	return groups[0].rows[0].Unit, nil
}

// toUnit finds the factor to the unit of the limit. Values without a unit are
// taken to be in it.
func (g *rowGroup) toUnit(limit limits.Unit, found *finding.List) bool {
	from := g.rows[0].Unit
	if from == limit || from.Name == "" {
		return true
	}
	if from.Dim != limit.Dim {
		found.Add(finding.UnitUnlike, g.rows[0].Place("unit"), g.subject(), finding.Values{"group": g.name(), "unit": from.Name, "limit": limit.Name})
		return false
	}
	g.factor = from.ToBase / limit.ToBase
	return true
}

func (g *rowGroup) judge(o ListOptions) (ListGroup, error) {
	out := ListGroup{Group: g.group, Analyte: g.analyte, Unit: o.Unit}
	for _, r := range g.rows {
		s := group.Shift{Worker: r.Worker, Exposure: r.Value.Scale(g.factor)}
		if r.Date.Known {
			s.Date = r.Date.T.Format("2006-01-02")
		}
		out.Shifts = append(out.Shifts, s)
	}
	if o.Prior != nil {
		o.Options.Prior = o.Prior(g.factor)
	}
	judged, err := group.Judge(out.Shifts, o.Limit, o.Options)
	if err != nil {
		return out, err
	}
	out.Statistics = *judged
	return out, nil
}

// remark adds what a person should know of the group's data.
func (g *rowGroup) remark(judged *ListGroup, found *finding.List) {
	if judged.Method == group.None {
		found.Add(finding.NoEstimates, g.place(), g.subject(), finding.Values{"group": g.name(), "reason": judged.WhyNone})
	}
	type workerDay struct{ worker, date string }
	count := map[workerDay]int{}
	for _, s := range judged.Shifts {
		count[workerDay{s.Worker, s.Date}]++
	}
	for i, s := range judged.Shifts {
		day := workerDay{s.Worker, s.Date}
		if s.Worker == "" || s.Date == "" || count[day] < 2 {
			continue
		}
		found.Add(finding.SameWorkerDay, g.rows[i].Place("worker"), []string{g.group, g.analyte, s.Worker}, finding.Values{
			"group": g.name(), "worker": s.Worker, "date": s.Date, "count": count[day]})
		count[day] = 0 // said once
	}
}

// ListComparison compares the groups of one analyte with each other.
type ListComparison struct {
	Analyte string
	group.Comparison
	Fault string // why they cannot be compared; "" where they are
}

// CompareLists compares the groups of each analyte that has several.
func CompareLists(groups []ListGroup) []ListComparison {
	var analytes []string
	named := map[string][]group.Named{}
	for i := range groups {
		g := &groups[i]
		if named[g.Analyte] == nil {
			analytes = append(analytes, g.Analyte)
		}
		named[g.Analyte] = append(named[g.Analyte], group.Named{Name: g.Group, Shifts: g.Shifts})
	}
	var out []ListComparison
	for _, analyte := range analytes {
		if len(named[analyte]) < 2 {
			continue
		}
		c, err := group.Compare(named[analyte])
		one := ListComparison{Analyte: analyte, Comparison: c}
		if err != nil {
			one.Fault = err.Error()
		}
		out = append(out, one)
	}
	return out
}
