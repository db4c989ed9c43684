package reports

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/limits"
)

// authorityRank returns the place of an authority in the settings, where the
// first governs; one that is not named there comes after all that are.
func (r *Report) authorityRank(authority string) int {
	at := slices.Index(r.Settings.Limits.Authorities, authority)
	if at < 0 {
		return len(r.Settings.Limits.Authorities)
	}
	return at
}

// outcomeRank orders outcomes by how much they ask of a reader.
func outcomeRank(o limits.Outcome) int {
	return slices.Index([]limits.Outcome{limits.Exceeds, limits.Undecided, limits.Below}, o)
}

// worst orders comparisons by how much they ask of a reader: those above the
// limit first, then the undecided, each by the fraction of the limit.
func worst(a, b *exposure.Comparison) int {
	return cmp.Or(
		cmp.Compare(outcomeRank(a.Outcome), outcomeRank(b.Outcome)),
		cmp.Compare(b.Fraction.Value, a.Fraction.Value),
		cmp.Compare(b.Fraction.High, a.Fraction.High),
	)
}

// kindUnder is what a summary has one line for: a substance under one kind of
// limit of one authority.
type kindUnder struct {
	authority     string
	kind          limits.Kind
	analyte, form string
}

// highest returns the worst comparison of every substance under every kind of
// limit that it is not below, and the highest of those it is below, by the order
// of the authorities and then the worst first, and how many there are beyond
// most: those are the ones that ask least of a reader.
func (r *Report) highest(most int) (top []*exposure.Comparison, more int) {
	top = onceBelow(r.worstOfEach())
	if len(top) <= most {
		return top, 0
	}
	byOutcome := slices.Clone(top)
	slices.SortStableFunc(byOutcome, func(a, b *exposure.Comparison) int {
		return cmp.Compare(outcomeRank(a.Outcome), outcomeRank(b.Outcome))
	})
	left := map[*exposure.Comparison]bool{}
	for _, c := range byOutcome[most:] {
		left[c] = true
	}
	return slices.DeleteFunc(top, func(c *exposure.Comparison) bool { return left[c] }), len(left)
}

func (r *Report) worstOfEach() []*exposure.Comparison {
	top := map[kindUnder]*exposure.Comparison{}
	for i := range r.Comparisons {
		c := &r.Comparisons[i]
		k := kindUnder{c.Limit.Authority, c.Limit.Kind, c.Substance.Analyte, c.Substance.Form}
		if held, ok := top[k]; !ok || worst(c, held) < 0 {
			top[k] = c
		}
	}
	all := make([]*exposure.Comparison, 0, len(top))
	for _, c := range top {
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b *exposure.Comparison) int {
		return cmp.Or(
			r.governingWorst(a, b),
			cmp.Compare(a.Substance.Analyte, b.Substance.Analyte),
			cmp.Compare(a.Substance.Form, b.Substance.Form),
			cmp.Compare(a.Limit.Kind, b.Limit.Kind),
		)
	})
	return all
}

// highestBelow returns of every substance the comparison that comes nearest to a
// limit, of whatever authority, and is below it; the nearest first.
func (r *Report) highestBelow() []*exposure.Comparison {
	all := slices.DeleteFunc(r.worstOfEach(), func(c *exposure.Comparison) bool { return c.Outcome != limits.Below })
	slices.SortStableFunc(all, worst)
	met := map[[2]string]bool{}
	return slices.DeleteFunc(all, func(c *exposure.Comparison) bool {
		substance := [2]string{c.Substance.Analyte, c.Substance.Form}
		again := met[substance]
		met[substance] = true
		return again
	})
}

// onceBelow leaves, of what an authority has of a substance below its limits,
// the first: the others say no more to a reader.
func onceBelow(all []*exposure.Comparison) []*exposure.Comparison {
	met := map[kindUnder]bool{}
	return slices.DeleteFunc(all, func(c *exposure.Comparison) bool {
		k := kindUnder{authority: c.Limit.Authority, analyte: c.Substance.Analyte, form: c.Substance.Form}
		again := c.Outcome == limits.Below && met[k]
		met[k] = met[k] || c.Outcome == limits.Below
		return again
	})
}

// mixturesNotBelow returns the mixtures above 1 and then the undecided ones, by
// the order of the authorities and then the highest first.
func (r *Report) mixturesNotBelow() []*exposure.MixtureResult {
	var all []*exposure.MixtureResult
	for i := range r.Mixtures {
		if m := &r.Mixtures[i]; m.Outcome != limits.Below {
			all = append(all, m)
		}
	}
	slices.SortStableFunc(all, func(a, b *exposure.MixtureResult) int {
		return cmp.Or(
			cmp.Compare(outcomeRank(a.Outcome), outcomeRank(b.Outcome)),
			cmp.Compare(r.authorityRank(a.Authority), r.authorityRank(b.Authority)),
			cmp.Compare(b.Index.Value, a.Index.Value),
		)
	})
	return all
}

// tally counts the outcomes under one authority.
type tally struct {
	authority               string
	above, undecided, below int
}

func (t *tally) add(o limits.Outcome) {
	switch o {
	case limits.Exceeds:
		t.above++
	case limits.Below:
		t.below++
	default:
		t.undecided++
	}
}

// words says what was counted.
func (t *tally) words() string {
	return fmt.Sprintf("%d above, %d undecided, %d below", t.above, t.undecided, t.below)
}

// tallies counts the outcomes of the comparisons, the governing authority
// first.
func (r *Report) tallies() []tally {
	counts := map[string]*tally{}
	for i := range r.Comparisons {
		c := &r.Comparisons[i]
		t := counts[c.Limit.Authority]
		if t == nil {
			t = &tally{authority: c.Limit.Authority}
			counts[c.Limit.Authority] = t
		}
		t.add(c.Outcome)
	}
	all := make([]tally, 0, len(counts))
	for _, t := range counts {
		all = append(all, *t)
	}
	slices.SortFunc(all, func(a, b tally) int {
		return cmp.Or(cmp.Compare(r.authorityRank(a.authority), r.authorityRank(b.authority)), cmp.Compare(a.authority, b.authority))
	})
	return all
}

// averageWords says what an exposure is averaged over.
var averageWords = map[exposure.Basis]string{
	exposure.OverShift: "shift mean",
	exposure.Over8h:    "8 h",
	exposure.Over10h:   "10 h",
	exposure.Worst8h:   "worst 8 h",
	exposure.Short:     "short-term",
}

// averageWord says what a comparison rests on.
func averageWord(c *exposure.Comparison) string {
	if c.OfShiftSample() {
		return ofShiftSample
	}
	return averageWords[c.Basis]
}

// ofShiftSample is said where a short-term limit is judged without a sample taken
// for it: the average over the limit's minutes lies between bounds.
const ofShiftSample = "from the shift sample"

// unusualAverage says what a comparison rests on where the kind of its limit does
// not say it.
func unusualAverage(c *exposure.Comparison) string {
	if isWorst8h(c) || c.OfShiftSample() {
		return averageWord(c)
	}
	return ""
}

func isWorst8h(c *exposure.Comparison) bool { return c.Basis == exposure.Worst8h }

// twice says why an 8-hour limit has two rows for a shift; "" where none has.
func (r *Report) twice() string {
	for i := range r.Comparisons {
		if isWorst8h(&r.Comparisons[i]) {
			return worst8Note
		}
	}
	return ""
}

const worst8Note = "A shift over 8 hours is compared twice with a limit of 8 hours: by its dose over 480 min, and by its worst 8 hours."

// asText returns the name of a substance with what its limit is expressed as,
// where the name does not say so itself.
func asText(name, analyte, as string) string {
	said := "(as " + as + ")"
	if as == "" || as == analyte || strings.Contains(name, said) {
		return name
	}
	return name + " " + said
}

// substanceText names a substance, with its form where that is not the total.
func substanceText(s *exposure.Substance) string {
	if s.Form == "" || s.Form == "total" {
		return s.Analyte
	}
	return s.Analyte + ", " + s.Form
}

// shiftText names a shift, with the sample of a short-term row.
func shiftText(shift, sample string) string {
	switch {
	case sample == "":
		return shift
	case shift == "":
		return sample
	default:
		return shift + ", " + sample
	}
}

// governingFirst returns the comparisons as a person reads them: those of a
// worker-shift and substance by authority, the governing one first.
func (r *Report) governingFirst() array {
	order := make([]int, len(r.Comparisons))
	from := 0
	for i := range order {
		order[i] = i
		a, b := &r.Comparisons[from], &r.Comparisons[i]
		if a.WorkerShift != b.WorkerShift || a.Substance != b.Substance {
			r.byAuthority(order[from:i])
			from = i
		}
	}
	r.byAuthority(order[from:])
	return r.comparisons().ordered(order)
}

func (r *Report) byAuthority(comparisons []int) {
	rank := func(i int) int { return r.authorityRank(r.Comparisons[i].Limit.Authority) }
	slices.SortStableFunc(comparisons, func(a, b int) int { return cmp.Compare(rank(a), rank(b)) })
}

// withOutcome returns the comparisons of one outcome, the governing authority's
// first and then the highest.
func (r *Report) withOutcome(o limits.Outcome) []*exposure.Comparison {
	var all []*exposure.Comparison
	for i := range r.Comparisons {
		if c := &r.Comparisons[i]; c.Outcome == o {
			all = append(all, c)
		}
	}
	slices.SortStableFunc(all, r.governingWorst)
	return all
}

// governingWorst orders comparisons by the order of the authorities and then
// the worst first.
func (r *Report) governingWorst(a, b *exposure.Comparison) int {
	return cmp.Or(
		cmp.Compare(r.authorityRank(a.Limit.Authority), r.authorityRank(b.Limit.Authority)),
		cmp.Compare(a.Limit.Authority, b.Limit.Authority),
		worst(a, b),
	)
}
