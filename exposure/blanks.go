package exposure

import (
	"slices"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
)

// blankKey is what a field blank answers for. Lot is empty for blanks looked
// up by their medium, Medium for those looked up by their lot.
type blankKey struct {
	lot, medium, analyte string
	section              survey.Section
}

// blankResult is one section of one analyte on one field blank.
type blankResult struct {
	sample       *Sample
	medium, form string
	amount       float64        // µg or fibres; 0 for a non-detect
	row, second  *survey.LabRow // second: the weighing before
}

// blankBook holds the results of the field blanks.
type blankBook map[blankKey][]blankResult

func (b blankBook) add(p *pair, section survey.Section, amount float64, row, second *survey.LabRow) {
	s := p.sample
	result := blankResult{s, s.Medium, p.substance.Form, amount, row, second}
	byMedium := blankKey{medium: s.Medium, analyte: p.substance.Analyte, section: section}
	b[byMedium] = append(b[byMedium], result)
	if s.Row.Lot != "" {
		byLot := blankKey{lot: s.Row.Lot, analyte: p.substance.Analyte, section: section}
		b[byLot] = append(b[byLot], result)
	}
}

// matching returns the field blanks of a section of a pair: of the same lot,
// or without a lot of the same medium. Medium and form decide only where
// there are blanks of several.
func (b blankBook) matching(p *pair, section survey.Section) []blankResult {
	s := p.sample
	key := blankKey{lot: s.Row.Lot, analyte: p.substance.Analyte, section: section}
	if s.Row.Lot == "" {
		key.medium = s.Medium
	}
	found := b[key]
	found = decide(found, func(r blankResult) string { return r.medium }, s.Medium)
	return decide(found, func(r blankResult) string { return r.form }, p.substance.Form)
}

// decide keeps the blanks whose trait is as wanted, where they differ in it.
func decide(all []blankResult, trait func(blankResult) string, wanted string) []blankResult {
	differ := false
	for _, r := range all {
		differ = differ || trait(r) != trait(all[0])
	}
	if !differ {
		return all
	}
	return slices.DeleteFunc(slices.Clone(all), func(r blankResult) bool { return trait(r) != wanted })
}

// mean returns the mean amount on the matching blanks of a section.
func (b blankBook) mean(p *pair, section survey.Section) stats.Optional {
	found := b.matching(p, section)
	if len(found) == 0 {
		return stats.Optional{}
	}
	sum := 0.0
	for _, r := range found {
		sum += r.amount
	}
	return stats.Some(sum / float64(len(found)))
}

// lotText names the lot of a sample, or what stands for it.
func lotText(s *Sample) string {
	if s.Row.Lot == "" {
		return "medium " + s.Medium + " (no lot)"
	}
	return "lot " + s.Row.Lot
}

// blankLots returns the lots that have blanks.
func (r *reduction) blankLots() []string {
	var lots []string
	for i := range r.samples {
		if s := &r.samples[i]; s.Kind == survey.Blank {
			lots = append(lots, s.Row.Lot)
		}
	}
	return distinct(lots)
}

// nearBlanks ends a message on a sample without blanks by the lot nearly called
// like its own that has some; "" where there is none.
func nearBlanks(s *Sample, lots []string) string {
	if near := survey.Nearest(s.Row.Lot, lots); near != "" && near != s.Row.Lot {
		return "; the nearest lot with blanks is " + near
	}
	return ""
}

// blankMeans remembers the means of one lot and medium, by substance and
// section: samples of a lot follow one another.
type blankMeans struct {
	lot, medium string
	means       []rememberedMean
}

type rememberedMean struct {
	mean    stats.Optional
	settled bool
}

// mean returns the mean of the blanks that answer for a section of a pair.
func (m *blankMeans) mean(b blankBook, p *pair, section survey.Section, substances int) stats.Optional {
	if s := p.sample; m.means == nil || m.lot != s.Row.Lot || m.medium != s.Medium {
		*m = blankMeans{s.Row.Lot, s.Medium, make([]rememberedMean, substances*survey.Sections)}
	}
	at := &m.means[p.substance.rank*survey.Sections+int(section)]
	if !at.settled {
		*at = rememberedMean{b.mean(p, section), true}
	}
	return at.mean
}

// Fewest field blanks of a lot, and the share of a sample from where on its
// blank matters. NIOSH Manual of Analytical Methods, chapter D asks for two
// blanks per ten samples; the share is common practice, no source.
var (
	fewestBlanks  = int(finding.Threshold(finding.FewBlanks))
	blankSharePct = finding.Threshold(finding.BlankLarge)
)

// checkLots tells of lots with too few field blanks. A lot's blanks count once
// however many analytes they were read for.
func (r *reduction) checkLots() {
	type lot struct{ samples, blanks []*Sample }
	lots := map[string]*lot{}
	var order []string
	for i := range r.samples {
		s := &r.samples[i]
		name := s.Row.Lot
		if name == "" {
			name = s.Medium
		}
		if name == "" || s.Row.Void {
			continue
		}
		if lots[name] == nil {
			lots[name] = &lot{}
			order = append(order, name)
		}
		switch {
		case s.Kind != survey.Blank:
			lots[name].samples = append(lots[name].samples, s)
		case !s.Row.MediaBlank:
			lots[name].blanks = append(lots[name].blanks, s)
		}
	}
	for _, name := range order {
		l := lots[name]
		if len(l.samples) == 0 || len(l.blanks) >= fewestBlanks {
			continue
		}
		r.findings.Add(finding.FewBlanks, l.samples[0].Row.Place("lot"), subject(append(l.samples, l.blanks...), name),
			finding.Values{"lot": lotText(l.samples[0]), "n": len(l.blanks), "limit": fewestBlanks, "samples": len(l.samples)})
	}
}

// fillBlanks reads the field blanks, so that every sample can be corrected by
// those of its lot. What is wrong with them is told when they come up as
// samples of their own.
func (r *reduction) fillBlanks() {
	a := &assay{reduction: r, misses: missBook{}}
	for i := range r.samples {
		s := &r.samples[i]
		if s.Kind != survey.Blank || s.Void || s.Row.MediaBlank {
			continue
		}
		for _, p := range a.pairs(s, r.lab.rows(i)) {
			if a.oneQuantity(&p) {
				a.fillBlank(&p)
			}
		}
	}
}

// fillBlank enters one analyte of one field blank, section by section. A
// non-detect blank counts 0.
func (a *assay) fillBlank(p *pair) {
	for _, section := range []survey.Section{survey.Whole, survey.Front, survey.Back} {
		row, ok := a.current(p, section)
		if !ok || row == nil {
			continue
		}
		if x, ok := a.read(p, row); ok {
			if x.state == notDetected {
				x.value = 0
			}
			a.blanks.add(p, section, x.value, row, nil)
		}
	}
	before, okBefore := a.current(p, survey.PreWeight)
	after, okAfter := a.current(p, survey.PostWeight)
	if okBefore && okAfter && before != nil && after != nil {
		if m, ok := a.weighed(p, before, after); ok {
			a.blanks.add(p, survey.Whole, m.held.Value, after, before)
		}
	}
}
