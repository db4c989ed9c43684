package reports

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

// groupText writes the statistics of one group for a person.
type groupText struct {
	p *page
	*group.Statistics
	unit limits.Unit
}

const bullet, underBullet = "  • ", "    "

func (t groupText) write() {
	t.p.wrapped("", "", t.verdict())
	t.p.wrapped("", "", t.Why)
	if said := t.said(); len(said) > 0 {
		t.p.line("")
		for _, s := range said {
			t.p.wrapped(bullet, underBullet, s)
		}
	}
	t.details()
	for _, n := range t.Notes {
		t.p.wrapped("Note: ", "  ", n)
	}
	if b := t.Bayes; b != nil && b.Warning != "" && !slices.Contains(t.Notes, b.Warning) {
		t.p.wrapped("Note: ", "  ", b.Warning)
	}
}

// verdict is the outcome in a line.
func (t groupText) verdict() string {
	about := " the limit of " + measured(t.Limit, t.unit) + ": " + t.counts() + "."
	switch t.Outcome {
	case limits.Below:
		return "BELOW" + about
	case limits.Exceeds:
		return "ABOVE" + about
	default:
		return "UNDECIDED against" + about
	}
}

// counts says how many shifts of how many workers there are.
func (t groupText) counts() string {
	said := counted(t.N, "shift")
	if t.Workers > 0 {
		said += " of " + counted(t.Workers, "worker")
	}
	return said
}

// fromPosterior reports whether the posterior is read first: it decides, or
// nothing else is known.
func (t groupText) fromPosterior() bool {
	return t.Bayes != nil && (t.DecidedBy == group.ByPosterior || t.Method == group.None)
}

// leading returns the estimates that are read first.
func (t groupText) leading() (p95, exceedance group.Estimate, gm, gsd stats.Optional) {
	if b := t.Bayes; t.fromPosterior() {
		return b.P95, b.Exceedance, b.GM, b.GSD
	}
	return t.P95, t.Exceedance, t.GM.Value, t.GSD
}

// said returns the few figures that matter, in sentences.
func (t groupText) said() []string {
	p95, exceedance, gm, gsd := t.leading()
	var out []string
	add := func(s string) {
		if s != "" {
			out = append(out, s)
		}
	}
	sure := "95 % confidence"
	if t.fromPosterior() {
		sure = "95 % probability"
	}
	add(t.ofPercentile(0.95, sure, p95))
	if t.Percentile != 0.95 || t.Confidence != 0.95 {
		add(t.ofPercentile(t.Percentile, publishedText(asPercent(t.Confidence))+" % confidence", t.Asked))
	}
	add(t.ofExceedance(sure, exceedance))
	add(t.typical(gm, gsd))
	add(t.average())
	add(t.probabilities())
	return out
}

// ofPercentile says what a percentile means.
func (t groupText) ofPercentile(fraction float64, sure string, e group.Estimate) string {
	if !tellable(e.Value) {
		return ""
	}
	said := fmt.Sprintf("%s of 100 shifts are under %s (best estimate)", publishedText(asPercent(fraction)), t.amount(e.Value.Value))
	switch {
	case !tellable(e.UCL):
		said += "; how high it could be cannot be told"
	case t.Outcome != limits.Below && t.IsFar(e.UCL):
		if tellable(e.LCL) {
			said += "; could be as low as " + t.amount(e.LCL.Value)
		}
		said += "; no useful upper limit from " + counted(t.N, "shift")
	case t.Outcome != limits.Below && tellable(e.LCL):
		said += fmt.Sprintf("; could be as low as %s or as high as %s", t.figure(e.LCL.Value), t.amount(e.UCL.Value))
	default:
		said += fmt.Sprintf("; could be as high as %s, %s of the limit", t.amount(e.UCL.Value), t.share(e.UCL.Value))
	}
	return said + " (" + sure + ")."
}

// tellable reports whether there is a figure to tell.
func tellable(o stats.Optional) bool { return o.Known && !math.IsInf(o.Value, 0) }

// amount returns a figure of exposure with its unit.
func (t groupText) amount(v float64) string {
	return strings.TrimSpace(t.figure(v) + " " + prettyUnit(t.unit.Name))
}

// mostWritten is from where on a figure is written with an exponent.
const mostWritten = 1e9

// figure returns a figure of exposure, never rounded onto or across the limit.
func (t groupText) figure(v float64) string {
	if v >= mostWritten {
		return fixed(v, mostDecimals+1)
	}
	return fixed(v, decimals(v, t.Limit))
}

// share returns a figure as a percentage of the limit.
func (t groupText) share(v float64) string {
	if v >= mostWritten*t.Limit {
		return "far over 100 %"
	}
	return percentOf(stats.Exact(v / t.Limit))
}

// exceedanceMark is the share of shifts over the limit that the rules judge by.
const exceedanceMark = 0.05

func (t groupText) ofExceedance(sure string, e group.Estimate) string {
	if !tellable(e.Value) {
		return ""
	}
	said := fmt.Sprintf("%s of 100 shifts are over the limit (best estimate)", capital(perHundred(e.Value.Value)))
	switch {
	case !tellable(e.UCL):
	case t.Outcome != limits.Below && tellable(e.LCL):
		said += fmt.Sprintf("; could be as few as %s or as many as %s (%s)", shareText(e.LCL.Value), shareText(e.UCL.Value), sure)
	default:
		said += fmt.Sprintf("; could be as many as %s (%s)", perHundred(e.UCL.Value), sure)
	}
	return said + "; the rule allows 5."
}

// capital returns s with a capital letter in front.
func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
}

// perHundred returns a fraction as so many of 100, never rounded onto or
// across 5, and in words where it is too near 0 or 100 to print.
func perHundred(fraction float64) string {
	return strings.NewReplacer("<", "less than ", ">", "over ").Replace(shareText(fraction))
}

// shareText returns the same in signs.
func shareText(fraction float64) string {
	const least = 0.01
	v := fraction * 100
	switch {
	case v == 0:
		return "0"
	case v < least:
		return "<0.01"
	case v > 100-least && v < 100:
		return ">99.99"
	}
	return fixed(v, decimals(v, exceedanceMark*100))
}

func (t groupText) typical(gm, gsd stats.Optional) string {
	if !tellable(gm) {
		return ""
	}
	said := fmt.Sprintf("A typical shift is at %s (geometric mean)", t.amount(gm.Value))
	if tellable(gsd) {
		said += fmt.Sprintf("; two of three shifts are within a factor of %s of it (geometric standard deviation)", figureText(gsd.Value))
	}
	return said + "."
}

func (t groupText) average() string {
	if !tellable(t.AM.Value) {
		return ""
	}
	said := fmt.Sprintf("The average over many shifts is %s (arithmetic mean)", t.amount(t.AM.Value.Value))
	if tellable(t.AM.UCL) {
		return said + fmt.Sprintf("; could be as high as %s (95 %% confidence).", t.amount(t.AM.UCL.Value))
	}
	return said + "; how high it could be is not meaningful with so few or so scattered shifts."
}

// probabilities says what the posterior gives for the 95th percentile.
func (t groupText) probabilities() string {
	if t.Bayes == nil || !t.Bayes.OverLimit.Known {
		return ""
	}
	said := fmt.Sprintf("Probability that more than 5 of 100 shifts are over the limit: %s", probability(t.Bayes.OverLimit.Value))
	if t.Bayes.OverHalf.Known && t.Bayes.OverTenth.Known {
		said += fmt.Sprintf("; over half of it: %s; over a tenth: %s", probability(t.Bayes.OverHalf.Value), probability(t.Bayes.OverTenth.Value))
	}
	return said + "."
}

// probability returns a probability as a percentage.
func probability(p float64) string { return perHundred(p) + " %" }

// details writes the table of figures and what else is known of the group.
func (t groupText) details() {
	if table := t.table(); len(table.rows) > 0 {
		t.p.line("")
		for _, l := range table.lines(columns) {
			t.p.line(l)
		}
	}
	t.p.line("")
	for _, d := range []string{t.data(), t.fit(), t.prior(), t.en689(), t.betweenWorkers(), t.trend(), t.kaplanMeier(), t.orderStatistics()} {
		if d != "" {
			t.p.wrapped("", "  ", d)
		}
	}
}

// table sets out every estimate with its limits.
func (t groupText) table() *textTable {
	out := &textTable{
		headings: []string{"Figures" + prefixed(", ", prettyUnit(t.unit.Name)), "lower 95 %", "estimate", "upper 95 %", "upper 70 %"},
		right:    map[int]bool{1: true, 2: true, 3: true, 4: true},
	}
	add := func(name string, show func(float64) string, e group.Estimate, ucl70 stats.Optional) {
		if tellable(e.Value) || tellable(e.UCL) {
			out.rows = append(out.rows, []string{name, shown(e.LCL, show), shown(e.Value, show), shown(e.UCL, show), shown(ucl70, show)})
		}
	}
	b := t.Bayes
	if b == nil {
		b = &group.Bayes{}
	}
	none := stats.Optional{}
	add("geometric mean", t.figure, t.GM, none)
	add("geometric standard deviation", figureText, group.Estimate{Value: t.GSD}, none)
	add("arithmetic mean", t.figure, t.AM, none)
	add("95th percentile", t.figure, t.P95, t.P95UCL70)
	if !alike(b.P95, t.P95) {
		add("95th percentile, posterior", t.figure, b.P95, b.P95UCL70)
	}
	add("over the limit, of 100 shifts", shareText, t.Exceedance, none)
	if !alike(b.Exceedance, t.Exceedance) {
		add("over the limit, posterior", shareText, b.Exceedance, none)
	}
	return out
}

// alike reports whether the limits of two estimates are the same, as those of
// the reference prior and the exact ones are.
func alike(a, b group.Estimate) bool {
	near := func(x, y stats.Optional) bool {
		return x.Known == y.Known && math.Abs(x.Value-y.Value) <= 1e-6*math.Abs(y.Value)
	}
	return near(a.LCL, b.LCL) && near(a.UCL, b.UCL)
}

func shown(o stats.Optional, show func(float64) string) string {
	if !tellable(o) {
		return ""
	}
	return show(o.Value)
}

// data says what the group's shifts are.
func (t groupText) data() string {
	said := "Data: " + t.counts()
	if t.NCensored > 0 {
		said += fmt.Sprintf(", %d known only within bounds, such as under a reporting limit", t.NCensored)
	}
	if t.NHistory > 0 {
		said += fmt.Sprintf(", %d of earlier surveys", t.NHistory)
	}
	switch {
	case !t.Min.Known || !t.Max.Known:
	case t.Min == t.Max:
		said += "; " + t.amount(t.Min.Value)
	default:
		said += fmt.Sprintf("; from %s to %s", t.figure(t.Min.Value), t.amount(t.Max.Value))
		if t.Median.Known {
			said += ", median " + t.figure(t.Median.Value)
		}
	}
	if t.NCensored > 0 {
		said += "; half of a limit that a result is under, the middle of two bounds or a lower bound stands for those"
	}
	return said + "."
}

// badFit is the probability under which a lognormal is doubted.
const badFit = 0.05

// fit says whether the values look lognormal, as all figures suppose.
func (t groupText) fit() string {
	switch {
	case t.W.Known && t.WP.Known && t.WP.Value < badFit:
		return fmt.Sprintf("Lognormal? DOUBTFUL: Shapiro-Wilk W = %s, P = %s.", figureText(t.W.Value), figureText(t.WP.Value))
	case t.W.Known && t.WP.Known:
		return fmt.Sprintf("Lognormal? Not contradicted: Shapiro-Wilk W = %s, P = %s.", figureText(t.W.Value), figureText(t.WP.Value))
	case t.Plot.Known:
		return fmt.Sprintf("Lognormal? Correlation of the probability plot %s; 1 is a perfect line.", figureText(t.Plot.Value))
	}
	return ""
}

func (t groupText) prior() string {
	if t.Bayes == nil || t.Bayes.Prior == "" {
		return ""
	}
	return "Prior of the posterior: " + t.Bayes.Prior + "."
}

// en689 says how the test of the European standard comes out.
func (t groupText) en689() string {
	e := &t.EN689
	if stageOf(e) == stats.EN689None {
		return ""
	}
	said := fmt.Sprintf("EN 689, %s test: %s", e.Stage, outcomeText(limits.Outcome(e.Outcome)))
	if e.Stage == stats.EN689Group && e.Outcome == stats.EN689Above {
		said += ", compliance is not shown"
	}
	if e.Why != "" {
		said += "; " + e.Why
	}
	return said + "."
}

func (t groupText) betweenWorkers() string {
	b := t.Between
	if b == nil {
		return ""
	}
	said := "Workers: they differ from each other no more than their shifts do"
	if b.VarBetween > 0 {
		said = fmt.Sprintf("Workers: their own levels differ by a factor of %s, their shifts by %s (geometric standard deviations)",
			figureText(spreadOf(b.VarBetween)), figureText(spreadOf(b.VarWithin)))
	}
	if b.Worker.Known {
		said += fmt.Sprintf("; probability that one of them is over the limit on more than 5 of 100 days: %s", probability(b.Worker.Value))
	}
	return said + "."
}

func (t groupText) trend() string {
	if t.Trend == nil {
		return ""
	}
	var parts []string
	if e := t.Trend.PerYear; tellable(e.Value) {
		said := fmt.Sprintf("exposures are multiplied by %s a year", figureText(e.Value.Value))
		if tellable(e.LCL) && tellable(e.UCL) {
			said += fmt.Sprintf(" (%s to %s)", figureText(e.LCL.Value), figureText(e.UCL.Value))
			if e.LCL.Value <= 1 && 1 <= e.UCL.Value {
				said += ", which may be no change at all"
			}
		}
		parts = append(parts, said)
	}
	if m := t.Trend.Monotone; m != nil {
		parts = append(parts, fmt.Sprintf("%s (Mann-Kendall test, P = %s)", directionOf(m), figureText(m.P)))
	}
	if len(parts) == 0 {
		return ""
	}
	return "Trend: " + strings.Join(parts, "; ") + "."
}

// directionOf says which way exposures go with time, if any.
func directionOf(m *stats.MonotoneTrend) string {
	switch {
	case m.P < badFit && m.S > 0:
		return "they rise with time"
	case m.P < badFit && m.S < 0:
		return "they fall with time"
	}
	return "neither a rise nor a fall is shown"
}

func (t groupText) kaplanMeier() string {
	k := t.KaplanMeier
	if k == nil {
		return ""
	}
	mean := "not known, for a result has no upper bound"
	if k.Mean.Known {
		mean = t.amount(k.Mean.Value)
		if k.MeanLow < k.Mean.Value {
			mean += ", at least " + t.amount(k.MeanLow)
		}
	}
	return fmt.Sprintf("Cross-check without a supposed distribution (Kaplan-Meier): mean %s; median %s.", mean, t.interval(k.Median))
}

// interval returns a quantity known exactly or between bounds.
func (t groupText) interval(x stats.Interval) string {
	switch {
	case !x.Censored():
		return t.amount(x.High)
	case !x.Bounded():
		return t.amount(x.Low) + " or more"
	}
	return "between " + t.amount(x.Low) + " and " + t.amount(x.High)
}

func (t groupText) orderStatistics() string {
	o := t.Ordered
	if o == nil {
		return ""
	}
	return fmt.Sprintf("Cross-check by regression on order statistics: geometric mean %s, geometric standard deviation %s, mean %s; correlation %s.",
		t.amount(math.Exp(o.Mu)), figureText(math.Exp(o.Sigma)), t.amount(o.Mean), figureText(o.Correlation))
}
