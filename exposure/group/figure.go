package group

import (
	"math"
	"strconv"
)

// significant is how many digits sentences give.
const significant = 3

// figure returns a number as sentences give it.
func figure(v float64) string { return rounded(v, significant) }

// figureBeside returns a number as sentences give it, with as many digits as
// keep it off a mark that it is not on and on its side of it.
func figureBeside(v, mark float64) string {
	for digits := significant; digits < 12; digits++ {
		shown := rounded(v, digits)
		r, err := strconv.ParseFloat(shown, 64)
		if err == nil && (r < mark) == (v < mark) && (r > mark) == (v > mark) {
			return shown
		}
	}
	return rounded(mark, significant) // equal to every digit that matters
}

// rounded returns a number with so many significant digits, without an
// exponent unless it is very small.
func rounded(v float64, digits int) string {
	if v == 0 {
		return "0"
	}
	if math.Abs(v) < 1e-4 {
		return strconv.FormatFloat(v, 'g', digits, 64)
	}
	decimals := max(0, digits-1-int(math.Floor(math.Log10(math.Abs(v)))))
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', decimals, 64), 64)
	if err != nil {
		return strconv.FormatFloat(v, 'g', digits, 64)
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}
