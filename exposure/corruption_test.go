package exposure_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"text/tabwriter"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
)

// The corruption trial makes seeded single faults in the demo survey, of the
// kinds people make. Each must leave every number as it was, or be told of by a
// new stop or check that names the faulty row. What neither does is silent.

const (
	sampledTrials   = 400  // where AIRTALLY_TRIALS does not say how many
	mostSilentPct   = 1    // of all trials whose fault the data can show
	mostNewFindings = 2    // a fault, on average
	trialSeed       = 2026 // AIRTALLY_SEED gives another
)

// verdict says what became of one fault.
type verdict uint8

const (
	caught verdict = iota
	unchanged
	silent
)

// verdicts counts the verdicts of one kind of fault.
type verdicts struct {
	count    [3]int
	found    int // new stops and checks
	codes    map[string]int
	examples []string
}

func (n verdicts) trials() int { return n.count[caught] + n.count[unchanged] + n.count[silent] }

// outcome is what a survey comes to: its numbers, and its stops and checks.
type outcome struct {
	refused  string // the error, where the survey could not be read
	numbers  map[string]bool
	findings map[[3]string]finding.Finding // by severity, code and subject
}

// outcomeOf reduces a book. Groups and follow-up are made of the exposures and
// comparisons, which stand for them.
func outcomeOf(t failer, b book) outcome {
	folder, err := os.MkdirTemp("", "airtally-corruption-")
	if err != nil {
		t.Fatalf("%v", err)
	}
	defer os.RemoveAll(folder)
	b.writeFolder(t, folder)
	s, found, err := survey.Read(folder)
	if err != nil {
		return outcome{refused: err.Error()}
	}
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{s}, found)
	if err != nil {
		t.Fatalf("reduce: %v", err)
	}
	out := outcome{numbers: numbersOf(results), findings: map[[3]string]finding.Finding{}}
	for _, f := range results.Findings {
		if f.Severity != finding.Note {
			out.findings[[3]string{f.Severity.String(), string(f.Code), f.Subject}] = f
		}
	}
	return out
}

// numbersOf writes out every number of the results with what it is a number of.
func numbersOf(x *exposure.Results) map[string]bool {
	all := map[string]bool{}
	add := func(parts ...any) { all[fmt.Sprintln(parts...)] = true }
	for i := range x.Samples {
		s := &x.Samples[i]
		add("sample", s.ID, s.Kind, s.Worker, s.Group, s.Shift, s.Minutes, s.FlowPre, s.FlowPost, s.Flow, s.DriftPct,
			s.TargetDevPct, s.Volume, s.VolumeLow, s.VolumeHigh, s.UVolumeRel, s.Void)
	}
	for i := range x.Concentrations {
		c := &x.Concentrations[i]
		add("concentration", c.Sample.ID, c.Substance.Analyte, c.Substance.Form, c.Mass, c.MassUncorrected, c.Blank, c.Air, c.PPM, c.URel)
	}
	for i := range x.Exposures {
		e := &x.Exposures[i]
		add("exposure", e.Worker, e.Group, e.Shift, e.Substance.Analyte, e.Substance.Form, e.Basis, e.Sample,
			e.SampledMin, e.Minutes, e.Coverage, e.Value, e.IfZero, e.IfSame, e.Samples)
	}
	for i := range x.Comparisons {
		c := &x.Comparisons[i]
		add("comparison", c.Worker, c.Shift, c.Substance.Analyte, c.Substance.Form, c.Basis, c.Sample, c.Limit.Authority,
			c.Limit.Kind, c.LimitValue, c.Value, c.Fraction, c.SAE, c.LCL, c.UCL, c.Outcome)
	}
	for i := range x.Mixtures {
		m := &x.Mixtures[i]
		add("mixture", m.Worker, m.Shift, m.Mixture, m.Authority, m.Kind, m.Basis, m.Sample, m.Index, m.Outcome)
	}
	return all
}

// against judges what a fault did.
func (o outcome) against(clean outcome, f *fault) (v verdict, found []string) {
	if o.refused != "" {
		return caught, []string{"refused"}
	}
	named := false
	for key, new := range o.findings {
		if !clean.says(new) {
			found = append(found, key[1])
			named = named || f.names(new)
		}
	}
	switch {
	case named:
		return caught, found
	case maps.Equal(o.numbers, clean.numbers):
		return unchanged, found
	}
	return silent, found
}

// says reports whether the outcome has a finding that says the same of all that
// another is about, perhaps of more.
func (o outcome) says(f finding.Finding) bool {
	if _, same := o.findings[[3]string{f.Severity.String(), string(f.Code), f.Subject}]; same {
		return true
	}
	for key := range o.findings {
		if key[0] != f.Severity.String() || key[1] != string(f.Code) {
			continue
		}
		whole := strings.Split(key[2], ", ")
		if f.Subject != "" && !slices.ContainsFunc(strings.Split(f.Subject, ", "), func(name string) bool { return !slices.Contains(whole, name) }) {
			return true
		}
	}
	return false
}

// names reports whether a finding names the faulty row: its place, or what the
// row is about.
func (f *fault) names(found finding.Finding) bool {
	if found.Table == f.table && slices.Contains(f.rows, found.Row) {
		return true
	}
	return slices.ContainsFunc(strings.Split(found.Subject, ", "), func(name string) bool { return slices.Contains(f.about, name) })
}

// readBook reads a folder of .csv files.
func readBook(t failer, folder string) book {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(folder, "*.csv"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("no tables in %s: %v", folder, err)
	}
	b := book{}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatalf("%v", err)
		}
		rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		b[strings.TrimSuffix(filepath.Base(path), ".csv")] = rows
	}
	return b
}

func (b book) clone() book {
	c := make(book, len(b))
	for name, rows := range b {
		c[name] = make([][]string, len(rows))
		for i, row := range rows {
			c[name][i] = slices.Clone(row)
		}
	}
	return c
}

// TestCorruption runs the trial: AIRTALLY_TRIALS=5000 go test ./exposure -run
// Corruption -v -timeout 30m prints the whole table.
func TestCorruption(t *testing.T) {
	trials := fromEnvironment(t, "AIRTALLY_TRIALS", sampledTrials)
	seed := uint64(fromEnvironment(t, "AIRTALLY_SEED", trialSeed))
	demo := readBook(t, filepath.Join("..", "testdata", "demo"))
	bases := map[bool]book{false: demo, true: withOffsets(demo)}
	clean := map[bool]outcome{false: outcomeOf(t, demo), true: outcomeOf(t, bases[true])}
	tallies := make([]verdicts, len(faultKinds))
	for k := range tallies {
		tallies[k].codes = map[string]int{}
	}
	var lock sync.Mutex
	var wait sync.WaitGroup
	var next atomic.Int64
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for n := int(next.Add(1)) - 1; n < trials; n = int(next.Add(1)) - 1 {
				k := n % len(faultKinds)
				kind := faultKinds[k]
				f := &fault{Rand: rand.New(rand.NewPCG(seed, uint64(n))), book: bases[kind.offsets].clone()}
				for !kind.make(f) {
					f.book, f.rows, f.about = bases[kind.offsets].clone(), nil, nil
				}
				v, found := outcomeOf(t, f.book).against(clean[kind.offsets], f)
				lock.Lock()
				tallies[k].count[v]++
				tallies[k].found += len(found)
				for _, code := range found {
					tallies[k].codes[code]++
				}
				if v == silent {
					tallies[k].examples = append(tallies[k].examples, fmt.Sprintf("%d %s", n, f.did))
				}
				lock.Unlock()
			}
		})
	}
	wait.Wait()
	judgeTrial(t, tallies)
}

func fromEnvironment(t *testing.T, name string, otherwise int) int {
	text := os.Getenv(name)
	if text == "" {
		return otherwise
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return n
}

// judgeTrial prints the table and holds the totals to what is wanted of them.
func judgeTrial(t *testing.T, tallies []verdicts) {
	var text bytes.Buffer
	w := tabwriter.NewWriter(&text, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "fault\ttrials\tcaught\tunchanged\tsilent\tnew findings a fault")
	line := func(name string, n verdicts) {
		fmt.Fprintf(w, "%s\t%d\t%d\t%d\t%d\t%.1f\n", name, n.trials(), n.count[caught], n.count[unchanged], n.count[silent],
			float64(n.found)/float64(max(1, n.trials())))
	}
	totals := map[bool]*verdicts{false: {}, true: {}}
	for _, apart := range []bool{false, true} {
		for k, n := range tallies {
			if faultKinds[k].apart != apart {
				continue
			}
			line(faultKinds[k].name, n)
			for v := range n.count {
				totals[apart].count[v] += n.count[v]
			}
			totals[apart].found += n.found
		}
		line(map[bool]string{false: "all of these", true: "all that no data can show"}[apart], *totals[apart])
	}
	w.Flush()
	t.Logf("\n%s", text.String())
	for k, n := range tallies {
		t.Logf("found: %s: %v", faultKinds[k].name, n.codes)
		for _, e := range n.examples[:min(len(n.examples), fromEnvironment(t, "AIRTALLY_EXAMPLES", 3))] {
			t.Logf("silent: %s: %s", faultKinds[k].name, e)
		}
	}
	shown := totals[false]
	if 100*shown.count[silent] > mostSilentPct*shown.trials() {
		t.Errorf("%d of %d faults are silent: more than %d %%", shown.count[silent], shown.trials(), mostSilentPct)
	}
	if shown.found > mostNewFindings*shown.trials() {
		t.Errorf("%d new findings in %d trials: more than %d a fault", shown.found, shown.trials(), mostNewFindings)
	}
}
