package survey

import (
	"sync"

	"airtally/exposure/finding"
)

// momentStyles is how the times of a table are written, by column. They are
// looked for only when a cell is met that can be read in more than one way.
type momentStyles struct {
	once     sync.Once
	byColumn map[string]*momentEvidence
}

// momentEvidence is what the cells of one column tell about its times.
type momentEvidence struct {
	momentStyle
	proven      map[dateOrder]int32 // the first row with a date in that order alone
	doubtful    bool                // some cell is a date in several orders
	realDates   int                 // how many cells are dates, not texts
	firstReal   int32
	realDayOver bool      // the day of one of those is over 12
	orderFrom   string    // the column that told the order
	orderProof  dateProof // and its cell
}

// dateProof is a cell that can be read in one order alone.
type dateProof struct {
	row  int32
	text string
}

// styleOf returns how the times of a column are written.
func (t *Table) styleOf(f *field) momentStyle {
	t.moments.once.Do(t.findMomentStyles)
	if e := t.moments.byColumn[f.Name]; e != nil {
		return e.momentStyle
	}
	return momentStyle{}
}

// findMomentStyles looks through the columns of times: the order of day and
// month is the column's where its cells show only one, else that of the other
// columns of the table. AM or PM anywhere counts for the whole table.
func (t *Table) findMomentStyles() {
	t.moments.byColumn = map[string]*momentEvidence{}
	var cells []cell
	fields := t.momentFields()
	for _, row := range t.body {
		cells = t.grid.read(row, cells[:0])
		for _, f := range fields {
			t.moments.byColumn[f.Name].take(cells, f.at, row)
		}
	}
	whole := momentEvidence{proven: map[dateOrder]int32{}}
	var last *field
	for _, f := range fields {
		e := t.moments.byColumn[f.Name]
		e.settle(t, f)
		whole.twelve = whole.twelve || e.twelve
		for order, row := range e.proven {
			if _, met := whole.proven[order]; !met {
				whole.proven[order], last = row, f
			}
		}
	}
	if last != nil {
		whole.settle(t, last)
	}
	for _, e := range t.moments.byColumn {
		e.twelve = whole.twelve
		if t.foreign != nil && t.foreign.dates != 0 {
			e.order, e.orderFrom = t.foreign.dates, ""
			continue
		}
		if len(e.proven) == 0 {
			e.order, e.orderFrom, e.orderProof = whole.order, whole.orderFrom, whole.orderProof
		}
	}
}

// momentFields returns the columns of times that the table has.
func (t *Table) momentFields() []*field {
	var out []*field
	for i := range t.description.Columns {
		if f := t.field(t.description.Columns[i].Name); f.Type == MomentCell && f.at >= 0 {
			out = append(out, f)
			t.moments.byColumn[f.Name] = &momentEvidence{proven: map[dateOrder]int32{}}
		}
	}
	return out
}

// take takes the evidence of one cell.
func (e *momentEvidence) take(cells []cell, at int, row int32) {
	if at >= len(cells) {
		return
	}
	c := &cells[at]
	switch {
	case c.kind == dateKind, c.kind == timeKind && c.number >= 1:
		if e.realDates++; e.realDates == 1 {
			e.firstReal = row
		}
		e.realDayOver = e.realDayOver || serialDay(c.number).Day() > 12
	case c.kind == textKind && c.text != "" && !isPlainMoment(c.text):
		e.twelve = e.twelve || isTwelve(c.text)
		dates := datesIn(c.text)
		e.doubtful = e.doubtful || len(dates) > 1
		for order := range dates {
			if _, met := e.proven[order]; len(dates) == 1 && order != yearFirst && !met {
				e.proven[order] = row
			}
		}
	}
}

// settle decides the order where the cells show only one.
func (e *momentEvidence) settle(t *Table, f *field) {
	if len(e.proven) != 1 {
		return
	}
	for order, row := range e.proven {
		e.order, e.orderFrom = order, f.Name
		e.orderProof = dateProof{row, textAt(t.grid.read(row, nil), f.at)}
	}
}

// tellMomentStyles tells in which order the dates of a column are read, where
// that had to be decided, and of real dates among those of a person's hand.
func (t *Table) tellMomentStyles(list *finding.List) {
	for i := range t.description.Columns {
		name := t.description.Columns[i].Name
		e := t.moments.byColumn[name]
		if e == nil || e.orderFrom == "" {
			continue
		}
		values := finding.Values{"column": name, "order": e.order, "proof": e.orderProof.text, "from": t.Place(e.orderProof.row, e.orderFrom).Cell, "count": e.realDates}
		if e.doubtful {
			list.Add(finding.DateOrderDecided, t.Place(e.orderProof.row, e.orderFrom), nil, values)
		}
		if e.realDates > 0 && !e.realDayOver {
			list.Add(finding.DatesMixed, t.Place(e.firstReal, name), nil, values)
		}
	}
}
