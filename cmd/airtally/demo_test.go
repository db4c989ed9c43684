package main

import (
	"encoding/csv"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "rewrite the golden results of the demo")

const goldenResults = "testdata/golden/demo.json"

// demoResults returns results.json of a form of the demo survey, less what
// differs from run to run and from form to form: time, paths and hashes.
func demoResults(t *testing.T, survey string) map[string]any {
	t.Helper()
	var results map[string]any
	require.NoError(t, json.Unmarshal([]byte(commandOutput(t, "reduce", survey, "--json")), &results))
	delete(results, "created")
	delete(results, "inputs")
	for _, f := range results["findings"].([]any) {
		delete(f.(map[string]any), "file")
	}
	return results
}

func inProjectRoot(t *testing.T) {
	t.Helper()
	t.Chdir(filepath.Join("..", ".."))
}

// The folder and the workbook are two forms of one survey.
func TestBothFormsOfTheDemoGiveTheSameResults(t *testing.T) {
	inProjectRoot(t)
	folder, book := demoResults(t, "testdata/demo"), demoResults(t, "testdata/demo.xlsx")
	for name, array := range folder {
		assert.Equal(t, array, book[name], name)
	}
}

// Golden results guard against change, not against error: the hand values
// below do that. Numbers may differ in their last digits between machines.
func TestDemoGivesItsGoldenResults(t *testing.T) {
	inProjectRoot(t)
	got := demoResults(t, "testdata/demo")
	if *update {
		text, err := json.MarshalIndent(got, "", " ")
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(goldenResults, append(text, '\n'), 0o644))
	}
	text, err := os.ReadFile(goldenResults)
	require.NoError(t, err)
	var want map[string]any
	require.NoError(t, json.Unmarshal(text, &want))
	for _, difference := range differences("", want, any(got)) {
		t.Error(difference)
	}
}

// differences lists where two decoded JSON values differ by more than 1e-12.
func differences(at string, want, got any) []string {
	var found []string
	switch w := want.(type) {
	case map[string]any:
		g, _ := got.(map[string]any)
		for name := range w {
			found = append(found, differences(at+"."+name, w[name], g[name])...)
		}
		if len(g) != len(w) {
			found = append(found, at+": other fields")
		}
	case []any:
		g, _ := got.([]any)
		if len(g) != len(w) {
			return []string{at + ": " + strconv.Itoa(len(g)) + " elements, want " + strconv.Itoa(len(w))}
		}
		for i := range w {
			found = append(found, differences(at+"["+strconv.Itoa(i)+"]", w[i], g[i])...)
		}
	case float64:
		if g, ok := got.(float64); !ok || math.Abs(g-w) > 1e-12*math.Abs(w) {
			found = append(found, at)
		}
	default:
		if want != got {
			found = append(found, at)
		}
	}
	return found
}

// Volumes, concentrations, exposures and fractions of the demo, worked out by
// hand from its tables: testdata/reference/demo_hand.csv, computed without the
// engine by the published formulas.
func TestDemoAgreesWithTheHandCalculation(t *testing.T) {
	inProjectRoot(t)
	results := demoResults(t, "testdata/demo")
	file, err := os.Open("testdata/reference/demo_hand.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 600)
	for _, row := range rows[1:] {
		array, key, field, want, tolerance := row[0], row[1], row[2], row[3], row[4]
		found := elementOf(results[array].([]any), key)
		if assert.Len(t, found, 1, "%s %s", array, key) {
			assertField(t, array+" "+key+" "+field, found[0][field], want, tolerance)
		}
	}
}

// elementOf returns the elements of an array whose fields are as the key says.
func elementOf(array []any, key string) []map[string]any {
	var found []map[string]any
	for _, e := range array {
		element, fits := e.(map[string]any), true
		for pair := range strings.SplitSeq(key, ";") {
			name, value, _ := strings.Cut(pair, "=")
			fits = fits && element[name] == value
		}
		if fits {
			found = append(found, element)
		}
	}
	return found
}

func assertField(t *testing.T, what string, got any, want, tolerance string) {
	t.Helper()
	number, err := strconv.ParseFloat(want, 64)
	if g, isNumber := got.(float64); err == nil && isNumber {
		relative, err := strconv.ParseFloat(tolerance, 64)
		require.NoError(t, err, what)
		assert.InDelta(t, number, g, relative*math.Abs(number)+1e-15, what)
		return
	}
	switch g := got.(type) {
	case nil:
		assert.Contains(t, []string{"", "null"}, want, what)
	case bool:
		assert.Equal(t, want, strconv.FormatBool(g), what)
	default:
		assert.Equal(t, want, got, what)
	}
}
