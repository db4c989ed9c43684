package exposure_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/group"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
)

const listHeader = "group,worker,date,value,unit,analyte\n"

// listOf is a group of six exposures that differ, one a line.
func listOf(name, unit, analyte string) string {
	var b strings.Builder
	for i, v := range []float64{0.8, 1.2, 1, 1.5, 0.9, 1.1} {
		fmt.Fprintf(&b, "%s,W-%d,2026-03-0%d,%g,%s,%s\n", name, i, i+1, v, unit, analyte)
	}
	return b.String()
}

func judgeList(t *testing.T, text string, o exposure.ListOptions) ([]exposure.ListGroup, []finding.Finding, error) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, os.WriteFile(path, []byte(listHeader+text), 0o600))
	rows, _, found, err := survey.ReadList(path)
	require.NoError(t, err)
	groups, err := exposure.JudgeLists(rows, o, found)
	return groups, found.Sorted(), err
}

func TestListGroupsInTheUnitOfTheLimit(t *testing.T) {
	text := listOf("Micro", "ug/m3", "") + listOf("Milli", "mg/m3", "") + listOf("Unsaid", "", "")
	groups, found, err := judgeList(t, text, exposure.ListOptions{Limit: 10, Unit: limits.MilligramsPerM3})
	require.NoError(t, err)
	require.Empty(t, found)
	require.Len(t, groups, 3)
	for i, max := range []float64{0.0015, 1.5, 1.5} {
		require.InEpsilon(t, max, groups[i].Max.Value, 1e-12, groups[i].Group)
		require.Equal(t, limits.MilligramsPerM3, groups[i].Unit)
		require.Equal(t, 6, groups[i].N)
	}
}

func TestGroupsThatCannotMeetTheLimitAreLeftOut(t *testing.T) {
	mixed := strings.Replace(listOf("Mixed", "mg/m3", ""), "mg/m3", "ug/m3", 1)
	text := mixed + listOf("Fine", "mg/m3", "") + listOf("Gas", "ppm", "")
	groups, found, err := judgeList(t, text, exposure.ListOptions{Limit: 10, Unit: limits.MilligramsPerM3})
	require.NoError(t, err)
	require.Len(t, groups, 1)
	require.Equal(t, "Fine", groups[0].Group)
	require.Len(t, found, 2)
	require.Equal(t, "Mixed has values in ug/m3 and mg/m3; the group is left out", found[0].Message)
	require.Equal(t, "E3", found[0].Cell)
	require.Equal(t, "Gas is in ppm and the limit in mg/m3, and neither can be turned into the other; the group is left out", found[1].Message)
	require.Equal(t, "E14", found[1].Cell)

	_, _, err = judgeList(t, text, exposure.ListOptions{Limit: 10})
	require.EqualError(t, err, "the groups are in mg/m3 and ppm; say with --unit which of them the limit is in")

	groups, found, err = judgeList(t, mixed+listOf("Fine", "mg/m3", ""), exposure.ListOptions{Limit: 10})
	require.NoError(t, err)
	require.Len(t, groups, 1, "a group of mixed units does not make the limit's unit doubtful")
	require.Len(t, found, 1)
}

// TestGroupsAreKeptByNameAndAnalyte has two analytes of one group, and a name
// in two spellings.
func TestGroupsAreKeptByNameAndAnalyte(t *testing.T) {
	text := listOf("Mixers", "mg/m3", "") + listOf("mixers", "mg/m3", "") + listOf("Mixers", "mg/m3", "Quillite")
	groups, found, err := judgeList(t, text, exposure.ListOptions{Limit: 10})
	require.NoError(t, err)
	require.Len(t, groups, 3)
	require.Equal(t, "Quillite", groups[1].Analyte)
	require.Len(t, found, 1)
	require.Equal(t, finding.GroupsSpellings, found[0].Code)
	require.Equal(t, "Mixers, mixers", found[0].Subject)
}

func TestGroupsWithoutEstimatesAreSaid(t *testing.T) {
	for because, values := range map[string][]string{
		"there is only one exposure":   {"2"},
		"all exposures are equal":      {"2", "2", "2"},
		"no exposure is known exactly": {"<0.2", "<0.2", "<0.2", "<0.1", "<0.2", "<0.2"},
	} {
		text := listOf("Fine", "mg/m3", "")
		for _, v := range values {
			text += "Odd,W-1,," + v + ",mg/m3,\n"
		}
		groups, found, err := judgeList(t, text, exposure.ListOptions{Limit: 10})
		require.NoError(t, err, because)
		require.Len(t, groups, 2, because)
		require.Equal(t, group.Exact, groups[0].Method, because)
		require.Equal(t, group.None, groups[1].Method, because)
		require.Len(t, found, 1, because)
		require.Equal(t, finding.Check, found[0].Severity, because)
		require.Equal(t, "A8", found[0].Cell)
		require.Contains(t, found[0].Message, because)
	}
}

func TestTwoExposuresOfAWorkerOnADay(t *testing.T) {
	text := listOf("Mixers", "mg/m3", "") + "Mixers,W-2,2026-03-03 18:00,1.1,mg/m3,\nMixers,W-2,2026-03-03,1.3,mg/m3,\n"
	groups, found, err := judgeList(t, text, exposure.ListOptions{Limit: 10})
	require.NoError(t, err)
	require.Equal(t, 8, groups[0].N)
	require.Len(t, found, 1)
	require.Equal(t, "Mixers: worker W-2 has 3 exposures on 2026-03-03; each counts as a shift of its own", found[0].Message)
}

// TestPriorsFollowTheUnit states the prior in the unit of the list.
func TestPriorsFollowTheUnit(t *testing.T) {
	var factors []float64
	o := exposure.ListOptions{Limit: 10, Unit: limits.MilligramsPerM3, Prior: func(factor float64) *stats.Prior {
		factors = append(factors, factor)
		p := stats.ReferencePrior()
		return &p
	}}
	_, _, err := judgeList(t, listOf("Mixers", "ug/m3", ""), o)
	require.NoError(t, err)
	require.Equal(t, []float64{1e-3}, factors)
}

// TestGroupsOfOneAnalyteAreCompared has groups that differ, one of another
// analyte, and groups that cannot be compared.
func TestGroupsOfOneAnalyteAreCompared(t *testing.T) {
	text := listOf("Mixers", "mg/m3", "Quillite") + strings.NewReplacer(",0.8,", ",80,", ",1.2,", ",120,", ",1,", ",100,", ",1.5,", ",150,", ",0.9,", ",90,", ",1.1,", ",110,").
		Replace(listOf("Pourers", "mg/m3", "Quillite")) + listOf("Mixers", "mg/m3", "Tarrin") +
		"A,W,,1,mg/m3,Bole\nB,W,,1,mg/m3,Bole\n"
	groups, _, err := judgeList(t, text, exposure.ListOptions{Limit: 10})
	require.NoError(t, err)
	compared := exposure.CompareLists(groups)
	require.Len(t, compared, 2)
	require.Equal(t, "Bole", compared[0].Analyte)
	require.NotEmpty(t, compared[0].Fault)
	require.Equal(t, []string{"Mixers", "Pourers"}, compared[1].Names)
	require.Empty(t, compared[1].Fault)
	require.True(t, compared[1].Differ)
	require.Contains(t, compared[1].Why, "Pourers is 100 times Mixers")
}
