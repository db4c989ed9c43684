package finding

import (
	"cmp"
	"slices"
	"strings"
)

// told is a finding while it is settled where it is told.
type told struct {
	Finding
	into    *told   // the finding it follows from
	follows []*told // what follows from it
}

// Settled returns the findings in their order, each cause once. What only
// follows from another finding is told in that one's message, and what one
// cause brings about in many rows is told together. About says what a
// name in a subject stands for.
func (l *List) Settled(about func(name string) About) []Finding {
	sorted := l.Sorted()
	all := make([]*told, len(sorted))
	for i := range sorted {
		all[i] = &told{Finding: sorted[i]}
	}
	slices.SortStableFunc(all, compareTold) // what is told where must not hang on the order of rows
	trace(all, about)
	settled := List{}
	for _, t := range gather(slices.DeleteFunc(all, func(t *told) bool { return t.into != nil })) {
		settled.all = append(settled.all, t.whole())
	}
	return settled.Sorted()
}

// root returns the finding in which this one is told.
func (t *told) root() *told {
	for t.into != nil {
		t = t.into
	}
	return t
}

// whole returns the finding with what follows from it: as grave as the gravest
// of them, and about all that they are about.
func (t *told) whole() Finding {
	f := t.Finding
	if len(t.follows) == 0 {
		return f
	}
	subject := t.names()
	f.Also = slices.Clone(f.Also)
	for _, c := range t.follows {
		f.Severity = max(f.Severity, c.Severity)
		f.Also = append(append(f.Also, c.Place), c.Also...)
		subject = append(subject, c.names()...)
	}
	f.Subject = join(subject)
	f.Message += "; told with it: " + sayAll(t.follows)
	f.Remedy += "; then run again: what is still found stands by itself"
	return f
}

// sayAll writes the messages of findings after one another, those of one code
// that are many by the first and the places of the others.
func sayAll(all []*told) string {
	var order []Code
	byCode := map[Code][]*told{}
	for _, t := range all {
		if byCode[t.Code] == nil {
			order = append(order, t.Code)
		}
		byCode[t.Code] = append(byCode[t.Code], t)
	}
	var said []string
	for _, code := range order {
		said = append(said, sayAlike(byCode[code], mostFollowing))
	}
	return strings.Join(said, "; ")
}

// mostFollowing is how many consequences of one code are told in full.
const mostFollowing = 2

// sayAlike writes the messages of the first findings of one code, and what the
// others are about.
func sayAlike(alike []*told, most int) string {
	var said, others []string
	for i, t := range alike {
		if i < most || len(alike) == most+1 {
			said = append(said, t.Message)
		} else {
			others = append(others, t.names()...)
		}
	}
	if others != nil {
		said = append(said, "and the same for "+join(others))
	}
	return strings.Join(said, "; ")
}

// compareTold orders findings by what they say, whatever row they stand in.
func compareTold(a, b *told) int {
	return cmp.Or(cmp.Compare(a.Code, b.Code), cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Message, b.Message))
}
