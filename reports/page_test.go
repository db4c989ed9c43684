package reports

import (
	"bytes"
	"context"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"airtally/exposure"
	"airtally/stats"
)

// pageOf returns the page of a report.
func pageOf(t testing.TB, r *Report) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.WritePage(context.Background(), &b))
	return b.String()
}

var (
	drawings = regexp.MustCompile(`(?s)<svg viewBox.*?</svg>`)
	ids      = regexp.MustCompile(` id="([^"]*)"`)
	inPage   = regexp.MustCompile(`(?:href|aria-labelledby)="#?([^":]*)"`)
)

// checkPage checks what holds of every page: it stands alone, its drawings are
// XML with titles and finite numbers, and what it refers to is there once.
func checkPage(t *testing.T, page string) {
	t.Helper()
	for _, wrong := range []string{`<script`, `(?i)(src|href)="?(https?:)?//`, `ZgotmplZ`, `NaN`, `[+-]Inf\b`, `1e\+?250`, `url\(["']?http`} {
		if at := regexp.MustCompile(wrong).FindStringIndex(page); at != nil {
			t.Errorf("the page has %q: …%s…", wrong, page[max(0, at[0]-60):min(len(page), at[1]+60)])
		}
	}
	has(t, page, `<html lang="en">`)
	assert.Equal(t, 2, strings.Count(page, Caution))
	for _, svg := range drawings.FindAllString(page, -1) {
		checkDrawing(t, svg)
	}
	known := map[string]bool{}
	for _, m := range ids.FindAllStringSubmatch(page, -1) {
		assert.False(t, known[m[1]], "two elements are %s", m[1])
		known[m[1]] = true
	}
	for _, m := range inPage.FindAllStringSubmatch(page, -1) {
		for _, id := range strings.Fields(m[1]) {
			assert.True(t, known[id], "nothing is %s", id)
		}
	}
	for _, header := range regexp.MustCompile(`<th(?: [^>]*)?>`).FindAllString(page, -1) {
		assert.Contains(t, header, `scope="`)
	}
}

// has fails where the page lacks a text; it does not print the whole page.
func has(t *testing.T, page, want string) {
	t.Helper()
	assert.True(t, strings.Contains(page, want), "the page lacks %q", want)
}

func hasNot(t *testing.T, page, not string) {
	t.Helper()
	assert.False(t, strings.Contains(page, not), "the page has %q", not)
}

func checkDrawing(t *testing.T, svg string) {
	t.Helper()
	assert.Contains(t, svg, `role="img"`)
	assert.Regexp(t, `<title id="[^"]+">[^<]+</title><desc id="[^"]+">[^<]+</desc>`, svg)
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		if _, err := d.Token(); err != nil {
			require.ErrorIs(t, err, io.EOF, svg)
			return
		}
	}
}

func TestThePageOfTheDemo(t *testing.T) {
	page := pageOf(t, reduced(t, "../testdata/demo"))
	checkPage(t, page)
	assert.Less(t, len(page), 500_000)
	// The highest worker-shift and the working of its volume, as the tables of
	// the demo have them: 850.65 L = 1.9875 L/min × 428 min.
	for _, want := range []string{
		"328.9 %", "850.65 L = 1.988 L/min × 428 min", "6.995 µg = 7.04 µg − 0.045 µg",
		"428 min = 07:14 to 14:44 − 22 min pause", "809.06 L = 1.926 L/min × 420 min",
		"known only to be under the mark", "Probability plot of", "95th percentiles of", "Shifts of 2026-05-05", "Change of flow",
		"paused 22 min", "29 CFR 1910.1000(d)(2)", "America/Chicago",
	} {
		has(t, page, want)
	}
	assert.Greater(t, len(drawings.FindAllString(page, -1)), 25)
}

func TestThePageOfTheInventedReport(t *testing.T) {
	page := pageOf(t, demo())
	checkPage(t, page)
	hasNot(t, page, hostileNote)
	has(t, page, "=cmd|")
	has(t, page, "&amp; 13")
}

// writeSurvey writes a survey of dust, one shift a worker, with results that
// are detects or not.
func writeSurvey(t *testing.T, workers []string, group, note string, detected bool) string {
	t.Helper()
	dir := t.TempDir()
	var lab, samples, flows, shifts, people bytes.Buffer
	lab.WriteString("sample,analyte,result,unit,reporting_limit\n")
	samples.WriteString("sample,kind,train,leg,medium,lot,worker,shift,start,stop,note\n")
	flows.WriteString("train,leg,stage,reading_1,reading_2,reading_3,unit,taken_at\n")
	shifts.WriteString("shift,worker,start,end,note\n")
	people.WriteString("worker,group,job\n")
	for i, w := range workers {
		quoted := `"` + w + `"`
		fmt.Fprintf(&people, "%s,%s,\"%s\"\n", quoted, group, note)
		fmt.Fprintf(&shifts, "D%d,%s,2026-04-07 07:00,2026-04-07 15:00,\"%s\"\n", i, quoted, note)
		fmt.Fprintf(&samples, "S%d,personal,T%d,A,M,L1,%s,D%d,2026-04-07 07:10,2026-04-07 14:50,\"%s\"\n", i, i, quoted, i, note)
		for _, stage := range []string{"pre,2.0,2.01,2.0,L/min,2026-04-07 06:50", "post,1.98,1.98,1.99,L/min,2026-04-07 15:05"} {
			fmt.Fprintf(&flows, "T%d,A,%s\n", i, stage)
		}
		result := "<50"
		if detected {
			result = fmt.Sprint(300 + 70*(i%23))
		}
		fmt.Fprintf(&lab, "S%d,\"Particulates\",%s,ug,50\n", i, result)
	}
	limit := "analyte,authority,kind,value,unit\nParticulates,House,TWA8,1,mg/m3\n"
	for name, text := range map[string]string{"lab": lab.String(), "samples": samples.String(), "flows": flows.String(),
		"shifts": shifts.String(), "workers": people.String(), "limits": limit, "survey": "item,value\ntitle,\"" + note + "\"\nauthorities,House\n"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name+".csv"), []byte(text), 0o666))
	}
	return dir
}

func manyWorkers(n int) []string {
	all := make([]string, n)
	for i := range all {
		all[i] = fmt.Sprintf("W-%03d", i+1)
	}
	return all
}

func TestPagesOfUnusualSurveys(t *testing.T) {
	long := strings.Repeat("a note that goes on and on ", 80) + strings.Repeat("x", 400)
	for _, c := range []struct {
		name        string
		workers     []string
		group, note string
		detected    bool
		wants       []string
		wantsNot    []string
	}{
		{"markup", []string{"<script>alert(1)</script>", "</style></svg><u>", "'\"&"}, "<i>g</i>", "<img src=x onerror=alert(1)>", true,
			[]string{"&lt;script&gt;alert(1)", "&lt;img src=x onerror=alert(1)&gt;"}, []string{"<img", "<i>g", "<u>"}},
		{"other scripts", []string{"電気溶接-一", "مشغل ٧", "рабочий-3"}, "塗装", "Отчёт о пробах воздуха", true,
			[]string{"電気溶接-一", "مشغل ٧", "Отчёт о пробах воздуха"}, nil},
		{"long notes", manyWorkers(3), "", long, true, []string{"goes on and on"}, nil},
		{"one worker", manyWorkers(1), "G", "One", true, []string{"W-001"}, nil},
		{"three hundred workers", manyWorkers(300), "G", "Many", true, []string{"W-300", "and 260 workers more"}, nil},
		{"no groups", manyWorkers(4), "", "None", true, []string{"Compared with the limits of House"}, []string{`id="groups"`}},
		{"all non-detects", manyWorkers(8), "G", "ND", false, []string{"&lt;0.0", `class="op"`}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := pageOf(t, reduced(t, writeSurvey(t, c.workers, c.group, c.note, c.detected)))
			checkPage(t, page)
			for _, want := range c.wants {
				has(t, page, want)
			}
			for _, not := range c.wantsNot {
				hasNot(t, page, not)
			}
			assert.Less(t, len(page), 2_000_000)
			if folder := os.Getenv("AIRTALLY_PICTURES"); folder != "" {
				require.NoError(t, os.WriteFile(filepath.Join(folder, strings.ReplaceAll(c.name, " ", "-")+".html"), []byte(page), 0o666))
			}
		})
	}
}

func TestThePageOfNothing(t *testing.T) {
	page := pageOf(t, &Report{Results: &exposure.Results{Settings: exposure.DefaultSettings()}})
	checkPage(t, page)
	has(t, page, "Nothing was compared with a limit.")
}

// A figure that says more than a limit is not rounded onto it, and figures of
// workings can be worked out again.
func TestFiguresOfWorkings(t *testing.T) {
	for v, want := range map[float64]string{
		905.276: "905.28", 1.994: "1.994", 454: "454", 0.00822318: "0.008223", 0: "0", 1.0 / 3: "0.3333", 12345.678: "12345.7", 2.5: "2.5",
	} {
		assert.Equal(t, want, workingFigure(v))
	}
}

func TestScales(t *testing.T) {
	s := logScale(100, 300, 6, 0.5, 20)
	assert.InDelta(t, 0.1, s.low, 1e-12)
	assert.InDelta(t, 100, s.high, 1e-9)
	assert.InDelta(t, 100, s.at(0.1), 1e-9)
	assert.InDelta(t, 166.7, s.at(1), 0.1) // a third of the way over three decades
	assert.InDelta(t, 300, s.at(1e9), 1e-9)
	assert.Equal(t, 100.0, s.at(0))
	none := logScale(0, 1, 6)
	assert.Less(t, none.low, none.high)
}

// A bound that does not exist is drawn to the edge and never as a number.
func TestUnboundedExposuresAreDrawable(t *testing.T) {
	d := newDrawing("f", "t", 100)
	d.says = "s"
	x := logScale(10, 300, 6, 1)
	c := &exposure.Comparison{Fraction: stats.AtLeast(0.5)}
	d.exposurePoint(x, 20, c, 1)
	d.line("rng", 1, 2, 1e300, 4)
	svg := string(d.html())
	checkDrawing(t, svg)
	assert.NotContains(t, svg, "e+")
	assert.Equal(t, 2, strings.Count(svg, "<path"))
}

// BenchmarkPage reports how fast the page of a week's survey is made.
func BenchmarkPage(b *testing.B) {
	r := reduced(b, "../testdata/demo")
	for b.Loop() {
		require.NoError(b, r.WritePage(context.Background(), io.Discard))
	}
}
