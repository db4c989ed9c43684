package limits

import (
	"math"
	"slices"
)

// elementNames are the English names of the elements whose weights are known.
var elementNames = map[string]string{
	"hydrogen": "H", "lithium": "Li", "beryllium": "Be", "boron": "B", "carbon": "C", "nitrogen": "N", "oxygen": "O", "fluorine": "F",
	"sodium": "Na", "magnesium": "Mg", "aluminum": "Al", "silicon": "Si", "phosphorus": "P", "sulfur": "S", "chlorine": "Cl",
	"potassium": "K", "calcium": "Ca", "titanium": "Ti", "vanadium": "V", "chromium": "Cr", "manganese": "Mn", "iron": "Fe",
	"cobalt": "Co", "nickel": "Ni", "copper": "Cu", "zinc": "Zn", "arsenic": "As", "selenium": "Se", "bromine": "Br",
	"strontium": "Sr", "yttrium": "Y", "zirconium": "Zr", "molybdenum": "Mo", "rhodium": "Rh", "silver": "Ag", "cadmium": "Cd",
	"indium": "In", "tin": "Sn", "antimony": "Sb", "tellurium": "Te", "iodine": "I", "barium": "Ba", "hafnium": "Hf",
	"tantalum": "Ta", "tungsten": "W", "osmium": "Os", "platinum": "Pt", "mercury": "Hg", "thallium": "Tl", "lead": "Pb",
	"bismuth": "Bi", "uranium": "U",
}

// Element returns the symbol of the element that a name or a symbol is, "" for
// any other name. Symbols are taken as written: "Co" is cobalt, "CO" is not.
func Element(name string) string {
	if _, known := atomicWeights[name]; known {
		return name
	}
	return elementNames[nameKey(name)]
}

// Compound is a substance as which a limit is expressed, and what the mass of
// an element in it is multiplied by.
type Compound struct {
	Substance, Formula string
	Factor             float64
}

// CompoundOf returns the compound of an element that a limit is for: by what it
// is expressed as, else by a formula among its names that its molecular weight
// bears out. It is false for a limit on the element itself.
func CompoundOf(l *Limit, element string) (Compound, bool) {
	formulas := []string{l.As}
	if l.As == "" && l.MolecularWeight.Known {
		formulas = append(slices.Clone(l.Synonyms), l.Analyte)
	}
	for _, formula := range formulas {
		factor, err := ElementFactor(element, formula)
		if err != nil || factor < 1+1e-6 {
			continue
		}
		if mass, _ := MolarMass(formula); l.As != "" || math.Abs(mass-l.MolecularWeight.Value) < 0.05 {
			return Compound{l.Analyte, formula, factor}, true
		}
	}
	return Compound{}, false
}

// CompoundsOf returns the compounds of an element among substances of the
// library, each formula once.
func CompoundsOf(element string, substances []string) []Compound {
	var out []Compound
	for i := range Embedded().entries {
		e := &Embedded().entries[i]
		if !slices.Contains(substances, e.Analyte) {
			continue
		}
		c, is := CompoundOf(&e.Limit, element)
		if is && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}
