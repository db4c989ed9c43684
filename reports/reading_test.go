package reports

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/limits"
	"airtally/stats"
)

// A half goes away from zero, as the workbook shows the same figure: ROUND of
// OpenFormula 1.2, 6.17.5 (from memory).
func TestHalvesGoAwayFromZero(t *testing.T) {
	assert.Equal(t, "922.3", figureText(922.25))
	for _, c := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{922.25, 1, "922.3"}, {-922.25, 1, "-922.3"}, {2.5, 0, "3"}, {0.285, 2, "0.29"}, {1.005, 2, "1.01"},
		{922.2499999, 1, "922.2"}, {1.0049999999, 2, "1.00"}, {0, 2, "0.00"},
	} {
		assert.Equal(t, c.want, fixed(c.v, c.decimals), "%v", c.v)
	}
}

// against returns a comparison of a substance with a limit.
func against(authority string, kind limits.Kind, analyte string, fraction float64, o limits.Outcome) exposure.Comparison {
	return exposure.Comparison{
		Exposure: &exposure.Exposure{WorkerShift: &exposure.WorkerShift{Worker: "W", Shift: "S"},
			Sampled: &exposure.Sampled{Substance: &exposure.Substance{Analyte: analyte, Form: "total"}}},
		Basis: exposure.Over8h, Limit: &limits.Limit{Authority: authority, Kind: kind, Analyte: analyte}, LimitValue: 1,
		Value: fraction, Fraction: stats.Exact(fraction), Outcome: o,
	}
}

// compared returns a report of comparisons; the body EXA governs.
func compared(all ...exposure.Comparison) *Report {
	r := &Report{Results: &exposure.Results{Comparisons: all}}
	r.Settings.Limits.Authorities = []string{"EXA", "Body Two"}
	return r
}

// The headline counts the comparisons with the limits of every authority.
func TestHeadline(t *testing.T) {
	below := against("EXA", limits.TWA8, "lead", 0.1, limits.Below)
	other := against("House", limits.TWA8, "lead", 0.4, limits.Below)
	over := against("House", limits.TWA8, "zinc", 1.4, limits.Exceeds)
	open := against("EXA", limits.TWA8, "zinc", 0.9, limits.Undecided)
	for want, r := range map[string]*Report{
		"Nothing was compared with a limit.":                                                                                                                compared(),
		"Of 1 comparison with limits of EXA, all came out below.":                                                                                           compared(below),
		"All 3 comparisons with limits came out below: 1 with limits of EXA, 2 with limits of House.":                                                       compared(below, other, other),
		"Of 1 comparison with limits of EXA, all came out below. House: 1 above, 0 undecided, 1 below.":                                                     compared(below, other, over),
		"Of 2 comparisons with limits of EXA, none came out above; 1 is undecided, which is no proof of being below. House: 0 above, 0 undecided, 1 below.": compared(below, open, other),
	} {
		assert.Equal(t, want, r.headline())
	}
}

// Below a limit each substance stands once in the summary, the nearest to a
// limit first, whatever the authority; in the terminal once under each.
func TestSubstancesBelowStandOnce(t *testing.T) {
	r := compared(
		against("EXA", limits.TWA8, "toluene", 0.02, limits.Below),
		against("EXA", limits.STEL, "toluene", 0.05, limits.Below),
		against("EXA", limits.Ceiling, "toluene", 0.03, limits.Below),
		against("EXA", limits.Action, "lead", 1.2, limits.Exceeds),
		against("EXA", limits.TWA8, "lead", 0.7, limits.Below),
		against("House", limits.TWA8, "toluene", 0.3, limits.Below),
	)
	said := func(all []*exposure.Comparison) (out []string) {
		for _, c := range all {
			out = append(out, strings.Join([]string{c.Limit.Authority, string(c.Limit.Kind), c.Substance.Analyte}, " "))
		}
		return out
	}
	assert.Equal(t, []string{"EXA TWA8 lead", "House TWA8 toluene"}, said(r.highestBelow()))
	top, more := r.highest(12)
	assert.Zero(t, more)
	assert.Equal(t, []string{"EXA ACTION lead", "EXA TWA8 lead", "EXA STEL toluene", "House TWA8 toluene"}, said(top))
}

// Every place of a finding is told, in the order of the tables; rows that follow
// each other in one column as one.
func TestEveryPlaceOfAFindingIsTold(t *testing.T) {
	r := demo()
	at := func(table, cell string, row int) finding.Place {
		return finding.Place{File: "hall3.xlsx", Table: table, Row: row, Cell: cell}
	}
	f := &finding.Finding{Severity: finding.Check, Code: "looks-odd", Message: "odd", Remedy: "look", Place: at("lab", "G14", 14),
		Also: []finding.Place{at("lab", "G2", 2), at("lab", "G4", 4), at("lab", "G3", 3), at("flows", "", 9), at("lab", "AA3", 3), at("lab", "G2", 2)}}
	assert.Equal(t, "flows row 9, lab!G2 to G4, G14, AA3", r.everyPlace(f))
	r.Findings = []finding.Finding{*f}
	var b strings.Builder
	require.NoError(t, r.WriteFindings(&b, Terminal{}))
	assert.Contains(t, b.String(), "      odd\n      All its places: flows row 9, lab!G2 to G4, G14, AA3\n      To do: look\n")

	f.Also = nil
	for row := 20; row < 20+2*mostPlaces; row += 2 {
		f.Also = append(f.Also, at("lab", "", row))
	}
	assert.True(t, strings.HasSuffix(r.everyPlace(f), ", and 1 more"), r.everyPlace(f))
	f.Also = nil
	assert.Equal(t, "lab!G14", r.everyPlace(f))
}

// A formula that names the step's own symbol alone explains nothing.
func TestFormulasThatSayNothingAreLeftOut(t *testing.T) {
	b, q := ref(nil, "b", "b"), ref(nil, "q", "q")
	found := exposure.Expression{Op: exposure.Constant, Name: exposure.AsFound, Value: 3}
	stale := exposure.Expression{Op: exposure.Word, Name: exposure.Stale}
	for _, by := range []exposure.Expression{
		b, op(exposure.Mean, b, b), op(exposure.Equal, b, num(1)), found, op(exposure.If, op(exposure.Equal, q, num(1)), found, stale),
	} {
		assert.Empty(t, formulaWords(&exposure.Step{Symbol: "b", By: by}))
	}
	for want, by := range map[string]exposure.Expression{
		"b = q": q, "b = mean of(b, q)": op(exposure.Mean, b, q), "b = b × 1000": op(exposure.Times, b, num(1000)), "b = 0": num(0),
	} {
		assert.Equal(t, want, formulaWords(&exposure.Step{Symbol: "b", By: by}))
	}
}

// A working says what a figure was made of, also where the limit is 1.
func TestTheWorkingOfALimitOfOne(t *testing.T) {
	w := (&Report{Results: &exposure.Results{}}).newWorkings()
	value, limit := ref(nil, "value", "E"), ref(nil, "limit", "L")
	value.Value, limit.Value = 0.0154, 1
	line := w.line(&exposure.Step{Symbol: "Y", By: op(exposure.Over, value, limit), Value: 0.0154})
	assert.Equal(t, "0.0154 = 0.0154 / 1", line.Sum)
	assert.Equal(t, "Y = E / L", line.Rule)
	assert.True(t, (&workingLine{Sum: "2 L = 2 L"}).isTrivial())
	assert.False(t, (&workingLine{Sum: "2 L = 1 L/min × 2 min"}).isTrivial())
}

// A substance is named once with what its limit is expressed as.
func TestNamesSayOnceWhatALimitIsExpressedAs(t *testing.T) {
	assert.Equal(t, "Iron oxide fume (as Fe)", asText("Iron oxide fume (as Fe)", "Iron oxide fume (as Fe)", "Fe"))
	assert.Equal(t, "Iron oxide fume (as Fe2O3)", asText("Iron oxide fume", "Iron oxide fume", "Fe2O3"))
	assert.Equal(t, "Lead", asText("Lead", "Lead", ""))
	assert.Equal(t, "Pb", asText("Pb", "Pb", "Pb"))
}

// A short-term limit judged from a sample of the shift says so; the workbook says
// in words where a group's upper limit is of no use.
func TestTheDemoSaysWhatItsFiguresRestOn(t *testing.T) {
	r := reduced(t, "../testdata/demo")
	of := map[bool]int{}
	for i := range r.Comparisons {
		c := &r.Comparisons[i]
		if c.Basis == exposure.Short {
			of[c.OfShiftSample()]++
			assert.Equal(t, c.OfShiftSample(), averageWord(c) == ofShiftSample)
			assert.Equal(t, c.OfShiftSample(), averageText(c) == ofShiftSample)
		}
	}
	assert.NotZero(t, of[true])
	assert.NotZero(t, of[false])
	assert.Equal(t, `[>5]"too few"_0;0.00_0`, formatOf(number(9e19).against(5).ofFew(true), figures))
	assert.Equal(t, `"too few"_0`, formatOf(number(0.7).against(1).ofFew(true), percent))
	assert.Equal(t, worst8Note, r.twice())
	assert.Empty(t, compared().twice())
}
