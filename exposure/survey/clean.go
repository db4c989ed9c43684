package survey

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// visible returns what of a text can be seen: without spaces at its ends, with
// every kind of space as the plain one, letters composed with their accents,
// and without characters that take no room.
func visible(text string) string {
	text = strings.TrimSpace(text)
	if isASCII(text) {
		return text
	}
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == '\u00AD' || r == '\u034F' || unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Variation_Selector, r):
			return -1 // soft hyphens, marks of direction, joiners, byte order marks
		}
		return r
	}, norm.NFC.String(strings.ToValidUTF8(text, "\uFFFD"))))
}

// identifier returns a text as an identifier: what can be seen of it, with the
// strokes, quotation marks and full-width letters that look like plain ones as
// these, so that the same number typed by two programs is one.
func identifier(text string) string {
	text = visible(text)
	if isASCII(text) {
		return text
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r >= '\uFF01' && r <= '\uFF5E': // full-width forms of ! to ~
			return r - '\uFF01' + '!'
		case r >= '\u2010' && r <= '\u2015', r == '\u2212', r == '\uFE63':
			return '-'
		case r == '\u2018', r == '\u2019', r == '\u02BC':
			return '\''
		case r == '\u201C', r == '\u201D':
			return '"'
		case r == '\u00B5': // the micro sign is the Greek letter
			return '\u03BC'
		}
		return r
	}, text)
}

func isASCII(text string) bool {
	for i := range len(text) {
		if text[i] >= 0x80 {
			return false
		}
	}
	return true
}
