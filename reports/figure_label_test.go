package reports

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// Names that are alike but for their ends stay apart, in any script.
func TestLabelsOfFiguresStayApart(t *testing.T) {
	for _, c := range []struct {
		text string
		most float64
		want string
	}{
		{"T01-00 A", 9, "T01-00 A"},
		{"T01-00 A", 7, "T01…A"},
		{"T01-00 B", 7, "T01…B"},
		{"作業者七", 8, "作業者七"},
		{"作業者七", 7, "作…七"},
		{"W", 0.2, "W…"},
		{"", 0, ""},
	} {
		assert.Equal(t, c.want, shortened(c.text, c.most), "%q in %g", c.text, c.most)
	}
}

// A shortened label is valid text, no wider than it may be unless a single letter is.
func TestShortenedLabelsFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, most := rapid.String().Draw(t, "text"), rapid.Float64Range(0, 60).Draw(t, "most")
		got := shortened(s, most)
		assert.True(t, inked(got) <= most || len([]rune(got)) <= 2, "%q from %q in %g", got, s, most)
		assert.Equal(t, strings.ToValidUTF8(got, ""), got)
	})
}
