package survey

import (
	"fmt"
	"strings"
	"time"

	"airtally/exposure/finding"
)

// cas reads a CAS number. Spreadsheets make dates of some, such as 7440-06-4;
// those are turned back where the check digit proves it. known holds the
// numbers already found right.
func (r *reader) cas(f *field, known map[string]bool) string {
	c := r.cell(f)
	if c == nil || r.filled(f) == "" {
		return ""
	}
	text := strings.TrimSpace(c.text)
	if c.kind == textKind && known[text] {
		return text
	}
	if c.kind == dateKind || c.kind == timeKind {
		return r.repairCAS(f, casOfDate(c.number))
	}
	text = strings.NewReplacer("‐", "-", "‑", "-", "–", "-").Replace(text)
	why := casFault(text)
	if why == "" {
		known[text] = true
		return text
	}
	if repaired := casOfDateText(text); repaired != "" && casFault(repaired) == "" {
		return r.repairCAS(f, repaired)
	}
	r.add(finding.Check, f, finding.CASInvalid, finding.Values{"reason": why})
	return text
}

func (r *reader) repairCAS(f *field, repaired string) string {
	if casFault(repaired) != "" {
		r.add(finding.Check, f, finding.DateAsIdentifier, nil)
		return r.text(f)
	}
	r.add(finding.Check, f, finding.CASRepaired, finding.Values{"value": repaired})
	return repaired
}

// casOfDate returns the CAS number that a spreadsheet took for a date: year,
// month and a day of one digit.
func casOfDate(serial float64) string {
	if !(serial >= 1 && serial < 3e6) {
		return ""
	}
	d := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(serial))
	return fmt.Sprintf("%d-%02d-%d", d.Year(), d.Month(), d.Day())
}

// casOfDateText does the same for the date as text: 7440-06-04.
func casOfDateText(text string) string {
	if len(text) != 10 || text[7:9] != "-0" {
		return ""
	}
	return text[:8] + text[9:]
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
