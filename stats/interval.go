// Package stats holds intervals for censored quantities and inference for
// lognormal data. It deals in numbers only: it knows no flow, mass or limit.
package stats

import "math"

// Interval is a quantity that may be censored: it lies between Low and High,
// and Value stands for it where one number is wanted.
//
//	0 ≤ Low ≤ Value ≤ High ≤ +Inf
//
// A detect has Low = Value = High. A result below the reporting limit R has
// Low 0, High R and is Open: the quantity is under R, never at it. A result
// known only from below has High +Inf.
type Interval struct {
	Low, Value, High float64
	Open             bool // the quantity stays under High
}

// Exact returns the interval of a quantity known without censoring.
func Exact(v float64) Interval { return Interval{Low: v, Value: v, High: v} }

// Under returns the interval of a quantity known only to lie under high, with
// value standing for it.
func Under(high, value float64) Interval {
	return Interval{Low: 0, Value: value, High: high, Open: true}
}

// AtLeast returns the interval of a quantity known only to reach v.
func AtLeast(v float64) Interval { return Interval{Low: v, Value: v, High: math.Inf(1)} }

// Unbounded returns a with its upper bound lifted.
func (a Interval) Unbounded() Interval {
	a.High, a.Open = math.Inf(1), false
	return a
}

// Add returns the interval of the sum of two quantities.
func (a Interval) Add(b Interval) Interval {
	return Interval{
		Low:   a.Low + b.Low,
		Value: a.Value + b.Value,
		High:  a.High + b.High,
		Open:  a.Open || b.Open,
	}
}

// Scale returns the interval of k times the quantity, for finite k ≥ 0.
// Zero times anything, even an unbounded quantity, is exactly zero.
func (a Interval) Scale(k float64) Interval {
	if k == 0 {
		return Interval{}
	}
	return Interval{Low: a.Low * k, Value: a.Value * k, High: a.High * k, Open: a.Open}
}

// AddScaled returns a + k·b without the fused multiply-add that would make
// the last bit differ between machines.
func (a Interval) AddScaled(k float64, b Interval) Interval { return a.Add(b.Scale(k)) }

// Per returns the interval of the quantity divided by a finite k > 0.
func (a Interval) Per(k float64) Interval {
	return Interval{Low: a.Low / k, Value: a.Value / k, High: a.High / k, Open: a.Open}
}

// Censored reports whether the quantity is known only between bounds.
func (a Interval) Censored() bool { return a.Low < a.High }

// Bounded reports whether the quantity has a finite upper bound.
func (a Interval) Bounded() bool { return !math.IsInf(a.High, 1) }

// Optional is a number that may be missing; missing is not zero.
type Optional struct {
	Value float64
	Known bool
}

// Some returns a number that is there.
func Some(v float64) Optional { return Optional{Value: v, Known: true} }

// Or returns the number, or otherwise where it is missing.
func (o Optional) Or(otherwise float64) float64 {
	if o.Known {
		return o.Value
	}
	return otherwise
}

// OrElse returns o where it is there, else p.
func (o Optional) OrElse(p Optional) Optional {
	if o.Known {
		return o
	}
	return p
}
