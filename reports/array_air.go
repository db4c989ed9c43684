package reports

import (
	"cmp"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
)

// gravestFirst returns the findings as a person reads them.
func (r *Report) gravestFirst() array {
	order := make([]int, len(r.Findings))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(r.Findings[b].Severity, r.Findings[a].Severity)
	})
	return r.findings().ordered(order)
}

func (r *Report) findings() array {
	type row = finding.Finding
	return arrayOf("findings", "Findings", r.Findings, []field[row]{
		in("severity", "Severity", verdict, func(f *row) cell { return text(f.Severity.String()) }).
			noted("stop: something was left out of the results. check: a person must look before the figure is used. note: worth knowing."),
		in("", "What", prose, func(f *row) cell { return text(codeWords(f.Code)) }),
		in("", "Where", prose, func(f *row) cell { return text(r.everyPlace(f)) }).
			noted("The table and the cells or rows of the survey."),
		in("code", "Code", figures, func(f *row) cell { return text(string(f.Code)) }).aside("The name of this kind of finding in the files."),
		in("file", "File", figures, func(f *row) cell { return text(f.File) }).aside(""),
		in("table", "Table", figures, func(f *row) cell { return text(f.Table) }).aside(""),
		in("row", "Row", whole, func(f *row) cell { return count(f.Row) }).aside("Counted from 1 as a person sees it."),
		in("column", "Column", figures, func(f *row) cell { return text(f.Column) }).aside(""),
		in("cell", "Cell", figures, func(f *row) cell { return text(f.Cell) }).aside(""),
		in("subject", "Touches", prose, func(f *row) cell { return text(f.Subject) }).
			noted("Every sample, shift, device, lot, train or analyte that it touches."),
		in("message", "Found", prose, func(f *row) cell { return text(f.Message) }),
		in("remedy", "What to do", prose, func(f *row) cell { return text(f.Remedy) }),
	})
}

func (r *Report) samples() array {
	type row = exposure.Sample
	return arrayOf("samples", "Volumes", r.Samples, []field[row]{
		in("sample", "Sample", figures, func(s *row) cell { return text(s.ID) }),
		in("kind", "Kind", figures, func(s *row) cell { return text(string(s.Kind)) }),
		in("worker", "Worker", figures, func(s *row) cell { return text(s.Worker) }),
		in("group", "Group", figures, func(s *row) cell { return text(s.Group) }).aside(""),
		in("shift", "Shift", figures, func(s *row) cell { return text(s.Shift) }),
		in("train", "Train", figures, func(s *row) cell { return text(s.Train) }),
		in("leg", "Leg", figures, func(s *row) cell { return text(s.Leg) }),
		in("medium", "Medium", figures, func(s *row) cell { return text(s.Medium) }),
		in("start", "Start", figures, func(s *row) cell { return moment(&s.Start) }).input("start").noted(editable),
		in("stop", "Stop", figures, func(s *row) cell { return moment(&s.Stop) }).input("stop").noted(editable),
		in("", "Pause, min", published, pauseOf).input("pause_min").noted(editable),
		in("", "By the pump's timer, min", published, runOf).input("run_min").noted(editable + " It wins over the clock."),
		in("minutes", "Run time, min", figures, func(s *row) cell { return optional(s.Minutes) }),
		in("flow_pre_lpm", "Flow before, L/min", figures, func(s *row) cell { return optional(s.FlowPre) }),
		in("flow_post_lpm", "Flow after, L/min", figures, func(s *row) cell { return optional(s.FlowPost) }),
		in("flow_lpm", "Flow used, L/min", figures, func(s *row) cell { return optional(s.Flow) }),
		in("drift_pct", "Drift, %", figures, func(s *row) cell { return optional(s.DriftPct) }),
		in("target_dev_pct", "Off target, %", figures, func(s *row) cell { return optional(s.TargetDevPct) }),
		in("volume_l", "Volume, L", figures, func(s *row) cell { return optional(s.Volume) }),
		in("volume_low_l", "Volume at least, L", figures, func(s *row) cell { return optional(s.VolumeLow) }).aside("Less than the volume only where the flow drifted: the lower flow over the same minutes."),
		in("volume_high_l", "Volume at most, L", figures, func(s *row) cell { return optional(s.VolumeHigh) }).aside("More than the volume only where the flow drifted: the higher flow over the same minutes."),
		in("u_volume_rel", "Uncertainty of volume (k = 1)", percent, func(s *row) cell { return optional(s.UVolumeRel) }),
		in("void", "Void", figures, func(s *row) cell { return truth(s.Void) }),
	})
}

func pauseOf(s *exposure.Sample) cell {
	if s.Row == nil || s.Row.Pause == 0 {
		return cell{}
	}
	return number(float64(s.Row.Pause))
}

func runOf(s *exposure.Sample) cell {
	if s.Row == nil {
		return cell{}
	}
	return optional(s.Row.Run)
}

// Each part of an interval is a cell of its own in the files; the high of an
// unbounded one is missing.
func low(i stats.Interval) cell   { return number(i.Low) }
func value(i stats.Interval) cell { return number(i.Value) }
func high(i stats.Interval) cell  { return number(i.High) }

func (r *Report) concentrations() array {
	type row = exposure.Concentration
	mass := func(part func(stats.Interval) cell) func(*row) cell {
		return func(c *row) cell { return part(c.Mass).where(c.HasMass) }
	}
	air := func(q exposure.Quantity, part func(stats.Interval) cell) func(*row) cell {
		return func(c *row) cell { return part(c.Air).where(c.HasAir && c.Quantity == q) }
	}
	airValue := func(q exposure.Quantity) func(*row) cell {
		return func(c *row) cell { return value(c.Air).where(c.HasAir && c.Quantity == q && !c.Void) }
	}
	return arrayOf("concentrations", "Concentrations", r.Concentrations, []field[row]{
		in("sample", "Sample", figures, func(c *row) cell { return text(c.Sample.ID) }),
		in("analyte", "Analyte", figures, func(c *row) cell { return text(c.Substance.Analyte) }),
		in("form", "Form", figures, func(c *row) cell { return text(c.Substance.Form) }),
		in("cas", "CAS number", figures, func(c *row) cell { return text(c.Substance.CAS) }).aside(""),
		in("quantity", "", figures, func(c *row) cell { return text(c.Quantity.String()) }),
		in("", "Mass, µg", span, func(c *row) cell { return text(figuresOf(c.Mass)).where(c.HasMass) }).
			spelt("mass_ug", "mass_low_ug", "mass_high_ug"),
		in("mass_ug", "Mass value, µg", figures, mass(value)).aside("The number that stands for the mass where one is wanted: a non-detect's by the setting."),
		in("mass_low_ug", "Mass at least, µg", figures, mass(low)).aside("Lower bound of the mass; 0 for a non-detect."),
		in("mass_high_ug", "Mass at most, µg", figures, mass(high)).aside("Upper bound of the mass; empty where there is none."),
		in("mass_uncorrected_ug", "Mass before blank, µg", figures, func(c *row) cell { return number(c.MassUncorrected).where(c.HasMass) }),
		in("blank_ug", "Mean of blanks, µg", figures, func(c *row) cell { return optional(c.Blank).where(c.HasMass) }),
		in("", "Concentration", span, shownConcentration).
			spelt("value_mgm3", "low_mgm3", "high_mgm3").spelt("value_fcc", "low_fcc", "high_fcc").noted(boundsNote),
		in("", "Unit", figures, func(c *row) cell { return text(unitText(c.Quantity)).where(c.HasAir) }),
		in("value_mgm3", "Value, mg/m³", figures, airValue(exposure.OfMass)).aside("The number that stands for the concentration; empty for a void."),
		in("low_mgm3", "At least, mg/m³", figures, air(exposure.OfMass, low)).aside("Lower bound; 0 for a non-detect."),
		in("high_mgm3", "At most, mg/m³", figures, air(exposure.OfMass, high)).aside("Upper bound; empty where there is none."),
		in("value_ppm", "Value, ppm", figures, func(c *row) cell { return optional(c.PPM).where(!c.Void) }),
		in("value_fcc", "Value, f/cc", figures, airValue(exposure.OfFibres)).aside("The number that stands for the concentration; empty for a void."),
		in("low_fcc", "At least, f/cc", figures, air(exposure.OfFibres, low)).aside("Lower bound; 0 for a non-detect."),
		in("high_fcc", "At most, f/cc", figures, air(exposure.OfFibres, high)).aside("Upper bound; empty where there is none."),
		in("censored", "Known only in bounds", figures, func(c *row) cell { return truth(c.Censored()) }).aside("yes: the figure lies between bounds and is not known more closely.").
			spelt("low_mgm3", "low_mgm3", "high_mgm3").spelt("low_fcc", "low_fcc", "high_fcc").spelt("mass_low_ug", "mass_low_ug", "mass_high_ug"),
		in("u_rel", "Uncertainty (k = 1)", percent, func(c *row) cell { return optional(c.URel) }),
	})
}

// shownConcentration is what a person reads: the value, or the bounds alone
// where there is none.
func shownConcentration(c *exposure.Concentration) cell {
	if !c.HasAir {
		if c.Sample.Kind == survey.Blank {
			return text("blank")
		}
		return text("no air volume")
	}
	if c.Void {
		return text("void (" + boundsText(c.Air, figureText) + ")")
	}
	return text(figuresOf(c.Air))
}

func unitText(q exposure.Quantity) string { return prettyUnit(q.Unit()) }

// prettyUnit returns a unit as people write it: "ug/m3" as "µg/m³".
func prettyUnit(name string) string {
	if rest, micro := strings.CutPrefix(name, "ug"); micro {
		name = "µg" + rest
	}
	if rest, cubic := strings.CutSuffix(name, "/m3"); cubic {
		name = rest + "/m³"
	}
	return name
}
