package exposure

import (
	"fmt"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
)

// Working explains one number: its formula, what went into it and where the
// rule comes from. Workings are made on demand.
type Working struct {
	Result   string // what the number is, e.g. "volume of S-101"
	Symbol   string
	Formula  string // in the symbols of Operands
	Operands []Operand
	Value    stats.Interval
	Unit     string
	Source   string // regulation, method or setting
}

// Operand is one quantity of a formula: an input cell, or another result.
type Operand struct {
	Symbol string
	Name   string
	Value  stats.Interval
	Unit   string
	Cell   finding.Place // of an input; zero for a result
	Of     any           // the *Sample, *Concentration or *Exposure that it is a result of, nil for an input
}

func input(symbol, name string, value float64, unit string, cell finding.Place) Operand {
	return Operand{Symbol: symbol, Name: name, Value: stats.Exact(value), Unit: unit, Cell: cell}
}

// Working explains the volume of a sample. It is false where there is none.
func (s *Sample) Working() (Working, bool) {
	if s.leg == nil {
		return Working{}, false
	}
	l := s.leg
	w := Working{
		Result: "volume of " + s.ID, Symbol: "V", Formula: "V = Q × t", Unit: "L",
		Value:  stats.Interval{Low: s.VolumeLow.Value, Value: s.Volume.Value, High: s.VolumeHigh.Value},
		Source: "flow of the leg, mean of its pre and post checks, times minutes run",
	}
	w.checkOperand("Q_pre", l.pre, l.preScale, s.FlowPre.Value)
	if l.post != nil {
		w.Formula = "V = (Q_pre + Q_post)/2 × t"
		w.checkOperand("Q_post", l.post, l.postScale, s.FlowPost.Value)
	} else {
		w.Formula = "V = Q_pre × t"
	}
	switch {
	case l.run.Nominal > 0:
		w.Formula = "V = Q_nominal × t"
		w.Source = "nominal flow of the medium (NIOSH Manual of Analytical Methods 0600)"
		w.Operands = []Operand{input("Q_nominal", "nominal flow", float64(l.run.Nominal), "L/min", finding.Place{})}
	case l.air.Drifted && l.air.Flow == l.air.Low:
		w.Formula = "V = min(Q_pre, Q_post) × t"
		w.Source = "drift_policy lower"
	case l.air.Void:
		w.Source = "drift_policy void: bounds only"
	}
	w.timeOperands(s)
	return w, true
}

// checkOperand adds the mean flow of one check.
func (w *Working) checkOperand(symbol string, f *survey.Flow, scale, flow float64) {
	name := fmt.Sprintf("%s check of leg %s %s, mean of %d readings", f.Stage, f.Train, f.Leg, len(f.Readings))
	if scale != 1 {
		name += fmt.Sprintf(", × %.6g to actual conditions", scale)
	}
	w.Operands = append(w.Operands, input(symbol, name, flow, "L/min", f.Place(readingColumn(f))))
}

// timeOperands adds the minutes run.
func (w *Working) timeOperands(s *Sample) {
	column, name := "stop", "stop − start − pause"
	if s.Row.Run.Known {
		column, name = "run_min", "minutes by the pump's timer"
	}
	w.Operands = append(w.Operands, input("t", name, s.Minutes.Value, "min", s.Row.Place(column)))
}

// Working explains a concentration. It is false where there is no air volume.
func (c *Concentration) Working() (Working, bool) {
	if !c.HasAir {
		return Working{}, false
	}
	s := c.Sample
	w := Working{
		Result: fmt.Sprintf("%s on %s", c.Substance.Analyte, s.ID), Symbol: "C", Formula: "C = m / V",
		Value: c.Air, Unit: c.Quantity.Unit(), Source: "1 ug/L is 1 mg/m3",
	}
	if c.Quantity == OfFibres {
		w.Formula, w.Source = "C = m / (1000 × V)", "fibres per cm3: 1 L is 1000 cm3"
	}
	w.Operands = []Operand{
		{Symbol: "m", Name: "on the sample", Value: c.Mass, Unit: c.Quantity.held(), Of: c},
		{Symbol: "V", Name: "volume of " + s.ID, Unit: "L", Of: s,
			Value: stats.Interval{Low: s.VolumeLow.Value, Value: s.Volume.OrElse(s.VolumeLow).Value, High: s.VolumeHigh.Value}},
	}
	return w, true
}

// MassWorking explains what was on the sample: the laboratory's rows, the
// blanks and the desorption, or the parts of a derived analyte.
func (c *Concentration) MassWorking() Working {
	w := Working{
		Result: fmt.Sprintf("%s held by %s", c.Substance.Analyte, c.Sample.ID), Symbol: "m", Formula: "m = x",
		Value: c.Mass, Unit: c.Quantity.held(), Source: "the laboratory's report",
	}
	if d := c.origin.derived; d != nil {
		c.derivedWorking(&w, d)
		return w
	}
	row, second := c.origin.row, c.origin.second
	w.reported("x", row)
	switch {
	case second != nil && row.Section == survey.PostWeight:
		w.Formula, w.Operands[0].Symbol = "m = after − before", "after"
		w.reported("before", second)
	case second != nil:
		w.Formula, w.Operands[0].Symbol = "m = front + back", "front"
		w.reported("back", second)
	}
	if c.Blank.Known {
		w.Formula += " − b"
		w.Source = "mean of the field blanks taken off (NIOSH Manual of Analytical Methods); a non-detect is not lowered"
		w.Operands = append(w.Operands, Operand{Symbol: "b", Name: "mean of the field blanks " + c.blankNames(),
			Value: stats.Exact(c.Blank.Value), Unit: c.Quantity.held()})
	}
	if row.DesorptionNotApplied {
		w.Formula += ", over the desorption efficiency"
		w.Operands = append(w.Operands, input("DE", "desorption efficiency", row.Desorption.Value, "", row.Place("desorption")))
	}
	if c.Mass.Open && c.limit.Known {
		w.Formula, w.Source = "m < R", "a result under its reporting limit: "+string(c.Sample.of.settings.NonDetect)+" of R stands for it"
		w.Operands = append(w.Operands, Operand{Symbol: "R", Name: "reporting limit", Value: stats.Exact(c.limit.Value), Unit: c.Quantity.held()})
	}
	return w
}

// reported adds what the laboratory wrote in one row.
func (w *Working) reported(symbol string, row *survey.LabRow) {
	name := "reported as " + row.Text("result")
	w.Operands = append(w.Operands, input(symbol, name, row.Value, row.Unit.Name, row.Place("result")))
}

// derivedWorking adds the parts of a derived analyte.
func (c *Concentration) derivedWorking(w *Working, d *derivation) {
	w.Formula, w.Source = "m = Σ f × m_part", "the derived table, "+d.row.Place("derived").String()
	for _, p := range d.parts {
		o := Operand{Symbol: "f × m_part", Name: fmt.Sprintf("%g × %s, not reported", p.factor, p.analyte), Unit: w.Unit}
		if part := c.Sample.of.find(c.Sample, p.analyte, c.Substance.Form); part != nil {
			o.Name, o.Value, o.Of = fmt.Sprintf("%g × %s", p.factor, p.analyte), part.Mass.Scale(p.factor), part
		}
		w.Operands = append(w.Operands, o)
	}
}

// blankNames names the field blanks that a concentration is corrected by.
func (c *Concentration) blankNames() string {
	p := &pair{sample: c.Sample, substance: c.Substance}
	var names []string
	for _, b := range c.Sample.of.blanks.matching(p, blankSection(c.origin.row)) {
		names = append(names, b.sample.ID)
	}
	return strings.Join(distinct(names), ", ")
}

// Working explains an exposure.
func (x *Exposure) Working() Working {
	w := Working{
		Result: fmt.Sprintf("%s, worker %s, shift %s, %s", x.Substance.Analyte, x.Worker, x.Shift, x.Basis),
		Symbol: "E", Formula: "E = Σ C × t / T", Value: x.Value, Unit: x.Quantity.Unit(),
		Source: basisSource[x.Basis],
	}
	for i := range x.average.doses {
		d := &x.average.doses[i]
		for _, t := range d.terms {
			w.Operands = append(w.Operands,
				Operand{Symbol: "C", Name: "concentration on " + t.conc.Sample.ID, Value: t.conc.Air, Unit: w.Unit, Of: t.conc},
				Operand{Symbol: "t", Name: "minutes of " + t.conc.Sample.ID + ", with its share of unsampled time",
					Value: stats.Exact(d.minutes(t, d.policy)), Unit: "min"})
		}
		if d.constant.High > 0 {
			w.Operands = append(w.Operands, Operand{Symbol: "g", Name: "dose of stated gaps", Value: d.constant, Unit: w.Unit + "·min"})
		}
	}
	w.Operands = append(w.Operands, Operand{Symbol: "T", Name: "minutes of the average", Value: stats.Exact(x.average.divisor), Unit: "min"})
	return w
}

var basisSource = map[Basis]string{
	OverShift: "mean over the shift",
	Over8h:    "29 CFR 1910.1000(d)(1)(i): dose over 8 hours",
	Over10h:   "dose over 10 hours",
	Worst8h:   "worst contiguous 8 hours of a longer shift",
	Short:     "one short-term sample",
}

// Working explains a comparison.
func (k *Comparison) Working() Working {
	average := "exposure, " + string(k.Basis)
	if k.Basis == Short {
		average = fmt.Sprintf("mean over the limit's averaging time, by %s of %.4g min", k.Sample, k.SampledMin)
	}
	return Working{
		Result: fmt.Sprintf("%s, worker %s, shift %s against %s %s", k.Substance.Analyte, k.Worker, k.Shift,
			k.Limit.Authority, k.Limit.Kind),
		Symbol: "Y", Formula: "Y = E / L", Value: k.Fraction, Unit: "", Source: k.Limit.Source,
		Operands: []Operand{
			{Symbol: "E", Name: average, Value: stats.Exact(k.Value), Unit: k.Limit.Unit.Name, Of: k.Exposure},
			{Symbol: "L", Name: "limit", Value: stats.Exact(k.LimitValue), Unit: k.Limit.Unit.Name},
		},
	}
}
