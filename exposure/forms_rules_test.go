package exposure_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A limit meets only its own analyte, form and expression, whatever list of
// the library it is on.
func TestNoLimitMeetsAnotherSubstance(t *testing.T) {
	const all = "-- survey --\nitem,value\nauthorities,\"OSHA, NIOSH, EU, Cal/OSHA, UK HSE\"\n-- limits --\n"
	lab := func(rows string) string {
		return "-- lab --\nsample,analyte,cas,form,result,unit,reporting_limit\n" + rows
	}
	met := func(tables ...string) (analytes []string) {
		r := reduce(t, append([]string{plain, all}, tables...)...)
		for i := range r.Comparisons {
			analytes = append(analytes, r.Comparisons[i].Limit.Analyte)
		}
		slices.Sort(analytes)
		return slices.Compact(analytes)
	}

	for _, analyte := range met(lab("S1,Chromium (VI),18540-29-9,,5,ug,0.1\n")) {
		assert.Contains(t, analyte, "(VI)", "hexavalent chromium met a limit of another form")
	}
	total := met(lab("S1,Chromium,7440-47-3,,5,ug,0.1\n"))
	assert.NotEmpty(t, total)
	for _, analyte := range total {
		assert.NotContains(t, analyte, "(VI)", "total chromium met a limit for hexavalent")
	}
	assert.Empty(t, met(lab("S1,Iron,7439-89-6,,500,ug,1\n")), "iron met a limit of its oxide")
	assert.Equal(t, []string{"Iron oxide fume"},
		met(lab("S1,Iron,7439-89-6,,500,ug,1\n"), "-- derived --\nderived,analyte,factor\nIron oxide fume,Iron,1.4297\n"))
	assert.Empty(t, met(lab("S1,Chlorine,,respirable,5,ug,0.1\n")), "a gas's limit met a size fraction")
	assert.Empty(t, met(lab("S1,Chloride,,,5,ug,0.1\n")), "chloride is not chlorine")

	dust := met(lab("S1,Particulates not otherwise regulated,,respirable,500,ug,1\n"))
	assert.NotEmpty(t, dust)
	r := reduce(t, plain, all, lab("S1,Particulates not otherwise regulated,,respirable,500,ug,1\n"))
	for i := range r.Comparisons {
		assert.Equal(t, "respirable", r.Comparisons[i].Limit.Form)
	}
}

// A list that gives a carcinogen no number never lets it pass.
func TestNoNumberIsNeverAPass(t *testing.T) {
	r := reduce(t, plain, "-- survey --\nitem,value\nauthorities,NIOSH\n-- limits --\n-- lab --\nsample,analyte,result,unit,reporting_limit\nS1,Welding fumes,500,ug,1\n")
	assert.Empty(t, r.Comparisons)
	r.check(fact{"finding no-numeric-limit message", has("never a pass")})
}
