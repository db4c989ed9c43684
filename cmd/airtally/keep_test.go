package main

import (
	"archive/zip"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"airtally/reports"
)

var createdLine = regexp.MustCompile(`(?m)^"created":.*$`)

// resultsIn returns results.json of a folder without when it was made.
func resultsIn(t *testing.T, folder string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(folder, reports.ResultsFile))
	require.NoError(t, err)
	return createdLine.ReplaceAllString(string(text), "")
}

// An archive gives the results of its run byte for byte, the paths of the
// inputs too, after the inputs are gone; and so does an archive of an archive.
func TestAnArchiveGivesTheSameResults(t *testing.T) {
	first, second := tables(t, "2.00"), tables(t, "2.O0")
	require.NoError(t, os.WriteFile(filepath.Join(first, "old.xlsx"), []byte("never read"), 0o666))
	samples := "sample,kind,train,leg,worker,start,stop\nS-2,personal,T1,A,W02,2026-03-03 07:00,2026-03-03 15:00\n"
	require.NoError(t, os.WriteFile(filepath.Join(second, "samples.csv"), []byte(samples), 0o666))
	require.NoError(t, os.WriteFile(filepath.Join(second, "lab.csv"), []byte("sample,analyte,result,unit,reporting_limit\nS-2,lead,<0.06,ug,0.06\n"), 0o666))
	own := filepath.Join(t.TempDir(), "own limits.csv")
	require.NoError(t, os.WriteFile(own, []byte("analyte,authority,kind,value,unit\nlead,House,TWA8,0.01,mg/m3\n"), 0o666))

	dir := t.TempDir()
	kept := filepath.Join(dir, "kept", "run.zip")
	status, out, errOut := airtally(t, "reduce", first, second, "--limits", own, "-o", filepath.Join(dir, "one"), "--archive", kept, "--notices")
	require.Equal(t, leftOut, status, errOut)
	assert.Contains(t, out, kept)
	want := resultsIn(t, filepath.Join(dir, "one"))
	for _, gone := range []string{first, second, own} {
		require.NoError(t, os.RemoveAll(gone))
	}

	again := filepath.Join(dir, "again.zip")
	status, out, errOut = airtally(t, "reduce", kept, "-o", filepath.Join(dir, "two"), "--archive", again)
	require.Equal(t, leftOut, status, errOut)
	assert.Contains(t, strings.Join(strings.Fields(out), " "), "gives the results it holds")
	require.Equal(t, want, resultsIn(t, filepath.Join(dir, "two")))
	status, _, errOut = airtally(t, "reduce", again, "-o", filepath.Join(dir, "three"), "--quiet")
	require.Equal(t, leftOut, status, errOut)
	require.Equal(t, want, resultsIn(t, filepath.Join(dir, "three")))
	status, out, _ = airtally(t, "check", kept)
	require.Equal(t, leftOut, status)
	assert.Contains(t, out, "2.O0")
}

// The demo's workbook, too, with its settings, zone and limits.
func TestAnArchiveOfAWorkbookGivesTheSameResults(t *testing.T) {
	inProjectRoot(t)
	dir := t.TempDir()
	kept := filepath.Join(dir, "demo.zip")
	commandOutput(t, "reduce", "testdata/demo.xlsx", "-o", filepath.Join(dir, "one"), "--no-workbook", "--archive", kept)
	commandOutput(t, "reduce", kept, "-o", filepath.Join(dir, "two"), "--no-workbook")
	require.Equal(t, resultsIn(t, filepath.Join(dir, "one")), resultsIn(t, filepath.Join(dir, "two")))
}

// The same run at the same time is the same archive, byte for byte.
func TestAnArchiveIsTheSameEveryTime(t *testing.T) {
	now = func() time.Time { return time.Date(2026, 3, 9, 12, 0, 0, 0, time.UTC) }
	t.Cleanup(func() { now = time.Now })
	good, dir := tables(t, "2.00"), t.TempDir()
	var archives [2][]byte
	for i, name := range []string{"a.zip", "b.zip"} {
		path := filepath.Join(dir, name)
		status, _, errOut := airtally(t, "reduce", good, "--archive", path, "--notices")
		require.Equal(t, done, status, errOut)
		var err error
		archives[i], err = os.ReadFile(path)
		require.NoError(t, err)
	}
	require.Equal(t, archives[0], archives[1])
	packed, err := zip.OpenReader(filepath.Join(dir, "a.zip"))
	require.NoError(t, err)
	defer packed.Close()
	held := map[string]bool{}
	for _, f := range packed.File {
		held[f.Name] = true
		assert.Equal(t, now(), f.Modified.UTC(), f.Name)
	}
	for _, name := range []string{"manifest.json", "about.txt", "settings.json", "results.json", "inputs/1/lab.csv",
		"reports/report.xlsx", "reports/report.html", "reports/tables/samples.csv", "reports/notices/W01.html"} {
		assert.True(t, held[name], name)
	}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 2, "nothing but the archives")
}

// repack writes an archive anew with one member changed.
func repack(t *testing.T, from, to, member string, change func(string) string) {
	t.Helper()
	packed, err := zip.OpenReader(from)
	require.NoError(t, err)
	defer packed.Close()
	file, err := os.Create(to)
	require.NoError(t, err)
	w := zip.NewWriter(file)
	for _, f := range packed.File {
		r, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(r)
		require.NoError(t, err)
		if f.Name == member {
			text = []byte(change(string(text)))
		}
		into, err := w.Create(f.Name)
		require.NoError(t, err)
		_, err = into.Write(text)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	require.NoError(t, file.Close())
}

func TestArchivesThatCannotBeAreRefused(t *testing.T) {
	good, dir := tables(t, "2.00"), t.TempDir()
	kept := filepath.Join(dir, "run.zip")
	status, _, errOut := airtally(t, "reduce", good, "--archive", kept, "--quiet")
	require.Equal(t, done, status, errOut)
	altered := filepath.Join(dir, "altered.zip")
	repack(t, kept, altered, "inputs/1/lab.csv", func(text string) string { return strings.Replace(text, "1.29", "0.29", 1) })
	limits := filepath.Join(good, "lab.csv")
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"reduce", altered, "--json"}, `holds "inputs/1/lab.csv", which is not what was archived`},
		{[]string{"check", altered}, "inputs/1/lab.csv"},
		{[]string{"reduce", kept, "--json", "--limits", limits}, "leave out --limits"},
		{[]string{"reduce", good, "--archive", filepath.Join(dir, "run.tar")}, "ends in .zip"},
		{[]string{"reduce", kept, "--archive", kept}, "is one of the input files"},
		{[]string{"reduce", good, "--notices", "--json"}, "say where with -o DIR"},
		{[]string{"reduce", kept, kept, "--json"}, "are the same survey"},
	} {
		status, _, errOut := airtally(t, c.args...)
		assert.Equal(t, unusable, status, c.args)
		assert.Contains(t, errOut, c.want, c.args)
	}
	require.FileExists(t, kept)
}

// Results that an archive does not give are told of, whatever is printed.
func TestOtherResultsThanArchivedAreTold(t *testing.T) {
	good, dir := tables(t, "2.00"), t.TempDir()
	kept := filepath.Join(dir, "run.zip")
	status, _, errOut := airtally(t, "reduce", good, "--archive", kept, "--quiet")
	require.Equal(t, done, status, errOut)
	former := version
	version = "9.9.9"
	t.Cleanup(func() { version = former })
	status, _, errOut = airtally(t, "reduce", kept, "--json")
	require.Equal(t, done, status)
	require.Empty(t, errOut, "a version alone changes no result")

	hash := func(text string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(text))) }
	other, half := filepath.Join(dir, "other.zip"), filepath.Join(dir, "half.zip")
	var before, after string
	repack(t, kept, half, "results.json", func(text string) string {
		before, after = text, strings.Replace(text, `"worker":"W01"`, `"worker":"W09"`, 1)
		return after
	})
	repack(t, half, other, "manifest.json", func(text string) string {
		return strings.Replace(text, hash(before), hash(after), 1)
	})
	status, _, errOut = airtally(t, "reduce", other, "--json")
	require.Equal(t, done, status)
	require.Contains(t, errOut, "gives other results than those it holds")
}

func TestWhatLiesAboutOfAnEarlierRunIsTold(t *testing.T) {
	good, dir := tables(t, "2.00"), t.TempDir()
	status, out, errOut := airtally(t, "reduce", good, "-o", dir, "--notices", "--no-workbook")
	require.Equal(t, done, status, errOut)
	require.Contains(t, strings.Join(strings.Fields(out), " "), "(1 notice, .html)")
	status, out, _ = airtally(t, "reduce", good, "-o", dir, "--no-workbook")
	require.Equal(t, done, status)
	require.Contains(t, strings.Join(strings.Fields(out), " "), "do not hand them out")
}
