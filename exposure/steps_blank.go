package exposure

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"airtally/exposure/survey"
)

// BlankMean is the mean of the field blanks that answer for one section of an
// analyte. All concentrations that are corrected by the same blanks share one.
type BlankMean struct {
	Lot, Medium string // Lot is empty where the medium alone decides
	Analyte     string
	Section     survey.Section
	Samples     []string // the blanks
	Quantity    Quantity
	Mean        float64 // µg or fibres

	lot     blankLot
	results []blankResult
	of      *reduction
}

// blankMeanOf returns the blanks of a section of a pair, nil where there are
// none. The same blanks come as the same BlankMean.
func (r *reduction) blankMeanOf(p *pair, section survey.Section) *BlankMean {
	results := r.blanks.matching(p, section)
	if len(results) == 0 {
		return nil
	}
	lot := lotOf(p.sample)
	m := &BlankMean{Lot: lot.lot, Medium: lot.medium, Analyte: p.substance.Analyte, Section: section,
		Quantity: quantity(results[0].row.Unit), lot: lot, results: results, of: r}
	key := fmt.Sprint(m.Lot, "\x00", m.Medium, "\x00", m.Analyte, "\x00", section)
	total := 0.0
	for _, b := range results {
		m.Samples = append(m.Samples, b.sample.ID)
		total += b.amount
		key += "\x00" + b.sample.ID + "\x00" + b.form
	}
	m.Mean = total / float64(len(results))
	m.Samples = distinct(m.Samples)
	made, _ := r.explain().blanks.LoadOrStore(key, m)
	return made.(*BlankMean)
}

// Title names what the steps of a mean of blanks lead to.
func (m *BlankMean) Title() string {
	return fmt.Sprintf("mean of the field blanks %s for %s", strings.Join(m.Samples, ", "), m.Analyte)
}

// Steps returns the mean of the blanks.
func (m *BlankMean) Steps() []Step {
	l := newSteps(m, 8)
	var amounts, conditions []Expression
	for _, b := range m.results {
		conditions = append(conditions, followed(b.row))
		if b.second != nil {
			amounts = append(amounts, minus(m.of.amountOf(b.row), m.of.amountOf(b.second)))
			conditions = append(conditions, followed(b.second))
			continue
		}
		amounts = append(amounts, reference(b.row, "as_blank", "b", b.amount))
	}
	conditions = append(conditions, m.of.leftStand(m.lot, m.Analyte, m.Section)...)
	l.add(Step{Key: "mean", Symbol: "b", Name: "mean of the blanks", Unit: m.Quantity.held(), By: operate(Mean, amounts...), Value: m.Mean,
		Source: "mean of the field blanks of the lot, a non-detect as 0 (NIOSH Manual of Analytical Methods 0500, 1401, 7024)"})
	l.follow(conditions...)
	return l.all
}

// amountOf refers to the amount of a row whose unit is a mass.
func (r *reduction) amountOf(row *survey.LabRow) Expression {
	return reference(row, "amount", "x", row.Value*row.Unit.ToBase)
}

// blankLot is what field blanks answer for: a lot, or a medium where no lot is
// named.
type blankLot struct{ lot, medium string }

func lotOf(s *Sample) blankLot {
	if s.Row.Lot == "" {
		return blankLot{medium: s.Medium}
	}
	return blankLot{lot: s.Row.Lot}
}

// leftStand are the conditions that the rows of a lot's blanks which do not
// count, because they could not be read, are as they were: an edit may let them
// count.
func (r *reduction) leftStand(lot blankLot, analyte string, section survey.Section) []Expression {
	var out []Expression
	counted := r.blanks[blankKey{lot: lot.lot, medium: lot.medium, analyte: analyte, section: section}]
	for _, i := range r.explain().lots[lot] {
		s := &r.samples[i]
		if slices.ContainsFunc(counted, func(b blankResult) bool { return b.sample == s }) {
			continue
		}
		for _, at := range r.lab.rows(int(i)) {
			if row := &r.survey.Lab[at]; row.Analyte == analyte && blankSection(row) == section {
				out = append(out, r.untouched(row, s, r.rowSubstance[at])...)
			}
		}
	}
	return out
}

// unmoved is the condition that a mean of blanks is what it was.
func (m *BlankMean) unmoved() Expression {
	moved := operate(Magnitude, minus(m.at(), figure(m.Mean)))
	return operate(LessEqual, moved, figure(roundingTolerance*math.Abs(m.Mean)))
}
