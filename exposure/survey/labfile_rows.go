package survey

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"airtally/exposure/finding"
)

// skippedRows gathers the rows that are no results, by why.
type skippedRows struct {
	why     string
	rows    []int32
	samples []string // of the survey, that such a row has a result of
}

// sortedRows are the rows below the headings, sorted into results and others.
type sortedRows struct {
	body  []int32
	gone  []*skippedRows
	short []int32 // results with fewer cells than headings, in a text
}

// skip notes a row that is no result, and the sample that it is of all the
// same.
func (s *sortedRows) skip(row int32, why, sample string) {
	at := slices.IndexFunc(s.gone, func(g *skippedRows) bool { return g.why == why })
	if at < 0 {
		at = len(s.gone)
		s.gone = append(s.gone, &skippedRows{why: why})
	}
	s.gone[at].rows = append(s.gone[at].rows, row)
	if sample != "" {
		s.gone[at].samples = append(s.gone[at].samples, sample)
	}
}

// rows returns the rows below the headings that hold results. Each other row
// that holds something is told of.
func (l *lift) rows(results []string, above map[int]map[int32]cell) []int32 {
	g := &mappedGrid{l.grid, &foreign{headings: l.headings}, above}
	var sorted sortedRows
	_, isText := l.grid.(*textGrid)
	for _, row := range l.below {
		own := l.grid.read(row, nil)
		if countFilled(own) == 0 || l.overflow(own, row, isText) {
			continue
		}
		cells := g.read(row, nil)
		if why := l.skipReason(own, cells); why != "" {
			sorted.skip(row, why, l.sampleOf(cells, results))
			continue
		}
		sorted.body = append(sorted.body, row)
		if isText && len(own) < len(l.headings) {
			sorted.short = append(sorted.short, row)
		}
	}
	for _, gone := range sorted.gone {
		l.tellSkipped(gone)
	}
	if n := len(sorted.short); n > 0 {
		l.list.Add(finding.ShortRows, l.rowPlace(sorted.short[0]), nil, finding.Values{"count": n})
	}
	return sorted.body
}

func (l *lift) rowPlace(row int32) finding.Place {
	return finding.Place{File: l.file, Table: l.name, Row: int(row)}
}

// overflow tells of cells beyond the headings. In a text the row is left out,
// for its cells may stand in the wrong columns.
func (l *lift) overflow(cells []cell, row int32, isText bool) bool {
	beyond := slices.IndexFunc(cells[min(len(cells), len(l.headings)):], func(c cell) bool { return strings.TrimSpace(c.text) != "" })
	switch {
	case beyond < 0:
		return false
	case isText:
		l.list.Add(finding.LongRow, l.rowPlace(row), nil, finding.Values{"count": len(cells), "expected": len(l.headings)})
		return true
	}
	p := l.rowPlace(row)
	p.Cell = cellName(len(l.headings)+beyond, row)
	l.list.Add(finding.UnnamedColumn, p, nil, finding.Values{"table": l.name})
	return false
}

// skipReason says why a row is no result, "" where it may be one.
func (l *lift) skipReason(own, cells []cell) string {
	if l.Table.Notes == "skip" && countFilled(own) == 1 {
		return "text in one cell alone"
	}
	if l.repeats(own) {
		return "the headings again"
	}
	for i := range l.Skip {
		if reason := l.Skip[i].meets(textAt(cells, l.column(l.Skip[i].Heading))); reason != "" {
			return reason
		}
	}
	return ""
}

// repeats reports whether a row holds the headings again.
func (l *lift) repeats(cells []cell) bool {
	return l.Table.HeadingRows <= 1 && repeatHeadings(cells, l.headings)
}

func repeatHeadings(cells []cell, headings []string) bool {
	for at, heading := range headings {
		text := textAt(cells, at)
		if !sameHeading(text, heading) && (text != "" || heading != unnamedHeading(at)) {
			return false
		}
	}
	return true
}

// meets says which part of the rule a cell meets, "" where it meets none.
func (s *SkipRule) meets(text string) string {
	if s.Empty && text == "" {
		return strconv.Quote(s.Heading) + " is empty"
	}
	for _, whole := range s.Is {
		if sameHeading(whole, text) {
			return fmt.Sprintf("%q is %q", s.Heading, whole)
		}
	}
	for _, begin := range s.Begins {
		if strings.HasPrefix(headingKey(text), headingKey(begin)) {
			return fmt.Sprintf("%q begins with %q", s.Heading, begin)
		}
	}
	return ""
}

// sampleOf returns the sample of the survey that a row gives a result of, ""
// where it gives none.
func (l *lift) sampleOf(cells []cell, results []string) string {
	for _, name := range results {
		id, _ := l.cutSuffix(textAt(cells, l.column(l.headingOf("sample", name))))
		id = firstText(l.Headings[name].Sample, id)
		if l.known(id) && !isBlank(textAt(cells, l.column(name))) {
			return id
		}
	}
	return ""
}

// isBlank reports whether a cell says nothing: it is empty, or holds a stroke.
func isBlank(text string) bool {
	return slices.Contains([]string{"", "-", "–", "—", "n/a", "N/A"}, text)
}

// tellSkipped tells of rows that were skipped for one reason. Where one of them
// has a result of a sample of the survey, that must be looked at.
func (l *lift) tellSkipped(s *skippedRows) {
	severity, but := finding.Note, ""
	if len(s.samples) > 0 {
		severity = finding.Check
		but = "; among them are results of samples of the survey"
	}
	l.list.AddAs(severity, finding.LabRowsSkipped, l.rowPlace(s.rows[0]), s.samples, finding.Values{
		"count": len(s.rows), "rows": inRows(s.rows), "why": s.why, "but": but})
}

// bodyOf returns the rows that have a result in one column of several. The
// first takes those besides that have none at all, to be missed there; of the
// others the empty cells are told.
func (l *lift) bodyOf(t *Table, body []int32, results []string, which int) []int32 {
	if len(results) == 1 {
		return body
	}
	var with, empty []int32
	for _, row := range body {
		cells := t.grid.read(row, nil)
		switch {
		case l.says(cells, results[which]):
			with = append(with, row)
		case which == 0 && !slices.ContainsFunc(results, func(name string) bool { return l.says(cells, name) }):
			with = append(with, row)
		default:
			empty = append(empty, row)
		}
	}
	if len(empty) > 0 {
		p := l.rowPlace(empty[0])
		p.Column, p.Cell = results[which], cellName(l.column(results[which]), empty[0])
		l.list.Add(finding.LabCellsEmpty, p, nil, finding.Values{"count": len(empty), "read": results[which], "rows": inRows(empty)})
	}
	return with
}

// says reports whether a row says something in a column of results, or in the
// qualifier that belongs to it alone.
func (l *lift) says(cells []cell, result string) bool {
	if !isBlank(textAt(cells, l.column(result))) || l.kindAt(cells, l.column(result)) >= errorKind {
		return true
	}
	qualifier := l.headingOf("qualifier", result)
	return l.Headings[qualifier].Of != "" && !isBlank(textAt(cells, l.column(qualifier)))
}

func (l *lift) kindAt(cells []cell, at int) cellKind {
	if at < 0 || at >= len(cells) {
		return textKind
	}
	return cells[at].kind
}

// mentionQualifiers tells of letters and words beside the results whose meaning
// the mapping does not state.
func (l *lift) mentionQualifiers(body []int32) {
	type met struct {
		row   int32
		count int
	}
	for _, heading := range l.used() {
		if l.Headings[heading].Column != "qualifier" {
			continue
		}
		first, order := map[string]*met{}, []string(nil)
		at := l.column(heading)
		for _, row := range body {
			for _, word := range l.unknownWords(textAt(l.grid.read(row, nil), at)) {
				if first[word] == nil {
					first[word], order = &met{row: row}, append(order, word)
				}
				first[word].count++
			}
		}
		for _, word := range order {
			p := l.rowPlace(first[word].row)
			p.Column, p.Cell = l.headings[at], cellName(at, first[word].row)
			l.list.Add(finding.LabQualifierUnknown, p, nil, finding.Values{"read": word, "count": first[word].count})
		}
	}
}
