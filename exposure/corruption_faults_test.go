package exposure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
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
