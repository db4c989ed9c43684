package exposure

import (
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/volume"
)

// Numbers copied from one instrument or one report are written alike. One that
// has more digits than all others, or fewer where the others keep their final
// zeros, has one typed twice or dropped.
var (
	readingsAlike = int(finding.Threshold(finding.ReadingWritten))
	resultsAlike  = int(finding.Threshold(finding.ResultWritten))
)

// mostWritten bounds the look at single digits: tables of more rows were not
// typed by hand.
const mostWritten = 50_000

// resultFarFromLimit is how many times its reporting limit a result must be,
// before fewer digits than usual say anything. Common practice, no source.
const resultFarFromLimit = 2

// fewestRounded is how many whole numbers must end in zeros where digits are
// more than usual, before it is the rule.
const fewestRounded = 4

// figures is one number as it stands in a cell.
type figures struct {
	decimals         int
	fewest, most     int  // significant digits: final zeros of a whole number may be none
	finalZero, small bool // a zero kept after the decimals; so near a limit that digits are missing
	row              int
}

func writtenAs(text string, row int) figures {
	whole, decimals, hasPoint := strings.Cut(text, ".")
	if !hasPoint {
		if at := strings.LastIndexByte(text, ','); at >= 0 {
			whole, decimals = text[:at], text[at+1:]
		}
	}
	all := strings.TrimLeft(onlyDigits(whole+decimals), "0")
	w := figures{decimals: len(onlyDigits(decimals)), most: len(all), fewest: len(all), row: row}
	if w.decimals == 0 {
		w.fewest = len(strings.TrimRight(all, "0"))
	}
	w.finalZero = w.decimals > 0 && strings.HasSuffix(decimals, "0")
	return w
}

func onlyDigits(text string) string {
	return strings.Map(func(c rune) rune {
		if c < '0' || c > '9' {
			return -1
		}
		return c
	}, text)
}

// measure counts the digits of a number as a style of writing does, with what
// it could be at the least.
type measure struct {
	name  string
	count func(w figures) (fewest, most int)
}

var (
	byDecimals    = measure{"decimals", func(w figures) (int, int) { return w.decimals, w.decimals }}
	bySignificant = measure{"significant digits", func(w figures) (int, int) { return w.fewest, w.most }}
)

// unlike returns the numbers that are not written as most are, and how many
// digits those have.
func (m measure) unlike(all []figures) (odd []int, usual int) {
	votes := map[int]int{}
	zeros := false
	for _, w := range all {
		_, most := m.count(w)
		votes[most]++
		zeros = zeros || w.finalZero
	}
	for n, v := range votes {
		if v > votes[usual] || v == votes[usual] && n > usual {
			usual = n
		}
	}
	rounded := 0
	for _, w := range all {
		if w.decimals == 0 && w.most > usual && w.fewest <= usual {
			rounded++
		}
	}
	for i, w := range all {
		fewest, most := m.count(w)
		more := fewest > usual && (w.decimals > 0 || rounded >= fewestRounded) // whole numbers may be written out
		if more || most < usual && zeros && !w.small {
			odd = append(odd, i)
		}
	}
	return odd, usual
}

// checkReadings tells of readings that are not written as the others of their
// meter and unit.
func (r *reduction) checkReadings() {
	told := func(f *survey.Flow) bool { // the readings themselves say it
		check := volume.Check{Readings: f.Readings}
		return volume.Over(check.CVPct(), spreadLimitPct)
	}
	if len(r.survey.Flows) > mostWritten {
		return
	}
	type meter struct {
		device, unit string
		total        bool
	}
	alike := map[meter][]figures{}
	texts := map[meter][]string{}
	var order []meter
	for i := range r.survey.Flows {
		f := &r.survey.Flows[i]
		m := meter{f.Device, f.Text("unit"), f.Leg == survey.TotalLeg}
		if alike[m] == nil {
			order = append(order, m)
		}
		for text := range strings.SplitSeq(f.Text("readings"), ";") {
			if text = strings.TrimSpace(text); text != "" {
				alike[m] = append(alike[m], writtenAs(text, i))
				texts[m] = append(texts[m], text)
			}
		}
	}
	for _, m := range order {
		all := alike[m]
		odd, usual := byDecimals.unlike(all)
		if len(odd) != 1 || len(all) <= readingsAlike {
			continue
		}
		f := &r.survey.Flows[all[odd[0]].row]
		if told(f) {
			continue
		}
		r.findings.Add(finding.ReadingWritten, f.Place(readingColumn(f)), append(r.onLeg(f), legName(f)), finding.Values{
			"stage": f.Stage.String(), "leg": legName(f), "read": texts[m][odd[0]], "n": all[odd[0]].decimals, "of": len(all) - 1,
			"limit": readingsAlike, "usual": usual})
	}
}

// onLeg returns the samples of a flow check's leg, of its train for TOTAL.
func (r *reduction) onLeg(f *survey.Flow) []string {
	var ids []string
	for i := range r.samples {
		if s := &r.samples[i]; s.Train == f.Train && (s.Leg == f.Leg || f.Leg == survey.TotalLeg) {
			ids = append(ids, s.ID)
		}
	}
	return ids
}

// checkWritten tells of results that are not written as the others of their
// report, method and unit: to so many decimals, or so many significant digits.
func (r *reduction) checkWritten() {
	if len(r.survey.Lab) > mostWritten {
		return
	}
	type report struct{ name, method, unit string }
	alike := map[report][]figures{}
	var order []report
	for i := range r.survey.Lab {
		row := &r.survey.Lab[i]
		at := r.sampleNumber(row.Sample)
		if at < 0 || r.samples[at].Kind == survey.Blank || row.Kind != survey.Number || row.Qualifiers != 0 || row.Value <= 0 {
			continue
		}
		key := report{row.Text("report"), row.Method, row.Unit.Name}
		if alike[key] == nil {
			order = append(order, key)
		}
		w := writtenAs(row.Text("result"), i)
		w.small = row.ReportingLimit.Known && row.Value < resultFarFromLimit*row.ReportingLimit.Value
		alike[key] = append(alike[key], w)
	}
	for _, key := range order {
		r.tellUnlike(alike[key])
	}
}

// tellUnlike tells of the one result that keeps all from being written in one
// of the two styles; of nothing where they are, or where several keep them.
func (r *reduction) tellUnlike(all []figures) {
	significant, digits := bySignificant.unlike(all)
	decimals, places := byDecimals.unlike(all)
	if len(all) <= resultsAlike || len(significant) == 0 || len(decimals) == 0 {
		return
	}
	odd, usual, m := significant, digits, bySignificant
	if len(odd) != 1 && places > 0 {
		odd, usual, m = decimals, places, byDecimals
	}
	if len(odd) != 1 {
		return
	}
	_, n := m.count(all[odd[0]])
	row := &r.survey.Lab[all[odd[0]].row]
	r.findings.Add(finding.ResultWritten, row.Place("result"), []string{row.Sample, row.Analyte}, finding.Values{
		"sample": row.Sample, "analyte": row.Analyte, "read": row.Text("result"), "n": n, "what": m.name,
		"of": len(all) - 1, "limit": resultsAlike, "usual": usual})
}
