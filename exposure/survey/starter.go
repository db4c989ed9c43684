package survey

import (
	"slices"
	"strings"

	"airtally/exposure/finding"
)

// RequiredMark stands in brackets behind the header of a required column of
// the starter workbook.
const RequiredMark = "required"

// What else stands in brackets behind a header: that a column takes a fraction,
// and how its dates are written.
const (
	fractionMark  = "fraction"
	dayPattern    = "yyyy-mm-dd"
	momentPattern = dayPattern + " hh:mm"
)

// ExamplePrefix begins every identifier of the starter workbook's example
// rows.
const ExamplePrefix = "EXAMPLE-"

// Sheets of the starter workbook that are no tables: the order of work, and
// the form for the flow checks.
const (
	GuideSheet = "Start here"
	FieldSheet = "Field sheet"
)

func isGuide(sheet string) bool { return sheet == GuideSheet || sheet == FieldSheet }

// Heading returns the header that the starter workbook gives a column: its
// name in words, and in brackets its unit, how its dates are written, or that
// it is required. The reader matches it to the column.
func (c *Column) Heading() string {
	name := strings.ReplaceAll(withoutUnit(c), "_", " ")
	switch {
	case c.Required:
		return name + " (" + RequiredMark + ")"
	case c.Type == FractionCell:
		return name + " (" + fractionMark + ")"
	case c.Type == MomentCell:
		return name + " (" + c.Pattern() + ")"
	case c.Unit != "" && c.UnitColumn == "":
		return name + " (" + c.Unit + ")"
	}
	return name
}

// Pattern returns how the dates of a column are written, "" where it holds
// none.
func (c *Column) Pattern() string {
	switch {
	case c.Type != MomentCell:
		return ""
	case c.DateOnly:
		return dayPattern
	}
	return momentPattern
}

// Values returns the column's choices, none where it takes any value.
func (c *Column) Values() []string { return c.values() }

// mentionExamples tells of example rows of the starter workbook: among the
// survey's own they would count.
func (s *Survey) mentionExamples(list *finding.List) {
	mentionExamples(s.Devices, list, func(d *Device) (Ref, string) { return d.Ref, d.ID })
	mentionExamples(s.Media, list, func(m *Medium) (Ref, string) { return m.Ref, m.ID })
	mentionExamples(s.Workers, list, func(w *Worker) (Ref, string) { return w.Ref, w.ID })
	mentionExamples(s.Shifts, list, func(h *Shift) (Ref, string) { return h.Ref, h.ID })
	mentionExamples(s.Gaps, list, func(g *Gap) (Ref, string) { return g.Ref, g.Shift })
	mentionExamples(s.Flows, list, func(f *Flow) (Ref, string) { return f.Ref, f.Train })
	mentionExamples(s.Samples, list, func(m *Sample) (Ref, string) { return m.Ref, m.ID })
	mentionExamples(s.Lab, list, func(l *LabRow) (Ref, string) { return l.Ref, l.Sample })
}

func mentionExamples[T any](rows []T, list *finding.List, identify func(*T) (Ref, string)) {
	var first Ref
	var read []string
	for i := range rows {
		if ref, id := identify(&rows[i]); strings.HasPrefix(id, ExamplePrefix) {
			if read = append(read, id); len(read) == 1 {
				first = ref
			}
		}
	}
	if len(read) == 0 {
		return
	}
	count := len(read)
	slices.Sort(read)
	read = slices.Compact(read)
	values := finding.Values{"table": first.Table.Name, "count": count, "read": read, "prefix": ExamplePrefix}
	list.Add(finding.ExampleRows, first.Place(first.Table.description.Columns[0].Name), read, values)
}
