package exposure

import (
	"math"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
)

// derivation makes an analyte by summing factor × part: isomers, species, or
// an oxide from its element.
type derivation struct {
	analyte string
	row     *survey.DerivedRow
	parts   []part
}

type part struct {
	analyte string
	factor  float64
}

// readDerived gathers the derived table, parts before what is made of them.
func (r *reduction) readDerived() {
	r.derivations = map[string]*derivation{}
	for i := range r.survey.Derived {
		row := &r.survey.Derived[i]
		d := r.derivations[row.Derived]
		if d == nil {
			d = &derivation{analyte: row.Derived, row: row}
			r.derivations[row.Derived] = d
		}
		d.parts = append(d.parts, part{row.Analyte, row.Factor})
	}
	done := map[string]bool{}
	for _, name := range sortedKeys(r.derivations) {
		r.orderDerived(name, done, nil)
	}
}

// orderDerived appends a derivation after those its parts need. One that needs
// itself is dropped with a finding.
func (r *reduction) orderDerived(name string, done map[string]bool, path []string) bool {
	d := r.derivations[name]
	if d == nil || done[name] {
		return true
	}
	if slices.Contains(path, name) {
		r.findings.Add(finding.DerivedCircle, d.row.Place("derived"), []string{name},
			finding.Values{"derived": name, "path": strings.Join(append(path, name), " from ")})
		return false
	}
	for _, p := range d.parts {
		if !r.orderDerived(p.analyte, done, append(path, name)) {
			delete(r.derivations, name)
			return false
		}
	}
	done[name] = true
	slices.SortFunc(d.parts, func(a, b part) int { return strings.Compare(a.analyte, b.analyte) })
	r.derivedOrder = append(r.derivedOrder, d)
	return true
}

// derivedSubstances makes the substances that derivations will need, so that
// samples can be worked out side by side.
func (r *reduction) derivedSubstances() {
	for _, d := range r.derivedOrder {
		for _, s := range r.sortedSubstances() {
			if slices.ContainsFunc(d.parts, func(p part) bool { return p.analyte == s.Analyte }) {
				r.substance(substanceKey{d.analyte, s.Form}, "")
			}
		}
	}
}

// derive appends the derived analytes of one sample to its results, which
// start at from.
func (a *assay) derive(s *Sample, from int) {
	if s.Kind == survey.Blank {
		return
	}
	for _, d := range a.derivedOrder {
		for _, form := range formsOf(a.results[from:], d) {
			a.deriveForm(s, from, d, form)
		}
	}
}

// formsOf returns the forms in which any part of a derivation was found.
func formsOf(own []Concentration, d *derivation) []string {
	var forms []string
	for i := range own {
		s := own[i].Substance
		isPart := slices.ContainsFunc(d.parts, func(p part) bool { return p.analyte == s.Analyte })
		if isPart && !slices.Contains(forms, s.Form) {
			forms = append(forms, s.Form)
		}
	}
	return forms
}

// deriveForm sums the parts of one form. Where a part is missing the sum of
// the others is only a lower bound.
func (a *assay) deriveForm(s *Sample, from int, d *derivation, form string) {
	substance := a.substances[substanceKey{d.analyte, form}]
	find := func(analyte string) *Concentration {
		for i := range a.results[from:] {
			if c := &a.results[from+i]; c.Substance.Analyte == analyte && c.Substance.Form == form {
				return c
			}
		}
		return nil
	}
	if own := find(d.analyte); own != nil {
		a.findings.Add(finding.DerivedReported, own.origin.place(), []string{s.ID, d.analyte},
			finding.Values{"sample": s.ID, "derived": d.analyte})
		return
	}
	sum := Concentration{Sample: s, Substance: substance, HasMass: true, origin: origin{derived: d}}
	sum.limit = stats.Some(0)
	var missing []string
	squares := stats.Some(0)
	for _, p := range d.parts {
		c := find(p.analyte)
		if c == nil || c.Quantity != OfMass {
			missing = append(missing, p.analyte)
			continue
		}
		sum.addPart(c, p.factor)
		term := p.factor * c.Mass.Value * c.cv.Value
		squares = stats.Optional{Value: squares.Value + float64(term*term), Known: squares.Known && c.cv.Known}
	}
	if len(missing) > 0 {
		sum.Mass, sum.limit = sum.Mass.Unbounded(), stats.Optional{}
		a.findings.Add(finding.PartMissing, s.Row.Place("sample"), append([]string{s.ID, d.analyte}, missing...),
			finding.Values{"sample": s.ID, "derived": d.analyte, "missing": missing})
	}
	if squares.Known && sum.Mass.Value > 0 {
		sum.cv = stats.Some(math.Sqrt(squares.Value) / sum.Mass.Value)
	}
	a.intoAir(&sum)
	a.results = append(a.results, sum)
}

// addPart adds factor × part to a derived amount.
func (c *Concentration) addPart(part *Concentration, factor float64) {
	c.Mass = c.Mass.AddScaled(factor, part.Mass)
	c.MassUncorrected += float64(factor * part.MassUncorrected)
	if part.Blank.Known {
		c.Blank = stats.Some(c.Blank.Value + float64(factor*part.Blank.Value))
	}
	c.limit = stats.Optional{
		Value: c.limit.Value + float64(factor*part.limit.Value),
		Known: c.limit.Known && part.limit.Known,
	}
}

// place returns where a concentration was read.
func (o origin) place() finding.Place {
	if o.row == nil {
		return o.derived.row.Place("derived")
	}
	return o.row.Place("result")
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
