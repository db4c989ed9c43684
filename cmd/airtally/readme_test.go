package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The output that the README shows is what its commands print. A line of "…"
// in the README stands for lines left out.
func TestReadmeShowsRealOutput(t *testing.T) {
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	require.NoError(t, err)
	t.Chdir(root)

	t.Run("reduce", func(t *testing.T) {
		dir := filepath.Join(t.TempDir(), "out")
		printed := commandOutput(t, "reduce", "testdata/demo", "-o", dir)
		assertShown(t, block(t, string(readme), "\n    go run ./cmd/airtally reduce testdata/demo -o out\n"),
			strings.ReplaceAll(printed, dir, "out"))
		for _, name := range []string{"report.xlsx", "results.json", "tables/lab.csv"} {
			_, err := os.Stat(filepath.Join(dir, name))
			assert.Equal(t, name != "tables/lab.csv", err == nil, name)
		}
	})
	t.Run("check", func(t *testing.T) {
		assertShown(t, block(t, string(readme), "reads and judges without writing anything:"),
			commandOutput(t, "check", "testdata/demo"))
	})
	t.Run("limits", func(t *testing.T) {
		assertShown(t, block(t, string(readme), "by name, synonym or CAS number:"),
			commandOutput(t, "limits", "chromium vi"))
	})
	t.Run("group", func(t *testing.T) {
		assertShown(t, block(t, string(readme), "`analyte` and `unit`:"),
			commandOutput(t, "group", "testdata/groups.csv", "--limit", "4", "--unit", "mg/m3"))
	})
}

func commandOutput(t *testing.T, args ...string) string {
	t.Helper()
	var out, errOut bytes.Buffer
	require.Equal(t, 0, run(context.Background(), args, strings.NewReader(""), &out, &errOut), errOut.String())
	return out.String()
}

// block returns the lines of the first fenced block behind a text.
func block(t *testing.T, readme, behind string) []string {
	t.Helper()
	_, rest, found := strings.Cut(readme, behind)
	require.True(t, found, behind)
	_, rest, found = strings.Cut(rest, "```text\n")
	require.True(t, found, "a fenced block")
	shown, _, found := strings.Cut(rest, "```")
	require.True(t, found, "the end of the block")
	return strings.Split(strings.TrimRight(shown, "\n"), "\n")
}

// assertShown finds the shown lines among the printed ones, in their order.
func assertShown(t *testing.T, shown []string, printed string) {
	t.Helper()
	lines := strings.Split(printed, "\n")
	for _, want := range shown {
		if want == "…" || want == "" || strings.HasPrefix(want, "$ ") {
			continue
		}
		at := -1
		for i, line := range lines {
			if strings.TrimRight(line, " ") == want {
				at = i
				break
			}
		}
		if at < 0 {
			t.Fatalf("the README shows %q, which is not printed (there)", want)
		}
		lines = lines[at+1:]
	}
}
