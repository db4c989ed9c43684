package reports

import (
	"fmt"
	"strings"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
)

// pageSample is the air of one sample.
type pageSample struct {
	ID, Row, Who, Leg, Medium, When string
	Minutes, Flow, Volume, Drift    string
	Off                             string // what is wrong with it
	Working                         *working
}

// quality fills in what the figures rest on: shifts, flows, volumes, blanks.
func (p *webPage) quality(r *Report, w *workings) {
	days, more := r.days()
	p.MoreDays = more
	for i, shifts := range days {
		p.Days = append(p.Days, drawDay(shifts, fmt.Sprintf("ft%d", i+1)))
	}
	p.Drift = r.driftPlots()
	for i := range r.Samples {
		s := &r.Samples[i]
		if s.Kind == survey.Blank {
			continue // blanks draw no air
		}
		if len(p.Samples) == pageSamples {
			p.MoreSample++
			continue
		}
		p.Samples = append(p.Samples, r.pageSampleOf(s, w))
	}
	for _, m := range r.BlankMeans() {
		p.Blanks = append(p.Blanks, pageBlank{strings.TrimSpace(m.Lot + " " + m.Medium), m.Analyte, m.Section.String(), strings.Join(m.Samples, ", "),
			figureText(m.Mean) + " " + heldUnit(m.Quantity)})
	}
}

type pageBlank struct{ Lot, Analyte, Section, Blanks, Mean string }

func (r *Report) pageSampleOf(s *exposure.Sample, w *workings) pageSample {
	row := pageSample{ID: s.ID, Row: w.rowOf(s), Who: s.Worker, Leg: strings.TrimSpace(s.Train + " " + s.Leg), Medium: s.Medium,
		When: timesText(s), Minutes: shown(s.Minutes, figureText), Flow: shown(s.Flow, flowText), Volume: shown(s.Volume, figureText)}
	if s.Worker == "" {
		row.Who = string(s.Kind)
	}
	allowed := r.Settings.Volume.DriftLimitPct
	if s.DriftPct.Known {
		row.Drift = signed(s.DriftPct.Value) + " %"
		if side(max(s.DriftPct.Value, -s.DriftPct.Value), allowed) > 0 {
			row.Off = "over " + publishedText(allowed) + " %"
		}
	}
	switch {
	case s.Void:
		row.Off = "void"
	case s.FlowPre.Known && !s.FlowPost.Known:
		row.Off = "no check after"
	}
	if s.Volume.Known {
		row.Working = w.chain(s, "volume_l", "volume_low_l", "volume_high_l", "drift_pct")
	}
	return row
}

func timesText(s *exposure.Sample) string {
	if !drawnMoment(s.Start) || !drawnMoment(s.Stop) {
		return dayText(s.Start)
	}
	stop := s.Stop.T.Format("15:04")
	if dayText(s.Start) != dayText(s.Stop) {
		stop = s.Stop.T.Format("2006-01-02 15:04")
	}
	return s.Start.T.Format("2006-01-02 15:04") + "–" + stop
}

// pageSeverity is the findings of one severity.
type pageSeverity struct {
	Name  string
	Codes []pageCode
}

type pageCode struct {
	Name  string
	Count int
	Notes []pageFinding
	More  int
}

// pageFinding is findings that say where, what, and what to do.
type pageFinding struct{ Where, Said, Remedy string }

var severityNames = []struct {
	of   finding.Severity
	name string
}{{finding.Stop, "Left out of the results"}, {finding.Check, "To look at before a figure is used"}, {finding.Note, "Worth knowing"}}

func (p *webPage) findings(r *Report) {
	for _, s := range severityNames {
		severity := pageSeverity{Name: s.name}
		for _, group := range r.byCode(s.of) {
			code := pageCode{Name: codeWords(group[0].Code), Count: len(group)}
			group, code.More = atMost(group, pageOfCode)
			for i, f := range group {
				said := f.Message
				if unsaid := notIn(f.Message, f.Subject); unsaid != "" {
					said = unsaid + ": " + said
				}
				note := pageFinding{r.everyPlace(f), said, f.Remedy}
				if i+1 < len(group) && group[i+1].Remedy == f.Remedy {
					note.Remedy = "" // said once, after the last that share it
				}
				code.Notes = append(code.Notes, note)
			}
			severity.Codes = append(severity.Codes, code)
		}
		if len(severity.Codes) > 0 {
			p.Findings = append(p.Findings, severity)
		}
	}
}
