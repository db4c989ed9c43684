// Package exposure reduces a survey: from flow checks, run times and
// laboratory masses to volumes, concentrations, exposures of workers in
// shifts, and comparisons with limits. Any number can be asked for its
// Steps: how it was worked out from the cells of the survey.
package exposure

import (
	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
)

// Results is what a survey reduces to. Each slice is sorted by its key: the
// fields of the output up to the first number.
type Results struct {
	Settings       Settings
	Surveys        []*survey.Survey
	Findings       []finding.Finding
	Samples        []Sample
	Concentrations []Concentration
	Exposures      []Exposure
	Comparisons    []Comparison
	Mixtures       []MixtureResult

	reductions []*reduction   // one per survey, for workings
	judged     func() []Group // judges the groups once
}

// Sample is the air that one sample drew.
type Sample struct {
	Row           *survey.Sample // the row it comes from
	ID            string
	Kind          survey.Kind
	Worker, Group string
	Shift         string // "" for blanks, area samples and voids without one
	Train, Leg    string
	Medium        string
	Start, Stop   survey.Moment

	Minutes           stats.Optional
	FlowPre, FlowPost stats.Optional // L/min
	Flow              stats.Optional // L/min, that makes the volume
	DriftPct          stats.Optional
	TargetDevPct      stats.Optional
	Volume            stats.Optional // L
	VolumeLow         stats.Optional // L, under Volume only where the flow drifted
	VolumeHigh        stats.Optional // L
	UVolumeRel        stats.Optional // relative standard uncertainty, k = 1
	Void              bool           // by the survey or by drift_policy void; never enters an exposure

	leg     *legFlow   // how the flow was got, for workings
	leftOut *legFlow   // a flow in another unit, from which no volume is made
	number  int32      // place among the samples of its survey
	of      *reduction // of its survey
}

// Quantity is what a concentration is a concentration of.
type Quantity uint8

const (
	OfMass   Quantity = iota // mg/m³
	OfFibres                 // f/cc
)

func (q Quantity) String() string { return [...]string{"mass", "fibre"}[q] }

// Unit returns the base unit of concentrations of the quantity.
func (q Quantity) Unit() string { return [...]string{"mg/m3", "f/cc"}[q] }

// Substance is the key of every concentration, exposure and comparison: an
// analyte in one form.
type Substance struct {
	Analyte, Form string
	CAS           string         // "" where the laboratory gives none
	Weight        stats.Optional // g/mol, where a limit in ppm may apply

	rank   int             // place among the substances of its survey, by analyte and form
	limits []*limits.Limit // that it is compared with, the governing authority's first
	units  []unitCount     // that its results are in
}

// Concentration is the result of one analyte on one sample.
type Concentration struct {
	Sample    *Sample
	Substance *Substance
	Quantity  Quantity

	HasMass         bool           // false: fibres, or no number could be read
	Mass            stats.Interval // µg, corrected
	MassUncorrected float64        // µg, without blank correction
	Blank           stats.Optional // µg, mean of the matching field blanks

	HasAir bool           // false: no volume; blanks
	Air    stats.Interval // mg/m³ or f/cc
	Void   bool           // Air has bounds, but its Value is not to be used
	PPM    stats.Optional // parts per million of Air.Value
	URel   stats.Optional // relative standard uncertainty

	limit  stats.Optional // the reporting limit R, µg or fibres
	sae    stats.Optional // sampling and analytical error, fraction
	cv     stats.Optional // of the analysis or the method, fraction
	origin origin         // where the mass came from
}

// Censored reports whether the concentration, or the mass where there is no
// air volume, is known only between bounds.
func (c *Concentration) Censored() bool {
	if c.HasAir {
		return c.Air.Censored()
	}
	return c.Mass.Censored()
}

// Basis is the average that an exposure is.
type Basis string

const (
	OverShift Basis = "shift"  // mean over the shift
	Over8h    Basis = "twa8"   // dose / 480 min
	Over10h   Basis = "twa10"  // dose / 600 min
	Worst8h   Basis = "worst8" // worst contiguous 480 min of a longer shift
	Short     Basis = "short"  // one short-term sample
)

// WorkerShift is one worker in one shift, or in two shifts of one day.
type WorkerShift struct {
	Worker, Group, Shift string
	Minutes              float64
	Start                survey.Moment
	Policy               survey.Policy // that unsampled minutes take
	PolicyStated         bool          // by the shift itself, not only the survey's default

	turns []*turn    // that it is, or a day of several shifts is made of
	of    *reduction // of its survey
}

// Sampled is what was sampled of one substance in one worker-shift.
type Sampled struct {
	Substance  *Substance
	Quantity   Quantity
	SampledMin float64
	Coverage   stats.Optional // %, never over 100; missing for Short
	GapsCover  bool           // gaps rows cover all that was not sampled
	Samples    []string
}

// Exposure is what one worker met of one substance over one basis.
type Exposure struct {
	*WorkerShift
	*Sampled
	Basis  Basis
	Sample string         // of Short
	Start  survey.Moment  // of Short
	Value  stats.Interval // mg/m³ or f/cc
	IfZero stats.Interval // unsampled minutes as zero
	IfSame stats.Interval // unsampled minutes as the sampled mean

	average average            // how the value was got
	molar   *[3]stats.Interval // Value, IfZero, IfSame weighted by molar volume, where the site's air decides ppm
}

// Comparison is one exposure against one limit.
type Comparison struct {
	*Exposure
	Basis      Basis
	Sample     string // of Short: the sample, or contiguous ones joined by +
	Limit      *limits.Limit
	LimitValue float64        // in Limit.Unit; differs from Limit.Value only for lead over 8 hours
	Value      float64        // in Limit.Unit
	Fraction   stats.Interval // of the limit
	SAE        stats.Optional
	LCL, UCL   stats.Optional // fractions; UCL is missing where unbounded
	Outcome    limits.Outcome

	ifDecided bool // the row is there only because it decides
}

// IsDerived reports whether an amount was summed from others by a row of the
// survey, and not reported by a laboratory.
func (c *Concentration) IsDerived() bool { return c.origin.derived != nil }

// OfShiftSample reports whether a short-term limit is judged from a sample of the
// shift, for none was taken for the purpose.
func (k *Comparison) OfShiftSample() bool {
	return k.Basis == Short && k.Exposure != nil && len(k.average.doses) > 0 &&
		!k.average.doses[0].terms[0].conc.Sample.Row.Purpose.ShortTerm()
}

// MixtureResult is the additive index of one mixture for one worker-shift.
type MixtureResult struct {
	*WorkerShift
	Mixture   string
	Authority string
	Kind      limits.Kind
	Basis     Basis
	Sample    string
	Index     stats.Interval
	Outcome   limits.Outcome
	Parts     []*Comparison

	rivals []rival // for a part, of two forms
}
