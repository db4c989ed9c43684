package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"airtally/exposure/survey"
	"airtally/reports"
)

// checkTargets checks where a run is to write.
func (a *app) checkTargets(folder string, o reports.Options) error {
	switch {
	case o.Archive != "" && !survey.IsArchive(o.Archive):
		return fmt.Errorf("--archive %s: give the archive a name that ends in .zip, by which it is known when it is reduced", o.Archive)
	case folder == "" && o.Notices && o.Archive == "":
		return errors.New("no folder to write the notices into; say where with -o DIR")
	case folder == "" && !a.json && o.Archive == "":
		return errors.New("no folder to write into; say where with -o DIR, or print the results with --json")
	}
	return nil
}

// notes returns what the reader of the files must know beside them.
func (a *app) notes(r *reports.Report, folder string, written []string, o reports.Options) []string {
	var all []string
	if folder != "" {
		all = former(folder, written)
	}
	if o.Notices {
		all = append(all, r.WithoutNotice()...)
	}
	if o.Archive != "" && a.noNames && r.HasNames() {
		all = append(all, o.Archive+" holds the inputs as they were read, workers' names too: keep it where those may be read.")
	}
	return all
}

// former warns of a workbook and of notices that a run without them leaves
// lying beside its newer results.
func former(folder string, written []string) []string {
	var all []string
	stale := func(path string) bool {
		_, err := os.Stat(path)
		return err == nil && !slices.Contains(written, path)
	}
	if path := filepath.Join(folder, reports.WorkbookFile); stale(path) {
		all = append(all, path+" is of an earlier run and does not hold these results.")
	}
	notices := filepath.Join(folder, reports.NoticesFolder)
	var old []string
	entries, _ := os.ReadDir(notices) // a folder that is not there holds none
	for _, e := range entries {
		if stale(filepath.Join(notices, e.Name())) {
			old = append(old, e.Name())
		}
	}
	if len(old) > 0 {
		all = append(all, fmt.Sprintf("%s holds %d of an earlier run, as %s: they are not of these results; do not hand them out.",
			notices, len(old), old[0]))
	}
	return all
}

// compareArchived says whether an archive that was reduced alone gives the
// results it holds. Where it does not, that is said whatever is printed.
func (a *app) compareArchived(r *reports.Report, paths []string, how *reports.Terminal) error {
	if len(a.archives) != 1 || len(paths) != 1 {
		return nil
	}
	archived, err := a.archives[0].OpenMember(reports.ResultsFile)
	if err != nil || archived == nil {
		return err
	}
	defer archived.Close()
	same, err := r.SameAs(archived)
	if err != nil {
		return err
	}
	made := a.archives[0].Manifest
	if same {
		how.Notes = append(how.Notes, fmt.Sprintf("%s gives the results it holds, made by %s.", paths[0], made.Tool))
		return nil
	}
	said := "the program or the file was altered"
	if ours := "airtally " + version; made.Tool != ours {
		said = fmt.Sprintf("they were made by %s, these by %s", made.Tool, ours)
	}
	fmt.Fprintf(a.errOut, "airtally: %s gives other results than those it holds: %s; compare the two %s\n", paths[0], said, reports.ResultsFile)
	return nil
}
