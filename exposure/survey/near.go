package survey

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
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
		if d := distance(name, simplify(c)); d < bestDistance {
			best, bestDistance = c, d
		}
	}
	return best
}

// distance counts the letters to insert, delete, replace or swap with their
// neighbour to make b of a (optimal string alignment).
func distance(a, b string) int {
	rows := [3][]int{make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		row, above, twoAbove := rows[i%3], rows[(i+2)%3], rows[(i+1)%3]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(above[j]+1, row[j-1]+1, above[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], twoAbove[j-2]+1)
			}
		}
	}
	return rows[len(a)%3][len(b)]
}

// didYouMean is the end of a message that suggests a name, "" where none is
// near.
func didYouMean(name string, candidates []string) string {
	if near := nearest(name, candidates); near != "" {
		return "; the nearest known one is " + near
	}
	return ""
}
