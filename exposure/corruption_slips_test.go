package exposure_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

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
