package limits

import (
	"strings"

	"golang.org/x/text/unicode/norm"
)

// spellings are the units of airborne concentration as ParseUnit folds them.
// 1 µg/L is 1 mg/m³.
var spellings = map[string]Unit{
	"g/m3":  {"g/m3", Mass, 1e3},
	"mg/m3": MilligramsPerM3,
	"ug/m3": MicrogramsPerM3,
	"ng/m3": NanogramsPerM3,
	"mg/l":  {"mg/L", Mass, 1e3},
	"ug/l":  MilligramsPerM3,
	"ng/l":  MicrogramsPerM3,
	"ppm":   PartsPerMillion,
	"ppb":   PartsPerBillion,
	"f/cc":  FibresPerCm3,
}

// folding brings the words of a unit without spaces to the letters of
// spellings. At one place the earlier of two matching words is taken, so
// longer words come before those they contain.
var folding = strings.NewReplacer(
	"μ", "u", "mcg", "ug", "^", "", "·", "", "⋅", "",
	"micrograms", "ug", "microgram", "ug", "milligrams", "mg", "milligram", "mg", "nanograms", "ng", "nanogram", "ng",
	"cubicmetres", "m3", "cubicmetre", "m3", "cubicmeters", "m3", "cubicmeter", "m3", "cum", "m3",
	"cubiccentimetre", "cc", "cubiccentimeter", "cc",
	"fibres", "f", "fibers", "f", "fibre", "f", "fiber", "f",
	"litres", "l", "litre", "l", "liters", "l", "liter", "l",
	"ppmv", "ppm", "ppbv", "ppb",
	"cm-3", "/cc", "m-3", "/m3", "ml-1", "/cc", "l-1", "/l",
	"cm3", "cc", "ml", "cc",
	"per", "/",
)

// ParseUnit returns the unit of airborne concentration that a text names, in
// any usual spelling: mg/m³, mg per m3, µg/m3, mcg/m3, ug/L, ppmv, fibres/cm3.
// The unit's name is the one it is printed under.
func ParseUnit(text string) (Unit, bool) {
	text = strings.ReplaceAll(strings.ToLower(norm.NFKC.String(text)), "−", "-")
	u, ok := spellings[folding.Replace(strings.Join(strings.Fields(text), ""))]
	return u, ok
}
