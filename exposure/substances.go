package exposure

import (
	"cmp"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
)

// labIndex holds the laboratory's rows by sample.
type labIndex struct {
	start []int32 // of each sample, and the end
	order []int32 // indices of rows
}

func (x *labIndex) rows(sample int) []int32 { return x.order[x.start[sample]:x.start[sample+1]] }

// substanceKey is what makes two results results of one substance.
type substanceKey struct{ analyte, form string }

// askedOf is what was asked of a sample; the medium gives the form where the
// laboratory does not.
type askedOf struct {
	asked  *survey.Asked
	medium string
}

// sortLab sends every laboratory row to its sample and its substance. A row
// that names no sample is left out with a finding.
func (r *reduction) sortLab() {
	lab := r.survey.Lab
	at := make([]int32, len(lab))
	r.rowSubstance = make([]*Substance, len(lab))
	index := &labIndex{start: make([]int32, len(r.samples)+1)}
	substances := map[askedOf]*Substance{}
	lastID, last := "", int32(-1)
	unknown := &unknownSamples{}
	for i := range lab {
		row := &lab[i]
		if row.Sample != lastID || i == 0 {
			lastID, last = row.Sample, r.sampleNumber(row.Sample)
		}
		at[i] = last
		if last < 0 {
			unknown.add(row)
			continue
		}
		index.start[last+1]++
		asked := askedOf{row.Asked, ""}
		if row.Form == "" {
			asked.medium = r.samples[last].Medium
		}
		s := substances[asked]
		if s == nil {
			s = r.substance(substanceKey{row.Analyte, r.formOf(row, &r.samples[last])}, row.CAS)
			substances[asked] = s
		}
		s.countUnit(row.Unit.Name)
		r.rowSubstance[i] = s
	}
	unknown.tell(r)
	for i := 1; i < len(index.start); i++ {
		index.start[i] += index.start[i-1]
	}
	next := slices.Clone(index.start)
	index.order = make([]int32, index.start[len(r.samples)])
	for i, s := range at {
		if s >= 0 {
			index.order[next[s]] = int32(i)
			next[s]++
		}
	}
	r.lab = index
	r.findUnits(at)
}

// unknownSamples gathers the laboratory's rows that name no sample, by the name.
type unknownSamples struct {
	rows  map[string][]*survey.LabRow
	order []string
}

func (u *unknownSamples) add(row *survey.LabRow) {
	if u.rows == nil {
		u.rows = map[string][]*survey.LabRow{}
	}
	if u.rows[row.Sample] == nil {
		u.order = append(u.order, row.Sample)
	}
	u.rows[row.Sample] = append(u.rows[row.Sample], row)
}

// tell tells of each name once, with all its rows.
func (u *unknownSamples) tell(r *reduction) {
	for _, id := range u.order {
		var analytes, cells []string
		for _, row := range u.rows[id] {
			analytes, cells = append(analytes, row.Analyte), append(cells, "lab!"+row.Place("sample").Cell)
		}
		r.findings.Add(finding.UnknownSample, u.rows[id][0].Place("sample"), append([]string{id}, analytes...), finding.Values{
			"sample": id, "analyte": distinct(analytes), "near": nearText(r.nearestSample(id)), "nearest": r.nearestSample(id), "cells": cells})
	}
}

func (r *reduction) sampleNumber(id string) int32 {
	if i, ok := r.sampleIndex[id]; ok {
		return i
	}
	return -1
}

// nearestSample names the sample that a mistyped id may have meant.
func (r *reduction) nearestSample(id string) string {
	if near, known := r.nearSamples[id]; known || len(r.nearSamples) >= mostSuggestions {
		return near
	}
	ids := make([]string, len(r.samples))
	for i := range r.samples {
		ids[i] = r.samples[i].ID
	}
	near := survey.Nearest(id, ids)
	r.nearSamples[id] = near
	return near
}

func nearText(nearest string) string {
	if nearest == "" {
		return "no sample is called like it"
	}
	return "the nearest is " + nearest
}

// mostSuggestions bounds the search for names that a mistyped one may have meant.
const mostSuggestions = 200

// formOf returns the form of a result: the laboratory's, else its medium's.
func (r *reduction) formOf(row *survey.LabRow, s *Sample) string {
	if row.Form != "" {
		return row.Form
	}
	return r.mediumForm(s)
}

func (r *reduction) mediumForm(s *Sample) string {
	if m := r.media[s.Medium]; m != nil && m.Form != "" {
		return m.Form
	}
	return limits.DefaultForm
}

// substance returns the one Substance of a key, made at its first use.
func (r *reduction) substance(key substanceKey, cas string) *Substance {
	s := r.substances[key]
	if s == nil {
		s = &Substance{Analyte: key.analyte, Form: key.form}
		r.substances[key] = s
	}
	if cas != "" && (s.CAS == "" || cas < s.CAS) {
		s.CAS = cas
	}
	return s
}

// unitCount says how often a substance was reported in a unit.
type unitCount struct {
	unit string
	rows int
}

func (s *Substance) countUnit(unit string) {
	for i := range s.units {
		if s.units[i].unit == unit {
			s.units[i].rows++
			return
		}
	}
	s.units = append(s.units, unitCount{unit, 1})
}

// usualUnit returns the unit most rows of the substance are in.
func (s *Substance) usualUnit() string {
	return slices.MaxFunc(s.units, func(a, b unitCount) int {
		return cmp.Or(cmp.Compare(a.rows, b.rows), cmp.Compare(b.unit, a.unit))
	}).unit
}

// findUnits tells of rows in another unit than the rest of their analyte.
func (r *reduction) findUnits(at []int32) {
	for i, substance := range r.rowSubstance {
		if at[i] < 0 || len(substance.units) < 2 {
			continue
		}
		row := &r.survey.Lab[i]
		if usual := substance.usualUnit(); row.Unit.Name != usual {
			r.findings.Add(finding.UnitDiffers, row.Place("unit"), []string{row.Sample, row.Analyte},
				finding.Values{"sample": row.Sample, "analyte": row.Analyte, "read": row.Text("result"), "unit": row.Unit.Name, "usual": usual})
		}
	}
}

// sortedSubstances returns all substances by analyte and form.
func (r *reduction) sortedSubstances() []*Substance {
	all := make([]*Substance, 0, len(r.substances))
	for _, s := range r.substances {
		all = append(all, s)
	}
	slices.SortFunc(all, compareSubstances)
	return all
}

// rankSubstances numbers the substances by analyte and form.
func (r *reduction) rankSubstances() {
	for i, s := range r.sortedSubstances() {
		s.rank = i
	}
}

// weightOf returns the molecular weight of a substance: the user's limit row,
// else the library's by CAS, else by exact name; a derived analyte's own limit
// row, else what its parts have in common.
func (r *reduction) weightOf(s *Substance) stats.Optional {
	if w := r.userWeight(s); w.Known {
		return w
	}
	parts := r.derivations[s.Analyte]
	if parts == nil {
		return limits.Weight(s.Analyte, s.CAS)
	}
	if w := limits.Weight(s.Analyte, ""); w.Known {
		return w
	}
	var common stats.Optional
	for i, part := range parts.parts {
		w := r.weightOf(r.partSubstance(part.analyte, s.Form))
		if !w.Known || i > 0 && w != common {
			return stats.Optional{}
		}
		common = w
	}
	return common
}

// partSubstance returns the substance of a derived analyte's part, for its
// CAS number; a passing one where the laboratory never reported it.
func (r *reduction) partSubstance(analyte, form string) *Substance {
	if s := r.substances[substanceKey{analyte, form}]; s != nil {
		return s
	}
	return &Substance{Analyte: analyte, Form: form}
}

func (r *reduction) userWeight(s *Substance) stats.Optional {
	for i := range r.survey.Limits {
		limit := &r.survey.Limits[i].Limit
		if limit.MolecularWeight.Known && sameAnalyte(limit, s) {
			return limit.MolecularWeight
		}
	}
	return stats.Optional{}
}

// sameAnalyte reports whether a user's limit is for the substance's analyte:
// the same name without regard to case, or the same CAS number.
func sameAnalyte(limit *limits.Limit, s *Substance) bool {
	return strings.EqualFold(limit.Analyte, s.Analyte) || limit.CAS != "" && limit.CAS == s.CAS
}

func containsFold(text, part string) bool {
	return strings.Contains(strings.ToLower(text), strings.ToLower(part))
}
