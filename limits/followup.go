package limits

import (
	"slices"
	"strings"
	"time"

	"airtally/stats"
)

// FollowUpCaution stands beside every list of follow-up duties.
const FollowUpCaution = "Follow-up duties are those of the federal standard named; local rules may differ, rules change, and the regulation decides."

// Duty is what kind of thing a standard asks for after a measurement.
type Duty string

const (
	DutyMonitor Duty = "monitor" // measure again, or not
	DutyStop    Duty = "stop"    // when monitoring may end or become rarer
	DutyNotify  Duty = "notify"  // tell the employees
	DutyRecord  Duty = "record"  // keep the record
	DutyNote    Duty = "note"    // what else decides, or what the table cannot say
)

// BaseEvent is what a period is counted from.
type BaseEvent string

const (
	Sampled           BaseEvent = "sampled"
	ResultsReceived   BaseEvent = "results received"
	DeterminationMade BaseEvent = "determination made"
)

// FollowUp is one duty that a standard attaches to a measured exposure. Of
// Months, WorkingDays and Years at most one is not 0; all are 0 where the
// standard sets no number.
type FollowUp struct {
	Standard    string // 29 CFR 1910.1026
	Duty        Duty
	Band        string // where the exposure lies, in the standard's terms
	Spans       bool   // the interval reaches several bands; Band is the strictest of them
	Action      string // what to do, or what the notice says besides
	Months      int
	WorkingDays int
	Years       int
	BaseEvent   BaseEvent // "" where there is no period
	Citation    string
	Status      string // seen, corroborated or memory, as in the library
}

// Dates are when what periods are counted from happened; zero where unknown.
type Dates struct {
	Sampled, ResultsReceived, DeterminationMade time.Time
}

func (d Dates) of(e BaseEvent) time.Time {
	switch e {
	case Sampled:
		return d.Sampled
	case ResultsReceived:
		return d.ResultsReceived
	case DeterminationMade:
		return d.DeterminationMade
	}
	return time.Time{}
}

// Due returns the last day for a duty. It is false for one without a period,
// and where the day of its base event is not known.
func (f FollowUp) Due(d Dates, c Calendar) (time.Time, bool) {
	base := d.of(f.BaseEvent)
	switch {
	case base.IsZero():
		return time.Time{}, false
	case f.WorkingDays > 0:
		return c.AddWorkingDays(base, f.WorkingDays), true
	case f.Months > 0:
		return addMonths(base, f.Months), true
	case f.Years > 0:
		return addMonths(base, 12*f.Years), true
	}
	return time.Time{}, false
}

// Measured is an exposure as fractions of the limits of one standard. Where
// there are several, as for the bases of a long shift or for several
// short-term samples, the strictest counts.
type Measured struct {
	Action    []stats.Interval // of the action level
	TWA       []stats.Interval // of the 8-hour limit
	ShortTerm []stats.Interval // of the short-term, excursion or ceiling limit
}

// FollowUps returns what the standards of a substance ask in a sector after an
// exposure. The key is a limit's instrument, which names one standard
// ("29 CFR 1910.1026(c)"), else a CAS number or a name of the table. Bands go
// by the measured value, without its error; where its interval reaches several,
// the strictest is given. A standard for a single substance that the table does
// not hold is returned as a note; general tables of limits ask for nothing.
func FollowUps(key string, sector Sector, m Measured) []FollowUp {
	instrument := standardOf(key)
	if instrument == "" {
		var out []FollowUp
		for _, d := range followUpTable() {
			if _, ok := d.applies[sector]; ok && d.answers(key) {
				out = append(out, d.followUps(sector, m)...)
			}
		}
		return out
	}
	for _, d := range followUpTable() {
		if _, ok := d.applies[sector]; ok && d.standard == instrument {
			return d.followUps(sector, m)
		}
	}
	if slices.Contains(generalTables, instrument) {
		return nil
	}
	return []FollowUp{{
		Standard: instrument,
		Duty:     DutyNote,
		Action:   "what this standard asks after a measurement is not in the table for this sector: read it for monitoring, notice and records",
		Citation: instrument,
		Status:   "memory",
	}}
}

// generalTables are the instruments that set limits without duties that hang
// on a measured exposure.
var generalTables = []string{"29 CFR 1910.1000", "29 CFR 1915.1000", "29 CFR 1926.55"}

// standardOf returns the standard a paragraph belongs to; "" for a text that
// names none of the federal regulations.
func standardOf(instrument string) string {
	section, ok := strings.CutPrefix(strings.TrimSpace(instrument), "29 CFR ")
	if !ok {
		return ""
	}
	if end := strings.IndexAny(section, "( "); end >= 0 {
		section = section[:end]
	}
	return "29 CFR " + section
}

// band is where an exposure lies in one series of a standard's bands.
type band struct {
	name  string
	spans bool
}

func (d *standardDuties) followUps(sector Sector, m Measured) []FollowUp {
	bands := map[string]band{}
	var names []string
	var missing []FollowUp
	spans := false
	for _, series := range d.series {
		b, ok := d.bandOf(series, m)
		if !ok {
			missing = append(missing, d.unmeasured(series))
			continue
		}
		bands[series] = b
		names = append(names, b.name)
		spans = spans || b.spans
	}
	if len(bands) == 0 {
		return d.under(sector, "", false, missing)
	}
	var out []FollowUp
	for _, r := range d.rows {
		if r.Duty == DutyMonitor && r.Band != bands[r.series].name || !r.possible(m) {
			continue
		}
		same := func(f FollowUp) bool { return f.Duty == r.Duty && f.Action == r.Action }
		if !slices.ContainsFunc(out, same) {
			out = append(out, r.FollowUp)
		}
	}
	return d.under(sector, strings.Join(names, "; "), spans, append(out, missing...))
}

// bandOf returns the strictest band of a series that the exposure may lie in;
// false where what decides was not measured.
func (d *standardDuties) bandOf(series string, m Measured) (band, bool) {
	var b band
	for _, r := range d.rows {
		if r.Duty != DutyMonitor || r.series != series {
			continue
		}
		if !r.measured(m) {
			return band{}, false
		}
		if r.possible(m) {
			b.spans = b.name != "" && b.name != r.Band
			b.name = r.Band
		}
	}
	return b, b.name != ""
}

// unmeasured is the note that takes the place of a band.
func (d *standardDuties) unmeasured(series string) FollowUp {
	what := "8-hour exposure"
	if series == shortTermSeries {
		what = "short-term exposure"
	}
	return FollowUp{
		Standard: d.standard,
		Duty:     DutyNote,
		Action:   "the " + what + " was not measured, or has no value: what the standard asks for it cannot be said here",
		Citation: d.standard,
		Status:   "seen",
	}
}

// under gives follow-ups their band and the paragraph that brings the sector
// under the standard.
func (d *standardDuties) under(sector Sector, name string, spans bool, list []FollowUp) []FollowUp {
	by := d.applies[sector]
	for i := range list {
		f := &list[i]
		f.Band, f.Spans = name, spans
		if by.citation != d.standard {
			f.Citation += ", by " + by.citation
			f.Status = weaker(f.Status, by.status)
		}
	}
	return list
}

// standings are the words of the table for where a value lies against a
// limit, each with whether a fraction of the limit between low and high may
// lie there; reached says whether it can be at high itself.
var standings = map[string]func(low, high float64, reached bool) bool{
	"below":       func(low, _ float64, _ bool) bool { return low < 1 },
	"at or below": func(low, _ float64, _ bool) bool { return low <= 1 },
	"at":          func(low, high float64, reached bool) bool { return low <= 1 && (high > 1 || high == 1 && reached) },
	"at or above": func(_, high float64, reached bool) bool { return high > 1 || high == 1 && reached },
	"above":       func(_, high float64, _ bool) bool { return high > 1 },
}

// mayStand reports whether any of the fractions may stand so; no word is
// always so.
func mayStand(word string, fractions []stats.Interval) bool {
	if word == "" {
		return true
	}
	return slices.ContainsFunc(fractions, func(f stats.Interval) bool {
		return standings[word](snapToOne(f.Low), snapToOne(f.High), !f.Open)
	})
}

// possible reports whether the exposure may be one that the row is for.
func (r dutyRow) possible(m Measured) bool {
	return mayStand(r.action, m.Action) && mayStand(r.twa, m.TWA) && mayStand(r.stel, m.ShortTerm)
}

// measured reports whether all that the row turns on was measured.
func (r dutyRow) measured(m Measured) bool {
	return (r.action == "" || len(m.Action) > 0) && (r.twa == "" || len(m.TWA) > 0) && (r.stel == "" || len(m.ShortTerm) > 0)
}
