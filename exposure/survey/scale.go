package survey

import (
	"strings"

	"golang.org/x/text/unicode/norm"

	"airtally/volume"
)

// scale turns a number from one unit into another: x·factor + offset.
type scale struct{ factor, offset float64 }

var same = scale{factor: 1}

func (s scale) apply(x float64) float64 {
	if s == same {
		return x
	}
	return float64(x*s.factor) + s.offset
}

// spellings says for each unit of a column which other units are understood,
// written as simplifyUnit leaves them, and how they convert.
var spellings = map[string]map[string]scale{
	"L": {
		"l": same, "litre": same, "litres": same, "liter": same, "liters": same, "dm3": same,
		"ml": {1e-3, 0}, "cc": {1e-3, 0}, "cm3": {1e-3, 0}, "m3": {1e3, 0}, "cum": {1e3, 0},
	},
	"min": {
		"min": same, "mins": same, "minute": same, "minutes": same,
		"h": {60, 0}, "hr": {60, 0}, "hrs": {60, 0}, "hour": {60, 0}, "hours": {60, 0},
		"s": {1.0 / 60, 0}, "sec": {1.0 / 60, 0}, "seconds": {1.0 / 60, 0},
	},
	"°C": {
		"c": same, "degc": same, "celsius": same,
		"f": {5.0 / 9, -160.0 / 9}, "degf": {5.0 / 9, -160.0 / 9}, "k": {1, -273.15},
	},
	"kPa": {
		"kpa": same, "pa": {1e-3, 0}, "hpa": {0.1, 0}, "mbar": {0.1, 0}, "bar": {100, 0}, "atm": {101.325, 0},
		// 760 mmHg are 101.325 kPa; an inch is 25.4 mm.
		"mmhg": {101.325 / 760, 0}, "torr": {101.325 / 760, 0}, "inhg": {25.4 * 101.325 / 760, 0},
	},
	"mm²":      {"mm2": same, "sqmm": same, "cm2": {100, 0}, "sqcm": {100, 0}},
	"%":        {"%": same, "pct": same, "percent": same, "fraction": {100, 0}},
	"fraction": {"fraction": same, "%": {0.01, 0}, "pct": {0.01, 0}, "percent": {0.01, 0}},
	"days":     {"days": same, "day": same, "d": same, "weeks": {7, 0}},
	"months":   {"months": same, "month": same, "years": {12, 0}, "year": {12, 0}},
	"g/mol":    {"g/mol": same, "da": same},
	"L/mol":    {"l/mol": same},
}

// simplifyUnit folds the spellings of a unit: case, spaces, the three ways to
// write micro, raised digits, the degree sign, and "per".
func simplifyUnit(text string) string {
	text = strings.ToLower(norm.NFKC.String(strings.ReplaceAll(text, "°", "")))
	text = strings.ReplaceAll(text, " per ", "/")
	return strings.NewReplacer(" ", "", "μ", "u").Replace(text)
}

// converting returns how numbers in the unit from become numbers in the unit
// to of a column.
func converting(from, to string) (scale, bool) {
	if to == "L/min" {
		perUnit, ok := volume.ParseFlowUnit(simplifyUnit(from))
		return scale{factor: perUnit}, ok
	}
	s, ok := spellings[to][simplifyUnit(from)]
	return s, ok
}
