package main

import (
	"encoding/csv"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"airtally/exposure"
)

// surveyFiles are the files of a survey, each as rows with its header first.
type surveyFiles map[string][][]string

func readSurveyFiles(t *testing.T, folder string) surveyFiles {
	t.Helper()
	all := surveyFiles{}
	paths, err := filepath.Glob(filepath.Join(folder, "*.csv"))
	require.NoError(t, err)
	for _, path := range paths {
		f, err := os.Open(path)
		require.NoError(t, err)
		all[filepath.Base(path)], err = csv.NewReader(f).ReadAll()
		require.NoError(t, err)
		require.NoError(t, f.Close())
	}
	return all
}

func (all surveyFiles) write(t *testing.T, folder string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(folder, 0o777))
	for name, rows := range all {
		f, err := os.Create(filepath.Join(folder, name))
		require.NoError(t, err)
		require.NoError(t, csv.NewWriter(f).WriteAll(rows))
		require.NoError(t, f.Close())
	}
}

// written writes the survey into a folder, and returns the folder.
func (all surveyFiles) written(t *testing.T, folder string) string {
	t.Helper()
	all.write(t, folder)
	return folder
}

func (all surveyFiles) with(e edit) {
	rows := slices.Clone(all[e.file])
	rows[e.row] = slices.Clone(rows[e.row])
	rows[e.row][e.column] = e.text
	all[e.file] = rows
}

// edit is one change of one input, in the survey and in the workbook.
type edit struct {
	file        string
	row, column int    // of the file, the header is row 0
	text        string // that the survey gets
	sheet, cell string // of the workbook
	number      string // that the workbook gets
}

func (e edit) String() string {
	return fmt.Sprintf("%s row %d column %d becomes %s (%s!%s)", e.file, e.row, e.column, e.text, e.sheet, e.cell)
}

// editor draws edits of a survey whose workbook it knows.
type editor struct {
	survey surveyFiles
	book   map[string]sheetCells
	draw   *rand.Rand
}

// column returns the column of a sheet under a heading.
func (e *editor) column(sheet, heading string) string {
	for name, cell := range e.book[sheet] {
		if column, row := splitCell(name); row == 1 && cell.value == heading {
			return column
		}
	}
	return ""
}

func (e *editor) field(file, name string) int { return slices.Index(e.survey[file][0], name) }

// scaled returns a number near another one, or far from it.
func (e *editor) scaled(v float64, factors []float64) string {
	f := factors[e.draw.IntN(len(factors))] * (1 + 0.02*e.draw.Float64())
	return strconv.FormatFloat(v*f, 'g', 5, 64)
}

// reading edits one reading of a flow check: by a little, or past the limit
// of drift.
func (e *editor) reading() (edit, bool) {
	rows := e.survey["flows.csv"]
	row, n := 1+e.draw.IntN(len(rows)-1), 1+e.draw.IntN(3)
	column := e.field("flows.csv", fmt.Sprintf("reading_%d", n))
	v, err := strconv.ParseFloat(rows[row][column], 64)
	if err != nil {
		return edit{}, false
	}
	text := e.scaled(v, []float64{0.85, 0.97, 1, 1.02, 1.2})
	number := text
	if strings.HasPrefix(strings.ToLower(rows[row][e.field("flows.csv", "unit")]), "ml") {
		v, _ := strconv.ParseFloat(text, 64)
		number = strconv.FormatFloat(v/1000, 'g', -1, 64)
	}
	return edit{"flows.csv", row, column, text, "Flow checks", e.column("Flow checks", fmt.Sprintf("Reading %d, L/min", n)) + strconv.Itoa(row+1), number}, true
}

// time moves the start or the stop of a sample.
func (e *editor) time() (edit, bool) {
	rows := e.survey["samples.csv"]
	row := 1 + e.draw.IntN(len(rows)-1)
	name, heading := "start", "Start"
	if e.draw.IntN(2) == 0 {
		name, heading = "stop", "Stop"
	}
	column := e.field("samples.csv", name)
	at, err := time.Parse("2006-01-02 15:04", rows[row][column])
	if err != nil {
		return edit{}, false
	}
	at = at.Add(time.Duration(e.draw.IntN(61)-30) * time.Minute)
	for cell, c := range e.book["Volumes"] {
		if letter, line := splitCell(cell); letter == "A" && c.value == rows[row][0] {
			return edit{"samples.csv", row, column, at.Format("2006-01-02 15:04"), "Volumes",
				e.column("Volumes", heading) + strconv.Itoa(line), strconv.FormatFloat(exposure.Serial(at), 'f', 9, 64)}, true
		}
	}
	return edit{}, false
}

// laboratory edits a result or a reporting limit, of blanks or of others.
func (e *editor) laboratory(name, heading string, ofBlanks bool) (edit, bool) {
	rows := e.survey["lab.csv"]
	row := 1 + e.draw.IntN(len(rows)-1)
	column := e.field("lab.csv", name)
	was, isUnder := strings.CutPrefix(rows[row][column], "<")
	v, err := strconv.ParseFloat(was, 64)
	if err != nil || ofBlanks != strings.Contains(rows[row][e.field("lab.csv", "sample")], "B") {
		return edit{}, false
	}
	number := e.scaled(v, []float64{0.1, 0.5, 0.9, 1, 1.3, 4, 20})
	text := number
	if isUnder {
		text = "<" + number
	}
	return edit{"lab.csv", row, column, text, "Laboratory", e.column("Laboratory", heading) + strconv.Itoa(row+1), number}, true
}

// next draws the n-th edit: the kinds take turns.
func (e *editor) next(n int) edit {
	kinds := []func() (edit, bool){
		e.reading,
		e.time,
		func() (edit, bool) { return e.laboratory("result", "Result", false) },
		func() (edit, bool) { return e.laboratory("reporting_limit", "Reporting limit", false) },
		func() (edit, bool) { return e.laboratory("result", "Result", true) },
	}
	for {
		if found, ok := kinds[n%len(kinds)](); ok {
			return found
		}
	}
}

// Edits of a CI run: so many workbooks with so many edits each. More, with one
// edit each, by AIRTALLY_EDITS=200.
const (
	editedBooks  = 40
	editsPerBook = 5
)

// After an edit of an input every figure of the workbook, worked out anew by
// LibreOffice, is what a fresh reduction of the edited survey gives, or says
// that it is stale.
func TestTheWorkbookFollowsEdits(t *testing.T) {
	office := program(t, "soffice")
	inProjectRoot(t)
	books, perBook := editedBooks, editsPerBook
	if n, err := strconv.Atoi(os.Getenv("AIRTALLY_EDITS")); err == nil {
		books, perBook = n, 1
	}
	dir := t.TempDir()
	commandOutput(t, "reduce", "testdata/demo", "-o", dir, "--quiet")
	written := filepath.Join(dir, "report.xlsx")
	book, parts := readBookParts(t, written)
	e := &editor{survey: readSurveyFiles(t, "testdata/demo"), book: book, draw: rand.New(rand.NewPCG(5, 2026))}
	var paths []string
	edits := make([][]edit, books)
	for i := range books {
		changed := numbers{}
		for n := range perBook {
			one := e.next(i*perBook + n)
			edits[i] = append(edits[i], one)
			changed.put(parts[one.sheet], one.cell, one.number)
		}
		paths = append(paths, filepath.Join(dir, fmt.Sprintf("edited-%d.xlsx", i)))
		withNumbers(t, written, paths[i], changed)
	}
	count := followTally{}
	for i, path := range recalculate(t, office, paths...) {
		survey := maps.Clone(e.survey)
		for _, one := range edits[i] {
			survey.with(one)
		}
		folder := filepath.Join(dir, fmt.Sprintf("survey-%d", i))
		survey.write(t, folder)
		fresh := readBook(t, reduceQuietly(t, folder))
		wrong := count.compare(book, readBook(t, path), fresh)
		if len(wrong) > 0 {
			assert.Fail(t, "figures that do not follow", "%v\n%s", edits[i], strings.Join(wrong[:min(len(wrong), 12)], "\n"))
		}
	}
	t.Logf("%d edits: %d figures followed, %d changed, %d stale", books*perBook, count.same, count.changed, count.stale)
	assert.Greater(t, count.changed, 20*books)
	assert.Less(t, count.stale, count.changed)
}

// reduceQuietly reduces a survey, whatever is found, and returns the workbook.
func reduceQuietly(t *testing.T, folder string) string {
	t.Helper()
	var said strings.Builder
	status := run(t.Context(), []string{"reduce", folder, "-o", folder + "-out", "--quiet"}, strings.NewReader(""), &said, &said)
	require.Less(t, status, unusable, said.String())
	return filepath.Join(folder+"-out", "report.xlsx")
}

// followTally counts figures of edited workbooks.
type followTally struct{ same, changed, stale int }

// compare returns which figures of a recalculated workbook are not those of a
// fresh one.
func (c *followTally) compare(written, recalculated, fresh map[string]sheetCells) []string {
	var wrong []string
	for sheet, cells := range written {
		if sheet == "Charts" || sheet == "Summary" {
			continue
		}
		before, now, want := tableOf(cells), tableOf(recalculated[sheet]), tableOf(fresh[sheet])
		for _, key := range before.keys {
			for heading, was := range before.rows[key] {
				if was.formula == "" || heading == "Edited" || strings.HasPrefix(heading, "unchanged") {
					continue // these tell of the edit itself
				}
				got, is := now.rows[key][heading], want.rows[key][heading]
				if want.rows[key] == nil && now.rows[key]["Outcome"].value == "undecided" {
					continue // there only because it decided
				}
				if said := c.judge(now.rows[key], was, got, is); said != "" {
					wrong = append(wrong, fmt.Sprintf("%s, %s %s: %s", sheet, key, heading, said))
				}
			}
		}
	}
	return wrong
}

// judge compares one figure with the fresh one, and says what is wrong.
func (c *followTally) judge(row map[string]sheetCell, was, got, want sheetCell) string {
	switch {
	case got.kind == "e":
		return "in error: " + got.value
	case got.value == staleText:
		c.stale++
	case sameCell(got, want):
		c.same++
		if !sameCell(was, got) {
			c.changed++
		}
	case got.value == "see its bounds at the right" || !follows(row):
	default:
		return fmt.Sprintf("wrote %q, recalculated %q, fresh %q; %s", was.value, got.value, want.value, was.formula)
	}
	return ""
}

// follows reports whether the figures of a row still come about as they did.
func follows(row map[string]sheetCell) bool {
	for heading, cell := range row {
		if strings.HasPrefix(heading, "follows") {
			return cell.value == "1"
		}
	}
	return true
}
