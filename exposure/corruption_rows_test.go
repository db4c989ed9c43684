package exposure_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

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
