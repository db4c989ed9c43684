package exposure_test

import (
	"fmt"
	"math/rand"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"airtally/exposure/survey"
)

// irregular returns a survey of shifts as people write them down badly: without
// rows, two on a day, over 10 hours; of samples that name no shift, that run on
// from each other for minutes; and limits of every kind and unit.
func irregular(t *testing.T, seed int) *survey.Survey {
	t.Helper()
	b := rapid.Custom(func(t *rapid.T) *field { return drawField(t, lively) }).Example(seed).book()
	e := &enricher{rand.New(rand.NewSource(int64(seed))), b}
	e.moreLimits()
	if e.oneIn(3) {
		e.book["survey"] = append(e.book["survey"], []string{"ppm_basis", "site"})
	}
	for i := 1; i < len(e.book["samples"]); i++ {
		e.book.set("samples", i, "temperature_c", e.choose("", "24", "31"))
		e.book.set("samples", i, "pressure_kpa", "97.5")
		if e.oneIn(8) && e.book.get("samples", i, "kind") != "blank" {
			e.book.set("samples", i, "run_min", fmt.Sprint(30+e.Intn(300)))
			if e.oneIn(2) {
				e.book.set("samples", i, "start", "")
				e.book.set("samples", i, "stop", "")
			}
		}
	}
	e.moreShortTerm()
	switch e.Intn(5) {
	case 0:
		e.book["shifts"] = e.book["shifts"][:1] // none has a row
		e.book["gaps"] = e.book["gaps"][:1]
	case 1:
		e.nameNoShift()
	case 2:
		e.secondShift()
	case 3:
		e.book.set("shifts", 1, "end", "")
	}
	for _, table := range []string{"lab", "samples", "limits", "shifts"} {
		e.book.level(table)
	}
	folder := t.TempDir()
	b.writeFolder(t, folder)
	s, _, err := survey.Read(folder)
	if err != nil {
		t.Fatalf("seed %d: %v", seed, err)
	}
	return s
}

func (e *enricher) moreLimits() {
	e.book["limits"][0] = append(e.book["limits"][0], "averaging_min", "molecular_weight", "sae")
	add := func(cells ...string) { e.book["limits"] = append(e.book["limits"], cells) }
	add("Quellium", "House", "STEL", "0.15", "mg/m3", "15", "", "")
	add("Quellium", "House", "CEILING", "0.9", "mg/m3", "", "", "0.2")
	add("Zorbium", "House", "TWA10", "0.1", "mg/m3", "", "", "")
	add("Zorbium", "Works", "TWA8", "90", "ug/m3", "", "", "0.25")
	add("Toluene", "House", "TWA8", "2", "ppm", "", "92.14", "")
	add("Toluene", "House", "STEL", "5", "ppm", "10", "92.14", "")
	if e.oneIn(3) {
		e.book["mixtures"] = append(e.book["mixtures"], []string{"Pair", "Fumon"})
	}
	e.book.level("limits")
}

// moreShortTerm adds short-term samples right after others.
func (e *enricher) moreShortTerm() {
	for i, n := 1, len(e.book["samples"]); i < n; i++ {
		if purpose := e.book.get("samples", i, "purpose"); purpose != "short-term" && purpose != "ceiling" || e.oneIn(3) {
			continue
		}
		stop, err := time.Parse(clockLayout, e.book.get("samples", i, "stop"))
		if err != nil {
			continue
		}
		at := len(e.book["samples"])
		id, was := fmt.Sprintf("ST-%d", i), e.book.get("samples", i, "sample")
		e.book["samples"] = append(e.book["samples"], slices.Clone(e.book["samples"][i]))
		e.book.set("samples", at, "sample", id)
		e.book.set("samples", at, "start", stop.Add(time.Duration(e.Intn(3))*time.Minute).Format(clockLayout))
		e.book.set("samples", at, "stop", stop.Add(17*time.Minute).Format(clockLayout))
		for k, rows := 1, len(e.book["lab"]); k < rows; k++ {
			if e.book.get("lab", k, "sample") == was {
				e.book["lab"] = append(e.book["lab"], slices.Clone(e.book["lab"][k]))
				e.book.set("lab", len(e.book["lab"])-1, "sample", id)
			}
		}
	}
}

// nameNoShift leaves it to the times which shift samples belong to.
func (e *enricher) nameNoShift() {
	for i := 1; i < len(e.book["samples"]); i++ {
		if e.oneIn(2) {
			e.book.set("samples", i, "shift", "")
		}
	}
}

// secondShift moves the second shift of each worker to the first day.
func (e *enricher) secondShift() {
	for _, rows := range e.book {
		for _, row := range rows {
			for i, text := range row {
				if at, err := time.Parse(clockLayout, text); err == nil && at.Sub(firstDay) > 40*time.Hour {
					row[i] = at.Add(-42 * time.Hour).Format(clockLayout)
				}
			}
		}
	}
}

// Every number of irregular shifts comes out of the cells by its own steps.
func TestStepsOfIrregularShiftsGiveTheirNumbers(t *testing.T) {
	seeds := 60
	if testing.Short() {
		seeds = 10
	}
	for seed := range seeds {
		l := ledgerOf(reduceSurvey(t, irregular(t, seed)))
		l.check(t)
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
}

// A reader edits one cell of a survey of irregular shifts: every number is what
// a fresh reduction gives, or says that it is stale. 500 edits.
func TestEditedCellsOfIrregularShifts(t *testing.T) {
	t.Parallel()
	surveys, edits := 50, 10
	if testing.Short() {
		surveys = 8
	}
	var counted tally
	for seed := range surveys {
		counted.add(tryEdits(t, irregular(t, seed), edits, int64(seed)))
	}
	t.Logf("%d edits: %v; of what rests on them: %v", counted.edits, counted.air, counted.rest)
	if rest := counted.rest; rest.changed < 20*counted.edits || rest.stale > 4*rest.changed || 8*rest.needless > rest.stale {
		t.Errorf("too little follows: %+v", counted)
	}
}
