package exposure

import (
	"slices"
	"strconv"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
)

// What was asked for is not in the tables: it is taken from what most samples
// of a medium were analysed for. Every one of them should have one current
// result for each of those analytes, and no other. Common practice, no source.
const (
	fewestForMissing = 3 // samples of a medium before an analyte can be missed
	fewestOfMedium   = 2 // other samples of a medium that say what it is analysed for
)

// checkMissing tells of an analyte that most samples of a medium were analysed
// for and one was not.
func (r *reduction) checkMissing() {
	counts := map[string]map[*Substance]int{}
	samples := map[string]int{}
	for i := range r.samples {
		rows := r.lab.rows(i)
		medium := r.samples[i].Medium
		if len(rows) == 0 {
			continue
		}
		if counts[medium] == nil {
			counts[medium] = map[*Substance]int{}
		}
		samples[medium]++
		for k, row := range rows {
			if s := r.rowSubstance[row]; !slices.ContainsFunc(rows[:k], func(o int32) bool { return r.rowSubstance[o] == s }) {
				counts[medium][s]++
			}
		}
	}
	usual := map[string][]*Substance{}
	for medium, of := range counts {
		for s, n := range of {
			if samples[medium] >= fewestForMissing && 2*n > samples[medium] && n < samples[medium] {
				usual[medium] = append(usual[medium], s)
			}
		}
		slices.SortFunc(usual[medium], compareSubstances)
	}
	for i := range r.samples {
		s := &r.samples[i]
		rows := r.lab.rows(i)
		if len(rows) == 0 {
			continue
		}
		var missing []string
		fewest := samples[s.Medium]
		for _, wanted := range usual[s.Medium] {
			if !slices.ContainsFunc(rows, func(o int32) bool { return r.rowSubstance[o] == wanted }) {
				missing, fewest = append(missing, wanted.Analyte), min(fewest, counts[s.Medium][wanted])
			}
		}
		if len(missing) > 0 {
			r.findings.Add(finding.AnalyteMissing, s.Row.Place("sample"), append([]string{s.ID}, missing...),
				finding.Values{"sample": s.ID, "analyte": missing, "medium": s.Medium, "n": fewest, "of": samples[s.Medium]})
		}
	}
}

// checkBacks tells of front sections without the back that most tubes of the
// medium have.
func (r *reduction) checkBacks() {
	type tubes struct{ with, without []*survey.LabRow }
	byMedium := map[string]*tubes{}
	var order []string
	for i := range r.samples {
		rows := r.lab.rows(i)
		for _, k := range rows {
			row := &r.survey.Lab[k]
			if row.Section != survey.Front {
				continue
			}
			x := byMedium[r.samples[i].Medium]
			if x == nil {
				x = &tubes{}
				byMedium[r.samples[i].Medium] = x
				order = append(order, r.samples[i].Medium)
			}
			back := slices.IndexFunc(rows, func(o int32) bool {
				return r.survey.Lab[o].Section == survey.Back && r.rowSubstance[o] == r.rowSubstance[k]
			})
			if back >= 0 {
				x.with = append(x.with, row)
				r.checkSections(row, &r.survey.Lab[rows[back]])
			} else {
				x.without = append(x.without, row)
			}
		}
	}
	for _, medium := range order {
		x := byMedium[medium]
		if len(x.with) < fewestForMissing || len(x.without) >= len(x.with) {
			continue
		}
		for _, row := range x.without {
			r.findings.Add(finding.BackMissing, row.Place("section"), []string{row.Sample, row.Analyte}, finding.Values{
				"sample": row.Sample, "analyte": row.Analyte, "medium": medium, "n": len(x.with), "of": len(x.with) + len(x.without)})
		}
	}
}

// checkSections tells of a front and a back section of which only one was
// corrected, for desorption or for blanks.
func (r *reduction) checkSections(front, back *survey.LabRow) {
	yes := map[bool]string{true: "yes", false: "no"}
	tell := func(column string, f, b bool) {
		if f != b {
			r.findings.Add(finding.SectionsDisagree, back.Place(column), []string{front.Sample, front.Analyte}, finding.Values{
				"sample": front.Sample, "analyte": front.Analyte, "column": column, "front": yes[f], "back": yes[b]})
		}
	}
	tell("desorption_applied", !front.DesorptionNotApplied, !back.DesorptionNotApplied)
	tell("blank_applied", front.BlankApplied, back.BlankApplied)
}

// asked is what a row of the laboratory answers: an analyte in a form, whole or
// in sections.
type asked struct {
	analyte, form string
	sections      bool
}

// panels counts what the samples of each medium were analysed for.
type panels struct {
	samples map[string]int
	counts  map[string]map[asked]int
	media   []string
}

// answers puts what a sample was analysed for, each once, in place of what all
// held.
func (r *reduction) answers(i int, all []asked) []asked {
	all = all[:0]
	for _, k := range r.lab.rows(i) {
		row := &r.survey.Lab[k]
		a := asked{row.Analyte, row.Form, row.Section == survey.Front || row.Section == survey.Back}
		if !slices.Contains(all, a) {
			all = append(all, a)
		}
	}
	return all
}

func (r *reduction) panels() panels {
	p := panels{samples: map[string]int{}, counts: map[string]map[asked]int{}}
	var all []asked
	for i := range r.samples {
		medium := r.samples[i].Medium
		all = r.answers(i, all)
		if len(all) == 0 || medium == "" {
			continue
		}
		if p.counts[medium] == nil {
			p.counts[medium], p.media = map[asked]int{}, append(p.media, medium)
		}
		p.samples[medium]++
		for _, a := range all {
			p.counts[medium][a]++
		}
	}
	slices.Sort(p.media)
	return p
}

// usual reports whether at least half of the samples of a medium were analysed
// for something.
func (p *panels) usual(medium string, a asked) bool {
	return 2*p.counts[medium][a] >= p.samples[medium]
}

// checkMedia tells of samples with results that their medium cannot give, or
// with those of another medium: nothing of what they have was found on any other
// sample of theirs, and all of it is usual on another.
func (r *reduction) checkMedia() {
	p := r.panels()
	var all []asked
	for i := range r.samples {
		s := &r.samples[i]
		rows := r.lab.rows(i)
		if analytes, reason := r.cannotHold(s, rows); len(analytes) > 0 {
			r.tellMedium(s, analytes, reason)
			continue
		}
		all = r.answers(i, all)
		if len(all) == 0 || p.samples[s.Medium] <= fewestOfMedium {
			continue
		}
		if slices.ContainsFunc(all, func(a asked) bool { return p.counts[s.Medium][a] > 1 }) {
			r.tellExtra(s, all, &p)
		} else if medium := p.wholly(all, s.Medium); medium != "" {
			var analytes []string
			for _, a := range all {
				analytes = append(analytes, a.analyte)
			}
			r.tellMedium(s, distinct(analytes), "as samples on "+medium+" have them and none of the "+
				strconv.Itoa(p.samples[s.Medium]-1)+" others on "+s.Medium)
		}
	}
}

// wholly returns the medium, other than a sample's own, for which all that it
// was analysed for is usual; "" where there is none.
func (p *panels) wholly(all []asked, own string) string {
	for _, medium := range p.media {
		if medium != own && p.samples[medium] >= fewestOfMedium &&
			!slices.ContainsFunc(all, func(a asked) bool { return !p.usual(medium, a) }) {
			return medium
		}
	}
	return ""
}

func (r *reduction) tellMedium(s *Sample, analytes []string, why string) {
	rows := r.lab.rows(int(s.number))
	row := &r.survey.Lab[rows[0]]
	if at := slices.IndexFunc(rows, func(o int32) bool { return slices.Contains(analytes, r.survey.Lab[o].Analyte) }); at >= 0 {
		row = &r.survey.Lab[rows[at]]
	}
	r.findings.Add(finding.WrongMedium, row.Place("sample"), append([]string{s.ID, s.Medium}, analytes...), finding.Values{
		"sample": s.ID, "medium": s.Medium, "analyte": analytes, "why": why})
}

// checkLotMedia tells of a sample whose lot is that of another medium: all
// others of its lot are on one other medium, and all others on its medium are of
// other lots.
func (r *reduction) checkLotMedia() {
	lots, media := map[string][]*Sample{}, map[string][]*Sample{}
	for i := range r.samples {
		s := &r.samples[i]
		lots[s.Row.Lot], media[s.Medium] = append(lots[s.Row.Lot], s), append(media[s.Medium], s)
	}
	for i := range r.samples {
		s := &r.samples[i]
		others, like := lots[s.Row.Lot], media[s.Medium]
		if s.Row.Lot == "" || s.Medium == "" || len(others) <= fewestOfMedium || len(like) <= fewestOfMedium {
			continue
		}
		other := others[0]
		if other == s {
			other = others[1]
		}
		strays := slices.ContainsFunc(others, func(o *Sample) bool { return o != s && (o.Medium == s.Medium || o.Medium != other.Medium) }) ||
			slices.ContainsFunc(like, func(o *Sample) bool { return o != s && o.Row.Lot == s.Row.Lot })
		if !strays {
			r.findings.Add(finding.LotUnlikeMedium, s.Row.Place("lot"), []string{s.ID, s.Row.Lot, s.Medium}, finding.Values{
				"sample": s.ID, "medium": s.Medium, "lot": s.Row.Lot, "n": len(others) - 1, "other": other.Medium, "of": len(like) - 1})
		}
	}
}

// tellExtra tells of analytes that one sample alone of its medium has.
func (r *reduction) tellExtra(s *Sample, all []asked, p *panels) {
	var extra []string
	for _, a := range all {
		if p.counts[s.Medium][a] == 1 {
			extra = append(extra, a.analyte)
		}
	}
	if extra != nil {
		r.findings.Add(finding.AnalyteExtra, s.Row.Place("sample"), append([]string{s.ID, s.Medium}, distinct(extra)...), finding.Values{
			"sample": s.ID, "analyte": extra, "of": p.samples[s.Medium] - 1, "medium": s.Medium})
	}
}
