package survey

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"airtally/exposure/finding"
)

// cas reads a CAS number. Spreadsheets make dates of some, such as 7440-06-4
// and 75-09-2, and numbers of those without strokes; they are turned back where
// the check digit proves one number alone. known holds the numbers already
// found right.
func (r *reader) cas(f *field, known map[string]bool) string {
	c := r.cell(f)
	if c == nil || r.filled(f) == "" {
		return ""
	}
	if c.kind == textKind && known[c.text] {
		return c.text
	}
	if c.kind == dateKind || c.kind == timeKind {
		return r.repairCAS(f, "a date", casOfDay(serialDay(c.number)))
	}
	text := casAlone(identifier(c.text))
	why := casFault(text)
	if why == "" {
		known[text] = true
		return text
	}
	if numbers := casOfDateText(text); len(numbers) > 0 {
		return r.repairCAS(f, "a date", numbers)
	}
	if n := withStrokes(text); n != "" {
		return r.repairCAS(f, "written without its strokes", []string{n})
	}
	r.add(finding.Check, f, finding.CASInvalid, finding.Values{"reason": why})
	return text
}

// repairCAS takes the one CAS number that a cell can have been.
func (r *reader) repairCAS(f *field, what string, numbers []string) string {
	switch len(numbers) {
	case 0:
		r.add(finding.Check, f, finding.DateAsIdentifier, nil)
	case 1:
		r.add(finding.Check, f, finding.CASRepaired, finding.Values{"what": what, "value": numbers[0]})
		return numbers[0]
	default:
		r.add(finding.Check, f, finding.CASInvalid, finding.Values{"reason": "as a date it can be of " + strings.Join(numbers, " or ")})
	}
	return r.text(f)
}

// casAlone cuts off what people write around a CAS number: "CAS No.", brackets,
// and zeros before it.
func casAlone(text string) string {
	cut := strings.TrimLeft(strings.Trim(strings.TrimLeft(text, "CASNRcasnro.:#°º "), "[]() "), "0")
	if casFault(cut) == "" {
		return cut
	}
	return text
}

// withStrokes returns the CAS number of its digits alone, "" where they are
// none.
func withStrokes(text string) string {
	if _, all := digits(text); !all || len(text) < 5 || len(text) > 10 {
		return ""
	}
	n := len(text)
	if number := text[:n-3] + "-" + text[n-3:n-1] + "-" + text[n-1:]; casFault(number) == "" {
		return number
	}
	return ""
}

// casOfDay returns the CAS numbers that a spreadsheet took for a day: year,
// month, and a day of one digit. Of a year of our time the last two digits may
// have been typed: spreadsheets add the century to 30 to 99 and to 00 to 29.
func casOfDay(day time.Time) []string {
	rest := fmt.Sprintf("-%02d-%d", day.Month(), day.Day())
	numbers := []string{fmt.Sprint(day.Year()) + rest}
	if day.Year() >= 1930 && day.Year() < 2030 {
		numbers = append(numbers, fmt.Sprintf("%02d", day.Year()%100)+rest)
	}
	return slices.DeleteFunc(numbers, func(n string) bool { return casFault(n) != "" })
}

var dateText = regexp.MustCompile(`^([0-9]{1,4})([-/.])([0-9]{1,2})[-/.]([0-9]{1,4})$`)

// casOfDateText returns the CAS numbers that a date as text can have been, in
// any order of day and month: 7440-06-04, 6/4/7440, 02.09.1975, 2-Sep-75.
func casOfDateText(text string) []string {
	var days []time.Time
	enter := func(year string, month, day int) {
		y, _ := digits(year)
		if len(year) <= 2 {
			y = 1930 + (y+70)%100
		}
		if d := time.Date(y, time.Month(month), day, 0, 0, 0, 0, time.UTC); month >= 1 && month <= 12 && d.Day() == day {
			days = append(days, d)
		}
	}
	if p := dateText.FindStringSubmatch(text); p != nil {
		first, _ := digits(p[1])
		second, _ := digits(p[3])
		third, _ := digits(p[4])
		if len(p[1]) == 4 {
			enter(p[1], second, third)
		} else {
			enter(p[4], first, second)
			enter(p[4], second, first)
		}
	} else if p := dayMonth.FindStringSubmatch(text); p != nil {
		day, _ := digits(p[1])
		month, _ := monthNamed(p[2])
		enter(p[3], month, day)
	}
	var numbers []string
	for _, day := range days {
		numbers = append(numbers, casOfDay(day)...)
	}
	slices.Sort(numbers)
	return slices.Compact(numbers)
}

// casFault says what is wrong with a CAS number, "" where nothing is. The last
// digit checks the others: the sum of each digit times its place from the
// right, modulo 10 (CAS, check digit verification of CAS registry numbers).
func casFault(text string) string {
	parts := strings.Split(text, "-")
	if len(parts) != 3 || len(parts[0]) < 2 || len(parts[0]) > 7 || len(parts[1]) != 2 || len(parts[2]) != 1 {
		return "expected digits such as 7440-47-3"
	}
	body := parts[0] + parts[1]
	check, ok := digits(parts[2])
	sum := 0
	for i := range len(body) {
		d, isDigit := digits(body[i : i+1])
		ok = ok && isDigit
		sum += d * (len(body) - i)
	}
	switch {
	case !ok:
		return "expected digits such as 7440-47-3"
	case sum%10 != check:
		return fmt.Sprintf("its check digit should be %d", sum%10)
	}
	return ""
}
