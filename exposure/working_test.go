package exposure_test

import (
	"context"
	"math"
	"path/filepath"
	"testing"

	"airtally/exposure"
	"airtally/exposure/survey"
	"airtally/stats"
)

// formulas work a Working's value out of its operands, by the formula it
// prints. A formula that is not here fails the test.
var formulas = map[string]func(operand func(symbol string) []stats.Interval) float64{
	"V = (Q_pre + Q_post)/2 × t": func(o func(string) []stats.Interval) float64 {
		return (o("Q_pre")[0].Value + o("Q_post")[0].Value) / 2 * o("t")[0].Value
	},
	"V = Q_pre × t":     func(o func(string) []stats.Interval) float64 { return o("Q_pre")[0].Value * o("t")[0].Value },
	"V = Q_nominal × t": func(o func(string) []stats.Interval) float64 { return o("Q_nominal")[0].Value * o("t")[0].Value },
	"V = min(Q_pre, Q_post) × t": func(o func(string) []stats.Interval) float64 {
		return math.Min(o("Q_pre")[0].Value, o("Q_post")[0].Value) * o("t")[0].Value
	},
	"C = m / V":          func(o func(string) []stats.Interval) float64 { return o("m")[0].Value / o("V")[0].Value },
	"C = Σ f × m / V":    func(o func(string) []stats.Interval) float64 { return o("m")[0].Value / o("V")[0].Value },
	"C = N / (1000 × V)": func(o func(string) []stats.Interval) float64 { return o("m")[0].Value / (1000 * o("V")[0].Value) },
	"E = Σ C × t / T":    weighedMean,
	"Y = E / L":          func(o func(string) []stats.Interval) float64 { return o("E")[0].Value / o("L")[0].Value },
}

func weighedMean(o func(string) []stats.Interval) float64 {
	sum := 0.0
	for i, c := range o("C") {
		sum += c.Value * o("t")[i].Value
	}
	for _, gap := range o("g") {
		sum += gap.Value
	}
	return sum / o("T")[0].Value
}

// checkWorking holds a working to its own formula, and to the number it
// explains.
func checkWorking(t *testing.T, w exposure.Working, want float64) {
	t.Helper()
	formula, ok := formulas[w.Formula]
	if !ok {
		t.Errorf("%s: formula %q is not known to this test", w.Result, w.Formula)
		return
	}
	got := formula(func(symbol string) []stats.Interval {
		var all []stats.Interval
		for _, o := range w.Operands {
			if o.Symbol == symbol {
				all = append(all, o.Value)
			}
		}
		return all
	})
	if !near(got, want, 1e-9) || !near(w.Value.Value, want, 1e-9) {
		t.Errorf("%s: %s gives %.10g and is said to be %.10g; the result is %.10g", w.Result, w.Formula, got, w.Value.Value, want)
	}
	if w.Source == "" {
		t.Errorf("%s: no source", w.Result)
	}
}

// checkWorkings goes through every result with a value.
func checkWorkings(t *testing.T, r *exposure.Results) {
	t.Helper()
	for i := range r.Samples {
		if w, ok := r.Samples[i].Working(); ok && r.Samples[i].Volume.Known {
			checkWorking(t, w, r.Samples[i].Volume.Value)
		}
	}
	for i := range r.Concentrations {
		if w, ok := r.Concentrations[i].Working(); ok && !r.Concentrations[i].Void {
			checkWorking(t, w, r.Concentrations[i].Air.Value)
		}
	}
	for i := range r.Exposures {
		checkWorking(t, r.Exposures[i].Working(), r.Exposures[i].Value.Value)
	}
	for i := range r.Comparisons {
		checkWorking(t, r.Comparisons[i].Working(), r.Comparisons[i].Fraction.Value)
	}
}

func TestEveryNumberOfTheDemoCanBeExplained(t *testing.T) {
	s, found, err := survey.Read(filepath.Join("..", "testdata", "demo"))
	if err != nil {
		t.Fatal(err)
	}
	r, err := exposure.Reduce(context.Background(), []*survey.Survey{s}, found)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Comparisons) < 50 {
		t.Fatalf("the demo has %d comparisons", len(r.Comparisons))
	}
	checkWorkings(t, r)
}

func TestOddNumbersCanBeExplained(t *testing.T) {
	for name, tables := range map[string]string{
		"drift, lower":     drifted + setting("drift_policy", "lower"),
		"drift, void":      drifted + setting("drift_policy", "void"),
		"pre alone":        "\n-- flows --\ntrain,leg,stage,readings,device\nT1,A,pre,2;2;2,M1\n",
		"stated gaps":      spans(eightHours, "S1 07:00 13:00 72") + gap("13:00 14:00 0.4 mg/m3", "14:00 14:30 same"),
		"worst eight":      spans(twelveHours, "S1 07:00 13:00 216", "S2 13:00 19:00 72"),
		"two shifts a day": twoShifts,
		"fibres": medium("filter_area_mm2", "385") + lab("", "96,ug,1", "S1,Fibres,100,fibres/mm2,10", "B1,Fibres,20,fibres/mm2,10", "B2,Fibres,<10,fibres/mm2,10") +
			"\n-- limits --\nanalyte,authority,kind,value,unit\nFibres,House,TWA8,0.1,f/cc\n",
		"ppm": limitRows(",molecular_weight", "TWA8,0.05,ppm,80"),
	} {
		t.Run(name, func(t *testing.T) { checkWorkings(t, reduce(t, plain, tables).Results) })
	}
}
