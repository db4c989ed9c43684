package reports

import (
	"cmp"
	"context"
	"embed"
	"html/template"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/exposure/survey"
	"airtally/limits"
)

// NoticesFolder holds the workers' notices, within the folder of a run.
const NoticesFolder = "notices"

//go:embed notice/notice.html notice/notice.css
var noticeFolder embed.FS

var noticeTemplate = template.Must(template.ParseFS(noticeFolder, "notice/notice.html"))

// notice is what one worker is told: results of their own, or of the one who
// represents them, and of nobody else.
type notice struct {
	Style template.CSS

	Code, Name, Job, Group, Respirator string
	Title, Site, Client, ReportNumber  []string
	Ask                                []string // who prepared the report
	Parts                              []noticePart
	Duties                             []noticeDuty
	FollowUpCaution                    string // "" without duties
	Records                            bool   // a standard that asks for records applies
	Unused                             []string
	NonDetect, AtLeast                 bool // such figures are shown
	Caution, Tool, Created             string
}

// noticePart is one set of results: the worker's own, or those that stand for
// the worker.
type noticePart struct {
	Represents  bool
	Headline    noticeHeadline
	Days        []noticeDay
	Tables      []noticeTable
	Mixtures    []noticeMixture
	NotCompared []string // exposures without a limit
}

// noticeDay is one shift, and how much of it was sampled.
type noticeDay struct {
	Day, Name, Minutes string
	Sampled            []string
}

// noticeTable is the comparisons with the limits of one authority, a row a
// limit and a column a shift.
type noticeTable struct {
	Authority string
	Governs   bool
	Days      []noticeDay
	Rows      []noticeRow
}

type noticeRow struct {
	Substance, Average, Limit, Kind string
	FromMemory                      bool
	Cells                           []noticeCell // one for each day of the table
}

// noticeCell is what one shift gave: nothing, one figure, or one for each
// short-term sample.
type noticeCell struct {
	Day     string
	Figures []noticeFigure
}

type noticeFigure struct {
	Exposure, Share string
	Outcome         limits.Outcome
	Why             string // an outcome is missing
}

type noticeMixture struct {
	Name, Authority, Average, Day, Index string
	Outcome                              limits.Outcome
	Why                                  string
}

// kindTexts says what a limit bounds, for people who never heard of limits.
var kindTexts = map[limits.Kind]string{
	limits.TWA8:    "limit for 8 hours",
	limits.TWA10:   "limit for up to 10 hours a day",
	limits.STEL:    "limit for short times",
	limits.Ceiling: "never to be passed",
	limits.Peak:    "highest peak allowed",
	limits.Action:  "action level",
}

// averageTexts says what an exposure is averaged over, in a sentence.
var averageTexts = map[exposure.Basis]string{
	exposure.OverShift: "mean of the shift",
	exposure.Over8h:    "over 8 hours",
	exposure.Over10h:   "over 10 hours",
	exposure.Worst8h:   "worst 8 hours",
	exposure.Short:     "short-term sample",
}

// averageText says what a comparison rests on, in a sentence.
func averageText(c *exposure.Comparison) string {
	if c.OfShiftSample() {
		return ofShiftSample
	}
	return averageTexts[c.Basis]
}

// noticeFiles returns the notices, one file for each worker with a result.
func (r *Report) noticeFiles() []output {
	var all []output
	var names fileNames
	index := r.byShift()
	for _, p := range r.people() {
		if len(p.own)+len(p.stand) == 0 {
			continue
		}
		path := filepath.Join(NoticesFolder, names.next(p.code, "worker")+".html")
		all = append(all, output{path, func(ctx context.Context, w io.Writer) error {
			return noticeTemplate.Execute(&cancellable{ctx, w}, r.notice(p, index))
		}})
	}
	return all
}

// shiftResults is all that came of one worker-shift.
type shiftResults struct {
	exposures   []*exposure.Exposure
	comparisons []*exposure.Comparison
	mixtures    []*exposure.MixtureResult
	followUps   []*exposure.FollowUp
}

func (r *Report) byShift() map[*exposure.WorkerShift]*shiftResults {
	index := map[*exposure.WorkerShift]*shiftResults{}
	of := func(w *exposure.WorkerShift) *shiftResults {
		if index[w] == nil {
			index[w] = &shiftResults{}
		}
		return index[w]
	}
	for i := range r.Exposures {
		s := of(r.Exposures[i].WorkerShift)
		s.exposures = append(s.exposures, &r.Exposures[i])
	}
	for i := range r.Comparisons {
		s := of(r.Comparisons[i].WorkerShift)
		s.comparisons = append(s.comparisons, &r.Comparisons[i])
	}
	for i := range r.Mixtures {
		s := of(r.Mixtures[i].WorkerShift)
		s.mixtures = append(s.mixtures, &r.Mixtures[i])
	}
	followUps := r.FollowUps()
	for i := range followUps {
		s := of(followUps[i].WorkerShift)
		s.followUps = append(s.followUps, &followUps[i])
	}
	return index
}

// notice gathers what one worker is told.
func (r *Report) notice(p *person, index map[*exposure.WorkerShift]*shiftResults) *notice {
	n := &notice{Style: styleOf(noticeFolder, "notice/notice.css"), Code: p.code, Caution: Caution, Tool: r.tool(), Created: r.Created.Format("2006-01-02")}
	if w := p.row; w != nil {
		n.Job, n.Group, n.Respirator = w.Job, w.Group, w.Respirator
		if !r.NoNames {
			n.Name = w.Name
		}
	}
	for _, part := range []struct {
		represents bool
		shifts     []*exposure.WorkerShift
	}{{false, p.own}, {true, p.stand}} {
		if len(part.shifts) == 0 {
			continue
		}
		slices.SortStableFunc(part.shifts, func(a, b *exposure.WorkerShift) int { return a.Start.T.Compare(b.Start.T) })
		n.Parts = append(n.Parts, r.noticePart(part.represents, part.shifts, index))
		for _, w := range part.shifts {
			n.about(r, w)
			n.duties(index[w].followUps)
		}
	}
	n.Unused = unused(p, index)
	n.mergeDuties()
	n.explain()
	return n
}

// about notes the survey that results come from, once.
func (n *notice) about(r *Report, w *exposure.WorkerShift) {
	_, settings := w.Source()
	if settings == nil {
		settings = &r.Settings
	}
	for _, fact := range []struct {
		all  *[]string
		text string
	}{{&n.Title, settings.Title}, {&n.Site, settings.Site}, {&n.Client, settings.Client},
		{&n.ReportNumber, settings.ReportNumber}, {&n.Ask, settings.PreparedBy}} {
		if fact.text != "" {
			*fact.all = appendNew(*fact.all, fact.text)
		}
	}
}

func (r *Report) noticePart(represents bool, shifts []*exposure.WorkerShift, index map[*exposure.WorkerShift]*shiftResults) noticePart {
	part := noticePart{Represents: represents}
	var all shiftResults
	for _, w := range shifts {
		found := index[w]
		all.comparisons = append(all.comparisons, found.comparisons...)
		all.mixtures = append(all.mixtures, found.mixtures...)
		day := noticeDay{Day: dayText(w.Start), Minutes: figureText(w.Minutes), Sampled: sampledTexts(found.exposures)}
		if !represents {
			day.Name = w.Shift // a shift is often named after its worker
		}
		part.Days = append(part.Days, day)
		part.Mixtures = append(part.Mixtures, noticeMixtures(found.mixtures, day.Day)...)
		part.NotCompared = append(part.NotCompared, notCompared(found, day.Day)...)
	}
	part.Headline = headlineOf(&all)
	for from := 0; from < len(shifts); from += daysAcross {
		to := min(from+daysAcross, len(shifts))
		part.Tables = append(part.Tables, r.noticeTables(part.Days[from:to], shifts[from:to], index)...)
	}
	return part
}

// daysAcross is how many shifts stand side by side on a page.
const daysAcross = 3

func dayText(m survey.Moment) string {
	if !m.Known || m.Bare {
		return "day not stated"
	}
	return m.T.Format("2006-01-02")
}

// noticeTables returns the comparisons of some shifts by authority, the
// governing one first, and in each the limits by what came worst.
func (r *Report) noticeTables(days []noticeDay, shifts []*exposure.WorkerShift, index map[*exposure.WorkerShift]*shiftResults) []noticeTable {
	var all []*exposure.Comparison
	column := map[*exposure.Comparison]int{}
	for i, w := range shifts {
		for _, c := range index[w].comparisons {
			all = append(all, c)
			column[c] = i
		}
	}
	slices.SortStableFunc(all, r.governingWorst)
	var tables []noticeTable
	rows := map[noticeKey]int{}
	for _, c := range all {
		if last := len(tables) - 1; last < 0 || tables[last].Authority != c.Limit.Authority {
			tables = append(tables, noticeTable{Authority: c.Limit.Authority, Governs: r.authorityRank(c.Limit.Authority) == 0, Days: days})
		}
		t := &tables[len(tables)-1]
		at, known := rows[keyOf(c)]
		if !known {
			at = len(t.Rows)
			rows[keyOf(c)] = at
			t.Rows = append(t.Rows, noticeRowOf(c, days))
		}
		cell := &t.Rows[at].Cells[column[c]]
		cell.Figures = append(cell.Figures, noticeFigureOf(c))
	}
	return tables
}

// noticeKey tells the rows of a notice apart.
type noticeKey struct {
	substance, average, limit string
	value                     float64
}

func keyOf(c *exposure.Comparison) noticeKey {
	return noticeKey{substanceText(c.Substance), averageText(c), limitKey(c.Limit), c.LimitValue}
}

func noticeRowOf(c *exposure.Comparison, days []noticeDay) noticeRow {
	row := noticeRow{
		Substance: asText(substanceText(c.Substance), c.Substance.Analyte, c.Limit.As), Average: averageText(c), Kind: kindTexts[c.Limit.Kind],
		Limit: publishedText(c.LimitValue) + " " + prettyUnit(c.Limit.Unit.Name), FromMemory: c.Limit.FromMemory(),
		Cells: make([]noticeCell, len(days)),
	}
	for i := range days {
		row.Cells[i].Day = days[i].Day
	}
	return row
}

func noticeFigureOf(c *exposure.Comparison) noticeFigure {
	show := func(v float64) string { return fixed(v, decimals(v, c.LimitValue)) }
	text := intervalText(c.Fraction.Scale(c.LimitValue), show, "") + " " + prettyUnit(c.Limit.Unit.Name)
	return noticeFigure{Exposure: text, Share: percentOf(c.Fraction), Outcome: c.Outcome, Why: whyUndecided(c)}
}

func noticeMixtures(mixtures []*exposure.MixtureResult, day string) []noticeMixture {
	var all []noticeMixture
	for _, m := range mixtures {
		all = append(all, noticeMixture{m.Mixture, m.Authority, averageTexts[m.Basis], day, indexOf(m.Index), m.Outcome, whyMixtureUndecided(m)})
	}
	return all
}

// sampledTexts says how much of a shift was sampled, and what the rest counts
// as; substances of which that is not so are named.
func sampledTexts(exposures []*exposure.Exposure) []string {
	var texts []string
	substances := map[string][]string{}
	for _, e := range exposures {
		if e.Basis == exposure.Short {
			continue
		}
		text := sampledText(e)
		if substances[text] == nil {
			texts = append(texts, text)
		}
		if name := substanceText(e.Substance); !slices.Contains(substances[text], name) {
			substances[text] = append(substances[text], name)
		}
	}
	if len(texts) == 1 {
		return []string{"Air was sampled for " + texts[0]}
	}
	for i, text := range texts {
		texts[i] = strings.Join(substances[text], ", ") + ": sampled for " + text
	}
	return texts
}

func sampledText(e *exposure.Exposure) string {
	text := figureText(e.SampledMin) + " of " + figureText(e.Minutes) + " minutes"
	switch {
	case e.SampledMin >= e.Minutes:
		return text + "."
	case e.GapsCover:
		return text + "; what is known of the rest was counted in."
	case e.Policy == survey.PolicyZero:
		return text + "; the rest counts as time without exposure."
	default:
		return text + "; the rest counts as if it had been like the sampled time."
	}
}

// notCompared returns the exposures to substances that have no limit here.
func notCompared(found *shiftResults, day string) []string {
	var all []string
	var seen []*exposure.Substance
	for _, c := range found.comparisons {
		seen = append(seen, c.Substance)
	}
	for _, e := range found.exposures {
		if slices.Contains(seen, e.Substance) {
			continue
		}
		seen = append(seen, e.Substance)
		all = append(all, substanceText(e.Substance)+": "+figuresOf(e.Value)+" "+unitText(e.Quantity)+", "+averageTexts[e.Basis]+", "+day)
	}
	return all
}

// unused returns the samples taken on a worker that came to no result.
func unused(p *person, index map[*exposure.WorkerShift]*shiftResults) []string {
	var used []string
	for _, w := range p.own {
		for _, e := range index[w].exposures {
			used = append(used, e.Samples...)
		}
	}
	return slices.DeleteFunc(slices.Clone(p.taken), func(id string) bool { return slices.Contains(used, id) })
}

// explain notes which kinds of figures the notice shows.
func (n *notice) explain() {
	look := func(text string) {
		n.NonDetect = n.NonDetect || strings.Contains(text, "<")
		n.AtLeast = n.AtLeast || strings.Contains(text, "≥")
	}
	for _, p := range n.Parts {
		for _, t := range p.Tables {
			for _, row := range t.Rows {
				for _, cell := range row.Cells {
					for _, f := range cell.Figures {
						look(f.Exposure)
					}
				}
			}
		}
		for _, text := range p.NotCompared {
			look(text)
		}
		for _, m := range p.Mixtures {
			look(m.Index)
		}
	}
}

// noticeDuty is what standards ask for after a result, and by when.
type noticeDuty struct {
	Due, Action           string
	Substances, Citations []string
	Since                 string // what the time is counted from, where the day is not known
	FromMemory            bool
	monitor, period       bool // it is to measure again, or not; it has a period
}

// toldDuties are the kinds of duties that concern the worker; the report has
// the others too.
var toldDuties = []limits.Duty{limits.DutyNotify, limits.DutyMonitor, limits.DutyRecord}

// duties adds what the standards ask for. Duties of the same words and day
// stand once; of one duty after several shifts the first day counts.
func (n *notice) duties(followUps []*exposure.FollowUp) {
	for _, f := range followUps {
		if !slices.Contains(toldDuties, f.Duty) {
			continue
		}
		n.FollowUpCaution = limits.FollowUpCaution
		n.Records = n.Records || f.Duty == limits.DutyRecord
		d := noticeDuty{Due: f.Due, Action: f.Action, Substances: []string{f.Substance.Analyte}, Citations: []string{f.Citation},
			FromMemory: f.Status == limits.FromMemory, monitor: f.Duty == limits.DutyMonitor, period: f.BaseEvent != ""}
		if f.Due == "" {
			d.Since = string(f.BaseEvent)
		}
		at := slices.IndexFunc(n.Duties, func(o noticeDuty) bool {
			return o.Action == d.Action && o.Citations[0] == d.Citations[0] && o.Substances[0] == d.Substances[0]
		})
		switch {
		case at < 0:
			n.Duties = append(n.Duties, d)
		case d.Due != "" && (n.Duties[at].Due == "" || d.Due < n.Duties[at].Due):
			n.Duties[at] = d
		}
	}
}

// dropMilder leaves out that no repeat is due after one shift, where another
// shift asks for one.
func (n *notice) dropMilder() {
	repeated := map[string]bool{}
	for _, d := range n.Duties {
		repeated[d.Substances[0]] = repeated[d.Substances[0]] || d.monitor && d.period
	}
	n.Duties = slices.DeleteFunc(n.Duties, func(d noticeDuty) bool { return d.monitor && !d.period && repeated[d.Substances[0]] })
}

// mergeDuties joins those of the same words and day, and puts those with a day
// first, the next day first.
func (n *notice) mergeDuties() {
	n.dropMilder()
	slices.SortStableFunc(n.Duties, func(a, b noticeDuty) int {
		undated := func(d noticeDuty) string { return cmp.Or(d.Due, "~") }
		return cmp.Or(cmp.Compare(undated(a), undated(b)), cmp.Compare(a.Substances[0], b.Substances[0]))
	})
	var merged []noticeDuty
	for _, d := range n.Duties {
		at := slices.IndexFunc(merged, func(o noticeDuty) bool { return o.Due == d.Due && o.Action == d.Action && o.Since == d.Since })
		if at < 0 {
			merged = append(merged, d)
			continue
		}
		m := &merged[at]
		m.Substances = appendNew(m.Substances, d.Substances[0])
		m.Citations = appendNew(m.Citations, d.Citations[0])
		m.FromMemory = m.FromMemory || d.FromMemory
	}
	n.Duties = merged
}

func appendNew(all []string, text string) []string {
	if slices.Contains(all, text) {
		return all
	}
	return append(all, text)
}
