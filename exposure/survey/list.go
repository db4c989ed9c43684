package survey

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/limits"
	"airtally/stats"
)

// ListRow is one exposure of a plain list: one worker in one shift.
type ListRow struct {
	Ref
	Group, Analyte, Worker string
	Date                   Moment
	Value                  stats.Interval // in Unit
	Unit                   limits.Unit    // the zero Unit where the list has none
}

// listDescription describes a plain list of exposures, a file of its own.
// Other columns than the values may be missing.
var listDescription = &Description{
	Name: "exposures", Synonyms: []string{"exposure list", "results", "data", "values"},
	Help:    "exposures of workers in shifts, one a row",
	Subject: []string{"group", "analyte", "worker", "date"},
	Columns: []Column{
		{Name: "group", Type: IDCell, Synonyms: []string{"seg", "exposure group"}, Help: "group of similar exposure"},
		{Name: "worker", Type: IDCell, Synonyms: []string{"worker id", "worker code", "employee"}, Help: "code of the worker"},
		{Name: "date", Type: MomentCell, Synonyms: []string{"day", "sampled", "sample date"}, Help: "day of the exposure"},
		{Name: "value", Type: ResultCell, UnitColumn: "unit", Synonyms: []string{"exposure", "result", "concentration"}, Help: "the exposure; < for under, > for over"},
		{Name: "low", Type: NumberCell, UnitColumn: "unit", Range: zeroOrMore, Help: "lower bound, instead of value"},
		{Name: "high", Type: NumberCell, UnitColumn: "unit", Range: overZero, Help: "upper bound, instead of value"},
		{Name: "analyte", Type: IDCell, Synonyms: []string{"substance"}, Help: "what the exposure is to"},
		{Name: "unit", Type: UnitCell, Synonyms: []string{"units"}, Help: "mg/m3, ug/m3, ppm, f/cc, ..."},
	},
}

// ReadList reads a plain list of exposures that is no part of a survey: a .csv
// file, or a workbook with one sheet of them, under any name. What is wrong
// with cells and rows is among the findings, and the rest is read all the
// same. It fails, with *UnusableError, where there is no such table.
func ReadList(path string) ([]ListRow, []Input, *finding.List, error) {
	list := &finding.List{}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return nil, nil, list, &UnusableError{path, "is a folder", "give one list of exposures, a .csv or .xlsx file"}
	}
	o, err := Disk.openAlone(path, list)
	if err != nil {
		return nil, nil, list, err
	}
	t, err := findList(path, o.sources, list)
	if err != nil {
		return nil, nil, list, err
	}
	if g, isText := t.grid.(*textGrid); isText {
		for _, row := range g.stray {
			list.Add(finding.StrayQuote, t.Place(row, ""), nil, nil)
		}
	}
	if len(t.body) == 0 {
		return nil, nil, list, &UnusableError{path, "has headers but no rows", "give a list with one exposure a row"}
	}
	if t.fields["group"] == nil {
		list.Add(finding.NoGroupColumn, t.headerPlace(0, "group"), nil, nil)
	}
	t.findStyles(list)
	return readRows(t, clockOf(nil, list), list, bindList), o.Inputs, list, nil
}

// findList returns the one sheet that has columns of exposures. Where several
// have, the one called exposures is meant.
func findList(path string, sources []source, list *finding.List) (*Table, error) {
	var tables []*Table
	faults := make([]*finding.List, len(sources))
	var lacks string
	for i, src := range sources {
		faults[i] = &finding.List{}
		t := &Table{File: src.file, Name: listDescription.Name, Sheet: src.name, description: listDescription, grid: src.grid}
		if _, isSheet := src.grid.(*sheetGrid); isSheet {
			t.Name = src.name // any name will do, so findings give it
		}
		if src.hidden && len(sources) > 1 || !t.findHeader() {
			continue
		}
		t.matchHeader(faults[i])
		if lack := t.lacksValues(); lack != "" {
			lacks = lack
			continue
		}
		list.Merge(faults[i])
		tables = append(tables, t)
	}
	named := slices.IndexFunc(tables, func(t *Table) bool { return isList(t.Sheet) })
	switch {
	case len(tables) == 1:
		return tables[0], nil
	case named >= 0:
		return tables[named], nil
	case len(tables) > 1:
		return nil, &UnusableError{path, fmt.Sprintf("has %d sheets of exposures: %s", len(tables), sheetNames(tables)),
			"call the one that is meant exposures, or give them one by one"}
	case lacks == "":
		lacks = "it is empty"
	}
	return nil, &UnusableError{path, "is no list of exposures: " + lacks,
		"name the columns group, worker, date, value (or low and high), and unit"}
}

func isList(sheet string) bool { return simplify(sheet) == simplify(listDescription.Name) }

func sheetNames(tables []*Table) string {
	var names []string
	for _, t := range tables {
		names = append(names, t.Sheet)
	}
	return strings.Join(names, ", ")
}

// lacksValues says which column of numbers is missing; "" where none is.
func (t *Table) lacksValues() string {
	_, value := t.fields["value"]
	_, low := t.fields["low"]
	_, high := t.fields["high"]
	if value || low && high {
		return ""
	}
	lack := "there is no column value, nor both low and high"
	var unmatched []string
	for _, h := range t.headers {
		if c, _ := matchColumn(headerNames(t.description), h); c == nil {
			unmatched = append(unmatched, h)
		}
	}
	if near := nearest("value", unmatched); near != "" {
		lack += fmt.Sprintf("; the nearest header is %q", near)
	}
	return lack
}

func bindList(r *reader) func(*ListRow) {
	group, analyte, worker, date := r.field("group"), r.field("analyte"), r.field("worker"), r.field("date")
	value, low, high := r.field("value"), needed(r.field("low")), needed(r.field("high"))
	unit := r.field("unit")
	return func(l *ListRow) {
		*l = ListRow{Ref: r.ref(), Group: r.id(group), Analyte: r.id(analyte), Worker: r.id(worker), Date: r.day(date)}
		if l.Group == "" && group.at >= 0 {
			r.stop(group, finding.MissingValue, finding.Values{"expected": group.Help})
			return
		}
		var behind string
		if l.Value, behind = r.exposure(value, low, high); !r.left {
			l.Unit = r.listUnit(unit, behind, value, low, high)
		}
	}
}

// needed returns a field whose row is left out where it cannot be read: without
// a bound that is written the exposure would be another.
func needed(f *field) *field {
	column, copied := *f.Column, *f
	column.Required = true
	copied.Column = &column
	return &copied
}

// day reads a date. A time of day alone is none.
func (r *reader) day(f *field) Moment {
	m := r.moment(f)
	if m.Bare {
		r.add(finding.Check, f, finding.BareTime, finding.Values{"reason": "a list has nothing to take it from"})
		return Moment{}
	}
	return m
}

// exposure reads an exposure from value, from low and high, or from all three,
// with the unit written behind the value. A value under something stands at
// half of it.
func (r *reader) exposure(value, low, high *field) (x stats.Interval, unit string) {
	hasValue := r.filled(value) != ""
	hasBounds := r.filled(low) != "" || r.filled(high) != ""
	switch {
	case !hasValue && !hasBounds:
		r.stop(value, finding.MissingValue, finding.Values{"expected": "an exposure in value, or in low and high"})
		return x, ""
	case hasValue:
		x, unit = r.single(value)
	}
	if hasBounds && !r.left {
		bounds := r.bounds(low, high)
		switch {
		case r.left:
		case !hasValue:
			x = bounds
		case x.Censored() && (x.Low != bounds.Low || x.High != bounds.High), !within(x.Value, bounds):
			r.stop(value, finding.BoundsDisagree, finding.Values{"low": r.text(low), "high": r.text(high)})
		default:
			x.Low, x.High = bounds.Low, bounds.High
		}
	}
	return x, unit
}

func within(v float64, bounds stats.Interval) bool { return bounds.Low <= v && v <= bounds.High }

// single reads an exposure that stands in one cell.
func (r *reader) single(f *field) (stats.Interval, string) {
	var q Qualifiers
	kind, v, unit := r.result(f, &q, false)
	switch {
	case r.left:
	case kind == NotFound:
		r.stop(f, finding.NonDetectBare, nil)
	case v == 0:
		r.stop(f, finding.ZeroResult, nil)
	case v < 0 || v > overZero.High:
		r.stop(f, finding.OutOfRange, finding.Values{"expected": "a number over 0"})
	case kind == LessThan || q.Has(U):
		return stats.Under(v, v/2), unit
	case kind == MoreThan, q.Has(E) && !q.Has(D):
		return stats.AtLeast(v), unit
	}
	return stats.Exact(v), unit
}

// bounds reads an exposure from low and high. A missing low is 0 and a missing
// high unbounded.
func (r *reader) bounds(low, high *field) stats.Interval {
	from, to := r.number(low), r.number(high)
	switch {
	case r.left:
		return stats.Interval{}
	case to.Known && from.Or(0) > to.Value:
		r.stop(high, finding.OutOfRange, finding.Values{"expected": "low or more"})
	case to.Known && from.Or(0) == to.Value:
		return stats.Exact(to.Value)
	case to.Known && from.Or(0) == 0:
		return stats.Under(to.Value, to.Value/2)
	case to.Known:
		return stats.Interval{Low: from.Value, Value: (from.Value + to.Value) / 2, High: to.Value}
	case from.Value == 0:
		r.stop(low, finding.ZeroResult, nil)
	}
	return stats.AtLeast(from.Value)
}

// listUnit returns the unit of a row: in its cell, in a header, or behind the
// value; the zero Unit where none is given. Two that differ are refused.
func (r *reader) listUnit(unit *field, behind string, numbers ...*field) limits.Unit {
	inHeader := slices.ContainsFunc(numbers, func(f *field) bool { return f.unit != "" })
	var u limits.Unit
	if r.filled(unit) != "" || inHeader {
		u, _ = rowUnit(r, unit, limits.ParseUnit, airUnits, numbers...)
	}
	if behind == "" || r.left {
		return u
	}
	written, known := limits.ParseUnit(behind)
	switch {
	case !known:
		r.stop(numbers[0], finding.UnreadableUnit, finding.Values{"read": behind, "expected": airUnits})
	case u.Name != "" && u != written:
		r.stop(numbers[0], finding.UnitConflict, finding.Values{"read": behind, "expected": u.Name})
	}
	return written
}
