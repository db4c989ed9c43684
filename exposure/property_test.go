package exposure_test

import (
	"fmt"
	"maps"
	"math"
	"math/rand"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var lively = traits{blanks: true, errors: true}

// close reports whether two numbers agree to a relative error.
func close(a, b, relative float64) bool {
	return a == b || math.Abs(a-b) <= relative*math.Max(math.Abs(a), math.Abs(b))
}

// sameNumbers compares fields of two rows, the second against k times the
// first. A null must meet a null.
func sameNumbers(t failer, key string, a, b object, k, relative float64, fields ...string) {
	t.Helper()
	for _, f := range fields {
		x, hasX := a.number(f)
		y, hasY := b.number(f)
		if hasX != hasY || !close(k*x, y, relative) {
			t.Errorf("%s: %s is %v and becomes %v, want %v times it", key, f, a[f], b[f], k)
		}
	}
}

// sameKeys fails where two arrays do not have the same rows.
func sameKeys(t failer, a, b map[string]object) {
	t.Helper()
	for k := range a {
		if b[k] == nil {
			t.Errorf("the row %s is gone", k)
		}
	}
	for k := range b {
		if a[k] == nil {
			t.Errorf("the row %s is new", k)
		}
	}
}

var (
	airFields      = []string{"value_mgm3", "low_mgm3", "high_mgm3", "value_fcc", "low_fcc", "high_fcc"}
	exposureFields = append(slices.Clone(airFields), "if_zero_mgm3", "if_same_mgm3")
	coverFields    = []string{"sampled_min", "shift_min", "coverage_pct"}
	fractionFields = []string{"value", "fraction", "fraction_low", "fraction_high"}
)

// Every formula from mass to fraction is linear in the masses: with reporting
// limits, blanks and stated gaps k times as large, everything in air is.
func TestScalingMassesScalesTheResults(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawField(t, lively)
		k := float64(rapid.IntRange(1, 500).Draw(t, "k")) / 100
		before := reduceFolder(t, f.book())
		for i := range f.lab {
			f.lab[i].mass *= k
			f.lab[i].limit *= k
		}
		for i := range f.gaps {
			f.gaps[i].value *= k
		}
		after := reduceFolder(t, f.book())
		compareScaled(t, before.Concentrations, after.Concentrations, concentrationKey, k,
			append([]string{"mass_ug", "mass_low_ug", "mass_high_ug", "mass_uncorrected_ug", "blank_ug", "value_ppm"}, airFields...))
		compareScaled(t, before.Exposures, after.Exposures, exposureKey, k, exposureFields)
		compareScaled(t, longTerm(before.Comparisons), longTerm(after.Comparisons), comparisonKey, k, fractionFields)
	})
}

// longTerm leaves out short-term rows: one of a shift sample stands only
// where it decides.
func longTerm(rows []object) []object {
	return slices.DeleteFunc(slices.Clone(rows), func(o object) bool { return o["basis"] == "short" })
}

func compareScaled(t failer, before, after []object, key []string, k float64, fields []string) {
	t.Helper()
	a, b := index(t, before, key), index(t, after, key)
	sameKeys(t, a, b)
	for name, x := range a {
		if y := b[name]; y != nil {
			sameNumbers(t, name, x, y, k, 1e-9, fields...)
		}
	}
}

// A time-weighted average does not depend on when a medium was changed: a
// sample split at any minute, its mass and reporting limit shared out by
// time, leaves every average.
func TestSplittingASampleLeavesTheAverages(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawField(t, traits{})
		at := rapid.IntRange(0, len(f.samples)-1).Draw(t, "sample")
		s := f.samples[at]
		if s.purpose != "shift" {
			t.Skip("a short-term sample is a result of its own")
		}
		before := reduceFolder(t, f.book())
		f.split(at, s.start+rapid.IntRange(1, s.stop-s.start-1).Draw(t, "minute"))
		after := reduceFolder(t, f.book())
		averages := func(o output) map[string]object {
			return index(t, slices.DeleteFunc(o.Exposures, func(x object) bool { return x["basis"] == "short" }), exposureKey)
		}
		a, b := averages(before), averages(after)
		sameKeys(t, a, b)
		for key, x := range a {
			if b[key] != nil {
				sameNumbers(t, key, x, b[key], 1, 1e-9, append(coverFields, exposureFields...)...)
			}
		}
	})
}

// split cuts a sample in two at a minute.
func (f *field) split(at, minute int) {
	head, tail := f.samples[at], f.samples[at]
	head.stop, tail.start = minute, minute
	tail.id += "b"
	share := float64(head.stop-head.start) / float64(tail.stop-head.start)
	f.samples[at] = head
	f.samples = append(f.samples, tail)
	for i := range f.lab {
		r := &f.lab[i]
		if r.sample != head.id {
			continue
		}
		rest := *r
		rest.sample, rest.mass, rest.limit = tail.id, r.mass*(1-share), r.limit*(1-share)
		r.mass, r.limit = r.mass*share, r.limit*share
		f.lab = append(f.lab, rest)
	}
}

// Which row stands above which says nothing: flow checks carry their times.
func TestShufflingRowsAndColumnsChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawField(t, lively).book()
		random := rand.New(rand.NewSource(rapid.Int64().Draw(t, "order")))
		sameOutput(t, reduceFolder(t, b), reduceFolder(t, b.shuffled(random)), 1e-12, "file", "row", "cell")
	})
}

func (b book) shuffled(random *rand.Rand) book {
	out := book{}
	for _, name := range slices.Sorted(maps.Keys(b)) {
		rows := b[name]
		columns, order := random.Perm(len(rows[0])), random.Perm(len(rows)-1)
		moved := func(row []string) []string {
			to := make([]string, len(row))
			for i, c := range columns {
				to[i] = row[c]
			}
			return to
		}
		out[name] = [][]string{moved(rows[0])}
		for _, r := range order {
			out[name] = append(out[name], moved(rows[r+1]))
		}
	}
	return out
}

// sameOutput compares all arrays but for the named fields; numbers to a
// relative error.
func sameOutput(t failer, a, b output, relative float64, but ...string) {
	t.Helper()
	sameRows(t, "samples", a.Samples, b.Samples, relative, but)
	sameRows(t, "concentrations", a.Concentrations, b.Concentrations, relative, but)
	sameRows(t, "exposures", a.Exposures, b.Exposures, relative, but)
	sameRows(t, "comparisons", a.Comparisons, b.Comparisons, relative, but)
	sameRows(t, "mixtures", a.Mixtures, b.Mixtures, relative, but)
	sortFindings := func(all []object) {
		slices.SortFunc(all, func(x, y object) int {
			key := []string{"severity", "code", "subject", "message"}
			return strings.Compare(x.key(key...), y.key(key...))
		})
	}
	sortFindings(a.Findings)
	sortFindings(b.Findings)
	sameRows(t, "findings", a.Findings, b.Findings, relative, but)
}

func sameRows(t failer, name string, a, b []object, relative float64, but []string) {
	t.Helper()
	if len(a) != len(b) {
		t.Fatalf("%s: %d rows and %d", name, len(a), len(b))
	}
	for i := range a {
		for f, x := range a[i] {
			if slices.Contains(but, f) {
				continue
			}
			y := b[i][f]
			p, isNumber := x.(float64)
			q, too := y.(float64)
			if isNumber && too && close(p, q, relative) {
				continue
			}
			if fmt.Sprint(x) != fmt.Sprint(y) {
				t.Fatalf("%s row %d: %s is %v and %v\n%v\n%v", name, i, f, x, y, a[i], b[i])
			}
		}
	}
}

// A workbook and a folder of text files hold the same survey.
func TestWorkbookAndFolderGiveTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawField(t, lively).book()
		sameOutput(t, reduceFolder(t, b), reduceWorkbook(t, b), 1e-12, "file")
	})
}

// Knowing less never decides more. A non-detect at a higher reporting limit,
// or at one in place of a detect under it, holds every amount it held before,
// so every interval made of it does, and a verdict given of the wider one
// stood before. (With a sampling and analytical error this is not so: the
// band of consecutive samples is built on the values.)
func TestWideningAnIntervalDecidesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawField(t, traits{blanks: true})
		before := reduceFolder(t, f.book())
		f.widen(t)
		after := reduceFolder(t, f.book())
		noneDecided(t, before.Comparisons, after.Comparisons, comparisonKey)
		noneDecided(t, before.Mixtures, after.Mixtures, mixtureKey)
	})
}

// widen makes one result a non-detect at no less than it was. Blanks stay,
// and back sections: a non-detect there adds nothing.
func (f *field) widen(t *rapid.T) {
	blanks := map[string]bool{}
	for _, s := range f.samples {
		blanks[s.id] = s.kind == "blank"
	}
	var wide []*labRow
	for i := range f.lab {
		if r := &f.lab[i]; !blanks[r.sample] && r.section != "back" {
			wide = append(wide, r)
		}
	}
	r := rapid.SampledFrom(wide).Draw(t, "result")
	by := float64(rapid.IntRange(100, 400).Draw(t, "wider by")) / 100
	r.limit = math.Max(r.limit, r.mass) * by
	r.under, r.qualifier = true, ""
}

func noneDecided(t failer, before, after []object, key []string) {
	t.Helper()
	was := index(t, before, key)
	for k, o := range index(t, after, key) {
		outcome := o["outcome"]
		switch old := was[k]; {
		case outcome == "undecided":
		case old == nil:
			t.Errorf("%s: a verdict, %v, where there was none", k, outcome)
		case old["outcome"] != outcome:
			t.Errorf("%s: %v became %v", k, old["outcome"], outcome)
		}
	}
}

// What holds for any survey whatever.
func TestResultsAreInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkOrder(t, reduceFolder(t, drawField(t, lively).book()))
	})
}

// Every row that was handed in comes out, or is told of, with cells spoilt at
// random.
func TestNothingIsDroppedSilently(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawField(t, lively).book()
		for range rapid.IntRange(0, 4).Draw(t, "spoilt cells") {
			b.spoil(t)
		}
		out := reduceFolder(t, b)
		checkOrder(t, out)
		out.checkKept(t, b)
	})
}

// spoil replaces one cell under a header.
func (b book) spoil(t *rapid.T) {
	table := rapid.SampledFrom([]string{"samples", "lab", "flows", "shifts", "gaps", "media", "limits"}).Draw(t, "table")
	if len(b[table]) < 2 {
		return
	}
	row := rapid.IntRange(1, len(b[table])-1).Draw(t, "row")
	column := rapid.IntRange(0, len(b[table][0])-1).Draw(t, "column")
	b[table][row] = slices.Clone(b[table][row])
	b[table][row][column] = rapid.SampledFrom([]string{"", "?", "0", "-1", "1e300", "S-001", "W-1", "2026-03-02", "22:15",
		"<0", "ND", "blank", "mg", "f", "ppm", "A", "1,234", "\u00b5g", "#REF!"}).Draw(t, "text")
}
