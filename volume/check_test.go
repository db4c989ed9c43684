package volume_test

import (
	"math"
	"testing"

	"airtally/volume"
)

func TestReadings(t *testing.T) {
	c := volume.Check{Readings: []lpm{1.9, 2.0, 2.1}, AccuracyPct: 1}
	if !near(float64(c.Flow()), 2) || !near(c.CVPct(), 5) { // s = 0.1 with n - 1
		t.Errorf("flow %v, CV %v %%; want 2, 5", c.Flow(), c.CVPct())
	}
	one := volume.Check{Readings: []lpm{2}}
	if one.CVPct() != 0 || one.Flow() != 2 {
		t.Errorf("one reading: flow %v, CV %v; want 2, 0", one.Flow(), one.CVPct())
	}
	scaled := c.Scaled(1.5)
	if !near(float64(scaled.Flow()), 3) || !near(scaled.CVPct(), 5) || scaled.AccuracyPct != 1 {
		t.Errorf("scaled: flow %v, CV %v, accuracy %v; want 3, 5, 1", scaled.Flow(), scaled.CVPct(), scaled.AccuracyPct)
	}
	if c.Readings[0] != 1.9 {
		t.Error("scaling must leave the check it comes from")
	}
}

func TestConditions(t *testing.T) {
	normal := volume.Conditions{TemperatureC: 25, PressureKPa: 101.325}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"the same air needs no correction: mass", volume.FromReference(normal, normal), 1},
		{"the same air needs no correction: rotameter", volume.FromRotameter(normal, normal), 1},
		// ideal gas law, 20 °C and 101.325 kPa to 35 °C and 90 kPa: thinner air, more of it
		{"mass", volume.FromReference(volume.Conditions{TemperatureC: 20, PressureKPa: 101.325}, volume.Conditions{TemperatureC: 35, PressureKPa: 90}),
			308.15 / 293.15 * 101.325 / 90},
		// NIOSH Manual of Analytical Methods, chapter D: Q = Qind·√(Pcal·T/(P·Tcal))
		{"rotameter", volume.FromRotameter(volume.Conditions{TemperatureC: 20, PressureKPa: 101.325}, volume.Conditions{TemperatureC: 35, PressureKPa: 90}),
			math.Sqrt(101.325 * 308.15 / (90 * 293.15))},
	} {
		if !near(c.got, c.want) {
			t.Errorf("%s: factor %.12g, want %.12g", c.name, c.got, c.want)
		}
	}
}

// A sampler maker's manual, example 4: to draw 9.74 L/min a rotameter is set to
// 9.66. The conditions it prints as of calibration are read as those of the
// air, which alone agrees with the direction of the NIOSH formula.
func TestRotameterExample(t *testing.T) {
	const kPaPerMmHg = 101.325 / 760
	certificate := volume.Conditions{TemperatureC: 292.18 - 273.15, PressureKPa: 765 * kPaPerMmHg}
	air := volume.Conditions{TemperatureC: 294.93 - 273.15, PressureKPa: 760 * kPaPerMmHg}
	if reading := 9.74 / volume.FromRotameter(certificate, air); math.Abs(reading-9.66) > 0.005 {
		t.Errorf("reading %.4f L/min, want 9.66", reading)
	}
}

func TestFlowUnits(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64 // 0: no flow unit
	}{
		{"L/min", 1}, {"l/min", 1}, {"LPM", 1}, {"L / min", 1}, {"L·min⁻¹", 1},
		{"mL/min", 0.001}, {"ml/min", 0.001}, {"cc/min", 0.001}, {"cm³/min", 0.001},
		{"m3/h", 0}, {"L", 0}, {"", 0}, {"L/s", 0},
	} {
		perUnit, ok := volume.ParseFlowUnit(c.text)
		if ok != (c.want > 0) || perUnit != c.want {
			t.Errorf("%q: %v %v, want %v", c.text, perUnit, ok, c.want)
		}
	}
}
