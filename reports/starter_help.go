package reports

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"airtally/exposure/survey"
)

// Sizes of the notes on cells, in pixels.
const (
	noteWide        = 260
	noteLineHigh    = 17
	noteLineLetters = 40 // in one line
)

// note puts a note on a cell.
func (b *starterBook) note(sheet, cell, text string) error {
	return b.file.AddComment(sheet, excelize.Comment{Cell: cell, Author: "airtally",
		Paragraph: []excelize.RichTextRun{{Text: text, Font: noteFont()}}, Width: noteWide, Height: noteHeight(text)})
}

func noteFont() *excelize.Font { return &excelize.Font{Family: fontName, Size: fontSize} }

// noteHeight is how high a note must be to show a text whole.
func noteHeight(text string) uint {
	lines := 1
	for line := range strings.SplitSeq(text, "\n") {
		lines += 1 + utf8.RuneCountInString(line)/noteLineLetters
	}
	return uint(lines * noteLineHigh)
}

// boundless is where the upper bound of a range is only there to catch slips.
const boundless = 1e6

// columnNote says what a column holds, in words.
func columnNote(c *survey.Column) string { return noteOn(c, "Left blank it means ") }

// itemNote says what an item of the survey sheet states. A setting left blank
// is a slip, and found; its default counts without the row.
func itemNote(c *survey.Column) string { return noteOn(c, "Without this row it is ") }

func noteOn(c *survey.Column, byDefault string) string {
	lines := []string{sentence(c.Help)}
	if c.Type == survey.UnitCell { // a capital letter would make another unit
		lines[0] = "Unit: " + stopped(c.Help)
	}
	if c.Required {
		lines = append(lines, "Required: fill it in every row.")
	}
	if c.UnitColumn != "" {
		lines = append(lines, "In the unit of the column "+c.UnitColumn+".")
	} else if c.Unit != "" {
		lines = append(lines, "In "+c.Unit+".")
	}
	lines = append(lines, allowed(c)...)
	if c.Default != "" {
		lines = append(lines, byDefault+c.Default+".")
	}
	if c.Advice != "" {
		lines = append(lines, c.Advice)
	}
	return strings.Join(lines, "\n")
}

// allowed says which values a column takes.
func allowed(c *survey.Column) []string {
	var lines []string
	if values := c.Values(); len(values) > 0 {
		lines = append(lines, "One of: "+strings.Join(values, ", ")+".")
	}
	if len(c.Suggested) > 0 {
		lines = append(lines, "Usual: "+strings.Join(c.Suggested, ", ")+".")
	}
	if c.Refers != "" {
		lines = append(lines, "As it stands in the sheet "+c.Refers+".")
	}
	if pattern := c.Pattern(); pattern != "" {
		line := "Written " + pattern
		if !c.DateOnly {
			line += "; hours from 0 to 23"
		}
		lines = append(lines, line+".")
	}
	switch c.Type {
	case survey.FractionCell:
		lines = append(lines, "A fraction such as 0.95, or 95 %.")
	case survey.YesNoCell:
		lines = append(lines, "yes or no.")
	}
	if c.Range.Limited && c.Range.High < boundless {
		lines = append(lines, "Allowed: "+c.Range.String()+".")
	}
	return lines
}

func sentence(help string) string {
	first, size := utf8.DecodeRuneInString(help)
	return strings.ToUpper(string(first)) + stopped(help[size:])
}

func stopped(text string) string {
	if strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}

// validate lays the list or the range of a column over its cells. A value
// beyond a closed list is refused; beyond any other it is asked about.
func (b *starterBook) validate(sheet, column string, c *survey.Column) error {
	v := excelize.NewDataValidation(true)
	v.SetSqref(fmt.Sprintf("%s2:%s%d", column, column, guidedRows))
	use, err := restrict(v, c)
	if err != nil || !use {
		return err
	}
	return b.file.AddDataValidation(sheet, v)
}

// restrict sets what a validation allows; it returns false where the column
// takes anything.
func restrict(v *excelize.DataValidation, c *survey.Column) (use bool, err error) {
	strict, usual := excelize.DataValidationErrorStyleStop, excelize.DataValidationErrorStyleWarning
	values := c.Values()
	if c.Type == survey.YesNoCell {
		values = []string{"yes", "no"}
	}
	switch {
	case len(values) > 0:
		v.SetError(strict, c.Name, "Choose one of: "+strings.Join(values, ", "))
		return true, v.SetDropList(values)
	case len(c.Suggested) > 0:
		v.SetError(usual, c.Name, "Not one of the usual values. Keep it if it is meant.")
		return true, v.SetDropList(c.Suggested)
	case c.Refers != "":
		v.SetError(usual, c.Name, "Not in the sheet "+c.Refers+" yet. Add it there, or choose another.")
		v.SetSqrefDropList(fmt.Sprintf("%s!$A$2:$A$%d", c.Refers, guidedRows))
		return true, nil
	case c.Type == survey.NumberCell && c.Range.Limited:
		v.SetError(usual, c.Name, "Expected a number: "+c.Range.String())
		operator := excelize.DataValidationOperatorBetween
		if c.Range.OverLow && c.Range.High >= boundless {
			operator = excelize.DataValidationOperatorGreaterThan
		}
		return true, v.SetRange(c.Range.Low, c.Range.High, excelize.DataValidationTypeDecimal, operator)
	}
	return false, nil
}

// itemLists lays lists over the survey sheet: of its items, and of the values
// of those that have choices. Each item has its help as a note.
func (b *starterBook) itemLists(d *survey.Description, rows []exampleRow) error {
	if d.Name != "survey" {
		return nil
	}
	items := survey.Items()
	v := excelize.NewDataValidation(true)
	v.SetSqref(fmt.Sprintf("A2:A%d", guidedRows))
	v.SetSqrefDropList(fmt.Sprintf("%s!$A$1:$A$%d", listsSheet, len(items)))
	if err := b.file.AddDataValidation(d.Name, v); err != nil {
		return err
	}
	for i, row := range rows {
		k := slices.IndexFunc(items, func(c survey.Column) bool { return c.Name == row["item"] })
		if err := b.item(d.Name, i+2, &items[k]); err != nil {
			return err
		}
	}
	return nil
}

// item explains one row of the survey sheet, and lays the list of its values
// and the format of its dates over the cell they are typed into.
func (b *starterBook) item(sheet string, row int, c *survey.Column) error {
	value := fmt.Sprintf("B%d", row)
	errs := []error{b.note(sheet, fmt.Sprintf("A%d", row), itemNote(c))}
	if pattern := c.Pattern(); pattern != "" {
		errs = append(errs, b.file.SetCellStyle(sheet, value, value, b.styles.of(look{format: pattern})))
	}
	v := excelize.NewDataValidation(true)
	v.SetSqref(value)
	use, err := restrict(v, c)
	if use && err == nil {
		err = b.file.AddDataValidation(sheet, v)
	}
	return errors.Join(append(errs, err)...)
}

// lists adds the hidden sheet of lists too long to stand in a cell's rule.
func (b *starterBook) lists() error {
	if _, err := b.file.NewSheet(listsSheet); err != nil {
		return err
	}
	for i, item := range survey.Items() {
		if err := b.file.SetCellStr(listsSheet, fmt.Sprintf("A%d", i+1), item.Name); err != nil {
			return err
		}
	}
	return b.file.SetSheetVisible(listsSheet, false)
}
