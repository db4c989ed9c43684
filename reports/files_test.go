package reports

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"airtally/exposure"
	"airtally/exposure/finding"
)

// parsed returns results.json as the standard library reads it.
func parsed(t *testing.T, r *Report) map[string]any {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.WriteJSON(&b))
	d := json.NewDecoder(&b)
	d.UseNumber()
	var object map[string]any
	require.NoError(t, d.Decode(&object))
	return object
}

func rowsOf(t *testing.T, object map[string]any, name string) []map[string]any {
	t.Helper()
	var rows []map[string]any
	for _, row := range object[name].([]any) {
		rows = append(rows, row.(map[string]any))
	}
	return rows
}

func TestStringsAreEscapedAsTheStandardLibraryReadsThem(t *testing.T) {
	check := func(fail func(string, ...any), s string) {
		var back string
		if err := json.Unmarshal(appendString(nil, s), &back); err != nil || back != strings.ToValidUTF8(s, "\ufffd") && len(s) == len([]rune(s)) {
			fail("%q comes back as %q: %v", s, back, err)
		}
	}
	for _, s := range []string{"", `a"b\c`, "\x00\x1f\t\n\r", "µg/m³", "\u2028", hostileNote, hostileWorker} {
		check(t.Fatalf, s)
	}
	require.Equal(t, "\"a\\ufffdb\"", string(appendString(nil, "a\xffb")))
	rapid.Check(t, func(t *rapid.T) { check(t.Fatalf, rapid.String().Draw(t, "s")) })
}

func TestEveryTableHoldsWhatTheJSONHolds(t *testing.T) {
	r := demo()
	object := parsed(t, r)
	for _, a := range r.arrays() {
		var b bytes.Buffer
		require.NoError(t, a.writeCSV(&b))
		records, err := csv.NewReader(&b).ReadAll()
		require.NoError(t, err)
		rows := rowsOf(t, object, a.name)
		require.Len(t, records, len(rows)+1, a.name)
		for i, row := range rows {
			require.Len(t, row, len(records[0]), a.name)
			for j, name := range records[0] {
				require.Contains(t, row, name)
				require.Equal(t, asCell(row[name]), records[i+1][j], "%s row %d %s", a.name, i, name)
			}
		}
	}
}

// asCell says a JSON value as a table has it.
func asCell(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case []any:
		var parts []string
		for _, p := range v {
			parts = append(parts, p.(string))
		}
		return harmless(strings.Join(parts, "; "))
	case string:
		return harmless(v)
	default:
		return fmt.Sprint(v)
	}
}

func TestBoundsVoidsAndFibresInTheFiles(t *testing.T) {
	object := parsed(t, demo())
	of := rowsOf(t, object, "concentrations")
	blank, lead, dust, fibre, void := of[0], of[1], of[2], of[3], of[4]
	require.Nil(t, blank["value_mgm3"], "a blank has no air volume")
	require.Equal(t, json.Number("0.0503"), lead["value_mgm3"])
	require.Nil(t, lead["value_fcc"])
	require.Equal(t, []any{json.Number("0"), json.Number("0.03115"), json.Number("0.0623"), true},
		[]any{dust["low_mgm3"], dust["value_mgm3"], dust["high_mgm3"], dust["censored"]})
	require.Equal(t, []any{nil, nil, json.Number("0.12"), nil, "fibre"},
		[]any{fibre["mass_ug"], fibre["value_mgm3"], fibre["value_fcc"], fibre["high_fcc"], fibre["quantity"]})
	require.Equal(t, []any{nil, nil, json.Number("0.1"), json.Number("0.15")},
		[]any{void["value_mgm3"], void["value_ppm"], void["low_mgm3"], void["high_mgm3"]})
	samples := rowsOf(t, object, "samples")
	require.Equal(t, []any{nil, "", false}, []any{samples[0]["start"], samples[0]["worker"], samples[0]["void"]})
	require.Equal(t, "2026-03-02 07:05", samples[1]["start"])
	require.Equal(t, "2026-03-02T22:10:00+01:00", samples[2]["start"])
	short := rowsOf(t, object, "exposures")[2]
	require.Equal(t, []any{nil, nil, json.Number("0.12"), json.Number("0.12")},
		[]any{short["if_zero_mgm3"], short["coverage_pct"], short["value_fcc"], short["if_same_fcc"]})
}

// The names and their order are those that other programs read.
func TestFieldNamesAndTheirOrder(t *testing.T) {
	want := map[string]string{
		"findings":       "severity code file table row column cell subject message remedy",
		"samples":        "sample kind worker group shift train leg medium start stop minutes flow_pre_lpm flow_post_lpm flow_lpm drift_pct target_dev_pct volume_l volume_low_l volume_high_l u_volume_rel void",
		"concentrations": "sample analyte form cas quantity mass_ug mass_low_ug mass_high_ug mass_uncorrected_ug blank_ug value_mgm3 low_mgm3 high_mgm3 value_ppm value_fcc low_fcc high_fcc censored u_rel",
		"exposures":      "worker group shift analyte form basis sample start sampled_min shift_min coverage_pct value_mgm3 low_mgm3 high_mgm3 if_zero_mgm3 if_same_mgm3 value_fcc low_fcc high_fcc if_zero_fcc if_same_fcc samples",
		"comparisons":    "worker group shift analyte form basis sample authority instrument kind as limit unit value fraction fraction_low fraction_high sae lcl_fraction ucl_fraction outcome source",
		"mixtures":       "worker shift mixture authority kind basis sample index index_low index_high outcome",
		"followup":       "worker shift analyte standard band action due base_event citation status",
		"groups":         "group analyte form authority instrument kind basis limit unit excluded n_history stats",
	}
	for _, a := range demo().arrays() {
		var names []string
		for _, at := range a.filed() {
			names = append(names, a.fields[at].name)
		}
		require.Equal(t, want[a.name], strings.Join(names, " "))
		delete(want, a.name)
	}
	require.Empty(t, want)
}

// Cells that begin so are formulas to a spreadsheet: OWASP, "CSV Injection".
func TestTablesHoldNoFormulas(t *testing.T) {
	for given, want := range map[string]string{
		"=1+1": "'=1+1", "+a": "'+a", "-a": "'-a", "@a": "'@a", "\ta": "'\ta", "\ra": "'\ra",
		"-5": "-5", "+1e3": "+1e3", "-inf": "'-inf", "+0x1p4": "'+0x1p4", "plain": "plain", "": "", hostileNote: hostileNote,
	} {
		require.Equal(t, want, harmless(given), "%q", given)
	}
	require.Equal(t, hostileWorker, rowsOf(t, parsed(t, demo()), "samples")[2]["worker"], "the JSON keeps what was read")
}

func TestSettingsAreNamedAsTheSurveysItems(t *testing.T) {
	settings := parsed(t, demo())["settings"].(map[string]any)
	require.Equal(t, []any{"EXA", "Body Two"}, settings["authorities"])
	require.Equal(t, json.Number("24.45"), settings["molar_volume"])
	require.Len(t, settings, 23)
}

func TestCheckJSONHoldsFindingsAlone(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, demo().WriteCheckJSON(&b))
	var object map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &object))
	require.Equal(t, "airtally/check/1", object["schema"])
	require.Len(t, object["findings"], 5)
	require.NotContains(t, object, "samples")
}

func TestAnEmptyReportIsStillWhole(t *testing.T) {
	r := &Report{Results: &exposure.Results{Settings: exposure.DefaultSettings()}, Version: "0"}
	object := parsed(t, r)
	require.Equal(t, []any{}, object["findings"])
	require.Equal(t, []any{}, object["groups"])
	var b bytes.Buffer
	require.NoError(t, r.WriteSummary(&b, Terminal{}))
	require.Contains(t, b.String(), "Nothing was compared with a limit.")
	require.NotEmpty(t, workbook(t, r))
	require.Zero(t, r.Count(finding.Stop))
}

// BenchmarkResultsJSON reports how fast a long run is written.
func BenchmarkResultsJSON(b *testing.B) {
	r := demo()
	few := r.Concentrations
	r.Concentrations = make([]exposure.Concentration, 200_000)
	for i := range r.Concentrations {
		r.Concentrations[i] = few[i%len(few)]
		r.Concentrations[i].Air = r.Concentrations[i].Air.Scale(1 + float64(i)/7)
	}
	var size counter
	for b.Loop() {
		size = 0
		require.NoError(b, r.WriteJSON(&size))
	}
	b.SetBytes(int64(size))
}

type counter int

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}
