package exposure

import (
	"slices"
	"strings"

	"airtally/exposure/survey"
)

// FlowSteps returns the steps of a flow check of one of the surveys.
func (x *Results) FlowSteps(f *survey.Flow) []Step {
	for _, r := range x.reductions {
		if _, own := r.explain().factors[f]; own {
			return r.flowSteps(f)
		}
	}
	return nil
}

// RowSteps returns the steps of a laboratory's row of one of the surveys, none
// for a row that cannot be used.
func (x *Results) RowSteps(row *survey.LabRow) []Step {
	for _, r := range x.reductions {
		if _, own := r.explain().labRows[row]; own {
			return r.rowSteps(row)
		}
	}
	return nil
}

// BlankMeans returns the means of field blanks that concentrations are
// corrected by, by lot, analyte and section.
func (x *Results) BlankMeans() []*BlankMean {
	var all []*BlankMean
	for _, r := range x.reductions {
		known := map[*BlankMean]bool{}
		met := func(means []*BlankMean) {
			for _, m := range means {
				if !known[m] {
					known[m] = true
					all = append(all, m)
				}
			}
		}
		for i := range r.concentrations {
			met(r.concentrations[i].blankMeans())
		}
		for i := range r.survey.Lab {
			met(r.meansOfUnused(int32(i)))
		}
	}
	slices.SortStableFunc(all, func(a, b *BlankMean) int {
		return strings.Compare(a.sortKey(), b.sortKey())
	})
	return all
}

func (m *BlankMean) sortKey() string {
	return strings.Join([]string{m.Lot, m.Medium, m.Analyte, m.Section.String(), strings.Join(m.Samples, " ")}, "\x00")
}

// blankMeans returns the means of blanks that the steps of a concentration
// refer to.
func (c *Concentration) blankMeans() []*BlankMean {
	if c.origin.derived != nil {
		var all []*BlankMean
		for _, row := range c.unusedParts() {
			all = append(all, c.Sample.blankMeansOf(row)...)
		}
		return all
	}
	all := c.Sample.blankMeansOf(c.origin.row)
	if second := c.origin.second; second != nil && second.Section != survey.PreWeight {
		all = append(all, c.Sample.blankMeansOf(second)...)
	}
	return all
}

// blankMeansOf returns the mean that is taken off a row of the sample, none
// where nothing is.
func (s *Sample) blankMeansOf(row *survey.LabRow) []*BlankMean {
	r := s.of
	if !s.corrects(row) {
		return nil
	}
	if m := r.blankMeanOf(&pair{sample: s, substance: r.substanceOf(row)}, blankSection(row)); m != nil {
		return []*BlankMean{m}
	}
	return nil
}

// corrects reports whether blanks are taken off a row of the sample.
func (s *Sample) corrects(row *survey.LabRow) bool {
	return s.Kind != survey.Blank && s.of.settings.Correction == MeanBlank && !row.BlankApplied
}

// substanceOf returns what a laboratory's row speaks of.
func (r *reduction) substanceOf(row *survey.LabRow) *Substance {
	return r.rowSubstance[r.explain().labRows[row]]
}
