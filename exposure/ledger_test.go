package exposure_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"airtally/exposure"
	"airtally/exposure/survey"
	"airtally/limits"
)

// name is a step or a cell: what it belongs to and its key.
type name struct{ of, key string }

func (n name) String() string { return n.of + " " + n.key }

// ledger holds every step of a reduction, to be worked out from the cells of
// the survey alone.
type ledger struct {
	steps map[name]exposure.Step
	order []name
	keys  map[string][]string // of each result, in order
	known map[name]exposure.Answer

	vanishing map[string]bool // results that an edit may take away without a word
	resting   map[string]bool // exposures and what rests on them
}

// ledgerOf gathers the steps of all results.
func ledgerOf(x *exposure.Results) *ledger {
	l := &ledger{steps: map[name]exposure.Step{}, keys: map[string][]string{}, vanishing: map[string]bool{}, resting: map[string]bool{}}
	for _, s := range x.Surveys {
		for i := range s.Flows {
			l.add(x.FlowSteps(&s.Flows[i]))
		}
		for i := range s.Lab {
			l.add(x.RowSteps(&s.Lab[i]))
		}
	}
	for _, m := range x.BlankMeans() {
		l.add(m.Steps())
	}
	for i := range x.Samples {
		l.add(x.Samples[i].Steps())
	}
	for i := range x.Concentrations {
		l.add(x.Concentrations[i].Steps())
	}
	l.addAverages(x)
	return l
}

func (l *ledger) add(steps []exposure.Step) {
	for _, s := range steps {
		n := name{identity(s.Of), s.Key}
		if _, twice := l.steps[n]; twice {
			panic("two steps are " + n.String())
		}
		l.steps[n] = s
		l.order = append(l.order, n)
		l.keys[n.of] = append(l.keys[n.of], n.key)
	}
}

// identity names a row or a result alike in two reductions of one survey.
func identity(of any) string {
	switch of := of.(type) {
	case *exposure.Sample:
		return "sample " + of.ID
	case *exposure.Concentration:
		return "concentration " + of.Sample.ID + " " + of.Substance.Analyte + "/" + of.Substance.Form
	case *exposure.BlankMean:
		return "blanks " + of.Lot + " " + of.Medium + " " + of.Analyte + " " + of.Section.String() + " for " + strings.Join(of.Samples, " ")
	case *survey.Sample:
		return of.Table.File + " samples row " + of.ID
	case *survey.Flow:
		return of.Table.File + " flows row " + strconv.Itoa(int(of.Row))
	case *survey.LabRow:
		return of.Table.File + " lab row " + strconv.Itoa(int(of.Row))
	}
	if named := identityOfAverage(of); named != "" {
		return named
	}
	panic(fmt.Sprintf("%T is neither a row nor a result", of))
}

// workOut works every step out anew, from the cells as they are now.
func (l *ledger) workOut() {
	l.known = map[name]exposure.Answer{}
	for _, n := range l.order {
		l.at(n)
	}
}

func (l *ledger) at(n name) exposure.Answer {
	if a, known := l.known[n]; known {
		return a
	}
	l.known[n] = exposure.Answer{Text: "a circle", IsText: true}
	step := l.steps[n]
	a := step.Whole().Evaluate(l.look)
	l.known[n] = a
	return a
}

func (l *ledger) look(e exposure.Expression) exposure.Answer {
	n := name{identity(e.Of), e.Key}
	if _, isStep := l.steps[n]; isStep {
		return l.at(n)
	}
	return cellOf(e.Of, e.Key)
}

// cellOf returns what stands in a cell of the survey.
func cellOf(row any, column string) exposure.Answer {
	switch row := row.(type) {
	case *limits.Limit:
		if column == "value" {
			return exposure.Answer{Number: row.Value}
		}
	case *survey.Flow:
		if column == "taken_at" {
			return momentOf(row.TakenAt)
		}
		n, err := strconv.Atoi(strings.TrimPrefix(column, "readings/"))
		switch {
		case err == nil && n > len(row.Readings):
			return exposure.Answer{Empty: true}
		case err == nil:
			return exposure.Answer{Number: float64(row.Readings[n-1])}
		}
	case *survey.Sample:
		switch column {
		case "start":
			return momentOf(row.Start)
		case "stop":
			return momentOf(row.Stop)
		case "pause_min":
			return exposure.Answer{Number: float64(row.Pause), Empty: row.Pause == 0}
		case "run_min":
			return exposure.Answer{Number: row.Run.Or(0), Empty: !row.Run.Known}
		}
	case *survey.LabRow:
		switch column {
		case "result":
			return exposure.Answer{Number: row.Value, Empty: row.Kind == survey.NotFound || row.Sample == rowTakenAway}
		case "flag":
			return wordsOf(exposure.Sign(row))
		case "qualifier":
			return wordsOf(exposure.Letters(row))
		case "reporting_limit":
			return exposure.Answer{Number: row.ReportingLimit.Or(0), Empty: !row.ReportingLimit.Known}
		}
	}
	panic(fmt.Sprintf("%s has neither a step nor a cell %q", identity(row), column))
}

func wordsOf(text string) exposure.Answer {
	return exposure.Answer{Text: text, IsText: text != "", Empty: text == ""}
}

func momentOf(m survey.Moment) exposure.Answer {
	if !m.Known {
		return exposure.Answer{Empty: true}
	}
	return exposure.Answer{Number: exposure.Serial(m.T)}
}

// agree reports whether an answer is what the engine found. Differences of
// flows in % lose digits to the flows that are taken from each other.
func agree(got exposure.Answer, want exposure.Step, relative float64) bool {
	if got.IsText {
		return got.Text == want.Word && want.Value == 0
	}
	allowed := relative * math.Max(math.Abs(want.Value), math.Abs(got.Number))
	if want.Unit == "%" || want.Key == "u_drift" {
		allowed = math.Max(allowed, 100*relative)
	}
	return want.Word == "" && (got.Number == want.Value || math.Abs(got.Number-want.Value) <= allowed && !math.IsInf(want.Value, 0))
}

// check works every step out from the cells and compares it with the engine.
func (l *ledger) check(t *testing.T) {
	t.Helper()
	l.workOut()
	for _, n := range l.order {
		if got, want := l.known[n], l.steps[n]; !agree(got, want, 1e-12) {
			t.Errorf("%s: %s, the engine found %v %s", n, sayAnswer(got), want.Value, want.Word)
		}
		if s := l.steps[n]; s.Source == "" && s.Key != "follows" {
			t.Errorf("%s has no source", n)
		}
		if n.key == "follows" && l.known[n].Number != 1 {
			t.Errorf("%s: nothing was edited", n)
		}
	}
}

func sayAnswer(a exposure.Answer) string {
	if a.IsText {
		return strconv.Quote(a.Text)
	}
	return fmt.Sprint(a.Number)
}
