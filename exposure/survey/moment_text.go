package survey

import (
	"regexp"
	"strings"
	"time"
)

// dateOrder is the order in which a date of numbers alone is written.
type dateOrder uint8

const (
	dayFirst dateOrder = 1 + iota
	monthFirst
	yearFirst
)

func (o dateOrder) String() string {
	return map[dateOrder]string{dayFirst: "day, month, year", monthFirst: "month, day, year", yearFirst: "year, month, day"}[o]
}

// momentStyle is how the times of a column are written, where cells of it
// tell: in which order, and whether AM and PM are written.
type momentStyle struct {
	order  dateOrder // 0 where nothing tells
	twelve bool
}

// parse reads a date and time: 2026-03-02 22:10, with seconds, T and an offset
// where wanted, the date alone, or a time of day alone. Dates may have their
// month as a word, or be of numbers in another order: the column's, else only
// where no other order makes a date. Hours may be those of AM and PM.
func (c clock) parse(text string, style momentStyle) (m Moment, t trouble, f fault) {
	text = visible(text)
	d, rest := cutWritten(text, style.order)
	switch d.fault {
	case ambiguous:
		return Moment{}, noTrouble, ambiguous
	case unreadable:
		w, f := cutClock(text, style.twelve)
		if f != readable || w.rest != "" {
			return Moment{}, noTrouble, max(f, unreadable)
		}
		return bare(w.hour, w.minute, w.sec), noTrouble, readable
	}
	w := wall{year: d.year, month: d.month, day: d.day}
	if rest == "" {
		m, t = c.moment(w, true)
		return m, t, readable
	}
	clocked, f := cutClock(afterDate(rest), style.twelve)
	if f != readable {
		return Moment{}, noTrouble, f
	}
	w.hour, w.minute, w.sec = clocked.hour, clocked.minute, clocked.sec
	if clocked.rest != "" {
		zoned, ok := c.withOffset(w, clocked.rest)
		if !ok {
			return Moment{}, noTrouble, unreadable
		}
		return zoned, noTrouble, readable
	}
	m, t = c.moment(w, false)
	return m, t, readable
}

// afterDate returns what follows a date and a space, a comma, or T; "" where
// something else does.
func afterDate(rest string) string {
	rest = strings.TrimPrefix(rest, ",")
	if rest == "" || !strings.ContainsRune(" Tt", rune(rest[0])) {
		return ""
	}
	return strings.TrimLeft(rest[1:], " ")
}

// date is a date as written; fault says where it can be none, or several.
type date struct {
	year  int
	month time.Month
	day   int
	fault fault
}

// validDate returns the date of three numbers. Years far from our own are
// taken for slips of the pen and refused.
func validDate(year, month, day int) (date, bool) {
	d := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	return date{year: year, month: time.Month(month), day: day}, month >= 1 && month <= 12 && day >= 1 && d.Day() == day && likelyYear(year)
}

var (
	numberDate = regexp.MustCompile(`^([0-9]{1,4})([-/.])([0-9]{1,2})([-/.])([0-9]{1,4})(?:[^0-9]|$)`)
	dayMonth   = regexp.MustCompile(`^(?:[A-Za-z]{3,9},? +)?([0-9]{1,2})[-. /]*([A-Za-z]{3,9})[-., /]*([0-9]{4}|[0-9]{2})(?:[^0-9:]|$)`)
	monthDay   = regexp.MustCompile(`^(?:[A-Za-z]{3,9},? +)?([A-Za-z]{3,9})[-. ]*([0-9]{1,2})(?:st|nd|rd|th)?[-, ]+([0-9]{4})(?:[^0-9:]|$)`)
)

// cutWritten cuts a date off the front of a text, in any of the ways people
// write it, and returns what follows.
func cutWritten(text string, order dateOrder) (d date, rest string) {
	if year, month, day, rest, ok := cutDate(text); ok {
		return date{year: year, month: month, day: day}, rest
	}
	if at := strings.IndexByte(text, ':'); at == 1 || at == 2 {
		return date{fault: unreadable}, text // a time of day
	}
	if parts := numberDate.FindStringSubmatch(text); parts != nil && parts[2] == parts[4] {
		return numberedDate(parts, order), text[len(parts[1])+len(parts[3])+len(parts[5])+2:]
	}
	if at := dayMonth.FindStringSubmatchIndex(text); at != nil {
		return namedDate(text[at[6]:at[7]], text[at[4]:at[5]], text[at[2]:at[3]]), text[at[7]:]
	}
	if at := monthDay.FindStringSubmatchIndex(text); at != nil {
		return namedDate(text[at[6]:at[7]], text[at[2]:at[3]], text[at[4]:at[5]]), text[at[7]:]
	}
	return date{fault: unreadable}, text
}

// cutDate cuts 2026-03-02 off the front.
func cutDate(text string) (year int, month time.Month, day int, rest string, ok bool) {
	if len(text) < 10 || text[4] != '-' || text[7] != '-' {
		return 0, 0, 0, text, false
	}
	year, ok1 := digits(text[:4])
	m, ok2 := digits(text[5:7])
	day, ok3 := digits(text[8:10])
	d, ok := validDate(year, m, day)
	if !ok || !ok1 || !ok2 || !ok3 {
		return 0, 0, 0, text, false
	}
	return d.year, d.month, d.day, text[10:], true
}

// namedDate reads a date whose month is a word.
func namedDate(year, month, day string) date {
	y, _ := digits(year)
	d, _ := digits(day)
	m, known := monthNamed(month)
	if out, ok := validDate(fullYear(year, y), m, d); ok && known {
		return out
	}
	return date{fault: unreadable}
}

// fullYear adds the century to a year of two digits: ours.
func fullYear(text string, year int) int {
	if len(text) == 2 {
		return 2000 + year
	}
	return year
}

// numberedDate reads the parts of a date of numbers: those that begin with a
// year as year, month, day; others in the order of their column, else in the
// only one that makes a date.
func numberedDate(parts []string, order dateOrder) date {
	var only date
	found := 0
	for o, d := range datesOf(parts) {
		if (order == 0 || o == order || len(parts[1]) == 4) && d != only { // 3/3/2026 is one day in any order
			only, found = d, found+1
		}
	}
	switch found {
	case 0:
		return date{fault: unreadable}
	case 1:
		return only
	}
	return date{fault: ambiguous}
}

// datesOf returns the dates that three numbers make, by order. A year of two
// digits stands last, or first before strokes.
func datesOf(parts []string) map[dateOrder]date {
	first, second, third := parts[1], parts[3], parts[5]
	n := make([]int, 3)
	for i, part := range []string{first, second, third} {
		n[i], _ = digits(part)
	}
	out := map[dateOrder]date{}
	enter := func(o dateOrder, year, month, day int) {
		if d, ok := validDate(year, month, day); ok {
			out[o] = d
		}
	}
	if len(first) <= 2 && (len(third) == 4 || len(third) == 2) {
		year := fullYear(third, n[2])
		enter(dayFirst, year, n[1], n[0])
		enter(monthFirst, year, n[0], n[1])
	}
	if len(third) <= 2 && (len(first) == 4 || len(first) == 2 && parts[2] == "-") {
		enter(yearFirst, fullYear(first, n[0]), n[1], n[2])
	}
	return out
}

// datesIn returns the dates that a text may begin with, by order; nil where it
// begins with no date of numbers.
func datesIn(text string) map[dateOrder]date {
	if !strings.ContainsAny(text, "-/.") {
		return nil
	}
	if parts := numberDate.FindStringSubmatch(visible(text)); parts != nil && parts[2] == parts[4] {
		return datesOf(parts)
	}
	return nil
}

// orderNamed returns the order that a mapping names, 0 where it names none.
func orderNamed(name string) dateOrder {
	return map[string]dateOrder{"day-month-year": dayFirst, "month-day-year": monthFirst, "year-month-day": yearFirst}[name]
}

// clockTime is a time of day as written, and what follows it.
type clockTime struct {
	hour, minute, sec int
	rest              string
}

var (
	halfDay  = regexp.MustCompile(`^ *([AaPp])\.?[Mm]\.?$`)
	fullHour = regexp.MustCompile(`^([0-9]{1,2})( *[AaPp]\.?[Mm]\.?)$`)
)

// cutClock reads 22:10, 22:10:30, 7:05 am or 7 PM at the front of a text. In a
// column of AM and PM an hour without either can be two.
func cutClock(text string, twelve bool) (w clockTime, f fault) {
	w, ok := cutTime(text)
	if !ok {
		w = clockTime{}
		hour := fullHour.FindStringSubmatch(text)
		if hour == nil {
			return clockTime{}, unreadable
		}
		w.hour, _ = digits(hour[1])
		w.rest = hour[2]
	}
	var half []string
	if w.rest != "" {
		half = halfDay.FindStringSubmatch(w.rest)
	}
	switch {
	case half == nil && twelve && w.hour >= 1 && w.hour <= 12:
		return w, ambiguous
	case half == nil:
		w.rest = strings.TrimSpace(w.rest)
		return w, readable
	case w.hour < 1 || w.hour > 12:
		return clockTime{}, unreadable
	}
	w.rest, w.hour = "", w.hour%12
	if half[1] == "P" || half[1] == "p" {
		w.hour += 12
	}
	return w, readable
}

var endsInHalfDay = regexp.MustCompile(`[0-9] *[AaPp]\.?[Mm]\.?$`)

// isTwelve reports whether a text ends in AM or PM.
func isTwelve(text string) bool { return endsInHalfDay.MatchString(visible(text)) }

// cutTime cuts 22:10 or 22:10:30 off the front; parts of a second are dropped.
func cutTime(text string) (w clockTime, ok bool) {
	h, after, found := strings.Cut(text, ":")
	if !found || len(h) < 1 || len(h) > 2 || len(after) < 2 {
		return w, false
	}
	hour, ok1 := digits(h)
	minute, ok2 := digits(after[:2])
	w = clockTime{hour: hour, minute: minute, rest: after[2:]}
	ok3 := true
	if strings.HasPrefix(w.rest, ":") {
		if len(w.rest) < 3 {
			return w, false
		}
		w.sec, ok3 = digits(w.rest[1:3])
		if w.rest = w.rest[3:]; strings.HasPrefix(w.rest, ".") {
			w.rest = strings.TrimLeft(w.rest[1:], "0123456789")
		}
	}
	return w, ok1 && ok2 && ok3 && w.hour < 24 && w.minute < 60 && w.sec < 60
}
