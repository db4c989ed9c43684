package exposure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"time"
)

// fault is one fault put into a book: where it stands and what it is about.
type fault struct {
	*rand.Rand
	book  book
	did   string
	table string
	rows  []int    // lines of the file
	about []string // samples, legs, workers and the like that the faulty rows name
}

// faultKind makes faults of one kind. A fault that could not be made returns
// false and another is tried.
type faultKind struct {
	name    string
	apart   bool // no data of the survey can show it
	offsets bool // made in the demo with an offset on every time and no timezone
	make    func(f *fault) bool
}

var faultKinds = []faultKind{
	{name: "reading in the wrong unit", make: readingUnit},
	{name: "unit of a flow check wrong", make: flowUnit},
	{name: "digit of a reading dropped or doubled", make: inReading(slipDigit)},
	{name: "decimal of a reading shifted", make: inReading(shiftDecimal)},
	{name: "digit of a result dropped or doubled, by a factor of 3", make: inResult(slipDigit, 3, math.Inf(1))},
	{name: "decimal of a result shifted", make: inResult(shiftDecimal, 0, math.Inf(1))},
	{name: "legs of unlike flow swapped", make: swapLegs(true)},
	{name: "pre and post swapped", make: swapStages},
	{name: "start and stop swapped", make: swapTimes},
	{name: "wrong day", make: wrongDate(0, 1)},
	{name: "wrong month", make: wrongDate(1, 0)},
	{name: "missing row", make: missing("flows", "samples", "lab", "shifts", "workers", "devices", "media")},
	{name: "duplicated row", make: doubled("flows", "samples", "lab", "shifts", "gaps", "workers", "devices", "media", "derived", "mixtures", "limits")},
	{name: "ids of unlike samples exchanged", make: exchangeIDs(false)},
	{name: "mass unit of a row changed", make: rowUnit},
	{name: "mass unit of a report changed", make: reportUnit},
	{name: "< lost", make: lostSign},
	{name: "blank marked as sample", make: markBlank},
	{name: "lot mistyped", make: mistypeLot},
	{name: "analyte renamed", make: renameAnalyte},
	{name: "cells of a row shifted by one column", make: shiftCells},
	{name: "column shifted by one row", make: shiftColumn},
	{name: "header renamed", make: renameHeader},
	{name: "pause in hours", make: pauseInHours},
	{name: "offset missing", offsets: true, make: missingOffset},
	{name: "CAS mangled", make: mangleCAS},

	{name: "digit of a result dropped or doubled, under a factor of 3", apart: true, make: inResult(slipDigit, 1, 3)},
	{name: "legs of like flow swapped", apart: true, make: swapLegs(false)},
	{name: "ids of like samples exchanged", apart: true, make: exchangeIDs(true)},
	{name: "another valid lot", apart: true, make: otherLot},
	{name: "missing row of gaps, limits, derived, mixtures, history", apart: true, make: missing("gaps", "limits", "derived", "mixtures", "history")},
}

// cell returns a cell by the name of its column; row counts from 1 under the
// header.
func (f *fault) cell(table string, row int, column string) *string {
	at := f.book.column(table, column)
	if at < 0 {
		empty := ""
		return &empty
	}
	return &f.book[table][row][at]
}

// at marks a row as faulty, with what it is about.
func (f *fault) at(table string, row int) {
	f.table = table
	f.rows = append(f.rows, row+1)
	get := func(column string) string { return *f.cell(table, row, column) }
	switch table {
	case "flows":
		train, leg := get("train"), get("leg")
		f.about = append(f.about, train, train+" "+leg)
		for i := 1; i < len(f.book["samples"]); i++ {
			if *f.cell("samples", i, "train") == train && (leg == "TOTAL" || *f.cell("samples", i, "leg") == leg) {
				f.about = append(f.about, *f.cell("samples", i, "sample"))
			}
		}
	case "samples", "lab":
		f.about = append(f.about, get("sample"))
	case "shifts", "gaps":
		for i := 1; i < len(f.book["samples"]); i++ {
			if *f.cell("samples", i, "shift") == get("shift") && *f.cell("samples", i, "worker") == get("worker") {
				f.about = append(f.about, *f.cell("samples", i, "sample"))
			}
		}
	default:
		f.about = append(f.about, f.book[table][row][0])
	}
}

// row picks a row of a table, the first under the header being 1.
func (f *fault) row(table string) int { return 1 + f.IntN(len(f.book[table])-1) }

func pick[T any](f *fault, from []T) T { return from[f.IntN(len(from))] }

// set writes a cell and says so.
func (f *fault) set(table string, row int, column, text string) bool {
	c := f.cell(table, row, column)
	if *c == text {
		return false
	}
	if f.rows == nil || f.rows[len(f.rows)-1] != row+1 {
		f.at(table, row)
	}
	f.did += fmt.Sprintf("%s!%s row %d: %q -> %q; ", table, column, row+1, *c, text)
	*c = text
	f.at(table, row) // an id may have changed: both are what the row is about
	return true
}

var readingColumns = []string{"reading_1", "reading_2", "reading_3"}

func numberIn(text string) (float64, bool) {
	x, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", ""), 64)
	return x, err == nil
}

func readingUnit(f *fault) bool {
	row, column := f.row("flows"), pick(f, readingColumns)
	x, ok := numberIn(*f.cell("flows", row, column))
	if !ok {
		return false
	}
	if *f.cell("flows", row, "unit") == "L/min" {
		return f.set("flows", row, column, fmt.Sprintf("%.5g", x*1000))
	}
	return f.set("flows", row, column, fmt.Sprintf("%.5g", x/1000))
}

func flowUnit(f *fault) bool {
	row := f.row("flows")
	other := map[string]string{"L/min": "mL/min", "mL/min": "L/min"}
	return f.set("flows", row, "unit", other[*f.cell("flows", row, "unit")])
}

func inReading(slip func(*fault, string) string) func(*fault) bool {
	return func(f *fault) bool {
		row, column := f.row("flows"), pick(f, readingColumns)
		text := *f.cell("flows", row, column)
		return text != "" && f.set("flows", row, column, slip(f, text))
	}
}

// inResult puts a slip into a plain number of the laboratory that changes it by
// a factor from least to below most.
func inResult(slip func(*fault, string) string, least, most float64) func(*fault) bool {
	return func(f *fault) bool {
		row := f.row("lab")
		text := *f.cell("lab", row, "result")
		before, ok := numberIn(text)
		if !ok || before <= 0 {
			return false
		}
		slipped := slip(f, text)
		after, ok := numberIn(slipped)
		factor := math.Max(after/before, before/after)
		return ok && factor >= least && factor < most && f.set("lab", row, "result", slipped)
	}
}

// slipDigit drops a digit or writes it twice.
func slipDigit(f *fault, text string) string {
	i := f.IntN(len(text))
	if text[i] < '0' || text[i] > '9' || len(text) < 2 {
		return text
	}
	if f.IntN(2) == 0 {
		return text[:i] + text[i+1:]
	}
	return text[:i+1] + text[i:]
}

func shiftDecimal(f *fault, text string) string {
	x, ok := numberIn(text)
	if !ok {
		return text
	}
	by := 10.0
	if f.IntN(2) == 0 {
		by = 0.1
	}
	return strconv.FormatFloat(math.Round(x*by*1e9)/1e9, 'f', -1, 64)
}

// swapLegs exchanges the legs of two samples of a train, or of its flow checks.
func swapLegs(unlike bool) func(*fault) bool {
	return func(f *fault) bool {
		train := *f.cell("flows", f.row("flows"), "train")
		first := map[string]float64{}
		for i := 1; i < len(f.book["flows"]); i++ {
			leg := *f.cell("flows", i, "leg")
			if x, _ := numberIn(*f.cell("flows", i, "reading_1")); *f.cell("flows", i, "train") == train && leg != "TOTAL" && first[leg] == 0 {
				if *f.cell("flows", i, "unit") == "mL/min" && x > 20 {
					x /= 1000
				}
				first[leg] = x
			}
		}
		if len(first) != 2 || (math.Abs(first["A"]/first["B"]-1) > 0.05) != unlike {
			return false
		}
		table, stage := "samples", ""
		if f.IntN(2) == 0 {
			table, stage = "flows", pick(f, []string{"pre", "post"})
		}
		other := map[string]string{"A": "B", "B": "A"}
		done := false
		for i := 1; i < len(f.book[table]); i++ {
			leg := *f.cell(table, i, "leg")
			if *f.cell(table, i, "train") == train && other[leg] != "" && *f.cell(table, i, "stage") == stage {
				done = f.set(table, i, "leg", other[leg])
			}
		}
		return done
	}
}

// swapStages exchanges the stage of a pre and a post check of one leg, or turns
// one check over.
func swapStages(f *fault) bool {
	row := f.row("flows")
	stage := *f.cell("flows", row, "stage")
	other := map[string]string{"pre": "post", "post": "pre"}[stage]
	if f.IntN(2) == 0 {
		for i := 1; i < len(f.book["flows"]); i++ {
			if *f.cell("flows", i, "train") == *f.cell("flows", row, "train") && *f.cell("flows", i, "leg") == *f.cell("flows", row, "leg") &&
				*f.cell("flows", i, "stage") == other {
				f.set("flows", i, "stage", stage)
				break
			}
		}
	}
	return f.set("flows", row, "stage", other)
}

func swapTimes(f *fault) bool {
	table := pick(f, []string{"samples", "samples", "shifts", "gaps"})
	from, to := "start", "stop"
	if table != "samples" {
		to = "end"
	}
	row := f.row(table)
	start, stop := *f.cell(table, row, from), *f.cell(table, row, to)
	return f.set(table, row, from, stop) && f.set(table, row, to, start)
}

// dateColumns are where people write dates.
var dateColumns = map[string][]string{
	"samples": {"start", "stop", "both"}, "flows": {"taken_at"}, "shifts": {"start", "end", "both"},
	"gaps": {"start", "end", "both"}, "lab": {"received", "analysed"},
}

// wrongDate moves a date by a day or a month, or the dates of a row together.
func wrongDate(months, days int) func(*fault) bool {
	return func(f *fault) bool {
		table := pick(f, []string{"samples", "samples", "flows", "flows", "shifts", "gaps", "lab"})
		row, column := f.row(table), pick(f, dateColumns[table])
		columns := []string{column}
		if column == "both" {
			columns = dateColumns[table][:2]
		}
		sign := pick(f, []int{-1, 1})
		done := false
		for _, c := range columns {
			text := *f.cell(table, row, c)
			if len(text) < 10 {
				continue
			}
			d, err := time.Parse("2006-01-02", text[:10])
			if err == nil {
				done = f.set(table, row, c, d.AddDate(0, sign*months, sign*days).Format("2006-01-02")+text[10:])
			}
		}
		return done
	}
}

// missing takes a row out.
func missing(tables ...string) func(*fault) bool {
	return func(f *fault) bool {
		table := pick(f, tables)
		if f.IntN(2) == 0 {
			table = tables[f.IntN(min(3, len(tables)))]
		}
		row := f.row(table)
		f.at(table, row)
		f.rows = nil
		f.did = fmt.Sprintf("%s row %d removed: %v", table, row+1, f.book[table][row])
		f.book[table] = slices.Delete(f.book[table], row, row+1)
		return true
	}
}

func doubled(tables ...string) func(*fault) bool {
	return func(f *fault) bool {
		table := pick(f, tables)
		row := f.row(table)
		f.at(table, row)
		f.rows = append(f.rows, row+2)
		f.did = fmt.Sprintf("%s row %d doubled: %v", table, row+1, f.book[table][row])
		f.book[table] = slices.Insert(f.book[table], row, slices.Clone(f.book[table][row]))
		return true
	}
}

// exchangeIDs exchanges the ids of two samples in the laboratory's rows or in
// samples. Like samples were asked the same of, on the same medium and kind.
func exchangeIDs(like bool) func(*fault) bool {
	return func(f *fault) bool {
		a, b := f.row("samples"), f.row("samples")
		same := func(column string) bool { return *f.cell("samples", a, column) == *f.cell("samples", b, column) }
		alike := same("medium") && same("kind")
		if a == b || alike != like {
			return false
		}
		one, two := *f.cell("samples", a, "sample"), *f.cell("samples", b, "sample")
		if f.IntN(2) == 0 {
			return f.set("samples", a, "sample", two) && f.set("samples", b, "sample", one)
		}
		for i := 1; i < len(f.book["lab"]); i++ {
			switch *f.cell("lab", i, "sample") {
			case one:
				f.set("lab", i, "sample", two)
			case two:
				f.set("lab", i, "sample", one)
			}
		}
		return len(f.rows) > 0
	}
}

var otherMass = map[string][]string{"µg": {"mg", "ng"}, "mg": {"µg", "g"}, "mg/m3": {"µg/m3"}}

func rowUnit(f *fault) bool {
	row := f.row("lab")
	return f.set("lab", row, "unit", pick(f, otherMass[*f.cell("lab", row, "unit")]))
}

func reportUnit(f *fault) bool {
	report := *f.cell("lab", f.row("lab"), "report")
	which := f.IntN(2)
	for i := 1; i < len(f.book["lab"]); i++ {
		if unit := *f.cell("lab", i, "unit"); *f.cell("lab", i, "report") == report && len(otherMass[unit]) == 2 {
			f.set("lab", i, "unit", otherMass[unit][which])
		}
	}
	return true
}

func lostSign(f *fault) bool {
	row := f.row("lab")
	text, ok := strings.CutPrefix(*f.cell("lab", row, "result"), "<")
	return ok && f.set("lab", row, "result", strings.TrimSpace(text))
}

func markBlank(f *fault) bool {
	row := f.row("samples")
	return *f.cell("samples", row, "kind") == "blank" && f.set("samples", row, "kind", pick(f, []string{"personal", "area", ""}))
}

// mistype changes, drops, doubles or exchanges one character.
func mistype(f *fault, text string) string {
	letters := []rune(text)
	i := f.IntN(len(letters))
	switch f.IntN(4) {
	case 0:
		return string(slices.Delete(letters, i, i+1))
	case 1:
		return string(slices.Insert(letters, i, letters[i]))
	case 2:
		if i+1 < len(letters) {
			letters[i], letters[i+1] = letters[i+1], letters[i]
		}
		return string(letters)
	}
	if letters[i] >= '0' && letters[i] <= '9' {
		letters[i] = '0' + (letters[i]-'0'+rune(1+f.IntN(9)))%10
	} else {
		letters[i] = rune('a' + f.IntN(26))
	}
	return string(letters)
}

func (f *fault) all(table, column string) []string {
	var texts []string
	for i := 1; i < len(f.book[table]); i++ {
		texts = append(texts, *f.cell(table, i, column))
	}
	slices.Sort(texts)
	return slices.Compact(texts)
}

func mistypeLot(f *fault) bool {
	row := f.row("samples")
	lot := mistype(f, *f.cell("samples", row, "lot"))
	return !slices.Contains(f.all("samples", "lot"), lot) && f.set("samples", row, "lot", lot)
}

func otherLot(f *fault) bool {
	row := f.row("samples")
	return f.set("samples", row, "lot", pick(f, f.all("samples", "lot")))
}

// renames are names that laboratories use for one analyte.
var renames = map[string]string{"Aluminum": "Aluminium", "Chromium (VI)": "Hexavalent chromium", "m,p-Xylene": "m/p-Xylene",
	"n-Butyl acetate": "Butyl acetate", "Ethyl benzene": "Ethylbenzene", "Particulates": "Dust"}

func renameAnalyte(f *fault) bool {
	table := pick(f, []string{"lab", "lab", "lab", "limits", "derived", "mixtures"})
	row := f.row(table)
	analyte := *f.cell(table, row, "analyte")
	if other := renames[analyte]; other != "" && f.IntN(2) == 0 {
		return f.set(table, row, "analyte", other)
	}
	name := mistype(f, analyte)
	f.about = append(f.about, analyte)
	return !slices.Contains(f.all("lab", "analyte"), name) && f.set(table, row, "analyte", name)
}

// shiftCells moves the cells of a row by one column from some column on, right
// into an empty one or left over an empty one.
func shiftCells(f *fault) bool {
	table := pick(f, []string{"flows", "samples", "lab", "shifts"})
	row := f.row(table)
	cells := f.book[table][row]
	from := f.IntN(len(cells) - 1)
	gap := from + slices.Index(cells[from:], "")
	if gap <= from {
		return false
	}
	f.at(table, row)
	f.did = fmt.Sprintf("%s row %d shifted in columns %d to %d: %v", table, row+1, from+1, gap+1, cells)
	f.book[table][row] = slices.Insert(slices.Delete(slices.Clone(cells), gap, gap+1), from, "")
	f.at(table, row)
	return true
}

// shiftColumn moves the cells of a column down by one row from some row on.
func shiftColumn(f *fault) bool {
	table := pick(f, []string{"flows", "samples", "lab", "shifts"})
	from := f.row(table)
	rows := f.book[table]
	at := f.IntN(len(rows[0]))
	changed := false
	above := ""
	f.did = fmt.Sprintf("%s!%s moved down from row %d", table, rows[0][at], from+1)
	for i := from; i < len(rows); i++ {
		here := rows[i][at]
		if here != above {
			f.at(table, i)
			rows[i][at] = above
			f.at(table, i)
			changed = true
		}
		above = here
	}
	return changed
}

func renameHeader(f *fault) bool {
	table := pick(f, []string{"flows", "samples", "lab", "shifts", "gaps", "media", "devices", "workers", "limits", "survey"})
	at := f.IntN(len(f.book[table][0]))
	name := f.book[table][0][at]
	f.rows = []int{0} // a table that could not be read has no row
	for i := range f.book[table] {
		f.table, f.rows = table, append(f.rows, i+1)
		f.about = append(f.about, f.book[table][i][0])
	}
	f.book[table][0][at] = pick(f, []string{mistype(f, name), "my " + name, "Spalte " + strconv.Itoa(at+1), name + " (new)"})
	f.did = fmt.Sprintf("%s: header %q -> %q", table, name, f.book[table][0][at])
	return f.book[table][0][at] != name
}

func pauseInHours(f *fault) bool {
	row := f.row("samples")
	minutes, ok := numberIn(*f.cell("samples", row, "pause_min"))
	return ok && f.set("samples", row, "pause_min", fmt.Sprintf("%.*f", 1+f.IntN(2), minutes/60))
}

// withOffsets gives every time of the survey the offset of its place in May,
// and takes the timezone away.
func withOffsets(demo book) book {
	b := demo.clone()
	b["survey"] = slices.DeleteFunc(b["survey"], func(row []string) bool { return row[0] == "timezone" })
	for _, table := range []string{"samples", "flows", "shifts", "gaps"} {
		for _, row := range b[table][1:] {
			for i, text := range row {
				if _, err := time.Parse(clockLayout, text); err == nil {
					row[i] = text + " -05:00"
				}
			}
		}
	}
	return b
}

func missingOffset(f *fault) bool {
	table := pick(f, []string{"samples", "samples", "flows", "shifts", "gaps"})
	row := f.row(table)
	columns := map[string][]string{"samples": {"start", "stop"}, "flows": {"taken_at"}, "shifts": {"start", "end"}, "gaps": {"start", "end"}}[table]
	done := false
	for _, c := range columns {
		if len(columns) == 1 || f.IntN(3) > 0 {
			if text, ok := strings.CutSuffix(*f.cell(table, row, c), " -05:00"); ok {
				done = f.set(table, row, c, text)
			}
		}
	}
	return done
}

func mangleCAS(f *fault) bool {
	table := pick(f, []string{"lab", "lab", "lab", "limits"})
	row := f.row(table)
	text := *f.cell(table, row, "cas")
	return len(text) > 3 && f.set(table, row, "cas", mistype(f, text))
}
