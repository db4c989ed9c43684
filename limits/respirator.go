package limits

import (
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"sync"

	"airtally/stats"
)

// RespiratorCaution stands beside every respirator that is named.
const RespiratorCaution = "Advice only. Concentrations are those outside the respirator: no protection factor is credited to the exposure. " +
	"An assigned factor holds only within a full respirator program (29 CFR 1910.134), up to that factor times the limit, never where air is " +
	"immediately dangerous to life or health, and only as far as the cartridge is fit for the substance. A standard for a single substance may allow fewer classes."

// NoRespirator is said where the upper bound of an exposure is not known.
const NoRespirator = "no class of respirator can be named: the exposure has no upper bound"

// RespiratorEvidence is said of the classes that [Respirator.NeedsEvidence]
// marks.
const RespiratorEvidence = "only with the manufacturer's evidence from tests that it reaches this factor; without it, 25"

// Respirator is a class of respirators with its assigned protection factor.
//
// Source: 29 CFR 1910.134 Table 1.
type Respirator struct {
	Type             string // how it supplies air
	Facepiece        string
	ProtectionFactor float64
	NeedsEvidence    bool // holds only with the manufacturer's test evidence
	Note             string
	Status           string
}

//go:embed respirator.csv
var respiratorText string

var respirators = sync.OnceValue(func() []Respirator {
	var table []Respirator
	err := eachRow(respiratorText, func(r row, _ string) error {
		factor, err := strconv.ParseFloat(r["protection_factor"], 64)
		if err != nil || !(factor > 1) {
			return fmt.Errorf("protection_factor %q", r["protection_factor"])
		}
		table = append(table, Respirator{
			Type:             r["type"],
			Facepiece:        r["facepiece"],
			ProtectionFactor: factor,
			NeedsEvidence:    r["evidence"] == "yes",
			Note:             r["note"],
			Status:           r["status"],
		})
		return nil
	})
	if err != nil {
		panic("limits: respirator.csv: " + err.Error())
	}
	return table
})

// HazardRatio returns the upper bound of an exposure as a multiple of a limit
// in the same unit. It is not known for an unbounded exposure, nor for a limit
// that is not a positive number.
func HazardRatio(upper, limit float64) stats.Optional {
	ratio := upper / limit
	if !(limit > 0) || !(upper >= 0) || math.IsInf(upper, 1) || math.IsInf(limit, 1) || math.IsInf(ratio, 1) {
		return stats.Optional{}
	}
	return stats.Some(ratio)
}

// SmallestAPF returns the smallest assigned protection factor that covers a
// hazard ratio, and all classes that have it, those that need evidence of their
// own marked. The factor is 1, without a class, for a ratio up to 1: the limit
// is kept without a respirator. It is false for a ratio that is not known and
// for one over every factor.
func SmallestAPF(ratio stats.Optional) (factor float64, classes []Respirator, ok bool) {
	if !ratio.Known || !(ratio.Value >= 0) {
		return 0, nil, false
	}
	if ratio.Value <= 1+equalWithin {
		return 1, nil, true
	}
	factor = math.Inf(1)
	for _, r := range respirators() {
		if !r.NeedsEvidence && ratio.Value <= r.ProtectionFactor*(1+equalWithin) {
			factor = min(factor, r.ProtectionFactor)
		}
	}
	if math.IsInf(factor, 1) {
		return 0, nil, false
	}
	for _, r := range respirators() {
		if r.ProtectionFactor == factor {
			classes = append(classes, r)
		}
	}
	return factor, classes, true
}
