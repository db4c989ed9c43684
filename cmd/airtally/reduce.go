package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"airtally/reports"
	"airtally/stats"
)

// caution ends the help of every command.
var caution = reports.Wrapped(reports.Caution)

func (a *app) reduceCommand() *cobra.Command {
	var folder string
	var options reports.Options
	var advice adviceFlags
	c := &cobra.Command{
		Use:   "reduce SURVEY... -o DIR",
		Short: "reduce surveys to exposures and compare them with limits",
		Long: "Reads each SURVEY, an .xlsx workbook, a folder of .csv tables or the archive of\n" +
			"an earlier run, and writes into DIR:\n\n" +
			"  report.xlsx    the workbook: summary, comparisons, exposures, findings\n" +
			"  report.html    the page, to read or print, with figures and workings\n" +
			"  results.json   everything, unrounded\n" +
			"  tables/        the same, one .csv a table\n" +
			"  notices/       with --notices, a page for each worker, to print and hand over\n\n" +
			"With --lab FILE the results are taken from a laboratory's own file, beside a lab\n" +
			"table or in place of it; airtally map proposes how it is read.\n\n" +
			"With --archive FILE.zip the run is kept whole: inputs as read, results, reports\n" +
			"and the hash of each. To reduce FILE.zip gives the same results again.\n\n" +
			"Several surveys are reduced together. Exit status: 0 done; 1 done, but something\n" +
			"was left out (see the findings of severity stop); 2 unusable input or flags.\n\n" + caution,
		Example: "  Reduce a week's workbook and read the report:\n" +
			"    airtally reduce week-10.xlsx -o week-10-results\n\n" +
			"  Two folders of tables, no workbook, results to another program:\n" +
			"    airtally reduce monday tuesday --json\n\n" +
			"  With the laboratory's own file, read as its mapping says:\n" +
			"    airtally reduce week-10.xlsx --lab results-0417.csv -o week-10-results\n\n" +
			"  Notices for the workers, and the whole run kept in one file:\n" +
			"    airtally reduce week-10.xlsx -o results --notices --archive week-10.zip",
		Args: surveysGiven,
		RunE: func(c *cobra.Command, paths []string) error {
			if err := advice.check(c); err != nil {
				return err
			}
			return a.reduce(c.Context(), paths, folder, advice, options)
		},
	}
	c.Flags().StringVarP(&folder, "output", "o", "", "folder `DIR` to write into, made where it is missing")
	a.limitsFlag(c)
	a.labFlags(c)
	c.Flags().BoolVar(&advice.wanted, "advice", false, "add sheets of advice: respirators, long shifts")
	c.Flags().Float64Var(&advice.weekHours, "week-hours", 0, "`HOURS` worked a week, for that advice")
	c.Flags().BoolVar(&a.noNames, "no-names", false, "leave private names out of workbook and notices")
	c.Flags().BoolVar(&options.Notices, "notices", false, "write a page for each worker to be handed")
	c.Flags().StringVar(&options.Archive, "archive", "", "keep the whole run in `FILE.zip`")
	c.Flags().BoolVar(&options.NoWorkbook, "no-workbook", false, "write no report.xlsx")
	return c
}

// adviceFlags ask for advice beside the results; it never changes one.
type adviceFlags struct {
	wanted    bool
	weekHours float64
}

func (f adviceFlags) check(c *cobra.Command) error {
	if !c.Flags().Changed("week-hours") {
		return nil
	}
	switch {
	case !f.wanted:
		return errors.New("--week-hours says how long the week is for the advice; ask for it with --advice")
	case f.weekHours <= 0 || f.weekHours >= 168:
		return fmt.Errorf("--week-hours %g: want the hours worked in a week, over 0 and under 168", f.weekHours)
	}
	return nil
}

func (a *app) reduce(ctx context.Context, paths []string, folder string, advice adviceFlags, options reports.Options) error {
	if err := a.checkTargets(folder, options); err != nil {
		return err
	}
	report, err := a.load(ctx, paths)
	if err != nil {
		return err
	}
	report.Advice, report.NoNames = advice.wanted, a.noNames
	report.WeekHours = stats.Optional{Value: advice.weekHours, Known: advice.weekHours > 0}
	how := reports.Terminal{Bold: a.bold()}
	if folder != "" || options.Archive != "" {
		stop := a.progress("writing " + cmp.Or(folder, options.Archive))
		how.Files, err = report.Save(ctx, folder, options)
		stop()
		if err != nil {
			return err
		}
		how.Notes = a.notes(report, folder, how.Files, options)
	}
	if err := a.compareArchived(report, paths, &how); err != nil {
		return err
	}
	a.status = statusOf(report)
	switch {
	case a.json:
		return report.WriteJSON(a.out)
	case a.quiet:
		return nil
	default:
		return report.WriteSummary(a.out, how)
	}
}
