package limits_test

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"airtally/limits"
)

// TestRowsOfEachList counts the rows by how well they are known: of the lists
// that are free to reuse, the rows read in a text or equal in another one, and
// rows from memory of NIOSH and the EU alone.
func TestRowsOfEachList(t *testing.T) {
	got := map[string]int{}
	for _, e := range limits.Embedded().Entries() {
		got[e.Authority+" "+e.Status]++
	}
	want := map[string]int{
		"OSHA seen":           1422,
		"NIOSH seen":          230,
		"NIOSH corroborated":  8,
		"NIOSH memory":        6,
		"EU seen":             108, // 9 of them steps that have passed or are to come
		"EU corroborated":     90,
		"EU memory":           101,
		"Cal/OSHA seen":       46,
		"UK HSE seen":         4,
		"UK HSE corroborated": 7,
	}
	for list, n := range want {
		if got[list] != n {
			t.Errorf("%s: %d rows; want %d", list, got[list], n)
		}
	}
	if len(got) != len(want) {
		t.Errorf("rows of %v; want those of %v", got, want)
	}
}

// TestListsAreSorted: a hygienist finds a row by its substance, and a change
// shows as a line.
func TestListsAreSorted(t *testing.T) {
	var before limits.Entry
	for _, e := range limits.Embedded().Entries() {
		if e.Authority == before.Authority && strings.ToLower(e.Analyte) < strings.ToLower(before.Analyte) {
			t.Errorf("%s: %s after %s", e.Authority, e.Analyte, before.Analyte)
		}
		before = e
	}
}

// TestHeadersAreRead: each file says where it comes from, of what edition and
// with which molar volume.
func TestHeadersAreRead(t *testing.T) {
	files, err := filepath.Glob("library/*.csv")
	if err != nil || len(files) < 6 {
		t.Fatal(files, err)
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range []string{"\n# source: ", "\n# edition: ", "\n# molar_volume: ", "\n# form: ", "\n# use: ", "\n# status: "} {
			if !strings.Contains(string(text), line) && name != "library/weights.csv" {
				t.Errorf("%s: no line %q", name, strings.TrimSpace(line))
			}
		}
	}
}

// TestRowsReadAgain finds each row of a second reading of the lists by the
// library's names and numbers for it, with the printed value.
func TestRowsReadAgain(t *testing.T) {
	checks := readCheck(t)
	if len(checks) != 40 {
		t.Fatalf("%d rows; want 40", len(checks))
	}
	for _, c := range checks {
		found := false
		for _, e := range limits.Embedded().Entries() {
			if c.is(e) {
				found = true
				leadsTo(t, e)
			}
		}
		if !found {
			t.Errorf("no row %v", c)
		}
	}
}

// checked is a row of the second reading by its columns.
type checked map[string]string

// is reports whether a row of the library is the one read again, which names
// a substance without its form.
func (c checked) is(e limits.Entry) bool {
	value, err := strconv.ParseFloat(c["value"], 64)
	printed := map[string]float64{e.Unit.Name: e.Value, "ppm": e.ValuePPM.Value, "mg/m3": e.ValueMgM3.Value}
	return err == nil && c["kind"] == string(e.Kind) && c["authority"] == e.Authority && c["instrument"] == e.Instrument &&
		strings.HasPrefix(e.Analyte, c["substance"]) && printed[c["unit"]] == value &&
		(c["minutes"] == "" || c["minutes"] == trim(e.AveragingMin))
}

// leadsTo checks that the row's own names and numbers find it.
func leadsTo(t *testing.T, e limits.Entry) {
	t.Helper()
	o := limits.Options{Authorities: []string{e.Authority}, Sector: limits.General, On: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)}
	if len(e.Sectors) > 0 {
		o.Sector = e.Sectors[0]
	}
	if day := cmp.Or(e.ValidTo, e.ValidFrom); day != "" {
		o.On, _ = time.Parse(time.DateOnly, day)
	}
	has := func(m limits.Match) bool {
		return slices.ContainsFunc(m.Limits, func(l *limits.Limit) bool {
			return l.Instrument == e.Instrument && l.Kind == e.Kind && l.Value == e.Value && l.Unit == e.Unit
		})
	}
	for _, name := range append([]string{e.Analyte}, e.Synonyms...) {
		if !has(limits.Find(name, "", e.Form, o)) || !has(limits.Find(strings.ToUpper(name), "", e.Form, o)) {
			t.Errorf("%q does not find %s %s %s", name, e.Authority, e.Analyte, e.Kind)
		}
	}
	for cas := range strings.SplitSeq(e.CAS, "; ") {
		if m := limits.Find("", cas, e.Form, o); cas != "" && !has(m) && !slices.Contains(m.Near, e.Analyte) {
			t.Errorf("%s neither finds nor suggests %s %s %s", cas, e.Authority, e.Analyte, e.Kind)
		}
	}
}

func readCheck(t *testing.T) []checked {
	t.Helper()
	f, err := os.Open("../testdata/reference/limits_check.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in := csv.NewReader(f)
	in.Comment = '#'
	records, err := in.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []checked
	for _, r := range records[1:] {
		c := checked{}
		for i, column := range records[0] {
			c[column] = r[i]
		}
		out = append(out, c)
	}
	return out
}

// TestEveryNameFindsItsRow: no compared row is out of reach of its own name,
// in its own form, sector and time.
func TestEveryNameFindsItsRow(t *testing.T) {
	for _, e := range limits.Embedded().Entries() {
		if e.Use == limits.Compared {
			leadsTo(t, e)
		}
	}
}

// TestNoRowInAnotherForm asks for every substance in every form: only rows of
// that form answer, but for a gas's parts per million and a substance that is
// a fume by name.
func TestNoRowInAnotherForm(t *testing.T) {
	forms := []string{"total", "respirable", "inhalable", "thoracic", "vapour", "fume", "dust and vapour", "benzene-soluble", "no such form"}
	ofLimit := map[*limits.Limit]*limits.Entry{}
	entries := limits.Embedded().Entries()
	for i := range entries {
		ofLimit[&entries[i].Limit] = &entries[i]
	}
	before := ""
	for _, e := range entries {
		if e.Analyte == before {
			continue
		}
		before = e.Analyte
		for _, form := range forms {
			for _, l := range limits.Find(e.Analyte, "", form, limits.Options{Authorities: authorities, Sector: limits.General}).Limits {
				gas := l.Unit == limits.PartsPerMillion && (form == "total" || form == "vapour")
				fume := form == "fume" && l.Form == "total" && strings.HasSuffix(l.Analyte, " fume")
				if l.Form != form && !slices.Contains(ofLimit[l].AlsoForms, form) && !gas && !fume {
					t.Errorf("%s in the form %s meets %s %s, %s", e.Analyte, form, l.Authority, l.Analyte, l.Form)
				}
			}
		}
	}
}

// TestMetalsApart: what a limit is expressed as, and which compound it is for,
// is never taken for another, in any list.
func TestMetalsApart(t *testing.T) {
	o := limits.Options{Authorities: authorities, Sector: limits.General, On: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)}
	forms := []string{"total", "respirable", "inhalable", "fume", "vapour"}
	for analyte, word := range map[string]string{
		"Chromium": "(VI)", "Chromium, total": "(VI)", "Chromium (as Cr)": "(VI)",
		"Chromium (VI)": "metal", "Hexavalent chromium": "metal",
		"Iron": "ron", "Iron (as Fe)": "xide", "Zinc": "inc", "Magnesium": "agnesium", "Titanium": "itanium",
		"Mercury": "alkyl", "Nickel": "carbonyl", "Lead": "ethyl", "Osmium tetroxide": "as Os", "Sodium cyanide": "yanide",
		"Tetraethyl lead": "lead", "Selenium": "exafluoride", "Arsenic": "organic compounds", "Diisocyanates": "NCO",
	} {
		for _, form := range forms {
			for _, l := range limits.Find(analyte, "", form, o).Limits {
				if strings.Contains(l.Analyte, word) {
					t.Errorf("%s, %s, meets %s %s", analyte, form, l.Authority, l.Analyte)
				}
			}
		}
	}
}

// TestStepsOfTheEU: a dated step takes effect on its day, the stricter value
// on the day itself. Source: Directives 2004/37/EC, 98/24/EC and 2009/148/EC
// as amended; the dates of (EU) 2022/431 and of the transposition of (EU)
// 2024/869 are from memory.
func TestStepsOfTheEU(t *testing.T) {
	for _, c := range []struct{ analyte, form, day, want string }{
		{"Benzene", "", "2024-04-04", "EU TWA8 1 ppm"},
		{"Benzene", "", "2024-04-05", "EU TWA8 0.5 ppm"},
		{"Benzene", "", "2026-04-04", "EU TWA8 0.5 ppm"},
		{"Benzene", "", "2026-04-05", "EU TWA8 0.2 ppm"},
		{"Chromium (VI)", "", "2025-01-16", "EU TWA8 0.01 mg/m3"},
		{"Chromium (VI)", "", "2025-01-17", "EU TWA8 0.005 mg/m3"},
		{"Cadmium", "inhalable", "2027-07-10", "EU TWA8 0.004 mg/m3"},
		{"Cadmium", "inhalable", "2027-07-11", "EU TWA8 0.001 mg/m3"},
		{"Beryllium", "inhalable", "2026-07-10", "EU TWA8 0.0006 mg/m3"},
		{"Beryllium", "inhalable", "2026-07-11", "EU TWA8 0.0002 mg/m3"},
		{"Diisocyanates (as NCO)", "", "2028-12-31", "EU TWA8 10 ug/m3, EU STEL 20 ug/m3"},
		{"Diisocyanates (as NCO)", "", "2029-01-01", "EU TWA8 6 ug/m3, EU STEL 12 ug/m3"},
		{"Asbestos", "", "2025-12-20", "EU TWA8 0.1 f/cc"},
		{"Asbestos", "", "2025-12-21", "EU TWA8 0.01 f/cc"},
		{"Nickel compounds", "inhalable", "2025-01-16", "EU TWA8 0.1 mg/m3"},
		{"Nickel compounds", "inhalable", "2025-01-17", "EU TWA8 0.05 mg/m3"},
		{"Lead", "inhalable", "2026-04-08", "EU TWA8 0.15 mg/m3"},
		{"Lead", "inhalable", "2026-04-09", "EU TWA8 0.03 mg/m3"},
		{"Bisphenol A", "inhalable", "2018-08-20", "EU TWA8 10 mg/m3"},
		{"Bisphenol A", "inhalable", "2020-01-01", "EU TWA8 2 mg/m3"},
		{"NMP", "", "2024-04-04", "EU TWA8 10 ppm, EU STEL 20 ppm"},
		{"NMP", "", "2024-04-05", "EU TWA8 10 ppm, EU STEL 20 ppm"},
		{"Acrylonitrile", "", "2026-04-04", ""},
		{"Acrylonitrile", "", "2026-04-05", "EU TWA8 0.45 ppm, EU STEL 1.8 ppm"},
	} {
		on, err := time.Parse(time.DateOnly, c.day)
		if err != nil {
			t.Fatal(err)
		}
		m := limits.Find(c.analyte, "", c.form, limits.Options{Authorities: []string{"EU"}, Sector: limits.General, On: on})
		if got := strings.Join(shown(m), ", "); got != c.want {
			t.Errorf("%s on %s: %q; want %q", c.analyte, c.day, got, c.want)
		}
	}
}

// TestTodayWhereNoDayIsGiven: a survey that states no day is compared with
// what holds today.
func TestTodayWhereNoDayIsGiven(t *testing.T) {
	o := limits.Options{Authorities: []string{"EU"}, Sector: limits.General}
	without := shown(limits.Find("Benzene", "", "", o))
	o.On = time.Now()
	if today := shown(limits.Find("Benzene", "", "", o)); !slices.Equal(without, today) || len(today) != 1 {
		t.Errorf("without a day %q, today %q", without, today)
	}
}

// TestListedIsNotCompared: a particle count or a formula is shown, and no
// mass is compared with it. Source: 29 CFR 1910.1000 Table Z-3.
func TestListedIsNotCompared(t *testing.T) {
	o := limits.Options{Authorities: []string{"OSHA"}, Sector: limits.General}
	for name, count := range map[string]int{"Mica": 1, "Soapstone": 1, "Amorphous silica": 2} {
		m := limits.Find(name, "", "", o)
		if len(m.Limits) > 0 || len(m.Listed) != count {
			t.Errorf("%s: limits %q, %d listed; want none and %d", name, shown(m), len(m.Listed), count)
		}
		for _, near := range m.Near {
			if strings.Contains(near, ", form ") {
				t.Errorf("%s: suggests %q, which is not compared with", name, near)
			}
		}
	}
	if m := limits.Find("Portland cement", "", "total", o); fmt.Sprint(shown(m)) != "[OSHA TWA8 15 mg/m3]" || len(m.Listed) != 1 {
		t.Errorf("portland cement: %q, %d listed", shown(m), len(m.Listed))
	}
}
