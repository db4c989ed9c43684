package exposure

import (
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
		for _, samples := range together {
			r.contradict(rule, samples)
		}
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

// contradict looks for one rule's contradictions among the samples of one
// worker-shift.
func (r *reduction) contradict(rule contradiction, samples []*Sample) {
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
						r.findings.Add(rule.code, c.origin.place(), []string{a.ID, b.ID, c.Substance.Analyte, d.Substance.Analyte},
							finding.Values{"a": a.ID, "b": b.ID, "part": c.Substance.Analyte, "of": d.Substance.Analyte,
								"form": c.Substance.Form, "other": d.Substance.Form,
								"x": c.Air.Low, "y": d.Air.High, "unit": c.Quantity.Unit()})
					}
				}
			}
		}
	}
}
