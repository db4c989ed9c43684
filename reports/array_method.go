package reports

import (
	"airtally/exposure"
	"airtally/exposure/survey"
)

// methodRow is one figure of a sheet and how it comes about.
type methodRow struct {
	sheet, column string
	step          *exposure.Step
}

// methodSheet says of every figure how it comes about, and by what rule. Figures
// of which neither can be said are left out.
func methodSheet(sheets []*placed) array {
	var rows []methodRow
	for _, p := range sheets {
		for i := range p.method {
			if s := &p.method[i]; formulaWords(s) == "" && s.Source == "" {
				continue
			}
			rows = append(rows, methodRow{p.sheet, p.letters[p.method[i].Key], &p.method[i]})
		}
	}
	return arrayOf("", "Method", rows, []field[methodRow]{
		in("", "Sheet", figures, func(m *methodRow) cell { return text(m.sheet) }),
		in("", "Column", figures, func(m *methodRow) cell { return text(m.column) }),
		in("", "Symbol", figures, func(m *methodRow) cell { return text(m.step.Symbol) }),
		in("", "Figure", remark, func(m *methodRow) cell { return text(m.step.Name) }),
		in("", "Unit", figures, func(m *methodRow) cell { return text(prettyUnit(m.step.Unit)) }),
		in("", "How it comes about", prose, func(m *methodRow) cell { return text(formulaWords(m.step)) }).
			noted("As in the first row that has the figure."),
		in("", "Source", remark, func(m *methodRow) cell { return text(m.step.Source) }),
	})
}

// names returns the private names of the workers. They stand nowhere else.
func (r *Report) names() array {
	type row = survey.Worker
	var rows []row
	for _, s := range r.Surveys {
		for _, w := range s.Workers {
			if w.Name != "" {
				rows = append(rows, w)
			}
		}
	}
	return arrayOf("", "Key", rows, []field[row]{
		in("", "Worker", figures, func(w *row) cell { return text(w.ID) }),
		in("", "Name", figures, func(w *row) cell { return text(w.Name) }),
		in("", "Group", figures, func(w *row) cell { return text(w.Group) }),
		in("", "Job", prose, func(w *row) cell { return text(w.Job) }),
	}).footed("Private. Leave this sheet out with --no-names, or delete it before the workbook goes further.")
}
