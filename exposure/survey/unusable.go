package survey

// UnusableError says why an input cannot be read as a survey at all. Several
// come joined, so that all faults of an input are mended in one go.
type UnusableError struct {
	Path   string
	What   string
	Remedy string
}

func (e *UnusableError) Error() string { return e.Path + ": " + e.What + "; " + e.Remedy }
