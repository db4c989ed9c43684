package survey

import "testing"

// TestParseResult reads the notations of laboratories. Common practice, no
// source.
func TestParseResult(t *testing.T) {
	for _, c := range []struct {
		text       string
		kind       ResultKind
		value      float64
		qualifiers Qualifiers
		unit       string
	}{
		{"1.29", Number, 1.29, 0, ""},
		{"-0.02", Number, -0.02, 0, ""},
		{"<0.06", LessThan, 0.06, 0, ""},
		{"< .06", LessThan, 0.06, 0, ""},
		{"<0,06", LessThan, 0.06, 0, ""},
		{"≤0.06", LessThan, 0.06, 0, ""},
		{">12", MoreThan, 12, 0, ""},
		{"ND", NotFound, 0, U, ""},
		{"N.D.", NotFound, 0, U, ""},
		{"n/d", NotFound, 0, U, ""},
		{"BDL", NotFound, 0, U, ""},
		{"BRL", NotFound, 0, U, ""},
		{"<RL", NotFound, 0, U, ""},
		{"<LOD", NotFound, 0, U, ""},
		{"< LOQ", NotFound, 0, U, ""},
		{"not detected", NotFound, 0, U, ""},
		{"U", NotFound, 0, U, ""},
		{"0.06 U", Number, 0.06, U, ""},
		{"0.06U", Number, 0.06, U, ""},
		{"0.06 UJ", Number, 0.06, U, ""},
		{"4.1 JB", Number, 4.1, J | B, ""},
		{"4.1 E", Number, 4.1, E, ""},
		{"4.1E2", Number, 410, 0, ""},
		{"~4.1", Number, 4.1, J, ""},
		{"4.1 *", Number, 4.1, Other, ""},
		{"4.1 ug", Number, 4.1, 0, "ug"},
		{"<0.06 ug/filter", LessThan, 0.06, 0, "ug/filter"},
		{"1 550,5", Number, 1550.5, 0, ""},
	} {
		got, f := parseResult(c.text, spoken)
		if want := (reported{c.kind, c.value, c.qualifiers, c.unit}); f != readable || got != want {
			t.Errorf("%q: %+v, fault %d; want %+v", c.text, got, f, want)
		}
	}
	for _, text := range []string{"", "2O4", "pending", "<", ">ND", "1.2.3", "0.06 ??", "see note", "1/2"} {
		if got, f := parseResult(text, spoken); f == readable {
			t.Errorf("%q is read as %+v", text, got)
		}
	}
}

func TestParseQualifiers(t *testing.T) {
	for text, want := range map[string]Qualifiers{
		"": 0, "J": J, "JB": J | B, "U,B": U | B, "UJ": U, "U J": U, "j": J, "E": E, "D": D, "<": U, "ND": U, "N.D.": U,
		"X": Other, "J,H": J | Other, "estimated": Other, "see remark": Other,
	} {
		if got, _ := parseQualifiers(text); got != want {
			t.Errorf("%q: %05b, want %05b", text, got, want)
		}
	}
}

func TestParseLabUnit(t *testing.T) {
	for text, want := range map[string]LabUnit{
		"ug": {Name: "ug", Quantity: MassOnSample, ToBase: 1}, "µg": {Name: "ug", Quantity: MassOnSample, ToBase: 1},
		"μg / filter": {Name: "ug", Quantity: MassOnSample, ToBase: 1}, "mcg per sample": {Name: "ug", Quantity: MassOnSample, ToBase: 1},
		"mg/tube": {Name: "mg", Quantity: MassOnSample, ToBase: 1e3}, "ng": {Name: "ng", Quantity: MassOnSample, ToBase: 1e-3},
		"g": {Name: "g", Quantity: MassOnSample, ToBase: 1e6}, "fibers": {Name: "fibres", Quantity: FibreCount, ToBase: 1},
		"fibres/mm²": {Name: "fibres/mm2", Quantity: FibreDensity, ToBase: 1}, "f/mm2": {Name: "fibres/mm2", Quantity: FibreDensity, ToBase: 1},
	} {
		if got, ok := ParseLabUnit(text); !ok || got != want {
			t.Errorf("%q: %+v, %v; want %+v", text, got, ok, want)
		}
	}
	air := map[string]string{
		"mg/m³": "mg/m3", "mg per cubic metre": "mg/m3", "mg·m⁻³": "mg/m3", "ug/L": "mg/m3", "mcg/m3": "ug/m3", "ng/L": "ug/m3",
		"ng/m3": "ng/m3", "PPM": "ppm", "ppmv": "ppm", "ppb": "ppb", "f/mL": "f/cc", "fibres/cm³": "f/cc", "fibers per cc": "f/cc",
	}
	for text, want := range air {
		if got, ok := ParseLabUnit(text); !ok || got.Quantity != Concentration || got.Air.Name != want {
			t.Errorf("%q: %+v, %v; want %s", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "kg", "ug/cm2", "mg/kg", "L", "%", "mg/wipe"} {
		if got, ok := ParseLabUnit(text); ok {
			t.Errorf("%q is read as %+v", text, got)
		}
	}
}

func TestLabRows(t *testing.T) {
	s, got := readFolder(t, with("lab.csv", "sample,analyte,result,unit,reporting_limit,qualifier,desorption_applied,blank_applied,form\n"+
		"S-1,A,,ug,0.3,U,,,\n"+
		"S-1,B,0.3,ug,0.3,<,no,yes,Respirable\n"+
		"S-1,C,,ug,0.3,J,,,\n"+
		"S-1,D,5 mg,ug,0.3,,,,\n"+
		"S-1,E,5 mg,,0.3,,,,\n"+
		"S-1,F,<0,ug,,,,,\n"+
		"S-1,G,5,ug,-1,,maybe,,\n"))
	wantLines(t, got, []string{
		`check out-of-range lab.csv:lab!E8 [S-1, G] reporting_limit "-1" cannot be; expected a number over 0; the cell is taken as empty`,
		`check unknown-choice lab.csv:lab!G8 [S-1, G] desorption_applied "maybe" is not one of yes, no; it is taken as yes`,
		`stop missing-value lab.csv:lab!C4 [S-1, C] result is empty; expected the number; <0.06 or ND where not detected; the row is left out`,
		`stop out-of-range lab.csv:lab!C7 [S-1, F] result "<0" cannot be; expected a number over 0 after < or >; the row is left out`,
		`stop unit-conflict lab.csv:lab!C5 [S-1, D] result says "5 mg" but the row's unit is ug; the row is left out`,
	})
	if len(s.Lab) != 4 {
		t.Fatalf("%d rows", len(s.Lab))
	}
	if a := s.Lab[0]; a.Kind != NotFound || a.Qualifiers != U || a.ReportingLimit.Value != 0.3 || a.DesorptionNotApplied || a.BlankApplied || a.Form != "" {
		t.Errorf("A: %+v", a)
	}
	if b := s.Lab[1]; b.Kind != LessThan || b.Value != 0.3 || !b.DesorptionNotApplied || !b.BlankApplied || b.Form != "respirable" {
		t.Errorf("B: %+v", b)
	}
	if e := s.Lab[2]; e.Analyte != "E" || e.Unit.Name != "mg" || e.Value != 5 {
		t.Errorf("E: %+v", e)
	}
}
