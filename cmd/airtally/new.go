package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"airtally/reports"
)

// newFlags are the flags of the new command.
type newFlags struct {
	trains  string
	workers int
	force   bool
}

func (a *app) newCommand() *cobra.Command {
	var f newFlags
	c := &cobra.Command{
		Use:   "new FILE.xlsx",
		Short: "a starter workbook with lists, notes and example rows",
		Long: "Writes a workbook to fill in: a sheet for each input table with drop-down lists,\n" +
			"notes on its headers and a few example rows, a first sheet with the order of\n" +
			"work, and a form for the flow checks to print. Example rows begin with EXAMPLE-;\n" +
			"delete them when you have seen how they go.\n\n" +
			"Exit status: 0 written; 2 not written.\n\n" + caution,
		Example: "  Two cassettes on a split manifold, four workers:\n" +
			"    airtally new week-10.xlsx --trains 2-cassettes --workers 4\n\n" +
			"  See that the example reduces, then fill in your own:\n" +
			"    airtally check week-10.xlsx",
		Args: newFileGiven,
		RunE: func(_ *cobra.Command, paths []string) error { return a.startWorkbook(paths[0], f) },
	}
	flags := c.Flags()
	flags.StringVar(&f.trains, "trains", string(reports.TwoCassettes), "sampling trains of the example, by `KIND`:\n"+kinds())
	flags.IntVar(&f.workers, "workers", 2, "`NUMBER` of workers in the example")
	flags.BoolVar(&f.force, "force", false, "write over a file that is there already")
	return c
}

func newFileGiven(c *cobra.Command, paths []string) error {
	if len(paths) != 1 {
		return fmt.Errorf("name one workbook to write, as in: %s survey.xlsx", c.CommandPath())
	}
	return nil
}

func kinds() string {
	var all []string
	for _, k := range reports.TrainKinds() {
		all = append(all, string(k))
	}
	return strings.Join(all, ", ")
}

// fault checks what was asked for.
func (f newFlags) fault(path string) error {
	switch {
	case !strings.EqualFold(filepath.Ext(path), ".xlsx"):
		return fmt.Errorf("%s: give the workbook a name that ends in .xlsx", path)
	case !slices.Contains(reports.TrainKinds(), reports.TrainKind(f.trains)):
		return fmt.Errorf("--trains %s: no such kind; expected %s", f.trains, kinds())
	case f.workers < 1 || f.workers > reports.MostStarterWorkers:
		return fmt.Errorf("--workers %d: expected a number from 1 to %d", f.workers, reports.MostStarterWorkers)
	}
	return nil
}

func (a *app) startWorkbook(path string, f newFlags) error {
	if err := f.fault(path); err != nil {
		return err
	}
	s := reports.Starter{Train: reports.TrainKind(f.trains), Workers: f.workers, Version: version, Created: now().UTC().Truncate(time.Second)}
	var book bytes.Buffer
	if err := s.WriteStarter(&book); err != nil {
		return err
	}
	if err := writeNew(path, book.Bytes(), f.force); err != nil {
		return err
	}
	if a.quiet {
		return nil
	}
	_, err := fmt.Fprintf(a.out, "Written: %s\nBegin with its first sheet. Then: airtally check %s\n", path, path)
	return err
}

// writeNew writes a file that must not be there yet, unless force allows it to
// be written over.
func writeNew(path string, content []byte, force bool) (err error) {
	mode := os.O_CREATE | os.O_WRONLY | os.O_EXCL
	if force {
		mode = os.O_CREATE | os.O_WRONLY | os.O_TRUNC
	}
	file, err := os.OpenFile(path, mode, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return alreadyThere(path)
	}
	if err != nil {
		return fmt.Errorf("cannot write: %w", err)
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	_, err = file.Write(content)
	return err
}

func alreadyThere(path string) error {
	return fmt.Errorf("%s is there already and was left as it is; choose another name, or write over it with --force", path)
}
