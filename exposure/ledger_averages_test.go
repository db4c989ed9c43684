package exposure_test

import (
	"fmt"

	"airtally/exposure"
	"airtally/limits"
)

// addAverages gathers the steps of exposures and of what rests on them.
func (l *ledger) addAverages(x *exposure.Results) {
	before := len(l.order)
	defer func() {
		for _, n := range l.order[before:] {
			l.resting[n.of] = true
		}
	}()
	for _, t := range x.ExposureTerms() {
		l.add(t.Steps())
	}
	for i := range x.Exposures {
		l.add(x.Exposures[i].Steps())
	}
	for i := range x.Comparisons {
		k := &x.Comparisons[i]
		l.add(k.Steps())
		l.vanishing[identity(k)] = k.OnlyIfItDecides()
	}
	for i := range x.Mixtures {
		l.add(x.Mixtures[i].Steps())
	}
	groups := x.Groups()
	for i := range groups {
		l.add(groups[i].Steps())
	}
}

// identityOfAverage names an exposure, or what rests on it, alike in two
// reductions of one survey.
func identityOfAverage(of any) string {
	switch of := of.(type) {
	case *exposure.ExposureTerm:
		c := of.Concentration
		return fmt.Sprintf("term of %s shift %s in %s %s/%s by %s", of.Worker, of.During, of.Shift, c.Substance.Analyte, c.Substance.Form, c.Sample.ID)
	case *exposure.Exposure:
		return fmt.Sprintf("exposure of %s shift %s to %s/%s %s %s", of.Worker, of.Shift, of.Substance.Analyte, of.Substance.Form, of.Basis, of.Sample)
	case *exposure.Comparison:
		return identity(of.Exposure)[len("exposure "):] + " " + of.Sample + " " + identity(of.Limit)
	case *exposure.MixtureResult:
		return fmt.Sprintf("index of %s %s of %s shift %s %s %s %s", of.Mixture, of.Authority, of.Worker, of.Shift, of.Kind, of.Basis, of.Sample)
	case *exposure.Group:
		return fmt.Sprintf("group %s %s/%s %s", of.Name, of.Substance.Analyte, of.Substance.Form, identity(of.Limit))
	case *limits.Limit:
		return fmt.Sprintf("limit %s %s %s %s/%s as %s %g %s", of.Authority, of.Instrument, of.Kind, of.Analyte, of.Form, of.As, of.Value, of.Unit.Name)
	}
	return ""
}
