package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
)

// groupRun runs the group command and returns what it printed.
func groupRun(t *testing.T, args ...string) (status int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	status = run(context.Background(), append([]string{"group"}, args...), nil, &o, &e)
	return status, o.String(), e.String()
}

func writeList(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

const sixShifts = "group,worker,date,value,unit\n" +
	"Mixers,W-1,2026-03-02,0.84,mg/m3\nMixers,W-2,2026-03-02,0.98,mg/m3\nMixers,W-3,2026-03-03,0.42,mg/m3\n" +
	"Mixers,W-1,2026-03-04,1.16,mg/m3\nMixers,W-2,2026-03-04,1.36,mg/m3\nMixers,W-3,2026-03-05,2.66,mg/m3\n"

func TestGroupRefusesFlagsThatCannotBe(t *testing.T) {
	path := writeList(t, sixShifts)
	for _, c := range []struct {
		flags string
		want  string
	}{
		{"", "--limit is missing; give the exposure limit as a number over 0, as in --limit 5 --unit mg/m3"},
		{"--limit 0", "--limit 0: not over 0; give the exposure limit as a number over 0"},
		{"--limit -2", "--limit -2: not over 0"},
		{"--limit 0,05", "--limit 0,05: not a number"},
		{"--limit NaN", "--limit NaN: not a number"},
		{"--limit Inf", "--limit Inf: not a number"},
		{"--limit 5 --unit furlongs", "--unit furlongs: not a unit of concentration; expected one such as mg/m3"},
		{"--limit 5 --percentile 0.95", "--percentile 0.95: expected percent, over 50 and under 100, such as 95"},
		{"--limit 5 --percentile 100", "--percentile 100: expected percent"},
		{"--limit 5 --confidence 50", "--confidence 50: expected percent"},
		{"--limit 5 --confidence high", "--confidence high: not a number; expected percent"},
		{"--limit 5 --estimators km,mode", "--estimators mode: no such cross-check; expected km, ros"},
		{"--limit 5 --prior flat", "--prior flat: no such prior; expected reference, bounded, informed or default"},
		{"--limit 5 --prior bounded", "--prior bounded needs --gm-range, two numbers with a comma between"},
		{"--limit 5 --prior bounded --gm-range 0.1,10", "--prior bounded needs --gsd-range"},
		{"--limit 5 --prior bounded --gm-range 0.1 --gsd-range 1.1,5", "--gm-range 0.1: expected two numbers with a comma between"},
		{"--limit 5 --prior bounded --gm-range 10,0.1 --gsd-range 1.1,5", "--prior bounded: bounds of GM 10 to 0.1"},
		{"--limit 5 --prior informed --prior-gm 0.4,3 --prior-sigma 0.8,0.5", "--prior informed: spread of sigma 0.5 is not a factor over 1"},
		{"--limit 5 --gm-range 0.1,10", "--gm-range goes with --prior bounded"},
		{"--limit 5 --prior reference --prior-gm 0.4,3", "--prior-gm goes with --prior informed"},
		{"--limit 5 " + path, "are the same survey; name it once"},
	} {
		status, out, errOut := groupRun(t, append([]string{path}, strings.Fields(c.flags)...)...)
		require.Equal(t, unusable, status, c.flags)
		require.Empty(t, out, c.flags)
		require.Contains(t, errOut, c.want, c.flags)
	}
	status, _, errOut := groupRun(t, "--limit", "5")
	require.Equal(t, unusable, status)
	require.Contains(t, errOut, "no list given; name a .csv or .xlsx file of exposures")
	status, _, errOut = groupRun(t, path+".none", "--limit", "5")
	require.Equal(t, unusable, status)
	require.Contains(t, errOut, "list.csv.none")
}

// groupRows are the groups of the JSON output.
func groupRows(t *testing.T, text string) []map[string]any {
	t.Helper()
	var rows []map[string]any
	require.NoError(t, json.Unmarshal([]byte(text), &rows), text)
	return rows
}

// TestGroupLeavesOutWhatItCannotUse has rows and groups with faults beside a
// group that is done all the same.
func TestGroupLeavesOutWhatItCannotUse(t *testing.T) {
	path := writeList(t, sixShifts+
		"Mixers,W-1,2026-03-06,many,mg/m3\n"+
		"Mixers,W-1,2026-03-07,-1,mg/m3\n"+
		"Mixers,W-1,2026-03-08,0,mg/m3\n"+
		"Muddle,W-1,2026-03-09,1,mg/m3\n"+
		"Muddle,W-1,2026-03-10,2000,ug/m3\n"+
		"Single,W-1,2026-03-09,1,mg/m3\n"+
		"Alike,W-1,2026-03-09,1,mg/m3\nAlike,W-1,2026-03-10,1,mg/m3\nAlike,W-1,2026-03-11,1,mg/m3\n"+
		"Unseen,W-1,2026-03-09,<0.2,mg/m3\nUnseen,W-1,2026-03-10,<0.2,mg/m3\nUnseen,W-1,2026-03-11,<0.2,mg/m3\n")
	status, out, errOut := groupRun(t, path, "--limit", "5", "--json")
	require.Equal(t, leftOut, status)
	rows := groupRows(t, out)
	var names []string
	for _, r := range rows {
		names = append(names, r["group"].(string))
	}
	require.Equal(t, []string{"Alike", "Mixers", "Single", "Unseen"}, names)
	require.EqualValues(t, 6, rows[1]["n"])
	for _, want := range []string{
		"Findings: 4 stop, 3 check, 0 note", "list.csv: 4 stop, 3 check",
		"exposures!D8", `value "many" is not a result`,
		"exposures!D9", `value "-1" cannot be`,
		"exposures!D10", "ask for the reporting limit",
		"exposures!E12", "Muddle has values in mg/m3 and ug/m3",
		"there is only one exposure", "all exposures are equal", "no exposure is known exactly",
	} {
		require.Contains(t, strings.Join(strings.Fields(errOut), " "), want)
	}
	_, out, _ = groupRun(t, path, "--limit", "5")
	require.Contains(t, out, "left out: 4, see the findings")
}

func TestGroupConvertsToTheUnitOfTheLimit(t *testing.T) {
	path := writeList(t, sixShifts)
	_, in, errOut := groupRun(t, path, "--limit", "5", "--json")
	require.Empty(t, errOut)
	_, micro, _ := groupRun(t, path, "--limit", "5000", "--unit", "µg/m³", "--json")
	a, b := groupRows(t, in)[0], groupRows(t, micro)[0]
	require.Equal(t, "mg/m3", a["unit"])
	require.Equal(t, "ug/m3", b["unit"])
	for _, name := range []string{"min", "median", "max", "gm", "p95_ucl95", "am_ucl95"} {
		require.InEpsilon(t, a[name].(float64)*1000, b[name].(float64), 1e-9, name)
	}
	for _, name := range []string{"gsd", "exceed_ucl95", "outcome"} {
		require.Equal(t, a["outcome"], b["outcome"])
		if v, isNumber := a[name].(float64); isNumber {
			require.InEpsilon(t, v, b[name].(float64), 1e-9, name)
		}
	}
}

// TestListsArePooled splits a list in two files, one of them in another order.
func TestListsArePooled(t *testing.T) {
	lines := strings.SplitAfter(sixShifts, "\n")
	first := writeList(t, lines[0]+lines[1]+lines[2])
	second := writeList(t, lines[0]+lines[6]+lines[4]+lines[5]+lines[3])
	_, whole, _ := groupRun(t, writeList(t, sixShifts), "--limit", "5", "--json")
	status, pooled, errOut := groupRun(t, first, second, "--limit", "5", "--json")
	require.Equal(t, done, status)
	require.Empty(t, errOut)
	sameFigures(t, groupRows(t, whole), groupRows(t, pooled))
}

// TestGroupMeetsATeachingExample is a course's welding fumes: GM 1.06 and
// GSD 1.83 are printed there; the 95 % limits are computed elsewhere
// (noncentral t by quadrature of 30 digits; Land's limit by its density).
func TestGroupMeetsATeachingExample(t *testing.T) {
	_, out, _ := groupRun(t, writeList(t, sixShifts), "--limit", "5", "--json")
	row := groupRows(t, out)[0]
	require.Equal(t, "exact", row["method"])
	for name, want := range map[string]float64{
		"gm": 1.06399322943, "gsd": 1.83241768082, "p95_ucl70": 4.00042660320, "p95_ucl95": 10.0496378730, "am_ucl95": 2.80853713162,
	} {
		require.InEpsilon(t, want, row[name].(float64), 1e-9, name)
	}
	require.Equal(t, "undecided", row["outcome"])
}

// TestNamedFieldsKeepTheirConfidence asks for another percentile and
// confidence, which only pq follows.
func TestNamedFieldsKeepTheirConfidence(t *testing.T) {
	path := writeList(t, sixShifts)
	_, usual, _ := groupRun(t, path, "--limit", "5", "--json")
	_, other, _ := groupRun(t, path, "--limit", "5", "--json", "--percentile", "90", "--confidence", "70 %")
	a, b := groupRows(t, usual)[0], groupRows(t, other)[0]
	require.EqualValues(t, 90, b["percentile"])
	require.EqualValues(t, 70, b["confidence"])
	require.NotEqual(t, a["pq_ucl"], b["pq_ucl"])
	for _, name := range []string{"percentile", "confidence", "pq", "pq_lcl", "pq_ucl"} {
		delete(a, name)
		delete(b, name)
	}
	require.Equal(t, a, b)
}

// TestGroupPrintsItsGolden guards the look of the demo list against change; its
// figures are held against their sources in package stats.
func TestGroupPrintsItsGolden(t *testing.T) {
	inProjectRoot(t)
	for name, flags := range map[string][]string{"groups.txt": nil, "groups.json": {"--json"}} {
		status, got, errOut := groupRun(t, append([]string{"testdata/groups.csv", "--limit", "4", "--unit", "mg/m3"}, flags...)...)
		require.Equal(t, done, status)
		require.Empty(t, errOut)
		path := filepath.Join("testdata", "golden", name)
		if *update {
			require.NoError(t, os.WriteFile(path, []byte(got), 0o666))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err, "make it with: go test ./cmd/airtally -run Group -update")
		if name == "groups.txt" {
			require.Equal(t, string(want), got)
			for line := range strings.Lines(got) {
				require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 80, line)
			}
			continue
		}
		sameFigures(t, groupRows(t, string(want)), groupRows(t, got))
	}
}

// sameFigures compares two JSON values, numbers but for their last digits,
// which differ between machines.
func sameFigures(t *testing.T, want, got any) {
	t.Helper()
	switch w := want.(type) {
	case []map[string]any:
		require.Len(t, got, len(w))
		for i := range w {
			sameFigures(t, w[i], got.([]map[string]any)[i])
		}
	case map[string]any:
		g, isObject := got.(map[string]any)
		require.True(t, isObject)
		require.Len(t, g, len(w))
		for name := range w {
			sameFigures(t, w[name], g[name])
		}
	case float64:
		require.InDelta(t, w, got, 1e-9*max(1, w, -w))
	default:
		require.Equal(t, want, got)
	}
}
