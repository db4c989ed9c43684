package limits_test

import (
	"slices"
	"strings"
	"testing"

	"airtally/limits"
)

// called returns the names of substances.
func called(of []limits.Substance) []string {
	var out []string
	for _, s := range of {
		out = append(out, s.Name)
	}
	return out
}

func search(text string) limits.Found {
	return limits.Embedded().Search(limits.Query{Text: text})
}

func TestSearchFindsWhatIsMeant(t *testing.T) {
	for text, want := range map[string]string{
		"toluene":                   "Toluene",
		"  TOLUENE ":                "Toluene",
		"toluol":                    "Toluene",
		"108-88-3":                  "Toluene",
		"108883":                    "Toluene",
		"108‑88‑3":                  "Toluene", // hyphens that do not break
		"hydrogen sulphide":         "Hydrogen sulfide",
		"h₂s":                       "Hydrogen sulfide",
		"chromium vi":               "Chromium (VI) (as Cr)",
		"Chromium-(VI), as Cr":      "Chromium (VI) (as Cr)",
		"hexavalent chromium":       "Chromium (VI) (as Cr)",
		"Pb":                        "Lead, inorganic (as Pb)",
		"β-chloroprene":             "beta-Chloroprene",
		"Beta Chloroprene":          "beta-Chloroprene",
		"Hydrogen sulfide (H2S)":    "Hydrogen sulfide",
		"lead, inorganic (as Pb)":   "Lead, inorganic (as Pb)",
		"inert or nuisance   dust ": "Inert or nuisance dust",
	} {
		if got := called(search(text).Exact); !slices.Equal(got, []string{want}) {
			t.Errorf("%q finds %q; want %s", text, got, want)
		}
	}
}

// TestSearchPutsRowsOfASubstanceTogether: what several authorities say of
// benzene stands together, the specific standard before the table that holds
// only where it does not.
func TestSearchPutsRowsOfASubstanceTogether(t *testing.T) {
	f := search("benzene")
	if len(f.Exact) != 1 || !slices.Contains(called(f.Partial), "Chlorobenzene") || slices.Contains(called(f.Partial), "Benzene") {
		t.Fatalf("benzene finds %q and %q", called(f.Exact), called(f.Partial))
	}
	rows := f.Exact[0].Entries
	if rows[0].Instrument != "29 CFR 1910.1028(c)(1)" || rows[0].Value != 1 {
		t.Errorf("first row %s %v", rows[0].Instrument, rows[0].Value)
	}
	for _, s := range search("").Exact {
		conditional := map[string]bool{}
		for _, e := range s.Entries {
			if conditional[e.Authority] && e.Use != limits.Conditional {
				t.Errorf("%s: %s comes after a conditional row", s.Name, e.Instrument)
			}
			conditional[e.Authority] = conditional[e.Authority] || e.Use == limits.Conditional
		}
	}
}

// TestSearchKeepsApartWhatAListTellsApart: the forms of copper are one
// substance, under whatever names; the species of mercury and chromium are not.
func TestSearchKeepsApartWhatAListTellsApart(t *testing.T) {
	copper := search("copper").Exact
	if len(copper) != 1 {
		t.Fatalf("copper is %q", called(copper))
	}
	forms := map[string]bool{}
	for _, e := range copper[0].Entries {
		forms[e.Authority+" "+e.Form] = true
	}
	for _, want := range []string{"OSHA fume", "OSHA total", "NIOSH fume", "NIOSH total"} {
		if !forms[want] {
			t.Errorf("no copper of %s", want)
		}
	}
	for _, s := range search("").Exact {
		names := map[string]string{}
		for _, e := range s.Entries {
			key := e.Authority + e.Form
			if other, ok := names[key]; ok && !limits.SameName(other, e.Analyte) {
				t.Errorf("%s puts %s and %s together", s.Name, other, e.Analyte)
			}
			names[key] = e.Analyte
			if s.Entries[0].As != "" && e.As != "" && !limits.SameName(s.Entries[0].As, e.As) {
				t.Errorf("%s is as %s and as %s", s.Name, s.Entries[0].As, e.As)
			}
		}
	}
	for _, e := range search("chromium vi").Exact[0].Entries {
		if !strings.Contains(e.Analyte, "VI") {
			t.Errorf("%s stands with hexavalent chromium", e.Analyte)
		}
	}
}

func TestSearchForPartsOfNames(t *testing.T) {
	if got := called(search("ethyl lead").Partial); !slices.Contains(got, "Tetraethyl lead (as Pb)") {
		t.Errorf("two words find %q", got)
	}
	if f := search("Zn"); len(f.Partial) > 0 {
		t.Errorf("a symbol is searched for within names: %q", called(f.Partial))
	}
	for _, text := range []string{"()", "---", "→"} {
		if f := search(text); len(f.Exact)+len(f.Partial)+len(f.Near) > 0 {
			t.Errorf("%q finds %q, %q, %q", text, called(f.Exact), called(f.Partial), f.Near)
		}
	}
}

func TestSearchForNothingFindsEverythingOnce(t *testing.T) {
	seen := map[*limits.Entry]bool{}
	for _, s := range search("").Exact {
		for _, e := range s.Entries {
			if seen[e] {
				t.Errorf("twice: %s %s", e.Analyte, e.Instrument)
			}
			seen[e] = true
		}
	}
	if all := limits.Embedded().Entries(); len(seen) != len(all) {
		t.Errorf("%d of %d rows", len(seen), len(all))
	}
}

func TestSearchNarrowed(t *testing.T) {
	f := limits.Embedded().Search(limits.Query{Text: "toluene", Authorities: []string{"cal osha", "niosh"}})
	if len(f.Exact) != 1 || f.LeftOut == 0 {
		t.Fatalf("%q, %d left out", called(f.Exact), f.LeftOut)
	}
	rows := f.Exact[0].Entries
	if first, last := rows[0].Authority, rows[len(rows)-1].Authority; first != "Cal/OSHA" || last != "NIOSH" {
		t.Errorf("rows of %s to %s", first, last)
	}
	f = limits.Embedded().Search(limits.Query{Text: "lead", Sector: limits.Construction})
	for _, e := range f.Exact[0].Entries {
		if strings.Contains(e.Instrument, "1910.1025") {
			t.Errorf("%s for construction", e.Instrument)
		}
	}
	f = limits.Embedded().Search(limits.Query{Text: "lead", CAS: "108-88-3"})
	if len(f.Exact) > 0 {
		t.Errorf("lead of the CAS number of toluene: %q", called(f.Exact))
	}
}

func TestSearchSuggests(t *testing.T) {
	for text, want := range map[string]string{
		"tolune":       "Toluene",
		"108-88-4":     "Toluene (108-88-3)",
		"formaldehide": "Formaldehyde",
	} {
		if f := search(text); len(f.Exact)+len(f.Partial) > 0 || !slices.Contains(f.Near, want) {
			t.Errorf("%q: %q, near %q; want %s", text, called(f.Exact), f.Near, want)
		}
	}
}

func FuzzSearch(f *testing.F) {
	for _, s := range []string{"", "lead", "108-88-3", "(as ", "β", "\xff", "as Pb", "()()"} {
		f.Add(s, s)
	}
	f.Fuzz(func(_ *testing.T, text, cas string) {
		limits.Embedded().Search(limits.Query{Text: text, CAS: cas})
	})
}
