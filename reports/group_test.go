package reports

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/group"
	"airtally/limits"
	"airtally/stats"
)

// groupFieldNames are the fields that other programs read, in their order. A
// name that changes here breaks them.
const groupFieldNames = "group analyte unit n workers n_censored limit min max max_high median method gm gm_lcl95 gm_ucl95 gsd " +
	"am am_lcl95 am_ucl95 p95 p95_lcl95 p95_ucl95 p95_ucl70 exceed exceed_lcl95 exceed_ucl95 mu sigma loglik w w_p " +
	"percentile confidence pq pq_lcl pq_ucl between en689 bayes decided_by outcome why trend plot_r notes"

var nestedFieldNames = map[string]string{
	"between": "mu var_between var_within gsd_between gsd_within share exceed_group exceed_worker",
	"en689":   "stage ur ut outcome",
	"trend":   "per_year per_year_lcl95 per_year_ucl95 p",
	"bayes":   "prior gm gsd p95 p95_lcl95 p95_ucl95 p95_ucl70 exceed exceed_lcl95 exceed_ucl95 over_limit over_half over_tenth",
}

func estimated(lcl, value, ucl float64) group.Estimate {
	return group.Estimate{LCL: stats.Some(lcl), Value: stats.Some(value), UCL: stats.Some(ucl)}
}

// judgedGroups are groups with figures made up for their look: one with
// everything, and one of which hardly anything can be said.
func judgedGroups() *GroupList {
	full := group.Statistics{
		N: 12, Workers: 4, NCensored: 3, NHistory: 2, Limit: 5,
		Min: stats.Some(0.05), Median: stats.Some(0.4375), Max: stats.Some(2.5), MaxHigh: stats.Some(2.5),
		Method: group.MLE, GM: estimated(0.3, 0.45, 0.65), GSD: stats.Some(2.1), AM: estimated(0.4, 0.6, 1),
		P95: estimated(1.1, 1.6, 2.9), P95UCL70: stats.Some(1.85), Exceedance: estimated(1e-7, 0.0008, 0.0249),
		Mu: stats.Some(-0.8), Sigma: stats.Some(0.74), LogLik: stats.Some(-9.25), Plot: stats.Some(0.981),
		Percentile: 0.9, Confidence: 0.7, Asked: estimated(1, 1.2, 1.4),
		Between: &group.Between{WorkerVariance: stats.WorkerVariance{Mu: -0.8, VarBetween: 0.1, VarWithin: 0.45},
			Share: stats.Some(0.1818), GroupExceedance: stats.Some(0.0009), Worker: stats.Some(0.004)},
		EN689: stats.EN689Test{Stage: stats.EN689Group, UR: stats.Some(3.25), UT: stats.Some(1.961), Outcome: stats.EN689Below, Why: "U_R 3.250 against U_T 1.961 for 12 results"},
		Bayes: &group.Bayes{Prior: "reference", GM: stats.Some(0.44), GSD: stats.Some(2.2), P95: estimated(1.15, 1.7, 3.4),
			P95UCL70: stats.Some(2), Exceedance: estimated(1e-6, 0.0011, 0.031), OverLimit: stats.Some(0.0123), OverHalf: stats.Some(0.14), OverTenth: stats.Some(0.99999)},
		KaplanMeier: &stats.KaplanMeier{N: 12, NCensored: 3, Mean: stats.Some(0.58), MeanLow: 0.56, Median: stats.Exact(0.44)},
		Ordered:     &stats.OrderStatistics{N: 12, NCensored: 3, Mu: -0.82, Sigma: 0.76, Correlation: 0.985, Mean: 0.59, SD: 0.6},
		Trend:       &group.Trend{PerYear: estimated(0.6, 0.8, 1.07), Monotone: &stats.MonotoneTrend{TestResult: stats.TestResult{P: 0.02}, S: -21}},
		DecidedBy:   group.ByPosterior, Outcome: limits.Below, Why: "The upper 95 % limit of the 95th percentile is under the limit.",
		Notes: []string{"2 of the shifts are of earlier surveys."},
	}
	bare := group.Statistics{N: 1, Limit: 5, Min: stats.Some(2), Median: stats.Some(2), Max: stats.Some(2), MaxHigh: stats.Some(2),
		Method: group.None, Percentile: 0.9, Confidence: 0.7, DecidedBy: group.ByNothing, Outcome: limits.Undecided, Why: "Only 1 shift."}
	l := &GroupList{
		Groups: []exposure.ListGroup{
			{Group: "Mixers", Analyte: "Quillite", Unit: limits.MilligramsPerM3, Statistics: full},
			{Group: "Loaders", Unit: limits.MilligramsPerM3, Statistics: bare},
		},
		Options: exposure.ListOptions{Limit: 5, Unit: limits.MilligramsPerM3}, Paths: []string{"list.csv"},
	}
	var found finding.List
	found.Add(finding.NoEstimates, finding.Place{File: "list.csv", Table: "exposures", Row: 14, Cell: "A14"}, []string{"Loaders"},
		finding.Values{"group": "Loaders", "reason": "there is only one value"})
	l.Findings = found.Sorted()
	return l
}

// keysInOrder returns the names of an object's members as they stand.
func keysInOrder(t *testing.T, object json.RawMessage) []string {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(object))
	_, err := d.Token()
	require.NoError(t, err)
	var names []string
	for d.More() {
		name, err := d.Token()
		require.NoError(t, err)
		names = append(names, name.(string))
		var skipped json.RawMessage
		require.NoError(t, d.Decode(&skipped))
	}
	return names
}

func TestGroupsInJSONHaveTheirFields(t *testing.T) {
	var b bytes.Buffer
	l := judgedGroups()
	require.NoError(t, l.WriteJSON(&b))
	var rows []json.RawMessage
	require.NoError(t, json.Unmarshal(b.Bytes(), &rows))
	require.Len(t, rows, 2)
	for _, row := range rows {
		require.Equal(t, groupFieldNames, strings.Join(keysInOrder(t, row), " "))
	}
	var members map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(rows[0], &members))
	for name, want := range nestedFieldNames {
		require.Equal(t, want, strings.Join(keysInOrder(t, members[name]), " "))
	}
	require.JSONEq(t, "90", string(members["percentile"]))
	require.JSONEq(t, "70", string(members["confidence"]))
	require.JSONEq(t, "0.0249", string(members["exceed_ucl95"]))

	require.NoError(t, json.Unmarshal(rows[1], &members))
	for _, name := range []string{"gm", "p95_ucl95", "between", "bayes", "loglik"} {
		require.Equal(t, "null", string(members[name]), name)
	}
	require.JSONEq(t, `{"stage":"none","ur":null,"ut":null,"outcome":null}`, string(members["en689"]))
}

func TestCrossChecksInJSONWhereAskedFor(t *testing.T) {
	l := judgedGroups()
	l.Options.KaplanMeier, l.Options.OrderStatistics, l.Compare = true, true, true
	l.Compared = []exposure.ListComparison{{Analyte: "Quillite", Comparison: group.Comparison{
		Names: []string{"Mixers", "Pourers"}, Ranks: &stats.TestResult{P: 0.03}, Differ: true, Why: "They differ."}}}
	var b bytes.Buffer
	require.NoError(t, l.WriteJSON(&b))
	var rows []map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(b.Bytes(), &rows))
	require.JSONEq(t, `{"mean":0.58,"mean_low":0.56,"sd":null,"se_mean":null,"median_low":0.44,"median_high":0.44}`, string(rows[0]["km"]))
	require.JSONEq(t, `{"mu":-0.82,"sigma":0.76,"r":0.985,"mean":0.59,"sd":0.6}`, string(rows[0]["ros"]))
	require.Equal(t, "null", string(rows[1]["km"]))
	require.JSONEq(t, `{"groups":["Mixers","Pourers"],"p":0.03,"differ":true,"why":"They differ.","notes":[]}`, string(rows[0]["compare"]))
	require.Equal(t, "null", string(rows[1]["compare"]), "alone with its analyte")
}

// TestStatisticsColumnsAreTheFieldsFlat holds the table to the JSON.
func TestStatisticsColumnsAreTheFieldsFlat(t *testing.T) {
	var want, got []string
	for name := range strings.FieldsSeq(strings.TrimPrefix(groupFieldNames, "group analyte unit ")) {
		if nested, ok := nestedFieldNames[name]; ok {
			for n := range strings.FieldsSeq(nested) {
				want = append(want, name+"."+n)
			}
			continue
		}
		want = append(want, name)
	}
	empty := group.Statistics{}
	for _, f := range statisticsColumns {
		got = append(got, f.name)
		f.cell(&empty) // a part that is not there is missing
	}
	require.Equal(t, want, got)
}

func TestGroupTextIsAsKept(t *testing.T) {
	l := judgedGroups()
	l.Compare, l.Compared = true, []exposure.ListComparison{
		{Analyte: "Quillite", Comparison: group.Comparison{Names: []string{"Mixers", "Loaders"}, Why: "The groups are not shown to differ.", Notes: []string{"One is small."}}},
		{Analyte: "Tarrin", Fault: "the groups are too few"},
	}
	var b bytes.Buffer
	require.NoError(t, l.WriteText(&b, Terminal{}))
	require.NoError(t, l.WriteFindings(&b, Terminal{}))
	golden(t, "groups.txt", b.Bytes())
	for line := range strings.Lines(b.String()) {
		require.LessOrEqual(t, cellsOf(strings.TrimSuffix(line, "\n")), columns, line)
	}
}

// TestGroupTextNeverRoundsAcrossTheLimit shows the digits that the outcome
// turns on.
func TestGroupTextNeverRoundsAcrossTheLimit(t *testing.T) {
	l := judgedGroups()
	s := &l.Groups[0].Statistics
	s.Bayes.P95 = estimated(1, 2, 4.99997)
	s.Bayes.Exceedance = estimated(0.01, 0.02, 0.0500004)
	var b bytes.Buffer
	require.NoError(t, l.WriteText(&b, Terminal{}))
	require.Contains(t, b.String(), "4.99997 mg/m³")
	require.Contains(t, b.String(), "5.00004")
}

// TestGroupTextSaysNothingOfWhatIsUnknown draws statistics of which every
// figure is missing or unbounded.
func TestGroupTextSaysNothingOfWhatIsUnknown(t *testing.T) {
	inf := math.Inf(1)
	for _, s := range []group.Statistics{
		{Limit: 5, Method: group.None},
		{N: 3, Limit: 5, Method: group.MLE, P95: group.Estimate{Value: stats.Some(1), UCL: stats.Some(inf)}, Percentile: 0.95, Confidence: 0.95,
			Exceedance: group.Estimate{Value: stats.Some(0), LCL: stats.Some(0), UCL: stats.Some(1)}, GM: estimated(0, 1, inf), AM: group.Estimate{Value: stats.Some(1e300)},
			Bayes: &group.Bayes{}, Trend: &group.Trend{}, Between: &group.Between{}},
	} {
		l := &GroupList{Groups: []exposure.ListGroup{{Statistics: s}}, Options: exposure.ListOptions{Limit: 5}}
		var b bytes.Buffer
		require.NoError(t, l.WriteText(&b, Terminal{}))
		for _, word := range []string{"NaN", "Inf", "%!"} {
			require.NotContains(t, b.String(), word)
		}
		b.Reset()
		require.NoError(t, l.WriteJSON(&b))
		require.True(t, json.Valid(b.Bytes()), b.String())
	}
}
