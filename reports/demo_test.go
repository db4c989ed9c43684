package reports

import (
	"math"
	"strings"
	"time"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
)

// Every figure, name and place below is invented to show a form of output; no
// figure is a check of the reduction.

func at(hour, minute int) survey.Moment {
	return survey.Moment{T: time.Date(2026, 3, 2, hour, minute, 0, 0, time.UTC), Known: true}
}

func zoned(hour, minute int) survey.Moment {
	east := time.FixedZone("", 3600)
	return survey.Moment{T: time.Date(2026, 3, 2, hour, minute, 0, 0, east), Known: true, Zoned: true}
}

var (
	milligrams = limits.Unit{Name: "mg/m3", Dim: limits.Mass, ToBase: 1}
	fibres     = limits.Unit{Name: "f/cc", Dim: limits.Fibre, ToBase: 1}

	lead     = &exposure.Substance{Analyte: "lead", Form: "total", CAS: "7439-92-1"}
	dust     = &exposure.Substance{Analyte: "dust", Form: "respirable"}
	fibre    = &exposure.Substance{Analyte: "asbestos", Form: "total", CAS: "1332-21-4"}
	hostile  = &exposure.Substance{Analyte: "+1+1", Form: "total"}
	leadRule = &limits.Limit{Analyte: "lead", Form: "total", Authority: "EXA", Instrument: "Invented Order 7, paragraph 2", Kind: limits.TWA8,
		Value: 0.05, Unit: milligrams, Source: "invented for this test", As: "Pb"}
	dustRule = &limits.Limit{Analyte: "dust", Form: "respirable", Authority: "EXA", Instrument: "Invented Order 7, paragraph 3", Kind: limits.TWA8,
		Value: 5, Unit: milligrams, Source: "invented for this test"}
	fibreRule = &limits.Limit{Analyte: "asbestos", Form: "total", Authority: "Body Two", Kind: limits.STEL, AveragingMin: 30,
		Value: 1, Unit: fibres, User: true, Comparator: limits.AtOrAbove, Source: "the user's own"}
)

// hostileWorker is a formula that starts a program where a spreadsheet takes
// it for one; hostileNote is markup.
const (
	hostileWorker = `=cmd|' /C calc'!A0`
	hostileNote   = `<script>alert("x")</script>`
)

func demo() *Report {
	settings := exposure.DefaultSettings()
	settings.Title = "Repair hall, dust & fume"
	settings.Site = "Hall 3, Example Works"
	settings.ReportNumber = "R-12 & 13"
	settings.Limits.Authorities = []string{"EXA", "Body Two"}
	settings.Holidays = []string{"2026-04-03", "2026-04-06"}
	samples := demoSamples()
	day := &exposure.WorkerShift{Worker: "W01", Group: "fitters", Shift: "day", Minutes: 480, Start: at(7, 0)}
	night := &exposure.WorkerShift{Worker: hostileWorker, Group: "fitters", Shift: "W02 2026-03-02", Minutes: 600, Start: zoned(22, 0)}
	exposures := demoExposures(day, night)
	comparisons := demoComparisons(exposures)
	return &Report{
		Version: "0.0.0-test",
		Created: time.Date(2026, 3, 20, 9, 30, 0, 0, time.UTC),
		Results: &exposure.Results{
			Settings: settings,
			Surveys: []*survey.Survey{{Path: "hall3.xlsx", Inputs: []survey.Input{
				{Path: "hall3.xlsx", SHA256: "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"}}}},
			Findings:       demoFindings(),
			Samples:        samples,
			Concentrations: demoConcentrations(samples),
			Exposures:      exposures,
			Comparisons:    comparisons,
			Mixtures: []exposure.MixtureResult{{WorkerShift: day, Mixture: "metals", Authority: "EXA", Kind: limits.TWA8,
				Basis: exposure.Over8h, Index: stats.Exact(1.0004), Outcome: limits.Undecided, Parts: []*exposure.Comparison{&comparisons[0]}}},
		},
	}
}

func demoSamples() []exposure.Sample {
	return []exposure.Sample{
		{ID: "B-1", Kind: survey.Blank, Medium: "filter"},
		{ID: "S-1", Kind: survey.Personal, Worker: "W01", Group: "fitters", Shift: "day", Train: "T1", Leg: "A", Medium: "filter",
			Start: at(7, 5), Stop: at(14, 50), Minutes: stats.Some(465), FlowPre: stats.Some(2.004), FlowPost: stats.Some(1.89),
			Flow: stats.Some(1.947), DriftPct: stats.Some(-5.688622754491018), TargetDevPct: stats.Some(-5.5), Volume: stats.Some(905.355),
			VolumeLow: stats.Some(878.85), VolumeHigh: stats.Some(931.86), UVolumeRel: stats.Some(0.0181)},
		{ID: "S-2", Kind: survey.Personal, Worker: hostileWorker, Group: "fitters", Shift: "W02 2026-03-02", Train: "T2", Leg: "A", Medium: "=filter",
			Start: zoned(22, 10), Stop: zoned(23, 40), Minutes: stats.Some(90), Flow: stats.Some(0.2), Volume: stats.Some(18), Void: true},
	}
}

func demoConcentrations(s []exposure.Sample) []exposure.Concentration {
	drifted := stats.Interval{Low: 0.048, Value: 0.0503, High: 0.0521}
	return []exposure.Concentration{
		{Sample: &s[0], Substance: lead, HasMass: true, Mass: stats.Under(0.5, 0.25)},
		{Sample: &s[1], Substance: lead, HasMass: true, Mass: stats.Exact(45.54), MassUncorrected: 45.8, Blank: stats.Some(0.26),
			HasAir: true, Air: drifted, URel: stats.Some(0.062)},
		{Sample: &s[1], Substance: dust, HasMass: true, Mass: stats.Under(50, 25), MassUncorrected: 25, HasAir: true, Air: stats.Under(0.0623, 0.03115)},
		{Sample: &s[1], Substance: fibre, Quantity: exposure.OfFibres, HasAir: true, Air: stats.AtLeast(0.12)},
		{Sample: &s[2], Substance: hostile, HasMass: true, Mass: stats.Exact(1e-7), MassUncorrected: 1e-7, HasAir: true, Void: true,
			Air: stats.Interval{Low: 0.1, Value: 0.12, High: 0.15}, PPM: stats.Some(3)},
	}
}

func demoExposures(day, night *exposure.WorkerShift) []exposure.Exposure {
	ofDay := func(s *exposure.Substance, samples ...string) *exposure.Sampled {
		return &exposure.Sampled{Substance: s, SampledMin: 465, Coverage: stats.Some(96.875), Samples: samples}
	}
	return []exposure.Exposure{
		{WorkerShift: day, Sampled: ofDay(lead, "S-1", "S-2"), Basis: exposure.Over8h,
			Value: stats.Interval{Low: 0.048, Value: 0.05, High: 0.0521}, IfZero: stats.Exact(0.0487), IfSame: stats.Exact(0.0503)},
		{WorkerShift: day, Sampled: ofDay(dust, "S-1"), Basis: exposure.Over8h,
			Value: stats.Exact(5.003), IfZero: stats.Exact(4.847), IfSame: stats.Exact(5.003)},
		{WorkerShift: night, Basis: exposure.Short, Sample: "S-2", Start: zoned(22, 10),
			Sampled: &exposure.Sampled{Substance: fibre, Quantity: exposure.OfFibres, SampledMin: 90, Samples: []string{"S-2"}},
			Value:   stats.AtLeast(0.12), IfZero: stats.AtLeast(0.12), IfSame: stats.AtLeast(0.12)},
	}
}

func demoComparisons(e []exposure.Exposure) []exposure.Comparison {
	return []exposure.Comparison{
		{Exposure: &e[0], Basis: exposure.Over8h, Limit: leadRule, LimitValue: 0.05, Value: 0.05,
			Fraction: stats.Interval{Low: 0.96, Value: 1, High: 1.042}, SAE: stats.Some(0.11), LCL: stats.Some(0.85), UCL: stats.Some(1.152), Outcome: limits.Undecided},
		{Exposure: &e[1], Basis: exposure.Over8h, Limit: dustRule, LimitValue: 5, Value: 5.003,
			Fraction: stats.Exact(1.0006), Outcome: limits.Exceeds},
		{Exposure: &e[2], Basis: exposure.Short, Sample: "S-2", Limit: fibreRule, LimitValue: 1, Value: 0.12,
			Fraction: stats.Interval{Low: 0.12, Value: 0.12, High: math.Inf(1)}, Outcome: limits.Undecided},
	}
}

func demoFindings() []finding.Finding {
	unread := func(row int, cell, read string) finding.Finding {
		return finding.Finding{Severity: finding.Stop, Code: "unreadable-number",
			Place:   finding.Place{File: "hall3.xlsx", Table: "flows", Row: row, Column: "readings", Cell: cell},
			Subject: "S-3", Message: "readings " + read + " is not a number; expected a flow", Remedy: "write the number plainly, such as 2.04"}
	}
	return []finding.Finding{
		{Severity: finding.Check, Code: "flow-drift", Place: finding.Place{File: "hall3.xlsx", Table: "flows", Row: 9},
			Subject: "S-1", Message: "flow fell by 5.69 % from pre to post; the limit is 5 %",
			Remedy: "look for a leak or a loaded filter, and keep or void the sample by drift_policy"},
		{Severity: finding.Note, Code: "unknown-column", Place: finding.Place{File: "hall3.xlsx", Table: "samples"},
			Subject: hostileNote, Message: "the column " + hostileNote + " is not one that is used", Remedy: "nothing, or correct its name"},
		unread(12, "E12", "2,O4"),
		unread(13, "E13", "l.99"),
		unread(14, "E14", strings.Repeat("x", 120)),
	}
}
