package exposure_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"airtally/exposure"
	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/stats"
)

// plain is a survey with nothing to remark: worker W1 in the 8-hour shift D,
// one filter at 2 L/min for 480 min, 96 µg of an invented dust with an
// invented limit. 96 µg / 960 L = 0.1 mg/m³.
const plain = `
-- survey --
item,value
authorities,House
-- devices --
device,kind,certified,interval_months
M1,volumetric,2026-01-05,12
-- media --
medium,target_flow_lpm
FIL,2
-- workers --
worker,group
W1,G1
-- shifts --
shift,worker,start,end
D,W1,2026-03-02 07:00,2026-03-02 15:00
-- flows --
train,leg,stage,readings,device,taken_at
T1,A,pre,2;2;2,M1,2026-03-02 06:30
T1,A,post,2;2;2,M1,2026-03-02 15:30
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S1,personal,T1,A,FIL,L1,W1,D,2026-03-02 07:00,2026-03-02 15:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
-- lab --
sample,analyte,result,unit,reporting_limit
S1,Quillite,96,ug,1
B1,Quillite,<1,ug,1
B2,Quillite,<1,ug,1
-- limits --
analyte,authority,kind,value,unit
Quillite,House,TWA8,1,mg/m3
`

// layered lays surveys in text over each other: "-- flows --" replaces the
// table beneath, "-- flows + --" adds rows to it, and a section without rows
// takes the table away.
func layered(layers ...string) map[string]string {
	tables := map[string]string{}
	for _, layer := range layers {
		sections := strings.Split("\n"+layer, "\n-- ")
		for _, section := range sections[1:] {
			name, rows, _ := strings.Cut(section+"\n", " --\n")
			if more, ok := strings.CutSuffix(name, " +"); ok {
				tables[more] += rows + "\n"
				continue
			}
			tables[name] = rows + "\n"
		}
	}
	return tables
}

// reduced is what a survey came to, with the test that asked.
type reduced struct {
	*exposure.Results
	t *testing.T
}

// readText writes the layers of a survey as .csv files and reads them.
func readText(t *testing.T, layers ...string) (*survey.Survey, *finding.List) {
	t.Helper()
	dir := t.TempDir()
	for name, rows := range layered(layers...) {
		if strings.TrimSpace(rows) == "" {
			continue
		}
		if err := os.WriteFile(filepath.Join(dir, name+".csv"), []byte(rows), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s, found, err := survey.Read(dir)
	if err != nil {
		t.Fatalf("the survey cannot be read: %v", err)
	}
	return s, found
}

// reduce reads and reduces the layers of a survey.
func reduce(t *testing.T, layers ...string) reduced {
	t.Helper()
	s, found := readText(t, layers...)
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{s}, found)
	if err != nil {
		t.Fatal(err)
	}
	return reduced{results, t}
}

// fact is one thing expected of a result: a path such as "sample S1 volume",
// "concentration S1 Quillite/respirable high", "exposure D Quillite twa8 value",
// "comparison D Quillite twa8 House:TWA8 outcome", "mixture Blend twa8 TWA8
// index", "group G1 Quillite House:TWA8 n" or "finding flow-drift subject", and the number, text or bool there.
type fact struct {
	path string
	want any // nil: there, without a value; absent: not there
}

// absent is wanted where a result must not be there at all.
type absence struct{}

var absent absence

// has is a text that must stand within what is there.
type has string

var unbounded = math.Inf(1)

// rule is one case of a rule of reduction.
type rule struct {
	name   string
	tables string // laid over plain
	facts  []fact
}

func run(t *testing.T, rules []rule) {
	t.Helper()
	for _, c := range rules {
		t.Run(c.name, func(t *testing.T) {
			r := reduce(t, plain, c.tables)
			for _, f := range c.facts {
				r.check(f)
			}
			if t.Failed() {
				r.show()
			}
		})
	}
}

// check compares one fact, numbers within 1e-9 of them.
func (r reduced) check(f fact) {
	r.t.Helper()
	got := r.at(f.path)
	switch want := f.want.(type) {
	case int:
		if count, ok := got.(int); ok {
			got = float64(count)
		}
		if number, ok := got.(float64); !ok || !near(number, float64(want), 1e-9) {
			r.t.Errorf("%s = %s, want %d", f.path, say(got), want)
		}
	case float64:
		number, ok := got.(float64)
		if !ok || !near(number, want, 1e-9) {
			r.t.Errorf("%s = %s, want %.10g", f.path, say(got), want)
		}
	case has:
		if text, ok := got.(string); !ok || !strings.Contains(text, string(want)) {
			r.t.Errorf("%s = %s, want %q in it", f.path, say(got), string(want))
		}
	default:
		if got != f.want {
			r.t.Errorf("%s = %s, want %s", f.path, say(got), say(f.want))
		}
	}
}

func near(got, want, rel float64) bool {
	if math.IsInf(want, 0) || want == 0 {
		return got == want || want == 0 && math.Abs(got) < rel
	}
	return math.Abs(got-want) <= rel*math.Abs(want)
}

func say(x any) string {
	switch x := x.(type) {
	case nil:
		return "no value"
	case absence:
		return "not there"
	case float64:
		return fmt.Sprintf("%.10g", x)
	}
	return fmt.Sprintf("%q", fmt.Sprint(x))
}

// show prints what the reduction found, to read beside a failure.
func (r reduced) show() {
	r.t.Helper()
	for _, f := range r.Findings {
		r.t.Logf("found: %s %s [%s] %s", f.Severity, f.Code, f.Subject, f.Message)
	}
}

// at returns what stands at a path: a float64, string or bool, nil for no
// value, absent where nothing has that key.
func (r reduced) at(path string) any {
	r.t.Helper()
	words := strings.Fields(path)
	words = append(words, make([]string, 8)...)
	var fields map[string]any
	var field string
	switch words[0] {
	case "sample":
		fields, field = r.sample(words[1]), words[2]
	case "concentration":
		fields, field = r.concentration(words[1], words[2]), words[3]
	case "exposure":
		fields, field = r.exposure(words[1], words[2], words[3]), words[4]
	case "comparison":
		fields, field = r.comparison(words[1], words[2], words[3], words[4]), words[5]
	case "mixture":
		fields, field = r.mixture(words[1], words[2], words[3]), words[4]
	case "group":
		fields, field = r.group(words[1], words[2], words[3]), words[4]
	case "finding":
		fields, field = r.finding(words[1]), words[2]
	default:
		r.t.Fatalf("a path cannot start with %q", words[0])
	}
	if fields == nil {
		return absent
	}
	got, ok := fields[field]
	if !ok {
		r.t.Fatalf("%s: no field %q", path, field)
	}
	return got
}

func (r reduced) sample(id string) map[string]any {
	i := slices.IndexFunc(r.Samples, func(s exposure.Sample) bool { return s.ID == id })
	if i < 0 {
		return nil
	}
	s := &r.Samples[i]
	return map[string]any{
		"": true, "minutes": number(s.Minutes), "pre": number(s.FlowPre), "post": number(s.FlowPost), "flow": number(s.Flow),
		"drift": number(s.DriftPct), "target": number(s.TargetDevPct), "volume": number(s.Volume),
		"volume_low": number(s.VolumeLow), "volume_high": number(s.VolumeHigh), "u": number(s.UVolumeRel),
		"void": s.Void, "group": s.Group,
	}
}

func (r reduced) concentration(sample, substance string) map[string]any {
	i := slices.IndexFunc(r.Concentrations, func(c exposure.Concentration) bool {
		return c.Sample.ID == sample && is(c.Substance, substance)
	})
	if i < 0 {
		return nil
	}
	c := &r.Concentrations[i]
	fields := map[string]any{
		"": true, "blank": number(c.Blank), "ppm": number(c.PPM), "u": number(c.URel), "quantity": c.Quantity.String(),
		"censored": c.Censored(), "void": c.Void, "low": nil, "value": nil, "high": nil, "open": nil,
		"mass": nil, "mass_low": nil, "mass_high": nil, "uncorrected": nil,
	}
	if c.HasAir {
		fields["low"], fields["high"], fields["open"] = c.Air.Low, c.Air.High, c.Air.Open
		if !c.Void {
			fields["value"] = c.Air.Value
		}
	}
	if c.HasMass {
		fields["mass"], fields["mass_low"], fields["mass_high"] = c.Mass.Value, c.Mass.Low, c.Mass.High
		fields["uncorrected"] = c.MassUncorrected
	}
	return fields
}

// exposure finds an exposure; a basis "short:S2" is that of sample S2.
func (r reduced) exposure(shift, substance, basis string) map[string]any {
	basis, sample, _ := strings.Cut(basis, ":")
	i := slices.IndexFunc(r.Exposures, func(x exposure.Exposure) bool {
		return x.Shift == spaced(shift) && is(x.Substance, substance) && string(x.Basis) == basis && x.Sample == sample
	})
	if i < 0 {
		return nil
	}
	x := &r.Exposures[i]
	return map[string]any{
		"": true, "value": x.Value.Value, "low": x.Value.Low, "high": x.Value.High, "zero": x.IfZero.Value, "same": x.IfSame.Value,
		"zero_low": x.IfZero.Low, "same_high": x.IfSame.High, "sampled": x.SampledMin, "minutes": x.Minutes,
		"coverage": number(x.Coverage), "samples": strings.Join(x.Samples, " "), "worker": x.Worker, "group": x.Group,
	}
}

// comparison finds a comparison; a limit "House:TWA8" is that authority's.
func (r reduced) comparison(shift, substance, basis, limit string) map[string]any {
	basis, sample, _ := strings.Cut(basis, ":")
	authority, kind, named := strings.Cut(limit, ":")
	if !named {
		authority, kind = "", limit
	}
	i := slices.IndexFunc(r.Comparisons, func(x exposure.Comparison) bool {
		return x.Shift == spaced(shift) && is(x.Substance, substance) && string(x.Basis) == basis && x.Sample == sample &&
			string(x.Limit.Kind) == kind && (!named || x.Limit.Authority == authority)
	})
	if i < 0 {
		return nil
	}
	x := &r.Comparisons[i]
	return map[string]any{
		"": true, "limit": x.LimitValue, "unit": x.Limit.Unit.Name, "value": x.Value, "fraction": x.Fraction.Value,
		"low": x.Fraction.Low, "high": x.Fraction.High, "sae": number(x.SAE), "lcl": number(x.LCL), "ucl": number(x.UCL),
		"outcome": string(x.Outcome), "authority": x.Limit.Authority,
	}
}

func (r reduced) mixture(name, basis, kind string) map[string]any {
	basis, sample, _ := strings.Cut(basis, ":")
	i := slices.IndexFunc(r.Mixtures, func(m exposure.MixtureResult) bool {
		return m.Mixture == name && string(m.Basis) == basis && m.Sample == sample && string(m.Kind) == kind
	})
	if i < 0 {
		return nil
	}
	m := &r.Mixtures[i]
	return map[string]any{"": true, "index": m.Index.Value, "low": m.Index.Low, "high": m.Index.High, "outcome": string(m.Outcome)}
}

// group finds a group's row under a limit such as "House:TWA8".
func (r reduced) group(name, substance, limit string) map[string]any {
	authority, kind, _ := strings.Cut(limit, ":")
	all := r.Groups()
	i := slices.IndexFunc(all, func(g exposure.Group) bool {
		return g.Name == spaced(name) && is(g.Substance, substance) && g.Limit.Authority == authority && string(g.Limit.Kind) == kind
	})
	if i < 0 {
		return nil
	}
	g := &all[i]
	var excluded, shifts []string
	for _, e := range g.Excluded {
		excluded = append(excluded, strings.Join([]string{e.Worker, e.Shift, e.Why}, "|"))
	}
	for _, s := range g.Shifts() {
		shifts = append(shifts, fmt.Sprintf("%s|%s|%s|%.6g..%.6g|%t", s.Worker, s.Name, s.Date, s.Exposure.Low, s.Exposure.High, s.History))
	}
	s := &g.Statistics
	return map[string]any{
		"": true, "n": s.N, "workers": s.Workers, "censored": s.NCensored, "history": s.NHistory, "limit": s.Limit, "unit": g.Limit.Unit.Name,
		"basis": string(g.Basis), "min": number(s.Min), "median": number(s.Median), "max": number(s.Max), "max_high": number(s.MaxHigh),
		"gm": number(s.GM.Value), "p95": number(s.P95.Value), "outcome": string(s.Outcome), "why": s.Why, "method": string(s.Method),
		"excluded": strings.Join(excluded, "; "), "shifts": strings.Join(shifts, "; "),
	}
}

func (r reduced) finding(code string) map[string]any {
	found := r.coded(code)
	if len(found) == 0 {
		return nil
	}
	f := found[0]
	return map[string]any{"": true, "severity": f.Severity.String(), "subject": f.Subject, "count": float64(len(found)),
		"message": f.Message, "remedy": f.Remedy, "cell": f.Table + "!" + f.Cell}
}

// coded returns the findings of one code.
func (r reduced) coded(code string) []finding.Finding {
	return slices.DeleteFunc(slices.Clone(r.Findings), func(f finding.Finding) bool { return string(f.Code) != code })
}

// is reports whether a substance is the one written "analyte" or
// "analyte/form", with _ for a space.
func is(s *exposure.Substance, written string) bool {
	analyte, form, ok := strings.Cut(spaced(written), "/")
	if !ok {
		form = "total"
	}
	return s.Analyte == analyte && s.Form == form
}

// spaced turns the _ of a path into spaces.
func spaced(word string) string { return strings.ReplaceAll(word, "_", " ") }

// day puts a time of day on plain's day.
func day(clock string) string { return "2026-03-02 " + clock }

// shiftOf returns the id of the first row of a shifts table, "" without one.
func shiftOf(rows string) string {
	id, _, _ := strings.Cut(rows, ",")
	return id
}

func number(o stats.Optional) any {
	if !o.Known {
		return nil
	}
	return o.Value
}

func TestPlainSurveyHasNothingToRemark(t *testing.T) {
	r := reduce(t, plain)
	for _, f := range []fact{
		{"sample S1 volume", 2 * 480},
		{"concentration S1 Quillite value", 96.0 / 960},
		{"exposure D Quillite twa8 value", 0.1},
		{"comparison D Quillite twa8 TWA8 outcome", "below"},
	} {
		r.check(f)
	}
	for _, f := range r.Findings {
		t.Errorf("found %s %s [%s]: %s", f.Severity, f.Code, f.Subject, f.Message)
	}
}
