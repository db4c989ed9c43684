package reports

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"airtally/exposure"
	"airtally/exposure/survey"
)

// working is how one number of the page comes about, a line for each step.
type working struct{ Lines []workingLine }

// workingLine is one step: "905.3 L = 1.994 L/min × 454 min".
type workingLine struct {
	Of     string // what the line is about, where that is not the number itself
	To     string // id of the row of the page that says more
	Sum    string
	Rule   string // the same in symbols
	Source string
}

// isTrivial reports whether a line only says a figure twice.
func (l *workingLine) isTrivial() bool {
	figure, sum, _ := strings.Cut(l.Sum, " = ")
	return figure == sum
}

// workings writes the steps of results with the numbers they had.
type workings struct {
	report *Report
	steps  map[any][]exposure.Step
	rows   map[any]string // ids of the rows of samples
}

func (r *Report) newWorkings() *workings {
	return &workings{report: r, steps: map[any][]exposure.Step{}}
}

// of returns the steps of a row or result.
func (w *workings) of(result any) []exposure.Step {
	key := identity(result)
	steps, known := w.steps[key]
	if known {
		return steps
	}
	switch x := result.(type) {
	case *survey.Flow:
		steps = w.report.FlowSteps(x)
	case *survey.LabRow:
		steps = w.report.RowSteps(x)
	case stepped:
		steps = x.Steps()
	}
	w.steps[key] = steps
	return steps
}

// step returns the step of a result with a key.
func (w *workings) step(result any, key string) (exposure.Step, bool) {
	steps := w.of(result)
	at := slices.IndexFunc(steps, func(s exposure.Step) bool { return s.Key == key })
	if at < 0 {
		return exposure.Step{}, false
	}
	return steps[at], true
}

// lines returns the steps of a result with the keys, in the order of the keys.
func (w *workings) lines(result any, keys ...string) []workingLine {
	var all []workingLine
	for _, key := range keys {
		s, has := w.step(result, key)
		if !has {
			continue
		}
		if line := w.line(&s); !line.isTrivial() {
			all = append(all, line)
		}
	}
	return all
}

// line writes a step.
func (w *workings) line(s *exposure.Step) workingLine {
	if line, is := clockLine(s); is {
		return line
	}
	rule := ruleOf(s)
	sum := &words{}
	numbered := w.numbered(rule)
	sum.write(&numbered, loose)
	in := &words{}
	in.write(&rule, loose)
	line := workingLine{Sum: stepFigure(s) + " = " + sum.String(), Rule: orName(s.Symbol, s.Name) + " = " + in.String(), Source: s.Source}
	if line.Sum == line.Rule || in.String() == s.Symbol {
		line.Rule = ""
	}
	return line
}

// ruleOf returns how a step came about: its expression with the branches taken. A
// quotient stays one where it is divided by 1, as a fraction of a limit of 1 is.
func ruleOf(s *exposure.Step) exposure.Expression {
	rule := taken(s.By)
	if isPlain(&rule) && s.By.Op == exposure.Over {
		return withArgs(s.By, taken)
	}
	return rule
}

// isPlain reports whether an expression only takes a figure over.
func isPlain(e *exposure.Expression) bool {
	return e.Op == exposure.Reference || e.Op == exposure.Constant
}

// clockLine writes the minutes by the clock as people reckon them; false for
// any other step.
func clockLine(s *exposure.Step) (workingLine, bool) {
	sample, is := s.Of.(*exposure.Sample)
	if !is || s.Key != "clock_min" {
		return workingLine{}, false
	}
	stop := sample.Stop.T.Format("15:04")
	if dayText(sample.Start) != dayText(sample.Stop) {
		stop = sample.Stop.T.Format("2 Jan 15:04")
	}
	sum := stepFigure(s) + " = " + sample.Start.T.Format("15:04") + " to " + stop
	if pause := float64(sample.Row.Pause); pause > 0 {
		sum += " − " + withUnit(pause, "min") + " pause"
	}
	return workingLine{Sum: sum, Rule: "t = stop − start − pause", Source: s.Source}, true
}

func orName(symbol, name string) string {
	if symbol != "" {
		return symbol
	}
	return name
}

// stepFigure returns what a step came to.
func stepFigure(s *exposure.Step) string {
	if s.Word != "" {
		return s.Word
	}
	return withUnit(s.Value, s.Unit)
}

func withUnit(v float64, unit string) string {
	if math.IsInf(v, 0) || math.Abs(v) >= exposure.AnyBound {
		return "no upper bound"
	}
	return strings.TrimSpace(workingFigure(v) + " " + strings.ReplaceAll(prettyUnit(unit), "/m3", "/m³"))
}

// workingFigure returns a number as workings have it: one figure more than
// results, so that a reader who works a line out again meets the same.
func workingFigure(v float64) string {
	if v == 0 {
		return "0"
	}
	d := max(1, significantDecimals(v)+1)
	if exact := publishedDecimals(v); exact < d && side(rounded(v, exact), v) == 0 {
		d = exact
	}
	return fixed(v, d)
}

// taken returns an expression with only the branches that its conditions took,
// and without what changes nothing: a factor 1, a term 0.
func taken(e exposure.Expression) exposure.Expression {
	if isCondition(e.Op) {
		return exposure.Expression{Op: exposure.Constant, Value: e.Evaluate(nil).Number}
	}
	switch e.Op {
	case exposure.If:
		if e.Args[0].Evaluate(nil).Number != 0 {
			return taken(e.Args[1])
		}
		return taken(e.Args[2])
	case exposure.Least, exposure.Greatest:
		for _, arg := range e.Args {
			if arg.Evaluate(nil).Number == e.Evaluate(nil).Number {
				return taken(arg)
			}
		}
	}
	e = withArgs(e, taken)
	switch e.Op {
	case exposure.Times:
		return without(e, 1)
	case exposure.Plus, exposure.Sum:
		return without(e, 0)
	case exposure.Mean:
		if len(e.Args) == 1 {
			return e.Args[0]
		}
	case exposure.Over:
		if e.Args[1].Evaluate(nil).Number == 1 {
			return e.Args[0]
		}
	}
	return e
}

// without returns a product or sum without the arguments that are one number;
// the last of them stays.
func without(e exposure.Expression, nothing float64) exposure.Expression {
	var kept []exposure.Expression
	for _, arg := range e.Args {
		if arg.Evaluate(nil).Number != nothing {
			kept = append(kept, arg)
		}
	}
	switch {
	case len(kept) == 0:
		return e.Args[0]
	case len(kept) == 1:
		return kept[0]
	}
	e.Args = kept
	return e
}

func withArgs(e exposure.Expression, change func(exposure.Expression) exposure.Expression) exposure.Expression {
	if len(e.Args) == 0 {
		return e
	}
	args := make([]exposure.Expression, len(e.Args))
	for i := range e.Args {
		args[i] = change(e.Args[i])
	}
	e.Args = args
	return e
}

// numbered returns an expression with its symbols replaced by what they stood
// for, with their units.
func (w *workings) numbered(e exposure.Expression) exposure.Expression {
	switch e.Op {
	case exposure.Constant:
		e.Name = workingFigure(e.Value)
	case exposure.Reference:
		switch {
		case e.Text != "":
			e.Name = e.Text
		case e.Empty:
			e.Name = "nothing"
		case e.Key == "start" || e.Key == "stop" || e.Key == "end":
			e.Name = serialTime(e.Value).Format("2 Jan 15:04")
		default:
			e.Name = withUnit(e.Value, w.unit(&e))
		}
	}
	return withArgs(e, w.numbered)
}

// serialTime returns the moment that a serial number of a spreadsheet stands for.
func serialTime(days float64) time.Time {
	seconds := math.Round(days * 86400)
	return time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).Add(time.Duration(seconds) * time.Second)
}

// unit returns the unit of what is referred to.
func (w *workings) unit(e *exposure.Expression) string {
	switch row := e.Of.(type) {
	case *survey.Flow:
		if strings.HasPrefix(e.Key, "readings/") {
			return "L/min"
		}
	case *survey.Sample:
		if strings.HasSuffix(e.Key, "_min") {
			return "min"
		}
		return ""
	case *survey.LabRow:
		if e.Key == "result" || e.Key == "reporting_limit" {
			return row.Unit.Name
		}
	}
	s, _ := w.step(e.Of, e.Key)
	return s.Unit
}

const (
	mostLines = 18 // of one working
	longLine  = 400
)

// chain returns the working of a result from the steps with the keys back to
// the figures of the laboratory. Samples are not followed: their volumes have
// workings of their own, in the table of samples.
func (w *workings) chain(result any, keys ...string) *working {
	c := chain{of: w, met: map[stepName]bool{}}
	last := ""
	for _, key := range keys {
		s, has := w.step(result, key)
		if !has {
			continue
		}
		if sum := stepFigure(&s); sum != last { // a bound that is the value needs no words
			c.follow(result, key, "")
			last = sum
		}
	}
	if len(c.lines) == 0 {
		return nil
	}
	return &working{Lines: c.lines}
}

type stepName struct {
	of  any
	key string
}

// chain is a working in the making.
type chain struct {
	of    *workings
	met   map[stepName]bool
	lines []workingLine
}

// follow adds a step and then the steps that it rests on.
func (c *chain) follow(result any, key, about string) {
	name := stepName{identity(result), key}
	if c.met[name] || len(c.lines) == mostLines {
		return
	}
	c.met[name] = true
	s, has := c.of.step(result, key)
	if !has {
		return
	}
	rule := ruleOf(&s)
	if !isPlain(&rule) {
		line := c.of.line(&s)
		line.Of, line.Sum = about, clip(line.Sum, longLine)
		c.lines = append(c.lines, line)
	}
	c.references(rule, result)
}

// references follows what an expression refers to, once each.
func (c *chain) references(e exposure.Expression, from any) {
	if e.Op != exposure.Reference {
		for _, arg := range e.Args {
			c.references(arg, from)
		}
		return
	}
	switch x := e.Of.(type) {
	case *exposure.Sample:
		if _, own := from.(*exposure.Sample); own {
			c.follow(x, e.Key, "")
			return
		}
		c.sample(x)
	case *exposure.ExposureTerm:
		c.follow(x, e.Key, x.Concentration.Sample.ID)
	case *exposure.Concentration:
		c.follow(x, e.Key, x.Substance.Analyte+" on "+x.Sample.ID)
	case stepped:
		c.follow(x, e.Key, "")
	}
}

// sample adds a line that leads to the row of a sample.
func (c *chain) sample(s *exposure.Sample) {
	name := stepName{identity(s), ""}
	if c.met[name] || len(c.lines) == mostLines {
		return
	}
	c.met[name] = true
	if line, has := c.of.sampleLine(s); has {
		c.lines = append(c.lines, line)
	}
}

// sampleLine says what the volume of a sample is, and where it stands.
func (w *workings) sampleLine(s *exposure.Sample) (workingLine, bool) {
	v, has := w.step(s, "volume_l")
	if !has {
		return workingLine{}, false
	}
	line := w.line(&v)
	line.Of, line.To = s.ID, w.rowOf(s)
	return line, true
}

// rowOf returns the id of a sample's row of the page.
func (w *workings) rowOf(s *exposure.Sample) string {
	if w.rows == nil {
		w.rows = map[any]string{}
		for i := range w.report.Samples {
			w.rows[identity(&w.report.Samples[i])] = "sample-" + strconv.Itoa(i+1)
		}
	}
	return w.rows[identity(s)]
}

// exposureKey returns the key of the value of an exposure.
func exposureKey(x *exposure.Exposure) string {
	if x.Quantity == exposure.OfFibres {
		return "value_fcc"
	}
	return "value_mgm3"
}
