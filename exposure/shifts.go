package exposure

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
)

// clusterGap is how long a worker may go unsampled inside one shift that has
// no row of its own.
const clusterGap = 4 * time.Hour

// instant is how far, in minutes, times may differ and count as the same.
const instant = 1e-6

// turn is one worker in one shift while it is put together.
type turn struct {
	WorkerShift
	row     *survey.Shift // nil where the shifts table has none
	samples []*Sample     // personal, not void, by start and id
	gaps    []*survey.Gap

	gapUsed   []float64 // min of each gap that count, for the substance where most do
	valueGaps bool      // a gap is stated as a value, which not every substance can take
}

// shiftKey names a row of the shifts table.
type shiftKey struct{ shift, worker string }

// turns gathers the personal samples into worker-shifts, sorted by worker and
// shift.
func (r *reduction) turns() []*turn {
	rows := map[shiftKey]*survey.Shift{}
	byWorker := map[string][]*survey.Shift{}
	for i := range r.survey.Shifts {
		row := &r.survey.Shifts[i]
		rows[shiftKey{row.ID, row.Worker}] = row
		byWorker[row.Worker] = append(byWorker[row.Worker], row)
	}
	named := map[shiftKey][]*Sample{}
	unnamed := map[string][]*Sample{}
	for i := range r.samples {
		s := &r.samples[i]
		if s.Kind != survey.Personal {
			continue
		}
		r.checkWorker(s)
		if s.Shift == "" {
			if row := overlapping(byWorker[s.Worker], s); row != nil {
				s.Shift = row.ID
			}
		}
		switch key := (shiftKey{s.Shift, s.Worker}); {
		case s.Worker == "" || s.Void:
		case rows[key] == nil:
			unnamed[s.Worker] = append(unnamed[s.Worker], s)
		default:
			named[key] = append(named[key], s)
		}
	}
	var all []*turn
	for key, samples := range named {
		all = append(all, r.newTurn(key, rows[key], samples))
	}
	for worker, samples := range unnamed {
		taken := map[string]bool{}
		for _, cluster := range clusters(samples) {
			name := clusterName(worker, cluster)
			if taken[name] {
				name += cluster[0].Start.T.Format(" 15:04")
			}
			taken[name] = true
			r.checkUnknownShift(cluster, name)
			all = append(all, r.newTurn(shiftKey{name, worker}, nil, cluster))
		}
	}
	slices.SortFunc(all, func(a, b *turn) int { return compareShifts(&a.WorkerShift, &b.WorkerShift) })
	r.giveGaps(all)
	r.idleShifts(rows, named)
	return all
}

func compareShifts(a, b *WorkerShift) int {
	return cmp.Or(cmp.Compare(a.Worker, b.Worker), cmp.Compare(a.Group, b.Group), cmp.Compare(a.Shift, b.Shift))
}

// checkUnknownShift tells of samples that name a shift without a row: it is
// taken from their times. That weighs less where the survey lists no shifts.
func (r *reduction) checkUnknownShift(cluster []*Sample, name string) {
	severity := finding.Check
	if len(r.survey.Shifts) == 0 {
		severity = finding.Note
	}
	for _, s := range cluster {
		if s.Shift != "" {
			r.findings.AddAs(severity, finding.UnknownShift, s.Row.Place("shift"), []string{s.ID, s.Shift, s.Worker},
				finding.Values{"sample": s.ID, "shift": s.Shift, "worker": s.Worker, "name": name})
		}
	}
}

// checkWorker tells of a personal sample whose worker is missing or unknown.
func (r *reduction) checkWorker(s *Sample) {
	switch {
	case s.Worker == "":
		r.findings.Add(finding.NoWorker, s.Row.Place("worker"), []string{s.ID}, finding.Values{"sample": s.ID})
	case r.workers[s.Worker] == nil && len(r.workers) > 0:
		r.findings.Add(finding.UnknownWorker, s.Row.Place("worker"), []string{s.ID, s.Worker},
			finding.Values{"sample": s.ID, "worker": s.Worker})
	}
}

// overlapping returns the shift row in which most of a sample lies.
func overlapping(rows []*survey.Shift, s *Sample) *survey.Shift {
	if !timed(s.Start) {
		return nil
	}
	stop := s.stop()
	var best *survey.Shift
	most := 0.0
	for _, row := range rows {
		if !timed(row.Start) || !timed(row.End) {
			continue
		}
		from, to := row.Start.T, row.End.T
		if s.Start.T.After(from) {
			from = s.Start.T
		}
		if stop.Before(to) {
			to = stop
		}
		if shared := to.Sub(from).Minutes(); shared > most {
			best, most = row, shared
		}
	}
	return best
}

// stop returns when a sample that has a start ended: by the clock, else by
// its minutes.
func (s *Sample) stop() time.Time {
	if timed(s.Stop) {
		return s.Stop.T
	}
	return s.Start.T.Add(time.Duration(s.Minutes.Value * float64(time.Minute)))
}

// clusters splits one worker's samples where none was running for four hours.
func clusters(samples []*Sample) [][]*Sample {
	slices.SortFunc(samples, compareStart)
	var all [][]*Sample
	var end time.Time
	for i, s := range samples {
		if i == 0 || timed(s.Start) && s.Start.T.Sub(end) >= clusterGap {
			all = append(all, nil)
		}
		last := len(all) - 1
		all[last] = append(all[last], s)
		if timed(s.Start) && s.stop().After(end) {
			end = s.stop()
		}
	}
	return all
}

func compareStart(a, b *Sample) int {
	return cmp.Or(a.Start.T.Compare(b.Start.T), strings.Compare(a.ID, b.ID))
}

// clusterName names a shift without a row: worker and start date.
func clusterName(worker string, samples []*Sample) string {
	for _, s := range samples {
		if timed(s.Start) {
			return worker + " " + dateOf(s.Start.T)
		}
	}
	return worker
}

func dateOf(t time.Time) string { return t.Format("2006-01-02") }

// newTurn puts one worker-shift together: its time, and the policy that its
// unsampled minutes take.
func (r *reduction) newTurn(key shiftKey, row *survey.Shift, samples []*Sample) *turn {
	slices.SortFunc(samples, compareStart)
	t := &turn{row: row, samples: samples}
	t.Worker, t.Shift, t.of = key.worker, key.shift, r
	if w := r.workers[key.worker]; w != nil {
		t.Group = w.Group
	}
	for _, s := range samples {
		s.Shift = key.shift
	}
	t.Policy = r.settings.Unsampled
	if row != nil && row.Unsampled != survey.PolicyUnstated {
		t.Policy, t.PolicyStated = row.Unsampled, true
	}
	t.setTime(r.settings.ShiftMin)
	if row != nil {
		r.checkOutside(t)
	}
	return t
}

// setTime sets start and minutes: the row's, else the larger of shift_min and
// the span of the samples.
func (t *turn) setTime(shiftMin float64) {
	if t.row != nil && timed(t.row.Start) {
		t.Start = t.row.Start
		if timed(t.row.End) {
			t.Minutes = t.row.End.T.Sub(t.row.Start.T).Minutes()
			return
		}
	}
	var end time.Time
	for _, s := range t.samples {
		if !timed(s.Start) {
			continue
		}
		if !t.Start.Known || t.row == nil && s.Start.T.Before(t.Start.T) {
			t.Start = s.Start
		}
		if s.stop().After(end) {
			end = s.stop()
		}
	}
	t.Minutes = shiftMin
	if t.Start.Known {
		t.Minutes = math.Max(shiftMin, end.Sub(t.Start.T).Minutes())
	}
}

// span returns a sample's time in minutes from the start of its shift, and
// false where the clock does not place it.
func (t *turn) span(s *Sample) (from, to float64, placed bool) {
	if !timed(s.Start) || !t.Start.Known {
		return 0, 0, false
	}
	return s.Start.T.Sub(t.Start.T).Minutes(), s.stop().Sub(t.Start.T).Minutes(), true
}

// checkOutside tells of minutes that were sampled outside the shift.
func (r *reduction) checkOutside(t *turn) {
	for _, s := range t.samples {
		from, to, placed := t.span(s)
		if !placed || !s.Minutes.Known {
			continue
		}
		outside := to - from - math.Max(0, math.Min(to, t.Minutes)-math.Max(from, 0))
		if outside > instant {
			severity := finding.Check
			if to-from-outside <= instant {
				severity = finding.Stop // nothing of the sample is left
			}
			r.findings.AddAs(severity, finding.OutsideShift, s.Row.Place("start"), []string{s.ID, t.Shift, t.Worker},
				finding.Values{"sample": s.ID, "shift": t.Shift, "minutes": outside, "total": to - from})
		}
	}
}

// giveGaps hands each row of the gaps table to its worker-shift.
func (r *reduction) giveGaps(all []*turn) {
	byKey := map[shiftKey]*turn{}
	for _, t := range all {
		byKey[shiftKey{t.Shift, t.Worker}] = t
		if t.row == nil { // a gap may use the name that the samples gave
			byKey[shiftKey{t.samples[0].Row.Shift, t.Worker}] = t
		}
	}
	for i := range r.survey.Gaps {
		gap := &r.survey.Gaps[i]
		t := byKey[shiftKey{gap.Shift, gap.Worker}]
		if t == nil || !timed(gap.Start) || !timed(gap.End) || !t.Start.Known {
			r.findings.Add(finding.GapUnused, gap.Place("shift"), []string{gap.Shift, gap.Worker},
				finding.Values{"shift": gap.Shift, "worker": gap.Worker})
			continue
		}
		t.gaps = append(t.gaps, gap)
		t.gapUsed = append(t.gapUsed, 0)
		t.valueGaps = t.valueGaps || gap.Treat == survey.PolicyUnstated
	}
	for _, t := range all {
		slices.SortFunc(t.gaps, func(a, b *survey.Gap) int { return a.Start.T.Compare(b.Start.T) })
	}
}

// idleShifts tells of shifts in which nothing was sampled.
func (r *reduction) idleShifts(rows map[shiftKey]*survey.Shift, named map[shiftKey][]*Sample) {
	for key, row := range rows {
		if len(named[key]) == 0 {
			r.findings.Add(finding.IdleShift, row.Place("shift"), []string{key.shift, key.worker},
				finding.Values{"shift": key.shift, "worker": key.worker})
		}
	}
}
