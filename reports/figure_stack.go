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

const (
	mostStacks    = 6  // figures of mixtures
	mostStackRows = 30 // worker-shifts of one
	patterns      = 6  // that parts are told apart by; see the page's template
)

// stacks draws the mixtures against the limits for hours that govern them, and
// against the short-term ones where they are not shown to be below.
func (r *Report) stacks() (all []pageFigure) {
	type key struct {
		mixture, authority string
		kind               limits.Kind
	}
	at := map[key][]*exposure.MixtureResult{}
	named := map[string][]*exposure.MixtureResult{}
	var order []key
	for i := range r.Mixtures {
		m := &r.Mixtures[i]
		if !positive(m.Index.Value + m.Index.Low + bounded(m.Index.High)) {
			continue
		}
		k := key{m.Mixture, m.Authority, m.Kind}
		if at[k] == nil {
			order = append(order, k)
		}
		at[k] = append(at[k], m)
		named[m.Mixture] = append(named[m.Mixture], m)
	}
	slices.SortStableFunc(order, func(a, b key) int {
		return cmp.Or(cmp.Compare(r.authorityRank(a.authority), r.authorityRank(b.authority)), cmp.Compare(a.mixture, b.mixture), cmp.Compare(a.kind, b.kind))
	})
	for _, k := range order[:min(len(order), mostStacks)] {
		rows := at[k]
		slices.SortStableFunc(rows, func(a, b *exposure.MixtureResult) int { return cmp.Compare(b.Index.Value, a.Index.Value) })
		caption := fmt.Sprintf("%s, against %s %s", k.mixture, k.authority, k.kind)
		all = append(all, drawStack(rows, partsOf(named[k.mixture]), caption, fmt.Sprintf("fm%d", len(all)+1)))
	}
	return all
}

// partsOf returns the parts of mixtures, those that bring most first.
func partsOf(rows []*exposure.MixtureResult) []string {
	var names []string
	brings := map[string]float64{}
	for _, m := range rows {
		for _, c := range m.Parts {
			name := substanceText(c.Substance)
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
			brings[name] += c.Fraction.Value
		}
	}
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(brings[b], brings[a]) })
	return names
}

// drawStack draws a bar for each worker-shift, of the fractions of its parts. A
// part has one pattern wherever its mixture is drawn.
func drawStack(rows []*exposure.MixtureResult, parts []string, caption, id string) pageFigure {
	more := max(0, len(rows)-mostStackRows)
	rows = rows[:len(rows)-more]
	const left, right, top, row = 118.0, 340.0, 20.0, 20.0
	bottom := top + row*float64(len(rows))
	legend := 14.0 * float64((len(partsOf(rows))+1)/2)
	d := newDrawing(id, caption, bottom+22+legend)
	high := 1.2
	for _, m := range rows {
		high = max(high, m.Index.Value*1.1, bounded(m.Index.High)*1.05)
	}
	x := scale{from: left, to: right, low: 0, high: min(high, 1e4)}
	step := niceStep(x.high / 5)
	for v := 0.0; v <= x.high; v += step {
		d.line("gr", x.at(v), top, x.at(v), bottom)
		d.words("ax mid", x.at(v), bottom+11, tickText(rounded(v, 6)), figureWidth)
	}
	var said []string
	for i, m := range rows {
		said = append(said, d.stackRow(m, parts, x, top+row*float64(i)))
	}
	d.limitLine(x, 1, top-6, bottom, "sum 1: the limit", "lim", 11)
	d.stackLegend(parts, partsOf(rows), bottom+30)
	d.says = "Each part's share of its own limit, added. " + strings.Join(said, "; ") + "."
	return pageFigure{Caption: caption, Drawing: d.html(), More: moreText(more, "worker-shift")}
}

// niceStep returns the step of an axis nearest over v: 1, 2 or 5 times a power
// of ten.
func niceStep(v float64) float64 {
	unit := logScale(0, 1, 9, v).low
	for _, step := range []float64{1, 2, 5} {
		if step*unit >= v {
			return step * unit
		}
	}
	return 10 * unit
}

func (d *drawing) stackRow(m *exposure.MixtureResult, parts []string, x scale, y float64) string {
	label := m.Worker + " " + shiftText(m.Shift, m.Sample)
	d.words("lb end", x.from-6, y+13.5, label, x.from-8)
	var said []string
	sum := 0.0
	for at, name := range parts {
		for _, c := range m.Parts {
			if substanceText(c.Substance) != name {
				continue
			}
			from := x.at(sum)
			sum += c.Fraction.Value
			d.box(fmt.Sprintf("part p%d", at%patterns+1), from, y+3, x.at(sum)-from, 10)
			said = append(said, name+" "+indexOf(stats.Exact(c.Fraction.Value)))
		}
	}
	if m.Index.Censored() {
		to := x.to
		if m.Index.Bounded() {
			to = x.at(m.Index.High)
		} else {
			d.path("rngend", "M"+point(to-5, y+13.5)+"L"+point(to, y+16)+"L"+point(to-5, y+18.5))
		}
		d.line("rng", x.at(m.Index.Low), y+16, to, y+16)
	}
	return label + ": " + indexOf(m.Index) + ", " + string(m.Outcome) + " (" + strings.Join(said, ", ") + ")"
}

func (d *drawing) stackLegend(parts, drawn []string, y float64) {
	for i, name := range drawn {
		left := 12 + float64(i%2)*174
		top := y + 14*float64(i/2)
		d.box(fmt.Sprintf("part p%d", slices.Index(parts, name)%patterns+1), left, top-8, 14, 9)
		d.words("lb", left+19, top, name, 150)
	}
}
