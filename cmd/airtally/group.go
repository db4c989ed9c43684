package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/reports"
	"airtally/stats"
)

// groupFlags are the flags of the group command as they were written.
type groupFlags struct {
	limit, unit            string
	percentile, confidence string
	prior                  string
	gmRange, gsdRange      string
	priorGM, priorSigma    string
	estimators             []string
	compare                bool
}

func (a *app) groupCommand() *cobra.Command {
	var f groupFlags
	c := &cobra.Command{
		Use:   "group FILE... --limit L",
		Short: "judge groups of exposures in a plain list, no survey needed",
		Long: "Reads lists of exposures, one worker in one shift a row, and judges each group\n" +
			"against the limit: below, above or undecided, with the figures and the reason.\n" +
			"FILE is a .csv file or an .xlsx workbook with the columns\n\n" +
			"    group, worker, date, value (or low and high), and if need be analyte, unit\n\n" +
			"A value may be <0.02, under a reporting limit, or >5. Several FILEs are pooled.\n" +
			"Leave out area samples, short-term samples and all but one of duplicates.\n\n" +
			"Exit status: 0 done; 1 done, but a row, a group or its estimates were left out;\n" +
			"2 unusable input or flags.\n\n" + caution,
		Example: "  Groups of welders against 5 mg/m3:\n" +
			"    airtally group welders.csv --limit 5 --unit mg/m3\n\n" +
			"  The 90th percentile with 70 % confidence besides, for another program:\n" +
			"    airtally group list.xlsx --limit 0.05 --percentile 90 --confidence 70 --json\n\n" +
			"  What was known of the group before, as a prior:\n" +
			"    airtally group list.csv --limit 5 --prior informed --prior-gm 0.4,3 \\\n" +
			"        --prior-sigma 0.8,1.5",
		Args: listsGiven,
		RunE: func(c *cobra.Command, paths []string) error { return a.group(c.Context(), paths, &f) },
	}
	flags := c.Flags()
	flags.StringVar(&f.limit, "limit", "", "exposure `LIMIT` to judge the groups against; needed")
	flags.StringVar(&f.unit, "unit", "", "`UNIT` of the limit and of what is printed: mg/m3,\nug/m3, ppm, f/cc, ...; without it, that of the list")
	flags.StringVar(&f.percentile, "percentile", "95", "percentile to add, in `PERCENT`")
	flags.StringVar(&f.confidence, "confidence", "95", "confidence of its limits, in `PERCENT`")
	flags.StringVar(&f.prior, "prior", "", "prior, by `NAME`: reference, bounded, informed,\ndefault; without it, reference where proper,\nelse default")
	flags.StringVar(&f.gmRange, "gm-range", "", "bounded prior: `LO,HI` of GM, in the list's unit")
	flags.StringVar(&f.gsdRange, "gsd-range", "", "bounded prior: `LO,HI` of GSD")
	flags.StringVar(&f.priorGM, "prior-gm", "", "informed prior: `MID,BY` of GM, the median in the\nlist's unit and the factor of one standard\ndeviation")
	flags.StringVar(&f.priorSigma, "prior-sigma", "", "informed prior: `MID,BY` of ln GSD, likewise")
	flags.StringSliceVar(&f.estimators, "estimators", nil, "cross-checks to add, `NAMES`: km (Kaplan-Meier),\nros (regression on order statistics)")
	flags.BoolVar(&f.compare, "compare", false, "compare the groups of each analyte with each other")
	return c
}

// listsGiven checks the arguments of a command that reads lists.
func listsGiven(c *cobra.Command, paths []string) error {
	if len(paths) == 0 {
		return fmt.Errorf("no list given; name a .csv or .xlsx file of exposures, as in: %s list.csv --limit 5", c.CommandPath())
	}
	return nil
}

func (a *app) group(ctx context.Context, paths []string, f *groupFlags) error {
	options, err := f.options()
	if err != nil {
		return err
	}
	if err := noneTwice(paths); err != nil {
		return err
	}
	defer a.progress("reading and judging")()
	type judged struct {
		list *reports.GroupList
		err  error
	}
	result := make(chan judged, 1)
	go func() {
		list, err := judgeLists(paths, options)
		if err == nil && f.compare {
			list.Compare, list.Compared = true, exposure.CompareLists(list.Groups)
		}
		result <- judged{list, err}
	}()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case r := <-result:
		if r.err != nil {
			return r.err
		}
		return a.writeGroups(r.list)
	}
}

// judgeLists reads every list, so that all that is wrong with them is told at
// once, and judges their groups together.
func judgeLists(paths []string, o exposure.ListOptions) (*reports.GroupList, error) {
	found := &finding.List{}
	var rows []survey.ListRow
	var faults []error
	for _, path := range paths {
		own, _, list, err := survey.ReadList(path)
		rows, faults = append(rows, own...), append(faults, err)
		found.Merge(list)
	}
	if err := errors.Join(faults...); err != nil {
		return nil, err
	}
	groups, err := exposure.JudgeLists(rows, o, found)
	if err != nil {
		return nil, err
	}
	return &reports.GroupList{Groups: groups, Options: o, Paths: paths, Findings: found.Sorted()}, nil
}

// writeGroups writes the findings where errors are read, and the groups.
func (a *app) writeGroups(l *reports.GroupList) error {
	if l.LeftOut() > 0 {
		a.status = leftOut
	}
	how := reports.Terminal{Bold: a.bold()}
	if a.quiet {
		return nil
	}
	if err := l.WriteFindings(a.errOut, reports.Terminal{}); err != nil {
		return err
	}
	if a.json {
		return l.WriteJSON(a.out)
	}
	return l.WriteText(a.out, how)
}

// options checks the flags, and says of each what it should be.
func (f *groupFlags) options() (o exposure.ListOptions, err error) {
	if o.Limit, err = f.limitFlag(); err != nil {
		return o, err
	}
	if f.unit != "" {
		known := false
		if o.Unit, known = limits.ParseUnit(f.unit); !known {
			return o, fmt.Errorf("--unit %s: not a unit of concentration; expected one such as mg/m3, ug/m3, ppm or f/cc", f.unit)
		}
	}
	if o.Percentile, err = percentFlag("percentile", f.percentile); err != nil {
		return o, err
	}
	if o.Confidence, err = percentFlag("confidence", f.confidence); err != nil {
		return o, err
	}
	for _, e := range f.estimators {
		switch strings.ToLower(strings.TrimSpace(e)) {
		case "km":
			o.KaplanMeier = true
		case "ros":
			o.OrderStatistics = true
		default:
			return o, fmt.Errorf("--estimators %s: no such cross-check; expected km, ros or both with a comma between", e)
		}
	}
	o.Prior, err = f.priorFlags(o.Limit)
	return o, err
}

func (f *groupFlags) limitFlag() (float64, error) {
	const example = "give the exposure limit as a number over 0, as in --limit 5 --unit mg/m3"
	if f.limit == "" {
		return 0, errors.New("--limit is missing; " + example)
	}
	v, err := strconv.ParseFloat(f.limit, 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("--limit %s: not a number; %s", f.limit, example)
	}
	if v <= 0 {
		return 0, fmt.Errorf("--limit %s: not over 0; %s", f.limit, example)
	}
	return v, nil
}

// percentFlag returns a fraction that was written in percent.
func percentFlag(name, written string) (float64, error) {
	v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(written, "%")), 64)
	switch {
	case err != nil:
		return 0, fmt.Errorf("--%s %s: not a number; expected percent, over 50 and under 100, such as 95", name, written)
	case !(v > 50 && v < 100):
		return 0, fmt.Errorf("--%s %s: expected percent, over 50 and under 100, such as 95", name, written)
	}
	return v / 100, nil
}

// priorFlags returns the prior that the flags ask for, nil where they ask for
// none. Flags that the prior does not use are refused: they were meant to count.
func (f *groupFlags) priorFlags(limit float64) (func(factor float64) *stats.Prior, error) {
	uses := map[string][]string{"bounded": {"gm-range", "gsd-range"}, "informed": {"prior-gm", "prior-sigma"}, "reference": nil, "default": nil, "": nil}
	used, known := uses[f.prior]
	if !known {
		return nil, fmt.Errorf("--prior %s: no such prior; expected reference, bounded, informed or default", f.prior)
	}
	written := map[string]string{"gm-range": f.gmRange, "gsd-range": f.gsdRange, "prior-gm": f.priorGM, "prior-sigma": f.priorSigma}
	figures := map[string][2]float64{}
	for _, name := range []string{"gm-range", "gsd-range", "prior-gm", "prior-sigma"} {
		switch needed := slices.Contains(used, name); {
		case needed && written[name] == "":
			return nil, fmt.Errorf("--prior %s needs --%s, two numbers with a comma between", f.prior, name)
		case !needed && written[name] != "":
			return nil, fmt.Errorf("--%s goes with --prior %s", name, map[bool]string{true: "bounded", false: "informed"}[strings.HasSuffix(name, "range")])
		case needed:
			pair, err := pairFlag(name, written[name])
			if err != nil {
				return nil, err
			}
			figures[name] = pair
		}
	}
	return priorOf(f.prior, limit, figures)
}

// priorOf returns a prior by its name and figures, for values that are
// multiplied by a factor.
func priorOf(name string, limit float64, figures map[string][2]float64) (func(factor float64) *stats.Prior, error) {
	first, second := figures["gm-range"], figures["gsd-range"]
	make := func(factor float64) (stats.Prior, error) {
		return stats.BoundedPrior(first[0]*factor, first[1]*factor, second[0], second[1])
	}
	switch name {
	case "":
		return nil, nil
	case "reference":
		make = func(float64) (stats.Prior, error) { return stats.ReferencePrior(), nil }
	case "default":
		make = func(float64) (stats.Prior, error) { return stats.DefaultPrior(limit), nil }
	case "informed":
		first, second = figures["prior-gm"], figures["prior-sigma"]
		make = func(factor float64) (stats.Prior, error) {
			return stats.InformedPrior(first[0]*factor, first[1], second[0], second[1])
		}
	}
	if _, err := make(1); err != nil {
		return nil, fmt.Errorf("--prior %s: %w", name, err)
	}
	return func(factor float64) *stats.Prior {
		p, err := make(factor)
		if err != nil {
			return nil // only a figure that leaves the range of numbers with its unit
		}
		return &p
	}, nil
}

// pairFlag returns two numbers with a comma between.
func pairFlag(name, written string) (pair [2]float64, err error) {
	parts := strings.Split(written, ",")
	if len(parts) == 2 {
		for i := range pair {
			if pair[i], err = strconv.ParseFloat(strings.TrimSpace(parts[i]), 64); err != nil {
				break
			}
		}
	}
	if len(parts) != 2 || err != nil {
		return pair, fmt.Errorf("--%s %s: expected two numbers with a comma between, such as 0.1,10", name, written)
	}
	return pair, nil
}
