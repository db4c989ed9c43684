package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// staleText is what a cell says that an edit asks a new run for.
const staleText = "stale: run airtally again"

// noBound is from where on a number of the workbook means that there is no
// upper bound.
const noBound = 1e200

// alwaysRecalculate is a profile of LibreOffice that does not trust the values
// that a workbook holds beside its formulas.
const alwaysRecalculate = `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>`

// recalculate has LibreOffice work workbooks out anew, on two processors, and
// returns the paths of the copies.
func recalculate(t *testing.T, office string, books ...string) []string {
	t.Helper()
	dir := t.TempDir()
	half := (len(books) + 1) / 2
	var group sync.WaitGroup
	for i, some := range [][]string{books[:half], books[half:]} {
		if len(some) == 0 {
			continue
		}
		group.Go(func() {
			said, err := convert(office, filepath.Join(dir, fmt.Sprint("profile", i)), filepath.Join(dir, "out"), some)
			assert.NoError(t, err, said)
		})
	}
	group.Wait()
	var out []string
	for _, b := range books {
		out = append(out, filepath.Join(dir, "out", filepath.Base(b)))
	}
	return out
}

// convert has LibreOffice write workbooks anew, with a profile of its own.
func convert(office, profile, out string, books []string) (string, error) {
	settings := filepath.Join(profile, "user", "registrymodifications.xcu")
	err := errors.Join(os.MkdirAll(filepath.Dir(settings), 0o777), os.WriteFile(settings, []byte(alwaysRecalculate), 0o666))
	if err != nil {
		return "", err
	}
	args := []string{"-env:UserInstallation=file://" + filepath.ToSlash(profile), "--headless", "--convert-to", "xlsx", "--outdir", out}
	said, err := exec.Command(office, append(args, books...)...).CombinedOutput()
	return string(said), err
}

// lastBits is what the spread of equal readings may come to in place of 0.
const lastBits = 1e-13

// sameFigure reports whether two figures are the same at 1e-9 relative; any
// two without a bound are.
func sameFigure(a, b float64) bool {
	if a >= noBound || b >= noBound {
		return a >= noBound && b >= noBound
	}
	return math.Abs(a-b) <= 1e-9*math.Max(math.Abs(a), math.Abs(b))+lastBits
}

// sameCell reports whether two cells hold the same.
func sameCell(a, b sheetCell) bool {
	x, isNumber := a.number()
	y, isOther := b.number()
	if isNumber || isOther {
		return isNumber && isOther && sameFigure(x, y)
	}
	return a.value == b.value && a.kind != "e" && b.kind != "e"
}

// LibreOffice works every formula of the demo's workbook out to what the
// engine found: figures at 1e-9 relative, words letter by letter.
func TestTheWorkbookRecalculatesToTheEnginesNumbers(t *testing.T) {
	office := program(t, "soffice")
	inProjectRoot(t)
	dir := t.TempDir()
	commandOutput(t, "reduce", "testdata/demo", "-o", dir, "--advice")
	written := filepath.Join(dir, "report.xlsx")
	engine := readBook(t, written)
	office1 := readBook(t, recalculate(t, office, written)[0])
	formulas := assertRecalculated(t, engine, office1)
	for _, sheet := range []string{"Volumes", "Flow checks", "Laboratory", "Concentrations", "Doses", "Exposures", "Exposures vs limits", "Mixtures", "Groups"} {
		assert.Greater(t, formulas[sheet], 100, sheet)
	}
	t.Log("formulas by sheet:", formulas)
}

// assertRecalculated compares every formula cell of a workbook with what
// another program makes of it, and returns how many there are.
func assertRecalculated(t *testing.T, engine, recalculated map[string]sheetCells) map[string]int {
	t.Helper()
	formulas := map[string]int{}
	for sheet, cells := range engine {
		for name, cell := range cells {
			if cell.formula == "" {
				continue
			}
			formulas[sheet]++
			if got := recalculated[sheet][name]; !sameCell(cell, got) {
				assert.Fail(t, "another figure", "%s!%s %s: wrote %q, recalculated %q %s", sheet, name, cell.formula, cell.value, got.value, got.kind)
			}
		}
	}
	for sheet, cells := range recalculated {
		for name, cell := range cells {
			assert.NotEqual(t, "e", cell.kind, "%s!%s is in error: %s", sheet, name, cell.formula)
		}
	}
	return formulas
}

// Other settings, and a survey of nothing but non-detects, recalculate too.
func TestVariantsRecalculateToTheEnginesNumbers(t *testing.T) {
	office := program(t, "soffice")
	inProjectRoot(t)
	dir := t.TempDir()
	variants := []map[string]string{
		{"drift_policy": "lower", "nondetect": "root2", "unsampled": "zero"},
		{"drift_policy": "void", "nondetect": "full", "blank_correction": "none", "ppm_basis": "site"},
		{"nondetect": "zero", "drift_limit_pct": "0.5", "min_coverage_pct": "95", "molar_volume": "24.1"},
	}
	var written []string
	for i, settings := range variants {
		survey := readSurveyFiles(t, "testdata/demo")
		for item, value := range settings {
			survey["survey.csv"] = append(withoutItem(survey["survey.csv"], item), []string{item, value})
		}
		written = append(written, reduceQuietly(t, survey.written(t, filepath.Join(dir, fmt.Sprint("settings", i)))))
	}
	survey := readSurveyFiles(t, "testdata/demo")
	at, limit := indexOf(survey["lab.csv"][0], "result"), indexOf(survey["lab.csv"][0], "reporting_limit")
	for _, row := range survey["lab.csv"][1:] {
		if row[limit] != "" {
			row[at] = "<" + row[limit]
		}
	}
	written = append(written, reduceQuietly(t, survey.written(t, filepath.Join(dir, "nondetects"))))
	for i, path := range written { // their names must differ
		written[i] = filepath.Join(dir, fmt.Sprintf("variant-%d.xlsx", i))
		require.NoError(t, os.Rename(path, written[i]))
	}
	for i, path := range recalculate(t, office, written...) {
		assertRecalculated(t, readBook(t, written[i]), readBook(t, path))
	}
}

func withoutItem(rows [][]string, item string) [][]string {
	return slices.DeleteFunc(slices.Clone(rows), func(row []string) bool { return row[0] == item })
}

// keyHeadings are the columns that name a row of a sheet.
var keyHeadings = []string{"Worker", "Shift", "Analyte", "Form", "Average", "Sample", "Authority", "Kind of limit", "As",
	"Train", "Leg", "Stage", "Section", "Mixture", "Group", "Limit"}

// table is a sheet with its cells by row key and heading.
type table struct {
	rows map[string]map[string]sheetCell
	keys []string // in the order of the rows
}

func tableOf(cells sheetCells) *table {
	headings := map[string]string{} // by column
	lastRow := 1
	for name := range cells {
		column, row := splitCell(name)
		if row == 1 {
			headings[column] = cells[name].value
		}
		lastRow = max(lastRow, row)
	}
	columns := make([]string, 0, len(headings))
	for c := range headings {
		columns = append(columns, c)
	}
	slices.Sort(columns)
	out := &table{rows: map[string]map[string]sheetCell{}}
	met := map[string]int{}
	for row := 2; row <= lastRow; row++ {
		fields, key := map[string]sheetCell{}, ""
		for _, c := range columns {
			cell, has := cells[fmt.Sprintf("%s%d", c, row)]
			if has {
				fields[headings[c]] = cell
			}
		}
		for _, h := range keyHeadings {
			if c := fields[h]; c.formula == "" && c.kind == "str" {
				key += h + "=" + c.value + ";"
			}
		}
		if key == "" {
			continue // a line under the table
		}
		met[key]++
		key += fmt.Sprint(met[key])
		out.rows[key] = fields
		out.keys = append(out.keys, key)
	}
	return out
}

func splitCell(name string) (column string, row int) {
	at := strings.IndexAny(name, "0123456789")
	fmt.Sscan(name[at:], &row)
	return name[:at], row
}
