package limits

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
)

// atomicWeights are in g/mol.
//
// Source: IUPAC abridged standard atomic weights, from memory.
var atomicWeights = map[string]float64{
	"H": 1.008, "Li": 6.94, "Be": 9.0122, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "F": 18.998,
	"Na": 22.990, "Mg": 24.305, "Al": 26.982, "Si": 28.085, "P": 30.974, "S": 32.06, "Cl": 35.45,
	"K": 39.098, "Ca": 40.078, "Ti": 47.867, "V": 50.942, "Cr": 51.996, "Mn": 54.938, "Fe": 55.845,
	"Co": 58.933, "Ni": 58.693, "Cu": 63.546, "Zn": 65.38, "As": 74.922, "Se": 78.971, "Br": 79.904,
	"Sr": 87.62, "Y": 88.906, "Zr": 91.224, "Mo": 95.95, "Rh": 102.91, "Ag": 107.87, "Cd": 112.41,
	"In": 114.82, "Sn": 118.71, "Sb": 121.76, "Te": 127.60, "I": 126.90, "Ba": 137.33, "Hf": 178.49,
	"Ta": 180.95, "W": 183.84, "Os": 190.23, "Pt": 195.08, "Hg": 200.59, "Tl": 204.38, "Pb": 207.2,
	"Bi": 208.98, "U": 238.03,
}

// MolarMass returns the molar mass of a chemical formula such as "Fe2O3" or
// "Ni(CO)4", in g/mol.
func MolarMass(formula string) (float64, error) {
	atoms, err := countAtoms(formula)
	if err != nil {
		return 0, err
	}
	sum := 0.0
	for _, element := range slices.Sorted(maps.Keys(atoms)) {
		sum += float64(atomicWeights[element] * float64(atoms[element]))
	}
	return sum, nil
}

// ElementFactor returns what the mass of an element is multiplied by to give
// the mass of a compound that holds all of it:
//
//	M(compound) / (n · A(element))
//
// The factor rests on the compound assumed: iron is 1.287 as FeO, 1.382 as
// Fe3O4 and 1.430 as Fe2O3.
func ElementFactor(element, compound string) (float64, error) {
	atoms, err := countAtoms(compound)
	if err != nil {
		return 0, err
	}
	n := atoms[element]
	if n == 0 {
		return 0, fmt.Errorf("no %s in %s: name an element of the compound", element, compound)
	}
	mass, err := MolarMass(compound)
	return mass / (float64(n) * atomicWeights[element]), err
}

// countAtoms returns how often each element stands in a formula.
func countAtoms(formula string) (map[string]int, error) {
	open := []map[string]int{{}} // the formula, then each group not yet closed
	fail := func(why string) (map[string]int, error) {
		return nil, fmt.Errorf("formula %q: %s; expected element symbols with numbers, such as Fe2O3", formula, why)
	}
	for rest := formula; rest != ""; {
		symbol := elementSymbol(rest)
		last := len(open) - 1
		n, after, ok := leadingNumber(rest[len(symbol):])
		switch {
		case symbol == "(":
			open, after = append(open, map[string]int{}), rest[1:]
		case symbol == ")" && last > 0 && ok:
			for element, k := range open[last] {
				open[last-1][element] += k * n
			}
			open = open[:last]
		case atomicWeights[symbol] > 0 && ok:
			open[last][symbol] += n
		default:
			return fail(fmt.Sprintf("cannot read %q", rest))
		}
		rest = after
	}
	if len(open) > 1 {
		return fail("a ( is not closed")
	}
	if len(open[0]) == 0 {
		return fail("no element")
	}
	return open[0], nil
}

// elementSymbol returns the symbol that formula starts with: a letter and the
// small letters after it.
func elementSymbol(formula string) string {
	end := 1
	for end < len(formula) && formula[end] >= 'a' && formula[end] <= 'z' {
		end++
	}
	return formula[:end]
}

// leadingNumber cuts the number off the front of text; none counts as 1. It is
// not ok over 999 or under 1, which no formula needs.
func leadingNumber(text string) (n int, rest string, ok bool) {
	end := 0
	for end < len(text) && text[end] >= '0' && text[end] <= '9' {
		end++
	}
	if end == 0 {
		return 1, text, true
	}
	n, err := strconv.Atoi(text[:end])
	return n, text[end:], err == nil && n >= 1 && n <= 999
}
