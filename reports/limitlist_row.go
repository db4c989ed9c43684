package reports

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"airtally/limits"
	"airtally/stats"
)

// usualMin are the minutes that the name of a kind says by itself.
var usualMin = map[limits.Kind]float64{limits.TWA8: 480, limits.TWA10: 600, limits.Action: 480, limits.Ceiling: 0}

// kindText returns the kind with its minutes. Those of a ceiling do not stand
// beside it where the note tells what they are: how it is judged where it
// cannot be read at once.
func kindText(e *limits.Entry) string {
	minutes := publishedText(e.StatedMin) + " min"
	told := e.Kind == limits.Ceiling && strings.Contains(e.Note, strings.Replace(minutes, " ", "-", 1))
	if usualMin[e.Kind] == e.StatedMin || told {
		return string(e.Kind)
	}
	return string(e.Kind) + " " + minutes
}

// longestLimit is how wide a limit may be to stand in its column; a longer
// formula or rule stands below.
const longestLimit = 18

func limitText(e *limits.Entry) string {
	switch {
	case e.Use == limits.NoNumber:
		return "no number"
	case e.Value > 0:
		return publishedText(e.Value) + " " + prettyUnit(e.Unit.Name)
	}
	if rule := ruleText(e); cellsOf(rule) <= longestLimit {
		return rule
	}
	return "by rule"
}

// ruleText returns a limit that is no number: a formula or a rule in words.
func ruleText(e *limits.Entry) string {
	unit, _ := strings.CutSuffix(e.UnitOther, " (formula)")
	if unit == "rule" {
		unit = ""
	}
	return strings.TrimSpace(e.ValueOther + " " + prettyUnit(unit))
}

// approximately marks a value that no list prints.
const approximately = "≈ "

// convertedText returns the value in the other unit: as its list prints it
// beside, or computed, which ≈ marks.
func convertedText(e *limits.Entry, gas bool) string {
	weight := weightOf(e)
	switch {
	case e.Value == 0:
		return ""
	case e.ValuePPM.Known && e.ValueMgM3.Known:
		return publishedText(e.ValueMgM3.Value) + " mg/m³"
	case e.Unit.Dim == limits.Mass && e.Unit.ToBase != 1:
		return publishedText(e.Value*e.Unit.ToBase) + " mg/m³"
	case e.Unit.Dim == limits.Molar && weight.Known:
		return approximately + roughly(inMgPerM3(e, weight.Value)) + " mg/m³"
	case e.Unit.Dim == limits.Mass && weight.Known && gas:
		return approximately + roughly(float64(limits.MgPerM3(e.Value).PPM(e.MolarVolume, weight.Value))) + " ppm"
	}
	return ""
}

func inMgPerM3(e *limits.Entry, weight float64) float64 {
	return float64(limits.PPM(e.Value*e.Unit.ToBase).MgPerM3(e.MolarVolume, weight))
}

// weightOf returns the weight by which ppm and mg/m³ of a row convert: none
// where the value is stated as a part of the substance.
func weightOf(e *limits.Entry) stats.Optional {
	if e.As != "" {
		return stats.Optional{}
	}
	return e.MolecularWeight.OrElse(limits.Weight(e.Analyte, e.CAS))
}

// roughly returns v in three significant figures.
func roughly(v float64) string {
	short, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	return publishedText(short)
}

// isGas reports whether a list states the substance in ppm.
func isGas(s limits.Substance) bool {
	return slices.ContainsFunc(s.Entries, func(e *limits.Entry) bool { return e.Unit.Dim == limits.Molar })
}

// formText returns the form, what the value is expressed as where the name
// does not say, and the skin mark. A plain limit in ppm or in fibres has no
// form worth telling.
func formText(e *limits.Entry) string {
	var out []string
	if e.Form != limits.DefaultForm || e.Unit.Dim == limits.Mass {
		out = append(out, e.Forms()...)
	}
	if e.As != "" && !strings.Contains(strings.ToLower(e.Analyte), "as "+strings.ToLower(e.As)) {
		out = append(out, "as "+e.As)
	}
	if e.Skin {
		out = append(out, "skin")
	}
	return strings.Join(out, ", ")
}

// far is how much a computed value may differ from one printed beside it
// before that is said: lists round to a figure or two.
const far = 0.06

// besides returns what must be read beside a row of a substance.
func besides(e *limits.Entry, s limits.Substance, on time.Time) []string {
	var out []string
	if e.Value == 0 && e.Use != limits.NoNumber && cellsOf(ruleText(e)) > longestLimit {
		out = append(out, "limit: "+ruleText(e))
	}
	if !limits.SameName(e.Analyte, s.Name) {
		out = append(out, "listed as "+e.Analyte)
	}
	if weight := weightOf(e); weight.Known && e.ValuePPM.Known && e.ValueMgM3.Known {
		if computed := inMgPerM3(e, weight.Value); math.Abs(computed-e.ValueMgM3.Value) > far*computed {
			out = append(out, fmt.Sprintf("ppm governs, and is ≈ %s mg/m³", roughly(computed)))
		}
	}
	if v := validText(e, on.Format(time.DateOnly)); v != "" {
		out = append(out, v)
	}
	return append(out, remarks(e)...)
}

// validText says when a row is in force, and whether that is past or to come
// on a day.
func validText(e *limits.Entry, day string) string {
	span := strings.TrimSpace(prefixed("from ", e.ValidFrom) + " " + prefixed("to ", e.ValidTo))
	switch {
	case span == "":
		return ""
	case e.ValidFrom > day:
		return "NOT YET IN FORCE: " + span
	case e.ValidTo != "" && e.ValidTo < day:
		return "NO LONGER IN FORCE: " + span
	default:
		return "in force " + span
	}
}

func prefixed(prefix, s string) string {
	if s == "" {
		return ""
	}
	return prefix + s
}
