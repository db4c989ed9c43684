package exposure

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
)

// pastExposure is a row of the history table that a group counts.
type pastExposure struct {
	row      *survey.HistoryRow
	exposure stats.Interval // in the unit of the group's limit
}

// date returns the day of the exposure, "" where it is not known.
func (h pastExposure) date() string { return dateText(h.row.Date) }

func dateText(m survey.Moment) string {
	if !m.Known || m.Bare {
		return ""
	}
	return dateOf(m.T)
}

// pool adds the history of all surveys to the groups.
func (b *groupBook) pool(reductions []*reduction) {
	p := pooling{groupBook: b, seen: map[pastKey]*reduction{}, days: map[*Group]map[workerDay]string{}, rows: map[groupSubject]int{}}
	for _, r := range reductions {
		for i := range r.survey.History {
			p.add(r, &r.survey.History[i])
		}
	}
	p.report()
}

// pooling adds earlier exposures to groups.
type pooling struct {
	*groupBook
	seen  map[pastKey]*reduction // where each row was met first
	days  map[*Group]map[workerDay]string
	rows  map[groupSubject]int // taken as a form, or as none where nobody has the analyte
	first []told
}

type workerDay struct{ worker, date string }

// pastKey is what makes two rows of history the same.
type pastKey struct {
	group, analyte, worker, date, unit string
	value                              stats.Interval
}

// told is what is told once of all rows of a group and analyte.
type told struct {
	row     *survey.HistoryRow
	subject groupSubject
	reason  string
}

// add adds one row to every limit of its group. The same row in the history of
// several surveys counts once.
func (p *pooling) add(r *reduction, row *survey.HistoryRow) {
	key := pastKey{row.Group, row.Analyte, row.Worker, dateText(row.Date), row.Unit.Name, row.Value}
	if first := p.seen[key]; first != nil && first != r {
		return
	}
	p.seen[key] = r
	groups, form, reason := p.formOf(row)
	subject := groupSubject{row.Group, row.Analyte, form}
	if p.rows[subject]++; p.rows[subject] == 1 && reason != "" {
		p.first = append(p.first, told{row, subject, reason})
	}
	var refused []string
	for _, g := range groups {
		exposure, ok := g.inUnitOf(row.Value, row.Unit, r.settings.Limits.MolarVolume)
		shift, met := p.daysOf(g)[workerDay{row.Worker, dateText(row.Date)}]
		switch {
		case !ok:
			refused = append(refused, g.limitName())
			g.exclude(row.Worker, "", fmt.Sprintf("earlier exposure of %s in %s cannot be put in %s", dateText(row.Date), row.Unit.Name, g.Limit.Unit.Name))
		case !(exposure.High > 0):
			refused = append(refused, g.limitName())
			g.exclude(row.Worker, "", fmt.Sprintf("earlier exposure of %s is 0, which is not a result", dateText(row.Date)))
		case met:
			refused = append(refused, g.limitName())
			g.exclude(row.Worker, "", fmt.Sprintf("earlier exposure of %s is of the day of shift %s, which is counted", dateText(row.Date), shift))
		default:
			g.history = append(g.history, pastExposure{row, exposure})
		}
	}
	if len(refused) > 0 {
		p.refuse(row, refused)
	}
}

// formOf returns the groups, of one form of the analyte, that a row belongs to.
// The history table has no form: what has several is taken as total, as
// wherever a form is not stated. The reason is "" where nothing is to be told.
func (p *pooling) formOf(row *survey.HistoryRow) (groups []*Group, form, reason string) {
	var forms []string
	for subject := range p.bySubject {
		if subject.group == row.Group && subject.analyte == row.Analyte {
			forms = append(forms, subject.form)
		}
	}
	slices.Sort(forms)
	switch {
	case len(forms) == 0:
		return nil, "", "the group has no exposure to it that is compared with a limit for the average of hours"
	case slices.Contains(forms, limits.DefaultForm):
		form = limits.DefaultForm
		if len(forms) > 1 {
			reason = "a form that is not stated is total"
		}
	case len(forms) == 1:
		form, reason = forms[0], "no other form of it was sampled in the group"
	default:
		return nil, "", "it was sampled as " + strings.Join(forms, " and ") + ", and the history table has no form"
	}
	return p.bySubject[groupSubject{row.Group, row.Analyte, form}], form, reason
}

// daysOf returns the days of the workers that a group counts, with the shift.
func (p *pooling) daysOf(g *Group) map[workerDay]string {
	days := p.days[g]
	if days == nil {
		days = map[workerDay]string{}
		for _, x := range g.members {
			if date := dateText(x.WorkerShift.Start); date != "" && x.Worker != "" {
				days[workerDay{x.Worker, date}] = x.Shift
			}
		}
		p.days[g] = days
	}
	return days
}

func (g *Group) limitName() string { return g.Limit.Authority + " " + string(g.Limit.Kind) }

// refuse tells of a row that does not count under some limits of its group.
func (p *pooling) refuse(row *survey.HistoryRow, refusedBy []string) {
	p.findings.Add(finding.HistoryLeftOut, row.Place("value"), []string{row.Group, row.Analyte, row.Worker}, finding.Values{
		"group": row.Group, "analyte": row.Analyte, "worker": row.Worker, "date": dateText(row.Date), "limits": distinct(refusedBy)})
}

// report tells of rows that belong to no group, and of the form that others
// were taken as.
func (p *pooling) report() {
	slices.SortFunc(p.first, func(a, b told) int {
		return cmp.Or(cmp.Compare(a.subject.group, b.subject.group), cmp.Compare(a.subject.analyte, b.subject.analyte))
	})
	for _, t := range p.first {
		s := t.subject
		values := finding.Values{"group": s.group, "analyte": s.analyte, "form": s.form, "n": p.rows[s], "reason": t.reason}
		code := finding.HistoryForm
		if s.form == "" {
			code = finding.HistoryUnused
		}
		p.findings.Add(code, t.row.Place("analyte"), []string{s.group, s.analyte}, values)
	}
}
