package exposure_test

import (
	"fmt"
	"math"
	"math/rand"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"
	"time"

	"airtally/exposure"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/stats"
	"airtally/volume"
)

// input is a cell of the survey that steps rest on.
type input struct {
	row    any
	column string
}

func (c input) String() string { return identity(c.row) + " " + c.column }

// inputs returns the cells that the steps rest on, in a settled order.
func (l *ledger) inputs() []input {
	met := map[string]input{}
	var walk func(e *exposure.Expression)
	walk = func(e *exposure.Expression) {
		for i := range e.Args {
			walk(&e.Args[i])
		}
		if e.Op != exposure.Reference {
			return
		}
		if _, isStep := l.steps[name{identity(e.Of), e.Key}]; isStep || !editable(e.Key) {
			return
		}
		if _, isLimit := e.Of.(*limits.Limit); !isLimit {
			c := input{e.Of, e.Key}
			met[c.String()] = c
		}
	}
	for _, n := range l.order {
		by := l.steps[n].By
		walk(&by)
	}
	all := make([]input, 0, len(met))
	for _, c := range met {
		all = append(all, c)
	}
	sort.Slice(all, func(a, b int) bool { return all[a].String() < all[b].String() })
	return all
}

func editable(column string) bool { return column != "taken_at" && column != "qualifier" }

// edit changes a cell as a reader of the workbook may, and returns what takes
// the edit back.
func (c input) edit(r *rand.Rand) (undo func()) {
	switch row := c.row.(type) {
	case *survey.Flow:
		return c.editReading(row, r)
	case *survey.Sample:
		return c.editSample(row, r)
	case *survey.LabRow:
		return c.editResult(row, r)
	}
	panic("no cell of " + c.String())
}

func (c input) editReading(row *survey.Flow, r *rand.Rand) (undo func()) {
	n, _ := strconv.Atoi(strings.TrimPrefix(c.column, "readings/"))
	if all := row.Readings; n > 1 && n == len(all) && r.Intn(4) == 0 {
		row.Readings = all[:n-1]
		return func() { row.Readings = all }
	}
	was := row.Readings[n-1]
	row.Readings[n-1] = volume.LitresPerMinute(float64(was) * (0.8 + 0.4*r.Float64()))
	return func() { row.Readings[n-1] = was }
}

func (c input) editSample(row *survey.Sample, r *rand.Rand) (undo func()) {
	was := *row
	undo = func() { *row = was }
	switch c.column {
	case "start":
		row.Start = moved(row.Start, r)
	case "stop":
		row.Stop = moved(row.Stop, r)
	case "pause_min":
		row.Pause = volume.Minutes(r.Intn(60))
	case "run_min":
		row.Run = stats.Some(float64(1 + r.Intn(400)))
		if was.Run.Known && r.Intn(3) == 0 {
			row.Run = stats.Optional{}
		}
	}
	return undo
}

// moved returns a moment up to two hours away, as its clock time is read.
func moved(m survey.Moment, r *rand.Rand) survey.Moment {
	wall := m.T.Add(time.Duration(r.Intn(240)-120) * time.Minute)
	m.T = time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(), 0, m.T.Location())
	if first := m.T.Add(-time.Hour); exposure.Serial(first) == exposure.Serial(m.T) { // the clocks are put back
		m.T = first
	}
	return m
}

// rowTakenAway names no sample: a laboratory row with it comes to nothing.
const rowTakenAway = "taken away"

func (c input) editResult(row *survey.LabRow, r *rand.Rand) (undo func()) {
	was := *row
	undo = func() { *row = was }
	scaled := func(x float64) float64 { return written(x * math.Pow(10, 2*r.Float64()-1)) }
	limit := row.ReportingLimit.Or(1)
	switch c.column {
	case "flag":
		switch row.Kind {
		case survey.Number:
			row.Kind = survey.LessThan
			row.Value = math.Max(row.Value, limit)
		case survey.LessThan:
			row.Kind = survey.Number
		}
	case "reporting_limit":
		row.ReportingLimit = stats.Some(scaled(limit))
		if r.Intn(4) == 0 {
			row.ReportingLimit = stats.Optional{Known: !was.ReportingLimit.Known, Value: limit}
		}
	case "result":
		if row.Kind == survey.NotFound {
			return undo // there is no number to edit
		}
		if r.Intn(8) == 0 {
			row.Sample, row.Value = rowTakenAway, 0 // a row without a result is refused
			return undo
		}
		choices := []float64{scaled(math.Abs(row.Value)), scaled(math.Abs(row.Value)), scaled(limit), limit, limit * (1 - 1e-6)}
		if row.Kind == survey.Number {
			choices = append(choices, 0, -row.Value)
		}
		row.Value = choices[r.Intn(len(choices))]
		if row.Kind != survey.Number && row.Value <= 0 {
			row.Value = limit
		}
	}
	return undo
}

// tally counts what edits came to.
type tally struct {
	edits     int
	air, rest count // of samples and concentrations, and of all that rests on them
}

type count struct{ numbers, followed, changed, stale, needless int }

func (c *tally) add(o tally) {
	c.edits += o.edits
	c.air.add(o.air)
	c.rest.add(o.rest)
}

func (c *count) add(o count) {
	c.numbers += o.numbers
	c.followed += o.followed
	c.stale += o.stale
	c.changed += o.changed
	c.needless += o.needless
}

func (c count) String() string {
	return fmt.Sprintf("of %d numbers %d followed (%d of them changed), %d said stale (%d without need)",
		c.numbers, c.followed, c.changed, c.stale, c.needless)
}

// tryEdits edits one cell after another, each alone, and compares every step
// with a fresh reduction of the edited survey.
func tryEdits(t *testing.T, s *survey.Survey, edits int, seed int64) (counted tally) {
	t.Helper()
	l := ledgerOf(reduceSurvey(t, s))
	inputs := l.inputs()
	r := rand.New(rand.NewSource(seed))
	for range edits {
		c := inputs[r.Intn(len(inputs))]
		before := cellOf(c.row, c.column)
		undo := c.edit(r)
		what := fmt.Sprintf("%s from %s to %s", c, sayAnswer(before), sayAnswer(cellOf(c.row, c.column)))
		l.workOut()
		counted.add(l.compare(t, what, l.idle(c.row), ledgerOf(reduceSurvey(t, s))))
		undo()
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
	return counted
}

// compare compares each step, worked out from the edited cells, with the
// steps of a fresh reduction.
//
// An idle row is one that came to nothing: any edit of it makes stale what it
// may come to, whether or not it does.
func (l *ledger) compare(t *testing.T, what string, idle bool, fresh *ledger) (tallied tally) {
	t.Helper()
	tallied.edits = 1
	for _, n := range l.order {
		got, counted := l.known[n], &tallied.air
		if l.resting[n.of] {
			counted = &tallied.rest
		}
		counted.numbers++
		if got.IsText && got.Text == exposure.Stale {
			counted.stale++
			if !idle && l.comesAboutAlike(n.of, fresh, map[string]bool{}) {
				counted.needless++
			}
			continue
		}
		want, there := fresh.steps[n]
		switch {
		case n.key == "follows", n.key == "unchanged", strings.HasPrefix(n.key, "as_found"), l.goesUnguarded(n), !there && l.vanishing[n.of]:
		case len(fresh.keys[n.of]) == 0 && strings.HasPrefix(n.of, "blanks "): // nothing rests on them any more
		case !there:
			t.Errorf("%s: %s is %s, but a fresh reduction has no such number", what, n, sayAnswer(got))
		case !agree(got, want, 1e-9):
			t.Errorf("%s: %s is %s, a fresh reduction gives %v %s", what, n, sayAnswer(got), want.Value, want.Word)
		default:
			counted.followed++
			if l.steps[n].Value != want.Value {
				counted.changed++
			}
		}
	}
	for _, n := range fresh.order {
		follows, ok := l.known[name{n.of, "follows"}]
		if _, there := l.steps[n]; !there && ok && follows.Number == 1 {
			t.Errorf("%s: a fresh reduction has %s, and nothing says stale", what, n)
		}
	}
	return tallied
}

// idle reports whether a laboratory's row or a sample came to nothing.
func (l *ledger) idle(row any) bool {
	switch row := row.(type) {
	case *survey.LabRow:
		of := identity(row)
		for n, s := range l.steps {
			for _, other := range references(s.By) {
				if _, isStep := l.steps[other]; isStep && other.of == of && n.of != of && n.key != "follows" {
					return false
				}
			}
		}
		return true
	case *survey.Sample:
		return !slices.Contains(l.keys["sample "+row.ID], "volume_low_l")
	}
	return false
}

// goesUnguarded reports whether a step stands before what it would be stale
// by, and its result is stale.
func (l *ledger) goesUnguarded(n name) bool {
	return !l.steps[n].Guarded && l.known[name{n.of, "follows"}].Number == 0
}

// comesAboutAlike reports whether a result has the same steps by the same
// rules in two reductions, down to the cells.
func (l *ledger) comesAboutAlike(of string, fresh *ledger, met map[string]bool) bool {
	if met[of] {
		return true
	}
	met[of] = true
	if !slices.Equal(l.keys[of], fresh.keys[of]) {
		return false
	}
	for _, key := range l.keys[of] {
		if key == "follows" {
			continue
		}
		a, b := l.steps[name{of, key}], fresh.steps[name{of, key}]
		if shape(a.By) != shape(b.By) {
			return false
		}
		for _, other := range references(a.By) {
			if !l.comesAboutAlike(other.of, fresh, met) {
				return false
			}
		}
	}
	return true
}

// shape writes an expression down without the values of its references.
func shape(e exposure.Expression) string {
	switch e.Op {
	case exposure.Reference:
		return identity(e.Of) + "!" + e.Key
	case exposure.Constant:
		return fmt.Sprint(e.Value)
	case exposure.Word:
		return strconv.Quote(e.Name)
	}
	parts := []string{fmt.Sprint(e.Op)}
	for _, a := range e.Args {
		parts = append(parts, shape(a))
	}
	return "(" + strings.Join(parts, " ") + ")"
}

func references(e exposure.Expression) (all []name) {
	if e.Op == exposure.Reference {
		return []name{{identity(e.Of), e.Key}}
	}
	for _, a := range e.Args {
		all = append(all, references(a)...)
	}
	return all
}

// A reader edits one cell of the workbook: every number that rests on it is
// what a fresh reduction of the edited survey gives, or says that it is stale.
// 500 edits of the demo and of drawn surveys.
func TestEditedCellsGiveWhatAFreshReductionGives(t *testing.T) {
	t.Parallel()
	demo, _, err := survey.Read("../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	surveys, edits := 40, 10
	if testing.Short() {
		surveys = 8
	}
	counted := tryEdits(t, demo, 100, 1)
	t.Logf("the demo: %v; of what rests on them: %v", counted.air, counted.rest)
	for seed := range surveys {
		counted.add(tryEdits(t, intricate(t, 1000+seed), edits, int64(seed)))
	}
	t.Logf("%d edits: %v; of what rests on them: %v", counted.edits, counted.air, counted.rest)
	if air := counted.air; air.changed < 5*counted.edits || air.stale > 2*air.changed || 50*air.needless > air.stale {
		t.Errorf("too little follows: %+v", counted)
	}
	if rest := counted.rest; rest.changed < 10*counted.edits || rest.stale > 4*rest.changed || 50*rest.needless > rest.stale {
		t.Errorf("too little follows: %+v", counted)
	}
}
