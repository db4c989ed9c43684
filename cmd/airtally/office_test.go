package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// program returns the path of a program that a test needs. Without it the test
// is skipped, and fails where everything is meant to be there.
func program(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil && os.Getenv("CI") != "" {
		t.Fatalf("%s is not installed", name)
	}
	if err != nil {
		t.Skipf("%s is not installed", name)
	}
	return path
}

// The workbook of the demo opens in an office program and prints: the caution
// and the outcomes on its first page, a header row on every page of a table,
// and no cell in error.
func TestTheWorkbookPrints(t *testing.T) {
	office, toText := program(t, "soffice"), program(t, "pdftotext")
	inProjectRoot(t)
	dir := t.TempDir()
	commandOutput(t, "reduce", "testdata/demo", "-o", dir, "--advice")
	profile := "-env:UserInstallation=file://" + filepath.ToSlash(filepath.Join(dir, "profile"))
	said, err := exec.Command(office, profile, "--headless", "--convert-to", "pdf", "--outdir", dir,
		filepath.Join(dir, "report.xlsx")).CombinedOutput()
	require.NoError(t, err, string(said))
	printed, err := exec.Command(toText, "-layout", filepath.Join(dir, "report.pdf"), "-").Output()
	require.NoError(t, err)

	pages := strings.Split(strings.TrimSuffix(string(printed), "\f"), "\f")
	require.Greater(t, len(pages), 10)
	for _, want := range []string{"Decision support only.", "Chromium (VI)", "328.9 %", "above", "Page 1 of"} {
		assert.Contains(t, pages[0], want)
	}
	tables := 0
	for i, page := range pages {
		for _, wrong := range []string{"#NAME?", "#VALUE!", "#REF!", "#DIV/0!", "Err:5", "#N/A"} {
			assert.NotContains(t, page, wrong, "page %d", i+1)
		}
		head, _, _ := strings.Cut(page, "\n")
		if strings.HasSuffix(strings.TrimSpace(head), "Exposures vs limits") {
			tables++
			assert.Contains(t, page, "Kind of limit", "the header row on page %d", i+1)
		}
	}
	assert.Greater(t, tables, 3)
}
