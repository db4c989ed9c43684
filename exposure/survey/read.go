package survey

import (
	"errors"
	"fmt"
	"strings"

	"airtally/exposure/finding"
)

// Read reads a survey from a folder of .csv files or an .xlsx workbook. What
// is wrong with cells and rows is among the findings, and the rest is read all
// the same. It fails, with *UnusableError or several joined, only where there
// is no survey to read: no such path, not a workbook, a required table or
// column missing.
func Read(path string) (*Survey, *finding.List, error) { return Disk.Read(path) }

// Read reads a survey as the function of that name does.
func (r Reader) Read(path string) (*Survey, *finding.List, error) {
	list := &finding.List{}
	o, err := r.open(path, list)
	if err != nil {
		return nil, list, err
	}
	tables, err := r.findTables(path, o.sources, list)
	if err != nil {
		return nil, list, err
	}
	s := &Survey{Path: path, Inputs: o.Inputs, Beside: o.Beside}
	by := make(map[string]*Table, len(tables))
	for _, t := range tables {
		t.findStyles(list)
		by[t.Name] = t
	}
	s.Tables = tables
	s.readTables(by, list)
	return s, list, nil
}

// readTables reads the rows: first the zone of the clock, then what others
// refer to.
func (s *Survey) readTables(by map[string]*Table, list *finding.List) {
	s.Items = readRows(by["survey"], clockOf(nil, list), list, bindItems)
	s.Items = leaveOutLater(s.Items, "item", list, func(i *Item) (Ref, string) { return i.Ref, i.Name })
	c := clockOf(s.Items, list)
	s.readWho(by, c, list)
	s.Samples = leaveOutBoth(readRows(by["samples"], c, list, bindSamples), list)
	s.Gaps = readRows(by["gaps"], c, list, bindGaps)
	byLeg := legSamples(s.Samples)
	s.Flows = readRows(by["flows"], c, list, bindFlows(byLeg))
	s.Lab = readRows(by["lab"], c, list, bindLab)
	s.Limits = readRows(by["limits"], c, list, bindLimits)
	s.Limits = leaveOutLater(s.Limits, "limit", list, func(l *LimitRow) (Ref, string) { return l.Ref, l.key() })
	s.Derived = readRows(by["derived"], c, list, bindDerived)
	s.Derived = leaveOutLater(s.Derived, "derived", list, func(d *DerivedRow) (Ref, string) { return d.Ref, d.Derived + keySeparator + d.Analyte })
	s.Mixtures = readRows(by["mixtures"], c, list, bindMixtures)
	s.Mixtures = leaveOutLater(s.Mixtures, "mixture", list, func(m *MixtureRow) (Ref, string) { return m.Ref, m.Mixture + keySeparator + m.Analyte })
	s.History = readRows(by["history"], c, list, bindHistory)

	v := resolver{c, list}
	v.shifts(s.Shifts)
	shifts := shiftIndex(s.Shifts)
	s.Gaps = v.gaps(s.Gaps, shifts)
	v.samples(s.Samples, shifts)
	v.flows(s.Flows, s.Samples, byLeg)
	s.checkOffsets(c, byLeg, list)
	s.mentionExamples(list)
}

func (s *Survey) readWho(by map[string]*Table, c clock, list *finding.List) {
	s.Devices = readRows(by["devices"], c, list, bindDevices)
	s.Devices = leaveOutLater(s.Devices, "device", list, func(d *Device) (Ref, string) { return d.Ref, d.ID })
	s.Media = readRows(by["media"], c, list, bindMedia)
	s.Media = leaveOutLater(s.Media, "medium", list, func(m *Medium) (Ref, string) { return m.Ref, m.ID })
	s.Workers = readRows(by["workers"], c, list, bindWorkers)
	s.Workers = leaveOutLater(s.Workers, "worker", list, func(w *Worker) (Ref, string) { return w.Ref, w.ID })
	s.Shifts = readRows(by["shifts"], c, list, bindShifts)
	s.Shifts = leaveOutLater(s.Shifts, "shift", list, func(h *Shift) (Ref, string) { return h.Ref, h.ID + keySeparator + h.Worker })
}

// findTables matches the sources to the tables they hold.
func (r Reader) findTables(path string, sources []source, list *finding.List) ([]*Table, error) {
	found := make(map[string]*Table)
	var tables []*Table
	var faults []error
	for _, src := range properFirst(sources) {
		d := tableOf(src.name)
		if d == nil {
			mentionUnknown(src, list)
			continue
		}
		place := finding.Place{File: src.file, Table: d.Name}
		if first := found[d.Name]; first != nil {
			list.Add(finding.DuplicateTable, place, nil, finding.Values{"read": src.name, "table": d.Name, "first": first.Sheet})
			continue
		}
		if src.hidden {
			list.Add(finding.HiddenSheet, place, nil, finding.Values{"read": src.name, "table": d.Name})
		}
		t := &Table{File: src.file, Name: d.Name, Sheet: src.name, description: d, grid: src.grid, mayBeEmpty: r.needsNot(d)}
		found[d.Name] = t
		ok, err := t.prepare(list)
		if err != nil {
			faults = append(faults, err)
		}
		if ok {
			tables = append(tables, t)
		}
	}
	for _, d := range descriptions {
		if d.Required && found[d.Name] == nil && !r.needsNot(d) {
			faults = append(faults, missingTable(path, d, sources))
		}
	}
	return tables, errors.Join(faults...)
}

// needsNot reports whether a table that a survey must have may lack: that of
// the laboratory, where its results come in files of their own.
func (r Reader) needsNot(d *Description) bool { return r.labApart && d == labDescription }

// SheetTables returns which of the sheets of a workbook is read as each input
// table.
func SheetTables(sheets []string) map[string]string {
	tables := map[string]string{}
	var sources []source
	for _, name := range sheets {
		sources = append(sources, source{name: name})
	}
	for _, src := range properFirst(sources) {
		if d := tableOf(src.name); d != nil && tables[d.Name] == "" {
			tables[d.Name] = src.name
		}
	}
	return tables
}

// properFirst puts the sources that bear a table's very name before those that
// bear a synonym, so that of two for one table the former is read.
func properFirst(sources []source) []source {
	var proper, others []source
	for _, src := range sources {
		if Describe(strings.ToLower(src.name)) != nil {
			proper = append(proper, src)
		} else {
			others = append(others, src)
		}
	}
	return append(proper, others...)
}

func mentionUnknown(src source, list *finding.List) {
	if src.hidden || isGuide(src.name) {
		return // lists for drop-downs, and what the starter workbook explains
	}
	list.Add(finding.UnknownTable, finding.Place{File: src.file}, nil, finding.Values{
		"read": src.name, "expected": tableNames(), "near": didYouMean(src.name, tableNames())})
}

func missingTable(path string, d *Description, sources []source) error {
	var names []string
	for _, src := range sources {
		names = append(names, src.name)
	}
	what := fmt.Sprintf("has no table %s (%s)", d.Name, d.Help)
	if near := nearest(d.Name, names); near != "" {
		what += fmt.Sprintf("; the nearest name is %q", near)
	}
	return &UnusableError{path, what, fmt.Sprintf("add the sheet %s, or the file %s.csv", d.Name, d.Name)}
}

// prepare finds the header and matches it. A required table that cannot be
// read fails; another is left out with a finding.
func (t *Table) prepare(list *finding.List) (ok bool, err error) {
	what, columns := "it is empty", t.description.required()
	if t.findHeader() {
		t.matchHeader(list)
		what, columns = t.incomplete()
	} else if !t.description.Required {
		return false, nil
	}
	if what != "" {
		return false, t.refuse(what, strings.Join(columns, ", "), list)
	}
	t.mentionHidden(list)
	if g, isText := t.grid.(*textGrid); isText {
		for _, row := range g.stray {
			list.Add(finding.StrayQuote, t.Place(row, ""), nil, nil)
		}
	}
	if len(t.body) == 0 && t.description.Required && !t.mayBeEmpty {
		list.Add(finding.EmptyTable, finding.Place{File: t.File, Table: t.Name}, nil, finding.Values{"table": t.Name})
	}
	return true, nil
}

func (t *Table) refuse(what, columns string, list *finding.List) error {
	if t.description.Required {
		t.tellLacks(list)
		return &UnusableError{t.File, fmt.Sprintf("the %s table cannot be read: %s", t.Name, what), "add the column " + columns}
	}
	list.Add(finding.IncompleteTable, t.headerPlace(t.firstHeader(), ""), nil, finding.Values{
		"table": t.Name, "reason": what, "column": columns})
	return nil
}
