package reports

import (
	"fmt"
	"slices"

	"airtally/exposure"
	"airtally/exposure/survey"
)

const editable = "From the survey. Edit it, and what rests on it is worked out anew."

// flowChecks returns the flow checks of all surveys with their readings.
func (r *Report) flowChecks() array {
	type row = survey.Flow
	var rows []*row
	most := 0
	for _, s := range r.Surveys {
		for i := range s.Flows {
			rows = append(rows, &s.Flows[i])
			most = max(most, len(s.Flows[i].Readings))
		}
	}
	fields := []field[*row]{
		in("", "Train", figures, func(f **row) cell { return text((*f).Train) }),
		in("", "Leg", figures, func(f **row) cell { return text((*f).Leg) }),
		in("", "Stage", figures, func(f **row) cell { return text((*f).Stage.String()) }),
		in("", "Taken at", figures, func(f **row) cell { return moment(&(*f).TakenAt) }).by("taken_at"),
		in("", "Action", figures, func(f **row) cell { return text(string((*f).Action)) }),
		in("", "Device", figures, func(f **row) cell { return text((*f).Device) }),
	}
	for n := range most {
		fields = append(fields, in("", fmt.Sprintf("Reading %d, L/min", n+1), figures, func(f **row) cell {
			if n >= len((*f).Readings) {
				return cell{}
			}
			return number(float64((*f).Readings[n]))
		}).input(fmt.Sprintf("readings/%d", n+1)).noted(editable))
	}
	a := arrayOf("", "Flow checks", rows, fields)
	a.object = func(i int) any { return rows[i] }
	a.steps = func(i int) []exposure.Step { return r.FlowSteps(rows[i]) }
	return a
}

// laboratory returns the laboratory's rows of all surveys, as they were read.
func (r *Report) laboratory() array {
	type row = survey.LabRow
	var rows []*row
	for _, s := range r.Surveys {
		for i := range s.Lab {
			rows = append(rows, &s.Lab[i])
		}
	}
	fields := []field[*row]{
		in("", "Sample", figures, func(l **row) cell { return text((*l).Sample) }),
		in("", "Analyte", figures, func(l **row) cell { return text((*l).Analyte) }),
		in("", "Form", figures, func(l **row) cell { return text((*l).Form) }),
		in("", "Section", figures, func(l **row) cell { return text((*l).Section.String()) }),
		in("", "Sign", figures, func(l **row) cell { return text(exposure.Sign(*l)) }).input("flag").
			noted(editable + " <: under the figure. ND: not found. >: over the figure."),
		in("", "Result", published, func(l **row) cell { return number((*l).Value).where((*l).Kind != survey.NotFound) }).input("result").noted(editable),
		in("", "Unit", prose, func(l **row) cell { return text(prettyUnit((*l).Unit.Name)) }),
		in("", "Reporting limit", published, func(l **row) cell { return optional((*l).ReportingLimit) }).input("reporting_limit").
			noted(editable + " In the unit of the result."),
		in("", "Qualifier", prose, func(l **row) cell { return text(exposure.Letters(*l)) }).by("qualifier"),
		in("", "Volume of the laboratory, L", published, func(l **row) cell { return optional((*l).LabVolume) }).by("lab_volume_l"),
		in("", "Desorption efficiency", published, func(l **row) cell { return optional((*l).Desorption) }).by("desorption"),
		in("", "Coefficient of variation", published, func(l **row) cell { return optional((*l).CV) }).by("cv"),
		in("", "CAS number", figures, func(l **row) cell { return text((*l).CAS) }).aside(""),
		in("", "Method", figures, func(l **row) cell { return text((*l).Method) }),
		in("", "Analysed", figures, func(l **row) cell { return moment(&(*l).Analysed) }).aside(""),
	}
	if slices.ContainsFunc(r.Read, func(t survey.Together) bool { return len(t.Labs) > 0 }) {
		fields = append(fields, in("", "Read in", prose, func(l **row) cell { return text((*l).Place("result").String()) }))
	}
	a := arrayOf("", "Laboratory", rows, fields)
	a.object = func(i int) any { return rows[i] }
	a.steps = func(i int) []exposure.Step { return r.RowSteps(rows[i]) }
	return a
}

// blankMeans returns the means of the field blanks.
func (r *Report) blankMeans() array {
	type row = exposure.BlankMean
	rows := r.BlankMeans()
	a := arrayOf("", "Blanks", rows, []field[*row]{
		in("", "Lot", figures, func(m **row) cell { return text((*m).Lot) }),
		in("", "Medium", figures, func(m **row) cell { return text((*m).Medium) }).noted("Where there is no lot."),
		in("", "Analyte", figures, func(m **row) cell { return text((*m).Analyte) }),
		in("", "Section", figures, func(m **row) cell { return text((*m).Section.String()) }),
		in("", "Blanks", prose, func(m **row) cell { return list((*m).Samples) }),
		in("", "Mean, µg or fibres", figures, func(m **row) cell { return number((*m).Mean) }).by("mean"),
		in("", "Unit", figures, func(m **row) cell { return text(heldUnit((*m).Quantity)) }),
	})
	a.object = func(i int) any { return rows[i] }
	a.steps = func(i int) []exposure.Step { return rows[i].Steps() }
	return a
}

func heldUnit(q exposure.Quantity) string {
	return [...]string{exposure.OfMass: "µg", exposure.OfFibres: "fibres"}[q]
}
