package limits

// Outcome is what a comparison supports.
type Outcome string

const (
	Below     Outcome = "below"
	Exceeds   Outcome = "above"
	Undecided Outcome = "undecided"
)
