package reports

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"airtally/exposure"
	"airtally/exposure/survey"
)

const (
	mostDays      = 10 // days drawn
	mostDayShifts = 12 // shifts of one
)

// sampledShift is a worker's shift with the samples taken in it.
type sampledShift struct {
	*survey.Shift
	gaps    []*survey.Gap
	samples []*exposure.Sample
}

// days returns the shifts with their samples by the day they start, and how
// many days there are beyond.
func (r *Report) days() (days [][]*sampledShift, more int) {
	own := map[*survey.Sample]*exposure.Sample{}
	for i := range r.Samples {
		own[r.Samples[i].Row] = &r.Samples[i]
	}
	var all []*sampledShift
	for _, s := range r.Surveys {
		all = append(all, sampledShifts(s, own)...)
	}
	slices.SortStableFunc(all, func(a, b *sampledShift) int {
		return cmp.Or(a.Start.T.Compare(b.Start.T), cmp.Compare(a.Worker, b.Worker))
	})
	for _, x := range all {
		last := len(days) - 1
		if last < 0 || dayText(days[last][0].Start) != dayText(x.Start) {
			days, last = append(days, nil), last+1
		}
		days[last] = append(days[last], x)
	}
	return atMost(days, mostDays)
}

// sampledShifts returns the shifts of a survey in which samples were taken, as
// far as their times are known.
func sampledShifts(s *survey.Survey, own map[*survey.Sample]*exposure.Sample) []*sampledShift {
	type key struct{ worker, shift string }
	at := map[key]*sampledShift{}
	var all []*sampledShift
	for i := range s.Shifts {
		if row := &s.Shifts[i]; drawnMoment(row.Start) && drawnMoment(row.End) && row.End.T.After(row.Start.T) {
			x := &sampledShift{Shift: row}
			at[key{row.Worker, row.ID}] = x
			all = append(all, x)
		}
	}
	for i := range s.Gaps {
		if x := at[key{s.Gaps[i].Worker, s.Gaps[i].Shift}]; x != nil {
			x.gaps = append(x.gaps, &s.Gaps[i])
		}
	}
	for i := range s.Samples {
		sample := own[&s.Samples[i]]
		if sample == nil || sample.Kind != survey.Personal || !drawnMoment(sample.Start) || !drawnMoment(sample.Stop) {
			continue
		}
		if x := at[key{sample.Worker, sample.Shift}]; x != nil {
			x.samples = append(x.samples, sample)
		}
	}
	return slices.DeleteFunc(all, func(x *sampledShift) bool { return len(x.samples) == 0 })
}

func drawnMoment(m survey.Moment) bool { return m.Known && !m.Bare && !m.DateOnly }

// legsOf returns the samples by leg, those of one train together.
func (x *sampledShift) legsOf() [][]*exposure.Sample {
	sorted := slices.Clone(x.samples)
	slices.SortStableFunc(sorted, func(a, b *exposure.Sample) int {
		return cmp.Or(cmp.Compare(a.Train, b.Train), cmp.Compare(a.Leg, b.Leg), a.Start.T.Compare(b.Start.T))
	})
	var legs [][]*exposure.Sample
	for _, s := range sorted {
		last := len(legs) - 1
		if last < 0 || legs[last][0].Train != s.Train || legs[last][0].Leg != s.Leg {
			legs, last = append(legs, nil), last+1
		}
		legs[last] = append(legs[last], s)
	}
	return legs
}

// drawDay draws the shifts of one day: a frame from start to end, and in it a
// bar for each sample, by leg.
func drawDay(shifts []*sampledShift, id string) pageFigure {
	more := max(0, len(shifts)-mostDayShifts)
	shifts = shifts[:len(shifts)-more]
	const left, right, top, legHeight, space = 78.0, 342.0, 8.0, 9.0, 10.0
	from, to := shifts[0].Start.T, shifts[0].End.T
	height := top
	for _, x := range shifts {
		for _, t := range append(x.ends(), x.Start.T, x.End.T) {
			from, to = earlier(from, t), later(to, t)
		}
		height += legHeight*float64(len(x.legsOf())) + space
	}
	from, to = from.Truncate(time.Hour), to.Add(time.Hour-time.Second).Truncate(time.Hour)
	day := dayText(shifts[0].Start)
	d := newDrawing(id, "Shifts of "+day, height+26)
	x := scale{from: left, to: right, low: 0, high: to.Sub(from).Minutes()}
	minute := func(t time.Time) float64 { return x.at(t.Sub(from).Minutes()) }
	d.hours(x, from, to, top-4, height)
	y := top
	var said []string
	for _, s := range shifts {
		y = d.shift(s, minute, y, legHeight) + space
		said = append(said, s.words())
	}
	d.says = strings.Join(said, " ")
	return pageFigure{Caption: day, Drawing: d.html(), More: moreText(more, "shift")}
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

func (x *sampledShift) ends() []time.Time {
	var all []time.Time
	for _, s := range x.samples {
		all = append(all, s.Start.T, s.Stop.T)
	}
	return all
}

// hours draws the hours of the day down the rows.
func (d *drawing) hours(x scale, from, to time.Time, top, bottom float64) {
	hours := int(to.Sub(from).Hours())
	every := 1 + hours/7
	for h := 0; h <= hours; h += every {
		t := from.Add(time.Duration(h) * time.Hour)
		at := x.at(float64(h) * 60)
		d.line("gr", at, top, at, bottom)
		d.words("ax mid", at, bottom+12, t.Format("15:04"), figureWidth)
	}
	d.line("axl", x.from, bottom, x.to, bottom)
}

// shift draws one shift and returns where it ends.
func (d *drawing) shift(x *sampledShift, at func(time.Time) float64, y, legHeight float64) float64 {
	legs := x.legsOf()
	height := legHeight * float64(len(legs))
	d.words("lb end", 70, y+height/2+3.5, x.Worker, 68)
	d.box("frame", at(x.Start.T), y-2, at(x.End.T)-at(x.Start.T), height+3)
	for _, g := range x.gaps {
		if drawnMoment(g.Start) && drawnMoment(g.End) {
			d.box("gap", at(g.Start.T), y-2, at(g.End.T)-at(g.Start.T), height+3)
		}
	}
	for i, leg := range legs {
		top := y + legHeight*float64(i)
		for _, s := range leg {
			class := "bar"
			if s.Void {
				class = "barvoid"
			}
			from, to := at(s.Start.T), at(s.Stop.T)
			d.box(class, from, top, to-from, legHeight-2)
			if pause := float64(s.Row.Pause); pause > 0 {
				if whole := s.Stop.T.Sub(s.Start.T).Minutes(); whole > 0 {
					width := (to - from) * math.Min(1, pause/whole)
					d.box("pause", (from+to-width)/2, top, width, legHeight-2)
				}
			}
		}
	}
	return y + height
}

// words says what is drawn of a shift.
func (x *sampledShift) words() string {
	said := fmt.Sprintf("%s, %s to %s:", x.Worker, x.Start.T.Format("15:04"), x.End.T.Format("15:04"))
	for i, leg := range x.legsOf() {
		if i > 0 {
			said += ";"
		}
		for _, s := range leg {
			said += fmt.Sprintf(" %s %s–%s", s.ID, s.Start.T.Format("15:04"), s.Stop.T.Format("15:04"))
			if s.Row.Pause > 0 {
				said += fmt.Sprintf(", paused %s min", publishedText(float64(s.Row.Pause)))
			}
			if s.Void {
				said += ", void"
			}
		}
	}
	for _, g := range x.gaps {
		said += fmt.Sprintf("; stated gap %s–%s", g.Start.T.Format("15:04"), g.End.T.Format("15:04"))
	}
	return said + "."
}
