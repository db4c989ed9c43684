package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/reports"
)

// version is set when a release is built.
var version = "0.1.0"

// Exit statuses.
const (
	done     = 0
	leftOut  = 1 // done, but a finding of severity stop left something out
	unusable = 2 // unusable input or flags
)

// now is the moment of a run; tests hold it still.
var now = time.Now

// app is what the commands share.
type app struct {
	out, errOut io.Writer
	json        bool
	quiet       bool
	noColor     bool
	ownLimits   string            // path of a file of limits
	labFiles    []string          // paths of laboratories' own files
	mappings    []string          // paths of the mappings that they are read with
	noNames     bool              // private names are left out
	archives    []*survey.Archive // that surveys were read from
	status      int
}

// run executes one command line and returns its exit status.
func run(ctx context.Context, args []string, in io.Reader, out, errOut io.Writer) int {
	a := &app{out: out, errOut: errOut}
	root := a.root()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errOut)
	defer a.closeArchives()
	if err := root.ExecuteContext(ctx); err != nil {
		return a.fail(err)
	}
	return a.status
}

// fail says what went wrong, one message a line.
func (a *app) fail(err error) int {
	if errors.Is(err, context.Canceled) {
		err = errors.New("interrupted; nothing was written")
	}
	for line := range strings.Lines(err.Error()) {
		fmt.Fprintln(a.errOut, "airtally: "+strings.TrimSpace(line))
	}
	return unusable
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "airtally",
		Short: "from flows, run times and laboratory masses to exposures and limits",
		Long: "airtally turns flows, run times and laboratory masses into air volumes,\n" +
			"concentrations, time-weighted averages and comparisons with occupational\n" +
			"exposure limits.\n\n" + caution,
		Example:           "  airtally check survey.xlsx\n  airtally reduce survey.xlsx -o results",
		Version:           version,
		SilenceErrors:     true,
		SilenceUsage:      true,
		CompletionOptions: cobra.CompletionOptions{DisableDefaultCmd: true},
		Args:              cobra.NoArgs,
		RunE:              func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetVersionTemplate("airtally {{.Version}}\n")
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return fmt.Errorf("%w; see %s --help", err, c.CommandPath())
	})
	flags := root.PersistentFlags()
	flags.BoolVar(&a.json, "json", false, "print JSON on standard output in place of the text")
	flags.BoolVar(&a.quiet, "quiet", false, "print nothing but errors")
	flags.BoolVar(&a.noColor, "no-color", false, "print plain text on a terminal too")
	root.AddCommand(a.reduceCommand(), a.checkCommand(), a.limitsCommand(), a.groupCommand(), a.newCommand(), a.schemaCommand(), a.mapCommand())
	return root
}

// statusOf returns the exit status that the findings ask for.
func statusOf(r *reports.Report) int {
	if r.Count(finding.Stop) > 0 {
		return leftOut
	}
	return done
}

// surveysGiven checks the arguments of a command that reads surveys.
func surveysGiven(c *cobra.Command, paths []string) error {
	if len(paths) == 0 {
		return fmt.Errorf("no survey given; name a workbook (.xlsx) or a folder of .csv tables, as in: %s survey.xlsx", c.CommandPath())
	}
	return nil
}
