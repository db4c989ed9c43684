package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"airtally/exposure/finding"
	"airtally/reports"
)

// checkFlags are the flags of the check command.
type checkFlags struct {
	mark  string // path of the marked copy; "" where none is wanted
	force bool
}

func (a *app) checkCommand() *cobra.Command {
	var f checkFlags
	c := &cobra.Command{
		Use:   "check SURVEY...",
		Short: "read and check surveys, write no results",
		Long: "Reads and reduces each SURVEY, an .xlsx workbook or a folder of .csv tables, and\n" +
			"prints what is wrong or worth knowing: the cell, what was found and what to do.\n" +
			"No results are written. --mark writes a copy of one workbook with each finding\n" +
			"as a note on its cell, and the cell filled; nothing else in it is changed. A\n" +
			"workbook that cannot be read for want of a column is marked in its headers.\n\n" +
			"Exit status: 0 fine; 1 something would be left out; 2 unusable input or flags.\n\n" + caution,
		Example: "  Check the field book before the samples are posted:\n" +
			"    airtally check week-10.xlsx\n\n" +
			"  With the findings in a copy of the workbook:\n" +
			"    airtally check week-10.xlsx --mark week-10-marked.xlsx",
		Args: surveysGiven,
		RunE: func(c *cobra.Command, paths []string) error { return a.check(c.Context(), paths, f) },
	}
	a.limitsFlag(c)
	a.labFlags(c)
	c.Flags().StringVar(&f.mark, "mark", "", "write a marked copy of the workbook: an .xlsx `FILE`")
	c.Flags().BoolVar(&f.force, "force", false, "write over a marked copy that is there already")
	return c
}

func (a *app) check(ctx context.Context, paths []string, f checkFlags) error {
	if err := f.fault(paths); err != nil {
		return err
	}
	report, err := a.load(ctx, paths)
	var r *refused
	if errors.As(err, &r) && f.mark != "" {
		return errors.Join(a.markRefused(r, paths[0], f), err)
	}
	if err != nil {
		return err
	}
	a.status = statusOf(report)
	if err := a.findings(report); err != nil || f.mark == "" {
		return err
	}
	return a.marked(report.Findings, paths[0], f)
}

// markRefused marks what made a workbook unreadable, where it has a cell.
func (a *app) markRefused(r *refused, path string, f checkFlags) error {
	var all finding.List
	all.Merge(r.found...)
	found := all.Sorted()
	if !slices.ContainsFunc(found, func(f finding.Finding) bool { return f.File == path && f.Cell != "" }) {
		return nil
	}
	return a.marked(found, path, f)
}

// findings prints what was found.
func (a *app) findings(report *reports.Report) error {
	switch {
	case a.json:
		return report.WriteCheckJSON(a.out)
	case a.quiet:
		return nil
	default:
		return report.WriteFindings(a.out, reports.Terminal{Bold: a.bold()})
	}
}

// fault checks whether a marked copy can be made.
func (f checkFlags) fault(paths []string) error {
	if f.mark == "" {
		return nil
	}
	there, err := os.Stat(paths[0])
	old, errOld := os.Stat(f.mark)
	switch {
	case !strings.EqualFold(filepath.Ext(f.mark), ".xlsx"):
		return fmt.Errorf("--mark %s: give the marked copy a name that ends in .xlsx", f.mark)
	case len(paths) > 1:
		return fmt.Errorf("--mark makes a copy of one workbook and %d surveys are given; check them one by one", len(paths))
	case err != nil:
		return nil // reading it says why
	case there.IsDir():
		return fmt.Errorf("--mark makes a copy of a workbook and %s is a folder; read its findings without --mark", paths[0])
	case !strings.EqualFold(filepath.Ext(paths[0]), ".xlsx"):
		return fmt.Errorf("--mark makes a copy of an .xlsx workbook and %s is none; read its findings without --mark", paths[0])
	case errOld == nil && os.SameFile(there, old):
		return fmt.Errorf("--mark %s is the survey itself and would be written over; choose another name", f.mark)
	case errOld == nil && !f.force:
		return alreadyThere(f.mark)
	}
	return nil
}

// marked writes the marked copy of a workbook.
func (a *app) marked(found []finding.Finding, path string, f checkFlags) error {
	var book bytes.Buffer
	cells, elsewhere, err := reports.WriteMarked(&book, path, found)
	if err != nil {
		return err
	}
	if err := writeNew(f.mark, book.Bytes(), f.force); err != nil || a.quiet || a.json {
		return err
	}
	_, err = fmt.Fprintf(a.out, "\nMarked: %s, %d cells; %d findings have no cell in it\n", f.mark, cells, elsewhere)
	return err
}
