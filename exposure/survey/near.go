package survey

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"airtally/limits"
)

// simplify reduces a name to its letters and digits in lower case, so that
// case, spaces, hyphens and underscores make no difference.
func simplify(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, norm.NFKC.String(name))
}

// nearest returns the candidate most like name, "" where none is alike. It
// only ever serves a suggestion: names a letter apart can be other things.
func nearest(name string, candidates []string) string {
	name = simplify(name)
	best, bestDistance := "", 1+len(name)/3
	if name == "" || len(name) > 64 {
		return ""
	}
	for _, c := range candidates {
		if d := limits.NameDistance(name, simplify(c)); d < bestDistance {
			best, bestDistance = c, d
		}
	}
	return best
}

// didYouMean is the end of a message that suggests a name, "" where none is
// near.
func didYouMean(name string, candidates []string) string {
	if near := nearest(name, candidates); near != "" {
		return "; the nearest known one is " + near
	}
	return ""
}
