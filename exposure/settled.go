package exposure

import "airtally/exposure/finding"

// about returns what says what a name in a finding stands for: findings about
// one sample, shift or leg may follow from each other.
func (x *Results) about() func(string) finding.About {
	var samples map[string]*Sample
	return func(name string) finding.About {
		if samples == nil {
			samples = make(map[string]*Sample, len(x.Samples))
			for i := range x.Samples {
				samples[x.Samples[i].ID] = &x.Samples[i]
			}
		}
		s := samples[name]
		if s == nil {
			return finding.About{}
		}
		return finding.About{Sample: true, Shift: s.Shift, Worker: s.Worker, Leg: legKey{s.Train, s.Leg}.String()}
	}
}
