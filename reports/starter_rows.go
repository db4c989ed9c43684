package reports

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"airtally/exposure/survey"
)

// TrainKind is how the sampling trains of an example are built.
type TrainKind string

// The kinds of train that an example can show.
const (
	TwoCassettes    TrainKind = "2-cassettes"
	CassetteAndTube TrainKind = "cassette+tube"
	SingleSampler   TrainKind = "single"
)

// TrainKinds returns the kinds of train that an example can show.
func TrainKinds() []TrainKind { return []TrainKind{TwoCassettes, CassetteAndTube, SingleSampler} }

// exampleRow is one row of an example, by column.
type exampleRow map[string]string

// exampleAnalyte is an analyte of the example and what a sample holds of it.
type exampleAnalyte struct {
	name, cas      string
	micrograms     float64
	reportingLimit string
	sections       bool // front and back of a tube
}

// legPlan is what hangs on one leg of the example's trains.
type legPlan struct {
	leg      string
	medium   exampleRow
	unit     string
	flow     float64 // aimed at, in the unit
	decimals int
	device   string
	lot      string
	analytes []exampleAnalyte
}

// trainPlan is the example's train, from the pump to its media.
type trainPlan struct {
	group, job string
	legs       []legPlan
}

func exampleID(name string) string { return survey.ExamplePrefix + name }

var (
	chromateLeg = legPlan{
		medium: exampleRow{"medium": exampleID("PVC"), "description": "37 mm PVC filter, 5 µm, closed face", "method": "chromium (VI) method",
			"form": "total", "target_flow_lpm": "2", "tolerance_pct": "5", "volume_min_l": "8", "volume_max_l": "1000", "holding_days": "14"},
		unit: "L/min", flow: 2, decimals: 3, device: exampleID("FM1"), lot: exampleID("L1"),
		analytes: []exampleAnalyte{{name: "Chromium (VI)", cas: "18540-29-9", micrograms: 0.61, reportingLimit: "0.016"}},
	}
	metalsLeg = legPlan{
		medium: exampleRow{"medium": exampleID("MCE"), "description": "37 mm MCE filter, 0.8 µm, closed face", "method": "metals method",
			"form": "total", "target_flow_lpm": "2", "tolerance_pct": "5", "volume_min_l": "50", "volume_max_l": "2000"},
		unit: "L/min", flow: 2, decimals: 3, device: exampleID("FM1"), lot: exampleID("L2"),
		analytes: []exampleAnalyte{
			{name: "Manganese", cas: "7439-96-5", micrograms: 38, reportingLimit: "0.5"},
			{name: "Nickel", cas: "7440-02-0", micrograms: 2.6, reportingLimit: "0.5"}},
	}
	solventLeg = legPlan{
		medium: exampleRow{"medium": exampleID("TUBE"), "description": "charcoal tube, 100 mg and 50 mg", "method": "solvents method",
			"form": "vapour", "target_flow_lpm": "0.05", "tolerance_pct": "5", "volume_min_l": "1", "volume_max_l": "24", "breakthrough_pct": "10", "holding_days": "30"},
		unit: "mL/min", flow: 50, decimals: 1, device: exampleID("FM2"), lot: exampleID("L3"),
		analytes: []exampleAnalyte{{name: "Toluene", cas: "108-88-3", micrograms: 240, reportingLimit: "5", sections: true}},
	}
)

// planOf returns the train that an example shows.
func planOf(kind TrainKind) (trainPlan, error) {
	on := func(leg string, p legPlan) legPlan {
		p.leg = leg
		return p
	}
	switch kind {
	case TwoCassettes:
		return trainPlan{"Stainless welding", "welder", []legPlan{on("A", chromateLeg), on("B", metalsLeg)}}, nil
	case CassetteAndTube:
		return trainPlan{"Maintenance painting", "painter, grinds and paints", []legPlan{on("A", metalsLeg), on("B", solventLeg)}}, nil
	case SingleSampler:
		return trainPlan{"Welding", "welder", []legPlan{on("A", metalsLeg)}}, nil
	}
	return trainPlan{}, fmt.Errorf("no example shows trains of the kind %q", kind)
}

// flowStep is one reading of the flows of a train, in the order they are taken.
type flowStep struct {
	stage, leg, action, what string
	share                    float64 // of the flow aimed at, that the example reads
	after                    int     // minutes after the first step of the stage
}

// steps returns the flow checks of a train: each leg set, then each read again
// untouched, because setting one leg of a manifold moves the others; and all
// read once more after sampling.
func (p trainPlan) steps() []flowStep {
	var pre, post []flowStep
	for _, l := range p.legs {
		pre = append(pre, flowStep{"pre", l.leg, "adjusted", "set to " + l.target(), 1.004, 4 * len(pre)})
	}
	for i, l := range p.legs {
		what := "read again, do not touch"
		if i == 0 && len(p.legs) > 1 {
			what = "read again now that " + p.legs[len(p.legs)-1].leg + " is set, do not touch"
		}
		pre = append(pre, flowStep{"pre", l.leg, "verified", what, 1.001, 4 * len(pre)})
	}
	if len(p.legs) > 1 {
		pre = append(pre, flowStep{"pre", survey.TotalLeg, "verified", "at the pump, all legs open", 1.001, 4 * len(pre)})
	}
	for _, l := range p.legs {
		post = append(post, flowStep{"post", l.leg, "verified", "read after sampling, do not touch", 0.991, 4 * len(post)})
	}
	return append(pre, post...)
}

func (l legPlan) target() string {
	return strconv.FormatFloat(l.flow, 'f', -1, 64) + " " + l.unit
}

// total returns the leg that stands for all of a train at its pump.
func (p trainPlan) total() legPlan {
	sum := legPlan{leg: survey.TotalLeg, unit: "L/min", decimals: 3, device: exampleID("FM1")}
	for _, l := range p.legs {
		if l.unit == "mL/min" {
			sum.flow += l.flow / 1000
		} else {
			sum.flow += l.flow
		}
	}
	return sum
}

func (p trainPlan) leg(name string) legPlan {
	for _, l := range p.legs {
		if l.leg == name {
			return l
		}
	}
	return p.total()
}

// firstDay is the first day of sampling in the example, a Monday.
var firstDay = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

const (
	workersADay  = 6  // that one person can set up in the morning
	minutesApart = 18 // between one train's set-up and the next
)

// visit is one worker sampled in one shift.
type visit struct {
	number             int
	worker, shift      string
	day                time.Time
	set, start, stop   time.Time     // first flow check, sampling
	lunch              time.Time     // its start
	pause              time.Duration // of the pump at lunch
	shiftFrom, shiftTo time.Time
}

func visitOf(number int) visit {
	days := number / workersADay
	day := firstDay.AddDate(0, 0, days/5*7+days%5) // no work on weekends
	late := time.Duration(number%workersADay*minutesApart) * time.Minute
	at := func(hour, minute int) time.Time {
		return day.Add(time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute)
	}
	v := visit{number: number, worker: exampleID(fmt.Sprintf("W%02d", number+1)), shift: exampleID("DAY" + strconv.Itoa(days+1)), day: day}
	v.shiftFrom, v.shiftTo = at(7, 0).Add(late), at(15, 0).Add(late)
	v.set, v.start, v.stop = at(6, 25).Add(late), at(7, 10).Add(late), at(14, 40).Add(late)
	if number == 0 { // one shows how a lunch is stated
		v.lunch, v.pause = at(11, 30), 30*time.Minute
	}
	return v
}

func clockText(t time.Time) string { return t.Format("2006-01-02 15:04") }

func calendarText(t time.Time) string { return t.Format("2006-01-02") }

// examples returns the rows of every table of the example.
func (p trainPlan) examples(workers int) map[string][]exampleRow {
	rows := map[string][]exampleRow{"survey": exampleItems()}
	add := func(table string, row exampleRow) { rows[table] = append(rows[table], row) }
	add("devices", exampleDevice("FM1"))
	if p.legs[len(p.legs)-1].device == exampleID("FM2") {
		add("devices", exampleDevice("FM2"))
	}
	for _, l := range p.legs {
		add("media", l.medium)
	}
	for n := range workers {
		v := visitOf(n)
		add("workers", exampleRow{"worker": v.worker, "group": p.group, "job": p.job, "respirator": "none"})
		add("shifts", exampleRow{"shift": v.shift, "worker": v.worker, "start": clockText(v.shiftFrom), "end": clockText(v.shiftTo), "note": "example"})
		rows["flows"] = append(rows["flows"], p.flows(v)...)
		p.sampled(v, add)
	}
	p.blanks(add)
	first := visitOf(0)
	add("gaps", first.gap(first.lunch, first.lunch.Add(first.pause), "lunch, pump stopped, no exposure"))
	add("gaps", first.gap(first.stop, first.shiftTo, "wash-up, no exposure"))
	return rows
}

// pauseText returns the minutes of the pause, "" where there is none.
func (v visit) pauseText() string {
	if v.pause == 0 {
		return ""
	}
	return strconv.FormatFloat(v.pause.Minutes(), 'f', -1, 64)
}

// gap returns a row of a stretch of the visit's shift without exposure.
func (v visit) gap(from, to time.Time, reason string) exampleRow {
	return exampleRow{"shift": v.shift, "worker": v.worker, "start": clockText(from), "end": clockText(to), "treat": "zero", "reason": reason}
}

func exampleDevice(name string) exampleRow {
	return exampleRow{"device": exampleID(name), "kind": "volumetric", "accuracy_pct": "1", "certified": "2025-11-18", "interval_months": "12"}
}

// exampleItems returns the survey table: every item, the settings at their
// defaults. Facts stay blank: one left standing would be believed.
func exampleItems() []exampleRow {
	var rows []exampleRow
	for _, item := range survey.Items() {
		rows = append(rows, exampleRow{"item": item.Name, "value": item.Default})
	}
	return rows
}

// flows returns the flow checks of one train.
func (p trainPlan) flows(v visit) []exampleRow {
	var rows []exampleRow
	step := 0
	for i, s := range p.steps() {
		at := v.set
		if s.stage == "post" {
			at = v.stop.Add(10 * time.Minute)
		}
		if step++; i > 0 && p.steps()[i-1].stage != s.stage {
			step = 1
		}
		l := p.leg(s.leg)
		row := exampleRow{"train": v.train(), "leg": s.leg, "stage": s.stage, "unit": l.unit, "device": l.device, "action": s.action,
			"step": strconv.Itoa(step), "taken_at": clockText(at.Add(time.Duration(s.after) * time.Minute))}
		for n, off := range []float64{0, 0.001, -0.0005} {
			share := s.share + off + 0.0005*float64(v.number%4)
			row[fmt.Sprintf("reading_%d", n+1)] = strconv.FormatFloat(l.flow*share, 'f', l.decimals, 64)
		}
		rows = append(rows, row)
	}
	return rows
}

func (v visit) train() string { return exampleID(fmt.Sprintf("T%02d", v.number+1)) }

// sampled adds the samples of one worker and their results.
func (p trainPlan) sampled(v visit, add func(string, exampleRow)) {
	for i, l := range p.legs {
		sample := exampleID(strconv.Itoa(101 + v.number*len(p.legs) + i))
		add("samples", exampleRow{"sample": sample, "kind": "personal", "train": v.train(), "leg": l.leg, "medium": l.medium["medium"],
			"lot": l.lot, "worker": v.worker, "shift": v.shift, "start": clockText(v.start), "stop": clockText(v.stop),
			"pause_min": v.pauseText(), "purpose": "shift", "note": "example"})
		for _, a := range l.analytes {
			held := a.micrograms * (0.7 + 0.15*float64(v.number%5))
			a.results(sample, l, strconv.FormatFloat(held, 'g', 3, 64), v.day, add)
		}
	}
}

// blanks adds two field blanks of each lot.
func (p trainPlan) blanks(add func(string, exampleRow)) {
	for i, l := range p.legs {
		for n := range 2 {
			sample := exampleID(fmt.Sprintf("B%d", 2*i+n+1))
			add("samples", exampleRow{"sample": sample, "kind": "blank", "medium": l.medium["medium"], "lot": l.lot, "blank_type": "field",
				"start": calendarText(firstDay), "note": "example, no air drawn"})
			for _, a := range l.analytes {
				a.results(sample, l, "<"+a.reportingLimit, firstDay, add)
			}
		}
	}
}

// results adds what the laboratory says of one analyte of a sample: one row,
// or one for each section of a tube.
func (a exampleAnalyte) results(sample string, l legPlan, result string, taken time.Time, add func(string, exampleRow)) {
	row := func(section, result string) {
		add("lab", exampleRow{"sample": sample, "analyte": a.name, "cas": a.cas, "section": section, "result": result, "unit": "ug",
			"reporting_limit": a.reportingLimit, "method": l.medium["method"], "report": exampleID("R1"),
			"received": calendarText(taken.AddDate(0, 0, 3)), "analysed": calendarText(taken.AddDate(0, 0, 8)), "note": "example"})
	}
	if !a.sections {
		row("", result)
		return
	}
	row("front", result)
	row("back", "<"+a.reportingLimit)
}

// entryOf returns what a spreadsheet holds where text is typed into a cell of
// the column: a number, a moment, or the text.
func entryOf(c *survey.Column, text string) any {
	switch c.Type {
	case survey.NumberCell, survey.FractionCell, survey.ReadingsCell, survey.ResultCell, survey.ItemCell:
		if v, err := strconv.ParseFloat(text, 64); err == nil {
			return v
		}
	case survey.MomentCell:
		for _, layout := range []string{"2006-01-02 15:04", "2006-01-02"} {
			if t, err := time.Parse(layout, text); err == nil {
				return t
			}
		}
	}
	return strings.TrimSpace(text)
}
