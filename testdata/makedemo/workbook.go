package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// tables are the sheets in the order a person fills them in.
var tables = []string{
	"survey", "devices", "media", "workers", "shifts", "gaps", "flows",
	"samples", "lab", "limits", "derived", "mixtures", "history",
}

// written is the date the workbook states as its own, so that two builds of
// the same tables are the same file.
const written = "2026-05-29T12:00:00Z"

// build returns the workbook of the tables in folder.
func build(folder string) (*excelize.File, error) {
	book := excelize.NewFile()
	err := fill(book, folder)
	if err != nil {
		return nil, errors.Join(err, book.Close())
	}
	return book, nil
}

func fill(book *excelize.File, folder string) error {
	looks, err := newStyles(book)
	if err != nil {
		return err
	}
	for i, name := range tables {
		rows, err := readTable(filepath.Join(folder, name+".csv"))
		if err != nil {
			return err
		}
		if i == 0 {
			err = book.SetSheetName("Sheet1", name)
		} else {
			_, err = book.NewSheet(name)
		}
		if err != nil {
			return err
		}
		if err := writeSheet(book, name, rows, looks); err != nil {
			return fmt.Errorf("sheet %s: %w", name, err)
		}
	}
	return book.SetDocProps(&excelize.DocProperties{
		Title: "Demo survey, all of it invented", Created: written, Modified: written,
	})
}

func readTable(path string) ([][]string, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if len(rows) == 0 {
		return nil, fmt.Errorf("%s: no header", path)
	}
	return rows, nil
}

func writeSheet(book *excelize.File, sheet string, rows [][]string, looks *styles) error {
	for r, row := range rows {
		for c, text := range row {
			if text == "" {
				continue
			}
			cell, err := excelize.CoordinatesToCellName(c+1, r+1)
			if err != nil {
				return err
			}
			value, style := any(text), looks.header
			if r > 0 {
				value, style = typed(text, looks)
			}
			if err := set(book, sheet, cell, value, style); err != nil {
				return err
			}
		}
	}
	if err := setWidths(book, sheet, rows); err != nil {
		return err
	}
	return book.SetPanes(sheet, &excelize.Panes{
		Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft",
	})
}

func set(book *excelize.File, sheet, cell string, value any, style int) error {
	if err := book.SetCellValue(sheet, cell, value); err != nil {
		return err
	}
	return book.SetCellStyle(sheet, cell, cell, style)
}

func setWidths(book *excelize.File, sheet string, rows [][]string) error {
	const narrowest, widest, margin = 8, 46, 2
	for c := range rows[0] {
		longest := narrowest
		for _, row := range rows {
			longest = max(longest, utf8.RuneCountInString(row[c])+margin)
		}
		column, err := excelize.ColumnNumberToName(c + 1)
		if err != nil {
			return err
		}
		if err := book.SetColWidth(sheet, column, column, float64(min(longest, widest))); err != nil {
			return err
		}
	}
	return nil
}

// plain is a number as a spreadsheet would take it over from the keyboard
// without losing anything: "0418" is not, and stays text.
var plain = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]{1,6})?$`)

// grouped is a whole number with its thousands apart, as "1,997".
var grouped = regexp.MustCompile(`^[1-9][0-9]{0,2}(,[0-9]{3})+$`)

// typed returns the cell that a spreadsheet would make of a text typed into
// it, and the style that shows it as it was written: a number, a date, a time
// of day, or the text.
func typed(text string, looks *styles) (value any, style int) {
	if plain.MatchString(text) {
		if number, err := strconv.ParseFloat(text, 64); err == nil {
			_, decimals, _ := strings.Cut(text, ".")
			return number, looks.number[len(decimals)]
		}
	}
	if grouped.MatchString(text) {
		if number, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", ""), 64); err == nil {
			return number, looks.grouped
		}
	}
	if at, err := time.Parse("2006-01-02 15:04", text); err == nil {
		return at, looks.moment
	}
	if at, err := time.Parse("2006-01-02", text); err == nil {
		return at, looks.date
	}
	if at, err := time.Parse("15:04", text); err == nil {
		minutes := at.Hour()*60 + at.Minute()
		return float64(minutes) / (24 * 60), looks.time // a bare time is a fraction of a day
	}
	return text, looks.text
}

// mostDecimals is how many decimals a number can have and still be shown as
// it was written.
const mostDecimals = 6

// styles are the few looks the sheets have.
type styles struct {
	header, text, grouped, moment, date, time int
	number                                    [mostDecimals + 1]int // by decimals
}

func newStyles(book *excelize.File) (*styles, error) {
	var errs []error
	add := func(s excelize.Style) int {
		id, err := book.NewStyle(&s)
		errs = append(errs, err)
		return id
	}
	format := func(code string) int { return add(excelize.Style{CustomNumFmt: &code}) }
	looks := &styles{
		header: add(excelize.Style{
			Font:   &excelize.Font{Bold: true},
			Border: []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}},
		}),
		text:    format("@"),
		grouped: format("#,##0"),
		moment:  format("yyyy-mm-dd hh:mm"),
		date:    format("yyyy-mm-dd"),
		time:    format("hh:mm"),
	}
	looks.number[0] = format("0")
	for decimals := 1; decimals <= mostDecimals; decimals++ {
		looks.number[decimals] = format("0." + strings.Repeat("0", decimals))
	}
	return looks, errors.Join(errs...)
}
