package reports

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/limits"
	"airtally/stats"
)

// statusText says how well a duty is known.
func statusText(status string) string {
	if status == limits.FromMemory {
		return "from memory: check the official text"
	}
	return status
}

func (r *Report) followUps() array {
	type row = exposure.FollowUp
	return arrayOf("followup", "Follow-up", r.Results.FollowUps(), []field[row]{
		in("worker", "Worker", figures, func(f *row) cell { return text(f.Worker) }),
		in("shift", "Shift", figures, func(f *row) cell { return text(f.Shift) }),
		in("analyte", "Analyte", figures, func(f *row) cell { return text(f.Substance.Analyte) }),
		in("standard", "Standard", figures, func(f *row) cell { return text(f.Standard) }),
		in("band", "Where the exposure lies", remark, func(f *row) cell { return text(f.Band) }).
			noted("By the measured value. Where its bounds reach several bands, the strictest."),
		in("action", "What the standard asks", prose, func(f *row) cell { return text(f.Action) }).
			noted(limits.FollowUpCaution),
		in("due", "Due", figures, func(f *row) cell { return text(f.Due).where(f.Due != "") }).
			noted("The last day, where the day it is counted from is known."),
		in("base_event", "Counted from", figures, func(f *row) cell { return text(string(f.BaseEvent)) }),
		in("citation", "Paragraph", remark, func(f *row) cell { return text(f.Citation) }),
		in("status", "", figures, func(f *row) cell { return text(f.Status) }),
		in("", "How well known", remark, func(f *row) cell { return text(statusText(f.Status)) }),
	}).footed(limits.FollowUpCaution)
}

// respirators returns the advice on what would cover exposures not shown to be
// below a limit.
func (r *Report) respirators() array {
	type row = exposure.Protection
	return arrayOf("", "Respirators (advice)", r.Protections(), []field[row]{
		in("", "Worker", figures, func(p *row) cell { return text(p.Worker) }),
		in("", "Shift", figures, func(p *row) cell { return text(shiftText(p.Shift, p.Sample)) }),
		in("", "Analyte", figures, func(p *row) cell { return text(p.Substance.Analyte) }),
		in("", "Limit", figures, func(p *row) cell { return text(p.Limit.Authority + " " + string(p.Limit.Kind)) }),
		in("", "Upper bound over the limit", figures, func(p *row) cell { return optional(p.Ratio) }).
			noted("The hazard ratio: the upper bound of the exposure, with its error, over the limit."),
		in("", "Smallest factor that covers it", published, func(p *row) cell { return number(p.Factor).where(p.Covered) }).
			noted("Assigned protection factor, 29 CFR 1910.134 Table 1."),
		in("", "Classes", prose, func(p *row) cell { return text(classesText(p)) }),
	}).footed(limits.RespiratorCaution)
}

func classesText(p *exposure.Protection) string {
	if !p.Covered {
		return limits.NoRespirator
	}
	if len(p.Classes) == 0 {
		return "none is needed by this arithmetic"
	}
	var names []string
	for _, c := range p.Classes {
		name := c.Type + ", " + c.Facepiece
		if c.NeedsEvidence {
			name += " (" + limits.RespiratorEvidence + ")"
		}
		names = append(names, name)
	}
	return strings.Join(names, "; ")
}

// reducedLimits returns the advice on limits for long shifts.
func (r *Report) reducedLimits(weekHours stats.Optional) array {
	type row = exposure.Reduced
	given := func(get func(*row) cell) func(*row) cell {
		return func(x *row) cell { return get(x).where(x.Refused == "") }
	}
	return arrayOf("", "Long shifts (advice)", r.ReducedLimits(weekHours), []field[row]{
		in("", "Worker", figures, func(x *row) cell { return text(x.Worker) }),
		in("", "Shift", figures, func(x *row) cell { return text(x.Shift) }),
		in("", "Hours", figures, func(x *row) cell { return number(x.Minutes / 60) }),
		in("", "Analyte", figures, func(x *row) cell { return text(x.Substance.Analyte) }),
		in("", "Limit", figures, func(x *row) cell { return text(x.Limit.Authority + " " + string(x.Limit.Kind)) }),
		in("", "For 8 hours", published, func(x *row) cell { return number(x.Limit.Value) }),
		in("", "Factor", figures, given(func(x *row) cell { return number(x.Factor) })).noted("Brief and Scala, the smaller of the day's and the week's."),
		in("", "Reduced", figures, given(func(x *row) cell { return number(x.ReducedLimit.Value) })),
		in("", "Unit", figures, func(x *row) cell { return text(prettyUnit(x.Limit.Unit.Name)) }),
		in("", "Mean over the shift, of it", span, given(func(x *row) cell { return text(percentOf(x.Fraction)) })),
		in("", "Why none", remark, func(x *row) cell { return text(x.Refused).where(x.Refused != "") }),
	}).footed(limits.ReducedCaution)
}

// dueRows is how many lines the terminal has for what is due.
const dueRows = 8

// datedDuty is what a standard asks of several workers by one day.
type datedDuty struct {
	due, analyte, action, citation string
	workers                        []string
}

// dated returns the notices and the measurements that standards ask for by a
// day that is known, the earliest first.
func (r *Report) dated() []*datedDuty {
	type key struct{ due, analyte, action, citation string }
	at := map[key]*datedDuty{}
	var all []*datedDuty
	for _, f := range r.Results.FollowUps() {
		if f.Due == "" || f.Duty != limits.DutyNotify && f.Duty != limits.DutyMonitor {
			continue
		}
		k := key{f.Due, f.Substance.Analyte, f.Action, f.Citation}
		if at[k] == nil {
			at[k] = &datedDuty{due: f.Due, analyte: f.Substance.Analyte, action: f.Action, citation: f.Citation}
			all = append(all, at[k])
		}
		if d := at[k]; !slices.Contains(d.workers, f.Worker) {
			d.workers = append(d.workers, f.Worker)
		}
	}
	slices.SortStableFunc(all, func(a, b *datedDuty) int {
		return cmp.Or(cmp.Compare(a.due, b.due), cmp.Compare(a.analyte, b.analyte))
	})
	return all
}

// writeDue writes what the standards ask next, the earliest first: notices, and
// measurements to repeat.
func (r *Report) writeDue(p *page) {
	all := r.dated()
	if len(all) == 0 {
		return
	}
	p.heading("What the standards ask next")
	for _, d := range all[:min(len(all), dueRows)] {
		p.strong(fmt.Sprintf("by %s  %s  %s", d.due, d.analyte, strings.Join(d.workers, ", ")))
		p.wrapped("  ", "  ", d.action+" ("+d.citation+")")
	}
	if more := len(all) - dueRows; more > 0 {
		p.wrapped("", "", fmt.Sprintf("and %d more; see the sheet Follow-up", more))
	}
	p.wrapped("", "", limits.FollowUpCaution)
}
