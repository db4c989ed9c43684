package reports

import (
	"fmt"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/limits"
)

// noticeHeadline is what a set of results means, in plain words.
type noticeHeadline struct {
	Outcome limits.Outcome // the one that asks most of a reader; "" where nothing was compared
	Title   string
	Lines   []string
	Act     bool // something has to be done about it, for the employer to write down
}

// headlineOf says what results mean. Reaching an action level is no exceeding
// of a limit, and is told apart.
func headlineOf(found *shiftResults) noticeHeadline {
	above, action, undecided := found.named(limits.Exceeds, false), found.named(limits.Exceeds, true), found.open()
	var h noticeHeadline
	switch {
	case len(above) > 0:
		h = noticeHeadline{Outcome: limits.Exceeds, Title: "Above a limit", Act: true}
	case len(action) > 0:
		h = noticeHeadline{Outcome: limits.Exceeds, Title: "An action level is reached; no limit is shown to be passed"}
	case len(undecided) > 0:
		h = noticeHeadline{Outcome: limits.Undecided, Title: "Not decided for every limit", Act: true}
	case len(found.comparisons)+len(found.mixtures) > 0:
		return noticeHeadline{Outcome: limits.Below, Title: "Below every limit it was compared with", Lines: []string{
			"A limit is no sharp line between safe and unsafe. Tell your employer or your doctor if the work makes you feel unwell."}}
	default:
		return noticeHeadline{Title: "No limit to compare with", Lines: []string{
			"No limit for what was measured is on the lists that were used. That does not say that it does no harm."}}
	}
	if len(above) > 0 {
		h.Lines = append(h.Lines,
			"The air you breathed held more than allowed or advised: "+strings.Join(above, "; ")+".",
			"That does not mean that you are ill or will be. It means that the exposure has to come down, and you are to be told how.")
	}
	if len(action) > 0 {
		h.Lines = append(h.Lines, "An action level is reached: "+strings.Join(action, "; ")+
			". From that level on your employer has duties before the limit is passed, such as to measure again.")
	}
	if len(undecided) > 0 {
		h.Act = true
		h.Lines = append(h.Lines, "The measurement cannot show on which side of the limit the exposure was: "+strings.Join(undecided, "; ")+
			". Until more is known, take it as possibly above.")
	}
	return h
}

// named returns the substances with an outcome, the authorities whose limits
// they are, and the days, of action levels or of all other limits; and the
// mixtures.
func (s *shiftResults) named(o limits.Outcome, actionLevels bool) []string {
	var names []string
	days := map[string][]string{}
	add := func(name string, w *exposure.WorkerShift) {
		names = appendNew(names, name)
		days[name] = appendNew(days[name], dayText(w.Start))
	}
	for _, c := range s.comparisons {
		if c.Outcome == o && (c.Limit.Kind == limits.Action) == actionLevels {
			add(substanceText(c.Substance)+" ("+c.Limit.Authority+", "+kindTexts[c.Limit.Kind]+")", c.WorkerShift)
		}
	}
	for _, m := range s.mixtures {
		if m.Outcome == o && !actionLevels {
			add(fmt.Sprintf("%s together (%s, limits of the parts)", m.Mixture, m.Authority), m.WorkerShift)
		}
	}
	for i, name := range names {
		names[i] = name + ", " + strings.Join(days[name], " and ")
	}
	return names
}

// open returns what is undecided under limits and action levels alike.
func (s *shiftResults) open() []string {
	return append(s.named(limits.Undecided, false), s.named(limits.Undecided, true)...)
}

// Act reports whether the employer has to write down what will be done.
func (n *notice) Act() bool {
	return slices.ContainsFunc(n.Parts, func(p noticePart) bool { return p.Headline.Act })
}

// Above reports whether a result is above a limit.
func (n *notice) Above() bool {
	return slices.ContainsFunc(n.Parts, func(p noticePart) bool {
		return p.Headline.Act && p.Headline.Outcome == limits.Exceeds
	})
}

// outcomeMarks stand beside the words of outcomes, so that none is known by its colour
// alone; below has none.
var outcomeMarks = map[limits.Outcome]string{limits.Exceeds: "▲", limits.Undecided: "◆"}

// Mark returns the mark of an outcome.
func (h noticeHeadline) Mark() string { return outcomeMarks[h.Outcome] }

// Mark returns the mark of an outcome.
func (f noticeFigure) Mark() string { return outcomeMarks[f.Outcome] }

// Mark returns the mark of an outcome.
func (m noticeMixture) Mark() string { return outcomeMarks[m.Outcome] }
