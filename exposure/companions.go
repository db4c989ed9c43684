package exposure

import (
	"cmp"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
)

// contradiction is a pair of concentrations of which one cannot be over the
// other in the same air.
type contradiction struct {
	code     finding.Code
	part, of func(*Substance) bool
	same     bool // both are of one analyte
}

var contradictions = []contradiction{
	{code: finding.HexavalentOver, part: isHexavalentChromium, of: isTotalChromium},
	{code: finding.RespirableOver, part: isForm("respirable", "thoracic"), of: isForm("total", "inhalable"), same: true},
}

func isHexavalentChromium(s *Substance) bool {
	name := strings.ToLower(s.Analyte)
	chromium := strings.Contains(name, "chrom") || strings.HasPrefix(name, "cr")
	hexavalent := strings.Contains(name, "hexavalent") || strings.Contains(name, "(vi)") ||
		strings.HasSuffix(name, " vi") || name == "cr6+" || s.Form == "hexavalent"
	return s.CAS == "18540-29-9" || chromium && hexavalent
}

func isTotalChromium(s *Substance) bool {
	if isHexavalentChromium(s) || s.Form == "respirable" || s.Form == "thoracic" {
		return false
	}
	switch strings.ToLower(s.Analyte) {
	case "chromium", "total chromium", "chromium, total", "chromium (total)", "cr":
		return true
	}
	return s.CAS == "7440-47-3"
}

func isForm(forms ...string) func(*Substance) bool {
	return func(s *Substance) bool {
		for _, f := range forms {
			if s.Form == f {
				return true
			}
		}
		return false
	}
}

// checkCompanions tells of samples that ran side by side and contradict each
// other, as swapped cassettes do. The whole of one interval must lie over the
// other.
func (r *reduction) checkCompanions() {
	type place struct{ worker, shift string }
	together := map[place][]*Sample{}
	for i := range r.samples {
		s := &r.samples[i]
		if s.Kind != survey.Blank && !s.Void && s.Volume.Known {
			p := place{s.Worker, s.Shift}
			if s.Worker == "" {
				p.worker = s.Train
			}
			together[p] = append(together[p], s)
		}
	}
	for _, rule := range contradictions {
		if !r.anySubstance(rule.part) || !r.anySubstance(rule.of) {
			continue
		}
		var found []clash
		for _, samples := range together {
			found = append(found, r.contradict(rule, samples)...)
		}
		r.tellClashes(rule, found)
	}
}

func (r *reduction) anySubstance(is func(*Substance) bool) bool {
	for _, s := range r.substances {
		if is(s) {
			return true
		}
	}
	return false
}

// clash is a part that is over the whole beside it.
type clash struct{ part, of *Concentration }

// mostClashes is how many clashes of one rule are told one by one: more come of
// one cause, such as a report in another unit.
const mostClashes = 3

func (r *reduction) tellClashes(rule contradiction, found []clash) {
	slices.SortFunc(found, func(a, b clash) int {
		return cmp.Or(cmp.Compare(a.part.Sample.ID, b.part.Sample.ID), cmp.Compare(a.of.Sample.ID, b.of.Sample.ID))
	})
	var all []string
	for _, x := range found {
		names := []string{x.part.Sample.ID, x.of.Sample.ID, x.part.Substance.Analyte, x.of.Substance.Analyte}
		all = append(all, names...)
		if len(found) <= mostClashes {
			r.tellClash(rule, x, names)
		}
	}
	if len(found) > mostClashes {
		r.tellClash(rule, found[0], all)
	}
}

func (r *reduction) tellClash(rule contradiction, x clash, names []string) {
	r.findings.Add(rule.code, x.part.origin.place(), names, finding.Values{
		"a": x.part.Sample.ID, "b": x.of.Sample.ID, "part": x.part.Substance.Analyte, "of": x.of.Substance.Analyte,
		"form": x.part.Substance.Form, "other": x.of.Substance.Form,
		"x": x.part.Air.Low, "y": x.of.Air.High, "unit": x.part.Quantity.Unit()})
}

// contradict looks for one rule's contradictions among the samples of one
// worker-shift.
func (r *reduction) contradict(rule contradiction, samples []*Sample) (found []clash) {
	for _, a := range samples {
		for c := range r.of(a) {
			if !rule.part(c.Substance) || !c.HasAir {
				continue
			}
			for _, b := range samples {
				if a == b || sharedMinutes(a, b) < companionOverlap*min(a.Minutes.Value, b.Minutes.Value) {
					continue
				}
				for d := range r.of(b) {
					fits := rule.of(d.Substance) && d.HasAir && (!rule.same || d.Substance.Analyte == c.Substance.Analyte)
					if fits && over(c.Air.Low, d.Air.High) {
						found = append(found, clash{c, d})
					}
				}
			}
		}
	}
	return found
}
