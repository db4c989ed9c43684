package reports

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"airtally/exposure/finding"
)

// Findings of check come sheet by sheet in the order of the tables, each by
// place; a kind twenty times and then counted; every remedy is there.
func TestFindingsComeSheetBySheet(t *testing.T) {
	r := demo()
	r.Findings = nil
	add := func(table string, row int, cell string, s finding.Severity, code finding.Code, remedy string) {
		r.Findings = append(r.Findings, finding.Finding{Severity: s, Code: code, Message: fmt.Sprintf("found in %s%d", table, row), Remedy: remedy,
			Place: finding.Place{File: "book.xlsx", Table: table, Row: row, Cell: cell}})
	}
	for row := 30; row > 1; row-- {
		add("lab", row, fmt.Sprintf("C%d", row), finding.Check, "looks-odd", "mend it")
	}
	add("lab", 5, "AA5", finding.Note, "wide", "nothing")
	add("lab", 5, "B5", finding.Stop, "left-out", "write it")
	add("samples", 9, "", finding.Note, "row-only", "look")
	add("flows", 9, "B9", finding.Note, "note-here", "look")
	r.Findings = append(r.Findings, finding.Finding{Severity: finding.Note, Code: "whole-file", Message: "of the file", Remedy: "save it", Place: finding.Place{File: "book.xlsx"}})
	var b bytes.Buffer
	require.NoError(t, r.WriteFindings(&b, Terminal{}))
	text := b.String()
	from := 0
	for _, want := range []string{
		"Findings: 1 stop, 29 check, 4 note", "STOP   left out of the results", "CHECK  look before", "NOTE   worth knowing",
		"\nbook.xlsx: 1 note\n  NOTE · Whole file\n      of the file\n      To do: save it\n",
		"\nflows · book.xlsx: 1 note\n  flows!B9 · NOTE · Note here\n",
		"\nsamples · book.xlsx: 1 note\n  samples row 9 · NOTE · Row only\n",
		"\nlab · book.xlsx: 1 stop, 29 check, 1 note\n  lab!C2 · CHECK · Looks odd\n",
		"  lab!B5 · STOP · Left out\n      found in lab5\n      To do: write it\n  lab!C5 · CHECK", "  lab!AA5 · NOTE · Wide\n",
		"  lab!C21 · CHECK · Looks odd\n      found in lab21\n      To do: mend it\n  and 9 more: Looks odd, 29 in all\n",
	} {
		at := strings.Index(text[from:], want)
		require.GreaterOrEqual(t, at, 0, "%q is missing or too early in:\n%s", want, text)
		from += at
	}
	require.NotContains(t, text, "lab!C22 ·")
}
