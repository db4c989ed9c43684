package main

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// started returns the path of a new starter workbook.
func started(t *testing.T, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "survey.xlsx")
	said := commandOutput(t, append([]string{"new", path}, args...)...)
	assert.Contains(t, said, "Written: "+path)
	return path
}

// checked returns the samples of a survey and the codes found in it.
func checked(t *testing.T, path string) (codes map[string]int) {
	t.Helper()
	var found struct {
		Findings []struct{ Code, Severity string }
	}
	require.NoError(t, json.Unmarshal([]byte(commandOutput(t, "check", "--json", path)), &found))
	codes = map[string]int{}
	for _, f := range found.Findings {
		codes[f.Severity+" "+f.Code]++
	}
	return codes
}

// A starter of any kind reduces with nothing to find but that its rows are
// examples, one finding for each sheet with such rows, and that the pump of the
// first worker's samples stood still at lunch.
func TestTheStarterReduces(t *testing.T) {
	for _, c := range []struct {
		args   []string
		paused int
	}{
		{nil, 2},
		{[]string{"--trains", "cassette+tube", "--workers", "1"}, 2},
		{[]string{"--trains", "single", "--workers", "13"}, 1},
		{[]string{"--workers", "200"}, 2},
	} {
		t.Run(strings.Join(c.args, " "), func(t *testing.T) {
			assert.Equal(t, map[string]int{"check example-rows": 8, "note pump-paused": c.paused}, checked(t, started(t, c.args...)))
		})
	}
}

func TestTheStarterHasAsManyWorkersAsAsked(t *testing.T) {
	path := started(t, "--workers", "5", "--trains", "2-cassettes")
	dir := t.TempDir()
	commandOutput(t, "reduce", path, "-o", dir, "--no-workbook")
	raw, err := os.ReadFile(filepath.Join(dir, "results.json"))
	require.NoError(t, err)
	var results struct {
		Samples []struct {
			Kind, Worker string
			Volume       *float64 `json:"volume_l"`
			Drift        *float64 `json:"drift_pct"`
		}
	}
	require.NoError(t, json.Unmarshal(raw, &results))
	workers := map[string]int{}
	for _, s := range results.Samples {
		if s.Kind != "personal" {
			continue
		}
		workers[s.Worker]++
		// 450 min at about 2 L/min, by hand: pre 2.002, post 1.982, mean 1.992;
		// of the first worker 30 min less.
		want := 896.6
		if s.Worker == "EXAMPLE-W01" {
			want = 836.8
		}
		require.NotNil(t, s.Volume)
		assert.InDelta(t, want, *s.Volume, 2)
		assert.InDelta(t, -1, *s.Drift, 0.1)
	}
	assert.Equal(t, map[string]int{"EXAMPLE-W01": 2, "EXAMPLE-W02": 2, "EXAMPLE-W03": 2, "EXAMPLE-W04": 2, "EXAMPLE-W05": 2}, workers)
}

func TestNewSparesAFileThatIsThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mine.xlsx")
	require.NoError(t, os.WriteFile(path, []byte("mine"), 0o600))
	assert.Equal(t, "airtally: "+path+" is there already and was left as it is; choose another name, or write over it with --force\n", refusal(t, "new", path))
	kept, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(kept))
	commandOutput(t, "new", path, "--force")
	assert.NotEmpty(t, checked(t, path))
}

// refusal returns what a command says that must refuse.
func refusal(t *testing.T, args ...string) string {
	t.Helper()
	var out, errOut strings.Builder
	require.Equal(t, unusable, run(context.Background(), args, strings.NewReader(""), &out, &errOut))
	assert.Empty(t, out.String())
	return errOut.String()
}

func TestNewRefusesWhatItCannotMake(t *testing.T) {
	path := filepath.Join(t.TempDir(), "survey.xlsx")
	for want, args := range map[string][]string{
		"name one workbook to write, as in: airtally new survey.xlsx":                         {"new"},
		"survey.csv: give the workbook a name that ends in .xlsx":                             {"new", "survey.csv"},
		"--trains three: no such kind; expected 2-cassettes, cassette+tube, single":           {"new", path, "--trains", "three"},
		"--workers 0: expected a number from 1 to 200":                                        {"new", path, "--workers", "0"},
		"cannot write: open " + filepath.Join(path, "x.xlsx") + ": no such file or directory": {"new", filepath.Join(path, "x.xlsx")},
		"name one folder to write into, as in: airtally schema schemas":                       {"schema"},
	} {
		assert.Equal(t, "airtally: "+want+"\n", refusal(t, args...))
		_, err := os.Stat(path)
		assert.ErrorIs(t, err, os.ErrNotExist)
	}
}

func TestSchemaNamesWhatItWrites(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "schemas")
	said := strings.Fields(commandOutput(t, "schema", dir))
	require.Len(t, said, 14)
	for _, path := range said {
		_, err := os.Stat(path)
		require.NoError(t, err)
	}
	assert.Equal(t, filepath.Join(dir, "datapackage.json"), said[13])
}

// An office program opens the starter and writes it again; what it wrote reads
// as before. In print, the form for the flow checks is one page.
func TestTheStarterOpensInAnOfficeProgram(t *testing.T) {
	office, toText := program(t, "soffice"), program(t, "pdftotext")
	path := started(t, "--trains", "cassette+tube")
	dir := t.TempDir()
	for _, format := range []string{"xlsx", "pdf"} {
		said, err := exec.Command(office, "-env:UserInstallation=file://"+filepath.ToSlash(filepath.Join(dir, "profile")),
			"--headless", "--convert-to", format, "--outdir", dir, path).CombinedOutput()
		require.NoError(t, err, string(said))
	}
	assert.Equal(t, checked(t, path), checked(t, filepath.Join(dir, "survey.xlsx")))
	printed, err := exec.Command(toText, "-layout", filepath.Join(dir, "survey.pdf"), "-").Output()
	require.NoError(t, err)
	pages := strings.Split(string(printed), "\f")
	assert.Contains(t, pages[0], "A survey in ten steps")
	assert.Contains(t, pages[0], "Decision support only.")
	assert.Equal(t, 2, strings.Count(pages[1], "read again now that B is set"))
	assert.NotContains(t, pages[2], "Flow checks in the field")
	for _, wrong := range []string{"#NAME?", "#VALUE!", "#REF!", "###"} {
		assert.NotContains(t, string(printed), wrong)
	}
}
