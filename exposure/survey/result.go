package survey

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// notFoundWords say that an analyte was not found, in place of a number or as
// a qualifier; written as letters alone in upper case.
var notFoundWords = map[string]bool{
	"ND": true, "NDL": true, "BDL": true, "BRL": true, "BLD": true, "BLQ": true, "BLOQ": true, "BQL": true,
	"RL": true, "LOD": true, "LOQ": true, "MRL": true, "U": true, "UJ": true,
	"NOTDETECTED": true, "NONDETECT": true, "NONEDETECTED": true, "BELOWLOD": true, "BELOWLOQ": true, "BELOWRL": true,
}

// reported is a laboratory's result as its cell reads.
type reported struct {
	kind       ResultKind
	value      float64
	qualifiers Qualifiers
	unit       string // written behind the number, "" where none is
}

// parseResult reads 1.29, <0.06, < .06, <0,06, >12, ND, <RL, ~0.4, 0.06 U and
// a number with its unit behind.
func parseResult(text string, style numberStyle) (reported, fault) {
	if plain(text) {
		v, f := parseNumber(text, style)
		return reported{value: v}, f
	}
	var r reported
	text = identifier(norm.NFKC.String(text))
	text, r.kind = cutComparison(text)
	if r.kind != MoreThan && !strings.ContainsAny(text, "0123456789") && notFoundWords[letters(text)] {
		return reported{kind: NotFound, qualifiers: U}, readable
	}
	if t, estimated := strings.CutPrefix(text, "~"); estimated {
		text, r.qualifiers = strings.TrimSpace(t), J
	}
	number, suffix := cutNumber(text)
	var f fault
	if r.value, f = parseNumber(number, style); f != readable {
		return reported{}, f
	}
	if suffix != "" {
		if _, isUnit := ParseLabUnit(suffix); isUnit && (suffix != strings.ToUpper(suffix) || strings.Contains(suffix, "/")) {
			r.unit = suffix
			return r, readable
		}
		q, ok := parseQualifiers(suffix)
		joined := !strings.HasSuffix(strings.TrimSuffix(text, suffix), " ")
		if !ok || joined && q.Has(Other) {
			return reported{}, unreadable // 1O and 1l are slips for 10 and 11
		}
		r.qualifiers |= q
	}
	return r, readable
}

// cutComparison cuts < or > off a result, in the ways laboratories write them.
func cutComparison(text string) (rest string, kind ResultKind) {
	for _, p := range []struct {
		prefix string
		kind   ResultKind
	}{{"<=", LessThan}, {"≤", LessThan}, {"<", LessThan}, {">=", MoreThan}, {"≥", MoreThan}, {">", MoreThan}} {
		if after, ok := strings.CutPrefix(text, p.prefix); ok {
			return strings.TrimSpace(after), p.kind
		}
	}
	return text, Number
}

// letters returns the letters of a text in upper case, without points, spaces
// and strokes.
func letters(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) {
			return unicode.ToUpper(r)
		}
		return -1
	}, text)
}

// cutNumber cuts what looks like a number off the front.
func cutNumber(text string) (number, rest string) {
	end := 0
	for i, r := range text {
		switch {
		case r >= '0' && r <= '9':
			end = i + 1
		case strings.ContainsRune(".,'’ +-−", r):
		case (r == 'e' || r == 'E') && end == i && exponentFollows(text[i+1:]):
		default:
			return text[:end], strings.TrimSpace(text[end:])
		}
	}
	return text[:end], strings.TrimSpace(text[end:])
}

func exponentFollows(text string) bool {
	text = strings.TrimLeft(text, "+-")
	return text != "" && text[0] >= '0' && text[0] <= '9'
}

// qualifierLetters are the letters that change how a result is read.
var qualifierLetters = map[rune]Qualifiers{'U': U, 'J': J, 'E': E, 'D': D, 'B': B}

// parseQualifiers reads qualifier letters, apart or joined: J, JB, "U,B", UJ.
// Letters that mean nothing here set Other. UJ is U. In a remark of whole
// words only letters that stand alone count. It is not ok where digits or
// other signs stand among the letters.
func parseQualifiers(text string) (q Qualifiers, ok bool) {
	if text == "" {
		return 0, true
	}
	words := strings.FieldsFunc(strings.ToUpper(text), func(r rune) bool { return strings.ContainsRune(" ,;/+&()", r) })
	isRemark := slices.ContainsFunc(words, func(w string) bool { return len(w) > 3 && !notFoundWords[letters(w)] })
	ok = true
	for _, word := range words {
		switch {
		case word == "<" || notFoundWords[letters(word)]:
			q |= U
		case isRemark && len(word) > 1:
			q |= Other
			ok = ok && letters(word) == word
		default:
			joined, known := joinedQualifiers(word)
			q |= joined
			ok = ok && known
		}
	}
	if q.Has(U) {
		q &^= J
	}
	return q, ok
}

func joinedQualifiers(word string) (q Qualifiers, ok bool) {
	ok = true
	for _, r := range word {
		if known := qualifierLetters[r]; known != 0 {
			q |= known
			continue
		}
		q |= Other
		ok = ok && (unicode.IsLetter(r) || r == '*')
	}
	return q, ok
}
