package exposure_test

import (
	"fmt"
	"math/rand"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"airtally/exposure/survey"
)

// intricate returns a survey that meets most rules of reduction: drawn as the
// properties draw theirs, then with meters, media, qualifiers, sections and
// units that call for more.
func intricate(t *testing.T, seed int) *survey.Survey {
	t.Helper()
	b := rapid.Custom(func(t *rapid.T) *field { return drawField(t, lively) }).Example(seed).book()
	e := &enricher{rand.New(rand.NewSource(int64(seed))), b}
	e.items()
	e.checks()
	e.media()
	e.moreLab()
	e.marks()
	folder := t.TempDir()
	b.writeFolder(t, folder)
	s, _, err := survey.Read(folder)
	if err != nil {
		t.Fatalf("seed %d: %v", seed, err)
	}
	return s
}

type enricher struct {
	*rand.Rand
	book
}

func (e *enricher) oneIn(n int) bool { return e.Intn(n) == 0 }

func (e *enricher) choose(from ...string) string { return from[e.Intn(len(from))] }

// set writes into a cell, in a new column where the table has none of that name.
func (b book) set(table string, row int, column, text string) {
	at := b.column(table, column)
	if at < 0 {
		at = len(b[table][0])
		b[table][0] = append(b[table][0], column)
	}
	for len(b[table][row]) <= at {
		b[table][row] = append(b[table][row], "")
	}
	b[table][row][at] = text
}

func (b book) get(table string, row int, column string) string {
	at := b.column(table, column)
	if at < 0 || at >= len(b[table][row]) {
		return ""
	}
	return b[table][row][at]
}

// level fills short rows up.
func (b book) level(table string) {
	for i, row := range b[table] {
		for len(row) < len(b[table][0]) {
			row = append(row, "")
		}
		b[table][i] = row
	}
}

func (e *enricher) items() {
	items := slices.DeleteFunc(e.book["survey"], func(row []string) bool { return row[0] == "drift_policy" })
	items = append(items, []string{"drift_policy", e.choose("mean", "lower", "void")})
	if e.oneIn(6) {
		items = append(items, []string{"blank_correction", "none"})
	}
	if e.oneIn(3) {
		items = append(items, []string{"timezone", "Europe/Lisbon"})
		e.moveDays([]int{26, 236}[e.Intn(2)]) // to the nights when the clocks are put on or back
	}
	if e.oneIn(3) {
		items = append(items, []string{"ppm_basis", "site"})
	}
	e.book["survey"] = items
}

// moveDays moves every moment of the book.
func (e *enricher) moveDays(days int) {
	for _, rows := range e.book {
		for _, row := range rows {
			for i, text := range row {
				if at, err := time.Parse(clockLayout, text); err == nil {
					row[i] = at.AddDate(0, 0, days).Format(clockLayout)
				}
			}
		}
	}
}

// checks gives flow checks meters, single readings, and further checks between.
func (e *enricher) checks() {
	e.book["devices"] = [][]string{{"device", "kind", "accuracy_pct", "certified", "ref_temperature_c", "ref_pressure_kpa", "temperature_c", "pressure_kpa"},
		{"VOL", "volumetric", "1", "2026-01-05", "", "", "", ""},
		{"MASS", "mass", "2", "2026-01-05", "21.1", "101.325", "", ""},
		{"ROT", "rotameter", "3", "2026-01-05", "", "", "20", "101.3"},
		{"PUMP", "pump-rotameter", "5", "2026-01-05", "", "", "20", "101.3"}}
	meter := e.choose("VOL", "VOL", "MASS", "ROT", "PUMP", "")
	for i := len(e.book["flows"]) - 1; i > 0; i-- {
		e.book.set("flows", i, "device", meter)
		e.book.set("flows", i, "step", fmt.Sprint(e.Intn(3)))
		if !e.oneIn(5) {
			e.book.set("flows", i, "temperature_c", "17.5")
			e.book.set("flows", i, "pressure_kpa", "98.2")
		}
		switch e.Intn(9) {
		case 8:
			day, _, _ := strings.Cut(e.book.get("flows", i, "taken_at"), " ")
			e.book.set("flows", i, "taken_at", day)
		case 0:
			e.book.set("flows", i, "readings", "2.01")
		case 1:
			e.book.set("flows", i, "taken_at", "")
		case 2, 3:
			again := slices.Clone(e.book["flows"][i])
			e.book["flows"] = append(e.book["flows"], again)
			n := len(e.book["flows"]) - 1
			if at, err := time.Parse(clockLayout, again[e.book.column("flows", "taken_at")]); err == nil {
				e.book.set("flows", n, "taken_at", at.Add(time.Duration(e.Intn(400)-200)*time.Minute).Format(clockLayout))
			}
			e.book.set("flows", n, "readings", "2.03; 2.04; 2.05")
			e.book.set("flows", n, "action", e.choose("adjusted", "verified", ""))
		}
	}
	for i := 1; i < len(e.book["samples"]); i++ {
		if e.oneIn(6) && e.book.get("samples", i, "kind") != "blank" {
			e.book.set("samples", i, "run_min", strconv.Itoa(30+e.Intn(300)))
		}
		if e.oneIn(3) {
			e.book.set("samples", i, "temperature_c", "24")
			e.book.set("samples", i, "pressure_kpa", "97.5")
		}
	}
}

func (e *enricher) media() {
	for i := 1; i < len(e.book["media"]); i++ {
		e.book.set("media", i, "filter_area_mm2", "385")
		if e.oneIn(3) {
			e.book.set("media", i, "volume_flow", "nominal")
			e.book.set("media", i, "nominal_flow_lpm", "1.98")
		}
		if e.oneIn(2) {
			e.book.set("media", i, "cv", "0.07")
		}
		if e.oneIn(3) {
			e.book.set("media", i, "breakthrough_pct", "25")
		}
	}
}

// moreLab adds weighings, fibres and concentrations of the laboratory's own.
func (e *enricher) moreLab() {
	e.book["derived"] = append(e.book["derived"], []string{"All dusts", "Zorbium oxides", "1"}, []string{"All dusts", "Dust", "0.5"})
	add := func(sample, analyte, result, unit, section, limit, method string) {
		row := make([]string, len(e.book["lab"][0]))
		e.book["lab"] = append(e.book["lab"], row)
		n := len(e.book["lab"]) - 1
		for column, text := range map[string]string{"sample": sample, "analyte": analyte, "result": result, "unit": unit,
			"section": section, "reporting_limit": limit, "method": method} {
			e.book.set("lab", n, column, text)
		}
	}
	weighed, limited := e.oneIn(2), e.choose("", "0.02")
	for i := 1; i < len(e.book["samples"]); i++ {
		id := e.book.get("samples", i, "sample")
		if e.book.get("samples", i, "medium") != "FILTER" {
			add(id, "Gasol", fmt.Sprint(1+e.Intn(90)), "mg/m3", "", "", "")
			e.book.set("lab", len(e.book["lab"])-1, "lab_volume_l", "11.5")
			continue
		}
		if weighed {
			before := 12 + e.Float64()
			gain := float64(e.Intn(400)) / 1000
			if e.book.get("samples", i, "kind") == "blank" {
				gain = float64(e.Intn(60)-30) / 1000
			}
			add(id, "Dust", digits(written(before)), "mg", "pre", "", "")
			add(id, "Dust", digits(written(before+gain)), "mg", "post", limited, "")
		} else {
			add(id, "Dust", digits(written(float64(e.Intn(400)-20)/1000)), "mg", "", limited, "gravimetric")
		}
		if e.oneIn(2) {
			add(id, "Fibrite", fmt.Sprint(e.Intn(60)), "fibres/mm2", "", e.choose("7", "7", ""), "")
		}
	}
}

// marks gives laboratory rows qualifiers, efficiencies and signs.
func (e *enricher) marks() {
	for i := 1; i < len(e.book["lab"]); i++ {
		if section := e.book.get("lab", i, "section"); section == "pre" || section == "post" {
			continue
		}
		switch e.Intn(14) {
		case 0:
			e.book.set("lab", i, "qualifier", "U")
		case 1:
			e.book.set("lab", i, "qualifier", "E")
			if e.oneIn(2) {
				again := slices.Clone(e.book["lab"][i])
				e.book["lab"] = append(e.book["lab"], again)
				e.book.set("lab", len(e.book["lab"])-1, "qualifier", e.choose("D", "D", "D", ""))
			}
		case 2:
			e.book.set("lab", i, "qualifier", "B")
		case 3:
			e.book.set("lab", i, "result", "ND")
		case 4:
			e.book.set("lab", i, "result", ">40")
		case 5:
			e.book.set("lab", i, "reporting_limit", "")
		case 6:
			e.book.set("lab", i, "blank_applied", "yes")
		case 7:
			e.book.set("lab", i, "desorption", "0.93")
			e.book.set("lab", i, "desorption_applied", "no")
		case 8:
			e.book.set("lab", i, "cv", "0.055")
		}
	}
	e.book.level("lab")
	e.book.level("samples")
	e.book.level("flows")
	e.book.level("media")
}

// The same of surveys that were drawn to meet most rules.
func TestStepsOfIntricateSurveysGiveTheirNumbers(t *testing.T) {
	seeds := 60
	if testing.Short() {
		seeds = 10
	}
	for seed := range seeds {
		l := ledgerOf(reduceSurvey(t, intricate(t, seed)))
		l.check(t)
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
}
