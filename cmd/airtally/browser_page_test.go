package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// demoPage writes the page of a survey and returns its path.
func demoPage(t *testing.T, survey string) string {
	t.Helper()
	inProjectRoot(t)
	dir := t.TempDir()
	commandOutput(t, "reduce", survey, "-o", dir, "--no-workbook")
	return filepath.Join(dir, "report.html")
}

// keptPictures is the variable that names a folder for pictures of the page,
// for people who want to look at it.
const keptPictures = "AIRTALLY_PICTURES"

// The page is read on a telephone, a tablet and a desk, by day and by night: it
// never scrolls sideways, says nothing on the console, asks for no other file,
// and its text stands out from what is behind it as WCAG 2.1, 1.4.3 asks.
func TestThePageOnScreens(t *testing.T) {
	b := startBrowser(t)
	b.open(demoPage(t, "testdata/demo"))
	for _, scheme := range []string{"light", "dark"} {
		b.prefers(scheme)
		for _, width := range []int{360, 768, 1280} {
			b.width(width)
			assert.Equal(t, b.evaluate("document.documentElement.clientWidth"), b.evaluate("document.documentElement.scrollWidth"),
				"the page is wider than %d pixels", width)
			assert.Empty(t, b.evaluate(wideElements), "at %d pixels", width)
			assert.Empty(t, b.evaluate(squeezedTexts), "at %d pixels", width)
			if folder := os.Getenv(keptPictures); folder != "" {
				require.NoError(t, os.WriteFile(filepath.Join(folder, fmt.Sprintf("page-%s-%d.png", scheme, width)), b.picture(), 0o666))
			}
		}
		assert.Greater(t, b.evaluate("document.querySelectorAll('td').length"), 1000.0)
		assert.Empty(t, b.evaluate(faintTexts), "too faint in %s", scheme)
	}
	assert.Empty(t, b.noise)
}

// wideElements names what reaches past the right edge of the screen.
const wideElements = `[...document.querySelectorAll('body *')].filter(e => {
	const r = e.getBoundingClientRect();
	return r.width > 1 && r.right > document.documentElement.clientWidth + 1 && !e.closest('thead');
}).slice(0, 5).map(e => e.tagName + ' ' + e.className + ' ' + e.textContent.slice(0, 40)).join('; ')`

// squeezedTexts names texts set in a column of a letter or two.
const squeezedTexts = `[...document.querySelectorAll('caption, th, td, li, p, dd, dt, h3, h4, figcaption')].filter(e => {
	const r = e.getBoundingClientRect();
	return r.width > 1 && r.width < 34 && r.height > 60 && e.textContent.length > 12 && !e.closest('thead');
}).slice(0, 5).map(e => e.tagName + ' ' + e.textContent.slice(0, 40)).join('; ')`

// faintTexts names the texts whose contrast with what is behind them is under
// 4.5:1 (WCAG 2.1, 1.4.3, and its definition of contrast ratio).
const faintTexts = `(() => {
	const parse = c => c.match(/[\d.]+/g).map(Number);
	const light = c => { const f = parse(c).slice(0, 3).map(v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * f[0] + 0.7152 * f[1] + 0.0722 * f[2]; };
	const behind = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor, p = parse(c); if (p.length < 4 || p[3] > 0) return c; } return 'rgb(255, 255, 255)'; };
	const found = new Set();
	for (const e of document.querySelectorAll('body *')) {
		if (![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())) continue;
		const s = getComputedStyle(e), svg = e.namespaceURI.endsWith('svg');
		if (svg && e.tagName !== 'text') continue;
		const a = light(svg ? s.fill : s.color), b = light(behind(e)), ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
		if (ratio < 4.5) found.add(e.tagName + '.' + (e.getAttribute('class') || '') + ' ' + ratio.toFixed(2));
	}
	return [...found].slice(0, 10).join('; ');
})()`

// A number opens its own working by the keyboard alone: tab reaches it, Enter
// opens the row beneath it, which names what the number was made of.
func TestAWorkingOpensByKeyboard(t *testing.T) {
	b := startBrowser(t)
	b.open(demoPage(t, "testdata/demo"))
	b.width(1280)
	const focused = "document.activeElement.tagName"
	for n := 0; b.evaluate(focused) != "SUMMARY"; n++ {
		require.Less(t, n, 300, "no number is reached by the keyboard")
		b.press("Tab", "")
	}
	const beneath = "document.activeElement.closest('tr').nextElementSibling"
	require.Equal(t, "work", b.evaluate(beneath+".className"))
	require.Equal(t, "none", b.evaluate("getComputedStyle("+beneath+").display"))
	b.press("Enter", "\r")
	require.Equal(t, "table-row", b.evaluate("getComputedStyle("+beneath+").display"))
	said := b.evaluate(beneath + ".innerText")
	// The highest worker-shift of the demo; the figures are those of its tables.
	require.Contains(t, said, "428 min")
	require.Contains(t, said, "850.")
	b.press("Enter", "\r")
	require.Equal(t, "none", b.evaluate("getComputedStyle("+beneath+").display"))
}

// Printed on either paper the page has its headings on every page of a table,
// and no row is cut: a row's text stands whole on one page.
func TestThePagePrints(t *testing.T) {
	toText := program(t, "pdftotext")
	b := startBrowser(t)
	b.open(demoPage(t, "testdata/demo"))
	for _, paper := range []struct {
		name          string
		width, height float64
	}{{"A4", 8.27, 11.69}, {"Letter", 8.5, 11}} {
		path := filepath.Join(t.TempDir(), paper.name+".pdf")
		require.NoError(t, os.WriteFile(path, b.print(paper.width, paper.height), 0o666))
		if folder := os.Getenv(keptPictures); folder != "" {
			require.NoError(t, os.WriteFile(filepath.Join(folder, paper.name+".pdf"), b.print(paper.width, paper.height), 0o666))
		}
		printed, err := exec.Command(toText, "-layout", path, "-").Output()
		require.NoError(t, err)
		pages := strings.Split(strings.TrimSuffix(string(printed), "\f"), "\f")
		require.Greater(t, len(pages), 8)
		assert.Less(t, len(pages), 40)
		assert.Contains(t, pages[0], "Decision support only.")
		assert.Contains(t, pages[0], "328.9 %")
		tables := 0
		for i, page := range pages {
			if first := firstRow(page); first != "" {
				tables++
				assert.True(t, strings.HasPrefix(first, "W-"), "page %d on %s goes on with a part of a row: %s", i+1, paper.name, first)
			}
			if strings.Count(page, " below\n") > 20 {
				assert.Contains(t, page, "Of the limit", "the headings on page %d on %s", i+1, paper.name)
			}
			assert.Contains(t, page, fmt.Sprintf("%d / %d", i+1, len(pages)))
		}
		assert.Greater(t, tables, 5)
	}
}

// firstRow returns the line under the headings that go on at the top of a
// page, where those of comparisons do; "" where they do not.
func firstRow(page string) string {
	lines := strings.Split(strings.TrimLeft(page, "\n "), "\n")
	if len(lines) < 2 || !strings.Contains(lines[0], "Of the limit") {
		return ""
	}
	for _, line := range lines[1:] {
		if line = strings.TrimSpace(line); line != "" {
			return line
		}
	}
	return "nothing"
}
