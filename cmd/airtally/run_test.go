package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"airtally/reports"
)

// tables writes a survey of three tables, with invented figures, and returns
// its folder. reading is the third reading of the first flow check.
func tables(t *testing.T, reading string) string {
	t.Helper()
	folder := t.TempDir()
	for name, text := range map[string]string{
		"flows.csv": "train,leg,stage,reading_1,reading_2,reading_3,unit\n" +
			"T1,A,pre,2.00,2.01," + reading + ",L/min\nT1,A,post,1.98,1.99,1.99,L/min\n",
		"samples.csv": "sample,kind,train,leg,worker,start,stop\n" +
			"S-1,personal,T1,A,W01,2026-03-02 07:00,2026-03-02 15:00\n",
		"lab.csv": "sample,analyte,result,unit,reporting_limit\nS-1,lead,1.29,ug,0.06\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(text), 0o666))
	}
	return folder
}

// airtally runs one command line.
func airtally(t *testing.T, args ...string) (status int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	status = run(context.Background(), args, strings.NewReader(""), &o, &e)
	return status, o.String(), e.String()
}

func TestReduceWritesItsFilesAndSaysWhere(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "results")
	status, out, errOut := airtally(t, "reduce", tables(t, "2.00"), "-o", folder)
	require.Equal(t, done, status, errOut)
	require.Empty(t, errOut, "no progress in a pipe")
	require.Contains(t, out, "Findings: 0 stop")
	require.NotContains(t, out, "\x1b", "no bold in a pipe")
	for _, name := range []string{reports.WorkbookFile, reports.ResultsFile, filepath.Join(reports.TablesFolder, "groups.csv")} {
		require.FileExists(t, filepath.Join(folder, name))
	}
}

func TestExitStatusOneWhereSomethingWasLeftOut(t *testing.T) {
	bad := tables(t, "2.O0")
	for _, command := range [][]string{{"check", bad}, {"reduce", bad, "--json"}} {
		status, out, _ := airtally(t, command...)
		require.Equal(t, leftOut, status, command)
		require.Contains(t, out, "2.O0")
	}
}

func TestExitStatusTwoSaysWhatToDo(t *testing.T) {
	good := tables(t, "2.00")
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o666))
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"reduce"}, "airtally: no survey given"},
		{[]string{"reduce", good}, "airtally: no folder to write into; say where with -o DIR, or print the results with --json"},
		{[]string{"reduce", good, "-o", file}, "choose another folder with -o"},
		{[]string{"reduce", good, good, "--json"}, "are the same survey; name it once"},
		{[]string{"check", filepath.Join(good, "missing.xlsx")}, "missing.xlsx"},
		{[]string{"check", "--nonsense"}, "unknown flag: --nonsense; see airtally check --help"},
		{[]string{"reduse", good}, `unknown command "reduse"`},
	} {
		status, out, errOut := airtally(t, c.args...)
		require.Equal(t, unusable, status, c.args)
		require.Empty(t, out, c.args)
		require.Contains(t, errOut, c.want)
	}
}

func TestJSONStandsAloneOnStandardOutput(t *testing.T) {
	defer func(f func() time.Time) { now = f }(now)
	now = func() time.Time { return time.Date(2026, 3, 20, 9, 30, 0, 5, time.UTC) }
	for _, command := range []string{"reduce", "check"} {
		status, out, errOut := airtally(t, command, tables(t, "2.00"), "--json")
		require.Equal(t, done, status, errOut)
		var object map[string]any
		require.NoError(t, json.Unmarshal([]byte(out), &object))
		require.Equal(t, "2026-03-20T09:30:00Z", object["created"])
		require.Equal(t, "airtally "+version, object["tool"])
		require.Len(t, object["inputs"], 3)
	}
}

func TestQuietPrintsNothing(t *testing.T) {
	status, out, errOut := airtally(t, "check", tables(t, "2.00"), "--quiet")
	require.Equal(t, []any{done, "", ""}, []any{status, out, errOut})
}

func TestAnEarlierWorkbookIsPointedOut(t *testing.T) {
	good, folder := tables(t, "2.00"), t.TempDir()
	_, out, _ := airtally(t, "reduce", good, "-o", folder)
	require.NotContains(t, out, "earlier run")
	_, out, _ = airtally(t, "reduce", good, "-o", folder, "--no-workbook")
	require.Contains(t, strings.Join(strings.Fields(out), " "), "is of an earlier run and does not hold these results")
}

func TestAnInterruptedRunWritesNothing(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	folder := filepath.Join(t.TempDir(), "results")
	var out, errOut bytes.Buffer
	status := run(ctx, []string{"reduce", tables(t, "2.00"), "-o", folder}, nil, &out, &errOut)
	require.Equal(t, unusable, status)
	require.Equal(t, "airtally: interrupted; nothing was written\n", errOut.String())
	require.NoDirExists(t, folder)
}

func TestHelpShowsAnExampleAndTheCaution(t *testing.T) {
	for _, args := range [][]string{{"--help"}, {"reduce", "--help"}, {"check", "--help"}, {}} {
		status, out, errOut := airtally(t, args...)
		require.Equal(t, done, status)
		require.Empty(t, errOut)
		require.Contains(t, out, "Examples:")
		require.Contains(t, out, "Decision support only.")
		for line := range strings.Lines(out) {
			require.LessOrEqual(t, len(line), 81, line)
		}
	}
}

func TestVersion(t *testing.T) {
	status, out, _ := airtally(t, "--version")
	require.Equal(t, done, status)
	require.Equal(t, "airtally "+version+"\n", out)
}
