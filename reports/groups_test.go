package reports

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"airtally/exposure"
	"airtally/exposure/survey"
)

// grouped reduces an invented survey: three workers of one group on a day each,
// 2 L/min through 8 hours, 96, 192 and under 48 µg; and a fourth sample, void.
func grouped(t *testing.T) *Report {
	t.Helper()
	dir := t.TempDir()
	tables := map[string]string{
		"survey":  "item,value\nauthorities,House\n",
		"workers": "worker,group\nW1,Cutters\nW2,Cutters\nW3,Cutters\nW4,Cutters\n",
		"limits":  "analyte,authority,kind,value,unit\nQuillite,House,TWA8,1,mg/m3\nQuillite,House,STEL,2,mg/m3\n",
		"history": "group,analyte,date,worker,value,unit\nCutters,Quillite,2025-03-02,W1,300,ug/m3\n",
		"flows":   "train,leg,stage,readings\n", "samples": "sample,kind,train,leg,worker,shift,start,stop,void\n",
		"shifts": "shift,worker,start,end\n", "lab": "sample,analyte,result,unit,reporting_limit\n",
	}
	for i, result := range []string{"96", "192", "<48", "960"} {
		n, day, void := i+1, fmt.Sprintf("2026-03-%02d", i+2), map[bool]string{true: "hose off"}[i == 3]
		tables["flows"] += fmt.Sprintf("T%d,A,pre,2;2;2\nT%d,A,post,2;2;2\n", n, n)
		tables["samples"] += fmt.Sprintf("S%d,personal,T%d,A,W%d,D%d,%s 07:00,%s 15:00,%s\n", n, n, n, n, day, day, void)
		tables["shifts"] += fmt.Sprintf("D%d,W%d,%s 07:00,%s 15:00\n", n, n, day, day)
		tables["lab"] += fmt.Sprintf("S%d,Quillite,%s,ug,1\n", n, result)
	}
	for name, rows := range tables {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name+".csv"), []byte(rows), 0o600))
	}
	s, found, err := survey.Read(dir)
	require.NoError(t, err)
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{s}, found)
	require.NoError(t, err)
	return &Report{Results: results, Version: "0"}
}

func TestGroupsInResultsJSON(t *testing.T) {
	rows := rowsOf(t, parsed(t, grouped(t)), "groups")
	require.Len(t, rows, 1, "limits for minutes have no groups")
	g := rows[0]
	require.Equal(t, []any{"Cutters", "Quillite", "total", "House", "", "TWA8", "twa8", json.Number("1"), "mg/m3", json.Number("1")},
		[]any{g["group"], g["analyte"], g["form"], g["authority"], g["instrument"], g["kind"], g["basis"], g["limit"], g["unit"], g["n_history"]})
	require.Equal(t, []any{map[string]any{"worker": "W4", "shift": "D4", "why": "sample S4 is void: hose off"}}, g["excluded"])
	s := g["stats"].(map[string]any)
	require.Equal(t, []any{json.Number("4"), json.Number("1"), json.Number("0.3"), "Cutters", "mle"},
		[]any{s["n"], s["n_censored"], s["max"], s["group"], s["method"]})
	require.Contains(t, s["bayes"], "over_limit")
	require.Contains(t, s["en689"], "stage")
}

func TestGroupsAsATable(t *testing.T) {
	table := grouped(t).groupTable()
	var b bytes.Buffer
	require.NoError(t, table.writeCSV(&b))
	records, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Len(t, records, 2)
	row := map[string]string{}
	for i, name := range records[0] {
		row[name] = records[1][i]
	}
	require.Equal(t, []string{"Cutters", "W4, D4: sample S4 is void: hose off", "1", "4"},
		[]string{row["group"], row["excluded"], row["n_history"], row["stats.n"]})
	require.NotEmpty(t, row["stats.bayes.p95_ucl95"])
	require.NotEmpty(t, row["stats.why"])
}

func TestGroupsInTheSummary(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, grouped(t).WriteSummary(&b, Terminal{}))
	_, section, found := strings.Cut(b.String(), "\nGroups against the limits that govern\n")
	require.True(t, found, b.String())
	require.Contains(t, section, "Cutters: 0 above, 1 undecided, 0 below\n")
	require.Regexp(t, `Quillite  House TWA8 1 mg/m³  4, 1 past`, section)
	for _, line := range strings.Split(b.String(), "\n") {
		require.LessOrEqual(t, cellsOf(line), columns, line)
	}
}

// An estimate from very few shifts can be any number.
func TestShareOfALimitInTheSummary(t *testing.T) {
	g := grouped(t).Results.Groups()[0]
	g.Statistics.Bayes, g.Statistics.P95.UCL.Known = nil, true
	for _, c := range []struct {
		shifts int
		upper  float64
		want   string
	}{
		{12, 0.25, "25.0 %"}, {12, 1.0004, "100.04 %"}, {12, 99, "9900 %"}, {12, 5e7, "too few"},
		{5, 0.25, "too few"}, {6, 0.25, "25.0 %"}, {5, 1.0004, "too few"}, {6, 1.0004, "100.04 %"},
	} {
		g.Statistics.N, g.Statistics.P95.UCL.Value = c.shifts, c.upper
		require.Equal(t, c.want, groupLine(&g)[4], "%d shifts, %g", c.shifts, c.upper)
	}
	g.Statistics.P95.UCL.Known = false
	require.Equal(t, "-", groupLine(&g)[4])
}

func TestGroupsSheet(t *testing.T) {
	f, err := excelize.OpenReader(bytes.NewReader(workbook(t, grouped(t))))
	require.NoError(t, err)
	defer f.Close()
	rows, err := f.GetRows("Groups")
	require.NoError(t, err)
	require.Contains(t, rows[0], "95th percentile")
	require.Contains(t, rows[1], "Cutters")
	require.Contains(t, rows[1], "W4, D4: sample S4 is void: hose off")
}
