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

// A notice fits any screen and prints on both papers: every figure of it is on
// the paper, and each table has its header on every page.
func TestNoticesFitScreensAndPaper(t *testing.T) {
	toText := program(t, "pdftotext")
	b := startBrowser(t)
	inProjectRoot(t)
	dir := t.TempDir()
	commandOutput(t, "reduce", "testdata/demo", "-o", dir, "--notices", "--no-workbook")
	for _, worker := range []string{"W-03", "W-06", "W-10"} {
		b.open(filepath.Join(dir, "notices", worker+".html"))
		for _, width := range []int{360, 768, 1280} {
			b.width(width)
			assert.Equal(t, b.evaluate("document.documentElement.clientWidth"), b.evaluate("document.documentElement.scrollWidth"),
				"%s is wider than %d pixels", worker, width)
			assert.Empty(t, b.evaluate(wideElements), "%s at %d pixels", worker, width)
		}
		for _, scheme := range []string{"light", "dark"} {
			b.prefers(scheme)
			assert.Empty(t, b.evaluate(faintTexts), "%s in %s", worker, scheme)
		}
		figures := b.evaluate(`[...document.querySelectorAll("td p")].map(p => p.firstChild.textContent.trim())`).([]any)
		require.NotEmpty(t, figures)
		for _, paper := range [][2]float64{{8.27, 11.69}, {8.5, 11}} {
			path := filepath.Join(dir, "notice.pdf")
			require.NoError(t, os.WriteFile(path, b.print(paper[0], paper[1]), 0o666))
			printed, err := exec.Command(toText, "-layout", path, "-").Output()
			require.NoError(t, err)
			text := strings.Join(strings.Fields(string(printed)), " ")
			for _, figure := range figures {
				assert.Contains(t, text, " "+strings.Fields(figure.(string))[0]+" ", worker)
			}
			assert.Contains(t, text, "Handed over on")
			pages := strings.Count(string(printed), "\f")
			assert.LessOrEqual(t, pages, 3, worker)
			t.Logf("%s: %d pages on paper %g in wide", worker, pages, paper[0])
		}
	}
	assert.Empty(t, b.noise)
}
