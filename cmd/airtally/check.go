package main

import (
	"context"

	"github.com/spf13/cobra"

	"airtally/reports"
)

func (a *app) checkCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "check SURVEY...",
		Short: "read and check surveys, write nothing",
		Long: "Reads and reduces each SURVEY, an .xlsx workbook or a folder of .csv tables, and\n" +
			"prints what is wrong or worth knowing: the cell, what was found and what to do.\n" +
			"Nothing is written.\n\n" +
			"Exit status: 0 fine; 1 something would be left out; 2 unusable input or flags.\n\n" + caution,
		Example: "  Check the field book before the samples are posted:\n" +
			"    airtally check week-10.xlsx",
		Args: surveysGiven,
		RunE: func(c *cobra.Command, paths []string) error { return a.check(c.Context(), paths) },
	}
	a.limitsFlag(c)
	return c
}

func (a *app) check(ctx context.Context, paths []string) error {
	report, err := a.load(ctx, paths)
	if err != nil {
		return err
	}
	a.status = statusOf(report)
	switch {
	case a.json:
		return report.WriteCheckJSON(a.out)
	case a.quiet:
		return nil
	default:
		return report.WriteFindings(a.out, reports.Terminal{Bold: a.bold()})
	}
}
