package reports

import (
	"cmp"
	"math"
	"strconv"

	"airtally/stats"
)

// appendNumber appends v unrounded, in the shortest form that reads back as v,
// with an exponent only for the very large and the very small.
func appendNumber(b []byte, v float64) []byte {
	size := math.Abs(v)
	if size == 0 || size >= 1e-6 && size < 1e21 {
		return strconv.AppendFloat(b, v, 'f', -1, 64)
	}
	b = strconv.AppendFloat(b, v, 'e', -1, 64)
	if n := len(b); b[n-4] == 'e' && b[n-2] == '0' { // e-07 is e-7, as encoding/json has it
		b = append(b[:n-2], b[n-1])
	}
	return b
}

// equalWithin is how close a value is to its limit to be equal to it.
const equalWithin = 1e-9

// mostDecimals is how many decimals are shown before an exponent is.
const mostDecimals = 9

// decimals returns how many decimals show v to people: three significant
// figures, one decimal at least under 1000, none for whole numbers of three
// figures. Where v is judged against a mark (0 for none), as many more as
// keep the rounded figure on v's own side of it: 5.003 against 5 is 5.003.
func decimals(v, mark float64) int {
	d := significantDecimals(v)
	for d < 15 && mark != 0 && side(rounded(v, d), mark) != side(v, mark) {
		d++
	}
	return d
}

func significantDecimals(v float64) int {
	size := math.Abs(v)
	if size == 0 {
		return 0
	}
	if size >= 100 && size == math.Trunc(size) || size >= 999.95 {
		return 0
	}
	return max(1, 2-int(math.Floor(math.Log10(size))))
}

func rounded(v float64, decimals int) float64 {
	r, _ := strconv.ParseFloat(rounding(v, decimals), 64)
	return r
}

// halfAway brings a figure that stands halfway between two roundings, as people
// read it, just past the middle: it is less than a program of spreadsheets
// shows, and more than the last bit of a figure.
const halfAway = 1 + 4e-16

// rounding writes v with so many decimals; a half goes away from zero, as the
// workbook shows it: 922.25 as 922.3.
func rounding(v float64, decimals int) string {
	return strconv.FormatFloat(v*halfAway, 'f', decimals, 64)
}

// side returns which side of mark v stands on: -1, 0 or 1.
func side(v, mark float64) int {
	if math.Abs(v-mark) <= equalWithin*math.Abs(mark) {
		return 0
	}
	return cmp.Compare(v, mark)
}

// publishedDecimals returns how many decimals v has as a source prints it.
// A figure that was computed has too many, and is shown as one.
func publishedDecimals(v float64) int {
	const printed = 6
	for d := range printed + 1 {
		if math.Abs(rounded(v, d)-v) <= 1e-12*math.Abs(v) {
			return d
		}
	}
	return decimals(v, 0)
}

func fixed(v float64, decimals int) string {
	if decimals > mostDecimals {
		return strconv.FormatFloat(v, 'e', 2, 64)
	}
	return rounding(v, decimals)
}

// figureText returns v for people to read.
func figureText(v float64) string { return fixed(v, decimals(v, 0)) }

// publishedText returns v as its source prints it.
func publishedText(v float64) string { return fixed(v, publishedDecimals(v)) }

// figuresOf returns an interval of a concentration for people to read.
func figuresOf(i stats.Interval) string { return intervalText(i, figureText, "") }

// percentOf returns an interval of a fraction of a limit as a percentage,
// never rounded onto or across 100 %.
func percentOf(fraction stats.Interval) string {
	show := func(f float64) string { return fixed(f*100, decimals(f*100, 100)) }
	return intervalText(fraction, show, " %")
}

// indexOf returns an interval of the sum of fractions of a mixture, never
// rounded onto or across 1.
func indexOf(i stats.Interval) string {
	return intervalText(i, func(v float64) string { return fixed(v, decimals(v, 1)) }, "")
}

// intervalText returns a quantity for people to read: "<0.06" of one known
// only to be under it, "≥0.12" of one known only to reach it, else the value
// with its bounds where it has any.
func intervalText(i stats.Interval, show func(float64) string, unit string) string {
	switch {
	case !i.Censored():
		return show(i.Value) + unit
	case i.Open && i.Low == 0 && i.Bounded():
		return "<" + show(i.High) + unit
	case !i.Bounded() && i.Low == i.Value && i.Low > 0:
		return "≥" + show(i.Low) + unit
	default:
		return show(i.Value) + unit + " (" + boundsText(i, show) + ")"
	}
}

// boundsText returns the bounds of a quantity.
func boundsText(i stats.Interval, show func(float64) string) string {
	switch {
	case !i.Bounded():
		return "≥" + show(i.Low)
	case i.Open:
		return show(i.Low) + " to <" + show(i.High)
	default:
		return show(i.Low) + " to " + show(i.High)
	}
}
