package survey

import (
	"strings"

	"airtally/exposure/finding"
)

// leaveOutLater leaves out rows whose key stands in an earlier row, each with
// a finding that names both.
func leaveOutLater[T any](rows []T, column string, list *finding.List, key func(*T) (Ref, string)) []T {
	first := make(map[string]Ref, len(rows))
	kept := rows[:0]
	for i := range rows {
		ref, k := key(&rows[i])
		if earlier, seen := first[k]; seen {
			duplicate(list, column, k, earlier, ref, "the later row is left out")
			continue
		}
		first[k] = ref
		kept = append(kept, rows[i])
	}
	clear(rows[len(kept):])
	return kept
}

// leaveOutBoth leaves out every row whose key stands in another row too:
// which of two samples a laboratory's result belongs to cannot be told.
func leaveOutBoth(samples []Sample, list *finding.List) []Sample {
	seen := make(map[string]bool, len(samples))
	for i := range samples {
		seen[samples[i].ID] = true
	}
	if len(seen) == len(samples) {
		return samples
	}
	rows := make(map[string][]Ref, len(seen))
	for i := range samples {
		rows[samples[i].ID] = append(rows[samples[i].ID], samples[i].Ref)
	}
	kept := samples[:0]
	for i := range samples {
		same := rows[samples[i].ID]
		switch {
		case len(same) == 1:
			kept = append(kept, samples[i])
		case samples[i].Ref != same[0]:
			duplicate(list, "sample", samples[i].ID, same[0], samples[i].Ref, "none of these rows is used")
		}
	}
	clear(samples[len(kept):])
	return kept
}

// duplicate says that a name stands in two rows. The parts of the name are
// joined by keySeparator.
func duplicate(list *finding.List, column, key string, first, second Ref, consequence string) {
	parts := strings.Split(key, keySeparator)
	list.Add(finding.DuplicateID, second.Place(column), parts, finding.Values{
		"table": column, "read": strings.Join(parts, " of "), "first": first.Row, "second": second.Row, "consequence": consequence})
}

// keySeparator joins the parts of a key; no cell holds it.
const keySeparator = "\x1f"
