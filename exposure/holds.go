package exposure

import (
	"slices"
	"strings"
)

// capture says what one kind of medium cannot give, by the words its row is
// described with.
type capture struct {
	words  []string // of which the description, or the medium's name, has one
	but    []string // and none of these: it holds something else besides
	never  []string // CAS numbers
	reason string
}

// elements are those of NIOSH Manual of Analytical Methods 7303 (2003), read
// from cellulose ester filters, and aromatics those of 1501 (2003), read from
// charcoal tubes. The lists were seen; their CAS numbers are from memory.
var (
	elements = []string{"7429-90-5", "7440-36-0", "7440-39-3", "7440-41-7", "7440-43-9", "7440-47-3", "7440-48-4", "7440-50-8",
		"7439-89-6", "7439-92-1", "7439-96-5", "7439-98-7", "7440-02-0", "7440-32-6", "7440-62-2", "7440-66-6"}
	aromatics = []string{"71-43-2", "108-88-3", "100-41-4", "95-47-6", "108-38-3", "106-42-3", "179601-23-1", "1330-20-7", "98-82-8",
		"98-51-1", "98-83-9", "100-42-5"}
)

var captures = []capture{
	{words: []string{"charcoal"}, but: []string{"filter", "cassette", "impregnated"}, never: elements,
		reason: "which a filter holds (NIOSH 7303) and charcoal does not"},
	{words: []string{"mce", "cellulose ester", "pvc", "polyvinyl"}, but: []string{"charcoal", "sorbent", "tube", "impregnated", "treated", "coated"},
		never: aromatics, reason: "vapours which charcoal holds (NIOSH 1501) and a bare filter does not"},
}

// cannotHold returns the analytes of a sample that its medium cannot give, and
// why.
func (r *reduction) cannotHold(s *Sample, rows []int32) (analytes []string, reason string) {
	m := r.media[s.Medium]
	if m == nil {
		return nil, ""
	}
	text := strings.ToLower(m.ID + " " + m.Description)
	has := func(words []string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(text, w) })
	}
	for i := range captures {
		h := &captures[i]
		if !has(h.words) || has(h.but) {
			continue
		}
		for _, k := range rows {
			if row := &r.survey.Lab[k]; row.CAS != "" && slices.Contains(h.never, row.CAS) {
				analytes, reason = append(analytes, row.Analyte), h.reason
			}
		}
	}
	return distinct(analytes), reason
}
