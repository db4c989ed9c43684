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

// Results called by an element never meet a limit on its compound, though the
// compound's CAS number stands beside them. 29 CFR 1910.1000 Table Z-1: iron
// oxide fume, 10 mg/m³ as Fe2O3 (1309-37-1).
func TestElementWithTheNumberOfItsCompound(t *testing.T) {
	with := func(authorities, lab, limits string) string {
		return "-- survey --\nitem,value\nauthorities," + authorities + "\n-- limits --\n" + limits + "\n-- lab --\nsample,analyte,cas,result,unit,reporting_limit\n" + lab
	}
	const iron, zinc = "S1,Iron,1309-37-1,228.5,ug,1\n", "S1,Zinc,7646-85-7,228.5,ug,1\n"
	const own = "analyte,authority,kind,value,unit,cas,as\n"
	run(t, []rule{
		{"iron with the number of its oxide", with("OSHA", iron, ""), []fact{
			{"comparison D Iron twa8 OSHA:TWA8 outcome", absent},
			{"finding element-for-compound severity", "check"}, {"finding element-for-compound subject", has("S1")},
			{"finding element-for-compound message", has("Iron oxide fume, Fe2O3")}, {"finding element-for-compound remedy", has("Iron oxide fume, Iron, 1.43")},
			{"finding no-limit code", absent},
		}},
		{"the oxide under its own name", with("OSHA", "S1,Iron oxide,1309-37-1,228.5,ug,1\n", ""), []fact{
			{"comparison D Iron_oxide twa8 OSHA:TWA8 value", 228.5 / 960}, {"finding element-for-compound code", absent},
		}},
		// 159.687/111.69
		{"and made from the iron", with("OSHA", "S1,Iron,7439-89-6,228.5,ug,1\n", "") + "-- derived --\nderived,analyte,factor\nIron oxide fume,Iron,1.4297\n", []fact{
			{"comparison D Iron_oxide_fume twa8 OSHA:TWA8 value", 1.4297 * 228.5 / 960}, {"finding element-for-compound code", absent},
		}},
		{"zinc with the number of its chloride", with("OSHA", zinc, ""), []fact{
			{"comparison D Zinc twa8 OSHA:TWA8 outcome", absent}, {"finding element-for-compound message", has("ZnCl2")},
		}},
		{"a user's limit as the oxide", with("House", iron, own+"Iron,House,TWA8,10,mg/m3,1309-37-1,Fe2O3"), []fact{
			{"comparison D Iron twa8 House:TWA8 outcome", absent}, {"finding limit-as-differs message", has("Fe2O3")},
		}},
		{"a user's limit on the element", with("House", iron, own+"Iron,House,TWA8,10,mg/m3,,"), []fact{
			{"comparison D Iron twa8 House:TWA8 value", 228.5 / 960},
		}},
		{"without a number, what would turn it into the compound", with("OSHA", "S1,Iron,,228.5,ug,1\n", ""), []fact{
			{"finding no-limit remedy", has("Iron oxide fume is as Fe2O3")}, {"finding no-limit remedy", has("1.43")},
		}},
	})
}
