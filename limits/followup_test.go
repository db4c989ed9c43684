package limits_test

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"airtally/limits"
	"airtally/stats"
)

// share returns a measured value of a case as a fraction of one of its limits;
// none where either is not given.
func (g given) share(value string, limit int) []stats.Interval {
	g.Helper()
	bound := strings.Split(g.texts["limits"], "|")[limit]
	if bound == "" || g.texts[value] == "" {
		return nil
	}
	l, err := strconv.ParseFloat(bound, 64)
	if err != nil {
		g.Fatal(err)
	}
	return []stats.Interval{stats.Exact(g.number(value) / l)}
}

// readOff reads the results of a case off its follow-ups.
func readOff(list []limits.FollowUp) map[string]string {
	out := map[string]string{"twa_months": "0", "stel_months": "0"}
	for _, f := range list {
		twa, stel, _ := strings.Cut(f.Band, "; ")
		out["band"], out["stel_band"] = twa, stel
		switch {
		case f.Duty == limits.DutyMonitor && f.Months > 0 && strings.Contains(f.Action, "8-hour"), f.Duty == limits.DutyMonitor && f.Months > 0 && stel == "":
			out["twa_months"] = strconv.Itoa(f.Months)
		case f.Duty == limits.DutyMonitor && f.Months > 0:
			out["stel_months"] = strconv.Itoa(f.Months)
		case f.Duty == limits.DutyNotify:
			out["notice_days"], out["notice_base"] = strconv.Itoa(f.WorkingDays), string(f.BaseEvent)
		case f.Duty == limits.DutyRecord:
			out["record_years"] = strconv.Itoa(f.Years)
		}
	}
	return out
}

// TestFollowUpCases runs every band boundary, exactly at, just under and just
// over; sources and statuses are in the file.
func TestFollowUpCases(t *testing.T) {
	standards := map[string]bool{}
	seen := map[string]bool{}
	for _, c := range readTable(t, "followup_cases.csv") {
		t.Run(c["id"], func(t *testing.T) {
			if seen[c["id"]] || c["source"] == "" || c["status"] == "" {
				t.Fatal("a case needs an id of its own, a source and a status")
			}
			seen[c["id"]] = true
			g := given{t, fields(c["inputs"])}
			standards[g.texts["standard"]+" "+g.texts["sector"]] = true
			got := readOff(limits.FollowUps(g.texts["standard"]+"(c)", limits.Sector(g.texts["sector"]), limits.Measured{
				Action:    g.share("TWA8", 0),
				TWA:       g.share("TWA8", 1),
				ShortTerm: g.share("STEL", 2),
			}))
			for name, want := range fields(c["expected"]) {
				if got[name] != want {
					t.Errorf("%s is %q; want %q", name, got[name], want)
				}
			}
		})
	}
	if len(standards) < 20 {
		t.Errorf("only %d standards and sectors tried", len(standards))
	}
}

// TestCaseLimits: the limits of the cases are those of the library.
func TestCaseLimits(t *testing.T) {
	kinds := map[limits.Kind]int{limits.Action: 0, limits.TWA8: 1, limits.STEL: 2, limits.Ceiling: 2}
	for _, c := range readTable(t, "followup_cases.csv") {
		in := fields(c["inputs"])
		bounds := strings.Split(in["limits"], "|")
		checked := 0
		for _, e := range limits.Embedded().Entries() {
			at, ok := kinds[e.Kind]
			if !ok || e.Use != limits.Compared || e.Instrument != in["standard"] && !strings.HasPrefix(e.Instrument, in["standard"]+"(") {
				continue
			}
			if want, err := strconv.ParseFloat(bounds[at], 64); err != nil || e.Value != want {
				t.Errorf("%s: %s %s is %v; the case says %q", c["id"], e.Instrument, e.Kind, e.Value, bounds[at])
			}
			checked++
		}
		if checked < 2 {
			t.Errorf("%s: the library has only %d limits of %s", c["id"], checked, in["standard"])
		}
	}
}

func fractionsOf(values ...stats.Interval) []stats.Interval { return values }

// TestFollowUpIntervals: where the interval straddles, the stricter band
// (Cr(VI): action level 2.5, PEL 5 µg/m³, 29 CFR 1910.1026).
func TestFollowUpIntervals(t *testing.T) {
	for name, c := range map[string]struct {
		c      stats.Interval // µg/m³
		months int
		spans  bool
	}{
		"non-detect under the action level":        {stats.Under(2, 1), 0, false},
		"non-detect at the action level, never it": {stats.Under(2.5, 1.25), 0, false},
		"non-detect over the action level":         {stats.Under(3, 1.5), 6, true},
		"non-detect at the PEL, never it":          {stats.Under(5, 2.5), 6, true},
		"non-detect over the PEL":                  {stats.Under(6, 3), 3, true},
		"closed interval up to the action level":   {stats.Interval{Low: 1, Value: 2, High: 2.5}, 6, true},
		"breakthrough":                             {stats.AtLeast(0.1), 3, true},
		"at least the PEL":                         {stats.AtLeast(5), 3, true},
		"surely over":                              {stats.AtLeast(5.1), 3, false},
		"0.1 + 0.2 of 0.3":                         {stats.Exact(5 * (0.1 + 0.2) / 0.3), 6, false},
	} {
		list := limits.FollowUps("29 CFR 1910.1026(b)", limits.General, limits.Measured{
			Action: fractionsOf(c.c.Per(2.5)), TWA: fractionsOf(c.c.Per(5)),
		})
		if len(list) == 0 {
			t.Errorf("%s: nothing", name)
			continue
		}
		got := readOff(list)
		if got["twa_months"] != strconv.Itoa(c.months) || list[0].Spans != c.spans {
			t.Errorf("%s: %s months, band %q, spans %v; want %d, %v", name, got["twa_months"], got["band"], list[0].Spans, c.months, c.spans)
		}
	}
}

// TestStrictestBasis: of the bases of a long shift and of several short-term
// samples the strictest counts.
func TestStrictestBasis(t *testing.T) {
	list := limits.FollowUps("29 CFR 1910.1052(c)(1)", limits.General, limits.Measured{
		Action:    fractionsOf(stats.Exact(1.2), stats.Exact(0.9)),
		TWA:       fractionsOf(stats.Exact(0.6), stats.Exact(0.45)),
		ShortTerm: fractionsOf(stats.Exact(0.2), stats.Exact(1.1), stats.Exact(0.3)),
	})
	got := readOff(list)
	if got["twa_months"] != "6" || got["stel_months"] != "3" {
		t.Errorf("months %s and %s in band %q; want 6 and 3", got["twa_months"], got["stel_months"], got["band"])
	}
}

// TestNotMeasured: what was not measured is said, and never taken for low.
func TestNotMeasured(t *testing.T) {
	nan := fractionsOf(stats.Exact(math.NaN()))
	for name, c := range map[string]struct {
		m           limits.Measured
		notes       int // that say so
		stillBanded bool
	}{
		"no short-term sample": {limits.Measured{Action: fractionsOf(stats.Exact(0.5)), TWA: fractionsOf(stats.Exact(0.25))}, 1, true},
		"no action level":      {limits.Measured{TWA: fractionsOf(stats.Exact(0.25)), ShortTerm: fractionsOf(stats.Exact(0.1))}, 1, true},
		"nothing":              {limits.Measured{}, 2, false},
		"no number":            {limits.Measured{Action: nan, TWA: nan, ShortTerm: nan}, 2, false},
	} {
		notes, banded := 0, false
		for _, f := range limits.FollowUps("29 CFR 1910.1052", limits.General, c.m) {
			if strings.Contains(f.Action, "was not measured") {
				notes++
			}
			banded = banded || f.Band != ""
		}
		if notes != c.notes || banded != c.stillBanded {
			t.Errorf("%s: %d notes, band %v; want %d, %v", name, notes, banded, c.notes, c.stillBanded)
		}
	}
}

// TestNotices: what the notice says besides, over a limit only. Sources: the
// paragraphs on notification of each standard, read.
func TestNotices(t *testing.T) {
	for name, c := range map[string]struct {
		standard       string
		sector         limits.Sector
		twa, shortTerm float64 // fractions
		want           string  // in the notice; "" for a plain one
	}{
		"Cr(VI) at the PEL":              {"29 CFR 1910.1026", limits.General, 1, 0, ""},
		"Cr(VI) over the PEL":            {"29 CFR 1910.1026", limits.General, 1.01, 0, "what is being done"},
		"lead at the PEL":                {"29 CFR 1910.1025", limits.General, 1, 0, ""},
		"lead over the PEL":              {"29 CFR 1910.1025", limits.General, 1.01, 0, "was exceeded"},
		"lead in construction at it":     {"29 CFR 1926.62", limits.Construction, 1, 0, "at or above the PEL"},
		"lead in construction under":     {"29 CFR 1926.62", limits.Construction, 0.99, 0, ""},
		"MeCl2 over the STEL alone":      {"29 CFR 1910.1052", limits.General, 0.1, 1.01, "and by when"},
		"MeCl2 at the STEL":              {"29 CFR 1910.1052", limits.General, 0.1, 1, ""},
		"asbestos over the excursion":    {"29 CFR 1910.1001", limits.General, 0.1, 1.01, "what is being done"},
		"formaldehyde over the STEL":     {"29 CFR 1910.1048", limits.General, 0.1, 1.01, "to lower exposure"},
		"benzene over both says it once": {"29 CFR 1910.1028", limits.General, 1.01, 1.01, "names a document"},
	} {
		list := limits.FollowUps(c.standard, c.sector, limits.Measured{
			Action: fractionsOf(stats.Exact(2 * c.twa)), TWA: fractionsOf(stats.Exact(c.twa)), ShortTerm: fractionsOf(stats.Exact(c.shortTerm)),
		})
		var notices []string
		for _, f := range list {
			if f.Duty == limits.DutyNotify {
				notices = append(notices, f.Action)
			}
		}
		switch {
		case c.want == "" && len(notices) != 1, c.want != "" && len(notices) != 2:
			t.Errorf("%s: %d notices %q", name, len(notices), notices)
		case c.want != "" && !strings.Contains(notices[1], c.want):
			t.Errorf("%s: %q; want %q", name, notices[1], c.want)
		}
	}
}

// TestFollowUpKeys: a standard by any of its paragraphs, a substance by CAS
// number or name; general tables ask for nothing, a standard that the table
// lacks is said.
func TestFollowUpKeys(t *testing.T) {
	m := limits.Measured{Action: fractionsOf(stats.Exact(2)), TWA: fractionsOf(stats.Exact(1.2)), ShortTerm: fractionsOf(stats.Exact(0.1))}
	for name, c := range map[string]struct {
		key      string
		sector   limits.Sector
		standard string // "" for none
		note     bool   // a note that the standard is not in the table
	}{
		"paragraph":              {"29 CFR 1926.62(c)(1)", limits.Construction, "29 CFR 1926.62", false},
		"CAS in general":         {"18540-29-9", limits.General, "29 CFR 1910.1026", false},
		"CAS in construction":    {"18540-29-9", limits.Construction, "29 CFR 1926.1126", false},
		"CAS in maritime":        {"0018540299", limits.Maritime, "29 CFR 1915.1026", false},
		"name":                   {"BENZENE", limits.Maritime, "29 CFR 1910.1028", false},
		"not the same name":      {"benzenes", limits.General, "", false},
		"general table":          {"29 CFR 1910.1000 Table Z-1", limits.General, "", false},
		"construction table":     {"29 CFR 1926.55 Table 1", limits.Construction, "", false},
		"another authority":      {"NIOSH Pocket Guide (REL)", limits.General, "", false},
		"nothing":                {"", limits.General, "", false},
		"coke ovens":             {"29 CFR 1910.1029(c)", limits.General, "29 CFR 1910.1029", true},
		"standard of the others": {"29 CFR 1910.1026(c)", limits.Construction, "29 CFR 1910.1026", true},
	} {
		list := limits.FollowUps(c.key, c.sector, m)
		if (c.standard == "") != (len(list) == 0) {
			t.Errorf("%s: %d follow-ups of %q", name, len(list), c.key)
			continue
		}
		for _, f := range list {
			if f.Standard != c.standard || strings.Contains(f.Action, "not in the table") != c.note {
				t.Errorf("%s: %s: %s; want %s", name, f.Standard, f.Action, c.standard)
			}
		}
	}
}

// TestStatusBySector: the paragraph that brings a sector under a standard is
// cited, and the duty is no better known than it. 1926.1128 was read,
// 1915.1048 was not.
func TestStatusBySector(t *testing.T) {
	m := limits.Measured{Action: fractionsOf(stats.Exact(2)), TWA: fractionsOf(stats.Exact(1.2)), ShortTerm: fractionsOf(stats.Exact(0.1))}
	for _, c := range []struct {
		standard string
		sector   limits.Sector
		by       string
		status   string
	}{
		{"29 CFR 1910.1028", limits.General, "", "seen"},
		{"29 CFR 1910.1028", limits.Construction, ", by 29 CFR 1926.1128", "seen"},
		{"29 CFR 1910.1048", limits.Maritime, ", by 29 CFR 1915.1048", "memory"},
		{"29 CFR 1926.1124", limits.Construction, "", "memory"},
	} {
		for _, f := range limits.FollowUps(c.standard, c.sector, m) {
			if f.Duty == limits.DutyMonitor && (f.Status != c.status || !strings.HasSuffix(f.Citation, c.by)) {
				t.Errorf("%s, %s: %s, %s; want %s and %q", c.standard, c.sector, f.Citation, f.Status, c.status, c.by)
			}
		}
	}
}

// TestFollowUpTable: every standard for a single substance in the library has,
// in every sector it holds in, either a whole set of duties or the note that
// it has none here; each duty is cited, and no exposure falls between bands.
func TestFollowUpTable(t *testing.T) {
	without := map[string]bool{"29 CFR 1910.1029": true, "29 CFR 1910.1043": true, "29 CFR 1910.1044": true, "29 CFR 1910.1050": true, "29 CFR 1910.1051": true, "29 CFR 1926.60": true}
	levels := []float64{0, 0.5, 0.9999, 1, 1.0001, 2, 50}
	for _, e := range limits.Embedded().Entries() {
		if e.Authority != "OSHA" || strings.Contains(e.Instrument, "Table") {
			continue
		}
		standard, _, _ := strings.Cut(e.Instrument, "(")
		sectors := e.Sectors
		if len(sectors) == 0 {
			sectors = []limits.Sector{limits.General, limits.Construction, limits.Maritime}
		}
		for _, sector := range sectors {
			for _, pel := range levels {
				for _, short := range levels {
					list := limits.FollowUps(e.Instrument, sector, limits.Measured{
						Action: fractionsOf(stats.Exact(2 * pel)), TWA: fractionsOf(stats.Exact(pel)), ShortTerm: fractionsOf(stats.Exact(short)),
					})
					if len(list) == 1 && without[standard] {
						continue
					}
					whole(t, standard+" "+string(sector), list)
				}
			}
		}
	}
}

func whole(t *testing.T, name string, list []limits.FollowUp) {
	t.Helper()
	var duties []limits.Duty
	for _, f := range list {
		duties = append(duties, f.Duty)
		periods := 0
		for _, n := range []int{f.Months, f.WorkingDays, f.Years} {
			if n > 0 {
				periods++
			}
		}
		if f.Action == "" || f.Citation == "" || f.Band == "" || f.Spans || periods > 1 || (periods == 1) != (f.BaseEvent != "") ||
			!slices.Contains([]string{"seen", "corroborated", "memory"}, f.Status) {
			t.Errorf("%s: %+v", name, f)
		}
	}
	for _, d := range []limits.Duty{limits.DutyMonitor, limits.DutyStop, limits.DutyNotify, limits.DutyRecord} {
		if !slices.Contains(duties, d) {
			t.Errorf("%s: no %s among %v", name, d, duties)
		}
	}
}

func TestDue(t *testing.T) {
	dates := limits.Dates{Sampled: day("2026-08-31"), ResultsReceived: day("2026-05-29"), DeterminationMade: day("2026-05-29")}
	holidays := limits.NewCalendar(day("2026-05-25"), day("2026-06-19"))
	for name, c := range map[string]struct {
		f    limits.FollowUp
		want string // "" for none
	}{
		"six months from a month's end": {limits.FollowUp{Months: 6, BaseEvent: limits.Sampled}, "2027-02-28"},
		"three months":                  {limits.FollowUp{Months: 3, BaseEvent: limits.Sampled}, "2026-11-30"},
		"15 working days":               {limits.FollowUp{WorkingDays: 15, BaseEvent: limits.DeterminationMade}, "2026-06-22"},
		"5 working days":                {limits.FollowUp{WorkingDays: 5, BaseEvent: limits.ResultsReceived}, "2026-06-05"},
		"30 years":                      {limits.FollowUp{Years: 30, BaseEvent: limits.ResultsReceived}, "2056-05-29"},
		"no period":                     {limits.FollowUp{BaseEvent: limits.Sampled}, ""},
		"no base event":                 {limits.FollowUp{Months: 6}, ""},
	} {
		due, ok := c.f.Due(dates, holidays)
		if ok != (c.want != "") || ok && due.Format(time.DateOnly) != c.want {
			t.Errorf("%s: %v %v; want %q", name, due, ok, c.want)
		}
	}
	if due, ok := (limits.FollowUp{WorkingDays: 15, BaseEvent: limits.DeterminationMade}).Due(limits.Dates{ResultsReceived: day("2026-05-29")}, holidays); ok {
		t.Errorf("due %v without the day of the determination", due)
	}
}
