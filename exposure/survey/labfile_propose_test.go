package survey

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Any text is proposed for or refused, never a panic; and whatever is read
// without a mapping has no row unspoken.
func FuzzPropose(f *testing.F) {
	for _, seed := range []string{
		"sample,analyte,result,unit\nS-1,Lead,1,ug\n",
		"Report 7\n\nProbe;Stoff;Menge (µg);BG\nS-1;Blei;1,5;0,5\n* note\n",
		"Client ID\tToluene front\tToluene back\n\tµg\tµg\nS-1\t1\t<1\n",
		"sample,result,result,unit,analyte\n\"S-1,1,2,ug,Lead\n",
		"sep=|\nsample|analyte|result|unit\n",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		decoded, _ := decodeText([]byte(text))
		sources := []source{{file: "f.csv", name: "f", grid: newTextGrid(decoded)}}
		p, err := propose("f.csv", sources, "")
		if err != nil || len(p.Doubts()) > 0 {
			return
		}
		tables, err := p.mapping().tablesOf("f.csv", sources, func(string) bool { return false }, discard())
		if err != nil {
			return
		}
		for _, table := range tables {
			readRows(table, clockOf(nil, discard()), discard(), bindLab)
		}
	})
}

// Any text is a mapping or refused, never a panic.
func FuzzMapping(f *testing.F) {
	for _, seed := range []string{mappingHead, mappingHead + "[[skip]]\nheading = \"No\"\nis = [\"x\"]\n", "[headings]\na = { column = \"result\", of = 3 }\n[headings.b]\nc = 1979-05-27\n", "a.b.c = []\n"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		m, err := parseMapping("m.toml", []byte(text))
		if err != nil {
			return
		}
		list := discard()
		tables, err := m.tablesOf("f.csv", []source{{file: "f.csv", name: "f", grid: newTextGrid("No,Stuff,Found,In\nS-1,Lead,1.5,ug\n")}}, func(string) bool { return true }, list)
		if err != nil {
			return
		}
		for _, table := range tables {
			readRows(table, clockOf(nil, list), list, bindLab)
		}
	})
}

// No word stands for two things: which of them is meant would be left to chance.
func TestHeadingWordsMeanOneThing(t *testing.T) {
	for _, words := range []map[string][]string{headingWords, sectionWords, qualifierMeanings} {
		meant := map[string]string{}
		for column, all := range words {
			for _, word := range all {
				key := simplify(word)
				if key == "" {
					key = word
				}
				if before, met := meant[key]; met && before != column {
					t.Errorf("%q is %s and %s", word, before, column)
				}
				meant[key] = column
			}
		}
	}
	for column := range headingWords {
		_, known := labDescription.Column(column)
		require.True(t, known || slices.Contains([]string{Unused, detectionLimit, sumOfSections}, column), column)
	}
}

// labRow is one result of an invented table, and how it must be read.
type labRow struct{ sample, analyte, section, result, want string }

// drawnTable draws results of a few samples, sections and analytes.
func drawnTable(t *rapid.T) []labRow {
	var rows []labRow
	tube := rapid.Bool().Draw(t, "tube")
	for i := range rapid.IntRange(1, 4).Draw(t, "samples") {
		for _, analyte := range []string{"Toluene", "Benzene"} {
			sections := []string{""}
			if tube {
				sections = []string{"front", "back"}
			}
			for _, section := range sections {
				hundredths := rapid.IntRange(1, 99999).Draw(t, "result")
				r := labRow{sample: fmt.Sprintf("K-%d", 11+i), analyte: analyte, section: section, result: fmt.Sprintf("%d.%02d", hundredths/100, hundredths%100)}
				kind := 0
				if rapid.IntRange(0, 3).Draw(t, "found") == 0 {
					kind, r.result = int(LessThan), "<"+r.result
				}
				r.want = fmt.Sprintf("%s %s %s %d%g", r.sample, r.analyte, section, kind, float64(hundredths)/100)
				rows = append(rows, r)
			}
		}
	}
	return rows
}

// drawnLayout writes a table as some laboratory might: headings of any
// language, in any order, with other columns among them, titles above and a
// note below, decimal commas, sections in a column, side by side or at the end
// of the sample's number.
func drawnLayout(t *rapid.T, rows []labRow) string {
	word := func(column string) string {
		w := rapid.SampledFrom(headingWords[column]).Draw(t, column)
		if rapid.IntRange(0, 5).Draw(t, "decorated") > 0 {
			return w
		}
		return rapid.SampledFrom([]string{"Final " + w, w + " 2", w + " (as reported)", "Lab " + w, w + " total", "Blank " + w, w + " %"}).Draw(t, "decoration")
	}
	delimiter, comma := rapid.SampledFrom([]string{",", ";", "\t"}).Draw(t, "delimiter"), false
	if delimiter != "," {
		comma = rapid.Bool().Draw(t, "comma")
	}
	number := func(text string) string {
		if comma {
			return strings.Replace(text, ".", ",", 1)
		}
		return text
	}
	type column struct {
		heading string
		cell    func(r *labRow) string
	}
	unitInHeading := rapid.Bool().Draw(t, "unit in the heading")
	result := word("result")
	if unitInHeading {
		result += rapid.SampledFrom([]string{" (µg)", " [ug]", " µg/sample", ", ug"}).Draw(t, "unit")
	}
	if strings.Contains(result, delimiter) {
		result = `"` + result + `"`
	}
	columns := []column{
		{word("sample"), func(r *labRow) string { return r.sample }},
		{word("analyte"), func(r *labRow) string { return r.analyte }},
		{result, func(r *labRow) string { return number(r.result) }},
	}
	if !unitInHeading {
		columns = append(columns, column{word("unit"), func(*labRow) string { return "µg" }})
	}
	if rows[0].section != "" {
		columns = append(columns, column{word("section"), func(r *labRow) string { return rapid.SampledFrom(sectionWords[r.section]).Draw(t, "section") }})
	}
	if rapid.Bool().Draw(t, "method") {
		columns = append(columns, column{word("method"), func(*labRow) string { return "NIOSH 1501" }})
	}
	if rapid.Bool().Draw(t, "laboratory's number") {
		columns = append(columns, column{rapid.SampledFrom(headingWords[Unused]).Draw(t, "unused"), func(*labRow) string { return "0417" }})
	}
	if rapid.IntRange(0, 2).Draw(t, "trap") == 0 {
		heading := rapid.SampledFrom([]string{"Conc (mg/m3)", "Uncertainty %", "Blank", "LOD", "Air vol", "Amount 2", "µg", "Benzene", "Rear", "RL", "Sum", "Factor"}).Draw(t, "trap heading")
		columns = append(columns, column{heading, func(*labRow) string { return "77" }})
	}
	columns = rapid.Permutation(columns).Draw(t, "columns")
	text := rapid.SampledFrom([]string{"", "Report 0417\n\n", "Works at Quillow Bay; hall 3, line 2\n\nOstmere\n"}).Draw(t, "title")
	line := func(cell func(c column) string) {
		var cells []string
		for _, c := range columns {
			cells = append(cells, cell(c))
		}
		text += strings.Join(cells, delimiter) + "\n"
	}
	line(func(c column) string { return c.heading })
	for i := range rows {
		line(func(c column) string { return c.cell(&rows[i]) })
	}
	return text + rapid.SampledFrom([]string{"", "\n* as received\n"}).Draw(t, "note")
}

// What is read without a mapping is read rightly: the proposal either leaves
// something to decide, or gives every row as it was meant.
func TestWhatIsNotDoubtedIsRight(t *testing.T) {
	sure, all := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		rows := drawnTable(t)
		text := drawnLayout(t, rows)
		g := newTextGrid(text)
		sources := []source{{file: "f.csv", name: "f", grid: newTextGridBy(text, delimiterOf(g))}}
		all++
		p, err := propose("f.csv", sources, "")
		if err != nil || len(p.Doubts()) > 0 {
			return
		}
		sure++
		list := discard()
		tables, err := p.mapping().tablesOf("f.csv", sources, func(string) bool { return true }, list)
		if err != nil {
			t.Fatal(err)
		}
		findStyles(tables, list)
		var got, want []string
		for _, table := range tables {
			for _, l := range readRows(table, clockOf(nil, list), list, bindLab) {
				got = append(got, fmt.Sprintf("%s %s %s %d%g", l.Sample, l.Analyte, l.Section, l.Kind, l.Value))
				if l.Unit.Name != "ug" {
					t.Fatalf("unit %s:\n%s", l.Unit.Name, text)
				}
			}
		}
		for _, r := range rows {
			want = append(want, r.want)
		}
		if !slices.Equal(got, want) {
			t.Fatalf("read\n%s\nwant\n%s\nof\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"), text)
		}
	})
	require.Greater(t, sure, all/10, "many layouts are to be understood")
	t.Logf("%d of %d understood", sure, all)
}

// A column without a heading is named by its letter; one that the mapping does
// not name is told of where it holds something.
func TestColumnsWithoutAHeading(t *testing.T) {
	export := "No,Stuff,Found,,In,,\nS-1,Lead,1.5,U,ug,,\n"
	_, findings, err := labSurvey(t, export, mappingHead)
	require.NoError(t, err)
	require.Len(t, findings, 1)
	require.Contains(t, findings[0], `check lab-column-new export.csv:export!D1 [] the heading "column D" is not in the mapping`)
	s, findings, err := labSurvey(t, export, mappingHead+"\"column D\" = \"qualifier\"\n[qualifiers]\nU = \"not-detected\"\n")
	require.NoError(t, err)
	require.Empty(t, findings)
	require.True(t, s.Lab[0].Qualifiers.Has(U))
}

// A lab table that is only headings is none where the laboratory's file has the
// results.
func TestAnEmptyLabTableBesideAFile(t *testing.T) {
	s, findings, err := labSurvey(t, "No,Stuff,Found,In\nS-1,Lead,1.5,ug\n", mappingHead, "lab.csv", "sample,analyte,result,unit\n")
	require.NoError(t, err)
	require.Empty(t, findings)
	require.Len(t, s.Lab, 1)
}

// What the cells or headings leave open is left to a person, with what speaks
// for which.
func TestWhatProposalsLeaveOpen(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"dates in two orders", "Sample,Analyte,Result (ug),Received\nS-1,Lead,1.5,05/07/2026\nS-2,Lead,2.5,06/08/2026\n", `"dates": day-month-year or month-day-year?`},
		{"numbers in two readings", "Sample;Analyte;Result (ug)\nS-1;Lead;1.550\nS-2;Lead;2.250\n", `"decimal": "," or "."? "1.550" can be read as two numbers`},
		{"a mass and a concentration", "Sample,Analyte,Amount (ug),Conc (mg/m3)\nS-1,Lead,1.5,0.02\n", `"Amount (ug)": 1.5; "Amount (ug)" and "Conc (mg/m3)" hold results`},
		{"a detection limit alone", "Sample,Analyte,Result (ug),LOD\nS-1,Lead,1.5,0.02\n", `"LOD": 0.02; "reporting_limit" if results under it are reported as not found`},
		{"samples above their results", "Sample,Analyte,Result (ug)\nS-1,Lead,1.5\n,Zinc,2.5\n,Tin,3.5\n", `"fill_down": 2 of 3 rows have no sample: ["Sample"]`},
		{"a heading that says nothing", "Sample,Analyte,Result (ug),Kappa\nS-1,Lead,1.5,0.7\n", `"Kappa": 0.7; not known: "result", another column, or "-"? Its cells hold numbers`},
		{"letters under no heading", "Sample,Analyte,Result (ug),,RL\nS-1,Lead,1.5,U,0.5\n", `"column D": U; not known: "qualifier" or "-"? Its cells hold letters alone`},
		{"an analyte that is not known", "Sample,Lead (ug),Kryptin (ug),Received\nS-1,1.5,0.5,2026-05-07\n", `not known: { column = "result", analyte = "Kryptin", unit = "ug" } or "-"?`},
		{"symbols of elements", "Sample,Lead (ug),B (ug),F (ug),Received\nS-1,1.5,0.5,2.5,2026-05-07\n", `"B (ug)": 0.5; not known: { column = "result", analyte = "B", unit = "ug" } or "-"?`},
		{"letters without a meaning", "Sample,Analyte,Result (ug),Flag\nS-1,Lead,1.5,H\n", `qualifier "H": diluted, estimated, in-blank`},
		{"letters beside results", "Sample,Analyte,Result (ug),Mark\nS-1,Lead,1.5,J\n", `"qualifier" or "-"? Its cells hold letters alone`},
		{"yes and no", "Sample,Analyte,Result (ug),Corrected\nS-1,Lead,1.5,yes\n", `"desorption_applied", "blank_applied" or "-"?`},
		{"no unit", "Sample,Analyte,Result\nS-1,Lead,1.5\n", `constant "unit": no heading gives the unit`},
		{"a unit that is not known", "Sample,Analyte,Result,Unit\nS-1,Lead,1.5,ug\nS-2,Lead,1.5,grains\n", `unit "grains": which unit of a lab table is it?`},
		{"a word for no section", "Sample,Analyte,Result (ug),Section\nS-1,Lead,1.5,middle\n", `section "middle": front, back, pre, post?`},
		{"ends that may be legs", "Sample,Analyte,Result (ug)\nS1-A,Lead,1\nS1-B,Lead,1\nS2-A,Lead,1\nS2-B,Lead,1\n", `suffix "-A": front? 2 sample numbers stand with both ends`},
		{"samples of the laboratory", "Sample,Analyte,Result (ug)\nS-1,Lead,1.5\nLCS 7,Lead,98\n", `skip "Sample": "yes" if these are the laboratory's own samples, none of the survey: row 3`},
		{"two numbers of a sample", "Sample No,Sample Ref,Analyte,Result (ug)\nS-1,K-1,Lead,1.5\n", `"Sample No" and "Sample Ref" mean sample: which?`},
		{"one qualifier for two sections", "Sample,Analyte,Front (ug),Back (ug),Flag\nS-1,Toluene,1.5,<1,J\n", `{ column = "qualifier", of = "Front (ug)" } for one alone?`},
		{"cells that are no results", "Sample,Analyte,Result (ug)\nS-1,Lead,fine\nS-2,Lead,poor\n", `"Result (ug)": fine, poor; few of its cells are results`},
		{"no result at all", "Sample,Analyte,Method,Unit\nS-1,Lead,M-7,ug\n", "no heading is understood as the result"},
	} {
		p, err := propose("f.csv", []source{{file: "f.csv", name: "f", grid: newTextGrid(c.text)}}, "")
		require.NoError(t, err, c.name)
		assert.Contains(t, strings.Join(p.Doubts(), "\n"), c.want, c.name)
	}
	both, err := propose("f.xlsx", []source{
		{file: "f.xlsx", name: "One", grid: newTextGrid("Sample,Analyte,Result (ug)\nS-1,Lead,1\n")},
		{file: "f.xlsx", name: "Two", grid: newTextGrid("Sample,Analyte,Amount (ug)\nS-1,Lead,1\n")}}, "")
	require.NoError(t, err)
	require.Contains(t, strings.Join(both.Doubts(), "\n"), "One, or Two: both look like results")
	certain, err := propose("f.csv", []source{{file: "f.csv", name: "f", grid: newTextGrid("Lab ID,Client Sample ID,Sample ID,Analyte,Result (ug),RL\nL-1,S-1,X-1,Lead,1,0.5\n")}}, "")
	require.NoError(t, err)
	require.Len(t, certain.Doubts(), 0, certain.Doubts())
	require.Equal(t, Unused, certain.mapping().Headings["Sample ID"].Column, "the client's number is meant")
}
