package exposure

import (
	"fmt"
	"sync"

	"airtally/exposure/survey"
	"airtally/stats"
	"airtally/volume"
)

// explained is what only steps need of a reduction. It is made when the first
// are asked for.
type explained struct {
	once    sync.Once
	factors map[*survey.Flow]stats.Optional // from indicated to actual flow, of every check
	labRows map[*survey.LabRow]int32        // place among the rows of the laboratory
	book    *flowBook
	lots    map[blankLot][]int32 // the field blanks that answer for each, as places among the samples
	blanks  sync.Map             // *BlankMean by what it answers for
	doses   doseIndex
}

// explain returns what steps need of the reduction.
func (r *reduction) explain() *explained {
	r.explained.once.Do(func() {
		e := r.explained
		e.factors = make(map[*survey.Flow]stats.Optional, len(r.survey.Flows))
		for i := range r.survey.Flows {
			e.factors[&r.survey.Flows[i]] = r.ownFactor(&r.survey.Flows[i])
		}
		e.book = newFlowBook(r.survey.Flows)
		e.lots = map[blankLot][]int32{}
		for i := range r.samples {
			if s := &r.samples[i]; s.Kind == survey.Blank && !s.Void && !s.Row.MediaBlank {
				e.lots[lotOf(s)] = append(e.lots[lotOf(s)], int32(i))
			}
		}
		e.labRows = make(map[*survey.LabRow]int32, len(r.survey.Lab))
		for i := range r.survey.Lab {
			e.labRows[&r.survey.Lab[i]] = int32(i)
		}
	})
	return r.explained
}

// flowBook returns the flow checks by leg.
func (r *reduction) flowBook() *flowBook { return r.explain().book }

// ownFactor returns the factor from indicated to actual flow of a check, where
// its own row decides it: the conditions of a sample enter where the row has
// none, and always for the readout of a pump.
func (r *reduction) ownFactor(f *survey.Flow) stats.Optional {
	device := r.devices[f.Device]
	switch {
	case device == nil:
		return stats.Some(1)
	case device.Kind == volume.PumpRotameter:
		return stats.Optional{}
	}
	factor, missing := deviceScale(device, f, &survey.Sample{})
	return stats.Optional{Value: factor, Known: missing == ""}
}

// flowSteps returns the steps of a flow check: the mean of its readings as
// indicated, and the actual flow where its own row decides that.
func (r *reduction) flowSteps(f *survey.Flow) []Step {
	l := newSteps(f, 8)
	check := volume.Check{Readings: f.Readings}
	readings, there := make([]Expression, len(f.Readings)), make([]Expression, len(f.Readings))
	for i, q := range f.Readings {
		readings[i] = reference(f, fmt.Sprintf("readings/%d", i+1), fmt.Sprintf("q_%d", i+1), float64(q))
		there[i] = positive(readings[i])
	}
	l.follow(there...)
	mean := l.add(Step{Key: "mean_lpm", Symbol: "q", Name: "mean of the readings", Unit: "L/min",
		By: operate(Mean, readings...), Value: float64(check.Flow()), Source: "mean of the readings of one check"})
	if len(readings) > 1 {
		spread := l.work(Step{Key: "spread_lpm", Symbol: "s", Name: "standard deviation of the readings", Unit: "L/min",
			By: operate(SampleDeviation, readings...), Source: "with divisor n − 1"})
		l.add(Step{Key: "cv_pct", Symbol: "CV", Name: "coefficient of variation of the readings", Unit: "%",
			By: divided(times(figure(100), spread), mean), Value: check.CVPct(), Source: "spread of the readings"})
	}
	if factor := r.explain().factors[f]; factor.Known {
		k := l.work(Step{Key: "to_actual", Symbol: "k", Name: "factor to actual conditions", By: constant("k", factor.Value),
			Source: r.factorSource(f)})
		l.work(Step{Key: "flow_lpm", Symbol: "Q", Name: "actual flow", Unit: "L/min", By: times(mean, k), Source: r.factorSource(f)})
	}
	return l.all
}

// factorSource says where the factor of a check comes from.
func (r *reduction) factorSource(f *survey.Flow) string {
	device := r.devices[f.Device]
	switch {
	case device == nil || device.Kind == volume.Volumetric:
		return "the meter reads actual flow"
	case device.Kind == volume.MassFlow:
		return "ideal gas law: from the reference conditions of meter " + device.ID + " to those of the check"
	}
	return "Q = Qind·√(Pcal·T/(P·Tcal)) (NIOSH Manual of Analytical Methods, chapter D), meter " + device.ID
}

// flowOf returns a sample's flow by one check, in L/min.
func (s *Sample) flowOf(f *survey.Flow, scale float64) Expression {
	if factor := s.of.explain().factors[f]; factor.Known {
		return reference(f, "flow_lpm", "Q", float64(s.actual(f).Flow()))
	}
	return times(s.indicated(f), constant("factor to actual conditions", scale))
}

// indicated refers to the mean of the readings of a check.
func (s *Sample) indicated(f *survey.Flow) Expression {
	return reference(f, "mean_lpm", "q", float64(volume.Check{Readings: f.Readings}.Flow()))
}

// plausible is the condition that no check of a sample's leg is in another
// unit.
func (s *Sample) plausible(leg *legFlow) Expression {
	flow := func(f *survey.Flow, scale float64) Expression {
		return times(s.indicated(f), constant("factor to actual conditions", scale))
	}
	near := func(a, b Expression) Expression {
		far := figure(wholeUnitRatio)
		return all(operate(LessEqual, a, times(far, b)), operate(LessEqual, b, times(far, a)))
	}
	pre := flow(leg.pre, leg.preScale)
	post := pre
	if leg.post != nil {
		post = flow(leg.post, leg.postScale)
	}
	if leg.target.Known {
		target := constant("target flow", leg.target.Value)
		return all(near(pre, target), near(post, target))
	}
	return near(pre, post)
}

// leftOutStands are the conditions that a check of a sample is still in another
// unit.
func (s *Sample) leftOutStands(leg *legFlow) []Expression {
	out := append(s.unchanged(), followed(leg.pre))
	checks := []Expression{followed(leg.pre)}
	if leg.post != nil {
		out, checks = append(out, followed(leg.post)), append(checks, followed(leg.post))
	}
	return append(out, holds(when(all(checks...), not(s.plausible(leg)), number0)))
}
