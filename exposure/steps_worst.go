package exposure

import (
	"fmt"
	"math"
	"slices"
)

// worst is the windows of 8 hours in a longer shift, of which the worst counts.
// They stand while no time is edited; which of them is the worst follows the
// concentrations.
type worst struct {
	dose    *shiftDose
	windows []dose
}

// worst returns the windows in which the dose of a shift may be worst.
func (b *doseBook) worst() *worst {
	d := b.doses[0]
	w := &worst{dose: d}
	e := &exposer{reduction: b.of}
	for _, from := range d.line.windowStarts() {
		w.windows = append(w.windows, e.dose(&d.line, from, from+minutes8h))
	}
	return w
}

// mostProducts is how many products of minutes and concentrations a formula of
// a spreadsheet has room for.
const mostProducts = 60

// stands are the conditions that the windows are what they were.
func (w *worst) stands(length Expression) []Expression {
	var out []Expression
	for _, c := range w.dose.line.concs {
		out = append(out, c.Sample.ranAsItDid()...)
	}
	if t := w.dose.turn; !t.fixed() {
		begins := t.begins().Evaluate(nil).Number
		start := w.dose.terms[0].at("shift_begins", "from", begins)
		out = append(out, less(operate(Magnitude, minus(length, figure(t.Minutes))), figure(instant)),
			less(operate(Magnitude, minus(start, figure(begins))), figure(halfSecond)))
	}
	if !w.small() {
		out = append(out, w.unchanged())
	}
	return out
}

// small reports whether the formula of the worst window has room for all that
// may be it.
func (w *worst) small() bool {
	return len(w.considered(unsampledSame, one))*len(w.dose.terms) <= mostProducts &&
		len(w.considered(unsampledZero, one))*len(w.dose.terms) <= mostProducts
}

// unchanged is the condition that the concentrations are what they were.
func (w *worst) unchanged() Expression {
	var alike []Expression
	for _, t := range w.dose.terms {
		for _, b := range []bound{lowEnd, middle, highEnd} {
			was := of(t.Concentration.Air, b)
			if math.IsInf(was, 1) {
				was = NoBound
			}
			moved := operate(Magnitude, minus(t.Concentration.airAt(b), figure(was)))
			alike = append(alike, operate(LessEqual, moved, figure(roundingTolerance*was)))
		}
	}
	return holds(when(followed(w.dose.book.terms[0]), all(alike...), number0))
}

// weights are the minutes with which each term counts in a window, and the dose
// that is stated in it.
type weights struct {
	minutes []float64
	stated  float64
}

// considered returns the windows that can be the worst: of two of which one
// weighs nothing more than the other, the other.
func (w *worst) considered(which taken, weight func(*Concentration) float64) []weights {
	var all []weights
	for i := range w.windows {
		all = append(all, w.weigh(&w.windows[i], which, weight))
	}
	var kept []weights
	for i, a := range all {
		beaten := false
		for k, b := range all {
			if k != i && b.covers(a) && (k < i || !a.covers(b)) {
				beaten = true
			}
		}
		if !beaten {
			kept = append(kept, a)
		}
	}
	return kept
}

func (w *worst) weigh(d *dose, which taken, weight func(*Concentration) float64) weights {
	x := weights{minutes: make([]float64, len(w.dose.terms)), stated: d.constant.Value}
	for _, t := range d.terms {
		at := slices.IndexFunc(w.dose.terms, func(o *ExposureTerm) bool { return o.Concentration == t.conc })
		x.minutes[at] = float64(d.minutes(t, takes[which].policy(d)) * weight(t.conc))
	}
	return x
}

// covers reports whether a window weighs everything at least as much as
// another, but for the last digits.
func (x weights) covers(o weights) bool {
	if x.stated < o.stated*(1-1e-13) {
		return false
	}
	for i := range x.minutes {
		if x.minutes[i] < o.minutes[i]*(1-1e-13) {
			return false
		}
	}
	return true
}

// average returns a bound of the mean over a window.
func (w *worst) average(x weights, b bound) Expression {
	var terms []Expression
	for i, m := range x.minutes {
		if m > 0 {
			terms = append(terms, times(constant("minutes in the window", m), w.dose.terms[i].Concentration.airAt(b)))
		}
	}
	if x.stated > 0 {
		terms = append(terms, constant("dose of stated gaps", x.stated))
	}
	return divided(sum(terms), figure(minutes8h))
}

// greatest returns the greatest of a bound over the windows.
func (w *worst) greatest(which taken, b bound, weight func(*Concentration) float64) Expression {
	var all []Expression
	for _, x := range w.found(which, b, weight) {
		all = append(all, w.average(x, b))
	}
	return greatest(all)
}

// found returns the windows that may be worst by a bound: where there are too
// many, the one that is.
func (w *worst) found(which taken, b bound, weight func(*Concentration) float64) []weights {
	all := w.considered(which, weight)
	if w.small() {
		return all
	}
	best, most := 0, -1.0
	for i, x := range all {
		if v := w.average(x, b).Evaluate(nil).Number; v > most {
			best, most = i, v
		}
	}
	return all[best : best+1]
}

// windowSteps adds the mean over each window that may be the worst, by which
// the weights of errors go.
func (w *worst) windowSteps(l *steps) {
	windows := w.found(asStated, middle, one)
	if len(windows) < 2 {
		return
	}
	for i, x := range windows {
		l.work(Step{Key: windowKey(i), Symbol: fmt.Sprintf("E_%d", i+1), Name: fmt.Sprintf("mean over window %d of 8 hours", i+1),
			Unit: w.dose.line.quantity.Unit(), By: w.average(x, middle), Source: "a window of 8 hours, of which the worst counts"})
	}
}

func windowKey(i int) string { return fmt.Sprintf("window_%d", i+1) }

// open is 1 where the upper bound of every window is never reached: which of
// them is the worst matters only where the bound is at the limit itself.
func (w *worst) open(which taken) Expression {
	var opens []Expression
	met := map[string]bool{}
	for _, x := range w.found(which, highEnd, one) {
		var any []Expression
		in := ""
		for k, m := range x.minutes {
			if m > 0 {
				any = append(any, holds(w.dose.terms[k].Concentration.openAt()))
				in += fmt.Sprint(k, " ")
			}
		}
		if len(any) == 0 {
			return number0
		}
		if !met[in] {
			met[in] = true
			opens = append(opens, either(any...))
		}
	}
	return all(opens...)
}
