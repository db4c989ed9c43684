package volume_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"airtally/volume"
)

type lpm = volume.LitresPerMinute

// steady is a check of three readings of one flow.
func steady(q lpm) volume.Check { return volume.Check{Readings: []lpm{q, q, q}} }

// run is 480 minutes between two steady checks; post 0 for none.
func run(pre, post lpm) volume.Run {
	r := volume.Run{Pre: steady(pre), Minutes: 480}
	if post > 0 {
		check := steady(post)
		r.Post = &check
	}
	return r
}

func near(got, want float64) bool { return math.Abs(got-want) <= 1e-12*math.Max(1, math.Abs(want)) }

func TestAir(t *testing.T) {
	for _, c := range []struct {
		name                          string
		policy                        volume.DriftPolicy
		run                           volume.Run
		flow, low, high, litres, drop float64
		drifted, void                 bool
	}{
		{name: "the mean of both checks", run: run(2, 1.96), flow: 1.98, low: 1.98, high: 1.98, litres: 950.4, drop: -2},
		{name: "pre alone", run: run(2, 0), flow: 2, low: 2, high: 2, litres: 960},
		{name: "exactly 5 % is no drift", run: run(2, 1.9), flow: 1.95, low: 1.95, high: 1.95, litres: 936, drop: -5},
		{name: "drift, mean", policy: volume.UseMean, run: run(2, 1.8), flow: 1.9, low: 1.8, high: 2, litres: 912, drop: -10, drifted: true},
		{name: "drift upwards, mean", policy: volume.UseMean, run: run(2, 2.2), flow: 2.1, low: 2, high: 2.2, litres: 1008, drop: 10, drifted: true},
		{name: "drift, lower", policy: volume.UseLower, run: run(2, 1.8), flow: 1.8, low: 1.8, high: 2, litres: 864, drop: -10, drifted: true},
		{name: "drift upwards, lower", policy: volume.UseLower, run: run(2, 2.2), flow: 2, low: 2, high: 2.2, litres: 960, drop: 10, drifted: true},
		{name: "drift, void", policy: volume.UseVoid, run: run(2, 1.8), flow: 1.9, low: 1.8, high: 2, litres: 912, drop: -10, drifted: true, void: true},
		{name: "no drift is never void", policy: volume.UseVoid, run: run(2, 1.96), flow: 1.98, low: 1.98, high: 1.98, litres: 950.4, drop: -2},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := volume.DefaultOptions()
			if c.policy != "" {
				o.DriftPolicy = c.policy
			}
			a := o.Air(c.run)
			for name, pair := range map[string][2]float64{
				"flow": {float64(a.Flow), c.flow}, "low": {float64(a.Low), c.low}, "high": {float64(a.High), c.high},
				"volume": {float64(a.Volume), c.litres}, "drift": {a.DriftPct, c.drop},
				"volume of the low flow": {float64(a.VolumeLow(480)), c.low * 480}, "of the high": {float64(a.VolumeHigh(480)), c.high * 480},
			} {
				if !near(pair[0], pair[1]) {
					t.Errorf("%s is %.12g, want %.12g", name, pair[0], pair[1])
				}
			}
			if a.Drifted != c.drifted || a.Void != c.void {
				t.Errorf("drifted %v void %v, want %v %v", a.Drifted, a.Void, c.drifted, c.void)
			}
		})
	}
}

// A respirable method that computes by its nominal flow (NIOSH Manual of
// Analytical Methods 0600): the measured flow still tells the drift.
func TestNominalFlow(t *testing.T) {
	r := run(2.2, 1.98)
	r.Nominal = 2.2
	a := volume.DefaultOptions().Air(r)
	if a.Volume != 1056 || !near(a.DriftPct, -10) || !a.Drifted || !near(float64(a.Post), 1.98) {
		t.Errorf("volume %v drift %v %v post %v, want 1056 L, -10 %%, drifted, 1.98", a.Volume, a.DriftPct, a.Drifted, a.Post)
	}
}

// JCGM 100:2008, 5.1.2: independent contributions add in quadrature; 4.3.7: a
// rectangular distribution of half-width a has the variance a²/3.
func TestUncertainty(t *testing.T) {
	r := volume.Run{
		Pre:     volume.Check{Readings: []lpm{1.98, 2.00, 2.02}, AccuracyPct: 1},  // s 0.02
		Post:    &volume.Check{Readings: []lpm{1.93, 1.94, 1.95}, AccuracyPct: 1}, // s 0.01
		Minutes: 480,
	}
	for _, c := range []struct {
		name string
		edit func(*volume.Run)
		want float64 // squared
	}{
		{"all four", func(*volume.Run) {}, (0.0004/3+0.0001/3)/(4*1.97*1.97) + 1e-4/3 + 0.06*0.06/(12*1.97*1.97) + 1.0/(6*480*480)},
		{"no accuracy stated", func(r *volume.Run) { r.Pre.AccuracyPct, r.Post.AccuracyPct = 0, 0 },
			(0.0004/3+0.0001/3)/(4*1.97*1.97) + 0.06*0.06/(12*1.97*1.97) + 1.0/(6*480*480)},
		{"the clock of a short sample", func(r *volume.Run) { *r = run(2, 2); r.Minutes = 15 }, 1.0 / (6 * 15 * 15)},
		{"one reading has no spread", func(r *volume.Run) {
			r.Pre = volume.Check{Readings: []lpm{2}}
			r.Post = &volume.Check{Readings: []lpm{2}}
		}, 1.0 / (6 * 480 * 480)},
	} {
		t.Run(c.name, func(t *testing.T) {
			edited := r
			post := *r.Post
			edited.Post = &post
			c.edit(&edited)
			if got := volume.DefaultOptions().Air(edited).URel; !near(got, math.Sqrt(c.want)) {
				t.Errorf("relative uncertainty %.12g, want %.12g", got, math.Sqrt(c.want))
			}
		})
	}
}

func TestThresholds(t *testing.T) {
	for _, c := range []struct {
		name       string
		pct, limit float64
		want       bool
	}{
		{"under", 4.99, 5, false},
		{"at", 5, 5, false},
		{"at, by a last bit", 5 * (1 + 1e-15), 5, false},
		{"over", 5.001, 5, true},
		{"as far under as over", -5.001, 5, true},
	} {
		if got := volume.Over(c.pct, c.limit); got != c.want {
			t.Errorf("%s: %v %% over %v %% is %v", c.name, c.pct, c.limit, got)
		}
	}
}

func TestPercentages(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"drift is of the pre flow", volume.DriftPct(1.6, 2), 25},
		{"deviation is of the target", volume.DeviationPct(1.7, 2), -15},
		{"closure is of the sum of legs", volume.ClosurePct(2.2, []lpm{1.5, 0.5}), 10},
		// common practice, no source: 1,997 mL/min for 2,000 and 2,800 for 3,000
		{"1,997 for 2,000", volume.DeviationPct(1.997, 2), -0.15},
		{"2,800 for 3,000", volume.DeviationPct(2.8, 3), -100 * 0.2 / 3},
	} {
		if !near(c.got, c.want) {
			t.Errorf("%s: %.12g %%, want %.12g", c.name, c.got, c.want)
		}
	}
}

// Splitting a run at any minute leaves the volume, and a flow k times as high
// moves k times the air with the same drift.
func TestVolumeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pre := lpm(rapid.Float64Range(0.02, 12).Draw(t, "pre"))
		post := pre * lpm(rapid.Float64Range(0.8, 1.2).Draw(t, "change"))
		minutes := volume.Minutes(rapid.Float64Range(2, 720).Draw(t, "minutes"))
		cut := volume.Minutes(rapid.Float64Range(0.1, 0.9).Draw(t, "cut")) * minutes
		factor := rapid.Float64Range(0.1, 10).Draw(t, "factor")
		o := volume.DefaultOptions()
		o.DriftPolicy = rapid.SampledFrom([]volume.DriftPolicy{volume.UseMean, volume.UseLower, volume.UseVoid}).Draw(t, "policy")
		at := func(pre, post lpm, t volume.Minutes) volume.Air {
			r := run(pre, post)
			r.Minutes = t
			return o.Air(r)
		}
		whole := at(pre, post, minutes)
		parts := at(pre, post, cut).Volume + at(pre, post, minutes-cut).Volume
		if math.Abs(float64(parts-whole.Volume)) > 1e-9*float64(whole.Volume) {
			t.Fatalf("parts of %v L make %v", whole.Volume, parts)
		}
		faster := at(pre*lpm(factor), post*lpm(factor), minutes)
		if math.Abs(float64(faster.Volume)-factor*float64(whole.Volume)) > 1e-9*float64(faster.Volume) {
			t.Fatalf("%v times the flow moves %v for %v", factor, faster.Volume, whole.Volume)
		}
		if whole.Low > whole.Flow || whole.Flow > whole.High {
			t.Fatalf("flow %v is not within %v to %v", whole.Flow, whole.Low, whole.High)
		}
	})
}
