package exposure_test

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// slack is what rounding may do to a comparison of two computed numbers.
const slack = 1e-9

// atMost reports whether a is at most b; null bounds nothing.
func (o object) atMost(a, b string) bool {
	x, hasX := o.number(a)
	y, hasY := o.number(b)
	return !hasX || !hasY || x <= y+slack*math.Abs(y)
}

// checkOrder checks what must hold between the figures of any results.
func checkOrder(t failer, out output) {
	t.Helper()
	index(t, out.Samples, sampleKey)
	for key, o := range index(t, out.Concentrations, concentrationKey) {
		ordered(t, key, o, "low_mgm3", "value_mgm3", "high_mgm3")
		ordered(t, key, o, "mass_low_ug", "mass_ug", "mass_high_ug")
		ordered(t, key, o, "low_fcc", "value_fcc", "high_fcc")
		checkCensored(t, key, o)
	}
	for key, o := range index(t, out.Exposures, exposureKey) {
		ordered(t, key, o, "low_mgm3", "value_mgm3", "high_mgm3")
		ordered(t, key, o, "if_zero_mgm3", "if_same_mgm3")
		if coverage, known := o.number("coverage_pct"); known == (o["basis"] == "short") || coverage < 0 || coverage > 100 {
			t.Errorf("%s: coverage %v", key, o["coverage_pct"])
		}
	}
	for key, o := range index(t, out.Comparisons, comparisonKey) {
		ordered(t, key, o, "lcl_fraction", "fraction_low", "fraction", "fraction_high", "ucl_fraction")
		checkOutcome(t, key, o, "fraction_low", "fraction_high", "lcl_fraction", "ucl_fraction")
	}
	for key, o := range index(t, out.Mixtures, mixtureKey) {
		ordered(t, key, o, "index_low", "index", "index_high")
		checkOutcome(t, key, o, "index_low", "index_high", "", "")
	}
	for _, o := range out.Findings {
		if o["message"] == "" || o["remedy"] == "" || o["code"] == "" {
			t.Errorf("a finding that does not say what to do: %v", o)
		}
	}
}

// ordered checks that no field is over the next.
func ordered(t failer, key string, o object, fields ...string) {
	t.Helper()
	for i := 1; i < len(fields); i++ {
		if !o.atMost(fields[i-1], fields[i]) {
			t.Errorf("%s: %s %v is over %s %v", key, fields[i-1], o[fields[i-1]], fields[i], o[fields[i]])
		}
	}
}

// checkCensored: a result is censored where its low is under its high.
func checkCensored(t failer, key string, o object) {
	t.Helper()
	low, high := "low_mgm3", "high_mgm3"
	if _, inAir := o.number("value_fcc"); inAir {
		low, high = "low_fcc", "high_fcc"
	}
	if _, inAir := o.number(low); !inAir {
		low, high = "mass_low_ug", "mass_high_ug"
	}
	x, known := o.number(low)
	if !known {
		return // no number at all
	}
	y, bounded := o.number(high)
	if want := !bounded || x < y; o["censored"] != want {
		t.Errorf("%s: censored %v with bounds %v and %v", key, o["censored"], o[low], o[high])
	}
}

// checkOutcome: above needs the whole interval over the limit, and its band
// where it has one; below needs a bound that is not over it.
func checkOutcome(t failer, key string, o object, low, high, bandLow, bandHigh string) {
	t.Helper()
	if _, banded := o.number(bandLow); banded {
		low, high = bandLow, bandHigh
	}
	x, _ := o.number(low)
	y, bounded := o.number(high)
	switch o["outcome"] {
	case "above":
		if x < 1-slack {
			t.Errorf("%s: above, with %s %v", key, low, o[low])
		}
	case "below":
		if !bounded || y > 1+slack {
			t.Errorf("%s: below, with %s %v", key, high, o[high])
		}
	case "undecided":
	default:
		t.Errorf("%s: outcome %v", key, o["outcome"])
	}
}

// told is what the findings speak of: rows by table, and subjects.
type told struct {
	rows     map[string]bool
	subjects []string
}

func (o output) told() told {
	at := told{rows: map[string]bool{}}
	for _, f := range o.Findings {
		row, _ := f.number("row")
		at.rows[f["table"].(string)+" "+strconv.Itoa(int(row))] = true
		at.subjects = append(at.subjects, ", "+f["subject"].(string)+",")
	}
	return at
}

// of reports whether a finding stands at the row, or names all of the texts.
func (at told) of(table string, row int, names ...string) bool {
	if at.rows[table+" "+strconv.Itoa(row)] {
		return true
	}
	for _, s := range at.subjects {
		all := true
		for _, n := range names {
			all = all && strings.Contains(s, ", "+n+",")
		}
		if all {
			return true
		}
	}
	return false
}

// checkKept checks that each sample, result, and shift of the tables is in the
// results or spoken of in a finding.
func (o output) checkKept(t failer, b book) {
	t.Helper()
	at := o.told()
	kept := func(rows []object, fields ...string) map[string]bool {
		m := map[string]bool{}
		for _, r := range rows {
			m[r.key(fields...)] = true
		}
		return m
	}
	both := append(slices.Clone(o.Samples), o.Exposures...)
	for _, c := range []struct {
		table string
		by    []string
		in    map[string]bool
	}{
		{"samples", []string{"sample"}, kept(o.Samples, "sample")},
		{"lab", []string{"sample", "analyte"}, kept(o.Concentrations, "sample", "analyte")},
		{"shifts", []string{"shift", "worker"}, kept(both, "shift", "worker")},
	} {
		for i, cells := range b[c.table] {
			names := make([]string, len(c.by))
			for k, name := range c.by {
				names[k] = cells[b.column(c.table, name)]
			}
			if i > 0 && !c.in[strings.Join(names, " | ")] && !at.of(c.table, i+1, names...) {
				t.Errorf("%s row %d, %v, is neither in the results nor in a finding", c.table, i+1, names)
			}
		}
	}
}
