package survey

import (
	"math"
	"regexp"
	"strings"

	"airtally/exposure/finding"
)

// id returns an identifier as the cell shows it. Characters that look like
// plain ones are read as these; what a spreadsheet has made of an identifier is
// told of.
func (r *reader) id(f *field) string {
	c := r.cell(f)
	if c == nil {
		return ""
	}
	text := r.filled(f)
	switch {
	case c.kind == dateKind || c.kind == timeKind:
		r.add(finding.Check, f, finding.DateAsIdentifier, nil)
	case c.kind == numberKind:
		return r.numberID(f, c)
	case isASCII(c.text):
		r.checkTextID(f, text)
	default:
		if id := identifier(text); id != strings.TrimSpace(c.text) {
			r.tally(finding.CharactersFolded, finding.Note, f, nil, finding.Values{"read": strings.TrimSpace(c.text), "value": id})
			return id
		}
	}
	return text
}

// Spreadsheets keep 15 digits of a number.
const mostDigits = 1e15

// numberID returns an identifier in a cell of a number, in full where the cell
// shows powers of ten. It tells of one that had letters or more digits.
func (r *reader) numberID(f *field, c *cell) string {
	switch {
	case strings.ContainsAny(c.text, "eE"):
		r.tellMangled(f, "a number in powers of ten", "1E5")
		return plainly(c.number)
	case math.Abs(c.number) >= mostDigits:
		r.tellMangled(f, "a number with digits lost", "12345678901234567")
	}
	return r.filled(f)
}

// named returns an identifier without telling of it.
func (r *reader) named(f *field) string {
	if c := r.cell(f); c != nil && c.kind == numberKind && strings.ContainsAny(c.text, "eE") {
		return plainly(c.number)
	}
	return identifier(r.text(f))
}

// Identifiers as spreadsheets show what they have made of them.
var (
	powerText    = regexp.MustCompile(`^[0-9]([.,][0-9]+)?E[+-][0-9]{2,}$`)
	dayMonthText = regexp.MustCompile(`^([0-9]{1,2}-[A-Z][a-z]{2}|[A-Z][a-z]{2}-[0-9]{2})$`)
)

// checkTextID tells of an identifier that looks like a number or a date that a
// spreadsheet has made of one. Shifts may be called by their date.
func (r *reader) checkTextID(f *field, text string) {
	if len(text) < 5 || len(text) > 24 {
		return
	}
	switch {
	case strings.IndexByte(text, 'E') > 0 && powerText.MatchString(text):
		r.tellMangled(f, "a number in powers of ten", "1E5")
	case f.Name != "shift" && len(text) <= 6 && dayMonthText.MatchString(text) && namesMonth(text):
		r.tellMangled(f, "a date", "3-2")
	}
}

func namesMonth(text string) bool {
	_, known := monthNamed(strings.Trim(text, "-0123456789"))
	return known
}

func (r *reader) tellMangled(f *field, what, such string) {
	r.tally(finding.IdentifierMangled, finding.Check, f, r.subject(), finding.Values{"read": r.text(f), "what": what, "such": such})
}
