package limits

import (
	"math"

	"airtally/stats"
)

// LeadLimit returns the permissible exposure limit for lead of a worker
// exposed for the given hours in a day, in µg/m³: 400/hours over 8 hours, 50
// at or under. The action level is not reduced.
//
// Source: 29 CFR 1910.1025(c)(2) and 1926.62(c)(2).
func LeadLimit(hours float64) float64 {
	if hours <= 8 {
		return 50
	}
	return 400 / hours
}

// AcceptableCeiling is a ceiling of Table Z-2 with the peak allowed above it.
type AcceptableCeiling struct {
	Ceiling     float64
	Peak        float64 // 0 where the table allows none
	PeakMinutes float64 // in the table's period for the substance
}

// Allows reports whether a concentration lasting the given minutes above the
// ceiling is within it: over the ceiling only up to the peak, and only for the
// peak's minutes. The 8-hour average must hold besides.
//
// Source: 29 CFR 1910.1000(b)(2) and (3).
func (a AcceptableCeiling) Allows(concentration, minutesAboveCeiling float64) bool {
	if concentration <= a.Ceiling {
		return true
	}
	return concentration <= a.Peak && minutesAboveCeiling <= a.PeakMinutes
}

// QuartzRespirable returns the mass limit of Table Z-3 for respirable dust
// with the given percentage of quartz, in mg/m³: 10/(% SiO₂ + 2). Cristobalite
// and tridymite have half of it. It holds only where 1910.1053 does not.
//
// Source: 29 CFR 1910.1000 Table Z-3.
func QuartzRespirable(percent float64) MgPerM3 { return MgPerM3(10 / (percent + 2)) }

// QuartzTotal returns the mass limit of Table Z-3 for total dust with the
// given percentage of quartz, in mg/m³: 30/(% SiO₂ + 2).
//
// Source: 29 CFR 1910.1000 Table Z-3 (2015 edition).
func QuartzTotal(percent float64) MgPerM3 { return MgPerM3(30 / (percent + 2)) }

// BriefScalaDaily returns the factor on an 8-hour limit for a shift of the
// given hours, between 0 and 1: (8/h)·(24 − h)/16. It never raises a limit
// and is not for ceilings. Compare the reduced limit with the mean over the
// shift itself.
//
// Source: Brief & Scala 1975, as printed in secondary texts.
func BriefScalaDaily(hours float64) float64 { return within01(8 / hours * (24 - hours) / 16) }

// BriefScalaWeekly returns the factor for a week of the given hours, between
// 0 and 1: (40/h)·(168 − h)/128.
//
// Source: Brief & Scala 1975, from memory.
func BriefScalaWeekly(hours float64) float64 { return within01(40 / hours * (168 - hours) / 128) }

func within01(x float64) float64 { return min(1, max(0, x)) }

// Accuracy returns the accuracy of a method with the given bias and precision
// (relative standard deviation), as a fraction within which 95 % of its
// results fall:
//
//	|B| + 1.645·S where |B| > S/1.645, else 1.960·√(B² + S²)
//
// Source: NMAM; formula from memory, two printed values confirm it.
func Accuracy(bias, precision float64) float64 {
	bias = math.Abs(bias)
	if bias > precision/1.645 {
		return bias + 1.645*precision
	}
	return 1.960 * math.Hypot(bias, precision)
}

// OverallError returns |bias| + 1.96·CV, as a fraction.
//
// Source: 29 CFR 1910.1027 Appendix E, 4.1.2.
func OverallError(bias, cv float64) float64 { return math.Abs(bias) + 1.96*cv }

// DetectionLimit returns k·sd/m: sd is the standard deviation of the blank's
// readings, slope the calibration's; k is 3 for detection, 10 for quantitation.
//
// Source: 29 CFR 1910.1027 Appendix E, 4.1.3.
func DetectionLimit(k, sd, slope float64) float64 { return k * sd / slope }

// MaximumUse returns the highest concentration in which a respirator of the
// assigned protection factor may be used against a limit, in the limit's
// unit; never over ceiling, the lower of what is immediately dangerous and
// what its cartridge stands.
//
// Source: 29 CFR 1910.134(d)(3)(i)(A) and (B).
func MaximumUse(protectionFactor, limit float64, ceiling stats.Optional) float64 {
	return min(protectionFactor*limit, ceiling.Or(math.Inf(1)))
}
