package main

import (
	"context"
	"fmt"
	"os"
	"time"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/reports"
)

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
		report, err := reduceAll(ctx, paths)
		result <- loaded{report, err}
	}()
	select {
	case <-ctx.Done():
		return nil, ctx.Err()
	case r := <-result:
		return r.report, r.err
	}
}

func reduceAll(ctx context.Context, paths []string) (*reports.Report, error) {
	var surveys []*survey.Survey
	var found []*finding.List
	for _, path := range paths {
		one, list, err := survey.Read(path)
		if err != nil {
			return nil, err
		}
		surveys = append(surveys, one)
		found = append(found, list)
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
