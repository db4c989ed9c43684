package exposure_test

import "testing"

// The rules for fibres, parts per million, molecular weights and derived
// analytes.

func TestFibres(t *testing.T) {
	filter := `
-- media --
medium,target_flow_lpm,filter_area_mm2
FIL,2,385
-- limits --
analyte,authority,kind,value,unit
Fibres,House,TWA8,0.1,f/cc
`
	run(t, []rule{
		// 48 000 fibres / (1000 × 960 L) = 0.05 f/cc
		{"a count", filter + lab("", "96,ug,1", "S1,Fibres,48000,fibres,5000", "B1,Fibres,<5000,fibres,5000", "B2,Fibres,<5000,fibres,5000"), []fact{
			{"concentration S1 Fibres value", 0.05}, {"concentration S1 Fibres quantity", "fibre"}, {"concentration S1 Fibres mass", nil},
			{"exposure D Fibres twa8 value", 0.05}, {"comparison D Fibres twa8 TWA8 fraction", 0.5},
		}},
		// 100 fibres/mm² × 385 mm² = 38 500; /(1000 × 960)
		{"a density, by the filter's area", filter + lab("", "96,ug,1", "S1,Fibres,100,fibres/mm2,10", "B1,Fibres,<10,fibres/mm2,10", "B2,Fibres,<10,fibres/mm2,10"), []fact{
			{"concentration S1 Fibres value", 38500 / 960000.0},
		}},
		{"a non-detect density", filter + lab("", "96,ug,1", "S1,Fibres,<10,fibres/mm2,10", "B1,Fibres,<10,fibres/mm2,10", "B2,Fibres,<10,fibres/mm2,10"), []fact{
			{"concentration S1 Fibres low", 0}, {"concentration S1 Fibres value", 1925 / 960000.0}, {"concentration S1 Fibres high", 3850 / 960000.0},
		}},
		{"blanks come off before the area", filter + lab("", "96,ug,1", "S1,Fibres,100,fibres/mm2,10", "B1,Fibres,20,fibres/mm2,10", "B2,Fibres,<10,fibres/mm2,10"), []fact{
			{"concentration S1 Fibres value", 90 * 385 / 960000.0},
		}},
		{"a density without the area: stop", lab("", "96,ug,1", "S1,Fibres,100,fibres/mm2,10", "B1,Fibres,<10,fibres/mm2,10", "B2,Fibres,<10,fibres/mm2,10"), []fact{
			{"finding no-filter-area severity", "stop"}, {"finding no-filter-area subject", has("S1")}, {"exposure D Fibres twa8", absent},
		}},
	})
}

// vapour gives the worker 0.1 mg/m³ of a vapour, with limits and further
// columns of the case's own.
func vapour(limitColumns, limit string, rest ...string) string {
	text := "\n-- limits --\nanalyte,authority,kind,value,unit" + limitColumns + "\n" + limit + "\n"
	for _, r := range rest {
		text += r
	}
	return text
}

func TestPartsPerMillion(t *testing.T) {
	site := `
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop,temperature_c,pressure_kpa
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00,35,90
B1,blank,,,FIL,L1,,,,,,
B2,blank,,,FIL,L1,,,,,,
`
	run(t, []rule{
		{"24.45 L/mol at 25 °C and 760 mmHg", vapour(",molecular_weight", "Quillite,House,TWA8,0.05,ppm,80"), []fact{
			{"concentration S1 Quillite ppm", 0.1 * 24.45 / 80}, {"comparison D Quillite twa8 TWA8 value", 0.1 * 24.45 / 80},
			{"comparison D Quillite twa8 TWA8 fraction", 0.1 * 24.45 / 80 / 0.05},
		}},
		{"the survey's molar volume", setting("molar_volume", "24.46") + vapour(",molecular_weight", "Quillite,House,TWA8,0.05,ppm,80"), []fact{
			{"concentration S1 Quillite ppm", 0.1 * 24.46 / 80},
		}},
		{"ntp is the default, whatever the site", site + vapour(",molecular_weight", "Quillite,House,TWA8,0.05,ppm,80"), []fact{
			{"concentration S1 Quillite ppm", 0.1 * 24.45 / 80},
		}},
		// 24.45 × (308.15/298.15) × (101.325/90) L/mol at 35 °C and 90 kPa
		{"site: the site's temperature and pressure", setting("ppm_basis", "site") + site + vapour(",molecular_weight", "Quillite,House,TWA8,0.05,ppm,80"), []fact{
			{"concentration S1 Quillite ppm", 0.1 * 24.45 * 308.15 / 298.15 * 101.325 / 90 / 80},
			{"comparison D Quillite twa8 TWA8 value", 0.1 * 24.45 * 308.15 / 298.15 * 101.325 / 90 / 80},
		}},
		// Acetic acid, 29 CFR 1910.1000 Table Z-1: 10 ppm, 25 mg/m³; note b: ppm governs.
		// 24.9 mg/m³ × 24.45/60.05 = 10.138 ppm: over 10 ppm, though under 25 mg/m³.
		{"ppm governs where a limit prints both", "\n-- survey --\nitem,value\nauthorities,OSHA\n" + lab(",cas", "23904,ug,1,", "S1,Acetic acid,23904,ug,1,64-19-7"), []fact{
			{"comparison D Acetic_acid twa8 OSHA:TWA8 unit", "ppm"}, {"comparison D Acetic_acid twa8 OSHA:TWA8 limit", 10},
			{"comparison D Acetic_acid twa8 OSHA:TWA8 outcome", "above"},
		}},
	})
}

func TestMolecularWeight(t *testing.T) {
	const toluene = 92.14 // g/mol, IUPAC weights to two decimals
	named := func(analyte, cas string) string {
		return lab(",cas", "96,ug,1,", "S1,"+analyte+",96,ug,1,"+cas)
	}
	run(t, []rule{
		{"first the user's limit row", vapour(",cas,molecular_weight", "Toluene,House,TWA8,1,ppm,108-88-3,100") + named("Toluene", "108-88-3"), []fact{
			{"comparison D Toluene twa8 House:TWA8 value", 0.1 * 24.45 / 100},
		}},
		{"then the library by CAS number", vapour(",cas", "Solvent 7,House,TWA8,1,ppm,108-88-3") + named("Solvent 7", "108-88-3"), []fact{
			{"comparison D Solvent_7 twa8 House:TWA8 value", 0.1 * 24.45 / toluene},
		}},
		{"then the library by its exact name", vapour("", "Toluene,House,TWA8,1,ppm") + named("Toluene", ""), []fact{
			{"comparison D Toluene twa8 House:TWA8 value", 0.1 * 24.45 / toluene},
		}},
		{"a name like one in the library is no exact name: no comparison, stop", vapour("", "Toluenol,House,TWA8,1,ppm") + named("Toluenol", ""), []fact{
			{"comparison D Toluenol twa8 House:TWA8", absent}, {"finding no-molecular-weight severity", "stop"}, {"finding no-molecular-weight subject", has("Toluenol")},
			{"exposure D Toluenol twa8 value", 0.1},
		}},
		{"a derived analyte takes its own limit row's", derivedXylenes + `
-- limits --
analyte,authority,kind,value,unit,molecular_weight
Xylene mix,House,TWA8,1,ppm,110
`, []fact{{"comparison D Xylene_mix twa8 House:TWA8 value", 0.15 * 24.45 / 110}}},
		{"else its parts' common one", derivedXylenes + `
-- limits --
analyte,authority,kind,value,unit
Xylene mix,House,TWA8,1,ppm
`, []fact{{"comparison D Xylene_mix twa8 House:TWA8 value", 0.15 * 24.45 / 106.168}}}, // C8H10: 8 × 12.011 + 10 × 1.008
		{"none where its parts differ: no comparison, stop", `
-- derived --
derived,analyte,factor
Blend,Toluene,1
Blend,o-Xylene,1
-- limits --
analyte,authority,kind,value,unit
Blend,House,TWA8,1,ppm
` + lab(",cas", "96,ug,1,", "S1,Toluene,96,ug,1,108-88-3", "S1,o-Xylene,48,ug,1,95-47-6"), []fact{
			{"comparison D Blend twa8 House:TWA8", absent}, {"finding no-molecular-weight severity", "stop"},
		}},
	})
}

// derivedXylenes gives 96 and 48 µg of two isomers: 0.1 and 0.05 mg/m³.
var derivedXylenes = `
-- derived --
derived,analyte,factor
Xylene mix,o-Xylene,1
Xylene mix,m-Xylene,1
` + lab(",cas", "96,ug,1,", "S1,o-Xylene,96,ug,1,95-47-6", "S1,m-Xylene,48,ug,1,108-38-3")

func TestDerivedAnalytes(t *testing.T) {
	oxide := "\n-- derived --\nderived,analyte,factor\nOxide,Iron,1.43\nOxide,Marrite,2\n"
	run(t, []rule{
		{"the sum of factor times part", oxide + lab("", "96,ug,1", "S1,Iron,100,ug,1", "S1,Marrite,50,ug,1"), []fact{
			{"concentration S1 Oxide mass", 143 + 100}, {"concentration S1 Oxide value", 243 / 960.0}, {"exposure D Oxide twa8 value", 243 / 960.0},
		}},
		{"as intervals", oxide + lab("", "96,ug,1", "S1,Iron,100,ug,1", "S1,Marrite,<10,ug,10"), []fact{
			{"concentration S1 Oxide mass_low", 143}, {"concentration S1 Oxide mass", 143 + 2*5}, {"concentration S1 Oxide mass_high", 143 + 2*10},
		}},
		{"all parts non-detect", oxide + lab("", "96,ug,1", "S1,Iron,<10,ug,10", "S1,Marrite,<10,ug,10"), []fact{
			{"concentration S1 Oxide low", 0}, {"concentration S1 Oxide high", 34.3 / 960}, {"concentration S1 Oxide value", 17.15 / 960},
		}},
		{"a missing part: the rest is a lower bound", oxide + lab("", "96,ug,1", "S1,Iron,100,ug,1"), []fact{
			{"concentration S1 Oxide mass_low", 143}, {"concentration S1 Oxide mass_high", unbounded}, {"concentration S1 Oxide value", 143 / 960.0},
			{"finding derived-part-missing severity", "check"}, {"finding derived-part-missing subject", has("S1")}, {"finding derived-part-missing message", has("Marrite")},
		}},
		{"a missing part and a non-detect: nothing but a lower bound of 0", oxide + lab("", "96,ug,1", "S1,Iron,<10,ug,10"), []fact{
			{"concentration S1 Oxide mass_low", 0}, {"concentration S1 Oxide mass_high", unbounded},
		}},
		{"parts are of the derived analyte's form", `
-- media --
medium,target_flow_lpm,form
FIL,2,respirable
` + oxide + lab("", "96,ug,1", "S1,Iron,100,ug,1", "S1,Marrite,50,ug,1"), []fact{{"concentration S1 Oxide/respirable mass", 243}}},
		{"made of itself: stop", `
-- derived --
derived,analyte,factor
Oxide,Marrite,1
Marrite,Oxide,1
`, []fact{{"finding derived-circle severity", "stop"}, {"concentration S1 Quillite value", 0.1}}},
	})
}

func TestForm(t *testing.T) {
	run(t, []rule{
		{"the laboratory's wins over the medium's", "\n-- media --\nmedium,target_flow_lpm,form\nFIL,2,respirable\n" + lab(",form", "96,ug,1,inhalable"), []fact{
			{"concentration S1 Quillite/inhalable value", 0.1}, {"concentration S1 Quillite/respirable", absent},
		}},
		{"the medium's where the laboratory gives none", "\n-- media --\nmedium,target_flow_lpm,form\nFIL,2,respirable\n", []fact{
			{"concentration S1 Quillite/respirable value", 0.1},
		}},
		{"blank means total, in limits too", "", []fact{{"concentration S1 Quillite/total value", 0.1}, {"comparison D Quillite/total twa8 TWA8 fraction", 0.1}}},
		{"never guessed from a name or a method's text", "\n-- media --\nmedium,description,method,target_flow_lpm\nFIL,respirable cyclone,respirable dust,2\n" +
			lab("", "96,ug,1", "S1,Respirable dust,48,ug,1"), []fact{
			{"concentration S1 Quillite/total value", 0.1}, {"concentration S1 Respirable_dust/total value", 0.05}, {"concentration S1 Respirable_dust/respirable", absent},
		}},
		{"a limit meets only its own form", "\n-- limits --\nanalyte,authority,kind,value,unit,form\nQuillite,House,TWA8,1,mg/m3,respirable\n", []fact{
			{"comparison D Quillite twa8 TWA8", absent}, {"exposure D Quillite twa8 value", 0.1},
		}},
	})
}
