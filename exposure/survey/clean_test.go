package survey

import (
	"strings"
	"testing"
)

// Characters by their names in the Unicode Character Database.
func TestIdentifiersOfLookAlikes(t *testing.T) {
	for text, want := range map[string]string{
		"S-1":                      "S-1",
		"S\u20111":                 "S-1", // NON-BREAKING HYPHEN
		"S\u22121":                 "S-1", // MINUS SIGN
		"S\u20131":                 "S-1", // EN DASH
		"\u00a0S-1\u00a0":          "S-1", // NO-BREAK SPACE
		"S\u00a01":                 "S 1",
		"S\u200b-1":                "S-1", // ZERO WIDTH SPACE
		"\ufeffS-1":                "S-1", // ZERO WIDTH NO-BREAK SPACE
		"S\u00ad-1":                "S-1", // SOFT HYPHEN
		"\u202aS-1\u202c":          "S-1", // marks of direction
		"\uff33\uff0d\uff11":       "S-1", // FULLWIDTH LATIN CAPITAL LETTER S, HYPHEN-MINUS, DIGIT ONE
		"Smith\u2019s":             "Smith's",
		"\u201cA\u201d":            `"A"`,
		"Sa\u0308ure":              "S\u00e4ure", // COMBINING DIAERESIS
		"\u00b5-1":                 "\u03bc-1",   // MICRO SIGN, GREEK SMALL LETTER MU
		"N,N\u2010Dimethyl\u3000x": "N,N-Dimethyl x",
		"m²":                       "m²",
	} {
		if got := identifier(text); got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
		if again := identifier(identifier(text)); again != want {
			t.Errorf("%q changes again, to %q", text, again)
		}
	}
}

// The same sample typed by two programs is one, which is told once a column.
func TestLookAlikesMeetAcrossTables(t *testing.T) {
	s, got := readFolder(t, with("lab.csv", "sample,analyte,result,unit,qualifier\nS\u20111,Iron,\u22120.5,\u00b5g,\nS\u20131,Zinc,\uff11\uff12\uff0e\uff15,\u03bcg,\nS-\u200b1,Lead,\u200b<0.06,ug,\u00a0U\n"))
	wantLines(t, got, []string{
		"note characters-folded lab.csv:lab!A2 [] sample \"S\u20111\" holds characters that look like plain ones or cannot be seen; it is read as \"S-1\"; so in 3 row(s)"})
	for i, want := range []float64{-0.5, 12.5, 0.06} {
		if l := s.Lab[i]; l.Sample != "S-1" || l.Value != want && l.ReportingLimit.Value != want || l.Unit.Name != "ug" {
			t.Errorf("read %+v", l)
		}
	}
	if s.Lab[0].Text("sample") != "S\u20111" {
		t.Errorf("the cell is quoted as %q", s.Lab[0].Text("sample"))
	}
}

// TestMangledIdentifiers reads identifiers as spreadsheets show what they have
// made of them. Common practice, no source.
func TestMangledIdentifiers(t *testing.T) {
	for text, what := range map[string]string{
		"1E+05": "a number in powers of ten", "1.2E-03": "a number in powers of ten", "2-Mar": "a date", "Mar-02": "a date",
		"1E5": "", "S-1": "", "2-Mrz": "", "12-ABC": "", "E+05": "", "Iron": "",
	} {
		_, got := readFolder(t, with(
			"samples.csv", strings.Replace(plainSurvey()["samples.csv"], "S-1", text, 1),
			"lab.csv", "sample,analyte,result,unit\n"))
		told := ""
		for _, line := range got {
			if strings.Contains(line, "identifier-mangled") {
				told = line
			}
		}
		if what == "" && told != "" || what != "" && !strings.Contains(told, "looks like "+what) {
			t.Errorf("%q: %q, want %q", text, told, what)
		}
	}
}
