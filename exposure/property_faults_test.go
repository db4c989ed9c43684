package exposure_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// simple is a survey of two workers with a filter each, without a fault.
func simple() book {
	return book{
		"media":  {{"medium", "form"}, {"FILTER", "total"}},
		"shifts": {{"shift", "worker", "start", "end"}, {"D", "W-1", "2026-03-02 07:00", "2026-03-02 15:00"}, {"D", "W-2", "2026-03-02 07:00", "2026-03-02 15:00"}},
		"flows": {{"train", "leg", "stage", "readings", "unit"},
			{"T1", "A", "pre", "2; 2; 2", "L/min"}, {"T1", "A", "post", "2; 2; 2", "L/min"},
			{"T2", "A", "pre", "2; 2; 2", "L/min"}, {"T2", "A", "post", "2; 2; 2", "L/min"}},
		"samples": {{"sample", "kind", "train", "leg", "medium", "worker", "shift", "start", "stop", "pause_min", "run_min", "purpose"},
			{"S-1", "personal", "T1", "A", "FILTER", "W-1", "D", "2026-03-02 07:00", "2026-03-02 15:00", "", "", "shift"},
			{"S-2", "personal", "T2", "A", "FILTER", "W-2", "D", "2026-03-02 07:00", "2026-03-02 15:00", "", "", "shift"}},
		"lab": {{"sample", "analyte", "result", "unit", "section", "reporting_limit", "qualifier"},
			{"S-1", "Zorbium", "12", "ug", "", "0.5", ""}, {"S-2", "Zorbium", "24", "ug", "", "0.5", ""}},
		"limits": {{"analyte", "authority", "kind", "value", "unit"},
			{"Zorbium", "House", "TWA8", "0.05", "mg/m3"}, {"Zorbium", "House", "STEL", "0.2", "mg/m3"}},
	}
}

// put writes a cell; row 1 is the first under the header.
func (b book) put(table string, row int, column, text string) {
	b[table][row][b.column(table, column)] = text
}

// Figures that cannot be are told of and never make a number; the other
// sample's results stand: 24 µg in 2 L/min · 480 min = 960 L is 0.025 mg/m³.
func TestImpossibleFiguresAreToldOf(t *testing.T) {
	for _, c := range []struct {
		name, table   string
		row           int
		column, text  string
		code, subject string
	}{
		{"a flow of zero", "flows", 1, "readings", "0; 0; 0", "out-of-range", "S-1"},
		{"one reading of zero", "flows", 2, "readings", "2; 0; 2", "out-of-range", "S-1"},
		{"a negative flow", "flows", 1, "readings", "-2; -2; -2", "out-of-range", "S-1"},
		{"no minutes", "samples", 1, "stop", "2026-03-02 07:00", "stop-before-start", "S-1"},
		{"all paused", "samples", 1, "pause_min", "480", "time-not-positive", "S-1"},
		{"more paused than run", "samples", 1, "pause_min", "500", "time-not-positive", "S-1"},
		{"a timer at zero", "samples", 1, "run_min", "0", "out-of-range", "S-1"},
		{"a mass of zero without a reporting limit", "lab", 1, "result", "0", "not-a-result", "S-1"},
		{"a negative mass without a reporting limit", "lab", 1, "result", "-3", "not-a-result", "S-1"},
		{"under zero", "lab", 1, "result", "<0", "out-of-range", "S-1"},
		{"a reporting limit of zero, not detected", "lab", 1, "reporting_limit", "0", "out-of-range", "S-1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := simple()
			b.put(c.table, c.row, c.column, c.text)
			if c.table == "lab" && c.column == "result" {
				b.put("lab", c.row, "reporting_limit", "")
			}
			out := reduceFolder(t, b)
			checkOrder(t, out)
			out.checkKept(t, b)
			require.Contains(t, out.codes(), c.code)
			found := slices.ContainsFunc(out.Findings, func(f object) bool {
				return f["code"] == c.code && f["severity"] != "note" && slices.Contains(names(f), c.subject)
			})
			require.True(t, found, "%s about %s: %v", c.code, c.subject, out.Findings)
			other := index(t, out.Exposures, exposureKey)["W-2 |  | D | Zorbium | total | twa8 | "]
			require.NotNil(t, other)
			require.InDelta(t, 0.025, other["value_mgm3"], 1e-12)
		})
	}
}

// names are the names that a finding's subject holds.
func names(f object) []string { return strings.Split(f["subject"].(string), ", ") }

// A worker whose shift samples overlap has no average, and many short-term
// results all the same; the next worker's rows stand beside them.
func TestShortTermResultsOfAShiftWithoutAnAverage(t *testing.T) {
	b := simple()
	add := func(id, start, stop, purpose string) {
		b["samples"] = append(b["samples"], []string{id, "personal", "T1", "A", "FILTER", "W-1", "D",
			"2026-03-02 " + start, "2026-03-02 " + stop, "", "", purpose})
		b["lab"] = append(b["lab"], []string{id, "Zorbium", "12", "ug", "", "0.5", ""})
	}
	add("S-3", "08:00", "09:00", "shift")
	for i := range 6 {
		add(fmt.Sprintf("X-%d", i), fmt.Sprintf("%02d:00", 9+i), fmt.Sprintf("%02d:15", 9+i), "short-term")
	}
	for i := range 9 {
		analyte := fmt.Sprintf("Quellium %d", i)
		b["lab"] = append(b["lab"], []string{"S-2", analyte, "12", "ug", "", "0.5", ""})
		b["limits"] = append(b["limits"], []string{analyte, "House", "TWA8", "1", "mg/m3"})
	}
	out := reduceFolder(t, b)
	checkOrder(t, out)
	require.Equal(t, 1, out.codes()["samples-overlap"])
	count := map[string]int{}
	for _, o := range out.Comparisons {
		count[o.key("worker", "kind")]++
	}
	require.Equal(t, map[string]int{"W-1 | STEL": 6, "W-2 | TWA8": 10}, count)
}

// A weighing under a limit, or not found, is no mass of a filter: a gain made
// of it would be the whole filter.
func TestWeighingsAreMasses(t *testing.T) {
	for _, read := range [][2]string{{"ND", "15000"}, {"<14000", "15000"}, {"14000", "<15000"}, {"14000", ">15000"}} {
		b := simple()
		b["lab"] = append(b["lab"][:1], []string{"S-1", "Zorbium", read[0], "ug", "pre", "5", ""},
			[]string{"S-1", "Zorbium", read[1], "ug", "post", "5", ""}, b["lab"][2])
		out := reduceFolder(t, b)
		out.checkKept(t, b)
		require.Equal(t, 1, out.codes()["weighing-not-a-number"], read)
		require.Len(t, out.Concentrations, 1)
	}
}

// A sample of which nothing lies in its shift is left out, and that is a stop.
func TestASampleOutsideItsShiftIsLeftOut(t *testing.T) {
	b := simple()
	b.put("samples", 1, "start", "2026-03-02 16:00")
	b.put("samples", 1, "stop", "2026-03-02 20:00")
	out := reduceFolder(t, b)
	found := slices.ContainsFunc(out.Findings, func(f object) bool {
		return f["code"] == "sampled-outside-shift" && f["severity"] == "stop" && slices.Contains(names(f), "S-1")
	})
	require.True(t, found, out.Findings)
	for _, o := range out.Exposures {
		require.NotEqual(t, "W-1", o["worker"])
	}
}

// 0.12 less a blank of 0.01 is 0.11, and not under a reporting limit of 0.11
// for the sake of the last bit.
func TestACorrectedDetectAtItsReportingLimitStays(t *testing.T) {
	b := simple()
	b["samples"] = append(b["samples"], []string{"B-1", "blank", "", "", "FILTER", "", "", "", "", "", "", ""})
	b["lab"] = append(b["lab"], []string{"B-1", "Zorbium", "0.01", "ug", "", "0.005", ""})
	b.put("lab", 1, "result", "0.12")
	b.put("lab", 1, "reporting_limit", "0.11")
	out := reduceFolder(t, b)
	require.Equal(t, false, index(t, out.Concentrations, concentrationKey)["S-1 | Zorbium | total"]["censored"])
}
