package limits_test

import (
	"slices"
	"strings"
	"testing"

	"airtally/limits"
)

// shown shows limits as "OSHA TWA8 5 ug/m3", in order.
func shown(m limits.Match) []string {
	var out []string
	for _, l := range m.Limits {
		out = append(out, strings.Join([]string{l.Authority, string(l.Kind), trim(l.Value), l.Unit.Name}, " "))
	}
	return out
}

// TestFind looks names up as laboratories and people write them. The values
// are those of the instruments, for general industry.
func TestFind(t *testing.T) {
	chromiumSix := []string{"OSHA TWA8 5 ug/m3", "OSHA ACTION 2.5 ug/m3", "NIOSH TWA8 0.0002 mg/m3"}
	chromium := []string{"OSHA TWA8 1 mg/m3", "NIOSH TWA10 0.5 mg/m3"}
	manganese := []string{"OSHA CEILING 5 mg/m3", "NIOSH TWA10 1 mg/m3", "NIOSH STEL 3 mg/m3"}
	nickel := []string{"OSHA TWA8 1 mg/m3", "NIOSH TWA10 0.015 mg/m3"}
	lead := []string{"OSHA TWA8 50 ug/m3", "OSHA ACTION 30 ug/m3", "NIOSH TWA8 0.05 mg/m3"}
	toluene := []string{"OSHA TWA8 200 ppm", "OSHA CEILING 300 ppm", "OSHA PEAK 500 ppm", "NIOSH TWA10 100 ppm", "NIOSH STEL 150 ppm"}
	silica := []string{"OSHA TWA8 50 ug/m3", "OSHA ACTION 25 ug/m3", "NIOSH TWA10 0.05 mg/m3"}
	ketone := []string{"OSHA TWA8 200 ppm", "NIOSH TWA10 200 ppm", "NIOSH STEL 300 ppm"}
	xylenes := []string{"OSHA TWA8 100 ppm", "NIOSH TWA10 100 ppm", "NIOSH STEL 150 ppm"}
	for _, c := range []struct {
		analyte, cas, form string
		want               []string
	}{
		{"Chromium (VI)", "18540-29-9", "", chromiumSix},
		{"Chromium (VI) (as Cr)", "", "total", chromiumSix},
		{"Hexavalent chromium", "", "", chromiumSix},
		{"Chromium, hexavalent", "", "", chromiumSix},
		{"Hexavalent Chromium as Cr(VI)", "", "", chromiumSix},
		{"Cr(VI)", "", "", chromiumSix},
		{"Cr⁶⁺", "", "", chromiumSix},
		{"A salt", "18540-29-9", "", chromiumSix},
		{"Chromium", "7440-47-3", "", chromium},
		{"CHROMIUM, TOTAL", "", "", chromium},
		{"Chromium (Cr)", "", "", chromium},
		{"Lead", "7439-92-1", "", lead},
		{"Lead, as Pb", "", "", lead},
		{"A dross", "7439-92-1", "", lead},
		{"Manganese", "7439-96-5", "", manganese},
		{"Manganese (Mn)", "", "", manganese},
		{"Nickel", "7440-02-0", "", nickel},
		{"Iron oxide fume", "1309-37-1", "", []string{"OSHA TWA8 10 mg/m3"}},
		{"Iron oxide (as Fe)", "1309-37-1", "", []string{"NIOSH TWA10 5 mg/m3"}},
		{"Fe₂O₃", "", "", []string{"OSHA TWA8 10 mg/m3"}},
		{"Copper", "7440-50-8", "", []string{"OSHA TWA8 1 mg/m3", "NIOSH TWA10 1 mg/m3"}},
		{"Copper", "7440-50-8", "fume", []string{"OSHA TWA8 0.1 mg/m3", "NIOSH TWA10 0.1 mg/m3"}},
		{"Copper fume", "7440-50-8", "fume", []string{"OSHA TWA8 0.1 mg/m3", "NIOSH TWA10 0.1 mg/m3"}},
		{"Vanadium", "7440-62-2", "", []string{"NIOSH CEILING 0.05 mg/m3"}},
		{"Vanadium pentoxide", "1314-62-1", "fume", []string{"OSHA CEILING 0.1 mg/m3"}},
		{"Aluminium", "7429-90-5", "Respirable", []string{"OSHA TWA8 5 mg/m3", "NIOSH TWA10 5 mg/m3"}},
		{"α-alumina", "", "respirable", []string{"OSHA TWA8 5 mg/m3"}},
		{"Quartz", "14808-60-7", "respirable", silica},
		{"Respirable crystalline silica", "", "respirable", silica},
		{"Particulates", "", "", []string{"OSHA TWA8 15 mg/m3"}},
		{"Particulates", "", "respirable", []string{"OSHA TWA8 5 mg/m3"}},
		{"Toluene", "108-88-3", "", toluene},
		{"toluene", "", "vapour", toluene},
		{"Toluene", "", "gas", toluene},
		{"Unnamed solvent", "108-88-3", "", toluene},
		{"Methyl ethyl ketone", "", "", ketone},
		{"Methyl ethyl ketone (MEK)", "78-93-3", "", ketone},
		{"Xylenes", "", "", xylenes},
		{"Xylene (total)", "", "", xylenes},
		{"Chlorine", "7782-50-5", "", []string{"OSHA CEILING 1 ppm", "NIOSH CEILING 0.5 ppm"}},
		{"CO", "630-08-0", "", []string{"OSHA TWA8 50 ppm", "NIOSH TWA10 35 ppm", "NIOSH CEILING 200 ppm"}},
		{"Benzene", "71-43-2", "", []string{"OSHA TWA8 1 ppm", "OSHA STEL 5 ppm", "OSHA ACTION 0.5 ppm", "NIOSH TWA10 0.1 ppm", "NIOSH STEL 1 ppm"}},
	} {
		if got := shown(limits.Find(c.analyte, c.cas, c.form, limits.DefaultOptions())); !slices.Equal(got, c.want) {
			t.Errorf("%q %s %s finds %q; want %q", c.analyte, c.cas, c.form, got, c.want)
		}
	}
}

// TestFindsNothing: no limit is met by likeness, by the wrong form, by what a
// limit is not expressed as, or by a CAS number of several substances.
func TestFindsNothing(t *testing.T) {
	for _, c := range []struct {
		analyte, cas, form string
		near               string // one of the suggestions; "" for none at all
		conflict           bool
	}{
		{"Iron", "7439-89-6", "", "Iron oxide fume", false},
		{"Zinc", "7440-66-6", "", "Zinc oxide", false},
		{"Titanium", "7440-32-6", "", "Titanium dioxide", false},
		{"Chlorin", "", "", "Chlorine", false}, // suggested, not applied
		{"Vinyl chlorine", "", "", "Vinyl chloride", false},
		{"Tolune", "", "", "Toluene", false},
		{"o-Xylene", "95-47-6", "", "Xylenes", false}, // the limit is on the sum
		{"Toluene", "108-88-3", "respirable", "Toluene, form total", false},
		{"Copper", "7440-50-8", "inhalable", "Copper, form fume", false},
		{"Respirable dust", "", "", "Particulates not otherwise regulated (PNOR), form respirable", false},
		{"Quartz", "14808-60-7", "total", "Silica, crystalline, form respirable", false},
		{"Iron oxide (as Fe3O4)", "", "", "Iron oxide fume", false},
		{"Zinc oxide (as Zn)", "1314-13-2", "", "Zinc oxide", false},
		{"Some nickel salt", "7440-02-0", "", "Nickel, soluble compounds (as Ni)", false},
		{"Some tin", "7440-31-5", "", "Tin, organic compounds (as Sn)", false},
		{"Pyro", "1314-62-1", "fume", "Vanadium compounds (as V)", false}, // as V2O5 or as V
		{"Chromium", "18540-29-9", "", "Chromium (VI) (as Cr)", true},
		{"Hexavalent chromium", "7440-47-3", "", "Chromium metal (as Cr)", true},
		{"Toluene", "100-41-4", "", "Ethyl benzene", true},
		{"Co", "", "", "", false},                                            // cobalt or carbon monoxide
		{"Chromic acid and chromates (as CrO3)", "1333-82-0", "", "", false}, // only where 1910.1026 is not in effect
		{"", "", "", "", false},
		{"(", "", "", "", false},
	} {
		m := limits.Find(c.analyte, c.cas, c.form, limits.DefaultOptions())
		if len(m.Limits) > 0 || m.Conflict != c.conflict || (c.near == "") != (len(m.Near) == 0) || c.near != "" && !slices.Contains(m.Near, c.near) {
			t.Errorf("%q %s %s finds %q, conflict %v, near %q; want near %q", c.analyte, c.cas, c.form, shown(m), m.Conflict, m.Near, c.near)
		}
	}
}

// TestNoNumberIsNoPass: a carcinogen without a number is said to have none.
func TestNoNumberIsNoPass(t *testing.T) {
	o := limits.DefaultOptions()
	m := limits.Find("Tetrachloroethylene", "127-18-4", "vapour", o)
	if len(m.NoNumber) != 1 || m.NoNumber[0].Authority != "NIOSH" || len(m.Limits) != 3 {
		t.Errorf("tetrachloroethylene: %d without number, %q", len(m.NoNumber), shown(m))
	}
	for _, l := range m.Limits {
		if !(l.Value > 0) {
			t.Errorf("a limit of %v is compared with", l.Value)
		}
	}
	if m := limits.Find("Welding fume", "", "", o); len(m.NoNumber) != 1 || len(m.Limits) != 0 {
		t.Errorf("welding fume: %d without number, %q", len(m.NoNumber), shown(m))
	}
}

// TestScope: the sector chooses the instrument, the authorities their order.
func TestScope(t *testing.T) {
	o := limits.Options{Authorities: []string{" niosh ", "osha"}, Sector: limits.Construction}
	want := []string{"NIOSH TWA10 100 ppm", "NIOSH STEL 150 ppm", "OSHA TWA8 200 ppm"} // 1926.55: no ceiling
	if got := shown(limits.Find("Toluene", "", "", o)); !slices.Equal(got, want) {
		t.Errorf("construction: %q; want %q", got, want)
	}
	o = limits.Options{Authorities: []string{"House guideline"}, Sector: limits.General}
	if got := shown(limits.Find("Toluene", "", "", o)); got != nil {
		t.Errorf("no authority of the library, yet %q", got)
	}
	o = limits.Options{Authorities: []string{"OSHA"}, Sector: limits.Maritime}
	for analyte, want := range map[string][]string{
		"Beryllium":          {"OSHA TWA8 0.2 ug/m3", "OSHA STEL 2 ug/m3", "OSHA ACTION 0.1 ug/m3"}, // not the 2 ug/m3 of 1915.1000
		"Methylene chloride": {"OSHA TWA8 25 ppm", "OSHA STEL 125 ppm", "OSHA ACTION 12.5 ppm"},
		"Hydrogen sulfide":   {"OSHA TWA8 10 ppm"},
		"Lead":               {"OSHA TWA8 50 ug/m3", "OSHA ACTION 30 ug/m3"},
	} {
		if got := shown(limits.Find(analyte, "", "", o)); !slices.Equal(got, want) {
			t.Errorf("maritime %s: %q; want %q", analyte, got, want)
		}
	}
}

// TestOthers: where one CAS number has several limits, those not met are named.
func TestOthers(t *testing.T) {
	m := limits.Find("Molybdenum", "7439-98-7", "", limits.DefaultOptions())
	if got := shown(m); !slices.Equal(got, []string{"OSHA TWA8 15 mg/m3"}) {
		t.Errorf("molybdenum finds %q", got)
	}
	if !slices.Equal(m.Others, []string{"Molybdenum (as Mo), soluble compounds"}) {
		t.Errorf("others of molybdenum: %q", m.Others)
	}
}

func FuzzFind(f *testing.F) {
	f.Add("Chromium (as Cr)", "18540-29-9", "total")
	f.Add("x (as ", "--", "")
	f.Add("ſ as Kr\xff(", "0", "\x00")
	f.Fuzz(func(t *testing.T, analyte, cas, form string) {
		for _, l := range limits.Find(analyte, cas, form, limits.DefaultOptions()).Limits {
			if !(l.Value > 0) {
				t.Errorf("%q %q %q finds a limit of %v", analyte, cas, form, l.Value)
			}
		}
	})
}

func BenchmarkFind(b *testing.B) {
	o := limits.DefaultOptions()
	for b.Loop() {
		limits.Find("Chromium (VI)", "18540-29-9", "total", o)
	}
}
