package survey

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"airtally/exposure/finding"
)

// choice returns one of the column's choices, "" where the cell is empty or
// holds none of them.
func (r *reader) choice(f *field) string { return r.choose(f, r.complain) }

// mustChoose is choice for columns where taking an unknown word for an empty
// cell would make another thing of the row.
func (r *reader) mustChoose(f *field) string { return r.choose(f, r.stop) }

func (r *reader) choose(f *field, fault func(*field, finding.Code, finding.Values)) string {
	text := r.filled(f)
	if text == "" {
		return ""
	}
	v, ok := f.choose(text)
	if !ok {
		values := f.values()
		fault(f, finding.UnknownChoice, finding.Values{"expected": values, "near": didYouMean(text, values)})
	}
	return v
}

// choose returns the choice that a text means.
func (c *Column) choose(text string) (value string, ok bool) {
	for _, choice := range c.Choices {
		if choice.Value == text {
			return choice.Value, true
		}
	}
	key := simplify(text)
	for _, choice := range c.Choices {
		if simplify(choice.Value) == key || slices.ContainsFunc(choice.Also, func(s string) bool { return simplify(s) == key }) {
			return choice.Value, true
		}
	}
	return "", false
}

// values returns the column's choices.
func (c *Column) values() []string {
	var out []string
	for _, choice := range c.Choices {
		out = append(out, choice.Value)
	}
	return out
}

// yes reads yes or no; a blank cell means otherwise.
func (r *reader) yes(f *field, otherwise bool) bool {
	text := r.filled(f)
	if text == "" {
		return otherwise
	}
	if yes, ok := parseYes(text); ok {
		return yes
	}
	values := []string{"yes", "no"}
	r.complain(f, finding.UnknownChoice, finding.Values{"expected": values, "near": didYouMean(text, values)})
	return otherwise
}

func parseYes(text string) (yes, ok bool) {
	switch strings.ToLower(text) {
	case "yes", "y", "true", "1", "x":
		return true, true
	case "no", "n", "false", "0":
		return false, true
	}
	return false, false
}

// moment reads a date, a time of day, or both.
func (r *reader) moment(column *field) Moment {
	c := r.cell(column)
	if c == nil || c.text == "" {
		return Moment{}
	}
	if c.kind == textKind && c.text == r.lastMoment {
		return r.lastMomentRead
	}
	if r.filled(column) == "" {
		return Moment{}
	}
	m, t, f := r.writtenMoment(column, c)
	switch {
	case f == ambiguous:
		r.tally(finding.AmbiguousMoment, r.severity(column), column, r.subject(), finding.Values{
			"read": r.text(column), "then": r.then(column), "ways": r.twoWays(column, c.text)})
		return Moment{}
	case f == unreadable:
		r.complain(column, finding.UnreadableMoment, finding.Values{"hint": momentHint(c)})
		return Moment{}
	case t != noTrouble:
		r.list.Add(clockCode(t), r.Table.Place(r.row, column.Name), r.subject(), clockValues(column.Name, r.text(column), m))
	case c.kind == textKind:
		r.lastMoment, r.lastMomentRead = c.text, m
	}
	return m
}

// writtenMoment reads the cell of a time by its kind. What a text may mean
// beside year, month and day in this order, its column tells.
func (r *reader) writtenMoment(column *field, c *cell) (m Moment, t trouble, f fault) {
	ok := true
	switch {
	case c.kind == textKind && isPlainMoment(c.text):
		return r.clock.parse(c.text, momentStyle{})
	case c.kind == textKind:
		m, t, f = r.clock.parse(c.text, r.styleOf(column))
		serial, isSerial := serialOf(c.text)
		if f == unreadable && isSerial {
			return r.serialNumber(column, serial)
		}
		return m, t, f
	case c.kind == numberKind && isDaySerial(c.number):
		return r.serialNumber(column, c.number)
	case c.kind == dateKind, c.kind == timeKind:
		m, t, ok = r.clock.serial(c.number, c.kind == timeKind)
	default:
		ok = false
	}
	if !ok {
		return Moment{}, noTrouble, unreadable
	}
	return m, t, readable
}

// isPlainMoment reports whether a text begins with year, month and day and has
// no AM or PM: it can be read in one way only.
func isPlainMoment(text string) bool {
	_, _, _, _, ok := cutDate(text)
	return ok && !strings.ContainsAny(text, "mM")
}

// serialNumber reads a date that stands as the spreadsheet's number for it.
func (r *reader) serialNumber(column *field, serial float64) (m Moment, t trouble, f fault) {
	serial += r.dayOffset()
	m, t, ok := r.clock.serial(serial, serial != math.Trunc(serial))
	if !ok {
		return Moment{}, noTrouble, unreadable
	}
	r.tally(finding.DateAsNumber, finding.Check, column, r.subject(), finding.Values{"read": r.text(column), "value": writeMoment(m)})
	return m, t, readable
}

// isDaySerial reports whether a number can be that of a day of our time: from
// 2000 to 2059, in days from 1899-12-30.
func isDaySerial(n float64) bool { return n >= 36526 && n < 58441 }

func serialOf(text string) (float64, bool) {
	n, f := parsePlain(strings.TrimSpace(text), spoken)
	return n, f == readable && plain(strings.TrimSpace(text)) && isDaySerial(n)
}

// twoWays says in which ways a time can be read, and why neither is taken.
func (r *reader) twoWays(column *field, text string) string {
	dates := datesIn(text)
	if len(dates) < 2 {
		return "before noon or after: other times of the table say AM or PM, and this one does not"
	}
	var all []string
	for _, d := range dates {
		all = append(all, fmt.Sprintf("%d-%02d-%02d", d.year, d.month, d.day))
	}
	slices.Sort(all)
	why := "no cell of the table shows the order of day and month"
	if len(r.moments.byColumn[column.Name].proven) > 1 {
		why = "other cells of the column are written in both orders"
	}
	return strings.Join(all, " or ") + ": " + why + r.likelyDate(column, all)
}

// likelyDate names another time of the row that has one of the dates which a
// cell may mean.
func (r *reader) likelyDate(column *field, dates []string) string {
	for _, c := range r.description.Columns {
		other := r.field(c.Name)
		if other.Type != MomentCell || other.Name == column.Name || other.at < 0 {
			continue
		}
		text := r.text(other)
		if c := r.cell(other); c != nil && c.kind == dateKind {
			text = serialDay(c.number).Format(time.DateOnly)
		}
		if day, _, _ := strings.Cut(text, " "); slices.Contains(dates, day) {
			return "; " + other.Name + " of the same row is on " + day
		}
	}
	return ""
}

// severity is that of a cell that cannot be read: a stop where the row cannot
// stand without it, and is then left out.
func (r *reader) severity(f *field) finding.Severity {
	if f.Required {
		r.left = true
		return finding.Stop
	}
	return finding.Check
}

// momentHint says what a text that is no time may be, "" where nothing tells.
func momentHint(c *cell) string {
	text := visible(c.text)
	hour, minute, isDecimal := strings.Cut(strings.Replace(text, ",", ".", 1), ".")
	h, ok1 := digits(hour)
	_, ok2 := digits(minute)
	switch {
	case c.kind == numberKind && c.number > 0 && c.number < 1:
		return ": it may be the spreadsheet's number for a time of day; show the cell as a time"
	case isDecimal && ok1 && ok2 && hour != "" && len(hour) <= 2 && h < 24 && len(minute) >= 1 && len(minute) <= 2:
		return ": it may be hours and minutes or hours and their decimals"
	case len(datesIn(text)) == 0 && numberDate.MatchString(text):
		return ": no order of day, month and year makes a date of it"
	}
	return ""
}

func clockCode(t trouble) finding.Code {
	if t == skipped {
		return finding.ClockSkipped
	}
	return finding.ClockTwice
}

func clockValues(column, read string, m Moment) finding.Values {
	return finding.Values{"column": column, "read": read, "zone": m.T.Location().String(), "value": m.T.Format("2006-01-02T15:04Z07:00")}
}
