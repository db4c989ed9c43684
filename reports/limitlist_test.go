package reports

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"airtally/limits"
	"airtally/stats"
)

var (
	listedOn = time.Date(2026, 3, 20, 9, 30, 0, 0, time.UTC)
	solvent  = limits.Entry{
		Limit: limits.Limit{
			Analyte: "Sample solvent", CAS: "108-88-3", Form: "total", Authority: "House", Instrument: "Guideline 1",
			Kind: limits.TWA8, MolecularWeight: stats.Some(100), Value: 10, Unit: limits.PartsPerMillion,
		},
		ValuePPM: stats.Some(10), StatedMin: 480, MolarVolume: 25, Status: limits.Seen,
	}
)

// with returns the solvent's row after a change.
func with(change func(*limits.Entry)) *limits.Entry {
	e := solvent
	change(&e)
	return &e
}

func listText(t *testing.T, entries ...*limits.Entry) string {
	t.Helper()
	var b bytes.Buffer
	l := LimitList{
		Found: limits.Found{Exact: []limits.Substance{{Name: entries[0].Analyte, Entries: entries}}},
		Query: limits.Query{Text: "solvent"}, On: listedOn,
	}
	require.NoError(t, l.WriteText(&b, Terminal{}))
	for line := range strings.Lines(b.String()) {
		require.LessOrEqual(t, cellsOf(strings.TrimSuffix(line, "\n")), columns, line)
	}
	return b.String()
}

// The rows are inventions; 10 ppm of 100 g/mol at 25 L/mol are 40 mg/m³.
func TestLimitListSaysWhatMustBeReadBesideANumber(t *testing.T) {
	for name, c := range map[string]struct {
		row  *limits.Entry
		want []string
	}{
		"computed": {&solvent, []string{"TWA8  10 ppm  ≈ 40 mg/m³  Guideline 1", "≈ computed from the value at 25 L/mol (House)"}},
		"printed pair": {with(func(e *limits.Entry) { e.ValueMgM3 = stats.Some(41) }),
			[]string{"TWA8  10 ppm  41 mg/m³  Guideline 1"}},
		"pair that is off": {with(func(e *limits.Entry) { e.ValueMgM3 = stats.Some(60) }),
			[]string{"TWA8  10 ppm  60 mg/m³", "ppm governs, and is ≈ 40 mg/m³"}},
		"memory":       {with(func(e *limits.Entry) { e.Status = limits.FromMemory }), []string{limits.MemoryMark}},
		"corroborated": {with(func(e *limits.Entry) { e.Status = limits.Corroborated }), []string{fromTwoTexts}},
		"conditional":  {with(func(e *limits.Entry) { e.Use = limits.Conditional }), []string{"only where its condition holds", onCondition}},
		"no number": {with(func(e *limits.Entry) { e.Use, e.Value, e.ValueOther = limits.NoNumber, 0, "none" }),
			[]string{"TWA8  no number", neverAPass}},
		"short formula": {with(func(e *limits.Entry) {
			e.Use, e.Value, e.Unit, e.ValueOther, e.UnitOther = limits.Listed, 0, limits.Unit{}, "10/(%SiO2+2)", "mg/m3 (formula)"
		}),
			[]string{"TWA8  10/(%SiO2+2) mg/m³", onlyListed}},
		"rule": {with(func(e *limits.Entry) {
			e.Use, e.Value, e.Unit, e.ValueOther, e.UnitOther = limits.Listed, 0, limits.Unit{}, "half of the quartz formula value", "rule"
		}),
			[]string{"by rule", "limit: half of the quartz formula value"}},
		"micrograms": {with(func(e *limits.Entry) {
			e.Value, e.Unit, e.ValuePPM, e.ValueMgM3 = 5, limits.MicrogramsPerM3, stats.Optional{}, stats.Some(0.005)
		}),
			[]string{"TWA8  5 µg/m³  0.005 mg/m³  total"}},
		"a peak":           {with(func(e *limits.Entry) { e.Kind, e.StatedMin = limits.Peak, 10 }), []string{"PEAK 10 min  10 ppm"}},
		"stated ceiling":   {with(func(e *limits.Entry) { e.Kind, e.StatedMin = limits.Ceiling, 15 }), []string{"CEILING 15 min  10 ppm"}},
		"a ceiling at all": {with(func(e *limits.Entry) { e.Kind, e.StatedMin = limits.Ceiling, 0 }), []string{"CEILING  10 ppm"}},
		"told ceiling": {with(func(e *limits.Entry) {
			e.Kind, e.StatedMin, e.Note = limits.Ceiling, 15, "if need be assessed as 15-min TWA"
		}),
			[]string{"CEILING  10 ppm", "if need be assessed as 15-min TWA"}},
		"past":    {with(func(e *limits.Entry) { e.ValidTo = "2026-03-19" }), []string{"NO LONGER IN FORCE: to 2026-03-19"}},
		"last":    {with(func(e *limits.Entry) { e.ValidTo = "2026-03-20" }), []string{"in force to 2026-03-20"}},
		"first":   {with(func(e *limits.Entry) { e.ValidFrom = "2026-03-20" }), []string{"in force from 2026-03-20"}},
		"to come": {with(func(e *limits.Entry) { e.ValidFrom = "2026-03-21" }), []string{"NOT YET IN FORCE: from 2026-03-21"}},
		"skin":    {with(func(e *limits.Entry) { e.Skin = true }), []string{"≈ 40 mg/m³  skin  Guideline 1"}},
		"as": {with(func(e *limits.Entry) { e.As, e.Unit, e.Form = "Fe", limits.MilligramsPerM3, "respirable" }),
			[]string{"10 mg/m³  respirable, as Fe  Guideline 1"}},
		"sectors": {with(func(e *limits.Entry) { e.Sectors = []limits.Sector{limits.General, limits.Maritime} }),
			[]string{"House · general · maritime"}},
		"a long citation": {with(func(e *limits.Entry) { e.Instrument = strings.Repeat("Guideline of the house ", 9) }), []string{"TWA8  10 ppm"}},
	} {
		t.Run(name, func(t *testing.T) {
			got := listText(t, c.row)
			for _, want := range append(c.want, "Decision support only.") {
				require.Contains(t, got, want)
			}
		})
	}
}

func TestLimitListSaysOnceWhatAllRowsShare(t *testing.T) {
	note := "one (two; three); four"
	short := with(func(e *limits.Entry) { e.Kind, e.StatedMin, e.Note = limits.STEL, 15, note+"; five" })
	got := listText(t, with(func(e *limits.Entry) { e.Note = note }), short,
		with(func(e *limits.Entry) { e.Analyte, e.Authority = "Other name", "Another" }))
	require.Equal(t, 1, strings.Count(got, "one (two; three); four"), got)
	require.Contains(t, got, "\n      five\n")
	require.Contains(t, got, "\n      listed as Other name\n")
}

// The mass of a dust is not turned into ppm, though its substance has a
// weight; nor is a value stated as a part of its substance.
func TestOnlyGasesConvert(t *testing.T) {
	dust := with(func(e *limits.Entry) { e.Unit, e.ValuePPM = limits.MilligramsPerM3, stats.Optional{} })
	require.NotContains(t, listText(t, dust), "≈")
	require.Contains(t, listText(t, dust, &solvent), "TWA8  10 mg/m³   ≈ 2.5 ppm  total")
	require.NotContains(t, listText(t, with(func(e *limits.Entry) { e.As = "Ni" })), "≈")
}

func TestLimitListJSON(t *testing.T) {
	l := LimitList{Found: limits.Found{Exact: []limits.Substance{{Entries: []*limits.Entry{
		with(func(e *limits.Entry) { e.Status, e.Note = limits.FromMemory, "a; b" }),
		with(func(e *limits.Entry) {
			e.Value, e.Unit, e.ValuePPM, e.Kind, e.StatedMin = 5, limits.MicrogramsPerM3, stats.Optional{}, limits.Ceiling, 0
		}),
		with(func(e *limits.Entry) {
			e.ValueOther, e.UnitOther, e.Unit, e.ValuePPM = "0.1", "f/cc", limits.FibresPerCm3, stats.Optional{}
		}),
	}}}}}
	var b bytes.Buffer
	require.NoError(t, l.WriteJSON(&b))
	var rows []map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &rows))
	require.Equal(t, map[string]any{
		"substance": "Sample solvent", "cas": "108-88-3", "form": "total", "as": "", "authority": "House", "instrument": "Guideline 1",
		"kind": "TWA8", "averaging_min": 480.0, "value_ppm": 10.0, "value_mgm3": nil, "value_other": nil, "unit_other": nil,
		"skin": false, "status": "memory", "valid_from": nil, "valid_to": nil, "note": limits.MemoryMark + "; a; b",
	}, rows[0])
	require.Equal(t, []any{0.005, nil, nil}, []any{rows[1]["value_mgm3"], rows[1]["value_ppm"], rows[1]["averaging_min"]})
	require.Equal(t, []any{0.1, "f/cc"}, []any{rows[2]["value_other"], rows[2]["unit_other"]})
}
