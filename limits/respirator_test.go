package limits_test

import (
	"math"
	"testing"

	"airtally/limits"
	"airtally/stats"
)

func TestHazardRatio(t *testing.T) {
	for name, c := range map[string]struct {
		upper, limit float64
		want         stats.Optional
	}{
		"under the limit":    {2.5, 5, stats.Some(0.5)},
		"nothing":            {0, 5, stats.Some(0)},
		"ten times":          {50, 5, stats.Some(10)},
		"no upper bound":     {unbounded, 5, stats.Optional{}},
		"no number":          {math.NaN(), 5, stats.Optional{}},
		"no limit":           {50, 0, stats.Optional{}},
		"a negative limit":   {50, -5, stats.Optional{}},
		"an endless limit":   {50, unbounded, stats.Optional{}},
		"both without bound": {unbounded, unbounded, stats.Optional{}},
		"ratio out of range": {math.MaxFloat64, 1e-300, stats.Optional{}},
	} {
		if got := limits.HazardRatio(c.upper, c.limit); got != c.want {
			t.Errorf("%s: %v; want %v", name, got, c.want)
		}
	}
}

// TestSmallestAPF: 29 CFR 1910.134 Table 1, read; a filtering facepiece counts
// as a half mask, and a hood's 1,000 needs the manufacturer's evidence.
func TestSmallestAPF(t *testing.T) {
	for name, c := range map[string]struct {
		ratio   stats.Optional
		factor  float64
		classes int
		ok      bool
	}{
		"within the limit":     {stats.Some(0.9), 1, 0, true},
		"at the limit":         {stats.Some(1), 1, 0, true},
		"just over":            {stats.Some(1.01), 5, 1, true},
		"at 5":                 {stats.Some(5), 5, 1, true},
		"over 5":               {stats.Some(5.01), 10, 3, true},
		"at 10":                {stats.Some(10), 10, 3, true},
		"10 with its last bit": {stats.Some(0.1 * 3 / 0.3 * 10), 10, 3, true},
		"over 10":              {stats.Some(10.1), 25, 4, true},
		"over 25":              {stats.Some(25.1), 50, 7, true},
		"over 50":              {stats.Some(50.1), 1000, 5, true},
		"over 1,000":           {stats.Some(1000.1), 10000, 2, true},
		"at 10,000":            {stats.Some(10000), 10000, 2, true},
		"over every factor":    {stats.Some(10000.1), 0, 0, false},
		"not known":            {stats.Optional{}, 0, 0, false},
		"no number":            {stats.Some(math.NaN()), 0, 0, false},
		"negative":             {stats.Some(-1), 0, 0, false},
	} {
		factor, classes, ok := limits.SmallestAPF(c.ratio)
		if factor != c.factor || len(classes) != c.classes || ok != c.ok {
			t.Errorf("%s: %v, %v, %v; want %v, %d classes, %v", name, factor, classes, ok, c.factor, c.classes, c.ok)
		}
		for _, r := range classes {
			if c.ratio.Value > r.ProtectionFactor*1.0001 || r.Type == "" || r.Facepiece == "" || r.Status != "seen" {
				t.Errorf("%s: %+v", name, r)
			}
		}
	}
	_, classes, _ := limits.SmallestAPF(stats.Some(500))
	hoods := 0
	for _, r := range classes {
		if r.NeedsEvidence != (r.Facepiece == "helmet or hood") {
			t.Errorf("%+v", r)
		}
		if r.NeedsEvidence {
			hoods++
		}
	}
	if hoods != 2 {
		t.Errorf("%d hoods with evidence; the table has 2", hoods)
	}
	if _, half, _ := limits.SmallestAPF(stats.Some(10)); half[0].Note != "filtering facepieces count as half masks" {
		t.Errorf("%+v", half[0])
	}
}
