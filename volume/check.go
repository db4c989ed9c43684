package volume

import "math"

// Check is one flow check of one leg: its readings as actual flow, at least
// one, and the accuracy of the meter.
type Check struct {
	Readings    []LitresPerMinute
	AccuracyPct float64 // of the reading; 0 where the certificate states none
}

// Flow returns the mean of the readings.
func (c Check) Flow() LitresPerMinute {
	sum := 0.0
	for _, q := range c.Readings {
		sum += float64(q)
	}
	return LitresPerMinute(sum / float64(len(c.Readings)))
}

// sd returns the standard deviation of the readings, with n - 1; 0 for one.
func (c Check) sd() float64 {
	n := len(c.Readings)
	if n < 2 {
		return 0
	}
	mean, sum := float64(c.Flow()), 0.0
	for _, q := range c.Readings {
		d := float64(q) - mean
		sum += float64(d * d)
	}
	return math.Sqrt(sum / float64(n-1))
}

// CVPct returns the spread of the readings as their coefficient of variation
// in %. One reading has none: it returns 0.
func (c Check) CVPct() float64 { return 100 * c.sd() / float64(c.Flow()) }

// varianceOfMean returns (s/√n)² of the readings.
func (c Check) varianceOfMean() float64 {
	s := c.sd()
	return s * s / float64(len(c.Readings))
}

// Scaled returns the check with every reading multiplied by k: what
// FromReference and FromRotameter give.
func (c Check) Scaled(k float64) Check {
	scaled := make([]LitresPerMinute, len(c.Readings))
	for i, q := range c.Readings {
		scaled[i] = LitresPerMinute(float64(q) * k)
	}
	return Check{Readings: scaled, AccuracyPct: c.AccuracyPct}
}

// Conditions are the state of the air.
type Conditions struct {
	TemperatureC float64
	PressureKPa  float64
}

func (c Conditions) kelvin() float64 { return c.TemperatureC + 273.15 }

// FromReference returns what a mass-flow meter's reading, stated at reference
// conditions, is multiplied by to give actual flow (ideal gas law):
//
//	Q = Qref · (T/Tref) · (Pref/P)
func FromReference(reference, actual Conditions) float64 {
	return actual.kelvin() / reference.kelvin() * reference.PressureKPa / actual.PressureKPa
}

// FromRotameter returns what a rotameter's reading is multiplied by to give
// actual flow:
//
//	Q = Qind · √(Pcal·T / (P·Tcal))
//
// Source: NIOSH Manual of Analytical Methods, chapter D, on pumps that
// indicate by rotameter. It does not apply to meters that read actual volume.
func FromRotameter(calibration, actual Conditions) float64 {
	return math.Sqrt(calibration.PressureKPa * actual.kelvin() / (actual.PressureKPa * calibration.kelvin()))
}
