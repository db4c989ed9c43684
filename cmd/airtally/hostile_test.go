package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hostileTexts would be formulas, or would break out of one, where a program
// took them for more than text.
var hostileTexts = []string{`=1+1`, `+1+1`, `-1+1`, `@SUM(1)`, "\t=1+1", `"&1+1&"`, `'=1+1`, `=HYPERLINK("x")`}

// Texts of the survey stay texts in the workbook, in its formulas too, after
// LibreOffice has worked it out anew.
func TestHostileTextsStayTextWhenRecalculated(t *testing.T) {
	office := program(t, "soffice")
	inProjectRoot(t)
	survey := readSurveyFiles(t, "testdata/demo")
	for _, column := range [][2]string{{"lab.csv", "qualifier"}, {"lab.csv", "note"}, {"samples.csv", "note"}, {"flows.csv", "pump"}, {"workers.csv", "name"}} {
		rows := survey[column[0]]
		at := indexOf(rows[0], column[1])
		require.GreaterOrEqual(t, at, 0, column)
		for i := range rows[1:] {
			rows[i+1][at] = hostileTexts[i%len(hostileTexts)]
		}
	}
	renameWorkers(survey)
	folder := filepath.Join(t.TempDir(), "survey")
	survey.write(t, folder)
	written := reduceQuietly(t, folder)
	found := map[string]bool{}
	for sheet, cells := range readBook(t, recalculate(t, office, written)[0]) {
		for name, cell := range cells {
			assert.NotEqual(t, "e", cell.kind, "%s!%s %s", sheet, name, cell.formula)
			found[cell.value] = found[cell.value] || cell.formula == ""
		}
	}
	for _, text := range hostileTexts {
		assert.True(t, found[strings.TrimSpace(text)] || found[text], "%q stands somewhere as text", text)
	}
}

// renameWorkers gives the workers hostile codes, in every table.
func renameWorkers(survey surveyFiles) {
	names := map[string]string{}
	for _, row := range survey["workers.csv"][1:] {
		names[row[0]] = hostileTexts[len(names)%len(hostileTexts)] + " " + row[0]
	}
	for _, rows := range survey {
		at := indexOf(rows[0], "worker")
		if at < 0 {
			continue
		}
		for _, row := range rows[1:] {
			if name, known := names[row[at]]; known {
				row[at] = name
			}
		}
	}
}

func indexOf(all []string, one string) int {
	for i, s := range all {
		if s == one {
			return i
		}
	}
	return -1
}

// Private names stand in the key alone, and nowhere with --no-names.
func TestPrivateNamesStandInTheKeyAlone(t *testing.T) {
	inProjectRoot(t)
	names := []string{}
	for _, row := range readSurveyFiles(t, "testdata/demo")["workers.csv"][1:] {
		if name := row[len(row)-1]; name != "" {
			names = append(names, name)
		}
	}
	require.NotEmpty(t, names)
	for _, flag := range []string{"--quiet", "--no-names"} {
		dir := t.TempDir()
		commandOutput(t, "reduce", "testdata/demo", "-o", dir, flag)
		met := map[string]int{}
		for sheet, cells := range readBook(t, filepath.Join(dir, "report.xlsx")) {
			for _, cell := range cells {
				for _, name := range names {
					if strings.Contains(cell.value, name) || strings.Contains(cell.formula, name) {
						met[sheet]++
					}
				}
			}
		}
		if flag == "--no-names" {
			assert.Empty(t, met)
		} else {
			assert.Equal(t, map[string]int{"Key": len(names)}, met)
		}
	}
}
