package survey

import (
	"maps"
	"slices"
	"strings"

	"airtally/exposure/finding"
)

// tallied is what is told once for a column, however many cells it is about.
type tallied struct {
	code   finding.Code
	column string
}

// tallyOf is how many cells it is about, the first of them, and what their
// rows are about.
type tallyOf struct {
	severity finding.Severity
	field    *field
	row      int32
	count    int
	values   finding.Values // of the first
	subjects []string
}

// tally counts a cell of the row for a finding that is told once for its
// column. The subjects of all such cells are gathered.
func (r *reader) tally(code finding.Code, s finding.Severity, f *field, subjects []string, v finding.Values) {
	key := tallied{code, f.Name}
	if r.tallies == nil {
		r.tallies = map[tallied]*tallyOf{}
	}
	of := r.tallies[key]
	if of == nil {
		values := finding.Values{"column": f.Name, "count": 0}
		if r.foreign != nil {
			_, values["column"] = r.foreign.origin(f.at, f.Name)
		}
		maps.Copy(values, v)
		of = &tallyOf{severity: s, field: f, row: r.row, values: values}
		r.tallies[key] = of
	}
	of.count++
	of.subjects = append(of.subjects, subjects...)
}

// addTallies hands on what the readers of a table counted. The first reader
// has the first rows.
func (t *Table) addTallies(readers []*reader, list *finding.List) {
	all := map[tallied]*tallyOf{}
	for _, r := range readers {
		for key, of := range r.tallies {
			if first := all[key]; first != nil {
				first.count += of.count
				first.subjects = append(first.subjects, of.subjects...)
			} else {
				all[key] = of
			}
		}
	}
	keys := slices.SortedFunc(maps.Keys(all), func(a, b tallied) int {
		return strings.Compare(string(a.code)+a.column, string(b.code)+b.column)
	})
	for _, key := range keys {
		of := all[key]
		of.values["count"] = of.count
		list.AddAs(of.severity, key.code, t.Place(of.row, of.field.Name), of.subjects, of.values)
	}
}
