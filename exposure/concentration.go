package exposure

import (
	"cmp"
	"math"
	"slices"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
	"airtally/volume"
)

// origin is where a concentration came from.
type origin struct {
	row, second *survey.LabRow
	derived     *derivation
}

// laboratory turns the laboratory's rows into concentrations, sample by
// sample, in the order of the samples.
func (r *reduction) laboratory() {
	var assays []*assay
	most := func(i int) int { return len(r.lab.rows(i)) + len(r.derivedOrder) }
	r.concentrations = gather(len(r.samples), most, func() func([]Concentration, int) []Concentration {
		a := &assay{reduction: r, misses: missBook{}}
		assays = append(assays, a)
		return func(out []Concentration, i int) []Concentration {
			a.results = out
			a.sample(&r.samples[i], r.lab.rows(i))
			return a.results
		}
	})
	misses := missBook{}
	for _, a := range assays {
		r.findings.Merge(&a.findings)
		misses.merge(a.misses)
	}
	misses.report(r)
}

// sample works out all concentrations of one sample, sorted by substance.
func (a *assay) sample(s *Sample, rows []int32) {
	if len(rows) == 0 {
		if !s.Void {
			a.findings.Add(finding.NoResults, s.Row.Place("sample"), []string{s.ID}, finding.Values{"sample": s.ID})
		}
		return
	}
	from := len(a.results)
	for _, p := range a.pairs(s, rows) {
		if m, ok := a.pair(&p); ok {
			a.results = append(a.results, a.concentration(&p, m))
			a.checkAmount(&p, m)
		}
	}
	a.derive(s, from)
	if own := a.results[from:]; len(a.derivedOrder) > 0 {
		slices.SortFunc(own, func(x, y Concentration) int { return cmp.Compare(x.Substance.rank, y.Substance.rank) })
	}
	a.checkHolding(s, rows)
}

func compareSubstances(a, b *Substance) int {
	return cmp.Or(cmp.Compare(a.Analyte, b.Analyte), cmp.Compare(a.Form, b.Form))
}

// pairs groups the rows of one sample by substance, in their order.
func (a *assay) pairs(s *Sample, rows []int32) []pair {
	all := a.scratch[:0]
	held := a.held[:0]
	for _, i := range rows {
		substance := a.rowSubstance[i]
		at := slices.IndexFunc(all, func(p pair) bool { return p.substance == substance })
		if at < 0 {
			held = append(held, &a.survey.Lab[i])
			all = append(all, pair{sample: s, substance: substance, rows: held[len(held)-1:]})
			continue
		}
		all[at].rows = append(slices.Clip(all[at].rows), &a.survey.Lab[i])
	}
	slices.SortFunc(all, func(x, y pair) int { return cmp.Compare(x.substance.rank, y.substance.rank) })
	a.scratch, a.held = all, held
	return all
}

// concentration puts what was found over the air that was drawn.
func (a *assay) concentration(p *pair, m amount) Concentration {
	c := Concentration{
		Sample: p.sample, Substance: p.substance, Quantity: m.quantity,
		HasMass: m.quantity == OfMass, Mass: m.held, MassUncorrected: m.uncorrected, Blank: m.blank,
		limit: m.limit, origin: origin{row: m.row, second: m.second},
	}
	medium := a.media[p.sample.Medium]
	c.cv = m.row.CV
	if medium != nil {
		c.cv = c.cv.OrElse(medium.CV)
		c.sae = medium.SAE
	}
	if !c.sae.Known && c.cv.Known {
		c.sae = stats.Some(limits.SAEFromCV(c.cv.Value))
	}
	a.intoAir(&c)
	return c
}

// intoAir divides by the sample's volume, where it has one.
func (r *reduction) intoAir(c *Concentration) {
	s := c.Sample
	if !s.VolumeLow.Known {
		return
	}
	c.HasAir, c.Void = true, s.Void
	middle := s.Volume.OrElse(s.VolumeLow)
	c.Air = inAir(c.Mass, c.Quantity,
		volume.Litres(s.VolumeLow.Value), volume.Litres(middle.Value), volume.Litres(s.VolumeHigh.Value))
	if c.Quantity == OfMass && c.Substance.Weight.Known && !c.Void {
		c.PPM = stats.Some(c.Air.Value * r.molarVolume(s) / c.Substance.Weight.Value)
	}
	if s.UVolumeRel.Known {
		c.URel = stats.Some(math.Hypot(s.UVolumeRel.Value, c.cv.Or(0)))
	}
}

// molarVolume returns the L/mol by which a sample's ppm are stated.
func (r *reduction) molarVolume(s *Sample) float64 {
	o := r.settings.Limits
	if o.PPMBasis == limits.AtSite && s.Row.Temperature.Known && s.Row.Pressure.Known {
		return limits.MolarVolume(s.Row.Temperature.Value, s.Row.Pressure.Value, o.MolarVolume)
	}
	return o.MolarVolume
}

// missBook gathers, by lot, the results that no blank answered for.
type missBook map[string]*miss

type miss struct {
	samples  []*Sample
	analytes []string
}

func (b missBook) add(p *pair) {
	name := p.sample.Row.Lot
	if name == "" {
		name = p.sample.Medium
	}
	if b[name] == nil {
		b[name] = &miss{}
	}
	m := b[name]
	if !slices.Contains(m.analytes, p.substance.Analyte) {
		m.analytes = append(m.analytes, p.substance.Analyte)
	}
	if n := len(m.samples); n == 0 || m.samples[n-1] != p.sample {
		m.samples = append(m.samples, p.sample)
	}
}

func (b missBook) merge(o missBook) {
	for name, m := range o {
		if b[name] == nil {
			b[name] = &miss{}
		}
		b[name].samples = append(b[name].samples, m.samples...)
		b[name].analytes = append(b[name].analytes, m.analytes...)
	}
}

func (b missBook) report(r *reduction) {
	var lots []string
	if len(b) > 0 && len(b) <= mostSuggestions {
		lots = r.blankLots()
	}
	for name, m := range b {
		slices.Sort(m.analytes)
		m.analytes = slices.Compact(m.analytes)
		r.findings.Add(finding.NoBlank, m.samples[0].Row.Place("lot"),
			subject(m.samples, append([]string{name}, m.analytes...)...),
			finding.Values{"lot": lotText(m.samples[0]), "analytes": m.analytes, "n": len(m.samples), "near": nearBlanks(m.samples[0], lots)})
	}
}
