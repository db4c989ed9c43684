package limits_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"airtally/limits"
)

// TestLibraryRows checks each row by itself.
func TestLibraryRows(t *testing.T) {
	kinds := []limits.Kind{limits.TWA8, limits.TWA10, limits.STEL, limits.Ceiling, limits.Peak, limits.Action}
	forms := []string{"total", "respirable", "inhalable", "thoracic", "vapour", "dust and vapour", "fume",
		"benzene-soluble", "cyclohexane-extractable", "lint-free respirable"}
	sectors := []limits.Sector{limits.General, limits.Construction, limits.Maritime}
	for _, e := range limits.Embedded().Entries() {
		fault := func(format string, args ...any) {
			t.Helper()
			t.Errorf("%s %s %s: "+format, append([]any{e.Analyte, e.Instrument, e.Kind}, args...)...)
		}
		if !slices.Contains(kinds, e.Kind) || !slices.Contains(forms, e.Form) {
			fault("kind %q, form %q", e.Kind, e.Form)
		}
		if e.Instrument == "" || !slices.Contains([]string{"seen", "corroborated", "memory"}, e.Status) {
			fault("instrument %q, status %q", e.Instrument, e.Status)
		}
		if memory := e.Status == limits.FromMemory; memory != strings.HasSuffix(e.Source, "value from memory: check the official text") ||
			memory && e.Authority != "NIOSH" && e.Authority != "EU" {
			fault("status %s, source %q", e.Status, e.Source)
		}
		if !validDay(e.ValidFrom) || !validDay(e.ValidTo) || e.ValidTo != "" && e.ValidFrom > e.ValidTo {
			fault("valid from %q to %q", e.ValidFrom, e.ValidTo)
		}
		switch e.Use {
		case limits.Compared:
			if !(e.Value > 0) || math.IsInf(e.Value, 1) || !slices.Contains(limits.Units, e.Unit) {
				fault("value %v %q", e.Value, e.Unit.Name)
			}
		case limits.Listed:
			if e.Note == "" && e.UnitOther != "mppcf" {
				fault("nothing says why it is not compared with")
			}
		case limits.NoNumber:
			if e.Value != 0 || e.ValueOther != "none" {
				fault("no number, yet %v and %q", e.Value, e.ValueOther)
			}
		case limits.Conditional:
			if !strings.Contains(e.Note, "in effect") && !strings.Contains(e.Note, "specific standard") &&
				!strings.Contains(e.Note, "by reference") && !strings.Contains(e.Note, "exempt") {
				fault("no condition in the note %q", e.Note)
			}
		default:
			fault("use %q", e.Use)
		}
		for _, s := range e.Sectors {
			if !slices.Contains(sectors, s) {
				fault("sector %q", s)
			}
		}
		if !(e.MolarVolume > 24) || e.MolarVolume > 24.5 || e.Source == "" {
			fault("%v L/mol, source %q", e.MolarVolume, e.Source)
		}
		if e.AveragingMin <= 0 || e.Kind == limits.TWA8 && e.AveragingMin != 480 || e.Kind == limits.Action && e.AveragingMin != 480 {
			fault("averaged over %v min", e.AveragingMin)
		}
		for cas := range strings.SplitSeq(e.CAS, "; ") {
			if cas != "" && !validCAS(cas) {
				fault("CAS %q", cas)
			}
		}
	}
}

// validDay reports whether a text is empty or a day.
func validDay(text string) bool {
	_, err := time.Parse(time.DateOnly, text)
	return text == "" || err == nil
}

// validCAS checks the last digit of a CAS registry number: the sum of the
// others, each times its place from the right, modulo 10. Source: the rule of
// the registry, from memory.
func validCAS(cas string) bool {
	digits := strings.ReplaceAll(cas, "-", "")
	sum := 0
	for i := range len(digits) - 1 {
		sum += int(digits[i]-'0') * (len(digits) - 1 - i)
	}
	return strings.Count(cas, "-") == 2 && sum%10 == int(digits[len(digits)-1]-'0')
}

func TestCASCheckDigit(t *testing.T) {
	for cas, want := range map[string]bool{"108-88-3": true, "108-88-4": false, "65996-93-2": true, "65966-93-2": false} {
		if validCAS(cas) != want {
			t.Errorf("validCAS(%s) is not %v", cas, want)
		}
	}
}

// TestComparators: action levels are reached at their value, but the band of
// inorganic arsenic begins strictly above (29 CFR 1910.1018(e)(3)); all limits
// are exceeded only above, but one that NIOSH lists as "less than".
func TestComparators(t *testing.T) {
	for _, e := range limits.Embedded().Entries() {
		want := limits.Above
		if e.Kind == limits.Action && !strings.Contains(e.Instrument, "1910.1018") || strings.Contains(e.Note, "listed as less than") {
			want = limits.AtOrAbove
		}
		if e.Comparator != want {
			t.Errorf("%s %s %s: comparator %v", e.Analyte, e.Instrument, e.Kind, e.Comparator)
		}
	}
}

// printedSo are the pairs whose mg/m³ is further from the ppm than rounding
// explains: the instruments print them so. The ppm govern.
var printedSo = map[string]string{
	"Cal/OSHA Acetone cyanohydrin 4.7 ppm":                 "the mg/m3 are of CN, the ppm of the molecule",
	"Cal/OSHA Acrolein 0.1 ppm":                            "rounded up",
	"Cal/OSHA Ammonia 35 ppm":                              "an older figure kept",
	"EU 2-Ethoxyethanol 2 ppm":                             "rounded up",
	"EU Pyridine 5 ppm":                                    "an older figure kept",
	"EU o-Toluidine 0.1 ppm":                               "rounded up",
	"NIOSH 1,1,2-Trichloroethane 10 ppm":                   "an older figure kept",
	"NIOSH Acrolein 0.1 ppm":                               "rounded up",
	"NIOSH Acrolein 0.3 ppm":                               "rounded up",
	"NIOSH Ammonia 35 ppm":                                 "an older figure kept",
	"NIOSH Bromine 0.1 ppm":                                "rounded up",
	"NIOSH Chlorine dioxide 0.1 ppm":                       "rounded up",
	"NIOSH Chlorine dioxide 0.3 ppm":                       "rounded up",
	"NIOSH Ethanolamine 3 ppm":                             "rounded up",
	"NIOSH Hydrogen sulfide 10 ppm":                        "an older figure kept",
	"NIOSH Pyridine 5 ppm":                                 "an older figure kept",
	"OSHA 1,1,2-Trichloroethane 10 ppm":                    "an older figure kept",
	"OSHA Acrolein 0.1 ppm":                                "rounded up",
	"OSHA Bromine 0.1 ppm":                                 "rounded up",
	"OSHA Butyl mercaptan 0.5 ppm":                         "an older figure kept",
	"OSHA Chlorine dioxide 0.1 ppm":                        "rounded up",
	"OSHA Decaborane 0.05 ppm":                             "rounded up",
	"OSHA Diazomethane 0.2 ppm":                            "rounded up",
	"OSHA Dibutyl phosphate 1 ppm":                         "an older figure kept",
	"OSHA Ethanolamine 3 ppm":                              "an older figure kept",
	"OSHA Hydrogen sulfide 10 ppm":                         "an older figure kept",
	"OSHA Isopropyl acetate 250 ppm":                       "an older figure kept",
	"OSHA Methyl hydrazine (Monomethyl hydrazine) 0.2 ppm": "rounded down",
	"OSHA Perchloryl fluoride 3 ppm":                       "an older figure kept",
	"OSHA Pyridine 5 ppm":                                  "an older figure kept",
}

// TestPairsAgree compares mg/m³ with ppm where a list prints both, at the
// molar volume of its authority. The column beside ppm is approximate (29 CFR
// 1910.1000 Table Z-1, note b): it is rounded to a figure or two, so to within
// 6 %, or half a unit of its last figure.
func TestPairsAgree(t *testing.T) {
	pairs, met := 0, map[string]bool{}
	for _, e := range limits.Embedded().Entries() {
		if !e.ValuePPM.Known || !e.ValueMgM3.Known {
			continue
		}
		pairs++
		if e.Use == limits.Compared && e.Unit != limits.PartsPerMillion {
			t.Errorf("%s %s: ppm must govern", e.Analyte, e.Instrument)
		}
		if !e.MolecularWeight.Known {
			if !slices.Contains(mixtures, e.Analyte) {
				t.Errorf("%s %s: no molecular weight", e.Analyte, e.Instrument)
			}
			continue
		}
		computed := float64(limits.PPM(e.ValuePPM.Value).MgPerM3(e.MolarVolume, e.MolecularWeight.Value))
		off := math.Abs(computed - e.ValueMgM3.Value)
		last := math.Pow(10, math.Floor(math.Log10(e.ValueMgM3.Value)))
		agree := off <= 0.06*computed || off <= last/2 && e.ValueMgM3.Value == last*math.Round(e.ValueMgM3.Value/last)
		pair := fmt.Sprintf("%s %s %v ppm", e.Authority, e.Analyte, e.ValuePPM.Value)
		if _, known := printedSo[pair]; agree == known {
			t.Errorf("%s, %s: is %.4g mg/m3, printed %v", pair, e.Instrument, computed, e.ValueMgM3.Value)
		}
		met[pair] = true
	}
	if pairs < 900 {
		t.Errorf("only %d pairs", pairs)
	}
	for pair := range printedSo {
		if !met[pair] {
			t.Errorf("no pair %s", pair)
		}
	}
}

func TestNoKeyTwice(t *testing.T) {
	seen := map[string]bool{}
	for _, e := range limits.Embedded().Entries() {
		key := fmt.Sprint(e.Analyte, "|", e.Form, "|", e.As, "|", e.Instrument, "|", e.Kind, "|", e.AveragingMin, "|", e.Unit.Name, e.UnitOther, "|", e.ValidFrom)
		if seen[key] {
			t.Errorf("twice: %s", key)
		}
		seen[key] = true
	}
}

// TestEveryNameIsSingle: no name and no CAS number leads to two limits of one
// authority and kind, in any sector and form, on any day; and a name that
// several authorities use is one substance, by CAS number.
func TestEveryNameIsSingle(t *testing.T) {
	type question struct {
		name, cas, form string
		sector          limits.Sector
		day             string
	}
	asked := map[question]bool{}
	for _, e := range limits.Embedded().Entries() {
		sectors := e.Sectors
		if len(sectors) == 0 {
			sectors = []limits.Sector{limits.General, limits.Construction, limits.Maritime}
		}
		for _, sector := range sectors {
			for _, day := range days(e) {
				for _, name := range append([]string{e.Analyte}, e.Synonyms...) {
					asked[question{name, "", e.Form, sector, day}] = true
				}
				for cas := range strings.SplitSeq(e.CAS, "; ") {
					asked[question{"a name no list has", cas, e.Form, sector, day}] = true
				}
			}
		}
	}
	for q := range asked {
		on, err := time.Parse(time.DateOnly, q.day)
		if err != nil {
			t.Fatal(err)
		}
		single(t, q.name, q.cas, q.form, limits.Options{Authorities: authorities, Sector: q.sector, On: on})
	}
}

var authorities = []string{"OSHA", "NIOSH", "EU", "Cal/OSHA", "UK HSE"}

// days returns days on which the row is or is not in force, and the ends of
// its time.
func days(e limits.Entry) []string {
	out := []string{"2026-11-25"}
	for _, day := range []string{e.ValidFrom, e.ValidTo} {
		if day != "" {
			out = append(out, day)
		}
	}
	return out
}

func single(t *testing.T, name, cas, form string, o limits.Options) {
	t.Helper()
	seen := map[string]*limits.Limit{}
	numbers := map[string]bool{}
	for _, l := range limits.Find(name, cas, form, o).Limits {
		key := fmt.Sprint(l.Authority, l.Kind, l.AveragingMin)
		if other := seen[key]; other != nil {
			t.Errorf("%s %s (%s, %s) meets %s %s and %s %s", name, cas, form, o.Sector, other.Analyte, other.Instrument, l.Analyte, l.Instrument)
		}
		seen[key] = l
		if l.CAS != "" && !strings.Contains(l.CAS, ";") {
			numbers[l.CAS] = true
		}
	}
	if len(numbers) > 1 && !numbers["1317-38-0"] && !numbers["14808-60-7"] { // copper fume goes by the oxide's number
		t.Errorf("%s %s (%s): limits of several CAS numbers %v", name, cas, form, numbers)
	}
}

// TestWeights: a limit expressed as an element or oxide has that molecular
// weight, but for the lists that print a compound's number.
func TestWeights(t *testing.T) {
	compound := map[string]bool{"Iron oxide dust and fume (as Fe)": true, "Vanadium compounds (as V)": true, "tert-Butyl chromate (as CrO3)": true, "Tin oxide (as Sn)": true,
		"Osmium tetroxide (as Os)": true, "Tetraethyl lead (as Pb)": true, "Tetramethyl lead (as Pb)": true, "Sodium cyanide (as CN)": true, "Potassium cyanide (as CN)": true}
	for _, e := range limits.Embedded().Entries() {
		if e.As == "" || !e.MolecularWeight.Known {
			continue
		}
		mass, err := limits.MolarMass(e.As)
		if err != nil || (math.Abs(mass-e.MolecularWeight.Value) > 0.02) != compound[e.Analyte] {
			t.Errorf("%s as %s: weight %v, of the formula %v (%v)", e.Analyte, e.As, e.MolecularWeight.Value, mass, err)
		}
	}
	for _, c := range []struct {
		name, cas string
		want      float64 // 0: not known
	}{
		{"o-Xylene", "95-47-6", 106.168},
		{"m,p-Xylene", "", 106.168},
		{"Xylenes", "1330-20-7", 106.17},
		{"Some solvent", "108-88-3", 92.14},
		{"Some solvent", "0000108-88-3", 92.14},
		{"TOLUENE", "", 92.14},
		{"Vanadium", "7440-62-2", 0}, // the list gives the pentoxide's
		{"Nickel carbonyl", "13463-39-3", 170.73},
		{"Nickel carbonyl (as Ni)", "13463-39-3", 0}, // not the carbonyl's
		{"A mixture", "", 0},
	} {
		if w := limits.Weight(c.name, c.cas); w.Known != (c.want != 0) || math.Abs(w.Value-c.want) > 1e-9 {
			t.Errorf("weight of %q %s is %v; want %v", c.name, c.cas, w, c.want)
		}
	}
}

// TestPublishedValues holds the library against what the instruments print,
// read again in their texts; status seen unless said.
func TestPublishedValues(t *testing.T) {
	for _, c := range []struct {
		substance  string
		form       string
		kind       limits.Kind
		value      float64
		unit       limits.Unit
		instrument string
	}{
		{"Manganese fume (as Mn)", "total", limits.Ceiling, 5, limits.MilligramsPerM3, "29 CFR 1910.1000 Table Z-1"},
		{"Hydrogen sulfide", "total", limits.Ceiling, 10, limits.PartsPerMillion, "NIOSH Pocket Guide (REL)"},
		{"Methylene chloride", "total", limits.TWA8, 25, limits.PartsPerMillion, "29 CFR 1910.1052(c)(1)"},
		{"Chromium (VI) (as Cr)", "total", limits.TWA8, 5, limits.MicrogramsPerM3, "29 CFR 1910.1026(c)"},
		{"Chromium (VI) (as Cr)", "total", limits.Action, 2.5, limits.MicrogramsPerM3, "29 CFR 1910.1026(b)"},
		{"Beryllium and beryllium compounds (as Be)", "total", limits.STEL, 2, limits.MicrogramsPerM3, "29 CFR 1910.1024(c)(2)"},
		{"Copper", "fume", limits.TWA8, 0.1, limits.MilligramsPerM3, "29 CFR 1910.1000 Table Z-1"},
		{"Copper", "total", limits.TWA8, 1, limits.MilligramsPerM3, "29 CFR 1910.1000 Table Z-1"},
		{"Inert or nuisance dust", "total", limits.TWA8, 15, limits.MilligramsPerM3, "29 CFR 1910.1000 Table Z-3"},
		{"Coke oven emissions", "benzene-soluble", limits.TWA8, 150, limits.MicrogramsPerM3, "29 CFR 1910.1029(c)"},
		{"Vinyl chloride", "total", limits.STEL, 5, limits.PartsPerMillion, "29 CFR 1910.1017(c)(2)"},
		{"Asbestos", "total", limits.TWA8, 0.1, limits.FibresPerCm3, "29 CFR 1910.1001(c)(1)"},
		{"Asbestos", "total", limits.STEL, 1, limits.FibresPerCm3, "29 CFR 1910.1001(c)(2)"},
		{"Toluene", "total", limits.TWA8, 200, limits.PartsPerMillion, "29 CFR 1910.1000 Table Z-2"},
		{"Toluene", "total", limits.Peak, 500, limits.PartsPerMillion, "29 CFR 1910.1000 Table Z-2"},
		{"Toluene", "total", limits.STEL, 150, limits.PartsPerMillion, "NIOSH Pocket Guide (REL)"},
		{"Toluene", "total", limits.TWA10, 100, limits.PartsPerMillion, "NIOSH Pocket Guide (REL)"},
		{"Arsenic, inorganic (as As)", "total", limits.Action, 5, limits.MicrogramsPerM3, "29 CFR 1910.1018(b)"},
		{"Zinc oxide fume", "total", limits.TWA8, 5, limits.MilligramsPerM3, "29 CFR 1915.1000 Table Z-Shipyards"},
		{"Carbon monoxide", "total", limits.TWA8, 50, limits.PartsPerMillion, "29 CFR 1926.55 Table 1"},
		{"Formaldehyde", "total", limits.TWA8, 0.75, limits.PartsPerMillion, "29 CFR 1910.1048(c)(1)"},
		{"Lead, inorganic (as Pb)", "total", limits.Action, 30, limits.MicrogramsPerM3, "29 CFR 1910.1025(b)"},
		{"Lead, inorganic (as Pb)", "total", limits.TWA8, 50, limits.MicrogramsPerM3, "29 CFR 1910.1025(c)(1)"},
		{"Cadmium (as Cd)", "total", limits.TWA8, 5, limits.MicrogramsPerM3, "29 CFR 1910.1027(c)"},
		{"1,3-Butadiene", "total", limits.STEL, 5, limits.PartsPerMillion, "29 CFR 1910.1051(c)(2)"},
		{"Ethylene oxide", "total", limits.STEL, 5, limits.PartsPerMillion, "29 CFR 1910.1047(c)(2)"},
		{"Silica, crystalline (quartz, cristobalite, tridymite)", "respirable", limits.Action, 25, limits.MicrogramsPerM3, "29 CFR 1910.1053(b)"},
	} {
		found := slices.ContainsFunc(limits.Embedded().Entries(), func(e limits.Entry) bool {
			return e.Analyte == c.substance && e.Form == c.form && e.Kind == c.kind && e.Instrument == c.instrument &&
				e.Value == c.value && e.Unit == c.unit && e.Use == limits.Compared
		})
		if !found {
			t.Errorf("no row %+v", c)
		}
	}
}

// TestLeadAlone: only the 8-hour limits of the two lead standards shrink with
// the shift (OSHA letters of 1997 and 1999, seen in part).
func TestLeadAlone(t *testing.T) {
	for _, e := range limits.Embedded().Entries() {
		lead := e.Kind == limits.TWA8 && (e.Instrument == "29 CFR 1910.1025(c)(1)" || e.Instrument == "29 CFR 1926.62(c)(1)")
		if e.ShiftAdjusted != lead {
			t.Errorf("%s %s %s: shift adjusted %v", e.Analyte, e.Instrument, e.Kind, e.ShiftAdjusted)
		}
	}
}

// mixtures of no molecular weight of their own, whose lists print ppm and mg/m³.
var mixtures = []string{"L.P.G. (Liquefied petroleum gas)", "Methyl acetylene-propadiene mixture (MAPP)", "Naphtha (Coal tar)",
	"Petroleum distillates (Naphtha) (Rubber Solvent)", "Phenyl ether-biphenyl mixture, vapor", "Stoddard solvent", "Terphenyl, hydrogenated", "Turpentine"}
