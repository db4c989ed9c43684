package survey

import (
	"math"
	"time"
	_ "time/tzdata" // zones are known without the machine's own list
)

// clock is the zone that clock times without an offset are in.
type clock struct {
	zone  *time.Location
	zoned bool // the survey names the zone
}

// wall is a date and time as a clock on the wall shows it.
type wall struct {
	year        int
	month       time.Month
	day         int
	hour        int
	minute, sec int
}

// trouble is what a night of clock change does to a clock time.
type trouble uint8

const (
	noTrouble trouble = iota
	skipped           // the clocks were put on past it
	twice             // the clocks were put back past it
)

// at returns the point in time of a clock time. A skipped time is taken in
// the offset before the change, a time that comes twice as the first.
func (c clock) at(w wall) (time.Time, trouble) {
	utc := time.Date(w.year, w.month, w.day, w.hour, w.minute, w.sec, 0, time.UTC)
	_, before := utc.Add(-24 * time.Hour).In(c.zone).Zone()
	_, after := utc.Add(24 * time.Hour).In(c.zone).Zone()
	first := utc.Add(-time.Duration(before) * time.Second).In(c.zone)
	second := utc.Add(-time.Duration(after) * time.Second).In(c.zone)
	_, atFirst := first.Zone()
	_, atSecond := second.Zone()
	switch {
	case before == after:
		return first, noTrouble
	case atFirst == before && atSecond == after:
		return first, twice
	case atFirst == before:
		return first, noTrouble
	case atSecond == after:
		return second, noTrouble
	}
	return first, skipped
}

// moment returns a full date and time, or a date alone, as a Moment.
func (c clock) moment(w wall, dateOnly bool) (Moment, trouble) {
	t, trouble := c.at(w)
	if dateOnly {
		trouble = noTrouble
	}
	return Moment{T: t, Known: true, DateOnly: dateOnly, Zoned: c.zoned}, trouble
}

// bare returns a time of day without a date.
func bare(hour, minute, sec int) Moment {
	return Moment{T: time.Date(0, 1, 1, hour, minute, sec, 0, time.UTC), Known: true, Bare: true}
}

// on gives a bare time the date of another moment, so many days later.
func (c clock) on(m, date Moment, days int) (Moment, trouble) {
	d := date.T.AddDate(0, 0, days)
	if date.Zoned && !c.zoned { // the offset that was written with the date
		c = clock{d.Location(), true}
	}
	return c.moment(wall{d.Year(), d.Month(), d.Day(), m.T.Hour(), m.T.Minute(), m.T.Second()}, false)
}

// withOffset returns the moment of a clock time whose offset from UTC is
// written: Z, +01:00, +0100 or +01.
func (c clock) withOffset(w wall, offset string) (Moment, bool) {
	if offset == "z" {
		offset = "Z"
	}
	for _, layout := range []string{"Z07:00", "Z0700", "Z07"} {
		z, err := time.Parse(layout, offset)
		if err != nil {
			continue
		}
		zone := z.Location()
		t := time.Date(w.year, w.month, w.day, w.hour, w.minute, w.sec, 0, zone)
		if c.zoned {
			t = t.In(c.zone)
		}
		return Moment{T: t, Known: true, Zoned: true}, true
	}
	return Moment{}, false
}

func likelyYear(year int) bool { return year >= 1950 && year <= 2150 }

func digits(text string) (n int, ok bool) {
	for i := range len(text) {
		if text[i] < '0' || text[i] > '9' {
			return 0, false
		}
		n = 10*n + int(text[i]-'0')
	}
	return n, true
}

// serial reads the number of a date cell, in days from 1899-12-30. Numbers
// under 1 are times of day.
func (c clock) serial(days float64, showsTime bool) (m Moment, t trouble, ok bool) {
	if !(days >= 0 && days < 1e5) {
		return Moment{}, noTrouble, false
	}
	seconds := math.Round(days * 86400)
	d := serialDay(seconds / 86400)
	left := int(seconds) % 86400
	w := wall{d.Year(), d.Month(), d.Day(), left / 3600, left / 60 % 60, left % 60}
	if days < 1 {
		return bare(w.hour, w.minute, w.sec), noTrouble, showsTime
	}
	if !likelyYear(w.year) {
		return Moment{}, noTrouble, false
	}
	m, t = c.moment(w, left == 0 && !showsTime)
	return m, t, true
}

// serialDay returns the day of a serial, in days from 1899-12-30.
func serialDay(days float64) time.Time {
	return time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(math.Floor(days)))
}

// writeMoment writes a moment the way the tables want it.
func writeMoment(m Moment) string {
	switch {
	case m.Bare:
		return m.T.Format("15:04")
	case m.DateOnly:
		return m.T.Format("2006-01-02")
	}
	return m.T.Format("2006-01-02 15:04")
}
