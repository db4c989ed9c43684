package reports

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"airtally/exposure/finding"
	"airtally/limits"
	"airtally/stats"
)

func summaryOf(t *testing.T, r *Report, how Terminal) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, r.WriteSummary(&b, how))
	return b.String()
}

func requireNarrow(t *testing.T, text string) {
	t.Helper()
	for line := range strings.Lines(text) {
		require.LessOrEqual(t, cellsOf(strings.TrimRight(line, "\n")), columns, line)
	}
}

func TestTheTerminalTextFitsEightyColumns(t *testing.T) {
	r := demo()
	long := strings.Repeat("very long name ", 9) + strings.Repeat("x", 200)
	r.Settings.Title, r.Surveys[0].Path = long, long
	r.Exposures[0].WorkerShift.Worker, r.Exposures[0].WorkerShift.Shift = long, long
	lead := *r.Exposures[0].Substance
	lead.Analyte = strings.Repeat("鉛", 60)
	for i := range r.Exposures {
		r.Exposures[i].Substance = &lead
	}
	for i := range 60 {
		r.Findings = append(r.Findings, finding.Finding{Severity: finding.Check, Code: finding.Code(fmt.Sprintf("code-%d", i)),
			Place: finding.Place{File: "f", Table: long}, Message: long, Remedy: long})
	}
	requireNarrow(t, summaryOf(t, r, Terminal{Files: []string{long}, Notes: []string{long}}))
	var b bytes.Buffer
	require.NoError(t, r.WriteFindings(&b, Terminal{}))
	requireNarrow(t, b.String())
}

func TestBoldIsTheOnlyControlOfTheTerminal(t *testing.T) {
	r := demo()
	r.Exposures[0].WorkerShift.Worker = "W\x1b[31m\x07\u202e1"
	require.NotContains(t, summaryOf(t, r, Terminal{}), "\x1b")
	bold := summaryOf(t, r, Terminal{Bold: true})
	bold = strings.NewReplacer("\x1b[1m", "", "\x1b[0m", "").Replace(bold)
	require.Equal(t, summaryOf(t, r, Terminal{}), bold)
}

func TestFindingsAreCountedWhereTheyAreNotListed(t *testing.T) {
	r := demo()
	r.Findings = nil
	for i := range 50 {
		r.Findings = append(r.Findings, finding.Finding{Severity: finding.Stop, Code: "unreadable-number",
			Place: finding.Place{Table: "flows", Cell: fmt.Sprintf("E%d", i)}, Message: "found", Remedy: "mend it"})
	}
	text := summaryOf(t, r, Terminal{})
	require.Contains(t, text, "Unreadable number (50)")
	require.Contains(t, text, "and 40 more", "two lines each, twenty lines in all")
	require.Equal(t, 1, strings.Count(text, "To do: mend it"))
}

func TestEveryKindOfFindingHasItsLine(t *testing.T) {
	r := demo()
	for i := range 60 {
		r.Findings = append(r.Findings, finding.Finding{Severity: finding.Check, Code: finding.Code(fmt.Sprintf("kind-%02d", i)), Message: "m", Remedy: "r"})
	}
	text := summaryOf(t, r, Terminal{})
	for i := range 60 {
		require.Contains(t, text, fmt.Sprintf("     1  Kind %02d", i))
	}
}

func TestEveryAuthorityHasItsTally(t *testing.T) {
	r := demo()
	r.Comparisons[2].Outcome = limits.Below
	text := summaryOf(t, r, Terminal{})
	require.Contains(t, text, "EXA: 1 above, 1 undecided, 0 below\n")
	require.Contains(t, text, "Body Two: 0 above, 0 undecided, 1 below\n")
}

func TestEveryCautionIsWhole(t *testing.T) {
	plain := strings.Join(strings.Fields(summaryOf(t, demo(), Terminal{})), " ")
	require.Contains(t, plain, Caution)
}

func TestWrapKeepsEveryWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`[a-z ]{0,80}`).Draw(t, "s")
		most := rapid.IntRange(1, 20).Draw(t, "most")
		lines := wrap(s, most)
		if got, want := strings.Join(strings.Fields(strings.Join(lines, "")), ""), strings.ReplaceAll(s, " ", ""); strings.ReplaceAll(got, " ", "") != want {
			t.Fatalf("%q became %q", want, got)
		}
		for _, l := range lines {
			if cellsOf(l) > most {
				t.Fatalf("%q is over %d", l, most)
			}
		}
	})
}

// The worst of each must stay when the lines run out, whatever its authority.
func TestWhatIsAboveIsNeverCutForWhatIsBelow(t *testing.T) {
	r := demo()
	r.Comparisons[0].Outcome = limits.Below
	r.Comparisons[1].Fraction = stats.Exact(0.3) // smaller, yet above by its own rule
	require.Len(t, r.worstOfEach(), 3)
	require.Equal(t, "dust", r.worstOfEach()[0].Substance.Analyte)
	top, more := r.highest(1)
	require.Equal(t, 2, more)
	require.Equal(t, "dust", top[0].Substance.Analyte)
}
