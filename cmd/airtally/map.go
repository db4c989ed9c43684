package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"airtally/exposure/survey"
	"airtally/reports"
)

// mapFlags are the flags of the map command.
type mapFlags struct {
	output string // path of the mapping; "" for standard output
	sheet  string
	force  bool
}

func (a *app) mapCommand() *cobra.Command {
	var f mapFlags
	c := &cobra.Command{
		Use:   "map FILE",
		Short: "propose how a laboratory's own file is read",
		Long: "Reads FILE, an export of a laboratory (.csv or .xlsx) with headings of its own,\n" +
			"and proposes a mapping: which heading is which column of the lab table, in which\n" +
			"unit, what letters and words mean, which rows are no results. It is printed as a\n" +
			"TOML file with what speaks for each entry. Nothing is guessed silently: what is\n" +
			"doubtful is written as \"?\", and a mapping with a \"?\" left in it is refused.\n\n" +
			"A mapping serves all files of the same make. It is taken where it lies beside\n" +
			"the laboratory's file under the same name, or is given with --map.\n\n" +
			"Exit status: 0 nothing is left open; 1 something is to be decided; 2 unusable\n" +
			"input or flags.\n\n" + caution,
		Example: "  Propose a mapping, decide what is open in it, and reduce with it:\n" +
			"    airtally map results-0417.csv -o results-0417.toml\n" +
			"    airtally reduce week-10.xlsx --lab results-0417.csv -o results\n\n" +
			"  The next file of the same laboratory:\n" +
			"    airtally reduce week-11.xlsx --lab results-0502.csv \\\n" +
			"        --map results-0417.toml -o results",
		Args: func(c *cobra.Command, files []string) error {
			if len(files) != 1 {
				return fmt.Errorf("name one file of a laboratory, as in: %s results.csv -o results.toml", c.CommandPath())
			}
			return nil
		},
		RunE: func(_ *cobra.Command, files []string) error { return a.proposeMap(files[0], f) },
	}
	c.Flags().StringVarP(&f.output, "output", "o", "", "write the mapping to `FILE.toml`")
	c.Flags().StringVar(&f.sheet, "sheet", "", "`NAME` of the sheet that holds the results")
	c.Flags().BoolVar(&f.force, "force", false, "write over a mapping that is there already")
	return c
}

func (a *app) proposeMap(path string, f mapFlags) error {
	if f.output != "" && !strings.HasSuffix(strings.ToLower(f.output), ".toml") {
		return fmt.Errorf("-o %s: give the mapping a name that ends in .toml, by which it is found beside the laboratory's file", f.output)
	}
	p, err := survey.Disk.Propose(path, f.sheet)
	if err != nil {
		return err
	}
	if len(p.Doubts()) > 0 {
		a.status = leftOut
	}
	if f.output == "" {
		return reports.WriteMapping(a.out, p)
	}
	if err := writeMapping(p, f); err != nil || a.quiet {
		return err
	}
	return a.tellDoubts(p, f.output)
}

// writeMapping writes a mapping to a file, over another only where that is
// wanted.
func writeMapping(p *survey.Proposal, f mapFlags) (err error) {
	how := os.O_WRONLY | os.O_CREATE | os.O_EXCL
	if f.force {
		how = os.O_WRONLY | os.O_CREATE | os.O_TRUNC
	}
	file, err := os.OpenFile(f.output, how, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already, perhaps with decisions in it; choose another name, or write over it with --force", f.output)
	}
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	return reports.WriteMapping(file, p)
}

// tellDoubts prints where the mapping was written and what is open in it.
func (a *app) tellDoubts(p *survey.Proposal, path string) error {
	open := p.Doubts()
	text := path + "\n"
	if len(open) > 0 {
		text += "\nTo be decided in it:\n"
	}
	for _, doubt := range open {
		text += "  " + doubt + "\n"
	}
	_, err := fmt.Fprint(a.out, text)
	return err
}
