package exposure

import (
	"slices"
	"strings"

	"airtally/exposure/survey"
)

// leaveOut lists, in each group, the samples that made none of the exposures of
// its worker-shifts, with the reason.
func (b *groupBook) leaveOut(x *Results) {
	counted := map[*reduction][]bool{}
	for _, r := range x.reductions {
		counted[r] = make([]bool, len(r.concentrations))
	}
	for i := range x.Exposures {
		e := &x.Exposures[i]
		if e.Basis == OverShift || e.Basis == Over8h {
			e.markCounted(counted[e.WorkerShift.of])
		}
	}
	for _, r := range x.reductions {
		l := leaving{groupBook: b, reduction: r, counted: counted[r], nobody: map[*Substance][]string{}, onMedium: map[string][]*Substance{}}
		for i := range r.samples {
			l.sample(&r.samples[i])
		}
		l.reportNobody()
	}
}

// markCounted marks the concentrations that make an exposure.
func (x *Exposure) markCounted(counted []bool) {
	r := x.WorkerShift.of
	for i := range x.average.doses {
		for _, t := range x.average.doses[i].terms {
			for k := r.start[t.conc.Sample.number]; k < r.start[t.conc.Sample.number+1]; k++ {
				if &r.concentrations[k] == t.conc {
					counted[k] = true
				}
			}
		}
	}
}

// leaving lists the samples of one survey that groups leave out.
type leaving struct {
	*groupBook
	*reduction
	counted  []bool                  // of each concentration
	nobody   map[*Substance][]string // area samples, and others without a worker
	onMedium map[string][]*Substance // that samples on a medium were analysed for
}

func (l *leaving) sample(s *Sample) {
	if s.Kind == survey.Blank || s.Worker != "" && s.Group == "" && s.Kind == survey.Personal {
		return
	}
	var met []*Substance
	for k := l.start[s.number]; k < l.start[s.number+1]; k++ {
		c := &l.concentrations[k]
		met = append(met, c.Substance)
		if !l.counted[k] {
			l.exclude(s, c.Substance, whyNotCounted(s, c))
		}
	}
	reported := l.reported(s)
	if len(reported) == 0 {
		reported = l.sameMedium(s.Medium)
	}
	for _, substance := range reported {
		if !slices.Contains(met, substance) {
			l.exclude(s, substance, whyNotCounted(s, nil))
		}
	}
}

// reported returns the substances that the laboratory reports of a sample.
func (l *leaving) reported(s *Sample) []*Substance {
	var all []*Substance
	for _, row := range l.lab.rows(int(s.number)) {
		if substance := l.rowSubstance[row]; !slices.Contains(all, substance) {
			all = append(all, substance)
		}
	}
	return all
}

// sameMedium returns what samples on a medium are analysed for, which a sample
// without results would have been.
func (l *leaving) sameMedium(medium string) []*Substance {
	all, known := l.onMedium[medium]
	if known {
		return all
	}
	for i := range l.samples {
		if s := &l.samples[i]; s.Medium == medium && s.Kind != survey.Blank {
			for _, substance := range l.reported(s) {
				if !slices.Contains(all, substance) {
					all = append(all, substance)
				}
			}
		}
	}
	l.onMedium[medium] = all
	return all
}

// whyNotCounted says why a sample made no exposure of a shift; without its
// concentration, there is none.
func whyNotCounted(s *Sample, c *Concentration) string {
	switch {
	case s.Void && s.Row.VoidBecause != "":
		return "sample " + s.ID + " is void: " + s.Row.VoidBecause
	case s.Void:
		return "sample " + s.ID + " is void"
	case s.Row.Purpose.ShortTerm():
		return "sample " + s.ID + " is short-term"
	case c == nil:
		return "sample " + s.ID + " has no result that can be used"
	case !c.HasAir:
		return "sample " + s.ID + " has no air volume"
	}
	return "sample " + s.ID + " could not be placed in the shift; see the findings"
}

// exclude lists a sample under every limit of its group. Area samples, and
// others that name no worker, are gathered for all groups of the substance.
func (l *leaving) exclude(s *Sample, substance *Substance, why string) {
	if s.Kind == survey.Area || s.Worker == "" {
		l.nobody[substance] = append(l.nobody[substance], s.ID)
		return
	}
	for _, g := range l.bySubject[groupSubject{s.Group, substance.Analyte, substance.Form}] {
		g.exclude(s.Worker, s.Shift, why)
	}
}

// reportNobody lists the samples of no worker in one entry of each group.
func (l *leaving) reportNobody() {
	for _, g := range l.groups {
		own := l.substances[substanceKey{g.Substance.Analyte, g.Substance.Form}]
		if samples := l.nobody[own]; own != nil && len(samples) > 0 {
			g.exclude("", "", "area samples, or of no worker: "+strings.Join(distinct(samples), ", "))
		}
	}
}
