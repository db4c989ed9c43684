package group

import (
	"errors"
	"fmt"
	"strings"

	"airtally/stats"
)

// Named is the shifts of one group of several to compare.
type Named struct {
	Name   string
	Shifts []Shift
}

// Comparison says whether groups differ in their exposures. Tests that the
// data do not allow are missing.
type Comparison struct {
	Names          []string
	GeometricMeans *stats.LogComparison // analysis of variance of the logs and pairs; exact values alone
	Ranks          *stats.TestResult    // Kruskal-Wallis; exact values alone
	Censored       *stats.TestResult    // Peto-Peto, where a value is under a reporting limit
	Differ         bool                 // the test that is read first puts it beyond chance: P < 0.05
	Why            string               // in plain sentences
	Notes          []string
}

// Compare tells whether two or more groups differ in their exposures to the
// same analyte, all in one unit. Where every value is known the geometric means
// are compared, and beside them the ranks, which suppose no distribution; else
// the censored values are ranked. It fails for fewer than two groups, an
// exposure that Judge would refuse, and data that no test can tell apart.
func Compare(groups []Named) (Comparison, error) {
	if len(groups) < 2 {
		return Comparison{}, fmt.Errorf("%w: %s, need 2 to compare", stats.ErrTooFew, counted(len(groups), "group"))
	}
	var c Comparison
	censored := false
	exposures := make([][]stats.Interval, len(groups))
	values := make([][]float64, len(groups))
	for i, g := range groups {
		c.Names = append(c.Names, g.Name)
		for _, s := range g.Shifts {
			if err := checkExposure(s.Exposure); err != nil {
				return Comparison{}, fmt.Errorf("group %s: %s: %w", g.Name, s.name(), err)
			}
			censored = censored || s.Exposure.Censored()
			exposures[i] = append(exposures[i], s.Exposure)
			values[i] = append(values[i], s.Exposure.High)
		}
		if len(g.Shifts) == 0 {
			return Comparison{}, fmt.Errorf("%w: group %s has no exposures", stats.ErrTooFew, g.Name)
		}
	}
	var err error
	if censored {
		err = c.ofCensored(exposures)
	} else {
		err = c.ofKnown(values)
	}
	return c, err
}

// ofCensored fills in the test for values under reporting limits.
func (c *Comparison) ofCensored(exposures [][]stats.Interval) error {
	t, err := stats.PetoPeto(exposures)
	if err != nil {
		return err
	}
	c.Censored = &t
	c.Differ = t.P < doubtful
	c.Why = c.verdict("in their exposures", t.P) + " Rule: " + t.Rule + "."
	c.Notes = append(c.Notes, t.Warnings...)
	return nil
}

// ofKnown fills in the tests for values that are all known.
func (c *Comparison) ofKnown(values [][]float64) error {
	means, err := stats.CompareGeometricMeans(values, judgedConfidence)
	ranks, rankErr := stats.KruskalWallis(values)
	if err != nil && rankErr != nil {
		return errors.Join(err, rankErr)
	}
	if rankErr == nil {
		c.Ranks = &ranks
		c.Notes = append(c.Notes, ranks.Warnings...)
	}
	if err != nil {
		c.Differ = ranks.P < doubtful
		c.Why = c.verdict("in their exposures", ranks.P) + " Rule: " + ranks.Rule + "."
		return nil
	}
	c.GeometricMeans = &means
	c.Notes = append(c.Notes, means.Warnings...)
	p := means.Anova.P.Value
	c.Differ = p < doubtful
	c.Why = c.verdict("in their geometric means", p) + c.pairs() + " Rule: " + means.Rule + "."
	if c.Ranks != nil && c.Ranks.P < doubtful != c.Differ {
		c.Notes = append(c.Notes, fmt.Sprintf("The ranks, which suppose no distribution, say otherwise (Kruskal-Wallis P = %s).", figure(c.Ranks.P)))
	}
	return nil
}

func (c *Comparison) verdict(in string, p float64) string {
	if c.Differ {
		return fmt.Sprintf("The groups differ %s by more than chance explains (P = %s).", in, figureBeside(p, doubtful))
	}
	return fmt.Sprintf("The groups are not shown to differ %s (P = %s); that does not show them to be alike.", in, figureBeside(p, doubtful))
}

// pairs names the groups that differ from each other.
func (c *Comparison) pairs() string {
	var said []string
	for _, p := range c.GeometricMeans.Pairs {
		if p.P >= doubtful {
			continue
		}
		high, low, ratio, from, to := p.Second, p.First, p.Ratio, p.Low, p.High
		if ratio < 1 {
			high, low, ratio, from, to = p.First, p.Second, 1/p.Ratio, 1/p.High, 1/p.Low
		}
		said = append(said, fmt.Sprintf("%s is %s times %s (%s to %s)", c.Names[high], figure(ratio), c.Names[low], figure(from), figure(to)))
	}
	if len(said) == 0 {
		return ""
	}
	return " " + strings.Join(said, "; ") + ", with 95 % confidence for all pairs together."
}
