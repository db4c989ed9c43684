package reports

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"airtally/exposure"
	"airtally/exposure/survey"
)

// reduced returns the report of a survey of the project's test data.
func reduced(t testing.TB, path string) *Report {
	t.Helper()
	s, found, err := survey.Read(path)
	require.NoError(t, err)
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{s}, found)
	require.NoError(t, err)
	return &Report{Results: results}
}

// A reference that the workbook has no cell for would stand as a number in the
// formula, and nothing would follow an edit.
func TestEveryReferenceIsACellOfTheWorkbook(t *testing.T) {
	r := reduced(t, "../testdata/demo")
	all, known := r.place(r.sheets(), true)
	missing := map[string]int{}
	var walk func(e *exposure.Expression)
	walk = func(e *exposure.Expression) {
		if e.Op == exposure.Reference {
			if _, has := known.address(e.Of, e.Key, ""); !has {
				missing[fmt.Sprintf("%T %s", e.Of, e.Key)]++
			}
		}
		for i := range e.Args {
			walk(&e.Args[i])
		}
	}
	for _, p := range all {
		for row := range p.rows {
			if p.steps == nil {
				continue
			}
			for _, s := range p.steps(row) {
				walk(&s.By)
			}
		}
	}
	require.Empty(t, missing)
}

// A format for what is only sometimes there must not hide a sign: Excel and
// LibreOffice show no minus in the second of two sections.
func TestOnlyUpperBoundsHaveAFormatWithoutASign(t *testing.T) {
	r := reduced(t, "../testdata/demo")
	negative := 0
	all, _ := r.place(r.sheets(), true)
	for _, p := range all {
		for row := range p.rows {
			if p.steps == nil {
				break
			}
			for _, step := range p.steps(row) {
				if step.Value < 0 {
					negative++
					require.False(t, isUpper(step.Key), step.Key)
				}
			}
		}
	}
	require.Positive(t, negative)
}
