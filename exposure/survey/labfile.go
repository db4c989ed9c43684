package survey

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"airtally/exposure/finding"
)

// LabPath is a file of a laboratory as it was given, and the mapping that it
// is read with; Map is "" where the one beside it is meant, or none.
type LabPath struct{ File, Map string }

// LabGiven is a file of a laboratory that was read, and its mapping.
type LabGiven struct {
	File Given
	Map  *Given // nil where the headings were understood without one
}

// LabApart returns a reader for surveys whose laboratory results come in files
// of the laboratory: they need no lab table.
func (r Reader) LabApart() Reader {
	r.labApart = true
	return r
}

// AddLab reads a file of a laboratory and adds its rows to the surveys that
// have their samples; those of no sample go to the first survey, which tells
// of them. It fails, with *UnusableError or several joined, where the file or
// its mapping cannot be used.
func (r Reader) AddLab(surveys []*Survey, path LabPath) (LabGiven, *finding.List, error) {
	list := &finding.List{}
	owners := ownersOf(surveys)
	given, rows, err := r.readLab(path, surveys, owners, list)
	if err != nil {
		return given, list, err
	}
	for i := range rows {
		row := &rows[i]
		owner := 0
		switch of := owners[row.Sample]; {
		case len(of) > 1:
			list.Add(finding.LabSampleTwice, row.Place("sample"), []string{row.Sample, row.Analyte}, finding.Values{
				"sample": row.Sample, "first": surveys[of[0]].Path, "second": surveys[of[1]].Path})
			continue
		case len(of) == 1:
			owner = of[0]
		}
		surveys[owner].Lab = append(surveys[owner].Lab, *row)
	}
	surveys[0].Inputs = append(surveys[0].Inputs, given.File.Inputs...)
	if given.Map != nil {
		surveys[0].Inputs = append(surveys[0].Inputs, given.Map.Inputs...)
	}
	return given, list, nil
}

// ownersOf returns the surveys that have a sample of each number.
func ownersOf(surveys []*Survey) map[string][]int {
	owners := map[string][]int{}
	for i, s := range surveys {
		for k := range s.Samples {
			id := s.Samples[k].ID
			if !slices.Contains(owners[id], i) {
				owners[id] = append(owners[id], i)
			}
		}
	}
	return owners
}

// readLab reads the rows of a file of a laboratory.
func (r Reader) readLab(path LabPath, surveys []*Survey, owners map[string][]int, list *finding.List) (LabGiven, []LabRow, error) {
	o, err := r.openLab(path.File, list)
	if err != nil {
		return LabGiven{}, nil, err
	}
	given := LabGiven{File: o.Given}
	m, err := r.mappingFor(path, o.sources, &given)
	if err != nil {
		return given, nil, err
	}
	tables, err := m.tablesOf(path.File, o.sources, func(id string) bool { return owners[id] != nil }, list)
	if err != nil {
		return given, nil, err
	}
	if m.Table.Decimal == "" {
		findStyles(tables, list)
	}
	var rows []LabRow
	c := clockOf(surveys[0].Items, &finding.List{}) // what is wrong with the zone was said with the survey
	for _, t := range tables {
		rows = append(rows, readRows(t, c, list, bindLab)...)
	}
	nameAnalytes(rows, m.Analytes, surveys, list)
	return given, rows, nil
}

// mappingFor returns the mapping of a file: the one given, else the one beside
// it, else what its headings say where they leave no doubt.
func (r Reader) mappingFor(path LabPath, sources []source, given *LabGiven) (*Mapping, error) {
	at := path.Map
	if at == "" {
		at = strings.TrimSuffix(path.File, filepath.Ext(path.File)) + ".toml"
		if _, _, err := r.from.look(at); err != nil {
			return understood(path.File, sources)
		}
	}
	m, from, err := r.readMapping(at)
	if err == nil {
		given.Map = &from
	}
	return m, err
}

// understood returns the mapping of a file whose headings leave no doubt.
func understood(path string, sources []source) (*Mapping, error) {
	p, err := propose(path, sources, "")
	if err != nil {
		return nil, err
	}
	doubts := p.Doubts()
	for _, e := range p.Suffixes {
		doubts = append(doubts, fmt.Sprintf("sample numbers end in %q", e.Key))
	}
	if len(doubts) > 0 {
		return nil, &UnusableError{path, "is not understood without a mapping: " + strings.Join(doubts, "; "),
			fmt.Sprintf("run: airtally map %s -o %s; decide what it leaves open, and run this again", path, strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))+".toml")}
	}
	return p.mapping(), nil
}

// openLab opens a file of a laboratory: a text file, or a workbook with all
// its sheets.
func (r Reader) openLab(path string, list *finding.List) (opened, error) {
	if isFolder, _, err := r.from.look(path); err == nil && isFolder {
		return opened{}, &UnusableError{path, "is a folder", "name the laboratory's files one by one"}
	}
	o, err := r.openAlone(path, list)
	if err != nil {
		return o, err
	}
	for i := range o.sources {
		if g, isText := o.sources[i].grid.(*textGrid); isText {
			o.sources[i].grid = newTextGridBy(g.text, delimiterOf(g))
		}
	}
	return o, nil
}

// delimiterOf returns the delimiter of a text with lines of prose above its
// table: the one that as many lines as possible hold the same number of times.
func delimiterOf(g *textGrid) byte {
	best, most := g.delimiter, 0
	for _, d := range delimiters {
		counts, often := map[int]int{}, 0
		for i := range min(len(g.lineStart), mostTitleRows) {
			if n := len(cutUnquoted(g.line(i), d)); n > 2 {
				counts[n]++
				often = max(often, counts[n])
			}
		}
		if often > most || often == most && d == g.delimiter {
			best, most = d, often
		}
	}
	return best
}

// tablesOf finds the tables of results on the sheets of a file.
func (m *Mapping) tablesOf(path string, sources []source, known func(sample string) bool, list *finding.List) ([]*Table, error) {
	var tables []*Table
	var faults []error
	var lacks []string
	fewest := 0
	for _, src := range sources {
		if m.Table.Sheet != "" && !sameHeading(m.Table.Sheet, src.name) || m.Table.Sheet == "" && src.hidden {
			mentionUnread(src, list)
			continue
		}
		if src.hidden {
			list.Add(finding.HiddenSheet, finding.Place{File: src.file, Table: src.name}, nil, finding.Values{"read": src.name, "table": labDescription.Name})
		}
		l := lift{Mapping: m, source: src, list: list, known: known}
		missing, err := l.findHeadings()
		switch {
		case err != nil:
			faults = append(faults, err)
		case len(missing) == 0:
			tables = append(tables, l.tables()...)
		default:
			if lacks == nil || len(missing) < fewest {
				lacks, fewest = missing, len(missing)
			}
			mentionUnread(src, list)
		}
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	if tables == nil {
		return nil, m.noTable(path, lacks, sources)
	}
	return tables, nil
}

// noTable says why no table of results was found.
func (m *Mapping) noTable(path string, lacks []string, sources []source) error {
	by := "its headings"
	if m.path != "" {
		by = "the mapping " + m.path
	}
	if len(lacks) == 0 {
		var names []string
		for _, src := range sources {
			names = append(names, src.name)
		}
		return &UnusableError{path, fmt.Sprintf("has no sheet %q, which %s names; it has %s", m.Table.Sheet, by, strings.Join(names, ", ")), "correct the sheet in the mapping, or leave it out"}
	}
	return &UnusableError{path, fmt.Sprintf("has no row with all the headings that %s names: it lacks %s", by, strings.Join(lacks, ", ")),
		"if the laboratory changed its file, run airtally map again; else correct the headings in the mapping"}
}

// mentionUnread tells of a sheet of a laboratory that is not read.
func mentionUnread(src source, list *finding.List) {
	if src.grid == nil || len(src.grid.rows()) == 0 {
		return
	}
	list.Add(finding.LabSheetUnread, finding.Place{File: src.file, Table: src.name}, nil, finding.Values{"read": src.name})
}

// newTextGridBy finds the records of a text with a known delimiter, unless the
// text names its own.
func newTextGridBy(text string, delimiter byte) *textGrid {
	g := &textGrid{text: text}
	own, skip := sniff(text)
	g.delimiter = delimiter
	if skip > 0 {
		g.delimiter = own
	}
	g.findLines()
	g.findRecords(skip)
	return g
}
