package exposure

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"unicode"

	"airtally/exposure/finding"
	"airtally/limits"
)

// matchLimits finds the limits of every substance, and its molecular weight
// where it may be wanted in ppm.
func (r *reduction) matchLimits() {
	for _, s := range r.sortedSubstances() {
		s.limits = r.limitsOf(s)
		molar := slices.ContainsFunc(s.limits, func(l *limits.Limit) bool { return l.Unit.Dim == limits.Molar })
		if molar || s.Form == "vapour" || s.Form == "gas" {
			s.Weight = r.weightOf(s)
		}
	}
}

// limitsOf returns the limits that a substance is compared with: the user's
// own, and the library's where the user gives none of that authority and kind.
func (r *reduction) limitsOf(s *Substance) []*limits.Limit {
	var own []*limits.Limit
	for i := range r.survey.Limits {
		limit := &r.survey.Limits[i].Limit
		if sameAnalyte(limit, s) && limit.Form == s.Form && r.meetsAs(limit, s) {
			own = append(own, limit)
		}
	}
	all := slices.Clone(own)
	match := limits.Find(s.Analyte, s.CAS, s.Form, r.settings.Limits)
	for _, limit := range match.Limits {
		replaced := slices.ContainsFunc(own, func(u *limits.Limit) bool {
			return u.Kind == limit.Kind && strings.EqualFold(u.Authority, limit.Authority)
		})
		if !replaced && r.meetsAs(limit, s) {
			all = append(all, limit)
		}
	}
	slices.SortStableFunc(all, func(a, b *limits.Limit) int {
		return cmp.Or(cmp.Compare(r.rank(a), r.rank(b)), cmp.Compare(a.Authority, b.Authority),
			cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Instrument, b.Instrument), cmp.Compare(a.As, b.As))
	})
	r.nearMatches[s] = match
	return all
}

// rank returns an authority's place in the survey's list; those it does not
// name come last.
func (r *reduction) rank(l *limits.Limit) int {
	for i, authority := range r.settings.Limits.Authorities {
		if strings.EqualFold(authority, l.Authority) {
			return i
		}
	}
	return math.MaxInt
}

// meetsAs reports whether a limit's expression is the substance's. An element
// is reported as itself, so a limit on its compound meets only a derived
// analyte, or one reported under the compound's own name or CAS number. A
// compound made from an element by a factor no longer meets a limit on the
// element.
func (r *reduction) meetsAs(l *limits.Limit, s *Substance) bool {
	if l.As == "" {
		return true
	}
	d := r.derivations[s.Analyte]
	if isElement(l.As) {
		return d == nil || !slices.ContainsFunc(d.parts, func(p part) bool { return math.Abs(p.factor-1) > 1e-6 })
	}
	if d != nil || containsFold(s.Analyte, l.As) || l.CAS != "" && l.CAS == s.CAS {
		return true
	}
	if l.User {
		r.findings.Add(finding.AsDiffers, r.placeOf(l), []string{s.Analyte, l.Authority},
			finding.Values{"analyte": s.Analyte, "as": l.As, "authority": l.Authority, "kind": string(l.Kind)})
	}
	return false
}

func (r *reduction) placeOf(l *limits.Limit) finding.Place {
	for i := range r.survey.Limits {
		if &r.survey.Limits[i].Limit == l {
			return r.survey.Limits[i].Place("as")
		}
	}
	return finding.Place{}
}

// isElement reports whether an expression is an element, as "Cr" or "Cr(VI)".
func isElement(as string) bool {
	symbol, _, _ := strings.Cut(as, "(")
	letters := []rune(strings.TrimSpace(symbol))
	switch len(letters) {
	case 1:
		return unicode.IsUpper(letters[0])
	case 2:
		return unicode.IsUpper(letters[0]) && unicode.IsLower(letters[1])
	}
	return false
}
