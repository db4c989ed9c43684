// Package volume turns flow checks and run times into air volumes: the flow of
// one leg of one train, its drift, corrections to actual conditions, and the
// volume with its bounds and uncertainty. It imports nothing of the project.
package volume

import "strings"

// LitresPerMinute is a volume flow.
type LitresPerMinute float64

// Litres is an air volume at sampling conditions.
type Litres float64

// Minutes is a duration.
type Minutes float64

// Over returns the volume that flow q moves in t.
func (q LitresPerMinute) Over(t Minutes) Litres { return Litres(float64(q) * float64(t)) }

// ParseFlowUnit returns how many L/min one of the unit is, for the spellings
// of L/min and mL/min in use (also cc/min, l·min⁻¹); ok is false for others.
func ParseFlowUnit(text string) (perUnit float64, ok bool) {
	switch strings.ToLower(strings.Join(strings.Fields(strings.ReplaceAll(text, ".", "")), "")) {
	case "l/min", "lpm", "litres/min", "liters/min", "litre/min", "liter/min", "l/minute", "lmin-1", "l·min-1", "l·min⁻¹":
		return 1, true
	case "ml/min", "mlpm", "cc/min", "ccm", "cm3/min", "cm³/min", "ml/minute", "mlmin-1", "ml·min-1", "ml·min⁻¹":
		return 1e-3, true
	}
	return 0, false
}

// DeviceKind is how a flow meter reads.
type DeviceKind string

const (
	Volumetric    DeviceKind = "volumetric"     // actual flow
	MassFlow      DeviceKind = "mass"           // flow at reference conditions
	Rotameter     DeviceKind = "rotameter"      // a calibrator with certificate conditions
	PumpRotameter DeviceKind = "pump-rotameter" // the pump's own
)
