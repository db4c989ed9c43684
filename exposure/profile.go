package exposure

import (
	"cmp"
	"math"
	"slices"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
)

// What is sampled together in one job keeps its proportions. A result that
// leaves them, against most like samples of the group, has a slip in it.
var profileLimit = finding.Threshold(finding.OutOfProfile)

const (
	fewestShared     = 2 // other analytes that set the level between two samples
	fewestSharedPair = 4 // where there are fewer than enoughLike other samples
	enoughLike       = 3
	alonePenalty     = 1.4  // times the limit, beside one other sample only
	likeSpread       = 0.45 // standard deviation of the logarithms, up to which two samples are alike: a factor of 1.6
	mostProfiles     = 200  // like samples that one is set beside
	profileScatter   = 3.5  // times the usual scatter of the proportions
)

// profile is what was found on one sample and on those beside it: logarithms
// of concentrations.
type profile struct {
	sample *Sample
	own    []*Concentration
	logs   map[*Substance]float64
}

// profileKey says which samples are like: of one group and one duration; area
// samples by their medium.
type profileKey struct {
	group, medium string
	short         bool
}

// checkProfiles sets every result beside those of like samples: those of the
// same group, for an area sample those on the same medium.
func (r *reduction) checkProfiles() {
	like := map[profileKey][]*profile{}
	var order []profileKey
	for i := range r.samples {
		s := &r.samples[i]
		key := profileKey{group: s.Group, short: s.Row.Purpose.ShortTerm()}
		if s.Kind == survey.Area {
			key = profileKey{medium: s.Medium}
		}
		if s.Kind == survey.Blank || s.Void || !s.Volume.Known || key == (profileKey{short: key.short}) {
			continue
		}
		if like[key] == nil {
			order = append(order, key)
		}
		if len(like[key]) < mostProfiles {
			like[key] = append(like[key], r.profileOf(s))
		}
	}
	for _, key := range order {
		beside(like[key])
	}
	for _, key := range order {
		others := like[key]
		if key.medium != "" {
			others = onMedium(like, order, key.medium)
		}
		for _, p := range like[key] {
			for _, c := range p.own {
				r.checkProfile(p, c, others)
			}
		}
	}
}

// onMedium returns the full-length samples on a medium, of all groups.
func onMedium(like map[profileKey][]*profile, order []profileKey, medium string) []*profile {
	var all []*profile
	for _, key := range order {
		for _, p := range like[key] {
			if !key.short && p.sample.Medium == medium {
				all = append(all, p)
			}
		}
	}
	return all
}

func (r *reduction) profileOf(s *Sample) *profile {
	p := &profile{sample: s, logs: map[*Substance]float64{}}
	for c := range r.of(s) {
		if detectedInAir(c) && c.Air.High < math.Inf(1) {
			p.own = append(p.own, c)
			p.logs[c.Substance] = math.Log(c.Air.Value)
		}
	}
	return p
}

// beside lends every profile what samples at the same worker and time found.
func beside(all []*profile) {
	for _, p := range all {
		for _, q := range all {
			if p == q || p.sample.Worker != q.sample.Worker ||
				sharedMinutes(p.sample, q.sample) < companionOverlap*min(p.sample.Minutes.Value, q.sample.Minutes.Value) {
				continue
			}
			for _, c := range q.own {
				if _, known := p.logs[c.Substance]; !known {
					p.logs[c.Substance] = math.Log(c.Air.Value)
				}
			}
		}
	}
}

// checkProfile sets one result beside each like sample that has it.
func (r *reduction) checkProfile(p *profile, c *Concentration, all []*profile) {
	var off, scatter []float64
	var others []string
	for _, q := range all {
		theirs, has := q.logs[c.Substance]
		if q == p || !has || !slices.ContainsFunc(q.own, func(o *Concentration) bool { return o.Substance == c.Substance }) {
			continue
		}
		level, spread, n := p.level(q, c.Substance)
		if n < fewestShared || spread > likeSpread {
			continue
		}
		off, scatter = append(off, math.Log(c.Air.Value)-theirs-level), append(scatter, spread)
		others = append(others, q.sample.ID)
	}
	if len(off) == 0 || len(off) < enoughLike && len(p.own) <= fewestSharedPair {
		return
	}
	wanted := math.Max(math.Log(profileLimit), profileScatter*middleOf(scatter))
	if len(off) == 1 {
		wanted += math.Log(alonePenalty)
	}
	slices.Sort(off)
	but := (len(off) + 3) / 8 // about one in eight may disagree, one from five on
	if off[but] < wanted && off[len(off)-1-but] > -wanted {
		return
	}
	names := []string{p.sample.ID, c.Substance.Analyte}
	if len(others) == 1 {
		names = append(names, others[0])
	}
	r.findings.Add(finding.OutOfProfile, c.origin.place(), names, finding.Values{
		"sample": p.sample.ID, "analyte": c.Substance.Analyte, "ratio": math.Exp(middleOf(off)), "others": others,
		"limit": math.Exp(wanted)})
}

// level returns how far a profile lies over another in its other analytes, the
// scatter of that as a standard deviation, and of how many.
func (p *profile) level(q *profile, but *Substance) (level, spread float64, n int) {
	var apart []float64
	for s, x := range p.logs {
		if y, has := q.logs[s]; has && s != but {
			apart = append(apart, x-y)
		}
	}
	if len(apart) < fewestShared {
		return 0, 0, len(apart)
	}
	level = middleOf(apart)
	for i, x := range apart {
		apart[i] = math.Abs(x - level)
	}
	return level, 1.4826 * middleOf(apart), len(apart)
}

// middleOf returns the median.
func middleOf(all []float64) float64 {
	sorted := slices.Clone(all)
	slices.Sort(sorted)
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// historyFactor is how far results may be from earlier ones of their group.
var historyFactor = finding.Threshold(finding.FarFromHistory)

const fewestHistory = 3 // earlier results, before they say what is usual

// checkHistory tells of analytes whose results in a group are far from the
// earlier ones.
func (r *reduction) checkHistory() {
	type key struct{ group, analyte string }
	earlier := map[key][]float64{}
	var order []key
	for i := range r.survey.History {
		h := &r.survey.History[i]
		k := key{h.Group, h.Analyte}
		if value := h.Value.Value * h.Unit.ToBase; value > 0 && h.Unit.Dim == limits.Mass {
			if earlier[k] == nil {
				order = append(order, k)
			}
			earlier[k] = append(earlier[k], value)
		}
	}
	for _, k := range order {
		if len(earlier[k]) < fewestHistory {
			continue
		}
		var now []float64
		names := []string{k.group, k.analyte}
		var first *Concentration
		for i := range r.concentrations {
			c := &r.concentrations[i]
			if c.Sample.Group == k.group && c.Substance.Analyte == k.analyte && detectedInAir(c) && !c.Sample.Row.Purpose.ShortTerm() {
				now, names = append(now, c.Air.Value), append(names, c.Sample.ID)
				first = cmp.Or(first, c)
			}
		}
		if first == nil {
			continue
		}
		ratio := middleOf(now) / middleOf(earlier[k])
		if ratio > historyFactor || ratio < 1/historyFactor {
			r.findings.Add(finding.FarFromHistory, first.origin.place(), names, finding.Values{
				"analyte": k.analyte, "group": k.group, "n": len(now), "ratio": ratio, "limit": historyFactor})
		}
	}
}
