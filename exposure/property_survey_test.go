package exposure_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"pgregory.net/rapid"
)

// field is an invented survey: what a person would have written down, before
// it becomes tables. Times are minutes from midnight of its first day. Its
// analytes, but for toluene, and all its names are inventions.
type field struct {
	items    [][]string
	media    [][]string
	workers  [][]string
	shifts   []shiftRow
	gaps     []gapRow
	flows    []flowRow
	samples  []sampleRow
	lab      []labRow
	limits   [][]string
	derived  [][]string
	mixtures [][]string
}

type shiftRow struct {
	shift, worker string
	start, end    int
	unsampled     string
}

type gapRow struct {
	shift, worker string
	start, end    int
	treat         string
	value         float64 // mg/m³, where treat is empty
}

type flowRow struct {
	train, leg, stage string
	takenAt           int
	readings          []float64 // L/min
}

type sampleRow struct {
	id, kind, train, leg, medium, lot, worker, shift string
	start, stop, pause                               int
	purpose, void                                    string
}

type labRow struct {
	sample, analyte, unit, section, qualifier string
	mass                                      float64
	under                                     bool // the result reads "<" and the limit
	limit                                     float64
}

var firstDay = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

func clock(minutes int) string {
	return firstDay.Add(time.Duration(minutes) * time.Minute).Format(clockLayout)
}

func digits(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func blankZero(x float64) string {
	if x == 0 {
		return ""
	}
	return digits(x)
}

func (r *labRow) result() string {
	if r.under {
		return "<" + digits(r.limit)
	}
	return digits(r.mass)
}

// book lays the survey out as tables.
func (f *field) book() book {
	b := book{
		"survey":   append([][]string{{"item", "value"}}, f.items...),
		"media":    append([][]string{{"medium", "form", "target_flow_lpm", "sae"}}, f.media...),
		"workers":  append([][]string{{"worker", "group"}}, f.workers...),
		"limits":   append([][]string{{"analyte", "authority", "kind", "value", "unit"}}, f.limits...),
		"derived":  append([][]string{{"derived", "analyte", "factor"}}, f.derived...),
		"mixtures": append([][]string{{"mixture", "analyte"}}, f.mixtures...),
		"shifts":   {{"shift", "worker", "start", "end", "unsampled"}},
		"gaps":     {{"shift", "worker", "start", "end", "treat"}},
		"flows":    {{"train", "leg", "stage", "readings", "unit", "taken_at"}},
		"samples": {{"sample", "kind", "train", "leg", "medium", "lot", "worker", "shift", "start", "stop",
			"pause_min", "purpose", "void"}},
		"lab": {{"sample", "analyte", "result", "unit", "section", "reporting_limit", "qualifier", "cas"}},
	}
	add := func(table string, cells ...string) { b[table] = append(b[table], cells) }
	for _, r := range f.shifts {
		add("shifts", r.shift, r.worker, clock(r.start), clock(r.end), r.unsampled)
	}
	for _, r := range f.gaps {
		treat := r.treat
		if treat == "" {
			treat = digits(r.value) + " mg/m3"
		}
		add("gaps", r.shift, r.worker, clock(r.start), clock(r.end), treat)
	}
	for _, r := range f.flows {
		add("flows", r.train, r.leg, r.stage, joinNumbers(r.readings), "L/min", clock(r.takenAt))
	}
	f.addSamples(add)
	return b
}

func (f *field) addSamples(add func(table string, cells ...string)) {
	for _, r := range f.samples {
		start, stop := clock(r.start), clock(r.stop)
		if r.kind == "blank" {
			start, stop = "", ""
		}
		add("samples", r.id, r.kind, r.train, r.leg, r.medium, r.lot, r.worker, r.shift, start, stop,
			blankZero(float64(r.pause)), r.purpose, r.void)
	}
	for _, r := range f.lab {
		add("lab", r.sample, r.analyte, r.result(), r.unit, r.section, blankZero(r.limit), r.qualifier, casOf[r.analyte])
	}
}

func joinNumbers(all []float64) string {
	texts := make([]string, len(all))
	for i, x := range all {
		texts[i] = digits(x)
	}
	return strings.Join(texts, "; ")
}

// casOf gives toluene its number, so that its library limits are met too.
var casOf = map[string]string{"Toluene": "108-88-3"}

// traits say what a drawn survey has.
type traits struct {
	blanks bool // field blanks, pauses, voids and area samples
	errors bool // sampling and analytical errors
}

// drawer draws one survey.
type drawer struct {
	*rapid.T
	traits
	field
	trains   int
	sections bool // tubes are analysed in two sections
}

func (d *drawer) int(name string, low, high int) int {
	return rapid.IntRange(low, high).Draw(d.T, name)
}

func (d *drawer) oneIn(n int, name string) bool { return d.int(name, 1, n) == 1 }

func (d *drawer) pick(name string, from ...string) string {
	return rapid.SampledFrom(from).Draw(d.T, name)
}

// drawField draws a clean but lively survey.
func drawField(t *rapid.T, have traits) *field {
	d := &drawer{T: t, traits: have}
	d.items = [][]string{
		{"unsampled", d.pick("unsampled", "same", "zero")},
		{"nondetect", d.pick("nondetect", "half", "root2", "zero", "full")},
		{"drift_policy", d.pick("drift policy", "mean", "lower")},
	}
	sae := ""
	if d.errors {
		sae = "0.12"
	}
	d.media = [][]string{{"FILTER", "total", "2", sae}, {"TUBE", "vapour", "0.1", sae}}
	d.limits = [][]string{
		{"Zorbium", "House", "TWA8", digits(float64(d.int("limit", 1, 400)) / 1000), "mg/m3"},
		{"Zorbium", "House", "ACTION", "0.02", "mg/m3"},
		{"Quellium", "House", "TWA8", "0.05", "mg/m3"},
		{"Zorbium oxides", "House", "TWA8", "0.2", "mg/m3"},
		{"Zorbium", "House", "STEL", "0.3", "mg/m3"},
	}
	d.derived = [][]string{{"Zorbium oxides", "Zorbium", "1.25"}, {"Zorbium oxides", "Quellium", "1.5"}}
	d.mixtures = [][]string{{"Pair", "Zorbium"}, {"Pair", "Quellium"}}
	d.sections = d.oneIn(2, "sections")
	for w := range d.int("workers", 1, 3) {
		worker := fmt.Sprintf("W-%d", w+1)
		d.workers = append(d.workers, []string{worker, d.pick("group", "welders", "painters", "")})
		for day := range d.int("shifts", 1, 2) {
			d.drawShift(worker, 2*day)
		}
	}
	if d.blanks {
		d.drawBlanks()
	}
	return &d.field
}

// drawShift draws one shift of one worker, with all that was sampled in it.
func (d *drawer) drawShift(worker string, day int) {
	begin := day*1440 + 60*d.int("start hour", 5, 22)
	r := shiftRow{shift: fmt.Sprintf("D%d", day+1), worker: worker, start: begin,
		end: begin + d.int("shift length", 10, 24)*30, unsampled: d.pick("policy", "", "", "same", "zero")}
	d.shifts = append(d.shifts, r)
	train := d.newTrain()
	last := d.drawLeg(r, train, "A", "FILTER", "LOT-F")
	if d.oneIn(2, "second leg") {
		d.drawLeg(r, train, "B", "TUBE", "LOT-T")
	}
	if d.oneIn(3, "short-term") {
		d.drawShortTerm(r)
	}
	if d.oneIn(4, "duplicate") {
		twin := d.samples[last]
		twin.train, twin.purpose, twin.pause = d.newTrain(), "duplicate", 0
		d.addSample(twin)
		d.addFlows(twin.train, "A", 2, twin.start, twin.stop)
	}
	if d.oneIn(3, "gap") {
		from := r.start + d.int("gap from", 0, r.end-r.start-1)
		g := gapRow{r.shift, worker, from, min(r.end, from+d.int("gap minutes", 1, 120)), d.pick("treat", "zero", "same", ""), 0}
		if g.treat == "" {
			g.value = float64(d.int("gap value", 1, 500)) / 1000
		}
		d.gaps = append(d.gaps, g)
	}
}

func (d *drawer) newTrain() string {
	d.trains++
	return fmt.Sprintf("T%d", d.trains)
}

// drawLeg draws consecutive samples on one leg, perhaps with breaks, perhaps
// over the end of the shift, and returns the place of the last.
func (d *drawer) drawLeg(r shiftRow, train, leg, medium, lot string) int {
	at := r.start + d.int("late", 0, 40)
	first := at
	for n := d.int("samples", 1, 3); n > 0 && at < r.end; n-- {
		stop := min(at+d.int("minutes", 20, 300), r.end+d.int("overrun", 0, 15))
		s := sampleRow{kind: "personal", train: train, leg: leg, medium: medium, lot: lot,
			worker: r.worker, shift: r.shift, start: at, stop: stop, purpose: "shift"}
		if d.blanks && d.oneIn(5, "pause") {
			s.pause = d.int("pause minutes", 1, max(1, (stop-at)/3))
		}
		if d.blanks && d.oneIn(12, "void") {
			s.void = "hose came off"
		}
		d.addSample(s)
		at = stop + max(0, d.int("break", -20, 20))
	}
	last := len(d.samples) - 1
	flow := 2.0
	if medium == "TUBE" {
		flow = 0.1
	}
	d.addFlows(train, leg, flow, first, d.samples[last].stop)
	return last
}

func (d *drawer) drawShortTerm(r shiftRow) {
	train := d.newTrain()
	at := r.start + d.int("short start", 0, 120)
	first := at
	for range d.int("short samples", 1, 2) {
		stop := at + d.int("short minutes", 5, 30)
		d.addSample(sampleRow{kind: "personal", train: train, leg: "A", medium: "FILTER", lot: "LOT-F",
			worker: r.worker, shift: r.shift, start: at, stop: stop, purpose: d.pick("purpose", "short-term", "ceiling")})
		at = stop + d.int("between", 0, 3)
	}
	d.addFlows(train, "A", 2, first, at)
}

// addFlows adds a check before and one after, the second perhaps drifted.
func (d *drawer) addFlows(train, leg string, flow float64, start, stop int) {
	pre := flow * (1 + float64(d.int("off target", -20, 20))/1000)
	post := pre * (1 + float64(d.int("drift", -90, 40))/1000)
	for _, c := range []struct {
		stage string
		at    int
		q     float64
	}{{"pre", start - d.int("before", 0, 20), pre}, {"post", stop + d.int("after", 0, 20), post}} {
		c.q = math.Round(c.q*1e5) / 1e5
		d.flows = append(d.flows, flowRow{train, leg, c.stage, c.at, []float64{c.q, c.q * 1.001, c.q * 0.999}})
	}
}

// addSample gives a sample its id and its results.
func (d *drawer) addSample(s sampleRow) {
	s.id = fmt.Sprintf("S-%03d", len(d.samples)+1)
	d.samples = append(d.samples, s)
	switch {
	case s.medium == "FILTER":
		d.addResult(s.id, "Zorbium", "", "ug", 1)
		if !d.oneIn(4, "one analyte") {
			d.addResult(s.id, "Quellium", "", "ug", 1)
		}
	case d.sections:
		d.addResult(s.id, "Toluene", "front", "mg", 0.05)
		d.addResult(s.id, "Toluene", "back", "mg", 0.004)
	default:
		d.addResult(s.id, "Toluene", "", "mg", 0.05)
	}
}

// addResult draws a detect, a non-detect or an estimate.
func (d *drawer) addResult(sample, analyte, section, unit string, scale float64) {
	r := labRow{sample: sample, analyte: analyte, unit: unit, section: section,
		limit: written(scale * float64(d.int("reporting limit", 1, 30)) / 10)}
	switch d.int("result", 1, 5) {
	case 1, 2:
		r.under = true
	case 3:
		r.mass, r.qualifier = written(r.limit*float64(d.int("estimate", 1, 9))/10), "J"
	default:
		r.mass = written(r.limit * float64(d.int("detect", 10, 3000)) / 10)
	}
	d.lab = append(d.lab, r)
}

// written rounds a number to as many places as a laboratory writes.
func written(x float64) float64 { return math.Round(x*1e6) / 1e6 }

func (d *drawer) drawBlanks() {
	for _, b := range [][2]string{{"FILTER", "LOT-F"}, {"TUBE", "LOT-T"}} {
		for range d.int("blanks", 0, 2) {
			d.addSample(sampleRow{kind: "blank", medium: b[0], lot: b[1]})
		}
	}
	if d.oneIn(3, "area") {
		s := d.samples[0]
		s.kind, s.worker, s.shift, s.purpose = "area", "", "", ""
		d.addSample(s)
	}
}
