package exposure_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// given are the inputs of a reference case by name.
type given struct {
	*testing.T
	texts map[string]string
}

func (g given) number(name string) float64 { return g.numbers(name)[0] }

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

// value returns the number at a path of a result.
func (r reduced) value(path string) float64 {
	r.t.Helper()
	v, ok := r.at(path).(float64)
	if !ok {
		r.show()
		r.t.Fatalf("%s is %s", path, say(r.at(path)))
	}
	return v
}

// pumped is a survey of one sample by the pump's timer: a flow with its unit,
// and minutes. Its flow is at the target, whatever it is.
func pumped(flow float64, unit string, minutes float64) string {
	return fmt.Sprintf(`
-- media --
medium
FIL
-- flows --
train,leg,stage,readings,unit,device
T1,A,pre,%[1]g;%[1]g;%[1]g,%[2]s,M1
T1,A,post,%[1]g;%[1]g;%[1]g,%[2]s,M1
-- shifts --
-- samples --
sample,kind,train,leg,medium,lot,worker,run_min,temperature_c,pressure_kpa
S1,personal,T1,A,FIL,L1,W1,%[3]g,,
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
`, flow, unit, minutes)
}

// litres is a survey of one sample of so many litres.
func litres(volume float64) string { return pumped(volume/100, "L/min", 100) }

// micrograms is a laboratory table of one mass with clean blanks.
func micrograms(mass float64) string { return lab("", fmt.Sprintf("%g,ug,", mass)) }

// cases run the reference cases of a topic, by the letters that begin their
// ids, through surveys.
var cases = map[string]func(g given) map[string]any{
	"VOL": func(g given) map[string]any {
		r := reduce(g.T, plain, pumped(g.number("Q"), g.texts["unit"], g.number("t_min")))
		return map[string]any{"V_L": r.value("sample S1 volume")}
	},
	"CONC": massOverVolume,
	"WR":   massOverVolume,
	"VMAX": volumeForMass,
	"VMIN": volumeForMass,
	"SAE-01": func(g given) map[string]any {
		return fullPeriod(g, 480, []float64{g.number("X_mgm3")}, []float64{480})
	},
	"SAE": func(g given) map[string]any {
		return fullPeriod(g, g.number("shift_min"), g.numbers("C_mgm3"), g.numbers("T_min"))
	},
	"BT":  twoSections,
	"ROT": rotameter,
	"BLK-02": func(g given) map[string]any {
		blank := fmt.Sprintf(",Quillite,%g,ug,0.1", g.number("blank_ug"))
		r := reduce(g.T, plain, litres(g.number("V_L")), lab("", fmt.Sprintf("%g,ug,0.1", g.number("W_ug")), "B1"+blank, "B2"+blank))
		return map[string]any{"C_mgm3": r.value("concentration S1 Quillite value")}
	},
	"BLK-03": func(g given) map[string]any {
		row := "S1,Quillite,%g,ug,1,%s,%g,no\n"
		r := reduce(g.T, plain, litres(g.number("V_L")), "\n-- lab --\nsample,analyte,result,unit,reporting_limit,section,desorption,desorption_applied\n"+
			fmt.Sprintf(row, g.number("front_ug"), "front", g.number("DE"))+fmt.Sprintf(row, g.number("back_ug"), "back", g.number("DE")))
		return map[string]any{"corrected_ug": r.value("concentration S1 Quillite mass"), "C_mgm3": r.value("concentration S1 Quillite value")}
	},
	"ND": func(g given) map[string]any {
		r := reduce(g.T, plain, setting("nondetect", "root2"), lab("", "<"+g.texts["LOD_ug"]+",ug,"))
		return map[string]any{"substitute_ug": r.value("concentration S1 Quillite mass")}
	},
	"PPM": vapourInPPM,
	"BNZ": vapourInPPM,
}

func massOverVolume(g given) map[string]any {
	r := reduce(g.T, plain, litres(g.number("V_L")), micrograms(g.number("m_ug")))
	return map[string]any{"C_mgm3": r.value("concentration S1 Quillite value")}
}

// volumeForMass returns the litres in which a mass makes a concentration, from
// what it makes in one litre.
func volumeForMass(g given) map[string]any {
	r := reduce(g.T, plain, litres(1), micrograms(g.number("m_ug")))
	return map[string]any{"V_L": r.value("concentration S1 Quillite value") / g.number("C_mgm3")}
}

// fullPeriod compares consecutive samples from the start of a shift, whose
// unsampled rest is zero, with a limit of the given error on the mean of the
// shift, and gives the average over 8 hours where that is its length.
func fullPeriod(g given, shiftMin float64, concentrations, minutes []float64) map[string]any {
	samples, found, from := "", "", 7*60
	for i, c := range concentrations {
		to := from + int(minutes[i])
		samples += fmt.Sprintf("S%d,personal,T1,A,FIL,L1,W1,D,2026-03-02 %02d:%02d,2026-03-02 %02d:%02d\n", i+1, from/60, from%60, to/60, to%60)
		found += fmt.Sprintf("S%d,Quillite,%.10g,ug,1\n", i+1, c*2*minutes[i])
		from = to
	}
	end := 7*60 + int(shiftMin)
	r := reduce(g.T, plain, fmt.Sprintf(`
-- shifts --
shift,worker,start,end,unsampled
D,W1,2026-03-02 07:00,2026-03-02 %02d:%02d,zero
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,2;2;2,M1
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
%sB1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
-- lab --
sample,analyte,result,unit,reporting_limit
%sB1,Quillite,<1,ug,1
B2,Quillite,<1,ug,1
-- limits --
analyte,authority,kind,value,unit,sae
Quillite,House,TWA10,%s,mg/m3,%s
`, end/60, end%60, samples, found, g.texts["PEL_mgm3"], g.texts["SAE"]))
	at := "comparison D Quillite shift TWA10 "
	return map[string]any{"TWA": r.value("exposure D Quillite shift value"), "Y": r.value(at + "fraction"),
		"LCL": r.value(at + "lcl"), "UCL": r.value(at + "ucl"), "outcome": r.at(at + "outcome")}
}

func twoSections(g given) map[string]any {
	row := "%s,Quillite,%s,ug,1,%s\n"
	text := "\n-- lab --\nsample,analyte,result,unit,reporting_limit,section\n" +
		fmt.Sprintf(row, "S1", g.texts["Wf_ug"], "front") + fmt.Sprintf(row, "S1", g.texts["Wb_ug"], "back")
	for _, blank := range []string{"B1", "B2"} {
		for name, section := range map[string]string{"Bf_ug": "front", "Bb_ug": "back"} {
			found := g.texts[name]
			if found == "0" {
				found = "<1"
			}
			text += fmt.Sprintf(row, blank, found, section)
		}
	}
	out := map[string]any{}
	for _, pct := range []string{"10", "25"} {
		r := reduce(g.T, plain, litres(g.number("V_L")), "\n-- media --\nmedium,breakthrough_pct\nFIL,"+pct+"\n", text)
		out["C_mgm3"] = r.value("concentration S1 Quillite value")
		out["over_"+pct+"_pct"] = strconv.FormatBool(math.IsInf(r.value("concentration S1 Quillite high"), 1))
	}
	return out
}

const kPaPerMmHg = 101.325 / 760

// rotameter returns the reading of a rotameter for a wanted flow, from the
// flow that a reading of 1 L/min is.
func rotameter(g given) map[string]any {
	r := reduce(g.T, plain, fmt.Sprintf(`
-- devices --
device,kind,certified,interval_months,temperature_c,pressure_kpa
M1,rotameter,2026-01-05,12,%.10g,%.10g
-- flows --
train,leg,stage,readings,device,temperature_c,pressure_kpa
T1,A,pre,1;1;1,M1,%.10g,%.10g
`, g.number("certificate_K")-273.15, g.number("certificate_mmHg")*kPaPerMmHg, g.number("air_K")-273.15, g.number("air_mmHg")*kPaPerMmHg))
	return map[string]any{"Qi_Lmin": g.number("Qt_Lmin") / r.value("sample S1 pre")}
}

func vapourInPPM(g given) map[string]any {
	r := reduce(g.T, plain, pumped(g.number("Q"), "L/min", g.number("t_min")),
		setting("molar_volume", g.texts["Vm_L"])+"ppm_basis,"+g.texts["basis"]+"\n",
		fmt.Sprintf("\n-- samples --\nsample,kind,train,leg,medium,lot,worker,run_min,temperature_c,pressure_kpa\nS1,personal,T1,A,FIL,L1,W1,%s,%s,%.10g\nB1,blank,,,FIL,L1,,,,\nB2,blank,,,FIL,L1,,,,\n",
			g.texts["t_min"], g.texts["t_C"], g.number("P_mmHg")*kPaPerMmHg),
		micrograms(g.number("m_ug")), limitRows(",molecular_weight", "TWA8,1,ppm,"+g.texts["MW"]))
	return map[string]any{"V_L": r.value("sample S1 volume"), "C_mgm3": r.value("concentration S1 Quillite value"), "C_ppm": r.value("concentration S1 Quillite ppm")}
}

// runnerOf finds what runs a case: by its whole number, else by its letters.
func runnerOf(id string) func(given) map[string]any {
	id = strings.TrimSuffix(id, "-survey")
	letters, _, _ := strings.Cut(id, "-")
	if runner, ok := cases[id]; ok {
		return runner
	}
	return cases[letters]
}

func TestReferenceCases(t *testing.T) {
	for _, c := range readReference(t, "reduction_cases.csv") {
		t.Run(c["id"], func(t *testing.T) {
			if c["source"] == "" || c["status"] == "" || c["expected"] == "" {
				t.Fatal("a case needs a source, a status and something expected")
			}
			runner := runnerOf(c["id"])
			if runner == nil {
				t.Fatal("nothing runs this case")
			}
			got := runner(given{t, pairsOf(c["inputs"])})
			for name, want := range pairsOf(c["expected"]) {
				compareCase(t, name, got[name], want, c["tolerance"])
			}
		})
	}
}

// compareCase compares one result with the text expected of it, a number
// within the tolerance or a word.
func compareCase(t *testing.T, name string, got any, want, tolerance string) {
	t.Helper()
	number, ok := got.(float64)
	if !ok {
		if got != want {
			t.Errorf("%s is %v; want %s", name, got, want)
		}
		return
	}
	w, err := strconv.ParseFloat(want, 64)
	if err != nil {
		t.Fatalf("%s is a number; %q is expected", name, want)
	}
	kind, size := toleranceOf(t, tolerance, name)
	if kind == "rel" {
		size *= math.Abs(w)
	}
	if math.IsNaN(number) || math.Abs(number-w) > size {
		t.Errorf("%s is %.10g; want %s within %s", name, number, want, tolerance)
	}
}

// toleranceOf reads "abs 0.01", "rel 1e-9", or such texts after results' names.
func toleranceOf(t *testing.T, text, name string) (kind string, size float64) {
	t.Helper()
	for part := range strings.SplitSeq(text, ";") {
		if words := strings.Fields(part); len(words) == 3 && words[0] == name {
			text = words[1] + " " + words[2]
		}
	}
	kind, number, _ := strings.Cut(text, " ")
	size, err := strconv.ParseFloat(number, 64)
	if err != nil || kind != "abs" && kind != "rel" {
		t.Fatalf("tolerance %q of %s cannot be read", text, name)
	}
	return kind, size
}

// TestReferenceFilesAgree holds the files of reference cases together: no
// case stands in two, and what is left out has its reason.
func TestReferenceFilesAgree(t *testing.T) {
	stands := map[string]string{}
	for _, file := range []string{"reduction_cases.csv", "limits_cases.csv", "left_out.csv"} {
		for _, c := range readReference(t, file) {
			id := c["id"]
			if first := stands[id]; first != "" || id == "" {
				t.Errorf("%s: case %q stands in %s too", file, id, first)
			}
			stands[id] = file
			if file == "left_out.csv" && c["reason"] == "" {
				t.Errorf("%s is left out without a reason", id)
			}
		}
	}
	for id, file := range stands {
		if strings.HasSuffix(id, "-survey") && stands[strings.TrimSuffix(id, "-survey")] != "limits_cases.csv" {
			t.Errorf("%s: %s is the survey's turn of no case of limits_cases.csv", file, id)
		}
	}
}

// pairsOf reads "a=1;b=2".
func pairsOf(text string) map[string]string {
	out := map[string]string{}
	for part := range strings.SplitSeq(text, ";") {
		name, value, _ := strings.Cut(part, "=")
		out[name] = value
	}
	return out
}

// readReference reads a table of testdata/reference as rows by column.
func readReference(t *testing.T, name string) []map[string]string {
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
