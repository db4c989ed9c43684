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
	d := r.derivations[s.Analyte]
	if d == nil && compoundOnly(l, s) {
		r.setAside(l, s)
		return false
	}
	if l.As == "" {
		return true
	}
	if isElement(l.As) {
		return d == nil || !slices.ContainsFunc(d.parts, func(p part) bool { return math.Abs(p.factor-1) > 1e-6 })
	}
	if d != nil || containsFold(s.Analyte, l.As) || l.CAS != "" && l.CAS == s.CAS {
		return true
	}
	r.setAside(l, s)
	return false
}

// setAside tells of a user's limit that does not meet a substance as it is
// expressed, and keeps one of the library to be told.
func (r *reduction) setAside(l *limits.Limit, s *Substance) {
	if l.User {
		r.findings.Add(finding.AsDiffers, r.placeOf(l), []string{s.Analyte, l.Authority},
			finding.Values{"analyte": s.Analyte, "as": cmp.Or(l.As, l.Analyte), "authority": l.Authority, "kind": string(l.Kind)})
	} else if c, is := limits.CompoundOf(l, limits.Element(s.Analyte)); is {
		r.compounds[s] = append(r.compounds[s], compoundLimit{c, l})
	}
}

// compoundOnly reports whether a limit is for a compound and the substance is
// called by the element in it: the CAS number alone brought the two together,
// and the masses are the element's.
func compoundOnly(l *limits.Limit, s *Substance) bool {
	element := limits.Element(s.Analyte)
	if element == "" || strings.EqualFold(l.Analyte, s.Analyte) && l.As == "" {
		return false
	}
	_, is := limits.CompoundOf(l, element)
	return is
}

// compoundLimit is a limit on a compound, of a substance that is called by an
// element of it.
type compoundLimit struct {
	limits.Compound
	limit *limits.Limit
}

// tellCompounds tells of limits on compounds that a result called by an element
// is not compared with.
func (r *reduction) tellCompounds(s *Substance, at finding.Place, subject []string) {
	found := r.compounds[s]
	if len(found) == 0 {
		return
	}
	var authorities []string
	for _, c := range found {
		authorities = append(authorities, c.limit.Authority)
	}
	c := found[0]
	r.findings.Add(finding.ElementAsCompound, at, subject, finding.Values{
		"analyte": s.Analyte, "cas": s.CAS, "compound": c.Substance, "formula": c.Formula, "factor": c.Factor, "authorities": distinct(authorities)})
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
