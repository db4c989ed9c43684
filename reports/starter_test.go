package reports

import (
	"archive/zip"
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"airtally/exposure/survey"
)

func starterBytes(t *testing.T, s Starter) []byte {
	t.Helper()
	s.Version, s.Created = "test", time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	var b bytes.Buffer
	require.NoError(t, s.WriteStarter(&b))
	return b.Bytes()
}

func starterFile(t *testing.T, s Starter) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(starterBytes(t, s)))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, f.Close()) })
	return f
}

func TestTheSameStarterMakesTheSameBytes(t *testing.T) {
	s := Starter{Train: CassetteAndTube, Workers: 3}
	assert.Equal(t, starterBytes(t, s), starterBytes(t, s))
}

// No part of the workbook is a macro, and every sheet is there in the order of
// work.
func TestTheStarterIsPlain(t *testing.T) {
	raw := starterBytes(t, Starter{Train: TwoCassettes, Workers: 2})
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	for _, part := range z.File {
		assert.NotContains(t, strings.ToLower(part.Name), "vbaproject")
	}
	want := []string{survey.GuideSheet, survey.FieldSheet}
	for _, d := range survey.Descriptions() {
		want = append(want, d.Name)
	}
	f := starterFile(t, Starter{Train: TwoCassettes, Workers: 2})
	assert.Equal(t, append(want, listsSheet), f.GetSheetList())
	visible, err := f.GetSheetVisible(listsSheet)
	require.NoError(t, err)
	assert.False(t, visible)
	first, err := f.GetRows(survey.GuideSheet)
	require.NoError(t, err)
	steps := ""
	for i := range 10 {
		at := slices.IndexFunc(first, func(row []string) bool { return len(row) > 3 && row[0] == fmt.Sprint(i+1) })
		require.GreaterOrEqual(t, at, 0, "step %d", i+1)
		steps += first[at][1] + " " + first[at][3] + "\n"
	}
	for _, word := range []string{"limits", "authorities", "derived", "gaps", "media", "shifts", "results_received", survey.ExamplePrefix} {
		assert.Contains(t, steps, word)
	}
}

// Each item of the survey sheet stands there with its note, at its default, or
// blank; a date is shown as one.
func TestTheSurveySheetHoldsEveryItem(t *testing.T) {
	f := starterFile(t, Starter{Train: TwoCassettes, Workers: 1})
	rows, err := f.GetRows("survey")
	require.NoError(t, err)
	notes, err := f.GetComments("survey")
	require.NoError(t, err)
	for i, item := range survey.Items() {
		row, cell := append(rows[i+1], ""), fmt.Sprintf("A%d", i+2)
		assert.Equal(t, item.Name, row[0])
		assert.Equal(t, item.Default, strings.TrimSpace(row[1]), item.Name)
		at := slices.IndexFunc(notes, func(n excelize.Comment) bool { return n.Cell == cell })
		require.GreaterOrEqual(t, at, 0, item.Name)
		assert.Contains(t, fmt.Sprint(notes[at].Paragraph), itemNote(&item))
		style, err := f.GetCellStyle("survey", fmt.Sprintf("B%d", i+2))
		require.NoError(t, err)
		look, err := f.GetStyle(style)
		require.NoError(t, err)
		if item.Type == survey.MomentCell {
			require.NotNil(t, look.CustomNumFmt, item.Name)
			assert.Equal(t, "yyyy-mm-dd", *look.CustomNumFmt)
		}
	}
}

// A note must not make another unit of one: mg is no Mg.
func TestNotesLeaveUnitsAsTheyAre(t *testing.T) {
	for _, d := range survey.Descriptions() {
		for i := range d.Columns {
			c := &d.Columns[i]
			assert.NotContains(t, columnNote(c), "....", "%s.%s", d.Name, c.Name)
			if c.Type == survey.UnitCell {
				assert.Contains(t, columnNote(c), "Unit: "+c.Help, "%s.%s", d.Name, c.Name)
			}
		}
	}
}

// What a page takes across is as wide as one can write beside, and headings
// take no more lines than two.
func TestTheStarterPrintsToBeWrittenOn(t *testing.T) {
	f := starterFile(t, Starter{Train: CassetteAndTube, Workers: 2})
	for _, d := range survey.Descriptions() {
		wide := 0.0
		for at := range starterColumns(d) {
			name, err := excelize.ColumnNumberToName(at + 1)
			require.NoError(t, err)
			width, err := f.GetColWidth(d.Name, name)
			require.NoError(t, err)
			wide += width
		}
		page, err := f.GetPageLayout(d.Name)
		require.NoError(t, err)
		assert.LessOrEqual(t, wide/float64(*page.FitToWidth), float64(formWidth), d.Name)
		height, err := f.GetRowHeight(d.Name, 1)
		require.NoError(t, err)
		assert.LessOrEqual(t, height, rowHeight(mostHeadingLines), d.Name)
	}
	var titles []string
	for _, n := range f.GetDefinedName() {
		if n.Name == "_xlnm.Print_Titles" && n.Scope == "samples" {
			titles = append(titles, n.RefersTo)
		}
	}
	assert.Equal(t, []string{"'samples'!$A:$A,'samples'!$1:$1"}, titles)
}

// Every described column stands in its sheet, with a note; the header row
// stays in sight and repeats in print.
func TestStarterSheetsExplainTheirColumns(t *testing.T) {
	f := starterFile(t, Starter{Train: TwoCassettes, Workers: 1})
	titles := map[string]bool{}
	for _, n := range f.GetDefinedName() {
		titles[n.Scope] = titles[n.Scope] || n.Name == "_xlnm.Print_Titles"
	}
	for _, d := range survey.Descriptions() {
		notes, err := f.GetComments(d.Name)
		require.NoError(t, err)
		rows, err := f.GetRows(d.Name)
		require.NoError(t, err)
		for at, c := range starterColumns(d) {
			cell, err := excelize.CoordinatesToCellName(at+1, 1)
			require.NoError(t, err)
			assert.Equal(t, c.heading, rows[0][at])
			i := slices.IndexFunc(notes, func(n excelize.Comment) bool { return n.Cell == cell })
			require.GreaterOrEqual(t, i, 0, "%s %s has no note", d.Name, cell)
			assert.Contains(t, notes[i].Text+fmt.Sprint(notes[i].Paragraph), columnNote(c.Column))
		}
		panes, err := f.GetPanes(d.Name)
		require.NoError(t, err)
		assert.True(t, panes.Freeze && panes.YSplit == 1, d.Name)
		assert.True(t, titles[d.Name], "%s repeats its header in print", d.Name)
	}
}

// listOf returns what the drop-down over a column offers, "" where there is
// none.
func listOf(t *testing.T, f *excelize.File, table, column string) string {
	t.Helper()
	all, err := f.GetDataValidations(table)
	require.NoError(t, err)
	at := slices.IndexFunc(starterColumns(survey.Describe(table)), func(c starterColumn) bool { return c.key == column })
	name, err := excelize.ColumnNumberToName(at + 1)
	require.NoError(t, err)
	for _, v := range all {
		if strings.HasPrefix(v.Sqref, name+"2:") && v.Type == "list" {
			return strings.Trim(v.Formula1, `"`)
		}
	}
	return ""
}

func TestStarterColumnsOfferTheirValues(t *testing.T) {
	f := starterFile(t, Starter{Train: TwoCassettes, Workers: 1})
	for _, c := range []struct{ table, column, want string }{
		{"samples", "kind", "personal,area,blank"},
		{"samples", "purpose", "shift,short-term,ceiling,duplicate"},
		{"samples", "train", "flows!$A$2:$A$2000"},
		{"samples", "medium", "media!$A$2:$A$2000"},
		{"samples", "worker", "workers!$A$2:$A$2000"},
		{"samples", "shift", "shifts!$A$2:$A$2000"},
		{"samples", "leg", "A,B"},
		{"flows", "leg", "A,B,TOTAL"},
		{"flows", "stage", "pre,post"},
		{"flows", "action", "adjusted,verified"},
		{"flows", "unit", "L/min,mL/min"},
		{"flows", "device", "devices!$A$2:$A$2000"},
		{"lab", "unit", "ug,mg,ng,fibres,fibres/mm2"},
		{"lab", "sample", "samples!$A$2:$A$2000"},
		{"lab", "desorption_applied", "yes,no"},
		{"shifts", "worker", "workers!$A$2:$A$2000"},
		{"survey", "item", "lists!$A$1:$A$" + fmt.Sprint(len(survey.Items()))},
		{"samples", "note", ""},
	} {
		assert.Equal(t, c.want, listOf(t, f, c.table, c.column), "%s.%s", c.table, c.column)
	}
}

// The order of the flow checks: every leg set, then every leg read again, so
// that the first is read after the second was set; "each leg of a manifold is
// adjusted in turn until all are right": common practice, no source.
func TestLegsAreReadAgainAfterTheLastIsSet(t *testing.T) {
	for _, kind := range TrainKinds() {
		plan, err := planOf(kind)
		require.NoError(t, err)
		steps := plan.steps()
		lastSet := -1
		for i, s := range steps {
			if s.action == "adjusted" {
				lastSet = i
			}
		}
		for _, l := range plan.legs {
			for _, stage := range []string{"pre", "post"} {
				assert.True(t, slices.ContainsFunc(steps[lastSet+1:], func(s flowStep) bool {
					return s.leg == l.leg && s.stage == stage && s.action == "verified"
				}), "%s: leg %s, %s", kind, l.leg, stage)
			}
		}
	}
}

// The form holds a line for each flow check of the train, twice.
func TestTheFieldSheetHoldsEveryCheck(t *testing.T) {
	for kind, want := range map[TrainKind]int{TwoCassettes: 7, CassetteAndTube: 7, SingleSampler: 3} {
		rows, err := starterFile(t, Starter{Train: kind, Workers: 1}).GetRows(survey.FieldSheet)
		require.NoError(t, err)
		assert.Contains(t, fmt.Sprint(rows), "Pump timer", kind)
		lines := 0
		for _, row := range rows {
			if len(row) > 4 && (row[4] == "adjusted" || row[4] == "verified") {
				lines++
			}
		}
		assert.Equal(t, trainsOnForm*want, lines, kind)
	}
}

func TestNoStarterOfAnUnknownTrain(t *testing.T) {
	s := Starter{Train: "three pumps", Workers: 1}
	require.EqualError(t, s.WriteStarter(&bytes.Buffer{}), `no example shows trains of the kind "three pumps"`)
}
