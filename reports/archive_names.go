package reports

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// fileNames gives out names that any disk takes, each once: two that differ
// only in case are one file on many disks.
type fileNames struct{ taken map[string]bool }

// next returns a name like the text, with its ending; empty stands for a text
// that has nothing a name can have.
func (n *fileNames) next(text, empty string) string {
	if n.taken == nil {
		n.taken = map[string]bool{}
	}
	ending := plainName(filepath.Ext(text), "")
	if ending != "" {
		ending = "." + ending
	}
	stem := plainName(strings.TrimSuffix(text, filepath.Ext(text)), empty)
	name := stem + ending
	for i := 2; n.taken[folded(name)]; i++ {
		name = fmt.Sprintf("%s-%d%s", stem, i, ending)
	}
	n.taken[folded(name)] = true
	return name
}

// folded is one text for all names that some disk takes for the same.
func folded(name string) string { return norm.NFC.String(cases.Fold().String(name)) }

// longestName leaves room for an ending within the 255 bytes of most disks.
const longestName = 100

// devices are names that one system keeps for its devices, with any ending.
var devices = []string{"con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "com5", "com6", "com7", "com8", "com9",
	"lpt1", "lpt2", "lpt3", "lpt4", "lpt5", "lpt6", "lpt7", "lpt8", "lpt9"}

// plainName keeps letters, digits and - _ . of a text; other characters become
// one - each, and none of - . stands at an end.
func plainName(text, empty string) string {
	name := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.IsMark(r) || strings.ContainsRune("-_.", r) {
			return r
		}
		return '-'
	}, norm.NFC.String(strings.ToValidUTF8(text, "-")))
	for len(name) > longestName {
		_, last := utf8.DecodeLastRuneInString(name)
		name = name[:len(name)-last]
	}
	name = strings.Trim(name, "-.")
	first, _, _ := strings.Cut(strings.ToLower(name), ".")
	switch {
	case name == "":
		return empty
	case slices.Contains(devices, first):
		return "_" + name
	}
	return name
}
