package exposure

import (
	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
)

// assay reads the laboratory's rows of one sample after another. Each has its
// own findings, so that several can work at once.
type assay struct {
	*reduction
	findings finding.List
	results  []Concentration
	misses   missBook

	blankMeans blankMeans
	scratch    []pair // reused from sample to sample
	held       []*survey.LabRow
}

// reading is one laboratory result in µg or fibres.
type reading struct {
	row   *survey.LabRow
	value float64        // of either sign
	limit stats.Optional // the reporting limit R
	state state
	keep  bool // an estimate (J): stays a detect under R
}

// state is what a reading says of the amount on the sample.
type state uint8

const (
	detected state = iota
	notDetected
	atLeast
)

// pair is what the laboratory says of one substance on one sample.
type pair struct {
	sample    *Sample
	substance *Substance
	rows      []*survey.LabRow
}

func (p *pair) values() finding.Values {
	return finding.Values{"sample": p.sample.ID, "analyte": p.substance.Analyte, "lot": p.sample.Row.Lot}
}

// subject names what a finding about the pair touches.
func (p *pair) subject() []string {
	who := []string{p.sample.ID, p.substance.Analyte}
	if p.sample.Kind == survey.Blank {
		who = append(who, p.sample.Row.Lot)
	}
	return who
}

// raise records a finding about a row of the pair.
func (a *assay) raise(code finding.Code, p *pair, row *survey.LabRow, column string, more finding.Values) {
	values := p.values()
	for k, v := range more {
		values[k] = v
	}
	a.findings.Add(code, row.Place(column), p.subject(), values)
}

// current returns the one row of a section that stands. A dilution (D)
// supersedes the row that was over range (E). Any other second row leaves the
// pair out.
func (a *assay) current(p *pair, section survey.Section) (row *survey.LabRow, ok bool) {
	var rows []*survey.LabRow
	for _, row := range p.rows {
		if row.Section == section {
			rows = append(rows, row)
		}
	}
	if len(rows) <= 1 {
		return first(rows), true
	}
	var diluted, over []*survey.LabRow
	for _, row := range rows {
		switch {
		case row.Qualifiers.Has(survey.D):
			diluted = append(diluted, row)
		case row.Qualifiers.Has(survey.E):
			over = append(over, row)
		}
	}
	if len(diluted) == 1 && len(diluted)+len(over) == len(rows) {
		for _, row := range over {
			a.raise(finding.Superseded, p, row, "result", finding.Values{
				"read": row.Text("result"), "by": diluted[0].Text("result"), "row": int(diluted[0].Row)})
		}
		return diluted[0], true
	}
	var places []string
	for _, row := range rows {
		places = append(places, row.Place("result").Cell)
	}
	a.raise(finding.LabDuplicate, p, rows[1], "result", finding.Values{
		"n": len(rows), "section": section.String(), "cells": places})
	return nil, false
}

func first(rows []*survey.LabRow) *survey.LabRow {
	if len(rows) == 0 {
		return nil
	}
	return rows[0]
}

// quantity says what a laboratory's unit measures.
func quantity(u *survey.LabUnit) Quantity {
	if u.Quantity == survey.FibreCount || u.Quantity == survey.FibreDensity || u.Air.Dim == limits.Fibre {
		return OfFibres
	}
	return OfMass
}

// toBase returns what a row's numbers are multiplied by to give µg or fibres.
func (a *assay) toBase(p *pair, row *survey.LabRow) (factor float64, ok bool) {
	switch row.Unit.Quantity {
	case survey.FibreDensity:
		m := a.media[p.sample.Medium]
		if m == nil || !m.FilterArea.Known {
			a.raise(finding.NoFilterArea, p, row, "unit", finding.Values{"medium": p.sample.Medium})
			return 0, false
		}
		return row.Unit.ToBase * m.FilterArea.Value, true
	case survey.Concentration:
		return a.byLabVolume(p, row)
	}
	return row.Unit.ToBase, true
}

// byLabVolume turns a concentration of the laboratory's back into what was on
// the sample, by the laboratory's own volume.
func (a *assay) byLabVolume(p *pair, row *survey.LabRow) (factor float64, ok bool) {
	if !row.LabVolume.Known || row.LabVolume.Value <= 0 {
		a.raise(finding.NoLabVolume, p, row, "lab_volume_l", finding.Values{"unit": row.Unit.Name})
		return 0, false
	}
	litres := row.LabVolume.Value
	a.raise(finding.LabConcentration, p, row, "unit", finding.Values{
		"read": row.Text("result"), "unit": row.Unit.Name, "volume": litres})
	factor = row.Unit.Air.ToBase * litres
	switch row.Unit.Air.Dim {
	case limits.Fibre:
		factor *= 1000
	case limits.Molar:
		weight := a.weightOf(p.substance)
		if !weight.Known {
			a.raise(finding.NoWeightForLab, p, row, "unit", finding.Values{"unit": row.Unit.Name})
			return 0, false
		}
		factor *= weight.Value / a.settings.Limits.MolarVolume
	}
	return factor, true
}

// read turns a row into a reading, or says why it cannot.
func (a *assay) read(p *pair, row *survey.LabRow) (x reading, ok bool) {
	factor, ok := a.toBase(p, row)
	if !ok {
		return reading{}, false
	}
	a.qualifiers(p, row)
	x = reading{row: row, value: row.Value * factor, keep: row.Qualifiers.Has(survey.J)}
	if row.ReportingLimit.Known {
		x.limit = stats.Some(row.ReportingLimit.Value * factor)
	}
	switch row.Kind {
	case survey.LessThan:
		a.checkLessThan(p, row)
		x.limit, x.state = stats.Some(x.value), notDetected
	case survey.NotFound:
		x.state = notDetected
	case survey.MoreThan:
		a.raise(finding.MoreThan, p, row, "result", finding.Values{"read": row.Text("result")})
		x.state = atLeast
	default:
		return a.number(p, x)
	}
	if x.state == notDetected && !x.limit.Known {
		a.raise(finding.NoReportingLimit, p, row, "reporting_limit", finding.Values{"read": row.Text("result")})
		return reading{}, false
	}
	return x, true
}

// checkLessThan tells of a "<x" whose x is not the row's reporting limit.
func (a *assay) checkLessThan(p *pair, row *survey.LabRow) {
	limit := row.ReportingLimit
	if limit.Known && !near(limit.Value, row.Value, 0.01) {
		a.raise(finding.LimitsDisagree, p, row, "reporting_limit", finding.Values{
			"read": row.Text("result"), "limit": limit.Value, "unit": row.Unit.Name})
	}
}

func near(a, b, tolerance float64) bool {
	return a >= b*(1-tolerance) && a <= b*(1+tolerance)
}

// number reads a plain number: a non-detect where it is marked U or lies
// under R unmarked, else a detect. A gravimetric blank keeps its number.
func (a *assay) number(p *pair, x reading) (reading, bool) {
	row := x.row
	under := x.limit.Known && x.value < x.limit.Value
	marked := row.Qualifiers.Has(survey.U)
	if (under || marked || x.value <= 0) && p.sample.Kind == survey.Blank && a.gravimetric(p, row) {
		return x, true
	}
	switch {
	case marked:
		x.limit, x.state = x.limit.OrElse(stats.Some(x.value)), notDetected
		if x.limit.Value <= 0 {
			a.raise(finding.NoReportingLimit, p, row, "reporting_limit", finding.Values{"read": row.Text("result")})
			return reading{}, false
		}
	case row.Qualifiers.Has(survey.E) && x.value > 0:
		x.state = atLeast
	case under && !(x.keep && x.value > 0):
		a.raise(finding.UnderLimit, p, row, "result", finding.Values{
			"read": row.Text("result"), "limit": row.ReportingLimit.Value, "unit": row.Unit.Name})
		x.state = notDetected
	case x.limit.Known && x.value == x.limit.Value && !x.keep && x.value > 0:
		a.raise(finding.AtLimit, p, row, "result", finding.Values{
			"read": row.Text("result"), "limit": row.ReportingLimit.Value, "unit": row.Unit.Name})
	case x.value <= 0:
		a.raise(finding.NotAResult, p, row, "result", finding.Values{"read": row.Text("result")})
		return reading{}, false
	}
	return x, true
}

// qualifiers tells of the letters beside a result.
func (a *assay) qualifiers(p *pair, row *survey.LabRow) {
	if row.Qualifiers == 0 {
		return
	}
	column, text := "qualifier", row.Text("qualifier")
	if text == "" { // they stand behind the number
		column, text = "result", row.Text("result")
	}
	letters := finding.Values{"letters": text, "read": row.Text("result")}
	for _, q := range []struct {
		letter survey.Qualifiers
		code   finding.Code
	}{{survey.J, finding.Estimate}, {survey.E, finding.OverRange}, {survey.D, finding.Diluted},
		{survey.B, finding.LabBlank}, {survey.Other, finding.UnknownQualifier}} {
		if row.Qualifiers.Has(q.letter) {
			a.raise(q.code, p, row, column, letters)
		}
	}
}

// gravimetric reports whether a result is a weighed dust: it comes from
// weighings, or its method says so and the analyte has no CAS number.
func (a *assay) gravimetric(p *pair, row *survey.LabRow) bool {
	if row.Section == survey.PreWeight || row.Section == survey.PostWeight {
		return true
	}
	method := row.Method
	if m := a.media[p.sample.Medium]; method == "" && m != nil {
		method = m.Method
	}
	return row.CAS == "" && containsFold(method, "gravimetric")
}
