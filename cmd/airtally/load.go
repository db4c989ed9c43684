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
		report *reports.Report
		err    error
	}
	result := make(chan loaded, 1)
	go func() {
		report, err := reduceAll(ctx, paths, a.ownLimits)
		result <- loaded{report, err}
	}()
	select {
	case <-ctx.Done():
		return nil, ctx.Err()
	case r := <-result:
		return r.report, r.err
	}
}

// reduceAll reads every survey, so that all that is wrong with them is told at
// once, and reduces them. The limits of a file of their own serve each.
func reduceAll(ctx context.Context, paths []string, ownLimits string) (*reports.Report, error) {
	var surveys []*survey.Survey
	var found []*finding.List
	var faults []error
	for _, path := range paths {
		one, list, err := survey.Read(path)
		surveys, found, faults = append(surveys, one), append(found, list), append(faults, err)
	}
	if ownLimits != "" {
		rows, inputs, list, err := survey.ReadLimits(ownLimits)
		found, faults = append(found, list), append(faults, err)
		for i, s := range surveys {
			if s == nil {
				continue
			}
			s.Limits = append(s.Limits, rows...)
			if i == 0 {
				s.Inputs = append(s.Inputs, inputs...)
			}
		}
	}
	if err := errors.Join(faults...); err != nil {
		return nil, err
	}
	results, err := exposure.Reduce(ctx, surveys, found...)
	if err != nil {
		return nil, err
	}
	return &reports.Report{Results: results, Version: version, Created: now().UTC().Truncate(time.Second)}, nil
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
