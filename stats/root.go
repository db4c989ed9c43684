package stats

import (
	"fmt"
	"math"
)

// rootIterations is far more than Brent's method needs in a bracket of
// ordinary numbers; bisection alone takes about 60.
const rootIterations = 200

// findRoot returns x in [low, high] with f(x) = 0 to within tolerance of x,
// and how often it evaluated f. f(low) and f(high) must differ in sign, or
// one of them be zero. Brent (1973), "Algorithms for Minimization without
// Derivatives", chapter 4.
func findRoot(f func(float64) float64, low, high, tolerance float64) (x float64, iterations int, err error) {
	a, b := low, high
	fa, fb := f(a), f(b)
	if !(fa <= 0 && fb >= 0 || fa >= 0 && fb <= 0) {
		return 0, 2, fmt.Errorf("no root between %g and %g: the function is %g and %g there", low, high, fa, fb)
	}
	c, fc := a, fa
	step := b - a
	before := step
	for iterations = 2; iterations < rootIterations; iterations++ {
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			step = b - a
			before = step
		}
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		least := 2*0x1p-52*math.Abs(b) + tolerance/2
		half := (c - b) / 2
		if math.Abs(half) <= least || fb == 0 {
			return b, iterations, nil
		}
		step, before = brentStep(a, b, c, fa, fb, fc, step, before, least)
		a, fa = b, fb
		if math.Abs(step) < least {
			step = math.Copysign(least, half)
		}
		b += step
		fb = f(b)
	}
	return 0, iterations, fmt.Errorf("no root between %g and %g after %d iterations", low, high, iterations)
}

// brentStep returns the next step from b, and the step before it: by inverse
// quadratic interpolation or a secant where that stays well within the
// bracket and shrinks, else to the middle.
func brentStep(a, b, c, fa, fb, fc, step, before, least float64) (next, last float64) {
	half := (c - b) / 2
	if math.Abs(before) < least || math.Abs(fa) <= math.Abs(fb) {
		return half, half
	}
	var p, q float64
	s := fb / fa
	if a == c {
		p, q = 2*half*s, 1-s
	} else {
		r, t := fb/fc, fa/fc
		p = s * (2*half*t*(t-r) - (b-a)*(r-1))
		q = (t - 1) * (r - 1) * (s - 1)
	}
	if p > 0 {
		q = -q
	}
	p = math.Abs(p)
	if 2*p >= math.Min(3*half*q-math.Abs(least*q), math.Abs(before*q)) {
		return half, half
	}
	return p / q, step
}

// findRootBySlope returns x with f(x) = 0 for a rising function that also
// gives its slope, and how often it evaluated f. The first step is Newton's;
// later ones take the inverse cubic through the last two points and their
// slopes. A step that would leave the bracket found on the way is halved into it.
func findRootBySlope(f func(x float64) (y, slope float64), start float64) (x float64, iterations int, err error) {
	const enough = 3e-7 // of x: what is left is about the square of the last two steps' product
	low, high := math.Inf(-1), math.Inf(1)
	now := pointOfSlope{x: start}
	before, last := pointOfSlope{}, 1.0 // the point before, and the step from it over x
	for iterations = 1; iterations <= rootIterations; iterations++ {
		now.y, now.slope = f(now.x)
		if now.y == 0 {
			return now.x, iterations, nil
		}
		if now.y < 0 {
			low = now.x
		} else {
			high = now.x
		}
		newton := -now.y / now.slope
		next := now.x + newton
		if bend := now.bend(before); iterations > 1 && math.Abs(bend) < math.Abs(newton)/2 {
			next += bend
		}
		step := math.Abs(next-now.x) / (1 + math.Abs(next))
		if step*last <= enough && step <= last { // steps that grow lead away from where the function is steep
			return next, iterations, nil
		}
		if !(next > low && next < high) || math.IsInf(next, 0) {
			next = within(low, high)
			if next == low || next == high {
				return now.x, iterations, nil
			}
			step = 1
		}
		before, now, last = now, pointOfSlope{x: next}, math.Min(1, step)
	}
	return 0, iterations, fmt.Errorf("no root between %g and %g after %d iterations", low, high, rootIterations)
}

// pointOfSlope is a point of a function with its slope.
type pointOfSlope struct{ x, y, slope float64 }

// bend returns what the inverse cubic through p and q, with their slopes, adds
// to Newton's step from p.
func (p pointOfSlope) bend(q pointOfSlope) float64 {
	rise := q.y - p.y
	chord := (q.x - p.x) / rise
	square := (chord - 1/p.slope) / rise
	cube := ((1/q.slope-chord)/rise - square) / rise
	return p.y * p.y * (square - q.y*cube)
}

// within returns a point between low and high, or beyond the finite one of them.
func within(low, high float64) float64 {
	switch {
	case math.IsInf(low, -1):
		return high - 1 - math.Abs(high)
	case math.IsInf(high, 1):
		return low + 1 + math.Abs(low)
	}
	return low + (high-low)/2
}
