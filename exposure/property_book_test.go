package exposure_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"airtally/exposure"
	"airtally/exposure/survey"
	"airtally/reports"
)

// failer is what *testing.T and *rapid.T have in common here.
type failer interface {
	Helper()
	Fatalf(format string, args ...any)
	Errorf(format string, args ...any)
}

// book is a survey as its tables: rows of cells, the header first, by name.
type book map[string][][]string

// column returns the place of a column in a table, -1 where it has none.
func (b book) column(table, name string) int {
	if len(b[table]) == 0 {
		return -1
	}
	return slices.Index(b[table][0], name)
}

// writeFolder writes every table as a .csv file.
func (b book) writeFolder(t failer, folder string) {
	t.Helper()
	for name, rows := range b {
		var text bytes.Buffer
		w := csv.NewWriter(&text)
		if err := w.WriteAll(rows); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := os.WriteFile(filepath.Join(folder, name+".csv"), text.Bytes(), 0o666); err != nil {
			t.Fatalf("%v", err)
		}
	}
}

// clockLayout is how the tables write a moment.
const clockLayout = "2006-01-02 15:04"

// writeWorkbook writes every table as a sheet. Numbers become number cells and
// moments date cells, as a person types them.
func (b book) writeWorkbook(t failer, path string) {
	t.Helper()
	f := excelize.NewFile()
	format := "yyyy-mm-dd hh:mm"
	moment, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
	if err != nil {
		t.Fatalf("%v", err)
	}
	for name, rows := range b {
		if _, err := f.NewSheet(name); err != nil {
			t.Fatalf("%v", err)
		}
		for r, row := range rows {
			for c, text := range row {
				cell, _ := excelize.CoordinatesToCellName(c+1, r+1)
				value := typed(text)
				if err := f.SetCellValue(name, cell, value); err != nil {
					t.Fatalf("%s!%s: %v", name, cell, err)
				}
				if _, isMoment := value.(time.Time); isMoment {
					_ = f.SetCellStyle(name, cell, cell, moment) // the cell was made just now
				}
			}
		}
	}
	if err := f.DeleteSheet("Sheet1"); err != nil {
		t.Fatalf("%v", err)
	}
	if err := f.SaveAs(path); err != nil {
		t.Fatalf("%v", err)
	}
	if err := f.Close(); err != nil {
		t.Fatalf("%v", err)
	}
}

func typed(text string) any {
	if x, err := strconv.ParseFloat(text, 64); err == nil {
		return x
	}
	if at, err := time.Parse(clockLayout, text); err == nil {
		return at
	}
	if text == "" {
		return nil
	}
	return text
}

// object is one row of an output array.
type object map[string]any

// output is results.json, decoded.
type output struct {
	Findings, Samples, Concentrations, Exposures, Comparisons, Mixtures []object
}

// reduceFolder reduces a book written as a folder of .csv files.
func reduceFolder(t failer, b book) output {
	t.Helper()
	folder, err := os.MkdirTemp("", "airtally-property-")
	if err != nil {
		t.Fatalf("%v", err)
	}
	defer os.RemoveAll(folder)
	b.writeFolder(t, folder)
	return reducePath(t, folder)
}

// reducePath reads and reduces a survey, writes it as JSON and decodes that.
func reducePath(t failer, path string) output {
	t.Helper()
	s, found, err := survey.Read(path)
	if err != nil {
		t.Fatalf("read %s: %v", path, err)
	}
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{s}, found)
	if err != nil {
		t.Fatalf("reduce: %v", err)
	}
	var text bytes.Buffer
	if err := (&reports.Report{Results: results, Version: "test"}).WriteJSON(&text); err != nil {
		t.Fatalf("write: %v", err)
	}
	for _, word := range []string{"NaN", "Inf", "%!"} {
		if at := strings.Index(text.String(), word); at >= 0 {
			t.Fatalf("%s in the output: %s", word, around(text.String(), at))
		}
	}
	var out output
	if err := json.Unmarshal(text.Bytes(), &out); err != nil {
		t.Fatalf("not JSON: %v", err)
	}
	return out
}

func around(text string, at int) string { return text[max(0, at-200):min(len(text), at+100)] }

// reduceWorkbook reduces a book written as a workbook.
func reduceWorkbook(t failer, b book) output {
	t.Helper()
	folder, err := os.MkdirTemp("", "airtally-property-")
	if err != nil {
		t.Fatalf("%v", err)
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "survey.xlsx")
	b.writeWorkbook(t, path)
	return reducePath(t, path)
}

// key joins the named fields of a row.
func (o object) key(fields ...string) string {
	parts := make([]string, len(fields))
	for i, f := range fields {
		parts[i] = fmt.Sprint(o[f])
	}
	return strings.Join(parts, " | ")
}

// number returns a field that holds a number, and false where it is null.
func (o object) number(field string) (float64, bool) {
	x, ok := o[field].(float64)
	return x, ok
}

// The fields that make each array's rows distinct.
var (
	sampleKey        = []string{"sample"}
	concentrationKey = []string{"sample", "analyte", "form"}
	exposureKey      = []string{"worker", "group", "shift", "analyte", "form", "basis", "sample"}
	comparisonKey    = append(slices.Clone(exposureKey), "authority", "instrument", "kind", "as")
	mixtureKey       = []string{"worker", "shift", "mixture", "authority", "kind", "basis", "sample"}
)

// index gives rows by their key. Two rows of one key fail.
func index(t failer, rows []object, key []string) map[string]object {
	t.Helper()
	by := make(map[string]object, len(rows))
	for _, o := range rows {
		k := o.key(key...)
		if by[k] != nil {
			t.Errorf("two rows of the key %s", k)
		}
		by[k] = o
	}
	return by
}

// codes counts findings by code.
func (o output) codes() map[string]int {
	n := map[string]int{}
	for _, f := range o.Findings {
		n[f["code"].(string)]++
	}
	return n
}
