package limits

// Dimension is what a unit of airborne concentration measures.
type Dimension uint8

const (
	NoDimension Dimension = iota
	Mass                  // mass per volume; base unit mg/m³
	Molar                 // parts by volume; base unit ppm
	Fibre                 // fibres per volume; base unit f/cc
)

// Unit is a unit of airborne concentration.
type Unit struct {
	Name   string // as printed: "mg/m3", "ug/m3", "ppm", "f/cc"
	Dim    Dimension
	ToBase float64 // multiplies a value in this unit to the base unit of Dim
}

// The units of concentration that limits and laboratories use.
var (
	MilligramsPerM3 = Unit{"mg/m3", Mass, 1}
	MicrogramsPerM3 = Unit{"ug/m3", Mass, 1e-3}
	NanogramsPerM3  = Unit{"ng/m3", Mass, 1e-6}
	PartsPerMillion = Unit{"ppm", Molar, 1}
	PartsPerBillion = Unit{"ppb", Molar, 1e-3}
	FibresPerCm3    = Unit{"f/cc", Fibre, 1}
)

// Units are all of them, by their printed names.
var Units = []Unit{MilligramsPerM3, MicrogramsPerM3, NanogramsPerM3, PartsPerMillion, PartsPerBillion, FibresPerCm3}

// MgPerM3 is a mass concentration; 1 µg/L is 1 mg/m³.
type MgPerM3 float64

// PPM is a concentration in parts per million by volume.
type PPM float64

// FibresPerCC is a fibre count concentration.
type FibresPerCC float64

// PPM returns the concentration in parts per million of a gas of the given
// molecular weight in g/mol, where a mole fills molarVolume litres:
//
//	ppm = C · Vm / MW
//
// Source: 29 CFR 1910.1028 Appendix D, 7.; NMAM 4th edition, Appendix A.
func (c MgPerM3) PPM(molarVolume, weight float64) PPM {
	return PPM(float64(c) * molarVolume / weight)
}

// MgPerM3 returns the mass concentration of a gas; it undoes [MgPerM3.PPM].
func (p PPM) MgPerM3(molarVolume, weight float64) MgPerM3 {
	return MgPerM3(float64(p) * weight / molarVolume)
}

const (
	kelvinAtZero  = 273.15  // K at 0 °C
	standardPress = 101.325 // kPa of 760 mmHg
	standardTempC = 25.0    // °C at which limits in ppm are stated
)

// MolarVolume returns the litres that a mole of gas fills at tC degrees
// Celsius and pKPa kilopascals, from those it fills at 25 °C and 760 mmHg:
//
//	Vm = Vntp · (t + 273.15)/298.15 · 101.325/p
//
// Source: 29 CFR 1910.1045 Appendix D, 10.6, which rounds to 273 and 298 K.
func MolarVolume(tC, pKPa, molarVolumeNTP float64) float64 {
	return molarVolumeNTP * (tC + kelvinAtZero) / (standardTempC + kelvinAtZero) * standardPress / pKPa
}

// GasLawMolarVolume returns the litres that a mole of gas fills at tC degrees
// Celsius and pMmHg millimetres of mercury:
//
//	Vm = 62.36 · (t + 273.15)/P
//
// Source: NMAM 4th edition (1994), Appendix A, page A-1.
func GasLawMolarVolume(tC, pMmHg float64) float64 { return 62.36 * (tC + kelvinAtZero) / pMmHg }

// PPMAtSite returns the concentration in parts per million in air of tC
// degrees Celsius and pMmHg millimetres of mercury, with the constants of the
// regulation:
//
//	ppm = C · 24.45/MW · 760/P · (T + 273)/298
//
// Source: 29 CFR 1910.1045 Appendix D, 10.6.
func PPMAtSite(c MgPerM3, weight, tC, pMmHg float64) PPM {
	return PPM(float64(c) * 24.45 / weight * 760 / pMmHg * (tC + 273) / 298)
}
