package reports

import (
	"cmp"
	"context"
	"embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/limits"
)

// PageFile is the page of a run, within its folder.
const PageFile = "report.html"

//go:embed page/page.html page/page.css page/tokens.css
var pageFolder embed.FS

var pageTemplate = template.Must(template.New("page.html").ParseFS(pageFolder, "page/page.html"))

// styleOf returns a style sheet behind the colours that all of them share.
func styleOf(sheets embed.FS, name string) template.CSS {
	tokens, _ := pageFolder.ReadFile("page/tokens.css") // both are embedded
	own, _ := sheets.ReadFile(name)
	return template.CSS(tokens) + template.CSS(own)
}

// webPage is what the page says.
type webPage struct {
	rows map[*exposure.Comparison]string // ids of rows that the summary leads to

	Style    template.CSS
	Title    string
	Facts    []pageFact
	Caution  string
	Tool     string
	Created  string
	Tallies  []pageTally
	Headline string
	Stops    []string
	MoreStop int
	Counts   string // of findings
	Grave    []pageRow
	MoreGrav int
	Highest  []pageRow
	Worst8   string // why an 8-hour limit has two rows
	MoreHigh int
	Due      []pageDue
	DueSays  string

	Groups     []pageGroup
	GroupSays  string
	Intervals  []pageFigure
	Plots      []pageFigure
	Strips     []pageFigure
	MoreStrips int
	Tables     []pageTable
	Mixtures   []pageMixture
	MoreMix    int
	Stacks     []pageFigure
	Days       []pageFigure
	MoreDays   int
	Findings   []pageSeverity
	Samples    []pageSample
	MoreSample int
	Drift      []pageFigure
	Blanks     []pageBlank
	Rules      []string
	Formulas   []pageFormula
	Limits     []pageLimit
	Settings   []pageFact
	Inputs     []pageFact
}

type pageFact struct{ Name, Value string }

// pageFigure is a drawing with the words under it.
type pageFigure struct {
	Caption string
	Drawing template.HTML
	More    string // what is not drawn
}

type pageTally struct {
	Name                    string
	Above, Undecided, Below int
}

// pageRow is one comparison.
type pageRow struct {
	Worker, Shift, Substance, Average string
	Exposure, Limit, Kind, Share      string
	Authority                         string
	Outcome                           limits.Outcome
	Why                               string
	FromMemory                        bool
	Row, To                           string // id of the row, and of the row that has the working
	Working                           *working
}

// Mark returns the mark of an outcome.
func (r pageRow) Mark() string { return outcomeMarks[r.Outcome] }

// pageTable is the comparisons with the limits of one authority.
type pageTable struct {
	Authority string
	Governs   bool
	Rows      []pageRow
	More      string
}

// WritePage writes the page: one file that needs no other and no script.
func (r *Report) WritePage(ctx context.Context, w io.Writer) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	return pageTemplate.Execute(&cancellable{ctx, w}, r.page())
}

func (r *Report) page() *webPage {
	p := &webPage{Style: styleOf(pageFolder, "page/page.css"), Title: r.title(), Caution: Caution, Tool: r.tool(), Created: r.created(),
		rows: map[*exposure.Comparison]string{}}
	w := r.newWorkings()
	p.facts(r)
	p.summary(r, w)
	p.groups(r)
	p.exposures(r, w)
	p.quality(r, w)
	p.findings(r)
	p.method(r, w)
	return p
}

func (p *webPage) facts(r *Report) {
	s := &r.Settings
	for _, f := range []pageFact{
		{"Client", s.Client}, {"Site", s.Site}, {"Report number", s.ReportNumber},
		{"Prepared by", s.PreparedBy}, {"Reviewed by", s.ReviewedBy},
		{"Results received", s.ResultsReceived}, {"Determination made", s.DeterminedOn},
		{"Read from", r.readFrom()}, {"Holds", r.holds()},
	} {
		if f.Value != "" {
			p.Facts = append(p.Facts, f)
		}
	}
}

// How much of long lists the page has; what is beyond is counted, and stands
// in the workbook and the tables.
const (
	pageStops   = 12
	pageGrave   = 20
	pageHighest = 12
	pageRows    = 600 // comparisons of one authority
	pageMixRows = 120
	pageSamples = 400
	pageOfCode  = 60 // findings of one code
	fullChains  = 120
)

func (p *webPage) summary(r *Report, w *workings) {
	for _, t := range r.tallies() {
		p.Tallies = append(p.Tallies, pageTally{t.authority, t.above, t.undecided, t.below})
	}
	if len(r.Mixtures) > 0 {
		var t tally
		for i := range r.Mixtures {
			t.add(r.Mixtures[i].Outcome)
		}
		p.Tallies = append(p.Tallies, pageTally{"Mixtures", t.above, t.undecided, t.below})
	}
	if groups := r.governedGroups(); len(groups) > 0 {
		t := tallyOfGroups("", groups)
		p.Tallies = append(p.Tallies, pageTally{"Groups", t.above, t.undecided, t.below})
	}
	p.Headline = r.headline()
	for _, group := range r.byCode(finding.Stop) {
		for _, f := range group {
			p.Stops = append(p.Stops, strings.Join(nonEmpty(notIn(f.Message, f.Subject), clip(f.Message, longestSaid), r.briefPlace(f)), " · "))
		}
	}
	p.Stops, p.MoreStop = atMost(p.Stops, pageStops)
	p.Counts = fmt.Sprintf("%s to look at before a figure is used, %s.", counted(r.Count(finding.Check), "finding"), counted(r.Count(finding.Note), "note"))
	p.Grave, p.MoreGrav = p.leading(append(r.withOutcome(limits.Exceeds), r.withOutcome(limits.Undecided)...), pageGrave)
	p.Highest, p.MoreHigh = p.leading(r.highestBelow(), pageHighest)
	p.Worst8 = r.twice()
	p.due(r)
}

// leading returns the rows of the summary, which lead to the rows of the tables
// that say more, and how many there are beyond most.
func (p *webPage) leading(all []*exposure.Comparison, most int) (rows []pageRow, more int) {
	all, more = atMost(all, most)
	for _, c := range all {
		row := pageRowOf(c)
		if p.rows[c] == "" {
			p.rows[c] = fmt.Sprintf("row-%d", len(p.rows)+1)
		}
		row.To = p.rows[c]
		rows = append(rows, row)
	}
	return rows, more
}

func atMost[T any](all []T, most int) (kept []T, more int) {
	n := min(len(all), most)
	return all[:n], len(all) - n
}

// headline says what the comparisons come to: with the governing limits in a
// sentence, and with those of the other authorities behind it.
func (r *Report) headline() string {
	all := r.tallies()
	if len(all) == 0 {
		return "Nothing was compared with a limit."
	}
	said, below, others := all[0].sentence(), 0, []string(nil)
	for i, t := range all {
		below += t.below
		if i > 0 {
			others = append(others, t.authority+": "+t.words())
		}
	}
	switch {
	case len(others) == 0:
		return said
	case below == len(r.Comparisons):
		return fmt.Sprintf("All %d comparisons with limits came out below: %s.", below, shares(all))
	}
	return said + " " + strings.Join(others, "; ") + "."
}

// shares says how many comparisons there are with the limits of each authority.
func shares(all []tally) string {
	var said []string
	for _, t := range all {
		said = append(said, fmt.Sprintf("%d with limits of %s", t.below, t.authority))
	}
	return strings.Join(said, ", ")
}

// sentence says what the comparisons with the limits of one authority come to.
func (t *tally) sentence() string {
	n := t.above + t.undecided + t.below
	said := fmt.Sprintf("Of %s with limits of %s, ", counted(n, "comparison"), t.authority)
	switch {
	case t.above > 0:
		said += fmt.Sprintf("%d came out above, %d undecided and %d below.", t.above, t.undecided, t.below)
	case t.undecided > 0:
		are := "are"
		if t.undecided == 1 {
			are = "is"
		}
		said += fmt.Sprintf("none came out above; %d %s undecided, which is no proof of being below.", t.undecided, are)
	default:
		said += "all came out below."
	}
	return said
}

// pageRowOf returns a comparison as the page shows it.
func pageRowOf(c *exposure.Comparison) pageRow {
	show := func(v float64) string { return fixed(v, decimals(v, c.LimitValue)) }
	unit := prettyUnit(c.Limit.Unit.Name)
	return pageRow{
		Worker: c.Worker, Shift: shiftText(c.Shift, c.Sample), Average: averageText(c),
		Substance: asText(substanceText(c.Substance), c.Substance.Analyte, c.Limit.As),
		Exposure:  intervalText(c.Fraction.Scale(c.LimitValue), show, "") + " " + unit,
		Limit:     publishedText(c.LimitValue) + " " + unit, Kind: string(c.Limit.Kind), Share: percentOf(c.Fraction),
		Authority: c.Limit.Authority, Outcome: c.Outcome, Why: whyUndecided(c), FromMemory: c.Limit.FromMemory(),
	}
}

type pageDue struct{ Due, Substance, Who, What, Citation string }

// due lists notices and measurements that standards ask for, the earliest first.
func (p *webPage) due(r *Report) {
	for _, d := range r.dated() {
		p.Due = append(p.Due, pageDue{d.due, d.analyte, strings.Join(d.workers, ", "), d.action, d.citation})
		p.DueSays = limits.FollowUpCaution
	}
}

// exposures fills in the tables of comparisons and mixtures, and their figures.
func (p *webPage) exposures(r *Report, w *workings) {
	strips, more := r.strips()
	for i, s := range strips {
		p.Strips = append(p.Strips, s.draw(r, fmt.Sprintf("fs%d", i+1)))
	}
	p.MoreStrips = more
	left := fullChains
	for _, c := range r.governingWorstAll() {
		last := len(p.Tables) - 1
		if last < 0 || p.Tables[last].Authority != c.Limit.Authority {
			p.Tables = append(p.Tables, pageTable{Authority: c.Limit.Authority, Governs: last < 0})
			last++
		}
		t := &p.Tables[last]
		if len(t.Rows) >= pageRows {
			t.More = "further rows, which ask less of a reader, stand in the workbook and in tables/comparisons.csv"
			continue
		}
		row := pageRowOf(c)
		row.Authority, row.Row = "", p.rows[c]
		row.Working = w.comparison(c, c.Outcome != limits.Below && left > 0)
		if c.Outcome != limits.Below {
			left--
		}
		t.Rows = append(t.Rows, row)
	}
	p.mixtures(r, w)
}

// comparison returns the working of a share of a limit: whole from the
// laboratory's figure on, or the last step alone.
func (w *workings) comparison(c *exposure.Comparison, whole bool) *working {
	if whole {
		return w.chain(c, "fraction", "fraction_low", "fraction_high", "lcl_fraction", "ucl_fraction")
	}
	s, has := w.step(c, "fraction")
	if !has {
		return nil
	}
	return &working{Lines: []workingLine{{Sum: w.line(&s).Sum}}}
}

// governingWorstAll returns the comparisons by the order of the authorities
// and then the worst first.
func (r *Report) governingWorstAll() []*exposure.Comparison {
	var all []*exposure.Comparison
	for _, o := range []limits.Outcome{limits.Exceeds, limits.Undecided, limits.Below} {
		all = append(all, r.withOutcome(o)...)
	}
	slices.SortStableFunc(all, func(a, b *exposure.Comparison) int {
		return cmp.Or(cmp.Compare(r.authorityRank(a.Limit.Authority), r.authorityRank(b.Limit.Authority)), cmp.Compare(a.Limit.Authority, b.Limit.Authority))
	})
	return all
}

type pageMixture struct {
	Worker, Shift, Mixture, Limits, Index string
	Outcome                               limits.Outcome
	Why                                   string
	Working                               *working
}

// Mark returns the mark of an outcome.
func (m pageMixture) Mark() string { return outcomeMarks[m.Outcome] }

func (p *webPage) mixtures(r *Report, w *workings) {
	rows := r.mixturesNotBelow()
	for i := range r.Mixtures {
		if m := &r.Mixtures[i]; m.Outcome == limits.Below {
			rows = append(rows, m)
		}
	}
	rows, p.MoreMix = atMost(rows, pageMixRows)
	for _, m := range rows {
		row := pageMixture{Worker: m.Worker, Shift: shiftText(m.Shift, m.Sample), Mixture: m.Mixture, Limits: m.Authority + " " + string(m.Kind),
			Index: indexOf(m.Index), Outcome: m.Outcome, Why: whyMixtureUndecided(m)}
		if lines := w.lines(m, "index"); len(lines) > 0 {
			lines[0].Of = strings.Join(partNames(m.Parts), " + ")
			row.Working = &working{Lines: lines}
		}
		p.Mixtures = append(p.Mixtures, row)
	}
	p.Stacks = r.stacks()
}
