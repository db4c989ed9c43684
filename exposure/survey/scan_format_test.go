package survey

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"
)

// A pattern shows what the spreadsheet library shows of the same number, which
// is the yardstick here: it has patterns of its own.
func TestPatternsShowAsTheLibraryDoes(t *testing.T) {
	codes := []string{"0", "00000", "0.0", "0.00", "0.0000", "000.0", "0%", "0.0%", "0.00%",
		"yyyy-mm-dd", `yyyy\-mm\-dd\ hh:mm`, "yyyy-mm-dd hh:mm:ss", "dd.mm.yyyy", "d.m.yy", "m/d/yyyy h:mm", "hh:mm", "h:mm:ss", "mm:ss", "dd/mm/yyyy hh:mm", "d-m-yy hh:mm:ss", "DD.MM.YYYY HH:MM"}
	random := rand.New(rand.NewPCG(7, 71))
	for _, code := range codes {
		if compile(code) == nil {
			t.Errorf("%s has no pattern", code)
		}
		for _, since1904 := range []bool{false, true} {
			sameShown(t, code, random, &sheetStyles{styles: []int{0, firstOwnFormat},
				codes: map[int]string{firstOwnFormat: code}, since1904: since1904})
		}
	}
	for id, code := range plainCodes {
		sameShown(t, code, random, &sheetStyles{styles: []int{0, id}})
	}
}

func TestCodesWithoutPattern(t *testing.T) {
	for _, code := range []string{"", "-", ".", "0.", "General", "@", "#,##0", "0.00E+00", "0 %", "mmm", "yyy", "[h]:mm", "h:mm AM/PM", `"x"0`, "0;-0", "ss.0", "hh:mm;@", "[$-409]d/m/yyyy", "#"} {
		if p := compile(code); p != nil {
			t.Errorf("%q: %+v", code, p)
		}
	}
}

// drawNumber draws numbers as sheets hold them: dates, times, whole numbers,
// decimals of every size, and halves that round either way.
func drawNumber(random *rand.Rand) float64 {
	switch random.IntN(8) {
	case 0:
		return float64(random.IntN(60_000))
	case 1:
		return 40_000 + float64(random.IntN(10_000)) + float64(random.IntN(86_400))/86_400
	case 2:
		return random.Float64()
	case 3:
		return float64(random.IntN(100_000)) / 8
	case 4:
		return -random.Float64() * 100
	case 5:
		return float64(random.IntN(1000)) + 0.005
	case 6:
		return math.Trunc(random.Float64() * 1e13)
	}
	return math.Exp(30 * (random.Float64() - 0.5))
}

// sameShown compares what the second style shows of numbers.
func sameShown(t *testing.T, code string, random *rand.Rand, styles *sheetStyles) {
	t.Helper()
	for range 200 {
		v := drawNumber(random)
		if want, got := showBoth(t, styles, v); got != want {
			t.Errorf("%s, %v, since 1904 %t: %q, want %q", code, v, styles.since1904, got, want)
		}
	}
}

// showBoth shows a number without and with the pattern of the second style.
func showBoth(t *testing.T, styles *sheetStyles, v float64) (want, got string) {
	t.Helper()
	f, err := styles.format(1)
	if err != nil {
		t.Fatal(err)
	}
	raw := strconv.FormatFloat(v, 'g', -1, 64)
	if got, err = styles.show(f, raw, v); err != nil {
		t.Fatal(err)
	}
	slow := *f
	slow.pattern = nil
	if want, err = styles.show(&slow, raw, v); err != nil {
		t.Fatal(err)
	}
	return want, got
}
