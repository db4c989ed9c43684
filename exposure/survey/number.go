package survey

import (
	"math"
	"strconv"
	"strings"

	"golang.org/x/text/unicode/norm"
)

// role is what a comma or a point does in the numbers of a column.
type role uint8

const (
	unseen    role = iota // nothing in the column tells
	decimal               // it comes before the decimals
	thousands             // it groups thousands
	doubtful              // the column shows both
)

// numberStyle is how the numbers of a column are written. It matters only for
// cells that can be read both ways, such as 1,550.
type numberStyle struct{ comma, point role }

// spoken is the style of a text without any sign of another.
var spoken = numberStyle{comma: thousands, point: decimal}

// evidence is what the cells of a column tell about its numbers.
// Each is a number of runs.
type evidence struct{ commaDecimal, commaThousands, pointDecimal, pointThousands int }

// overwhelming is how many times more runs must speak for one style than for
// the other, before the other are slips.
const overwhelming = 10

// gather takes the evidence of one cell: each run of digits, commas and
// points in it that can be read in one way only.
func (e *evidence) gather(text string) {
	if !strings.ContainsAny(text, ".,") {
		return
	}
	for run := range strings.FieldsFuncSeq(text, notInNumber) {
		e.gatherRun(strings.Trim(run, ".,"), run)
	}
}

func notInNumber(r rune) bool { return (r < '0' || r > '9') && r != ',' && r != '.' }

func (e *evidence) gatherRun(trimmed, run string) {
	commas, points := strings.Count(trimmed, ","), strings.Count(trimmed, ".")
	switch {
	case commas > 0 && points > 0:
		if strings.LastIndexByte(trimmed, ',') > strings.LastIndexByte(trimmed, '.') {
			e.commaDecimal, e.pointThousands = e.commaDecimal+1, e.pointThousands+1
		} else {
			e.commaThousands, e.pointDecimal = e.commaThousands+1, e.pointDecimal+1
		}
	case commas > 1:
		e.commaThousands++
	case points > 1:
		if grouped(trimmed, '.') {
			e.pointThousands++
		}
	case commas == 1 && !grouped(trimmed, ','):
		e.commaDecimal++
	case points == 1 && !grouped(trimmed, '.'):
		e.pointDecimal++
	case commas+points == 0 && strings.HasPrefix(run, "."):
		e.pointDecimal++
	case commas+points == 0 && strings.HasPrefix(run, ","):
		e.commaDecimal++
	}
}

func (e *evidence) merge(o evidence) {
	e.commaDecimal += o.commaDecimal
	e.commaThousands += o.commaThousands
	e.pointDecimal += o.pointDecimal
	e.pointThousands += o.pointThousands
}

// style returns what the evidence says, unseen where it says nothing.
func (e evidence) style() numberStyle {
	continental := e.commaDecimal + e.pointThousands
	insular := e.commaThousands + e.pointDecimal
	switch {
	case insular >= overwhelming*max(1, continental):
		return numberStyle{thousands, decimal}
	case insular > 0 && continental > 0 && continental < overwhelming*insular:
		return numberStyle{doubtful, doubtful}
	case e.pointThousands > 0:
		return numberStyle{decimal, thousands}
	case continental > 0: // whether the point groups thousands has not been seen
		return numberStyle{decimal, doubtful}
	case insular > 0:
		return numberStyle{thousands, decimal}
	}
	return numberStyle{}
}

// grouped reports whether separators cut digits into groups of three after a
// first group of one to three that does not begin with 0: a number of
// thousands, if it is not one with three decimals.
func grouped(digits string, separator byte) bool {
	first := strings.IndexByte(digits, separator)
	if first < 1 || first > 3 || digits[0] == '0' {
		return false
	}
	for i := first; i < len(digits); i += 4 {
		if digits[i] != separator || i+4 > len(digits) {
			return false
		}
		if strings.IndexByte(digits[i+1:i+4], separator) >= 0 {
			return false
		}
	}
	return true
}

// fault is why a text is not a number.
type fault uint8

const (
	readable fault = iota
	unreadable
	ambiguous
)

// parseNumber reads a number in the style of its column.
func parseNumber(text string, style numberStyle) (float64, fault) {
	if plain(text) {
		return parsePlain(text, style)
	}
	return parseWritten(text, style)
}

// plain reports whether text is made only of what strconv reads as a person
// would: digits, point, sign and exponent.
func plain(text string) bool {
	for i := range len(text) {
		switch c := text[i]; {
		case c >= '0' && c <= '9', c == '.':
		case i > 0 && (c == 'e' || c == 'E'):
		case (c == '-' || c == '+') && (i == 0 || text[i-1]|0x20 == 'e'):
		default:
			return false
		}
	}
	return text != ""
}

func parsePlain(text string, style numberStyle) (float64, fault) {
	if style.point != decimal && strings.Contains(text, ".") {
		return parseWritten(text, style)
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, unreadable
	}
	return v, readable
}

// parseWritten reads a number as people and other countries write it: full
// width digits, spaces or apostrophes between thousands, decimal commas.
func parseWritten(text string, style numberStyle) (float64, fault) {
	sign, digits := cutSign(identifier(norm.NFKC.String(text)))
	digits, exponent := cutExponent(digits)
	digits, ok := closeGroups(digits)
	if !ok {
		return 0, unreadable
	}
	digits, f := decimalPoint(digits, style)
	if f != readable {
		return 0, f
	}
	text = sign + digits + exponent
	if !plain(text) {
		return 0, unreadable
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, unreadable
	}
	return v, readable
}

func cutSign(text string) (sign, rest string) {
	if strings.HasPrefix(text, "-") || strings.HasPrefix(text, "+") {
		return text[:1], strings.TrimSpace(text[1:])
	}
	return "", text
}

func cutExponent(text string) (digits, exponent string) {
	if i := strings.IndexAny(text, "eE"); i > 0 {
		return text[:i], text[i:]
	}
	return text, ""
}

// closeGroups takes out spaces or apostrophes that cut a number into groups
// of three; elsewhere they are no part of a number.
func closeGroups(digits string) (string, bool) {
	for _, separator := range []byte{' ', '\''} {
		if strings.IndexByte(digits, separator) < 0 {
			continue
		}
		whole, fraction := digits, ""
		if i := strings.IndexAny(digits, ".,"); i >= 0 {
			whole, fraction = digits[:i], digits[i:]
		}
		if !grouped(whole, separator) {
			return "", false
		}
		digits = strings.ReplaceAll(whole, string(separator), "") + fraction
	}
	return digits, true
}

// decimalPoint rewrites digits, commas and points so that a point comes
// before the decimals and nothing groups thousands.
func decimalPoint(digits string, style numberStyle) (string, fault) {
	comma, point := strings.LastIndexByte(digits, ','), strings.LastIndexByte(digits, '.')
	switch {
	case comma < 0 && point < 0:
		return digits, readable
	case comma >= 0 && point >= 0:
		mark, group := byte('.'), byte(',')
		if comma > point {
			mark, group = ',', '.'
		}
		whole, fraction, _ := strings.Cut(digits, string(mark))
		if !grouped(whole, group) {
			return "", unreadable
		}
		return strings.ReplaceAll(whole, string(group), "") + "." + fraction, readable
	case comma >= 0:
		return oneSeparator(digits, ',', style.comma)
	}
	return oneSeparator(digits, '.', style.point)
}

// oneSeparator rewrites a number that holds commas alone or points alone.
func oneSeparator(digits string, separator byte, does role) (string, fault) {
	bare := strings.ReplaceAll(digits, string(separator), "")
	if strings.Count(digits, string(separator)) > 1 {
		if !grouped(digits, separator) {
			return "", unreadable
		}
		return bare, readable
	}
	if grouped(digits, separator) {
		switch does {
		case thousands:
			return bare, readable
		case doubtful, unseen:
			return "", ambiguous
		}
	}
	return strings.Replace(digits, string(separator), ".", 1), readable
}

// plainly writes a number as few digits as give it back.
func plainly(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
