package reports

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"airtally/exposure"
	"airtally/exposure/survey"
)

func num(v float64) exposure.Expression {
	return exposure.Expression{Op: exposure.Constant, Value: v}
}

func op(o exposure.Operation, args ...exposure.Expression) exposure.Expression {
	return exposure.Expression{Op: o, Args: args}
}

func ref(of any, key, symbol string) exposure.Expression {
	return exposure.Expression{Op: exposure.Reference, Of: of, Key: key, Name: symbol, Value: 7}
}

// placedAt returns a registry with one row of a sheet.
func placedAt(sheet string, object any, columns map[string]string) *registry {
	p := &placed{array: array{sheet: sheet, rows: 1}, letters: columns}
	return &registry{rows: map[any]spot{object: {p, 0}}, settings: map[string]*namedSetting{"molar_volume": {value: 24.45}}}
}

// Precedence of operators: ECMA-376 part 1, 18.17.2.2.
func TestFormulas(t *testing.T) {
	flow := &survey.Flow{}
	known := placedAt("Flow checks", flow, map[string]string{"readings/1": "F", "readings/2": "G", "readings/3": "H", "flow": "K"})
	q := ref(flow, "flow", "Q")
	less := op(exposure.Less, q, num(2))
	for want, e := range map[string]exposure.Expression{
		"AVERAGE(F2:H2)": op(exposure.Mean, ref(flow, "readings/1", "q1"), ref(flow, "readings/2", "q2"), ref(flow, "readings/3", "q3")),
		"SUM(F2,H2,1)":   op(exposure.Sum, ref(flow, "readings/1", "q1"), ref(flow, "readings/3", "q3"), num(1)),
		"K2-(1-2)":       op(exposure.Minus, q, op(exposure.Minus, num(1), num(2))),
		"K2-1-2":         op(exposure.Minus, op(exposure.Minus, q, num(1)), num(2)),
		"K2/(2*3)":       op(exposure.Over, q, op(exposure.Times, num(2), num(3))),
		"(K2+1)*(-2)":    op(exposure.Times, op(exposure.Plus, q, num(1)), num(-2)),
		"(-2)^2":         op(exposure.Power, num(-2), num(2)),
		"IF(K2<2,1,0)":   less,
		"IF(AND(K2<2,NOT(K2=1)),1E+250,\"a \"\"b\"\"\")": op(exposure.If, op(exposure.And, less, op(exposure.Not, op(exposure.Equal, q, num(1)))), num(math.Inf(1)), exposure.Expression{Op: exposure.Word, Name: `a "b"`}),
		"IF(K2<2,1,0)*3":       op(exposure.Times, less, num(3)),
		"ROUND(K2*86400,0)/60": op(exposure.Over, op(exposure.Round, op(exposure.Times, q, num(86400))), num(60)),
		"K2*molar_volume":      op(exposure.Times, q, exposure.Expression{Op: exposure.Constant, Name: "molar_volume", Value: 24.45}),
		"K2*25":                op(exposure.Times, q, exposure.Expression{Op: exposure.Constant, Name: "molar_volume", Value: 25}),
		"7":                    ref(flow, "no_such", "x"),
		"1E-07":                num(1e-7),
	} {
		require.Equal(t, want, known.formulaOf(&e, "Flow checks"))
	}
	require.Equal(t, "'Flow checks'!K2", known.formulaOf(&q, "Volumes"))
	require.True(t, known.settings["molar_volume"].used.Load())
}

func TestFormulasInWords(t *testing.T) {
	q := ref(nil, "", "Q")
	s := exposure.Step{Symbol: "V", By: op(exposure.If, op(exposure.Less, q, num(2)), num(0), op(exposure.Times, op(exposure.Plus, q, num(1)), ref(nil, "", "t")))}
	require.Equal(t, "V = if Q < 2 then 0, else (Q + 1) × t", formulaWords(&s))
}

// Excel takes 8192 characters and 255 arguments (its published limits).
func TestAFormulaTooLongStandsWhileNothingIsEdited(t *testing.T) {
	known := placedAt("Groups", "x", nil)
	f := formula{known: known, sheet: "Groups"}
	many := make([]exposure.Expression, 300)
	for i := range many {
		many[i] = num(1)
	}
	require.Equal(t, "IF(edited=0,1,0)", f.step(&exposure.Step{Key: "follows", Value: 1, By: op(exposure.And, many...)}))
	long := op(exposure.Plus, many...)
	for range 6 {
		long = op(exposure.Plus, long, long)
	}
	require.Equal(t, "IF(edited=0,19200,stale)", f.step(&exposure.Step{Key: "sum", Value: 19200, By: long}))
	require.Equal(t, "1+1", f.step(&exposure.Step{Key: "sum", Value: 2, By: op(exposure.Plus, num(1), num(1))}))
}
