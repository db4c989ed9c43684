package volume

// DriftPolicy says what a flow that drifted over the limit makes of a sample.
type DriftPolicy string

const (
	UseMean  DriftPolicy = "mean"  // the mean of pre and post stands
	UseLower DriftPolicy = "lower" // the lower flow, so the higher concentration
	UseVoid  DriftPolicy = "void"  // no value; bounds still shown
)

// Options are the tolerances of the flow checks.
type Options struct {
	DriftLimitPct      float64
	DriftPolicy        DriftPolicy
	TargetTolerancePct float64 // of media that state none
	VerifyTolerancePct float64 // a verified pre check further off is noted
}

// DefaultOptions returns the options of a survey that states none.
func DefaultOptions() Options {
	return Options{DriftLimitPct: 5, DriftPolicy: UseMean, TargetTolerancePct: 5, VerifyTolerancePct: 1}
}
