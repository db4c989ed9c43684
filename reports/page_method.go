package reports

import (
	"fmt"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/volume"
)

// pageFormula is how a kind of figure comes about, in symbols.
type pageFormula struct{ Name, Rule, Unit, Source string }

type pageLimit struct {
	Substance, Limit, Value, When, Source string
}

var unsampledWords = map[survey.Policy]string{
	survey.PolicySame: "as if exposure had been that of the sampled time",
	survey.PolicyZero: "as time without exposure",
}

var nonDetectWords = map[exposure.NonDetect]string{
	exposure.Half: "half the reporting limit R", exposure.Root: "R/√2", exposure.Zero: "zero", exposure.Full: "R itself",
}

var driftWords = map[volume.DriftPolicy]string{
	volume.UseMean: "the mean flow still makes the value", volume.UseLower: "the lower flow makes the value, so the higher concentration",
	volume.UseVoid: "the sample is taken as void and only its bounds are shown",
}

// method says how the figures come about: the choices made, the formulas, the
// limits, the settings and the files.
func (p *webPage) method(r *Report, w *workings) {
	s := &r.Settings
	p.Rules = []string{
		"Flow of a leg: the mean of the readings before and of those after, and the mean of the two. Volume: flow times the minutes run.",
		fmt.Sprintf("Drift over %s %% of the flow before: %s; the lower and the higher flow give the bounds.", publishedText(s.Volume.DriftLimitPct), driftWords[s.Volume.DriftPolicy]),
		fmt.Sprintf("A result under its reporting limit lies between zero and the limit; where one number is wanted, %s stands for it.", nonDetectWords[s.NonDetect]),
		blankWords(s.Correction),
		fmt.Sprintf("Minutes of a shift that were not sampled count %s, unless the shift or its gaps say otherwise. With less than %s %% sampled nothing is called below.",
			unsampledWords[s.Unsampled], publishedText(s.Coverage)),
		"An outcome is given only where the whole interval of the result, with its sampling and analytical error, and the ways to take the minutes not sampled support it. Otherwise it is undecided.",
		"Mixtures: each part's fraction of its own limit, added; 1 is the limit (29 CFR 1910.1000(d)(2)).",
		"Concentrations are those outside any respirator; no protection factor is applied.",
	}
	p.formulas(r, w)
	for _, l := range r.distinctLimits() {
		p.Limits = append(p.Limits, pageLimitOf(l))
	}
	settings := r.settings()
	for i, h := range settings.fields {
		if slices.ContainsFunc(p.Facts, func(f pageFact) bool { return f.Name == h.heading }) || h.name == "title" {
			continue // said at the top
		}
		if value := settings.cell(0, i).shownText(); value != "" {
			p.Settings = append(p.Settings, pageFact{h.heading, value})
		}
	}
	for _, input := range r.inputs() {
		p.Inputs = append(p.Inputs, pageFact{input.Path, input.SHA256})
	}
}

// shownText returns a cell for people to read.
func (c cell) shownText() string {
	if c.form == isNumber {
		return publishedText(c.number)
	}
	return c.words()
}

func blankWords(c exposure.BlankCorrection) string {
	if c == exposure.NoBlank {
		return "Field blanks are not taken off."
	}
	return "The mean of the field blanks of the same lot and analyte is taken off, unless the laboratory did so already; a detect that falls under its reporting limit by that is a non-detect."
}

func pageLimitOf(l *limits.Limit) pageLimit {
	name := l.Analyte
	if l.Form != "" && l.Form != "total" {
		name += ", " + l.Form
	}
	name = asText(name, l.Analyte, l.As)
	kind := l.Authority + " " + string(l.Kind)
	if l.Kind.ShortTerm() && l.AveragingMin > 0 {
		kind += ", " + publishedText(l.AveragingMin) + " min"
	}
	return pageLimit{name, kind, publishedText(l.Value) + " " + prettyUnit(l.Unit.Name), exceededWhen(l.Comparator),
		strings.Join(nonEmpty(l.Instrument, l.Source), "; ")}
}

// formulaResults is how many results of each kind are looked at for formulas.
const formulaResults = 400

// formulas lists the steps of the first results that have them, each once.
func (p *webPage) formulas(r *Report, w *workings) {
	met := map[string]bool{}
	add := func(result any, keys ...string) {
		for _, key := range keys {
			s, has := w.step(result, key)
			name := s.Name
			if !has || met[name] {
				continue
			}
			met[name] = true
			p.Formulas = append(p.Formulas, formulaOf(&s))
		}
	}
	for i := range r.Samples[:min(len(r.Samples), formulaResults)] {
		add(&r.Samples[i], "flow_pre_lpm", "flow_post_lpm", "drift_pct", "flow_lpm", "volume_l", "u_volume_rel")
	}
	for i := range r.Concentrations[:min(len(r.Concentrations), formulaResults)] {
		add(&r.Concentrations[i], "mass_ug", "value_mgm3", "value_fcc", "value_ppm", "u_rel")
	}
	for i := range r.Exposures[:min(len(r.Exposures), formulaResults)] {
		e := &r.Exposures[i]
		if s, has := w.step(e, exposureKey(e)); has {
			s.Name = "exposure, " + averageTexts[e.Basis]
			if !met[s.Name] {
				met[s.Name] = true
				p.Formulas = append(p.Formulas, formulaOf(&s))
			}
		}
	}
	for i := range r.Comparisons[:min(len(r.Comparisons), formulaResults)] {
		add(&r.Comparisons[i], "fraction", "error", "lcl_fraction", "ucl_fraction")
	}
	for i := range r.Mixtures[:min(len(r.Mixtures), formulaResults)] {
		add(&r.Mixtures[i], "index")
	}
}

// formulaOf writes a step in symbols; one that only takes over a figure has
// none.
func formulaOf(s *exposure.Step) pageFormula {
	f := pageFormula{Name: s.Name, Unit: prettyUnit(s.Unit), Source: s.Source}
	if s.By.Op != exposure.Reference {
		f.Rule = formulaWords(s)
	}
	return f
}
