package limits_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"airtally/limits"
	"airtally/stats"
)

// given are the inputs of a reference case by name.
type given struct {
	*testing.T
	texts map[string]string
}

func (g given) number(name string) float64 {
	g.Helper()
	return g.numbers(name)[0]
}

func (g given) numbers(name string) []float64 {
	g.Helper()
	var out []float64
	for text := range strings.SplitSeq(g.texts[name], "|") {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			g.Fatalf("input %s %q is not a number", name, g.texts[name])
		}
		out = append(out, v)
	}
	return out
}

// rules run the cases of a topic, by the letters that begin their ids, through
// the package; each returns its results by name, numbers or words.
var rules = map[string]func(g given) map[string]any{
	"MIX": func(g given) map[string]any {
		index := limits.MixtureIndex(fractions(g)...)
		return map[string]any{"Em": index.Value, "outcome": limits.DecideMixture(index, 0)}
	},
	"CEIL": func(g given) map[string]any {
		a := limits.AcceptableCeiling{Ceiling: g.number("ceiling"), Peak: g.number("peak"), PeakMinutes: g.number("peak_max_min")}
		return map[string]any{"allowed": strconv.FormatBool(a.Allows(g.number("C"), g.number("minutes_above_ceiling")))}
	},
	"SAE-01": func(g given) map[string]any {
		return band(stats.Exact(g.number("X_mgm3")/g.number("PEL_mgm3")), g.number("SAE"))
	},
	"SAE-02": func(g given) map[string]any {
		_, y := consecutive(g)
		return band(stats.Exact(y), g.number("SAE"))
	},
	"SAE-03": func(g given) map[string]any {
		terms, y := consecutive(g)
		half := limits.HalfWidth(terms, g.number("PEL_mgm3"))
		out := band(stats.Exact(y), half)
		out["halfwidth"] = half
		return out
	},
	"SAE-05": func(g given) map[string]any {
		index := limits.MixtureIndex(fractions(g)...)
		var terms []limits.Term
		for i, sae := range g.numbers("SAE") {
			terms = append(terms, limits.Term{SAE: sae, Weighted: fractions(g)[i].Value})
		}
		rst := limits.MixtureError(terms)
		return map[string]any{"Em": index.Value, "RSt": rst, "CL": 1 + rst, "outcome": limits.DecideMixture(index, rst)}
	},
	"VM": func(g given) map[string]any {
		return map[string]any{"Vm_L": limits.GasLawMolarVolume(g.number("t_C"), g.number("P_mmHg"))}
	},
	"PPM-01": func(g given) map[string]any {
		return map[string]any{"C_ppm_NTP": float64(sampled(g).PPM(g.number("Vm_L"), g.number("MW")))}
	},
	"PPM-02": func(g given) map[string]any {
		volume := limits.GasLawMolarVolume(g.number("t_C"), g.number("P_mmHg"))
		return map[string]any{"C_ppm_actual": float64(sampled(g).PPM(volume, g.number("MW")))}
	},
	"PPM-03": ppmToMass,
	"PPM-04": func(g given) map[string]any {
		c := limits.PPMAtSite(limits.MgPerM3(g.number("C_mgm3")), g.number("MW"), g.number("t_C"), g.number("P_mmHg"))
		return map[string]any{"C_ppm": float64(c)}
	},
	"BNZ": func(g given) map[string]any {
		if g.texts["A_ugmL"] == "" {
			return ppmToMass(g)
		}
		c := limits.MgPerM3(g.number("A_ugmL") * g.number("desorb_mL") / g.number("V_L") / g.number("DE"))
		return map[string]any{"C_ppm": float64(c.PPM(g.number("Vm_L"), g.number("MW")))}
	},
	"Z1": func(g given) map[string]any {
		weight, err := limits.MolarMass(g.texts["formula"])
		if err != nil {
			g.Fatal(err)
		}
		if w := limits.Weight(g.texts["substance"], ""); math.Abs(w.Value-weight) > 0.03 {
			g.Errorf("the library's weight of %s is %v, its formula's %v", g.texts["substance"], w, weight)
		}
		c := float64(limits.PPM(g.number("C_ppm")).MgPerM3(g.number("Vm_L"), weight))
		return map[string]any{"weight": weight, "C_mgm3": c, "table_mgm3": c}
	},
	"Z3": func(g given) map[string]any {
		percent := g.number("pct_SiO2")
		return map[string]any{"resp_mgm3": float64(limits.QuartzRespirable(percent)), "total_mgm3": float64(limits.QuartzTotal(percent))}
	},
	"OX": func(g given) map[string]any {
		factor, err := limits.ElementFactor(g.texts["metal"], g.texts["oxide"])
		if err != nil {
			g.Fatal(err)
		}
		weight, err := limits.MolarMass(g.texts["oxide"])
		if err != nil {
			g.Fatal(err)
		}
		out := map[string]any{"factor": factor, "MW_oxide": weight}
		if g.texts["C_CrVI_mgm3"] != "" {
			out["C_CrO3_mgm3"] = g.number("C_CrVI_mgm3") * factor
		}
		return out
	},
	"PB": func(g given) map[string]any {
		out := map[string]any{"limit_ugm3": limits.LeadLimit(g.number("hours"))}
		for _, l := range limits.Find("Lead", "", "", limits.DefaultOptions()).Limits {
			if l.Kind == limits.Action && !l.ShiftAdjusted && l.Unit == limits.MicrogramsPerM3 {
				out["AL_ugm3"] = l.Value
			}
		}
		return out
	},
	"BS-W": func(g given) map[string]any { return map[string]any{"RF": limits.BriefScalaWeekly(g.number("h"))} },
	"BS":   func(g given) map[string]any { return map[string]any{"RF": limits.BriefScalaDaily(g.number("h"))} },
	"CR6":  againstLibrary,
	"PBM":  againstLibrary,
	"ASM":  againstLibrary,
	"BZM":  againstLibrary,
	"CDM":  againstLibrary,
	"MC":   againstLibrary,
	"MUC": func(g given) map[string]any {
		return map[string]any{"MUC_ugm3": limits.MaximumUse(g.number("APF"), g.number("limit_ugm3"), stats.Optional{})}
	},
	"ACC": func(g given) map[string]any {
		return map[string]any{"A": limits.Accuracy(g.number("B"), g.number("SrT"))}
	},
	"LOD": func(g given) map[string]any {
		var out []float64
		for _, k := range g.numbers("k") {
			out = append(out, limits.DetectionLimit(k, g.number("sd"), g.number("m")))
		}
		return map[string]any{"Cld": out}
	},
}

func fractions(g given) []stats.Interval {
	var out []stats.Interval
	bounds := g.numbers("L_ppm")
	for i, c := range g.numbers("C_ppm") {
		out = append(out, stats.Exact(c/bounds[i]))
	}
	return out
}

// consecutive returns the terms of a time-weighted average over the sampled
// time, and the average as a fraction of the limit.
func consecutive(g given) (terms []limits.Term, fraction float64) {
	minutes, whole := g.numbers("T_min"), 0.0
	for _, t := range minutes {
		whole += t
	}
	for i, c := range g.numbers("C_mgm3") {
		weighted := c * minutes[i] / whole
		terms = append(terms, limits.Term{SAE: g.number("SAE"), Weighted: weighted})
		fraction += weighted / g.number("PEL_mgm3")
	}
	return terms, fraction
}

func band(y stats.Interval, half float64) map[string]any {
	b := limits.Band(y, half)
	return map[string]any{"Y": b.Value, "LCL": b.Low, "UCL": b.High, "outcome": limits.Decide(b, limits.Above)}
}

func sampled(g given) limits.MgPerM3 {
	litres := g.texts["V_L"]
	if litres == "" {
		return limits.MgPerM3(g.number("m_mg") * 1000 / (g.number("Q_Lmin") * g.number("t_min")))
	}
	return limits.MgPerM3(g.number("m_mg") * 1000 / g.number("V_L"))
}

func ppmToMass(g given) map[string]any {
	return map[string]any{"C_mgm3": float64(limits.PPM(g.number("C_ppm")).MgPerM3(g.number("Vm_L"), g.number("MW")))}
}

// againstLibrary compares values with OSHA's limits of each kind for general
// industry, whose values must be those of the case.
func againstLibrary(g given) map[string]any {
	want := g.numbers("limits") // action level, TWA, STEL
	bound := map[limits.Kind]float64{limits.Action: want[0], limits.TWA8: want[1]}
	if len(want) > 2 {
		bound[limits.STEL] = want[2]
	}
	options := limits.Options{Authorities: []string{"OSHA"}, Sector: limits.General}
	out := map[string]any{}
	for _, l := range limits.Find(g.texts["analyte"], "", "", options).Limits {
		value := g.texts["TWA8"]
		if l.Kind.ShortTerm() {
			value = g.texts["STEL"]
		}
		if value == "" {
			continue
		}
		if l.Unit.Name != g.texts["unit"] || l.Value != bound[l.Kind] {
			g.Errorf("%s %s is %v %s; the case says %v %s", l.Analyte, l.Kind, l.Value, l.Unit.Name, bound[l.Kind], g.texts["unit"])
		}
		v, err := strconv.ParseFloat(value, 64)
		if err != nil {
			g.Fatal(err)
		}
		out[string(l.Kind)] = limits.Decide(stats.Exact(v/l.Value), l.Comparator)
	}
	return out
}

func rule(id string) func(given) map[string]any {
	letters, _, _ := strings.Cut(id, "-")
	for _, key := range []string{id, id[:min(len(id), len(letters)+2)], letters} {
		if run, ok := rules[key]; ok {
			return run
		}
	}
	return nil
}

func TestReferenceCases(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range readTable(t, "limits_cases.csv") {
		t.Run(c["id"], func(t *testing.T) {
			if seen[c["id"]] || c["source"] == "" || c["status"] == "" {
				t.Fatal("a case needs an id of its own, a source and a status")
			}
			seen[c["id"]] = true
			run := rule(c["id"])
			if run == nil {
				t.Fatal("no rule runs this case")
			}
			got := run(given{t, fields(c["inputs"])})
			for name, want := range fields(c["expected"]) {
				check(t, name, got[name], want, tolerance(t, c["tolerance"], name))
			}
		})
	}
	for _, c := range readTable(t, "left_out.csv") {
		if seen[c["id"]] || c["reason"] == "" {
			t.Errorf("%s is left out: it needs a reason and no case", c["id"])
		}
	}
}

// check compares one result with the texts expected of it.
func check(t *testing.T, name string, got any, want string, within func(got, want float64) bool) {
	t.Helper()
	numbers, ok := got.([]float64)
	if v, one := got.(float64); one {
		numbers, ok = []float64{v}, true
	}
	if !ok {
		if word, _ := got.(limits.Outcome); got != want && string(word) != want {
			t.Errorf("%s is %v; want %s", name, got, want)
		}
		return
	}
	for i, text := range strings.Split(want, "|") {
		w, err := strconv.ParseFloat(text, 64)
		if err != nil || i >= len(numbers) || !within(numbers[i], w) {
			t.Errorf("%s is %v; want %s", name, numbers, want)
		}
	}
}

// tolerance reads "exact", "abs 0.01", or such texts after the results' names.
func tolerance(t *testing.T, text, name string) func(got, want float64) bool {
	t.Helper()
	for part := range strings.SplitSeq(text, ";") {
		words := strings.Fields(part)
		if len(words) == 3 && words[0] == name {
			text = words[1] + " " + words[2]
		}
	}
	kind, size, _ := strings.Cut(text, " ")
	if kind == "exact" {
		return func(got, want float64) bool { return got == want }
	}
	v, err := strconv.ParseFloat(size, 64)
	if err != nil || kind != "abs" && kind != "rel" {
		t.Fatalf("tolerance %q of %s cannot be read", text, name)
	}
	return func(got, want float64) bool {
		if kind == "rel" {
			return math.Abs(got-want) <= v*math.Abs(want)
		}
		return math.Abs(got-want) <= v
	}
}

// fields reads "a=1;b=2".
func fields(text string) map[string]string {
	out := map[string]string{}
	for part := range strings.SplitSeq(text, ";") {
		name, value, _ := strings.Cut(part, "=")
		out[name] = value
	}
	return out
}

// readTable reads a table of testdata/reference as rows by column.
func readTable(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "reference", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil || len(records) < 2 {
		t.Fatalf("%s: %v, %d lines", name, err, len(records))
	}
	var rows []map[string]string
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, column := range records[0] {
			row[column] = record[i]
		}
		rows = append(rows, row)
	}
	return rows
}
