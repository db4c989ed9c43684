package limits

import (
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"sync"
)

//go:embed followup.csv
var followUpText string

// shortTermSeries are the bands of the short-term exposure.
const shortTermSeries = "stel"

// dutyRow is a row of the table: a duty and the exposures it is for.
type dutyRow struct {
	FollowUp
	series            string // of a band: "twa" or "stel"
	action, twa, stel string // words of standings; "" for anywhere
}

// standardDuties is what the table holds for one standard.
type standardDuties struct {
	standard, substance, cas string
	applies                  map[Sector]reference
	series                   []string
	rows                     []dutyRow
}

// reference is a paragraph and how well it is known.
type reference struct{ citation, status string }

// answers reports whether the standard's substance goes by a name or CAS
// number.
func (d *standardDuties) answers(key string) bool {
	number := canonicalCAS(key)
	return number != "" && number == d.cas || nameKey(key) != "" && nameKey(key) == nameKey(d.substance)
}

// statuses are from the best known to the least.
var statuses = []string{"seen", "corroborated", "memory"}

// weaker returns the status of what rests on both.
func weaker(a, b string) string {
	return statuses[max(slices.Index(statuses, a), slices.Index(statuses, b), 0)]
}

// followUpTable is the embedded table, parsed when first asked for. It panics
// on a fault: the data are the program's own.
var followUpTable = sync.OnceValue(func() []*standardDuties {
	var table []*standardDuties
	err := eachRow(followUpText, func(r row, _ string) error {
		at := slices.IndexFunc(table, func(d *standardDuties) bool { return d.standard == r["standard"] })
		if at < 0 {
			at = len(table)
			table = append(table, &standardDuties{
				standard:  r["standard"],
				substance: r["substance"],
				cas:       r["cas"],
				applies:   map[Sector]reference{},
			})
		}
		return table[at].add(r)
	})
	if err != nil {
		panic("limits: followup.csv: " + err.Error())
	}
	return table
})

func (d *standardDuties) add(r row) error {
	if !slices.Contains(statuses, r["status"]) {
		return fmt.Errorf("status %q", r["status"])
	}
	if r["duty"] == "applies" {
		d.applies[Sector(r["sector"])] = reference{r["citation"], r["status"]}
		return nil
	}
	out := dutyRow{
		FollowUp: FollowUp{
			Standard:  d.standard,
			Duty:      Duty(r["duty"]),
			Band:      r["band"],
			Action:    r["action"],
			BaseEvent: BaseEvent(r["base_event"]),
			Citation:  r["citation"],
			Status:    r["status"],
		},
		series: r["series"],
		action: r["action_level"],
		twa:    r["twa"],
		stel:   r["stel"],
	}
	for _, word := range []string{out.action, out.twa, out.stel} {
		if _, ok := standings[word]; !ok && word != "" {
			return fmt.Errorf("standing %q", word)
		}
	}
	if out.series != "" && !slices.Contains(d.series, out.series) {
		d.series = append(d.series, out.series)
	}
	d.rows = append(d.rows, out)
	return r.periods(&d.rows[len(d.rows)-1].FollowUp)
}

// periods reads the numbers of a row.
func (r row) periods(f *FollowUp) error {
	for column, number := range map[string]*int{"months": &f.Months, "years": &f.Years, "working_days": &f.WorkingDays} {
		if r[column] == "" {
			continue
		}
		v, err := strconv.Atoi(r[column])
		if err != nil || v < 1 {
			return fmt.Errorf("%s %q: want a whole number from 1", column, r[column])
		}
		*number = v
	}
	return nil
}
