package finding

// TextsTogether returns the texts of findings of a code that are told together,
// "" where it has none.
func TextsTogether(c Code) string { return gatherings[c].said + gatherings[c].each }
