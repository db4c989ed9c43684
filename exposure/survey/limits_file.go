package survey

import (
	"slices"
	"strings"

	"airtally/exposure/finding"
)

// ReadLimits reads a file of limits that is no part of a survey: a .csv file, or
// a workbook with a sheet of limits, with the columns of the limits table. It
// fails, with *UnusableError, where there is no such table.
func (r Reader) ReadLimits(path string) ([]LimitRow, Given, *finding.List, error) {
	list := &finding.List{}
	o, err := r.openAlone(path, list)
	if err != nil {
		return nil, Given{}, list, err
	}
	sources := o.sources
	d := Describe("limits")
	at := slices.IndexFunc(sources, func(s source) bool { return tableOf(s.name) == d })
	switch {
	case at < 0 && len(sources) == 1:
		at = 0 // whatever it is called, it was given as limits
	case at < 0:
		return nil, Given{}, list, &UnusableError{path, "has no sheet of limits", "name the sheet limits"}
	}
	t := &Table{File: sources[at].file, Name: d.Name, Sheet: sources[at].name, description: d, grid: sources[at].grid}
	if t.findHeader() {
		t.matchHeader(list)
	}
	if what, columns := t.incomplete(); what != "" {
		return nil, Given{}, list, &UnusableError{path, "is no table of limits: " + what, "add the column " + strings.Join(columns, ", ")}
	}
	t.findStyles(list)
	return readRows(t, clockOf(nil, list), list, bindLimits), o.Given, list, nil
}
