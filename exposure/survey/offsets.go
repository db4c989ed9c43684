package survey

import (
	"strings"

	"airtally/exposure/finding"
)

// checkOffsets tells of times without an offset among times that have one,
// where no timezone says what they mean. Where most have none, it is told once.
func (s *Survey) checkOffsets(c clock, byLeg func() map[legKey][]string, list *finding.List) {
	if c.zoned {
		return
	}
	var bare []given
	var subjects []string
	zoned := 0
	for _, g := range s.moments() {
		switch m := g.moment; {
		case m.Zoned:
			zoned++
		case m.Known && !m.DateOnly:
			bare = append(bare, g)
			subjects = append(subjects, g.subject...)
		}
	}
	if zoned == 0 {
		return
	}
	for _, g := range bare {
		if f := (legKey{g.subject[0], g.subject[len(g.subject)-1]}); g.column == "taken_at" {
			g.subject = append(g.subject, byLeg()[f]...)
		}
		if len(bare) > zoned {
			g.subject = append(g.subject, subjects...)
		}
		list.Add(finding.OffsetMissing, g.ref.Place(g.column), g.subject, finding.Values{
			"column": g.column, "read": g.ref.Text(g.column), "of": strings.Join(g.subject, ", ")})
		if len(bare) > zoned {
			return
		}
	}
}

// given is one time of the survey where it stands.
type given struct {
	moment  Moment
	ref     Ref
	column  string
	subject []string
}

// moments returns the times that minutes are made of.
func (s *Survey) moments() []given {
	all := make([]given, 0, 2*len(s.Samples)+len(s.Flows)+2*len(s.Shifts)+2*len(s.Gaps))
	for i := range s.Shifts {
		x := &s.Shifts[i]
		who := []string{x.ID, x.Worker}
		all = append(all, given{x.Start, x.Ref, "start", who}, given{x.End, x.Ref, "end", who})
	}
	for i := range s.Gaps {
		x := &s.Gaps[i]
		who := []string{x.Shift, x.Worker}
		all = append(all, given{x.Start, x.Ref, "start", who}, given{x.End, x.Ref, "end", who})
	}
	for i := range s.Samples {
		x := &s.Samples[i]
		all = append(all, given{x.Start, x.Ref, "start", []string{x.ID}}, given{x.Stop, x.Ref, "stop", []string{x.ID}})
	}
	for i := range s.Flows {
		x := &s.Flows[i]
		all = append(all, given{x.TakenAt, x.Ref, "taken_at", []string{x.Train, x.Leg}})
	}
	return all
}
