package survey

import (
	"slices"

	"airtally/exposure/finding"
)

// hiddenParts are the rows and columns that a sheet does not show. Rows are
// hidden by hand and by filters.
type hiddenParts struct {
	rows    []int32 // that hold something
	columns []columnRange
}

// columnRange is a range of columns, both ends in it, counted from 0.
type columnRange struct{ first, last int }

func (h *hiddenParts) hasColumn(at int) bool {
	return slices.ContainsFunc(h.columns, func(r columnRange) bool { return r.first <= at && at <= r.last })
}

// mentionHidden tells of rows and columns that the sheet hides: they are read
// like the others, and a person may believe them left out.
func (t *Table) mentionHidden(list *finding.List) {
	g, isSheet := underlying(t.grid).(*sheetGrid)
	if !isSheet {
		return
	}
	rows := slices.Clone(g.hidden.rows)
	slices.Sort(rows)
	rows = slices.DeleteFunc(rows, func(row int32) bool { return row <= t.header })
	if len(rows) > 0 {
		list.Add(finding.HiddenRows, t.Place(rows[0], ""), nil, finding.Values{"rows": rowRanges(rows)})
	}
	for at, header := range t.headers {
		if g.hidden.hasColumn(at) && header != "" && t.holdsCells(at) {
			list.Add(finding.HiddenColumn, t.headerPlace(at, header), nil, finding.Values{"read": header})
		}
	}
}

// dayOffset is what the days of a cell of a plain number lack to be counted
// from 1899-12-30.
func (t *Table) dayOffset() float64 {
	if g, isSheet := underlying(t.grid).(*sheetGrid); isSheet && g.since1904 {
		return daysTo1904
	}
	return 0
}

// daysTo1904 are the days from 1899-12-30 to 1904-01-01.
const daysTo1904 = 1462
