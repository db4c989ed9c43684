package survey

// Nearest returns the candidate most like a name, "" where none is alike. It
// only ever serves a suggestion: names a letter apart can be other things.
func Nearest(name string, candidates []string) string { return nearest(name, candidates) }

// ParseNumber reads a single number as a person writes it, "24.45" or "24,45".
func ParseNumber(text string) (float64, bool) {
	var e evidence
	e.gather(text)
	style := e.style()
	if style == (numberStyle{}) {
		style = spoken
	}
	v, f := parseNumber(text, style)
	return v, f == readable
}
