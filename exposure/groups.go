package exposure

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"airtally/exposure/finding"
	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

// Group is what the workers of one similar exposure group met of one substance,
// shift by shift, against one limit for the average of hours. Groups of one
// name in several surveys are one.
type Group struct {
	Name       string
	Substance  *Substance
	Limit      *limits.Limit
	Basis      Basis // of its exposures; twa10 where any is
	Excluded   []Excluded
	Statistics group.Statistics

	members []*Exposure
	left    []*Exposure // of its shifts, that do not count
	history []pastExposure
}

// Excluded is a worker-shift or a sample that a group does not count.
type Excluded struct{ Worker, Shift, Why string }

// Groups returns every group against every limit of its substances for the
// average of hours, sorted by their fields. They are judged when first asked
// for.
func (x *Results) Groups() []Group {
	if x.judged == nil {
		return nil
	}
	return x.judged()
}

// Shifts returns the exposures that a group is judged by, in the unit of its
// limit.
func (g *Group) Shifts() []group.Shift {
	shifts := make([]group.Shift, 0, len(g.members)+len(g.history))
	for _, x := range g.members {
		shifts = append(shifts, group.Shift{
			Worker: x.Worker, Name: x.Shift, Date: dateText(x.WorkerShift.Start), Exposure: x.WorkerShift.of.inUnit(x, asStated, g.Limit)})
	}
	for _, h := range g.history {
		shifts = append(shifts, group.Shift{Worker: h.row.Worker, Date: h.date(), Exposure: h.exposure, History: true})
	}
	return shifts
}

// judgeGroups judges groups, several at once; those of one name and substance,
// which stand together, share what no limit has a part in.
func judgeGroups(groups []*Group) []Group {
	var alike [][]*Group
	for i, g := range groups {
		if i == 0 || g.Name != groups[i-1].Name || compareSubstances(g.Substance, groups[i-1].Substance) != 0 {
			alike = append(alike, nil)
		}
		last := &alike[len(alike)-1]
		*last = append(*last, g)
	}
	return gather(len(alike), func(i int) int { return len(alike[i]) }, func() func([]Group, int) []Group {
		return func(out []Group, i int) []Group {
			var sets sampleSets
			for _, g := range alike[i] {
				g.judge(&sets)
				out = append(out, *g)
			}
			return out
		}
	})
}

// sampleSets holds samples that limits share, with their shifts.
type sampleSets struct {
	shifts  [][]group.Shift
	samples []*group.Sample
}

// of returns the sample of the shifts, made where they are met first.
func (s *sampleSets) of(shifts []group.Shift) (*group.Sample, error) {
	for i, known := range s.shifts {
		if slices.Equal(known, shifts) {
			return s.samples[i], nil
		}
	}
	sample, err := group.NewSample(shifts, group.Options{})
	if err == nil {
		s.shifts, s.samples = append(s.shifts, shifts), append(s.samples, sample)
	}
	return sample, err
}

func (g *Group) judge(sets *sampleSets) {
	sample, err := sets.of(g.Shifts())
	var judged *group.Statistics
	if err == nil {
		judged, err = sample.Against(g.Limit.Value)
	}
	if err == nil {
		g.Statistics = *judged
		return
	}
	why := "Nothing can be said: " + err.Error() + "."
	if len(g.members)+len(g.history) == 0 {
		why = "No shift of the group counts; what was left out says why."
	}
	g.Statistics = group.Statistics{
		N: len(g.members) + len(g.history), NHistory: len(g.history), Limit: g.Limit.Value,
		Method: group.None, DecidedBy: group.ByNothing, Outcome: limits.Undecided, Why: why,
	}
}

// groupBook gathers what groups are judged by.
type groupBook struct {
	findings   *finding.List
	pooled     bool // of several surveys
	groups     []*Group
	at         map[metLimit]*Group
	byLimit    map[groupLimit]*Group
	bySubject  map[groupSubject][]*Group
	ungrouped  []*WorkerShift
	seenNobody map[string]bool
}

// metLimit finds the group of an exposure again without its texts.
type metLimit struct {
	group     string
	substance *Substance
	limit     *limits.Limit
}

// groupSubject is a group and what it was exposed to.
type groupSubject struct{ group, analyte, form string }

// groupLimit is what makes two rows of groups the same, whatever their survey.
type groupLimit struct {
	groupSubject
	authority, instrument, as, unit string
	kind                            limits.Kind
	value                           float64
}

// gatherGroups gathers the groups of all surveys, not yet judged, sorted.
func (x *Results) gatherGroups(found *finding.List) []*Group {
	b := &groupBook{
		findings: found, pooled: len(x.reductions) > 1, at: map[metLimit]*Group{}, byLimit: map[groupLimit]*Group{},
		bySubject: map[groupSubject][]*Group{}, seenNobody: map[string]bool{},
	}
	for i := range x.Exposures {
		b.exposure(&x.Exposures[i])
	}
	b.tellUngrouped()
	b.pool(x.reductions)
	if len(b.groups) > 0 {
		b.leaveOut(x)
	}
	for _, g := range b.groups {
		slices.SortFunc(g.Excluded, compareExcluded)
		g.Excluded = slices.Compact(g.Excluded)
	}
	slices.SortFunc(b.groups, compareGroups)
	return b.groups
}

func compareExcluded(a, b Excluded) int {
	return cmp.Or(cmp.Compare(a.Worker, b.Worker), cmp.Compare(a.Shift, b.Shift), cmp.Compare(a.Why, b.Why))
}

func compareGroups(a, b *Group) int {
	return cmp.Or(cmp.Compare(a.Name, b.Name), compareSubstances(a.Substance, b.Substance),
		cmp.Compare(a.Limit.Authority, b.Limit.Authority), cmp.Compare(a.Limit.Instrument, b.Limit.Instrument),
		cmp.Compare(a.Limit.Kind, b.Limit.Kind), cmp.Compare(a.Basis, b.Basis), cmp.Compare(a.Limit.Value, b.Limit.Value),
		cmp.Compare(a.Limit.Unit.Name, b.Limit.Unit.Name), cmp.Compare(a.Limit.As, b.Limit.As))
}

// exposure adds an exposure to its group under each limit whose average it is,
// or says there why it does not count.
func (b *groupBook) exposure(x *Exposure) {
	if x.Group == "" {
		b.notGrouped(x.WorkerShift)
		return
	}
	for _, l := range x.Substance.limits {
		if !x.judgedBy(l) || !x.comparableWith(l) {
			continue
		}
		g := b.group(x, l)
		why := x.notCounted()
		if why == "" && b.pooled {
			why = g.repeats(x)
		}
		if why != "" {
			g.exclude(x.Worker, x.Shift, why)
			g.left = append(g.left, x)
			continue
		}
		g.members = append(g.members, x)
		if x.Basis == Over10h {
			g.Basis = Over10h
		}
	}
}

// judgedBy reports whether an exposure is the one average of its shift that a
// limit asks for. Lead over 8 hours is taken as the dose over 8 hours against
// the whole limit, the same as its mean against 400/hours.
func (x *Exposure) judgedBy(l *limits.Limit) bool {
	switch l.Kind {
	case limits.TWA8:
		return x.Basis == Over8h
	case limits.TWA10:
		return x.Basis == Over10h || x.Basis == OverShift && x.Minutes <= minutes10h+instant
	}
	return false
}

// notCounted says why an exposure does not count in its group, "" where it does.
func (x *Exposure) notCounted() string {
	least := x.WorkerShift.of.settings.Coverage
	switch {
	case x.shortAlone():
		return "only short-term samples were taken"
	case !x.covered(least):
		return fmt.Sprintf("%g %% of the shift was sampled, under the %g %% asked for", math.Floor(x.Coverage.Value*100)/100, least)
	case !(x.Value.High > 0):
		return "an exposure of 0 is not a result: the reporting limit it is under is not stated"
	}
	return ""
}

// covered reports whether enough of a shift was sampled or stated for "below".
func (x *Exposure) covered(minPct float64) bool {
	return x.PolicyStated || x.GapsCover || !under(x.Coverage.Value, minPct)
}

// shortAlone reports whether no shift sample is in an average.
func (x *Exposure) shortAlone() bool {
	for i := range x.average.doses {
		for _, t := range x.average.doses[i].terms {
			if !t.conc.Sample.Row.Purpose.ShortTerm() {
				return false
			}
		}
	}
	return true
}

// repeats says that the group counts the same time of the same worker from
// another survey, "" where it does not. Exposures come worker by worker.
func (g *Group) repeats(x *Exposure) string {
	for i := len(g.members) - 1; i >= 0 && g.members[i].Worker == x.Worker; i-- {
		m := g.members[i]
		if m.WorkerShift.of != x.WorkerShift.of && timed(x.WorkerShift.Start) && m.WorkerShift.Start.T.Equal(x.WorkerShift.Start.T) {
			return fmt.Sprintf("the shift that starts at this time is counted already, from %s", m.WorkerShift.of.survey.Path)
		}
	}
	return ""
}

func (g *Group) exclude(worker, shift, why string) {
	g.Excluded = append(g.Excluded, Excluded{worker, shift, why})
}

// group returns the group of an exposure under a limit, made at its first use.
func (b *groupBook) group(x *Exposure, l *limits.Limit) *Group {
	at := metLimit{x.Group, x.Substance, l}
	if g := b.at[at]; g != nil {
		return g
	}
	subject := groupSubject{x.Group, x.Substance.Analyte, x.Substance.Form}
	key := groupLimit{subject, l.Authority, l.Instrument, l.As, l.Unit.Name, l.Kind, l.Value}
	g := b.byLimit[key]
	if g == nil {
		g = &Group{Name: x.Group, Substance: x.Substance, Limit: l, Basis: OverShift}
		if l.Kind == limits.TWA8 {
			g.Basis = Over8h
		}
		b.byLimit[key] = g
		b.groups = append(b.groups, g)
		b.bySubject[subject] = append(b.bySubject[subject], g)
	}
	b.at[at] = g
	return g
}

// notGrouped notes a worker who is listed without a group.
func (b *groupBook) notGrouped(s *WorkerShift) {
	if s.of.workers[s.Worker] != nil && !b.seenNobody[s.Worker] {
		b.seenNobody[s.Worker] = true
		b.ungrouped = append(b.ungrouped, s)
	}
}

// tellUngrouped tells of workers without a group, where others have one.
func (b *groupBook) tellUngrouped() {
	if len(b.groups) == 0 {
		return
	}
	for _, s := range b.ungrouped {
		b.findings.Add(finding.NoGroup, s.of.workers[s.Worker].Place("group"), []string{s.Worker}, finding.Values{"worker": s.Worker})
	}
}

// inUnitOf puts an exposure of an earlier survey, in a unit of its own, in the
// unit of a limit; false where it cannot be.
func (g *Group) inUnitOf(x stats.Interval, unit limits.Unit, molarVolume float64) (stats.Interval, bool) {
	base, to, weight := x.Scale(unit.ToBase), g.Limit.Unit, g.Substance.Weight
	switch {
	case unit.Dim == to.Dim:
		return base.Per(to.ToBase), true
	case unit.Dim == limits.Fibre || to.Dim == limits.Fibre || !weight.Known:
		return x, false
	case to.Dim == limits.Molar:
		return base.Scale(molarVolume).Per(weight.Value).Per(to.ToBase), true
	}
	return base.Scale(weight.Value).Per(molarVolume).Per(to.ToBase), true
}
