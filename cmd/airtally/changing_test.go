package main

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"airtally/reports"
)

// afterReading has something happen between the reading of the inputs and the
// writing of the results: the time of a run is taken there.
func afterReading(t *testing.T, happens func()) {
	t.Helper()
	now = func() time.Time { happens(); return time.Date(2026, 3, 9, 12, 0, 0, 0, time.UTC) }
	t.Cleanup(func() { now = time.Now })
}

// An input that is not any more what was read is never archived as if it were:
// the run says which, and leaves no archive and no report behind.
func TestAnInputThatChangesDuringTheRunIsNotArchived(t *testing.T) {
	lab := "sample,analyte,result,unit,reporting_limit\nS-1,lead,1.29,ug,0.06\n"
	write := func(text string) func(t *testing.T, path string) {
		return func(t *testing.T, path string) { require.NoError(t, os.WriteFile(path, []byte(text), 0o666)) }
	}
	for name, c := range map[string]struct {
		change func(t *testing.T, path string)
		want   string // "" where nothing is wrong
	}{
		"a digit of the same length": {write("sample,analyte,result,unit,reporting_limit\nS-1,lead,9.29,ug,0.06\n"), "was changed while it was being reduced; run airtally again"},
		"a row more":                 {write(lab + "S-1,zinc,4.1,ug,0.06\n"), "was changed while it was being reduced; run airtally again"},
		"emptied":                    {write(""), "was changed while it was being reduced; run airtally again"},
		"removed":                    {func(t *testing.T, path string) { require.NoError(t, os.Remove(path)) }, "cannot be read again"},
		"a folder in its place": {func(t *testing.T, path string) {
			require.NoError(t, os.Remove(path))
			require.NoError(t, os.Mkdir(path, 0o777))
		}, "cannot be read again"},
		"saved again as it was": {write(lab), ""},
	} {
		t.Run(name, func(t *testing.T) {
			good, dir := tables(t, "2.00"), t.TempDir()
			path := filepath.Join(good, "lab.csv")
			afterReading(t, func() { c.change(t, path) })
			status, _, errOut := airtally(t, "reduce", good, "-o", filepath.Join(dir, "out"), "--archive", filepath.Join(dir, "run.zip"), "--no-workbook")
			if c.want == "" {
				require.Equal(t, done, status, errOut)
				require.FileExists(t, filepath.Join(dir, "run.zip"))
				return
			}
			assert.Equal(t, unusable, status)
			assert.Contains(t, errOut, path)
			assert.Contains(t, errOut, c.want)
			left, err := os.ReadDir(dir)
			require.NoError(t, err)
			assert.Empty(t, left, "neither archive nor reports")
		})
	}
}

// The same holds of a file of limits.
func TestLimitsThatChangeDuringTheRunAreNotArchived(t *testing.T) {
	good, dir := tables(t, "2.00"), t.TempDir()
	own := filepath.Join(dir, "own.csv")
	require.NoError(t, os.WriteFile(own, []byte("analyte,authority,kind,value,unit\nlead,House,TWA8,0.01,mg/m3\n"), 0o666))
	afterReading(t, func() {
		require.NoError(t, os.WriteFile(own, []byte("analyte,authority,kind,value,unit\nlead,House,TWA8,0.09,mg/m3\n"), 0o666))
	})
	status, _, errOut := airtally(t, "reduce", good, "--limits", own, "--archive", filepath.Join(dir, "run.zip"), "--no-workbook")
	require.Equal(t, unusable, status)
	require.Contains(t, errOut, own+" was changed while it was being reduced")
	require.NoFileExists(t, filepath.Join(dir, "run.zip"))
}

// Without an archive the hash of an input is that of the bytes that the results
// came from, not of what lies there afterwards.
func TestTheHashIsOfWhatWasRead(t *testing.T) {
	good, dir := tables(t, "2.00"), t.TempDir()
	path := filepath.Join(good, "lab.csv")
	read, err := os.ReadFile(path)
	require.NoError(t, err)
	afterReading(t, func() { require.NoError(t, os.WriteFile(path, []byte("changed"), 0o666)) })
	status, _, errOut := airtally(t, "reduce", good, "-o", dir, "--no-workbook")
	require.Equal(t, done, status, errOut)
	text, err := os.ReadFile(filepath.Join(dir, reports.ResultsFile))
	require.NoError(t, err)
	var results struct {
		Inputs []struct{ Path, SHA256 string }
	}
	require.NoError(t, json.Unmarshal(text, &results))
	hashes := map[string]string{}
	for _, in := range results.Inputs {
		hashes[in.Path] = in.SHA256
	}
	require.Equal(t, fmt.Sprintf("%x", sha256.Sum256(read)), hashes[path])
}
