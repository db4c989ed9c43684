package reports

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"airtally/stats"
)

// The rule for figures shown to people is this project's own; no source.
func TestFiguresAreShownToThreeSignificantFiguresOrMore(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0.00123, "0.00123"}, {905.3, "905.3"}, {905.355, "905.4"}, {5.03, "5.03"}, {480, "480"}, {0, "0"},
		{2, "2.00"}, {12345.6, "12346"}, {999.97, "1000"}, {-5.6886, "-5.69"}, {0.0999961, "0.1000"}, {1e-12, "1.00e-12"},
	} {
		require.Equal(t, c.want, figureText(c.v), "%v", c.v)
	}
}

func TestPublishedFiguresKeepTheirDigits(t *testing.T) {
	for v, want := range map[float64]string{24.45: "24.45", 5: "5", 0.0002: "0.0002", 0.1: "0.1", 400.0 / 9: "44.4"} {
		require.Equal(t, want, publishedText(v))
	}
}

// What is shown must stand on the side of the limit that its outcome was
// judged on.
func TestRoundingNeverContradictsTheOutcome(t *testing.T) {
	require.Equal(t, 2, decimals(5.03, 5))
	require.Equal(t, "5.003", fixed(5.003, decimals(5.003, 5)))
	require.Equal(t, "4.9996", fixed(4.9996, decimals(4.9996, 5)))
	require.Equal(t, "5.00", fixed(5, decimals(5, 5)))
	require.Equal(t, "100.04 %", percentOf(stats.Exact(1.0004)))
	require.Equal(t, "99.97 %", percentOf(stats.Exact(0.9997)))
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Float64Range(1e-4, 1e4).Draw(t, "limit")
		v := limit * (1 + rapid.Float64Range(-0.01, 0.01).Draw(t, "off"))
		if side(v, limit) != side(rounded(v, decimals(v, limit)), limit) {
			t.Fatalf("%v against %v shows %v", v, limit, rounded(v, decimals(v, limit)))
		}
	})
}

func TestBoundsAreSaidInWords(t *testing.T) {
	unbounded := stats.Interval{Low: 0.2, Value: 0.5, High: math.Inf(1)}
	for _, c := range []struct {
		i    stats.Interval
		want string
	}{
		{stats.Exact(0.123), "0.123"},
		{stats.Under(0.06, 0.03), "<0.0600"},
		{stats.AtLeast(0.12), "≥0.120"},
		{unbounded, "0.500 (≥0.200)"},
		{stats.Interval{Low: 0.1, Value: 0.12, High: 0.15}, "0.120 (0.100 to 0.150)"},
		{stats.Interval{Low: 0.1, Value: 0.12, High: 0.15, Open: true}, "0.120 (0.100 to <0.150)"},
	} {
		require.Equal(t, c.want, figuresOf(c.i))
	}
}

// The peer is the standard library: encoding/json writes the shortest form
// that reads back (ECMA-262, Number::toString).
func TestNumbersAreWrittenAsTheStandardLibraryDoes(t *testing.T) {
	check := func(v float64) {
		want, err := json.Marshal(v)
		require.NoError(t, err)
		require.Equal(t, string(want), string(appendNumber(nil, v)))
	}
	for _, v := range []float64{0, 1, -1, 0.1, 1e-6, 9.99e-7, 1e-7, 1.5e-10, 1e20, 1e21, 1e22, math.MaxFloat64, math.SmallestNonzeroFloat64, 1.0 / 3} {
		check(v)
	}
	rapid.Check(t, func(t *rapid.T) {
		check(rapid.Float64Range(-math.MaxFloat64, math.MaxFloat64).Draw(t, "v"))
	})
}

func TestWhatJSONCannotSayIsMissing(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		require.Equal(t, missing, number(v).form)
	}
	require.Equal(t, "0", string(appendCell(nil, number(math.Copysign(0, -1)))))
}
