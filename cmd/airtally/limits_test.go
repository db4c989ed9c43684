package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"airtally/limits"
)

// fixedDay holds the day still on which limits are in force or not.
func fixedDay(t *testing.T) {
	t.Helper()
	before := now
	now = func() time.Time { return time.Date(2026, 5, 8, 12, 0, 0, 0, time.UTC) }
	t.Cleanup(func() { now = before })
}

// Golden texts guard the look and against change; the values are held against
// their sources below and in package limits.
func TestLimitsPrintsItsGoldenTexts(t *testing.T) {
	inProjectRoot(t)
	fixedDay(t)
	for name, text := range map[string]string{"benzene": "benzene", "lead": "lead", "chromium-vi": "chromium vi"} {
		path := filepath.Join("testdata", "golden", "limits-"+name+".txt")
		got := commandOutput(t, "limits", text)
		if *update {
			require.NoError(t, os.WriteFile(path, []byte(got), 0o666))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err, "make it with: go test ./cmd/airtally -run Limits -update")
		require.Equal(t, string(want), got)
	}
}

// published is a row of testdata/reference/limits_check.csv, whose head names
// its sources.
type published struct {
	substance, authority, kind, minutes, value, unit, instrument string
	askedBy                                                      []string // name, synonyms and CAS number
}

func publishedLimits(t *testing.T) []published {
	t.Helper()
	file, err := os.Open("testdata/reference/limits_check.csv")
	require.NoError(t, err)
	defer file.Close()
	in := csv.NewReader(file)
	in.Comment = '#'
	rows, err := in.ReadAll()
	require.NoError(t, err)
	var out []published
	for _, r := range rows[1:] {
		p := published{substance: r[0], authority: r[3], kind: r[4], minutes: r[5], value: r[6], unit: r[7], instrument: r[8]}
		for name := range strings.SplitSeq(r[0]+";"+r[1]+";"+r[2], ";") {
			if name = strings.TrimSpace(name); name != "" {
				p.askedBy = append(p.askedBy, name)
			}
		}
		out = append(out, p)
	}
	require.Len(t, out, 40)
	return out
}

// TestLimitsFindsPublishedValues asks for each row by name, synonym and CAS
// number, and finds the published value in the JSON and in the text.
func TestLimitsFindsPublishedValues(t *testing.T) {
	inProjectRoot(t)
	fixedDay(t)
	for _, p := range publishedLimits(t) {
		for _, asked := range p.askedBy {
			t.Run(strings.Join([]string{p.authority, p.kind, asked}, " "), func(t *testing.T) {
				require.True(t, slices.ContainsFunc(limitRows(t, asked), p.isRow), "%+v in the JSON", p)
				require.True(t, p.shownIn(commandOutput(t, "limits", asked, "--authority", p.authority)), "%+v in the text", p)
			})
		}
	}
}

type limitRow struct {
	Substance, Form, Authority, Instrument, Kind, Status, Note string
	CAS                                                        string
	AveragingMin                                               *float64 `json:"averaging_min"`
	PPM                                                        *float64 `json:"value_ppm"`
	MgM3                                                       *float64 `json:"value_mgm3"`
	Other                                                      any      `json:"value_other"`
	UnitOther                                                  *string  `json:"unit_other"`
}

func limitRows(t *testing.T, args ...string) []limitRow {
	t.Helper()
	var rows []limitRow
	require.NoError(t, json.Unmarshal([]byte(commandOutput(t, append([]string{"limits", "--json"}, args...)...)), &rows))
	return rows
}

func (p published) isRow(r limitRow) bool {
	value, _ := strconv.ParseFloat(p.value, 64)
	holds := func(v *float64, factor float64) bool { return v != nil && near(*v, value*factor) }
	var found bool
	switch p.unit {
	case "ppm":
		found = holds(r.PPM, 1)
	case "mg/m3":
		found = holds(r.MgM3, 1)
	case "ug/m3":
		found = holds(r.MgM3, 1e-3)
	default:
		other, _ := r.Other.(float64)
		found = r.UnitOther != nil && *r.UnitOther == p.unit && near(other, value)
	}
	minutes, _ := strconv.ParseFloat(p.minutes, 64)
	return found && r.Authority == p.authority && r.Instrument == p.instrument && r.Kind == p.kind &&
		(p.minutes == "" || r.AveragingMin != nil && *r.AveragingMin == minutes)
}

func near(a, b float64) bool { return a-b <= 1e-12*b && b-a <= 1e-12*b }

// shownIn reports whether a line of the text has the kind and the value.
func (p published) shownIn(text string) bool {
	value, _ := strconv.ParseFloat(p.value, 64)
	unit := strings.NewReplacer("ug/m3", "µg/m³", "mg/m3", "mg/m³").Replace(p.unit)
	shown := " " + strconv.FormatFloat(value, 'f', -1, 64) + " " + unit
	kind := p.kind
	if p.minutes != "" {
		kind += " " + p.minutes + " min"
	}
	for line := range strings.Lines(text) {
		if strings.HasPrefix(line, "  "+kind+" ") && strings.Contains(line, shown) {
			return true
		}
	}
	return false
}

func TestLimitsJSONHasTheFieldsAndNulls(t *testing.T) {
	var rows []map[string]any
	require.NoError(t, json.Unmarshal([]byte(commandOutput(t, "limits", "1,3-butadiene", "--authority", "NIOSH", "--json")), &rows))
	require.Len(t, rows, 1)
	require.Nil(t, rows[0]["value_ppm"])
	require.Nil(t, rows[0]["value_mgm3"])
	require.Equal(t, "none", rows[0]["value_other"])
	require.Contains(t, rows[0]["note"], "never a pass")
	for _, name := range []string{"substance", "cas", "form", "as", "authority", "instrument", "kind", "averaging_min", "value_ppm",
		"value_mgm3", "value_other", "unit_other", "skin", "status", "valid_from", "valid_to", "note"} {
		require.Contains(t, rows[0], name)
	}
	require.Len(t, rows[0], 17)
}

func TestLimitsTableReadsBack(t *testing.T) {
	rows := limitRows(t, "toluene")
	table, err := csv.NewReader(strings.NewReader(commandOutput(t, "limits", "toluene", "--csv"))).ReadAll()
	require.NoError(t, err)
	require.Len(t, table, len(rows)+1)
	require.Equal(t, "substance,cas,form,as,authority,instrument,kind,averaging_min,value_ppm,value_mgm3,value_other,unit_other,"+
		"skin,status,valid_from,valid_to,note", strings.Join(table[0], ","))
	for i, r := range rows {
		require.Equal(t, []string{r.Substance, r.CAS, r.Form}, table[i+1][:3])
		ppm, err := strconv.ParseFloat(table[i+1][8], 64)
		require.Equal(t, r.PPM != nil, err == nil)
		if r.PPM != nil {
			require.Equal(t, *r.PPM, ppm)
		}
	}
}

// TestLimitsWithoutTextListsEverything, each row once, within 80 columns, and
// none that rests on memory without its mark.
func TestLimitsWithoutTextListsEverything(t *testing.T) {
	out := commandOutput(t, "limits")
	shown, marked := 0, strings.Count(strings.Join(strings.Fields(out), " "), "value from memory: check the official text")
	for line := range strings.Lines(out) {
		line = strings.TrimSuffix(line, "\n")
		require.LessOrEqual(t, utf8.RuneCountInString(line), 80, line)
		for _, kind := range []string{"TWA8", "TWA10", "STEL", "CEILING", "PEAK", "ACTION"} {
			if strings.HasPrefix(line, "  "+kind+" ") {
				shown++
			}
		}
	}
	all := limits.Embedded().Entries()
	require.Equal(t, len(all), shown)
	require.Len(t, limitRows(t), len(all))
	inMemory := map[string]bool{} // one mark may be for all rows of an authority and a substance
	for _, r := range limitRows(t) {
		require.Equal(t, r.Status == "memory", strings.Contains(r.Note, "value from memory: check the official text"), r)
		if r.Status == "memory" {
			inMemory[r.Authority+r.Substance] = true
		}
	}
	require.GreaterOrEqual(t, marked, len(inMemory))
	require.NotEmpty(t, inMemory)
}

func TestLimitsNotFoundSuggestsAndSaysSoByItsStatus(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"tolune"}, `airtally: no limit for "tolune"; did you mean: Toluene?`},
		{[]string{"--cas", "108-88-4"}, `airtally: no limit for "CAS 108-88-4"; did you mean: Toluene (108-88-3)?`},
		{[]string{"qqqqqq"}, `airtally: no limit for "qqqqqq", nor a name near it; try a part of the name, a synonym or the CAS number`},
		{[]string{"benzene", "--authority", "Cal/OSHA"}, `airtally: no limit for "benzene" of these authorities and in this sector;`},
	} {
		status, out, errOut := airtally(t, append([]string{"limits"}, c.args...)...)
		require.Equal(t, leftOut, status, c.args)
		require.Empty(t, out, c.args)
		require.Contains(t, strings.Join(strings.Fields(errOut), " "), c.want)
	}
	status, out, _ := airtally(t, "limits", "qqqqqq", "--json")
	require.Equal(t, leftOut, status)
	require.JSONEq(t, "[]", out)
}

func TestLimitsRefusesWhatItCannotAnswer(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--cas", "toluene"}, "airtally: --cas toluene: not a CAS number; expected one such as 108-88-3\n"},
		{[]string{"--sector", "sea"}, "airtally: --sector sea: no such sector; expected general, construction or maritime\n"},
		{[]string{"--authority", "OSHA,Nobody"}, "airtally: --authority Nobody: the library has no limits of it; expected of OSHA, NIOSH, EU, Cal/OSHA, UK HSE\n"},
		{[]string{"--json", "--csv"}, "airtally: --json and --csv exclude each other; give one\n"},
	} {
		status, out, errOut := airtally(t, append([]string{"limits"}, c.args...)...)
		require.Equal(t, []any{unusable, "", c.want}, []any{status, out, errOut})
	}
}

func TestLimitsFlags(t *testing.T) {
	for _, r := range limitRows(t, "lead", "--authority", "niosh", "--authority", "OSHA", "--sector", "Construction") {
		require.NotContains(t, r.Instrument, "29 CFR 1910.1025")
		require.Contains(t, []string{"OSHA", "NIOSH"}, r.Authority)
	}
	require.Equal(t, limitRows(t, "108-88-3"), limitRows(t, "--cas", "108-88-3"))
	require.Equal(t, limitRows(t, "chromium vi"), limitRows(t, "chromium", "vi"), "words need no quotation marks")
	status, out, errOut := airtally(t, "limits", "benzene", "--quiet")
	require.Equal(t, []any{done, "", ""}, []any{status, out, errOut})
}

func TestLimitsHelpShowsAnExampleAndTheCaution(t *testing.T) {
	out := commandOutput(t, "limits", "--help")
	for _, want := range []string{"airtally limits 108-88-3", "Exit status: 0 found; 1 nothing found", "Decision support only."} {
		require.Contains(t, out, want)
	}
	for line := range strings.Lines(out) {
		require.LessOrEqual(t, utf8.RuneCountInString(line), 81, line)
	}
}
