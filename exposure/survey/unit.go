package survey

import (
	"strings"

	"airtally/limits"
)

// Quantity is what a laboratory's number measures.
type Quantity uint8

const (
	NoQuantity    Quantity = iota
	MassOnSample           // base unit µg
	FibreCount             // fibres on the filter
	FibreDensity           // fibres per mm² of filter
	Concentration          // of the air, by the laboratory's own volume
)

// LabUnit is the unit of a laboratory's result.
type LabUnit struct {
	Name     string // as read, tidied
	Quantity Quantity
	ToBase   float64     // to µg, fibres, fibres/mm², or the base unit of Air
	Air      limits.Unit // of a Concentration
}

// labUnits are the units of laboratories besides those of concentration, as
// words folds them.
var labUnits = map[string]LabUnit{
	"ng": {Name: "ng", Quantity: MassOnSample, ToBase: 1e-3},
	"ug": {Name: "ug", Quantity: MassOnSample, ToBase: 1},
	"mg": {Name: "mg", Quantity: MassOnSample, ToBase: 1e3},
	"g":  {Name: "g", Quantity: MassOnSample, ToBase: 1e6},
	"f":  {Name: "fibres", Quantity: FibreCount, ToBase: 1},

	"f/mm2": {Name: "fibres/mm2", Quantity: FibreDensity, ToBase: 1},
}

// words brings the words of a laboratory's unit to the letters of labUnits.
var words = strings.NewReplacer(
	"fibres", "f", "fibers", "f", "fibre", "f", "fiber", "f",
	"mcg", "ug", "micrograms", "ug", "milligrams", "mg", "nanograms", "ng", "total", "",
)

// carriers are what a mass or count may be said to be on: "ug/filter" is ug.
var carriers = []string{"/sample", "/filter", "/tube", "/cassette", "/sampler", "/media", "/section", "/badge", "/disc"}

// ParseLabUnit returns the unit of a laboratory's result that a text names: a
// mass (ng, ug, mg, g; also "ug/filter", "mg per sample"), fibres, fibres/mm2,
// or a concentration.
func ParseLabUnit(text string) (LabUnit, bool) {
	if air, ok := limits.ParseUnit(text); ok {
		return LabUnit{Name: air.Name, Quantity: Concentration, ToBase: air.ToBase, Air: air}, true
	}
	folded := words.Replace(simplifyUnit(text))
	for _, c := range carriers {
		folded = strings.TrimSuffix(folded, c)
	}
	u, ok := labUnits[folded]
	return u, ok
}
