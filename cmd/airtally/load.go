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

// load reads and reduces surveys. It returns as soon as ctx is done, even
// while a file is being read.
func (a *app) load(ctx context.Context, paths []string) (*reports.Report, error) {
	if err := noneTwice(paths); err != nil {
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
		r.report, r.archives, r.err = reduceAll(ctx, paths, a.ownLimits)
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
func reduceAll(ctx context.Context, paths []string, ownLimits string) (*reports.Report, []*survey.Archive, error) {
	batches, archives, err := batchesOf(paths, ownLimits)
	if err != nil {
		return nil, archives, err
	}
	var all reading
	for _, b := range batches {
		all.read(b)
	}
	if err := errors.Join(all.faults...); err != nil {
		return nil, archives, err
	}
	results, err := exposure.Reduce(ctx, all.surveys, all.found...)
	if err != nil {
		return nil, archives, err
	}
	report := &reports.Report{Results: results, Version: version, Created: now().UTC().Truncate(time.Second), Read: all.together}
	return report, archives, nil
}

// batch is surveys that are read together: from the same place, and with the
// same limits of a file of their own.
type batch struct {
	survey.Reader
	surveys []string
	limits  string // "" where there are none
}

// batchesOf sorts the paths of a command line: those on the disk, and those
// that archives hold.
func batchesOf(paths []string, ownLimits string) (all []batch, archives []*survey.Archive, err error) {
	onDisk := -1 // the batch that takes the next path on the disk
	for _, path := range paths {
		if !survey.IsArchive(path) {
			if onDisk < 0 {
				onDisk = len(all)
				all = append(all, batch{Reader: survey.Disk, limits: ownLimits})
			}
			all[onDisk].surveys = append(all[onDisk].surveys, path)
			continue
		}
		if ownLimits != "" {
			return nil, archives, fmt.Errorf("%s is reduced with the limits it was archived with; leave out --limits, or unpack its inputs to reduce them with others", path)
		}
		archive, err := survey.OpenArchive(path)
		if err != nil {
			return nil, archives, err
		}
		archives = append(archives, archive)
		for i := range archive.Manifest.Parts {
			var b batch
			b.Reader, b.surveys, b.limits = archive.Part(i)
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

// read adds a batch. The limits of its file serve each of its surveys.
func (all *reading) read(b batch) {
	var together survey.Together
	first := len(all.surveys)
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
