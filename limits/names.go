package limits

import (
	"strings"
	"unicode"
)

// spelling writes alike what lists and laboratories write differently: Greek
// letters by name, raised and lowered digits as digits, British and American
// spellings as one.
var spelling = strings.NewReplacer(
	"α", "alpha", "β", "beta", "γ", "gamma", "δ", "delta", "ε", "epsilon", "ω", "omega",
	"⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4", "⁵", "5", "⁶", "6", "⁷", "7", "⁸", "8", "⁹", "9",
	"₀", "0", "₁", "1", "₂", "2", "₃", "3", "₄", "4", "₅", "5", "₆", "6", "₇", "7", "₈", "8", "₉", "9",
	"sulph", "sulf", "aluminium", "aluminum", "fibre", "fiber",
)

// nameKey returns what two spellings of one name share: its letters and
// digits, in lower case.
func nameKey(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, spelling.Replace(strings.ToLower(name)))
}

// splitAs parts a name from what it is expressed as: "Iron oxide (as Fe)",
// "Iron oxide, as Fe" and "Iron oxide as Fe" give "Iron oxide" and "fe". A
// valency is not part of it: "as Cr(VI)" is as Cr.
func splitAs(name string) (base, as string) {
	if before, after, ok := cutFold(name, "(as "); ok {
		inner, rest, closed := strings.Cut(after, ")")
		if closed {
			inner, _, _ = strings.Cut(inner, "(")
			return strings.TrimSpace(before) + strings.TrimPrefix(rest, ")"), nameKey(inner)
		}
	}
	if before, after, ok := cutFold(name, " as "); ok {
		formula, _, _ := strings.Cut(after, "(")
		if _, err := countAtoms(strings.TrimSpace(formula)); err == nil {
			return strings.TrimRight(before, " ,"), nameKey(formula)
		}
	}
	return name, ""
}

// cutFold cuts s around the last sep, a lower-case text, without regard to the
// case of ASCII letters.
func cutFold(s, sep string) (before, after string, found bool) {
	for i := len(s) - len(sep); i >= 0; i-- {
		if strings.EqualFold(s[i:i+len(sep)], sep) {
			return s[:i], s[i+len(sep):], true
		}
	}
	return s, "", false
}

// canonicalCAS returns a CAS registry number as 108-88-3, also where it was
// written with leading zeros, spaces or no hyphens; "" where it is none.
func canonicalCAS(text string) string {
	digits := strings.Map(func(r rune) rune {
		if r == '-' || unicode.IsSpace(r) || r == '‐' || r == '‑' || r == '–' {
			return -1
		}
		return r
	}, text)
	digits = strings.TrimLeft(digits, "0")
	if len(digits) < 5 || len(digits) > 10 || strings.Trim(digits, "0123456789") != "" {
		return ""
	}
	n := len(digits)
	return digits[:n-3] + "-" + digits[n-3:n-1] + "-" + digits[n-1:]
}

// NameDistance returns how many letters must be inserted, dropped, changed or
// swapped with their neighbour to make a of b: the optimal string alignment.
func NameDistance(a, b string) int {
	s, t := []rune(a), []rune(b)
	twoBack, back, row := make([]int, len(t)+1), make([]int, len(t)+1), make([]int, len(t)+1)
	for j := range back {
		back[j] = j
	}
	for i := 1; i <= len(s); i++ {
		row[0] = i
		for j := 1; j <= len(t); j++ {
			change := 1
			if s[i-1] == t[j-1] {
				change = 0
			}
			row[j] = min(back[j]+1, row[j-1]+1, back[j-1]+change)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				row[j] = min(row[j], twoBack[j-2]+1)
			}
		}
		twoBack, back, row = back, row, twoBack
	}
	return back[len(t)]
}

// parts returns the texts between the semicolons of a cell.
func parts(cell string) []string {
	if cell == "" {
		return nil
	}
	out := make([]string, 0, 1+strings.Count(cell, ";"))
	for p := range strings.SplitSeq(cell, ";") {
		if p = strings.TrimSpace(p); p != "" {
			out = append(out, p)
		}
	}
	return out
}
