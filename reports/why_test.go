package reports

import (
	"testing"

	"github.com/stretchr/testify/require"

	"airtally/exposure"
	"airtally/limits"
	"airtally/stats"
)

func TestWhyAComparisonIsUndecided(t *testing.T) {
	none := stats.Optional{}
	for name, c := range map[string]struct {
		fraction stats.Interval
		lcl, ucl stats.Optional
		coverage stats.Optional
		want     string
	}{
		"breakthrough":                  {stats.AtLeast(0.4), none, none, stats.Some(100), "only a lower bound"},
		"non-detect over the limit":     {stats.Under(1.2, 0.6), none, none, stats.Some(100), "bounds span the limit"},
		"the error reaches the limit":   {stats.Exact(0.95), stats.Some(0.83), stats.Some(1.07), stats.Some(50), "sampling and analytical error"},
		"clear of it, little sampled":   {stats.Exact(0.2), stats.Some(0.1), stats.Some(0.3), stats.Some(56.25), "56.3 % of shift sampled"},
		"above as sampled, not as zero": {stats.Exact(1.1), none, none, stats.Some(80), "80.0 % of shift sampled"},
		"over for certain, not sampled": {stats.AtLeast(1.3), none, none, stats.Some(40), "40.0 % of shift sampled"},
		"coverage missing":              {stats.Exact(0.2), none, none, none, "minutes not sampled"},
	} {
		k := &exposure.Comparison{Exposure: &exposure.Exposure{Sampled: &exposure.Sampled{Coverage: c.coverage}}, Limit: dustRule,
			Fraction: c.fraction, LCL: c.lcl, UCL: c.ucl, Outcome: limits.Undecided}
		require.Equal(t, c.want, whyUndecided(k), name)
		k.Outcome = limits.Below
		require.Empty(t, whyUndecided(k), name)
	}
}

func TestWhyAMixtureIsUndecided(t *testing.T) {
	partOf := func(fraction stats.Interval, sae stats.Optional, coverage float64) *exposure.Comparison {
		return &exposure.Comparison{Exposure: &exposure.Exposure{Sampled: &exposure.Sampled{Coverage: stats.Some(coverage)}},
			Fraction: fraction, SAE: sae}
	}
	exact, broken := partOf(stats.Exact(0.3), stats.Optional{}, 90), partOf(stats.AtLeast(0.3), stats.Optional{}, 90)
	erring, short := partOf(stats.Exact(0.3), stats.Some(0.1), 90), partOf(stats.Exact(0.3), stats.Optional{}, 60)
	for name, c := range map[string]struct {
		index stats.Interval
		basis exposure.Basis
		parts []*exposure.Comparison
		want  string
	}{
		"a part broke through": {stats.AtLeast(0.6), exposure.Over8h, []*exposure.Comparison{exact, broken}, "only a lower bound"},
		"a part is missing":    {stats.AtLeast(0.3), exposure.Over8h, []*exposure.Comparison{exact}, "a part or its limit is missing"},
		"non-detects":          {stats.Under(1.4, 0.7), exposure.Over8h, []*exposure.Comparison{exact}, "bounds span 1"},
		"short-term":           {stats.Exact(0.98), exposure.Short, []*exposure.Comparison{erring}, "sampling and analytical error"},
		"error or minutes":     {stats.Exact(0.98), exposure.Over8h, []*exposure.Comparison{erring}, "error, or minutes not sampled"},
		"minutes":              {stats.Exact(0.6), exposure.Over8h, []*exposure.Comparison{exact, short}, "60.0 % of shift sampled"},
	} {
		m := &exposure.MixtureResult{Index: c.index, Basis: c.basis, Parts: c.parts, Outcome: limits.Undecided}
		require.Equal(t, c.want, whyMixtureUndecided(m), name)
	}
}
