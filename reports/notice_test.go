package reports

import (
	"bytes"
	"context"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
)

// reducedFrom reads and reduces surveys.
func reducedFrom(t *testing.T, paths ...string) *Report {
	t.Helper()
	var surveys []*survey.Survey
	var found []*finding.List
	for _, path := range paths {
		s, list, err := survey.Read(path)
		require.NoError(t, err)
		surveys, found = append(surveys, s), append(found, list)
	}
	results, err := exposure.Reduce(context.Background(), surveys, found...)
	require.NoError(t, err)
	return &Report{Results: results, Version: "test"}
}

// notices returns the notices of a report by file name.
func notices(t *testing.T, r *Report) map[string]string {
	t.Helper()
	all := map[string]string{}
	for _, f := range r.noticeFiles() {
		var b bytes.Buffer
		require.NoError(t, f.write(context.Background(), &b))
		require.Equal(t, NoticesFolder, filepath.Dir(f.path), "a notice never leaves its folder")
		require.NotContains(t, all, filepath.Base(f.path))
		all[filepath.Base(f.path)] = b.String()
	}
	return all
}

var tags = regexp.MustCompile(`(?s)<style>.*?</style>|<[^>]*>`)

// said returns what a notice says.
func said(page string) string {
	return strings.Join(strings.Fields(html.UnescapeString(tags.ReplaceAllString(page, " "))), " ")
}

const demoFolder = "../testdata/demo"

// A notice holds the results of one worker: no code and no name of another
// stands in it, not even where the results are those of another.
func TestANoticeNamesNobodyElse(t *testing.T) {
	r := reducedFrom(t, demoFolder)
	pages := notices(t, r)
	workers := r.Surveys[0].Workers
	require.Len(t, pages, len(workers))
	for _, w := range workers {
		page := pages[w.ID+".html"]
		for _, other := range workers {
			if other.ID == w.ID {
				continue
			}
			assert.NotContains(t, page, other.ID, "the notice of %s", w.ID)
			if other.Name != "" {
				assert.NotContains(t, page, other.Name, "the notice of %s", w.ID)
			}
		}
		assert.Contains(t, page, w.ID)
		assert.Contains(t, page, w.Name)
		assert.Contains(t, page, Caution)
		assert.NotContains(t, page, "http", "nothing from elsewhere")
		assert.NotContains(t, page, "<script")
		assert.NotContains(t, page, "ZgotmplZ")
	}
	r.NoNames = true
	for file, page := range notices(t, r) {
		for _, w := range workers {
			if w.Name != "" {
				assert.NotContains(t, page, w.Name, file)
			}
		}
	}
}

// Every figure of a worker against a limit is told, and how far it is known.
func TestANoticeTellsEveryResult(t *testing.T) {
	r := reducedFrom(t, demoFolder)
	pages := notices(t, r)
	for i := range r.Comparisons {
		c := &r.Comparisons[i]
		f := noticeFigureOf(c)
		want := f.Exposure + " " + f.Share + ","
		assert.Contains(t, said(pages[c.Worker+".html"]), want, "%s %s %s", c.Worker, c.Shift, c.Substance.Analyte)
		assert.Contains(t, said(pages[c.Worker+".html"]), f.Share+", "+strings.TrimSpace(f.Mark()+" "+string(c.Outcome)))
	}
}

// 29 CFR 1910.1027(d)(5)(i): within 15 working days of the receipt of results.
// Results received on 2026-05-26; by hand, with no holiday between, the 15th
// working day is 2026-06-16. 29 CFR 1910.1026(d)(4)(ii): the notice of an
// exposure above the limit says what is being done.
func TestANoticeSaysWhatIsDue(t *testing.T) {
	pages := notices(t, reducedFrom(t, demoFolder))
	text := said(pages["W-03.html"])
	assert.Contains(t, text, "Above a limit")
	assert.Contains(t, text, "2026-06-16 Cadmium")
	assert.Contains(t, text, "the notice also says what is being done")
	assert.Contains(t, text, "2026-08-05 Chromium (VI) monitor the 8-hour exposure again within 3 months", "29 CFR 1910.1026(d)(2)(iv), from 2026-05-05")
	assert.NotContains(t, text, "Chromium (VI), Lead no repeat is due", "one shift asks for a repeat")
	assert.Contains(t, text, "What is being done to bring the exposure down For the employer to fill in")
	assert.Contains(t, text, "field hygienist")
	assert.Contains(t, said(pages["W-06.html"]), "Below every limit it was compared with")
	assert.NotContains(t, said(pages["W-06.html"]), "For the employer to fill in")
}

// Employees whom the sampled one represents are told the results too
// (29 CFR 1910.1025(d)(8)(i): each affected employee).
func TestARepresentedWorkerIsToldTheResultsAndWhoseTheyAreNot(t *testing.T) {
	pages := notices(t, reducedFrom(t, demoFolder))
	text := said(pages["W-10.html"])
	assert.Contains(t, text, "Results that stand for you")
	assert.Contains(t, text, "These results were not measured on you.")
	assert.NotContains(t, text, "Your results")
	own := regexp.MustCompile(`[0-9.]+ [µm]g/m³ [0-9.<]+ %`)
	require.Equal(t, own.FindAllString(said(pages["W-03.html"]), -1), own.FindAllString(text, -1))
	require.NotEmpty(t, own.FindAllString(text, -1))
}

// invented writes a survey with workers of invented codes, one sample each.
func invented(t *testing.T, workers string, codes ...string) string {
	t.Helper()
	folder := t.TempDir()
	samples, lab := "sample,kind,train,leg,worker,start,stop\n", "sample,analyte,result,unit,cas,reporting_limit\n"
	for i, code := range codes {
		id := string(rune('a' + i))
		samples += id + ",personal,T1,A,\"" + strings.ReplaceAll(code, `"`, `""`) + "\",2026-03-02 07:00,2026-03-02 15:00\n"
		lab += id + ",lead,1.29,ug,7439-92-1,0.06\n"
	}
	for name, text := range map[string]string{
		"flows.csv":   "train,leg,stage,readings,unit\nT1,A,pre,2.00;2.01;2.00,L/min\nT1,A,post,1.99;1.99;1.98,L/min\n",
		"samples.csv": samples, "lab.csv": lab, "workers.csv": "worker,name,represented_by\n" + workers,
	} {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(text), 0o666))
	}
	return folder
}

func TestAnyWorkerCodeMakesASafeFileName(t *testing.T) {
	codes := []string{"../../out", `..\out`, "/etc/out", "CON", "nul.txt", "A-1", "a-1", "a/1", "<script>alert(1)</script>", "...", "Ωμέγα 7", strings.Repeat("ø", 200)}
	pages := notices(t, reducedFrom(t, invented(t, "", codes...)))
	require.Len(t, pages, len(codes))
	seen := map[string]bool{}
	for file, page := range pages {
		assert.Regexp(t, `^[\p{L}\p{N}_][\p{L}\p{N}_.-]*\.html$`, file)
		assert.NotContains(t, file, "..")
		assert.LessOrEqual(t, len(file), 220)
		assert.NotRegexp(t, `(?i)^(con|nul)\.`, file)
		assert.False(t, seen[strings.ToLower(file)], file)
		seen[strings.ToLower(file)] = true
		assert.NotContains(t, page, "<script")
	}
}

// Two surveys may give one code to two people: each is told their own alone.
func TestOneCodeForTwoPeopleMakesTwoNotices(t *testing.T) {
	first, second := invented(t, "W1,Orla Vantripp,\n", "W1"), invented(t, "W1,Benno Askerdale,\n", "W1")
	pages := notices(t, reducedFrom(t, first, second))
	require.Len(t, pages, 2)
	for _, page := range pages {
		assert.NotEqual(t, strings.Contains(page, "Orla Vantripp"), strings.Contains(page, "Benno Askerdale"))
		assert.Equal(t, 1, strings.Count(page, "<li><b>2026-03-02</b>"))
	}
	same := notices(t, reducedFrom(t, first, invented(t, "W1,ORLA  Vantripp,\n", "W1")))
	require.Len(t, same, 1)
}

func TestWorkersWithoutANoticeAreNamed(t *testing.T) {
	r := reducedFrom(t, invented(t, "W2,,W3\nW4,,W4\nW5,,W1\n", "W1"))
	pages := notices(t, r)
	require.Len(t, pages, 2)
	require.Contains(t, pages["W1.html"], "shift W1 2026-03-02")
	require.NotContains(t, pages["W5.html"], "W1", "a shift named after its worker")
	require.Equal(t, []string{"No notice for W2: represented by W3, who has no result."}, r.WithoutNotice())
}
