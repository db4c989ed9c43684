package reports

import (
	"fmt"
	"math"
	"strings"

	"airtally/exposure"
	"airtally/exposure/survey"
)

const mostDriftRows = 40 // legs of one figure; two are drawn

// legFlow is one leg with the flows of its checks.
type legFlow struct {
	name   string
	sample *exposure.Sample // the first of those that drew through it
}

// legFlows returns the legs that samples drew through, each deployment once.
func (r *Report) legFlows() []legFlow {
	var all []legFlow
	type key struct {
		of         *survey.Table
		train, leg string
		pre, post  float64
	}
	met := map[key]bool{}
	for i := range r.Samples {
		s := &r.Samples[i]
		if !s.FlowPre.Known || s.Row == nil {
			continue
		}
		k := key{s.Row.Table, s.Train, s.Leg, s.FlowPre.Value, s.FlowPost.Or(0)}
		if !met[k] {
			met[k] = true
			all = append(all, legFlow{strings.TrimSpace(s.Train + " " + s.Leg), s})
		}
	}
	return all
}

// driftPlots draws the change of flow of every leg.
func (r *Report) driftPlots() []pageFigure {
	legs := r.legFlows()
	more := max(0, len(legs)-2*mostDriftRows)
	legs = legs[:len(legs)-more]
	var all []pageFigure
	half := (len(legs) + 1) / 2
	if len(legs) <= 12 {
		half = len(legs)
	}
	for from := 0; from < len(legs); from += half {
		part := legs[from:min(from+half, len(legs))]
		all = append(all, r.drawDrift(part, fmt.Sprintf("fd%d", len(all)+1)))
	}
	if more > 0 {
		all[len(all)-1].More = moreText(more, "leg")
	}
	return all
}

func (r *Report) drawDrift(legs []legFlow, id string) pageFigure {
	allowed := r.Settings.Volume.DriftLimitPct
	const left, right, top, row = 76.0, 240.0, 22.0, 15.0
	bottom := top + row*float64(len(legs))
	d := newDrawing(id, "Change of flow from before to after, "+legs[0].name+" to "+legs[len(legs)-1].name, bottom+18)
	reach := math.Max(1.5*allowed, 1)
	for _, l := range legs {
		if l.sample.DriftPct.Known {
			reach = math.Max(reach, math.Abs(l.sample.DriftPct.Value)*1.1)
		}
	}
	reach = math.Min(reach, 100)
	x := scale{from: left, to: right, low: -reach, high: reach}
	d.box("band", x.at(-allowed), top, x.at(allowed)-x.at(-allowed), bottom-top)
	for _, v := range []float64{-allowed, allowed} {
		d.line("act", x.at(v), top-3, x.at(v), bottom)
	}
	d.line("axl", x.at(0), top-3, x.at(0), bottom)
	for _, v := range []float64{-allowed, 0, allowed} {
		d.words("ax mid", x.at(v), bottom+12, strings.TrimSuffix(signed(v), ".00")+" %", figureWidth)
	}
	d.words("ax end", figureWidth-4, 13, "before → after, L/min", figureWidth)
	var said []string
	for i, l := range legs {
		said = append(said, d.drift(l, x, top+row*(float64(i)+0.5), allowed))
	}
	d.says = fmt.Sprintf("Allowed: %s %% either way. %s.", publishedText(allowed), strings.Join(said, "; "))
	return pageFigure{Caption: legs[0].name + " to " + legs[len(legs)-1].name, Drawing: d.html()}
}

// drift draws one leg: an open ring at no change, and a mark where it came to.
func (d *drawing) drift(l legFlow, x scale, y, allowed float64) string {
	s := l.sample
	d.words("lb end", x.from-6, y+3.5, l.name, x.from-6)
	if !s.FlowPost.Known || !s.DriftPct.Known {
		d.mark(hollow, x.at(0), y)
		d.words("lb", x.to+6, y+3.5, flowText(s.FlowPre.Value)+" → no check", figureWidth-x.to)
		return l.name + " has no check after"
	}
	change := s.DriftPct.Value
	d.line("rng", x.at(0), y, x.at(change), y)
	d.mark(hollow, x.at(0), y)
	kind := known
	said := fmt.Sprintf("%s %s %%", l.name, signed(change))
	flows := flowText(s.FlowPre.Value) + " → " + flowText(s.FlowPost.Value)
	class := "lb"
	if side(math.Abs(change), allowed) > 0 {
		kind, class = over, "lb strong"
		said += ", over"
	}
	d.mark(kind, x.at(change), y)
	d.words(class, x.to+6, y+3.5, flows, figureWidth-x.to)
	return said
}

// flowText returns a flow with as many figures as readings have.
func flowText(v float64) string { return fixed(v, significantDecimals(v)+1) }

func signed(v float64) string {
	text := figureText(math.Abs(v))
	switch {
	case v > 0:
		return "+" + text
	case v < 0:
		return "−" + text
	}
	return text
}
