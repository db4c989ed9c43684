package limits_test

import (
	"math"
	"testing"

	"airtally/limits"
)

func TestElement(t *testing.T) {
	for name, want := range map[string]string{
		"Iron": "Fe", "iron": "Fe", "Fe": "Fe", "Aluminium": "Al", "Co": "Co", "CO": "", "Iron oxide": "", "Iron (as Fe)": "", "": "",
	} {
		if got := limits.Element(name); got != want {
			t.Errorf("Element(%q) = %q, want %q", name, got, want)
		}
	}
}

// Atomic weights: IUPAC, abridged standard atomic weights 2021 (from memory):
// Fe 55.845, Zn 65.38, O 15.999. Fe2O3 / 2 Fe = 159.687 / 111.69; ZnO / Zn = 81.379 / 65.38.
func TestCompoundsOf(t *testing.T) {
	for _, c := range []struct {
		element, substance, formula string
		factor                      float64
	}{
		{"Fe", "Iron oxide fume", "Fe2O3", 1.42973},
		{"Zn", "Zinc oxide", "ZnO", 1.24471},
	} {
		got := limits.CompoundsOf(c.element, []string{c.substance})
		if len(got) != 1 || got[0].Formula != c.formula || math.Abs(got[0].Factor-c.factor) > 1e-4 {
			t.Errorf("%s in %s: %+v, want %s × %g", c.element, c.substance, got, c.formula, c.factor)
		}
	}
	if got := limits.CompoundsOf("Fe", []string{"Iron oxide dust and fume (as Fe)"}); got != nil {
		t.Errorf("a limit as Fe is for iron itself, not %+v", got)
	}
}
