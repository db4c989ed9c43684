package exposure

import (
	"maps"
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
)

// longName is from how many letters on a name may be two letters off another
// to be nearly the same; a shorter one may be one off. Common practice, no source.
const longName = 6

// nearly reports whether two names differ by so little that one may be a slip.
func nearly(a, b string) bool {
	off := limits.NameDistance(strings.ToLower(a), strings.ToLower(b))
	return off <= 1 || off == 2 && len(b) >= longName
}

// checkNames tells of analytes in the tables of limits, derived analytes and
// mixtures that no result has, and that are nearly called like one. Names that
// the library knows are no slips.
func (r *reduction) checkNames() {
	var results []string
	for s := range r.substances {
		results = append(results, s.analyte)
	}
	for derived := range r.derivations {
		results = append(results, derived)
	}
	results = distinct(results)
	told := map[string]bool{}
	check := func(table, analyte string, at finding.Place) {
		key := table + analyte
		if told[key] || slices.ContainsFunc(results, func(n string) bool { return strings.EqualFold(n, analyte) }) || limits.Weight(analyte, "").Known {
			return
		}
		told[key] = true
		for _, name := range results {
			if nearly(analyte, name) {
				r.findings.Add(finding.NameNearly, at, []string{analyte, name}, finding.Values{"table": table, "name": analyte, "why": "which no result is called; the results name " + name})
				return
			}
		}
	}
	for i := range r.survey.Limits {
		l := &r.survey.Limits[i]
		if l.CAS == "" || !r.hasCAS(l.CAS) {
			check("limits", l.Analyte, l.Place("analyte"))
		}
	}
	for i := range r.survey.Derived {
		check("derived", r.survey.Derived[i].Analyte, r.survey.Derived[i].Place("analyte"))
	}
	for i := range r.survey.Mixtures {
		check("mixtures", r.survey.Mixtures[i].Analyte, r.survey.Mixtures[i].Place("analyte"))
	}
}

// checkCAS tells of analytes that some rows give another CAS number than most.
func (r *reduction) checkCAS() {
	counts := map[string]map[string]int{}
	for i := range r.survey.Lab {
		if row := &r.survey.Lab[i]; row.CAS != "" {
			if counts[row.Analyte] == nil {
				counts[row.Analyte] = map[string]int{}
			}
			counts[row.Analyte][row.CAS]++
		}
	}
	told := map[[2]string]bool{}
	for i := range r.survey.Lab {
		row := &r.survey.Lab[i]
		of := counts[row.Analyte]
		if len(of) < 2 || row.CAS == "" || told[[2]string{row.Analyte, row.CAS}] {
			continue
		}
		told[[2]string{row.Analyte, row.CAS}] = true
		usual := row.CAS
		for cas, n := range of {
			if n > of[usual] || n == of[usual] && cas < usual {
				usual = cas
			}
		}
		if usual != row.CAS {
			r.findings.Add(finding.CASDiffers, row.Place("cas"), append(r.numbered(row.Analyte, row.CAS), row.Analyte), finding.Values{
				"analyte": row.Analyte, "read": row.CAS, "n": of[row.CAS], "usual": usual, "of": of[usual]})
		}
	}
}

// numbered returns the samples on which an analyte bears a CAS number.
func (r *reduction) numbered(analyte, cas string) []string {
	var samples []string
	for i := range r.survey.Lab {
		if row := &r.survey.Lab[i]; row.Analyte == analyte && row.CAS == cas {
			samples = append(samples, row.Sample)
		}
	}
	return distinct(samples)
}

func (r *reduction) hasCAS(cas string) bool {
	for _, s := range r.substances {
		if s.CAS == cas {
			return true
		}
	}
	return false
}

// usage says on which samples the laboratory reports an analyte.
type usage struct {
	cas     string
	samples map[int32]bool
	media   map[string]bool
	first   int32 // row of the laboratory
}

// fewTimes is how many times more often than a name another must be used,
// before the one can be a slip for the other. Common practice, no source.
const fewTimes = 3

// checkLabNames tells of analytes that the laboratory names on few samples, and
// nearly, or with the same CAS number, by another name on the others of their
// media: no sample has both.
func (r *reduction) checkLabNames() {
	if len(r.survey.Lab) > mostWritten {
		return
	}
	uses := map[string]*usage{}
	for i := range r.survey.Lab {
		row := &r.survey.Lab[i]
		at := r.sampleNumber(row.Sample)
		if at < 0 {
			continue
		}
		u := uses[row.Analyte]
		if u == nil {
			u = &usage{samples: map[int32]bool{}, media: map[string]bool{}, first: int32(i)}
			uses[row.Analyte] = u
		}
		u.samples[at], u.media[r.samples[at].Medium] = true, true
		if u.cas == "" {
			u.cas = row.CAS
		}
	}
	names := slices.Sorted(maps.Keys(uses))
	for _, name := range names {
		for _, other := range names {
			u, o := uses[name], uses[other]
			if name != other && u.slipFor(o) && (u.cas != "" && u.cas == o.cas || nearly(name, other) && (u.cas == "" || o.cas == "")) {
				r.tellLabName(name, u, other)
				break
			}
		}
	}
}

// slipFor reports whether another name is used where this one is, on many more
// samples, though never on the same.
func (u *usage) slipFor(o *usage) bool {
	if fewTimes*len(u.samples) > len(o.samples) {
		return false
	}
	for sample := range u.samples {
		if o.samples[sample] {
			return false
		}
	}
	for medium := range u.media {
		if !o.media[medium] {
			return false
		}
	}
	return true
}

func (r *reduction) tellLabName(name string, u *usage, other string) {
	var samples []string
	for at := range u.samples {
		samples = append(samples, r.samples[at].ID)
	}
	row := &r.survey.Lab[u.first]
	r.findings.Add(finding.NameNearly, row.Place("analyte"), append(distinct(samples), name, other), finding.Values{
		"table": "lab", "name": name, "why": "where the other samples of the medium have " + other + " and none has both"})
}

// checkLimitRows tells of the user's limits for names that neither the results
// nor the library know, where most rows of the table meet a result: a list of
// everything in the house is no slip.
func (r *reduction) checkLimitRows() {
	var unmet []*survey.LimitRow
	met := 0
	for i := range r.survey.Limits {
		l := &r.survey.Limits[i]
		if r.meets(&l.Limit) {
			met++
			continue
		}
		known := limits.Find(l.Analyte, l.CAS, l.Form, r.settings.Limits).Limits
		if near := r.sharing(known); near != "" {
			r.findings.Add(finding.NameNearly, l.Place("analyte"), []string{l.Analyte, near}, finding.Values{
				"table": "limits", "name": l.Analyte, "why": "which no result is called; the library takes it for the same as " + near})
		} else if len(known) == 0 && !limits.Weight(l.Analyte, l.CAS).Known {
			unmet = append(unmet, l)
		}
	}
	if fewTimes*len(unmet) > met {
		return
	}
	for _, l := range unmet {
		r.findings.Add(finding.LimitUnused, l.Place("analyte"), []string{l.Analyte, l.Authority}, finding.Values{
			"authority": l.Authority, "analyte": l.Analyte, "n": met, "of": len(r.survey.Limits)})
	}
}

// sharing returns the analyte of a substance that is compared with one of the
// limits, "" where none is.
func (r *reduction) sharing(known []*limits.Limit) string {
	for _, s := range r.sortedSubstances() {
		if slices.ContainsFunc(known, func(l *limits.Limit) bool { return slices.Contains(s.limits, l) }) {
			return s.Analyte
		}
	}
	return ""
}

// meets reports whether a limit is for an analyte that any result has.
func (r *reduction) meets(l *limits.Limit) bool {
	for _, s := range r.substances {
		if sameAnalyte(l, s) {
			return true
		}
	}
	return false
}
