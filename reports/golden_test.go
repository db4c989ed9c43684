package reports

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares got with a file of testdata.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o777))
		require.NoError(t, os.WriteFile(path, got, 0o666))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "make it with: go test ./reports -update")
	require.Equal(t, string(want), string(got))
}

func TestResultsJSONIsAsKept(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, demo().WriteJSON(&b))
	golden(t, "results.json", b.Bytes())
}

func TestTablesAreAsKept(t *testing.T) {
	for _, a := range demo().tables() {
		var b bytes.Buffer
		require.NoError(t, a.writeCSV(&b))
		golden(t, filepath.Join("tables", a.name+".csv"), b.Bytes())
	}
}

func TestTerminalTextIsAsKept(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, demo().WriteSummary(&b, demoTerminal))
	golden(t, "summary.txt", b.Bytes())
	b.Reset()
	require.NoError(t, demo().WriteFindings(&b, Terminal{}))
	golden(t, "findings.txt", b.Bytes())
}

var demoTerminal = Terminal{Files: []string{"out/report.xlsx", "out/results.json", "out/tables/samples.csv", "out/tables/exposures.csv"}}

// TestWorkbookIsAsKept compares a dump of what every cell shows, for a
// workbook's bytes say nothing to a reader.
func TestWorkbookIsAsKept(t *testing.T) {
	golden(t, "report.txt", dump(t, workbook(t, demo())))
}

func workbook(t *testing.T, r *Report) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.WriteWorkbook(context.Background(), &b))
	return b.Bytes()
}
