package exposure_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"airtally/exposure"
	"airtally/exposure/survey"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// of returns the operands of a working by symbol.
func of(w exposure.Working, symbol string) []exposure.Operand {
	var found []exposure.Operand
	for _, o := range w.Operands {
		if o.Symbol == symbol {
			found = append(found, o)
		}
	}
	return found
}

func value(t *testing.T, w exposure.Working, symbol string) float64 {
	t.Helper()
	found := of(w, symbol)
	require.Len(t, found, 1, "%s: %s", w.Result, symbol)
	return found[0].Value.Value
}

func assertWorking(t *testing.T, w exposure.Working, computed float64) {
	t.Helper()
	assert.InDelta(t, w.Value.Value, computed, 1e-12*math.Abs(computed)+1e-300, "%s by %s", w.Result, w.Formula)
	assert.NotEmpty(t, w.Source, w.Result)
	for _, o := range w.Operands {
		assert.True(t, o.Of != nil || o.Cell.Cell != "" || strings.Contains("Q_nominal t C g T L b R f × m_part", o.Symbol),
			"%s: %s comes from nowhere", w.Result, o.Symbol)
	}
}

// Every number of the demo comes out of its own working, computed here from
// the operands as the formula says.
func TestWorkingsGiveTheirNumbers(t *testing.T) {
	s, findings, err := survey.Read("../testdata/demo")
	require.NoError(t, err)
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{s}, findings)
	require.NoError(t, err)

	for i := range results.Samples {
		w, ok := results.Samples[i].Working()
		if !ok {
			continue
		}
		var flow float64
		switch w.Formula {
		case "V = (Q_pre + Q_post)/2 × t":
			flow = (value(t, w, "Q_pre") + value(t, w, "Q_post")) / 2
		case "V = Q_pre × t":
			flow = value(t, w, "Q_pre")
		case "V = Q_nominal × t":
			flow = value(t, w, "Q_nominal")
		default:
			t.Errorf("%s: unknown formula %s", w.Result, w.Formula)
		}
		assertWorking(t, w, flow*value(t, w, "t"))
	}
	for i := range results.Concentrations {
		c := &results.Concentrations[i]
		if w, ok := c.Working(); ok {
			assertWorking(t, w, value(t, w, "m")/value(t, w, "V"))
		}
		assertMassWorking(t, c.MassWorking())
	}
	for i := range results.Exposures {
		w := results.Exposures[i].Working()
		concentrations, minutes := of(w, "C"), of(w, "t")
		require.Equal(t, len(concentrations), len(minutes))
		dose := 0.0
		for k := range concentrations {
			dose += concentrations[k].Value.Value * minutes[k].Value.Value
		}
		for _, gap := range of(w, "g") {
			dose += gap.Value.Value
		}
		assertWorking(t, w, dose/value(t, w, "T"))
	}
	for i := range results.Comparisons {
		w := results.Comparisons[i].Working()
		assertWorking(t, w, value(t, w, "E")/value(t, w, "L"))
	}
}

// assertMassWorking recomputes masses that are in µg throughout; other units
// and non-detects are checked by what they say.
func assertMassWorking(t *testing.T, w exposure.Working) {
	t.Helper()
	for _, o := range w.Operands {
		if o.Unit != w.Unit && o.Symbol != "DE" {
			return
		}
	}
	sum := 0.0
	for _, o := range w.Operands {
		switch o.Symbol {
		case "x", "front", "back", "after", "f × m_part":
			sum += o.Value.Value
		case "before", "b":
			sum -= o.Value.Value
		case "DE":
			sum /= o.Value.Value
		}
	}
	switch {
	case w.Formula == "m < R":
		assert.Equal(t, w.Value.High, value(t, w, "R"), w.Result)
	case len(of(w, "back")) > 0: // a non-detect back adds nothing
		assert.LessOrEqual(t, w.Value.Value, sum*(1+1e-12), w.Result)
	default:
		assertWorking(t, w, sum)
	}
}
