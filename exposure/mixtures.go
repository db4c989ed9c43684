package exposure

import (
	"cmp"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/limits"
)

// mixtureKinds are the kinds of limit that add up. The worst 8 hours of each
// component are not the same hours, so that basis never enters a mixture.
var mixtureKinds = []limits.Kind{limits.TWA8, limits.TWA10, limits.STEL, limits.Ceiling}

// mixtureKey is one index: a worker-shift, or one short-term sample in it,
// against one authority's limits of one kind.
type mixtureKey struct {
	shift     *WorkerShift
	authority string
	kind      limits.Kind
	basis     Basis
	sample    string
}

// mixturesOf adds up the components of every mixture: Em = Σ Cᵢ/Lᵢ
// (29 CFR 1910.1000(d)(2)).
func (r *reduction) mixturesOf(comparisons []Comparison) []MixtureResult {
	parts := map[string][]string{}
	for i := range r.survey.Mixtures {
		row := &r.survey.Mixtures[i]
		if !slices.Contains(parts[row.Mixture], row.Analyte) {
			parts[row.Mixture] = append(parts[row.Mixture], row.Analyte)
		}
	}
	var all []MixtureResult
	for _, mixture := range sortedKeys(parts) {
		slices.Sort(parts[mixture])
		all = append(all, r.mixture(mixture, parts[mixture], comparisons)...)
	}
	slices.SortFunc(all, compareMixtures)
	return all
}

func compareMixtures(a, b MixtureResult) int {
	return cmp.Or(cmp.Compare(a.Worker, b.Worker), cmp.Compare(a.Shift, b.Shift), cmp.Compare(a.Mixture, b.Mixture),
		cmp.Compare(a.Authority, b.Authority), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Basis, b.Basis),
		cmp.Compare(a.Sample, b.Sample))
}

// mixture returns every index of one mixture.
func (r *reduction) mixture(name string, analytes []string, comparisons []Comparison) []MixtureResult {
	found, rivals := map[mixtureKey][]*Comparison{}, map[mixtureKey][]rival{}
	var order []mixtureKey
	for i := range comparisons {
		k := &comparisons[i]
		if k.Basis == Worst8h || !slices.Contains(mixtureKinds, k.Limit.Kind) || !slices.Contains(analytes, k.Substance.Analyte) {
			continue
		}
		basis := k.Basis
		if k.ifDecided {
			continue // not every component has such a row
		}
		if k.Limit.ShiftAdjusted && basis == OverShift {
			basis = Over8h // lead over 8 hours: the same as dose/480 against 50
		}
		key := mixtureKey{k.WorkerShift, k.Limit.Authority, k.Limit.Kind, basis, k.Sample}
		if found[key] == nil {
			order = append(order, key)
		}
		at := slices.IndexFunc(found[key], func(o *Comparison) bool { return o.Substance.Analyte == k.Substance.Analyte })
		if at < 0 {
			found[key] = append(found[key], k)
			continue
		}
		counts := found[key][at]
		rivals[key] = append(rivals[key], rival{counts, k})
		if k.Fraction.High > counts.Fraction.High { // of two forms the graver counts
			found[key][at] = k
		}
	}
	var all []MixtureResult
	lacks := lackBook{}
	for _, key := range order {
		m := r.index(name, analytes, key, found[key], lacks)
		m.rivals = rivals[key]
		all = append(all, m)
	}
	lacks.report(r, name)
	return all
}

// rival is two forms of one component, of which the graver counts: the later
// only where it is graver.
type rival struct{ earlier, later *Comparison }

// lack is what keeps indices of one mixture from being bounded.
type lack struct {
	authority string
	kind      limits.Kind
	missing   string
}

// lackBook gathers the samples, shifts and workers of each lack.
type lackBook map[lack][]*Comparison

func (b lackBook) report(r *reduction, mixture string) {
	for l, parts := range b {
		var samples, shifts []string
		for _, k := range parts {
			samples = append(samples, k.Samples...)
			shifts = append(shifts, k.Shift, k.Worker)
		}
		samples = distinct(samples)
		first := r.sampleRow(samples[0])
		r.findings.Add(finding.MixtureIncomplete, first.Place("sample"),
			slices.Concat(samples, distinct(shifts), []string{mixture, l.missing}), finding.Values{
				"mixture": mixture, "authority": l.authority, "kind": string(l.kind), "missing": l.missing, "n": len(samples)})
	}
}

// index adds up the components of one mixture. A component or limit that is
// missing leaves the index without an upper bound.
func (r *reduction) index(name string, analytes []string, key mixtureKey, parts []*Comparison, lacks lackBook) MixtureResult {
	j := judged{stated: key.shift.PolicyStated || key.basis == Short, covered: true}
	terms := make([]limits.Term, 0, len(parts))
	for _, k := range parts {
		j.fraction = j.fraction.Add(k.Fraction)
		ifZero, ifSame := k.policies(r)
		j.ifZero, j.ifSame = j.ifZero.Add(ifZero), j.ifSame.Add(ifSame)
		j.covered = j.covered && k.covered(r.settings.Coverage)
		terms = append(terms, limits.Term{SAE: k.SAE.Value, Weighted: k.Fraction.Value})
	}
	if missing := missingParts(analytes, parts); len(missing) > 0 {
		j.fraction, j.ifZero, j.ifSame = j.fraction.Unbounded(), j.ifZero.Unbounded(), j.ifSame.Unbounded()
		l := lack{key.authority, key.kind, strings.Join(missing, ", ")}
		lacks[l] = append(lacks[l], parts...)
	}
	return MixtureResult{
		WorkerShift: key.shift, Mixture: name, Authority: key.authority, Kind: key.kind, Basis: key.basis,
		Sample: key.sample, Index: j.fraction, Outcome: j.outcome(limits.MixtureError(terms)), Parts: parts,
	}
}

func missingParts(analytes []string, parts []*Comparison) []string {
	return slices.DeleteFunc(slices.Clone(analytes), func(analyte string) bool {
		return slices.ContainsFunc(parts, func(k *Comparison) bool { return k.Substance.Analyte == analyte })
	})
}
