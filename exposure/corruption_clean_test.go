package exposure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"
)

// cleanSurveys is how many surveys without a fault are drawn, and cleanSeed the
// first of their seeds: none of them was looked at while thresholds were set.
const (
	cleanSurveys = 20
	cleanSeed    = 90001
)

// TestCleanSurveysHaveNoFindings draws surveys as a careful hygienist would
// leave them: nothing may be found in them.
func TestCleanSurveysHaveNoFindings(t *testing.T) {
	first := fromEnvironment(t, "AIRTALLY_CLEAN_SEED", cleanSeed)
	for n := range fromEnvironment(t, "AIRTALLY_CLEAN", cleanSurveys) {
		c := &campaign{Rand: rand.New(rand.NewPCG(uint64(first+n), 1))}
		out := outcomeOf(t, c.draw())
		if out.refused != "" || len(out.numbers) < 20 {
			t.Errorf("seed %d: %d numbers %s", first+n, len(out.numbers), out.refused)
		}
		for _, f := range out.findings {
			t.Errorf("seed %d: %s %s [%s] %s", first+n, f.Severity, f.Code, f.Subject, f.Message)
		}
	}
}

// campaign draws a plausible survey: groups of welders with two filters on one
// pump and of painters with a tube, over some days. The analytes, the levels
// and the limits are inventions.
type campaign struct {
	*rand.Rand
	b       book
	samples int
	trains  int
}

// panel is what one medium is analysed for: usual levels in mg/m³, and how far
// the proportions scatter, as a geometric standard deviation.
type panel struct {
	medium, unit, method string
	flow                 float64 // L/min
	analytes             []string
	levels               []float64
	limit                float64 // reporting limit, in unit
	scatter              float64
}

var panels = []panel{
	{"FIL", "ug", "house metals", 2, []string{"Zorbium", "Quellium", "Tarnite", "Ostrium", "Vexine"}, []float64{0.02, 0.05, 0.4, 0.1, 0.08}, 0.5, 1.3},
	{"DUS", "mg", "house dust", 2, []string{"Shop dust"}, []float64{2}, 0.05, 1.5},
	{"TUB", "ug", "house solvents", 0.05, []string{"Lacquene", "Thinnol", "Gumene"}, []float64{20, 60, 8}, 2, 1.25},
}

func (c *campaign) add(table string, cells ...string) { c.b[table] = append(c.b[table], cells) }

func (c *campaign) draw() book {
	c.b = book{
		"survey":  {{"item", "value"}, {"authorities", "House"}, {"min_coverage_pct", "70"}},
		"devices": {{"device", "kind", "certified", "interval_months"}, {"M-1", "volumetric", "2026-01-12", "12"}, {"M-2", "volumetric", "2026-02-03", "12"}},
		"media": {{"medium", "form", "method", "target_flow_lpm", "tolerance_pct", "holding_days"}, {"FIL", "total", "house metals", "2", "5", "30"},
			{"DUS", "total", "house dust", "2", "5", ""}, {"TUB", "total", "house solvents", "0.05", "5", "30"}},
		"workers": {{"worker", "group"}}, "shifts": {{"shift", "worker", "start", "end"}},
		"flows":   {{"train", "leg", "stage", "step", "action", "reading_1", "reading_2", "reading_3", "unit", "device", "taken_at"}},
		"samples": {{"sample", "kind", "train", "leg", "medium", "lot", "worker", "shift", "start", "stop", "pause_min", "coc_volume_l"}},
		"lab":     {{"report", "sample", "analyte", "result", "unit", "section", "reporting_limit", "method", "received", "analysed"}},
		"limits":  {{"analyte", "authority", "kind", "value", "unit"}},
	}
	for _, p := range panels {
		for i, analyte := range p.analytes {
			c.add("limits", analyte, "House", "TWA8", fmt.Sprintf("%.3g", 5*p.levels[i]), "mg/m3")
		}
	}
	days := 2 + c.IntN(4)
	for g, legs := range [][]panel{{panels[0], panels[1]}, {panels[2]}, {panels[1], panels[2]}} {
		for w := range 1 + c.IntN(4) {
			worker := fmt.Sprintf("W-%d%d", g+1, w+1)
			c.add("workers", worker, fmt.Sprintf("group %d", g+1))
			for day := range days {
				if c.IntN(3) > 0 || day == 0 && w == 0 {
					c.shift(worker, day, legs)
				}
			}
		}
	}
	for day := range days {
		if c.IntN(2) == 0 {
			c.place(day, panels[2])
		}
	}
	for _, p := range panels {
		if c.uses(p.medium) {
			for range 2 + c.IntN(2) {
				c.samples++
				id := fmt.Sprintf("B-%03d", c.samples)
				c.add("samples", id, "blank", "", "", p.medium, "L-"+p.medium, "", "", "", "", "", "")
				c.results(id, p, nil, 0)
			}
		}
	}
	return c.b
}

func (c *campaign) uses(medium string) bool {
	return slices.ContainsFunc(c.b["samples"], func(row []string) bool { return row[4] == medium })
}

// around draws a lognormal factor.
func (c *campaign) around(gsd float64) float64 { return math.Exp(math.Log(gsd) * c.NormFloat64()) }

func (c *campaign) shift(worker string, day int, legs []panel) {
	begin := time.Date(2026, 3, 2+day, 6+c.IntN(3), 0, 0, 0, time.UTC)
	at := func(minutes int) string { return begin.Add(time.Duration(minutes) * time.Minute).Format(clockLayout) }
	name := fmt.Sprintf("D%d", day+1)
	c.add("shifts", name, worker, at(0), at(480))
	c.trains++
	train := fmt.Sprintf("T%02d", c.trains)
	start, stop, pause := 5+c.IntN(20), 440+c.IntN(35), 0
	if c.IntN(4) == 0 {
		pause = 10 + c.IntN(35)
	}
	level := c.around(2.5)
	checked := -25
	for l, p := range legs {
		leg := string(rune('A' + l))
		flow := p.flow * (1 + 0.008*(2*c.Float64()-1))
		drift := 1 - 0.03*c.Float64()
		for step, action := range []string{"adjusted", "verified"} {
			c.check(train, leg, "pre", step*len(legs)+l+1, action, flow, at(checked+4*(step*len(legs)+l)), p)
		}
		c.check(train, leg, "post", l+1, "", flow*drift, at(stop+8+4*l), p)
		litres := flow * (1 + drift) / 2 * float64(stop-start-pause)
		c.samples++
		id := fmt.Sprintf("S-%03d", c.samples)
		paused := ""
		if pause > 0 {
			paused = fmt.Sprint(pause)
		}
		c.add("samples", id, "personal", train, leg, p.medium, "L-"+p.medium, worker, name, at(start), at(stop), paused, fmt.Sprintf("%.4g", litres))
		c.results(id, p, &level, litres)
	}
}

// place draws an area sample beside the painters' work.
func (c *campaign) place(day int, p panel) {
	begin := time.Date(2026, 3, 2+day, 8, 0, 0, 0, time.UTC)
	at := func(minutes int) string { return begin.Add(time.Duration(minutes) * time.Minute).Format(clockLayout) }
	c.trains++
	train := fmt.Sprintf("T%02d", c.trains)
	stop := 200 + c.IntN(200)
	level := c.around(2.5) / 4
	c.check(train, "A", "pre", 1, "adjusted", p.flow, at(-20), p)
	c.check(train, "A", "pre", 2, "verified", p.flow, at(-15), p)
	c.check(train, "A", "post", 1, "", p.flow, at(stop+5), p)
	litres := p.flow * float64(stop)
	c.samples++
	id := fmt.Sprintf("A-%03d", c.samples)
	c.add("samples", id, "area", train, "A", p.medium, "L-"+p.medium, "", "", at(0), at(stop), "", fmt.Sprintf("%.4g", litres))
	c.results(id, p, &level, litres)
}

func (c *campaign) check(train, leg, stage string, step int, action string, flow float64, at string, p panel) {
	row := []string{train, leg, stage, fmt.Sprint(step), action}
	for range 3 {
		q := flow * (1 + 0.001*c.NormFloat64())
		if p.flow < 0.5 {
			row = append(row, fmt.Sprintf("%.1f", 1000*q))
		} else {
			row = append(row, fmt.Sprintf("%.3f", q))
		}
	}
	unit, device := "L/min", "M-1"
	if p.flow < 0.5 {
		unit, device = "mL/min", "M-2"
	}
	c.add("flows", append(row, unit, device, at)...)
}

// results writes what the laboratory found: nothing on a blank, and three
// significant digits, final zeros lost as spreadsheets lose them.
func (c *campaign) results(sample string, p panel, level *float64, litres float64) {
	analysed := time.Date(2026, 3, 12+c.IntN(4), 0, 0, 0, 0, time.UTC).Format("2006-01-02")
	for i, analyte := range p.analytes {
		limit := p.limit
		result := "<" + digits(limit)
		if level != nil {
			mass := p.levels[i] * *level * c.around(p.scatter) * litres // mg/m³ · L = µg
			if p.unit == "mg" {
				mass /= 1000
			}
			if mass > limit*1.05 {
				result = strings.TrimSuffix(fmt.Sprintf("%.3g", mass), ".")
			}
			if strings.Contains(result, "e+") {
				result = fmt.Sprintf("%.0f", mass)
			}
		}
		sections := []string{""}
		if p.medium == "TUB" {
			sections = []string{"front", "back"}
		}
		for _, section := range sections {
			if section == "back" {
				result = "<" + digits(limit)
			}
			c.add("lab", "R-"+p.medium, sample, analyte, result, p.unit, section, digits(limit), p.method, "2026-03-11", analysed)
		}
	}
}
