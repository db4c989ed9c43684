// Package reports draws the results of a reduction: results.json, the tables,
// the workbook and the text for the terminal. It computes nothing new; every
// figure it shows stands in exposure.Results.
package reports

import (
	"strings"
	"time"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
)

// Caution is the sentence that every output carries.
const Caution = "Decision support only. Limits and rules differ by place and change with time; " +
	"the regulation in force and a qualified person decide."

// Names of the files of a run, within its folder.
const (
	ResultsFile  = "results.json"
	WorkbookFile = "report.xlsx"
	TablesFolder = "tables"
)

// Schemas of the JSON objects, with the version of their shape.
const (
	resultsSchema = "airtally/results/1"
	checkSchema   = "airtally/check/1"
)

// Report is the results of one run, with the program and the moment that made
// them.
type Report struct {
	*exposure.Results
	Version string    // of airtally
	Created time.Time // when the run was made

	Read      []survey.Together // what was given, and the files read there
	NoNames   bool              // private names are left out: no key sheet, codes in the notices
	Advice    bool              // sheets of advice on respirators and long shifts are wanted
	WeekHours stats.Optional    // hours of the week that advice on long shifts counts too
}

// Count returns how many findings have the severity.
func (r *Report) Count(s finding.Severity) int {
	n := 0
	for i := range r.Findings {
		if r.Findings[i].Severity == s {
			n++
		}
	}
	return n
}

func (r *Report) tool() string { return "airtally " + r.Version }

func (r *Report) created() string { return r.Created.Format(time.RFC3339) }

// title is what the report is called when the survey does not say.
func (r *Report) title() string {
	if r.Settings.Title != "" {
		return r.Settings.Title
	}
	return "Air sampling results"
}

// readFrom names the surveys, and the files of laboratories read with them.
func (r *Report) readFrom() string {
	var paths []string
	for _, s := range r.Surveys {
		paths = append(paths, s.Path)
	}
	for _, together := range r.Read {
		for _, lab := range together.Labs {
			paths = append(paths, lab.File.Path)
		}
	}
	return strings.Join(paths, ", ")
}

func (r *Report) inputs() []survey.Input {
	var all []survey.Input
	for _, s := range r.Surveys {
		all = append(all, s.Inputs...)
	}
	return all
}
