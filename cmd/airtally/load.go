package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/reports"
)

// limitsFlag adds the flag for a file of limits that is no part of a survey.
func (a *app) limitsFlag(c *cobra.Command) {
	c.Flags().StringVar(&a.ownLimits, "limits", "", "limits of your own: a .csv or .xlsx `FILE`")
}

// labFlags adds the flags for the files of laboratories.
func (a *app) labFlags(c *cobra.Command) {
	c.Flags().StringArrayVar(&a.labFiles, "lab", nil, "a laboratory's own `FILE` of results, .csv or .xlsx;\nrepeat it for more")
	c.Flags().StringArrayVar(&a.mappings, "map", nil, "how to read it: a `FILE.toml` of airtally map, for all\n--lab files or one for each in turn; without it,\nthe one of the same name beside the file")
}

// labPaths returns the files of laboratories, each with the mapping that is
// given for it.
func (a *app) labPaths() ([]survey.LabPath, error) {
	if n := len(a.mappings); n > 1 && n != len(a.labFiles) || n == 1 && len(a.labFiles) == 0 {
		return nil, fmt.Errorf("there are %d --map for %d --lab; give one mapping for all files, or one for each in the same order", n, len(a.labFiles))
	}
	var paths []survey.LabPath
	for i, file := range a.labFiles {
		p := survey.LabPath{File: file}
		if len(a.mappings) > 0 {
			p.Map = a.mappings[min(i, len(a.mappings)-1)]
		}
		paths = append(paths, p)
	}
	return paths, noneTwice(a.labFiles)
}

// load reads and reduces surveys. It returns as soon as ctx is done, even
// while a file is being read.
func (a *app) load(ctx context.Context, paths []string) (*reports.Report, error) {
	if err := noneTwice(paths); err != nil {
		return nil, err
	}
	labs, err := a.labPaths()
	if err != nil {
		return nil, err
	}
	defer a.progress("reading and reducing")()
	type loaded struct {
		report   *reports.Report
		archives []*survey.Archive
		err      error
	}
	result := make(chan loaded, 1)
	go func() {
		var r loaded
		r.report, r.archives, r.err = reduceAll(ctx, paths, beside{a.ownLimits, labs})
		result <- r
	}()
	select {
	case <-ctx.Done():
		return nil, ctx.Err()
	case r := <-result:
		a.archives = r.archives
		return r.report, r.err
	}
}

// reduceAll reads every survey, so that all that is wrong with them is told at
// once, and reduces them. It returns the archives that some came from, open.
func reduceAll(ctx context.Context, paths []string, with beside) (*reports.Report, []*survey.Archive, error) {
	batches, archives, err := batchesOf(paths, with)
	if err != nil {
		return nil, archives, err
	}
	var all reading
	for _, b := range batches {
		all.read(b)
	}
	if err := errors.Join(all.faults...); err != nil {
		return nil, archives, &refused{err, all.found}
	}
	results, err := exposure.Reduce(ctx, all.surveys, all.found...)
	if err != nil {
		return nil, archives, err
	}
	report := &reports.Report{Results: results, Version: version, Created: now().UTC().Truncate(time.Second), Read: all.together}
	return report, archives, nil
}

// refused says why surveys cannot be read, and has what was found until then.
type refused struct {
	error
	found []*finding.List
}

func (r *refused) Unwrap() error { return r.error }

// beside is what is given beside surveys and serves them all.
type beside struct {
	limits string // path of a file of limits; "" where there is none
	labs   []survey.LabPath
}

// batch is surveys that are read together: from the same place, and with the
// same files beside them.
type batch struct {
	survey.Reader
	surveys []string
	beside
}

// batchesOf sorts the paths of a command line: those on the disk, and those
// that archives hold.
func batchesOf(paths []string, with beside) (all []batch, archives []*survey.Archive, err error) {
	onDisk := -1 // the batch that takes the next path on the disk
	for _, path := range paths {
		if !survey.IsArchive(path) {
			if onDisk < 0 {
				onDisk = len(all)
				all = append(all, batch{Reader: survey.Disk, beside: with})
			}
			all[onDisk].surveys = append(all[onDisk].surveys, path)
			continue
		}
		switch {
		case with.limits != "":
			return nil, archives, fmt.Errorf("%s is reduced with the limits it was archived with; leave out --limits, or unpack its inputs to reduce them with others", path)
		case len(with.labs) > 0:
			return nil, archives, fmt.Errorf("%s is reduced with the laboratory files it was archived with; leave out --lab, or unpack its inputs to reduce them with others", path)
		}
		archive, err := survey.OpenArchive(path)
		if err != nil {
			return nil, archives, err
		}
		archives = append(archives, archive)
		for i := range archive.Manifest.Parts {
			var b batch
			b.Reader, b.surveys, b.limits, b.labs = archive.Part(i)
			all = append(all, b)
		}
		onDisk = -1
	}
	return all, archives, nil
}

// closeArchives closes the archives that surveys were read from.
func (a *app) closeArchives() {
	for _, archive := range a.archives {
		_ = archive.Close() // it was only read
	}
}

// reading is what has been read so far.
type reading struct {
	surveys  []*survey.Survey
	together []survey.Together
	found    []*finding.List
	faults   []error
}

// read adds a batch. The limits of its file serve each of its surveys, and the
// files of laboratories those that have their samples.
func (all *reading) read(b batch) {
	var together survey.Together
	first := len(all.surveys)
	if len(b.labs) > 0 {
		b.Reader = b.LabApart()
	}
	for _, path := range b.surveys {
		one, list, err := b.Read(path)
		all.found, all.faults = append(all.found, list), append(all.faults, err)
		if err == nil {
			all.surveys = append(all.surveys, one)
			together.Surveys = append(together.Surveys, one.Given())
		}
	}
	if b.limits != "" {
		rows, given, list, err := b.ReadLimits(b.limits)
		all.found, all.faults = append(all.found, list), append(all.faults, err)
		together.Limits = &given
		for i, s := range all.surveys[first:] {
			s.Limits = append(s.Limits, rows...)
			if i == 0 {
				s.Inputs = append(s.Inputs, given.Inputs...)
			}
		}
	}
	for _, path := range b.labs {
		if first == len(all.surveys) {
			break // no survey could be read, which is said
		}
		given, list, err := b.AddLab(all.surveys[first:], path)
		all.found, all.faults = append(all.found, list), append(all.faults, err)
		together.Labs = append(together.Labs, given)
	}
	all.together = append(all.together, together)
}

// noneTwice refuses the same survey given twice: each of its samples would
// count twice in a group.
func noneTwice(paths []string) error {
	for i, path := range paths {
		one, err := os.Stat(path)
		if err != nil {
			continue // reading it says why
		}
		for _, other := range paths[:i] {
			if two, err := os.Stat(other); err == nil && os.SameFile(one, two) {
				return fmt.Errorf("%s and %s are the same survey; name it once", other, path)
			}
		}
	}
	return nil
}
