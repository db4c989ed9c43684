package exposure

import (
	"math"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
)

// amount is what one pair comes to, in µg or fibres.
type amount struct {
	held        stats.Interval // corrected
	uncorrected float64
	blank       stats.Optional // mean of the matching field blanks, all sections
	limit       stats.Optional // the reporting limit R
	quantity    Quantity
	row, second *survey.LabRow // second: the back section, or the weighing before
	nonDetect   bool           // after correction
	found       bool           // by the laboratory, before correction
	shareOfOne  float64        // blank / uncorrected, of the section where it is largest
}

// pair works out what the laboratory found of one substance on one sample.
func (a *assay) pair(p *pair) (amount, bool) {
	rows, ok := a.sections(p)
	if !ok {
		return amount{}, false
	}
	if !a.oneQuantity(p) {
		return amount{}, false
	}
	whole, tube, weighed := rows[survey.Whole] != nil,
		rows[survey.Front] != nil || rows[survey.Back] != nil,
		rows[survey.PreWeight] != nil || rows[survey.PostWeight] != nil
	var m amount
	switch {
	case whole && !tube && !weighed:
		m, ok = a.whole(p, rows[survey.Whole])
	case tube && !whole && !weighed:
		m, ok = a.tube(p, rows[survey.Front], rows[survey.Back])
	case weighed && !whole && !tube:
		m, ok = a.weighed(p, rows[survey.PreWeight], rows[survey.PostWeight])
	default:
		a.raise(finding.SectionsMixed, p, p.rows[0], "section", nil)
		ok = false
	}
	if !ok {
		return amount{}, false
	}
	m.quantity = quantity(m.row.Unit)
	return a.desorbed(p, m)
}

// sections returns the row that stands in each section.
func (a *assay) sections(p *pair) (rows [5]*survey.LabRow, ok bool) {
	if len(p.rows) == 1 {
		rows[p.rows[0].Section] = p.rows[0]
		return rows, true
	}
	for section := survey.Whole; section <= survey.PostWeight; section++ {
		if rows[section], ok = a.current(p, section); !ok {
			return rows, false
		}
	}
	return rows, true
}

// oneQuantity checks that a pair is all masses or all fibres.
func (a *assay) oneQuantity(p *pair) bool {
	for _, row := range p.rows[1:] {
		if quantity(row.Unit) != quantity(p.rows[0].Unit) {
			a.raise(finding.QuantitiesMixed, p, row, "unit", finding.Values{
				"unit": row.Unit.Name, "other": p.rows[0].Unit.Name})
			return false
		}
	}
	return true
}

// whole reads a sample analysed in one piece.
func (a *assay) whole(p *pair, row *survey.LabRow) (amount, bool) {
	x, ok := a.read(p, row)
	if !ok {
		return amount{}, false
	}
	return a.corrected(p, x)
}

// weighed reads a filter weighed before and after: the gain.
func (a *assay) weighed(p *pair, before, after *survey.LabRow) (amount, bool) {
	if before == nil || after == nil {
		a.raise(finding.WeighingMissing, p, p.rows[0], "section", nil)
		return amount{}, false
	}
	for _, row := range []*survey.LabRow{before, after} {
		if row.Kind != survey.Number {
			a.raise(finding.WeighingNotNumber, p, row, "result", finding.Values{"read": row.Text("result")})
			return amount{}, false
		}
	}
	pre, ok := a.toBase(p, before)
	if !ok {
		return amount{}, false
	}
	post, ok := a.toBase(p, after)
	if !ok {
		return amount{}, false
	}
	a.qualifiers(p, after)
	x := reading{row: after, value: after.Value*post - before.Value*pre, keep: after.Qualifiers.Has(survey.J)}
	if limit := after.ReportingLimit; limit.Known {
		x.limit = stats.Some(limit.Value * post)
	} else if before.ReportingLimit.Known {
		x.limit = stats.Some(before.ReportingLimit.Value * pre)
	}
	a.checkGain(p, x)
	m, ok := a.corrected(p, x)
	m.second = before
	return m, ok
}

// checkGain tells of a sample's gain that is none, or lies under R unmarked.
func (a *assay) checkGain(p *pair, x reading) {
	switch {
	case p.sample.Kind == survey.Blank:
	case x.value <= 0:
		a.raise(finding.NegativeWeight, p, x.row, "result", finding.Values{"gain": x.value})
	case x.limit.Known && under(x.value, x.limit.Value) && !x.keep && !x.row.Qualifiers.Has(survey.U):
		a.raise(finding.UnderLimit, p, x.row, "result", finding.Values{"read": x.value, "limit": x.limit.Value, "unit": "ug"})
	}
}

// corrected takes the mean of the matching blanks off a reading:
//
//	m = m_sample − mean(m_blank)
//
// A non-detect keeps its reporting limit R; a detect that falls under R
// becomes a non-detect at R, unless it was an estimate (J).
// NIOSH Manual of Analytical Methods 0500, 1401, 7024: mean of the blanks.
func (a *assay) corrected(p *pair, x reading) (amount, bool) {
	m := amount{row: x.row, limit: x.limit, uncorrected: x.value, found: x.state != notDetected}
	blank := 0.0
	if p.sample.Kind != survey.Blank && a.settings.Correction == MeanBlank && !x.row.BlankApplied {
		m.blank = a.blankMeans.mean(a.blanks, p, blankSection(x.row), len(a.substances))
		blank = m.blank.Or(0)
		if !m.blank.Known && (x.state != notDetected || x.row.Section != survey.Back) {
			a.misses.add(p)
		}
	}
	if x.state == notDetected {
		m.nonDetect = true
		m.held = a.settings.NonDetect.under(x.limit.Value)
		m.uncorrected = m.held.Value
		return m, true
	}
	if blank > 0 {
		m.shareOfOne = blank / x.value
	}
	return a.detect(p, x, m, blank)
}

// rounding is how near a mass and its blank may be, as a share, and still be
// one number that was worked out in two ways.
const rounding = 1e-12

// detect finishes a detect once its blank is known.
func (a *assay) detect(p *pair, x reading, m amount, blank float64) (amount, bool) {
	value := x.value - blank
	if near(x.value, blank, rounding) {
		value = 0 // what is left of it is rounding
	}
	if p.sample.Kind == survey.Blank {
		m.held = stats.Exact(value)
		return m, true
	}
	lost := x.limit.Known && under(value, x.limit.Value) && !(x.keep && value > 0)
	switch {
	case x.state == atLeast:
		m.held = stats.AtLeast(max(0, value))
	case lost:
		m.nonDetect = true
		m.held = a.settings.NonDetect.under(x.limit.Value)
		if blank > 0 && (x.value >= x.limit.Value || x.keep) {
			a.raise(finding.CorrectedAway, p, x.row, "result", finding.Values{
				"mass": x.value, "blank": blank, "left": value, "limit": x.limit.Value, "unit": quantity(x.row.Unit).held()})
		}
	case value <= 0 && x.row.Section == survey.Back:
		m.nonDetect = true // and adds nothing, with or without a reporting limit
	case value <= 0:
		a.raise(finding.NothingLeft, p, x.row, "result", finding.Values{"mass": x.value, "blank": blank, "unit": quantity(x.row.Unit).held()})
		return amount{}, false
	default:
		m.held = stats.Exact(value)
	}
	return m, true
}

// blankSection is the section under which a blank answers for a row: weighings
// are one whole.
func blankSection(row *survey.LabRow) survey.Section {
	if row.Section == survey.PostWeight {
		return survey.Whole
	}
	return row.Section
}

// defaultBreakthroughPct holds for media that state none: Wb > Wf/10, NIOSH
// Manual of Analytical Methods 1401.
var defaultBreakthroughPct = finding.Threshold(finding.Breakthrough)

// tube adds the sections of a sorbent tube. A non-detect back adds nothing; a
// back over the method's share of the front, or a back without a front, means
// that more went through than was caught: the sum is a lower bound.
func (a *assay) tube(p *pair, front, back *survey.LabRow) (amount, bool) {
	if front == nil {
		a.raise(finding.BackWithoutFront, p, back, "section", nil)
		return amount{}, false
	}
	f, ok := a.whole(p, front)
	if !ok || back == nil {
		return f, ok
	}
	b, ok := a.whole(p, back)
	if !ok {
		return amount{}, false
	}
	f.second = back
	if b.blank.Known {
		f.blank = stats.Some(f.blank.Or(0) + b.blank.Value)
	}
	if b.found {
		f.uncorrected += b.uncorrected
	}
	if b.nonDetect {
		return f, true
	}
	f.shareOfOne = max(f.shareOfOne, b.shareOfOne)
	limit := defaultBreakthroughPct
	if m := a.media[p.sample.Medium]; m != nil {
		limit = m.BreakthroughPct.Or(limit)
	}
	share := 100 * b.held.Value / f.held.Value
	if f.nonDetect {
		share = math.Inf(1)
	}
	f.held, f.nonDetect = f.held.Add(b.held), false
	if over(share, limit) && p.sample.Kind != survey.Blank {
		f.held = f.held.Unbounded()
		code := finding.Breakthrough
		if share > 100 && !math.IsInf(share, 1) {
			code = finding.BackOverFront
		}
		a.raise(code, p, back, "result", finding.Values{"share": share, "limit": limit})
	}
	return f, true
}

// desorbed divides by the desorption efficiency where the laboratory has not:
// the sum of the sections by the efficiency at the front section's mass
// (29 CFR 1910.1045 Appendix D, 10.5).
func (a *assay) desorbed(p *pair, m amount) (amount, bool) {
	if !m.row.DesorptionNotApplied {
		return m, true
	}
	if !m.row.Desorption.Known || m.row.Desorption.Value <= 0 {
		a.raise(finding.NoDesorption, p, m.row, "desorption", nil)
		return amount{}, false
	}
	efficiency := m.row.Desorption.Value
	m.held = stats.Interval{Low: m.held.Low / efficiency, Value: m.held.Value / efficiency,
		High: m.held.High / efficiency, Open: m.held.Open}
	m.uncorrected /= efficiency
	for _, part := range []*stats.Optional{&m.blank, &m.limit} {
		part.Value /= efficiency
	}
	return m, true
}
