package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const demoFolder = "../../testdata/demo"

// mutationsVariable names the environment variable that asks for more runs.
const mutationsVariable = "AIRTALLY_MUTATIONS"

// The demonstration survey with cells, rows and columns spoilt at random: no
// panic, no number that is none, an exit status that fits the findings.
func TestSpoiltSurveysAreSurvived(t *testing.T) {
	runs := 300
	if text := os.Getenv(mutationsVariable); text != "" {
		n, err := strconv.Atoi(text)
		require.NoError(t, err, mutationsVariable)
		runs = n
	}
	if testing.Short() {
		runs = 30
	}
	demo := readTables(t, demoFolder)
	folder := t.TempDir()
	for seed := range runs {
		random := rand.New(rand.NewSource(int64(seed)))
		spoilt := maps.Clone(demo)
		var done []string
		for range 1 + random.Intn(4) {
			done = append(done, spoil(random, spoilt))
		}
		writeTables(t, folder, spoilt)
		survives(t, folder, fmt.Sprintf("seed %d: %s", seed, strings.Join(done, "; ")))
	}
}

func readTables(t *testing.T, folder string) map[string][][]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*.csv"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	tables := map[string][][]string{}
	for _, name := range files {
		f, err := os.Open(name)
		require.NoError(t, err)
		tables[filepath.Base(name)], err = csv.NewReader(f).ReadAll()
		require.NoError(t, err)
		require.NoError(t, f.Close())
	}
	return tables
}

func writeTables(t *testing.T, folder string, tables map[string][][]string) {
	t.Helper()
	for name, rows := range tables {
		f, err := os.Create(filepath.Join(folder, name))
		require.NoError(t, err)
		require.NoError(t, csv.NewWriter(f).WriteAll(rows))
		require.NoError(t, f.Close())
	}
}

// garbage is what a cell may come to hold.
var garbage = []string{
	"", " ", "0", "-1", "-0", "1e308", "-1e308", "1e-320", "99999999999999999999", "NaN", "Inf", "-Inf", "1,234", "1.234.567",
	"<", ">", "<0", "<1e308", ">1e308", "<-5", "ND", "nd?", "J", "UJ", "E", "D", "=1+1", "#N/A", "\u200b", "\u202eabc", "\x00", "\xff\xfe",
	"\U0001F4A9", "µg/m³", "mg/m3", "ppm", "f/cc", "fibres/mm2", "ug", "kg", "2026-02-30", "0001-01-01 00:00", "9999-12-31 23:59",
	"2026-05-04T25:00", "25:61", "2026-05-04 07:12+14:00", "yes", "no", "TOTAL", "blank", "area", "personal", "pre", "post", "front", "back",
	"zero", "same", "STEL", "CEILING", "ACTION", "mass", "rotameter", "pump-rotameter", "nominal", "void", "short-term", "duplicate",
	`"`, "a,b;c\td", "line\nbreak", strings.Repeat("9", 400), strings.Repeat("x", 70000),
}

// spoil changes one table in one way and says what it did.
func spoil(random *rand.Rand, tables map[string][][]string) string {
	names := slices.Sorted(maps.Keys(tables))
	name := names[random.Intn(len(names))]
	rows := slices.Clone(tables[name])
	for i := range rows {
		rows[i] = slices.Clone(rows[i])
	}
	row, column := random.Intn(len(rows)), random.Intn(len(rows[0]))
	other, across := random.Intn(len(rows)), random.Intn(len(rows[0]))
	what := ""
	switch random.Intn(9) {
	case 0:
		what = "row deleted"
		if rows = slices.Delete(rows, row, row+1); len(rows) == 0 {
			rows = [][]string{{""}}
		}
	case 1:
		what = "row doubled"
		rows = append(rows, rows[row])
	case 2:
		what = "rows swapped"
		rows[row], rows[other] = rows[other], rows[row]
	case 3:
		what = "column deleted"
		for i := range rows {
			rows[i] = slices.Delete(rows[i], column, column+1)
		}
	case 4:
		what = "columns swapped under their headers"
		for _, cells := range rows[1:] {
			cells[column], cells[across] = cells[across], cells[column]
		}
	case 5:
		what = fmt.Sprintf("column filled from column %d", across)
		for _, cells := range rows[1:] {
			cells[column] = cells[across]
		}
	default:
		text := garbage[random.Intn(len(garbage))]
		rows[row][column] = text
		what = fmt.Sprintf("cell set to %.20q", text)
	}
	tables[name] = rows
	return fmt.Sprintf("%s row %d column %d: %s", name, row+1, column+1, what)
}

// survives reduces a folder and checks what must hold of any input.
func survives(t *testing.T, folder, how string) {
	t.Helper()
	defer func() {
		if p := recover(); p != nil {
			t.Fatalf("%s: panic: %v", how, p)
		}
	}()
	status, out, errOut := airtally(t, "reduce", folder, "--json")
	if status == unusable {
		require.Empty(t, out, how)
		require.Regexp(t, `^airtally: .*; `, errOut, "%s: the fault, then what to do", how)
		return
	}
	require.Empty(t, errOut, how)
	var results struct {
		Findings []struct{ Severity, Code, Subject, Message, Remedy string }
	}
	require.NoError(t, json.Unmarshal([]byte(out), &results), how)
	want := 0
	for _, f := range results.Findings {
		if f.Severity == "stop" {
			want = leftOut
		}
		require.NotEmpty(t, f.Remedy, how)
		require.NotRegexp(t, `%!|\bNaN %|\+Inf`, f.Message, how)
	}
	require.Equal(t, want, status, how)
}
