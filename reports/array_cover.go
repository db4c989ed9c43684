package reports

import (
	"cmp"
	"slices"
	"strconv"

	"airtally/exposure"
	"airtally/exposure/survey"
	"airtally/limits"
)

// sources returns the files that were read.
func (r *Report) sources() array {
	type row = survey.Input
	return arrayOf("inputs", "Inputs", r.inputs(), []field[row]{
		in("path", "File", prose, func(i *row) cell { return text(i.Path) }),
		in("sha256", "SHA-256 of its bytes", prose, func(i *row) cell { return text(i.SHA256) }),
	})
}

// settings describes the one row of settings; their names are the items of
// the survey table.
func (r *Report) settings() array {
	type row = exposure.Settings
	return arrayOf("settings", "", []row{r.Settings}, []field[row]{
		in("title", "Title", figures, func(s *row) cell { return text(s.Title) }),
		in("site", "Site", figures, func(s *row) cell { return text(s.Site) }),
		in("client", "Client", figures, func(s *row) cell { return text(s.Client) }),
		in("prepared_by", "Prepared by", figures, func(s *row) cell { return text(s.PreparedBy) }),
		in("reviewed_by", "Reviewed by", figures, func(s *row) cell { return text(s.ReviewedBy) }),
		in("report_number", "Report number", figures, func(s *row) cell { return text(s.ReportNumber) }),
		in("results_received", "Results received", figures, func(s *row) cell { return text(s.ResultsReceived) }),
		in("determined_on", "Determination made", figures, func(s *row) cell { return text(s.DeterminedOn) }),
		in("authorities", "Authorities, the first governs", figures, func(s *row) cell { return list(s.Limits.Authorities) }),
		in("sector", "Sector", figures, func(s *row) cell { return text(string(s.Limits.Sector)) }),
		in("shift_min", "Minutes of a shift without a row", published, func(s *row) cell { return number(s.ShiftMin) }),
		in("unsampled", "Unsampled minutes count as", figures, func(s *row) cell { return text(string(s.Unsampled)) }),
		in("nondetect", "A non-detect's value", figures, func(s *row) cell { return text(string(s.NonDetect)) }),
		in("min_coverage_pct", "Coverage wanted, %", published, func(s *row) cell { return number(s.Coverage) }),
		in("drift_limit_pct", "Drift allowed, %", published, func(s *row) cell { return number(s.Volume.DriftLimitPct) }),
		in("drift_policy", "Over that drift, use", figures, func(s *row) cell { return text(string(s.Volume.DriftPolicy)) }),
		in("target_tolerance_pct", "Off target allowed, %", published, func(s *row) cell { return number(s.Volume.TargetTolerancePct) }),
		in("verify_tolerance_pct", "Off target of a verified check, %", published, func(s *row) cell { return number(s.Volume.VerifyTolerancePct) }),
		in("blank_correction", "Blank correction", figures, func(s *row) cell { return text(string(s.Correction)) }),
		in("ppm_basis", "Air that ppm are stated for", figures, func(s *row) cell { return text(string(s.Limits.PPMBasis)) }),
		in("molar_volume", "Molar volume, L/mol", published, func(s *row) cell { return number(s.Limits.MolarVolume) }),
		in("timezone", "Time zone", figures, func(s *row) cell { return text(s.Timezone) }),
		in("holidays", "Holidays", figures, func(s *row) cell { return list(s.Holidays) }),
	})
}

// limitsUsed returns each limit that an exposure was compared with, once.
func (r *Report) limitsUsed() array {
	type row = *limits.Limit
	return arrayOf("", "Limits used", r.distinctLimits(), []field[row]{
		in("", "Analyte", figures, func(l *row) cell { return text((*l).Analyte) }),
		in("", "Form", figures, func(l *row) cell { return text((*l).Form) }),
		in("", "As", figures, func(l *row) cell { return text((*l).As) }),
		in("", "Authority", figures, func(l *row) cell { return text((*l).Authority) }),
		in("", "Kind of limit", figures, func(l *row) cell { return text(string((*l).Kind)) }),
		in("", "Limit", published, func(l *row) cell { return number((*l).Value) }).by("value"),
		in("", "Unit", figures, func(l *row) cell { return text(prettyUnit((*l).Unit.Name)) }),
		in("", "Averaged over, min", published, func(l *row) cell { return number((*l).AveragingMin).where((*l).AveragingMin > 0) }),
		in("", "Exceeded", figures, func(l *row) cell { return text(exceededWhen((*l).Comparator)) }),
		in("", "From", figures, func(l *row) cell { return text(limitOrigin(*l)) }),
		in("", "Instrument", figures, func(l *row) cell { return text((*l).Instrument) }),
		in("", "Source", figures, func(l *row) cell { return text((*l).Source) }),
	})
}

func limitOrigin(l *limits.Limit) string {
	if l.User {
		return "the survey"
	}
	return "the library"
}

// distinctLimits returns the limits of the comparisons, each once, by analyte
// and then as the governing order of the authorities has it.
func (r *Report) distinctLimits() []*limits.Limit {
	met := map[*limits.Limit]bool{} // spares most comparisons the key
	seen := map[string]bool{}
	var all []*limits.Limit
	for i := range r.Comparisons {
		l := r.Comparisons[i].Limit
		if met[l] {
			continue
		}
		met[l] = true
		if key := limitKey(l); !seen[key] {
			seen[key] = true
			all = append(all, l)
		}
	}
	slices.SortFunc(all, func(a, b *limits.Limit) int {
		return cmp.Or(
			cmp.Compare(a.Analyte, b.Analyte),
			cmp.Compare(a.Form, b.Form),
			cmp.Compare(r.authorityRank(a.Authority), r.authorityRank(b.Authority)),
			cmp.Compare(limitKey(a), limitKey(b)),
		)
	})
	return all
}

// limitKey tells limits apart that are not the same row of a list.
func limitKey(l *limits.Limit) string {
	value := strconv.FormatFloat(l.Value, 'g', -1, 64)
	key := ""
	for _, part := range []string{l.Authority, string(l.Kind), l.Analyte, l.Form, l.As, l.Instrument, value, l.Unit.Name, l.Source} {
		key += part + "\x00"
	}
	return key
}
