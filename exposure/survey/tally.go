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

// mostPlaces is how many cells a finding that is told once names.
const mostPlaces = 1000

// tallyOf is how many cells it is about, where the first of them stand, and
// what their rows are about.
type tallyOf struct {
	severity finding.Severity
	places   []finding.Place
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
		of = &tallyOf{severity: s, values: values}
		r.tallies[key] = of
	}
	of.add(1, subjects, r.Table.Place(r.row, f.Name))
}

func (of *tallyOf) add(count int, subjects []string, places ...finding.Place) {
	of.count += count
	of.subjects = append(of.subjects, subjects...)
	of.places = append(of.places, places[:min(len(places), mostPlaces-len(of.places))]...)
}

// addTallies hands on what the readers of a table counted. The first reader
// has the first rows.
func addTallies(readers []*reader, list *finding.List) {
	all := map[tallied]*tallyOf{}
	for _, r := range readers {
		for key, of := range r.tallies {
			if first := all[key]; first != nil {
				first.add(of.count, of.subjects, of.places...)
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
		list.AddTogether(of.severity, key.code, of.places, of.subjects, of.values)
	}
}
