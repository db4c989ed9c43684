package exposure

import (
	"cmp"
	"slices"

	"airtally/exposure/finding"
	"airtally/limits"
	"airtally/stats"
	"airtally/volume"
)

// highLimit is a reporting limit that is a large share of a limit.
type highLimit struct {
	of     *Concentration
	inAir  float64
	share  float64 // %, of strict
	strict *limits.Limit
}

// mostHighLimits is how many of one report are told one by one, unless half of
// them are over the limit itself.
const mostHighLimits = 12

// checkReportingLimits tells of reporting limits that, in the air sampled, are
// over a tenth of a limit that the result is compared with.
func (r *reduction) checkReportingLimits() {
	byReport := map[string][]highLimit{}
	for i := range r.concentrations {
		c := &r.concentrations[i]
		if !c.HasAir || !c.limit.Known || c.Void {
			continue
		}
		volumeL := volume.Litres(c.Sample.Volume.OrElse(c.Sample.VolumeLow).Value)
		inAir := inAir(stats.Exact(c.limit.Value), c.Quantity, volumeL, volumeL, volumeL).Value
		strictest, share := r.strictest(c, inAir)
		if strictest == nil || !over(share, limitShareWanted) {
			continue
		}
		report := r.reportOf(c)
		byReport[report] = append(byReport[report], highLimit{c, inAir, share, strictest})
	}
	for report, high := range byReport {
		if report != "" && (len(high) > mostHighLimits || len(high) >= fewestLimits && middleShare(high) > 100) {
			r.tellHighReport(report, high)
			continue
		}
		for _, h := range high {
			r.findings.Add(finding.ReportingLimitHigh, h.of.origin.place(), []string{h.of.Sample.ID, h.of.Substance.Analyte}, h.values())
		}
	}
}

// reportOf names the laboratory's report that a concentration comes from.
func (r *reduction) reportOf(c *Concentration) string {
	if c.origin.row != nil {
		return c.origin.row.Text("report")
	}
	return r.survey.Lab[r.lab.rows(int(c.Sample.number))[0]].Text("report") // of its parts
}

// middleShare returns the median share, in %.
func middleShare(high []highLimit) float64 {
	var shares []float64
	for _, h := range high {
		shares = append(shares, h.share)
	}
	return middleOf(shares)
}

func (h highLimit) values() finding.Values {
	return finding.Values{"sample": h.of.Sample.ID, "analyte": h.of.Substance.Analyte, "inair": h.inAir,
		"unit": h.of.Quantity.Unit(), "share": h.share, "limit": limitShareWanted,
		"authority": h.strict.Authority, "kind": string(h.strict.Kind)}
}

// tellHighReport tells once of the many high reporting limits of one report.
func (r *reduction) tellHighReport(report string, high []highLimit) {
	worst := slices.MaxFunc(high, func(a, b highLimit) int { return cmp.Compare(a.share, b.share) })
	var samples, analytes []string
	for _, h := range high {
		samples, analytes = append(samples, h.of.Sample.ID), append(analytes, h.of.Substance.Analyte)
	}
	values := worst.values()
	values["report"], values["n"], values["middle"] = report, len(high), middleShare(high)
	r.findings.Add(finding.ReportLimitsHigh, worst.of.origin.place(), slices.Concat(distinct(samples), distinct(analytes)), values)
}

// strictest returns the time-weighted limit of which a concentration is the
// largest share, and that share in %.
func (r *reduction) strictest(c *Concentration, inAir float64) (*limits.Limit, float64) {
	var strictest *limits.Limit
	largest := 0.0
	x := &Exposure{Sampled: &Sampled{Substance: c.Substance, Quantity: c.Quantity}, Value: stats.Exact(inAir)}
	for _, l := range c.Substance.limits {
		if l.Kind != limits.TWA8 && l.Kind != limits.TWA10 || !x.comparableWith(l) {
			continue
		}
		if share := 100 * r.inUnit(x, asStated, l).Value / l.Value; share > largest {
			strictest, largest = l, share
		}
	}
	return strictest, largest
}
