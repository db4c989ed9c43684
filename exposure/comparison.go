package exposure

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/limits"
	"airtally/stats"
)

// ceilingMin is the average by which a ceiling is judged without
// instantaneous data: 29 CFR 1910.1000(a)(1).
const ceilingMin = 15

// joinGap is how many minutes may lie between short-term samples that are
// read as one.
const joinGap = 1

// comparer compares the exposures of one substance in one worker-shift after
// another. Each has its own findings, so that several can work at once.
type comparer struct {
	*reduction
	findings    finding.List
	comparisons []Comparison
}

// compareAll compares every exposure with every limit of its substance.
func (r *reduction) compareAll(all []Exposure) []Comparison {
	groups := groupExposures(all)
	var comparers []*comparer
	most := func(i int) int {
		rows, long := 0, 1
		if groups[i][0].Minutes > minutes8h {
			long = 2 // the worst 8 hours besides the dose over 8
		}
		for _, l := range groups[i][0].Substance.limits {
			if l.Kind.ShortTerm() {
				rows += len(groups[i][0].Samples)
			} else {
				rows += long
			}
		}
		return rows
	}
	comparisons := gather(len(groups), most, func() func([]Comparison, int) []Comparison {
		c := &comparer{reduction: r}
		comparers = append(comparers, c)
		return func(out []Comparison, i int) []Comparison {
			c.comparisons = out
			c.group(groups[i])
			return c.comparisons
		}
	})
	for _, c := range comparers {
		r.findings.Merge(&c.findings)
	}
	return comparisons
}

// groupExposures cuts sorted exposures into those of one substance in one
// worker-shift.
func groupExposures(all []Exposure) [][]Exposure {
	var groups [][]Exposure
	from := 0
	for i := 1; i <= len(all); i++ {
		if i == len(all) || all[i].WorkerShift != all[from].WorkerShift || all[i].Substance != all[from].Substance {
			groups = append(groups, all[from:i])
			from = i
		}
	}
	return groups
}

// byBasis is the exposures of one substance in one worker-shift.
type byBasis struct {
	shift, twa8, twa10, worst8 *Exposure
	short                      []*Exposure
}

func sortBasis(group []Exposure) byBasis {
	var b byBasis
	for i := range group {
		x := &group[i]
		switch x.Basis {
		case OverShift:
			b.shift = x
		case Over8h:
			b.twa8 = x
		case Over10h:
			b.twa10 = x
		case Worst8h:
			b.worst8 = x
		case Short:
			b.short = append(b.short, x)
		}
	}
	slices.SortStableFunc(b.short, func(x, y *Exposure) int { return x.Start.T.Compare(y.Start.T) })
	return b
}

func (c *comparer) group(group []Exposure) {
	from := len(c.comparisons)
	b := sortBasis(group)
	for _, l := range group[0].Substance.limits {
		if !group[0].comparableWith(l) {
			continue
		}
		switch {
		case l.Kind.ShortTerm():
			c.shortTerm(b, l)
		case l.Kind == limits.TWA10:
			c.longTerm(l, cmp.Or(b.twa10, b.shift))
		case l.ShiftAdjusted && b.shift != nil && b.shift.Minutes > minutes8h+instant:
			c.longTerm(l, b.shift)
		default:
			c.longTerm(l, b.twa8)
			c.longTerm(l, b.worst8)
		}
	}
	own := c.comparisons[from:]
	c.disagreeing(own)
	slices.SortStableFunc(own, func(x, y Comparison) int {
		return cmp.Or(cmp.Compare(x.Basis, y.Basis), cmp.Compare(x.Sample, y.Sample),
			cmp.Compare(x.Limit.Authority, y.Limit.Authority), cmp.Compare(x.Limit.Instrument, y.Limit.Instrument),
			cmp.Compare(x.Limit.Kind, y.Limit.Kind), cmp.Compare(x.Limit.As, y.Limit.As))
	})
}

// comparableWith reports whether an exposure can be put in the unit of a limit.
func (x *Exposure) comparableWith(l *limits.Limit) bool {
	if l.Value <= 0 || quantityOf(l.Unit) != x.Quantity {
		return false
	}
	return l.Unit.Dim != limits.Molar || x.Substance.Weight.Known
}

// judged is an exposure as a fraction of a limit, with all that a verdict
// must hold under.
type judged struct {
	fraction, ifZero, ifSame stats.Interval
	stated                   bool // the policy for unsampled minutes is the shift's own
	covered                  bool // enough was sampled or stated for "below"
	comparator               limits.Comparator
}

// outcome returns what the fractions support with an error of half-width h.
// Where the policy is only the survey's default, above must hold with
// unsampled minutes as zero too, and below with them as sampled.
func (j *judged) outcome(h float64) limits.Outcome {
	decide := func(f stats.Interval) limits.Outcome { return limits.Decide(limits.Band(f, h), j.comparator) }
	switch o := decide(j.fraction); {
	case o == limits.Exceeds && (j.stated || decide(j.ifZero) == limits.Exceeds):
		return limits.Exceeds
	case o == limits.Below && j.covered && (j.stated || decide(j.ifSame) == limits.Below):
		return limits.Below
	}
	return limits.Undecided
}

// taken says how the unsampled minutes of an exposure are taken.
type taken int

const (
	asStated      taken = iota // Value: by the shift's policy, or the survey's
	unsampledZero              // IfZero
	unsampledSame              // IfSame
)

// inUnit returns an exposure's interval in the unit of a limit. Where a limit prints ppm and mg/m³, ppm governs
// (29 CFR 1910.1000, Table Z-1, note b).
func (r *reduction) inUnit(x *Exposure, which taken, l *limits.Limit) stats.Interval {
	base := [3]stats.Interval{x.Value, x.IfZero, x.IfSame}[which]
	if l.Unit.Dim != limits.Molar {
		return base.Per(l.Unit.ToBase)
	}
	if x.molar != nil {
		base = x.molar[which]
	}
	return base.Scale(r.settings.Limits.MolarVolume).Per(x.Substance.Weight.Value).Per(l.Unit.ToBase)
}

// longTerm compares an average over hours with a limit. A nil exposure, a
// basis the shift does not have, is passed over.
func (c *comparer) longTerm(l *limits.Limit, x *Exposure) {
	if x == nil {
		return
	}
	limit := l.Value
	if l.ShiftAdjusted && x.Basis == OverShift {
		limit *= limits.LeadLimit(x.Minutes/60) / limits.LeadLimit(8)
	}
	value := c.inUnit(x, asStated, l)
	k := Comparison{Exposure: x, Basis: x.Basis, Limit: l, LimitValue: limit, Value: value.Value}
	ifZero, ifSame := k.policies(c.reduction)
	c.judge(k, judged{
		fraction: value.Per(limit), ifZero: ifZero, ifSame: ifSame,
		stated: x.PolicyStated, covered: k.covered(c.settings.Coverage), comparator: l.Comparator,
	}, 1)
}

// judge finishes a comparison: error bounds and outcome. Where the simple
// band Y ± SAE leaves it undecided and several samples make the value, the
// band of consecutive samples decides.
func (c *comparer) judge(k Comparison, j judged, perValue float64) {
	a := &k.average
	k.Fraction = j.fraction
	k.Outcome = j.outcome(0)
	if k.Limit.Kind != limits.Action {
		terms := c.terms(a, k.Limit, perValue*c.fractionPerBase(k.Exposure, k.Limit, k.LimitValue))
		k.SAE = largestError(terms)
		if k.SAE.Known {
			h := k.SAE.Value
			if several(a) && limits.Decide(limits.Band(k.Fraction, h), j.comparator) == limits.Undecided {
				h = limits.HalfWidth(terms, 1)
			}
			k.Outcome = j.outcome(h)
			band := limits.Band(k.Fraction, h)
			k.LCL = stats.Some(band.Low)
			if !math.IsInf(band.High, 1) {
				k.UCL = stats.Some(band.High)
			}
		}
	}
	c.comparisons = append(c.comparisons, k)
}

// fractionPerBase returns the fraction of a limit that one mg/m³ or f/cc is.
func (c *comparer) fractionPerBase(x *Exposure, l *limits.Limit, limit float64) float64 {
	per := 1 / (l.Unit.ToBase * limit)
	if l.Unit.Dim == limits.Molar {
		per *= c.settings.Limits.MolarVolume / x.Substance.Weight.Value
	}
	return per
}

// several reports whether more than one sample makes an average.
func several(a *average) bool {
	samples := 0
	for i := range a.doses {
		samples += len(a.doses[i].terms)
	}
	return samples > 1
}

// terms returns what each sample, or each part of a derived analyte, brings to
// a fraction of a limit, with its sampling and analytical error: the limit's,
// else the medium's, else 1.645·CV.
func (c *comparer) terms(a *average, l *limits.Limit, fractionPerBase float64) []limits.Term {
	var terms []limits.Term
	known := false
	add := func(conc *Concentration, weighted float64) {
		sae := l.SAE.OrElse(conc.sae)
		known = known || sae.Known
		terms = append(terms, limits.Term{SAE: sae.Value, Weighted: weighted})
	}
	for i := range a.doses {
		d := &a.doses[i]
		for _, t := range d.terms {
			weight := d.minutes(t, d.policy) / a.divisor * fractionPerBase
			if l.Unit.Dim == limits.Molar {
				weight *= c.siteWeight(t.conc)
			}
			if t.conc.origin.derived == nil || l.SAE.Known {
				add(t.conc, weight*t.conc.Air.Value)
				continue
			}
			for _, p := range t.conc.origin.derived.parts {
				if part := c.find(t.conc.Sample, p.analyte, t.conc.Substance.Form); part != nil {
					add(part, weight*p.factor*part.Air.Value)
				}
			}
		}
	}
	if !known {
		return nil
	}
	return terms
}

// largestError returns the error of the simple band: the greatest of the
// terms'; missing where none has one.
func largestError(terms []limits.Term) stats.Optional {
	if len(terms) == 0 {
		return stats.Optional{}
	}
	largest := 0.0
	for _, t := range terms {
		largest = math.Max(largest, t.SAE)
	}
	return stats.Some(largest)
}

// shortTerm compares short-term samples with a short-term limit, contiguous
// ones as one; one of those gets a row of its own where it alone is above. A
// shift sample gets a row only where it decides.
func (c *comparer) shortTerm(b byBasis, l *limits.Limit) {
	averaging := l.AveragingMin
	if averaging <= 0 {
		averaging = ceilingMin
	}
	for _, chain := range chains(b.short) {
		if len(chain) == 1 {
			c.shortRow(chain[0], l, averaging)
			continue
		}
		c.shortRow(c.joined(chain), l, averaging)
		for _, member := range chain {
			c.shortRowIf(member, l, averaging, func(o limits.Outcome) bool { return o == limits.Exceeds })
		}
	}
	if b.shift == nil {
		return
	}
	before := len(c.comparisons)
	high := 0.0
	for _, t := range b.shift.average.doses[0].terms {
		if !t.conc.Sample.Row.Purpose.ShortTerm() {
			possible := c.shortRowIf(c.single(b.shift, t.conc), l, averaging, func(o limits.Outcome) bool { return o != limits.Undecided })
			high = math.Max(high, possible)
		}
	}
	if len(c.comparisons) == before && len(b.short) == 0 {
		c.notJudged(b.shift, l, averaging, high)
	}
}

// notJudged tells of a short-term limit that nothing sampled in the shift can
// decide: it would else be missing without a word.
func (c *comparer) notJudged(x *Exposure, l *limits.Limit, averaging, high float64) {
	c.findings.Add(finding.ShortNotJudged, c.sampleRow(x.Samples[0]).Place("purpose"),
		append(slices.Clone(x.Samples), x.Shift, x.Worker, x.Substance.Analyte), finding.Values{
			"authority": l.Authority, "kind": string(l.Kind), "analyte": x.Substance.Analyte, "worker": x.Worker,
			"shift": x.Shift, "high": high, "minutes": averaging})
}

// shortRowIf compares, and keeps the row only if its outcome is wanted. It
// returns the greatest fraction of the limit that the sample allows.
func (c *comparer) shortRowIf(x *Exposure, l *limits.Limit, averaging float64, wanted func(limits.Outcome) bool) (high float64) {
	before := len(c.comparisons)
	c.shortRow(x, l, averaging)
	row := &c.comparisons[before]
	row.ifDecided = true
	high = row.Fraction.High
	if !wanted(row.Outcome) {
		c.comparisons = c.comparisons[:before]
	}
	return high
}

// single returns a shift sample as an exposure of its own.
func (r *reduction) single(shift *Exposure, conc *Concentration) *Exposure {
	s := conc.Sample
	a := average{[]dose{{terms: []term{{conc: conc, minutes: 1}}}}, 1}
	return &Exposure{
		WorkerShift: shift.WorkerShift,
		Sampled:     &Sampled{Substance: shift.Substance, Quantity: shift.Quantity, SampledMin: s.Minutes.Value, Samples: []string{s.ID}},
		Basis:       Short, Sample: s.ID, Start: s.Start,
		Value: conc.Air, IfZero: conc.Air, IfSame: conc.Air, average: a, molar: r.atSite(a),
	}
}

// chains joins short-term samples with no more than a minute between: together
// they say what any averaging time across them could hold.
func chains(short []*Exposure) [][]*Exposure {
	var all [][]*Exposure
	for i, x := range short {
		if i > 0 && contiguous(short[i-1], x) {
			all[len(all)-1] = append(all[len(all)-1], x)
			continue
		}
		all = append(all, []*Exposure{x})
	}
	return all
}

func contiguous(a, b *Exposure) bool {
	if !timed(a.Start) || !timed(b.Start) {
		return false
	}
	between := b.Start.T.Sub(a.average.doses[0].terms[0].conc.Sample.stop()).Minutes()
	return between >= -instant && between <= joinGap+instant
}

// shortRow compares one short-term sample, or contiguous ones as one, with a
// limit.
func (c *comparer) shortRow(x *Exposure, l *limits.Limit, averaging float64) {
	whole := c.inUnit(x, asStated, l)
	value := limits.ShortTermMean(whole, x.SampledMin, averaging)
	perValue := 0.0
	if whole.Value > 0 {
		perValue = value.Value / whole.Value
	}
	fraction := value.Per(l.Value)
	j := judged{fraction: fraction, ifZero: fraction, ifSame: fraction, stated: true, covered: true, comparator: l.Comparator}
	c.judge(Comparison{Exposure: x, Basis: Short, Sample: x.Sample, Limit: l, LimitValue: l.Value, Value: value.Value},
		j, perValue)
}

// joined returns contiguous short-term samples as one.
func (c *comparer) joined(chain []*Exposure) *Exposure {
	x := *chain[0]
	sampled := *x.Sampled
	x.Sampled = &sampled
	a := average{doses: []dose{{}}}
	var names []string
	x.SampledMin = 0
	for _, member := range chain {
		names = append(names, member.Sample)
		x.SampledMin += member.SampledMin
		a.doses[0].terms = append(a.doses[0].terms,
			term{conc: member.average.doses[0].terms[0].conc, minutes: member.SampledMin})
	}
	a.divisor = x.SampledMin
	x.Sample, x.Samples = strings.Join(names, "+"), names
	x.Value = a.own(one)
	x.IfZero, x.IfSame = x.Value, x.Value
	x.average, x.molar = a, c.atSite(a)
	return &x
}

// disagreeing tells of a long shift whose dose over 8 hours and whose worst 8
// hours come to different outcomes.
func (c *comparer) disagreeing(own []Comparison) {
	for i := range own {
		for k := range own {
			a, b := &own[i], &own[k]
			if a.Basis != Over8h || b.Basis != Worst8h || a.Limit != b.Limit || a.Outcome == b.Outcome {
				continue
			}
			c.findings.Add(finding.Worst8Differs, c.sampleRow(a.Samples[0]).Place("start"),
				append(slices.Clone(a.Samples), a.Shift, a.Worker, a.Substance.Analyte), finding.Values{
					"worker": a.Worker, "shift": a.Shift, "analyte": a.Substance.Analyte, "authority": a.Limit.Authority,
					"kind": string(a.Limit.Kind), "twa8": string(a.Outcome), "worst8": string(b.Outcome)})
		}
	}
}

// policies returns the fraction with unsampled minutes as zero and as sampled.
func (k *Comparison) policies(r *reduction) (ifZero, ifSame stats.Interval) {
	if k.Basis == Short {
		return k.Fraction, k.Fraction
	}
	return r.inUnit(k.Exposure, unsampledZero, k.Limit).Per(k.LimitValue), r.inUnit(k.Exposure, unsampledSame, k.Limit).Per(k.LimitValue)
}

// covered reports whether enough of a shift was sampled or stated for "below".
func (k *Comparison) covered(minPct float64) bool {
	return k.Basis == Short || k.Exposure.covered(minPct)
}
