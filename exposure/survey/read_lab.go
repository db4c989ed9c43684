package survey

import (
	"strings"

	"airtally/exposure/finding"
	"airtally/limits"
	"airtally/stats"
)

const (
	airUnits = "a concentration such as mg/m3, ug/m3, ppm or f/cc"
	labUnit  = "ug, mg, ng, g, fibres, fibres/mm2, or " + airUnits
)

// mostDesorption is the largest desorption efficiency that is taken for one:
// recoveries of spiked samples scatter over 1. Common practice, no source.
const mostDesorption = 1.5

// desorption reads a desorption efficiency. From 50 on a bare number can only
// be a percentage; between the two it can be nothing.
func (r *reader) desorption(f *field) stats.Optional { return r.fraction(f, mostDesorption, 50, false) }

// errorFraction reads a coefficient of variation or a sampling and analytical
// error.
func (r *reader) errorFraction(f *field) stats.Optional { return r.fraction(f, 1, 0, true) }

func airUnit(text string) (limits.Unit, bool) { return limits.ParseUnit(text) }

func trimmed(text string) string { return strings.TrimSpace(text) }

func bindLab(r *reader) func(*LabRow) {
	read := []func(*LabRow){bindResult(r), bindRecovery(r)}
	sample, analyte, cas := r.field("sample"), r.field("analyte"), r.field("cas")
	form, method, section := r.field("form"), r.field("method"), r.field("section")
	analysed, received := r.field("analysed"), r.field("received")
	knownCAS, asked := make(map[string]bool), sharing[Asked]()
	return func(l *LabRow) {
		*l = LabRow{Ref: r.ref(), Sample: r.id(sample), Section: sections[r.mustChoose(section)], Analysed: r.moment(analysed),
			Asked: asked(Asked{Analyte: r.id(analyte), CAS: r.cas(cas, knownCAS), Form: r.form(form), Method: r.id(method)})}
		r.moment(received) // only quoted, but a date that cannot be read is said
		for _, part := range read {
			part(l)
		}
	}
}

var sections = map[string]Section{"front": Front, "back": Back, "pre": PreWeight, "post": PostWeight}

func bindResult(r *reader) func(*LabRow) {
	result, unit := r.field("result"), r.field("unit")
	limit, qualifier := r.field("reporting_limit"), r.field("qualifier")
	parseUnit, shared := remembering(ParseLabUnit), sharing[LabUnit]()
	return func(l *LabRow) {
		l.Unit = shared(LabUnit{})
		text := r.filled(qualifier)
		l.Qualifiers, _ = parseQualifiers(text)
		var behind string
		if l.Kind, l.Value, behind = r.result(result, &l.Qualifiers, strings.Contains(text, "<")); r.left {
			return
		}
		var u LabUnit
		if behind != "" && r.filled(unit) == "" {
			u, _ = parseUnit(behind)
		} else {
			u, _ = rowUnit(r, unit, parseUnit, labUnit, result, limit)
			if other, _ := parseUnit(behind); behind != "" && other != u && !r.left {
				r.stop(result, finding.UnitConflict, finding.Values{"expected": u.Name})
			}
		}
		l.Unit = shared(u)
		l.ReportingLimit = r.number(limit)
	}
}

// result reads a result with the qualifiers behind it. An empty cell stands
// where the qualifier says that nothing was found.
func (r *reader) result(f *field, q *Qualifiers, lessThan bool) (kind ResultKind, value float64, unit string) {
	c := r.cell(f)
	if c == nil || r.filled(f) == "" {
		if !q.Has(U) {
			r.stop(f, finding.MissingValue, finding.Values{"expected": f.Help})
		}
		return NotFound, 0, ""
	}
	read, trouble := reported{value: c.number}, readable
	switch c.kind {
	case textKind:
		read, trouble = parseResult(strings.TrimSpace(c.text), f.style)
	case dateKind, timeKind:
		trouble = unreadable
	}
	switch trouble {
	case ambiguous:
		number, _ := cutNumber(strings.TrimLeft(c.text, "<>=~ "))
		r.left = true
		r.ambiguous(f, number)
		return 0, 0, ""
	case unreadable:
		r.stop(f, finding.UnreadableResult, nil)
		return 0, 0, ""
	}
	if lessThan && read.kind == Number {
		read.kind = LessThan
		*q &^= U
	}
	if read.kind != Number && read.kind != NotFound && read.value <= 0 {
		r.stop(f, finding.OutOfRange, finding.Values{"expected": "a number over 0 after < or >"})
	}
	*q |= read.qualifiers
	if q.Has(U) {
		*q &^= J
	}
	return read.kind, read.value, read.unit
}

func bindRecovery(r *reader) func(*LabRow) {
	labVolume, desorption, cv := r.field("lab_volume_l"), r.field("desorption"), r.field("cv")
	applied, blank := r.field("desorption_applied"), r.field("blank_applied")
	return func(l *LabRow) {
		l.LabVolume, l.Desorption, l.CV = r.number(labVolume), r.desorption(desorption), r.errorFraction(cv)
		l.DesorptionNotApplied = !r.yes(applied, true)
		l.BlankApplied = r.yes(blank, false)
	}
}

// sharing returns one and the same pointer for equal values. Rows repeat
// themselves, or take turns in the same order: the last value and the one that
// followed it before are tried first.
func sharing[T comparable]() func(T) *T {
	var inOrder []*T
	place, at := make(map[T]int), 0
	return func(v T) *T {
		for _, next := range []int{at, at + 1, 0} {
			if next < len(inOrder) && *inOrder[next] == v {
				at = next
				return inOrder[at]
			}
		}
		next, known := place[v]
		if !known {
			next = len(inOrder)
			place[v] = next
			kept := v // only what is met for the first time is put on the heap
			inOrder = append(inOrder, &kept)
		}
		at = next
		return inOrder[at]
	}
}

// remembering keeps what a parser made of each text it has met.
func remembering[T any](parse func(string) (T, bool)) func(string) (T, bool) {
	type made struct {
		value T
		ok    bool
	}
	met := make(map[string]made)
	return func(text string) (T, bool) {
		m, known := met[text]
		if !known {
			m.value, m.ok = parse(text)
			met[text] = m
		}
		return m.value, m.ok
	}
}

func bindLimits(r *reader) func(*LimitRow) {
	analyte, authority, kind := r.field("analyte"), r.field("authority"), r.field("kind")
	value, unit, cas := r.field("value"), r.field("unit"), r.field("cas")
	form, as, source := r.field("form"), r.field("as"), r.field("source")
	averaging, sae, weight := r.field("averaging_min"), r.field("sae"), r.field("molecular_weight")
	knownCAS := make(map[string]bool)
	return func(l *LimitRow) {
		*l = LimitRow{Ref: r.ref(), Limit: limits.Limit{
			Analyte: r.id(analyte), Authority: r.id(authority), Kind: limits.Kind(r.choice(kind)), CAS: r.cas(cas, knownCAS),
			Form: r.form(form), As: r.id(as), Value: r.number(value).Value, SAE: r.errorFraction(sae),
			MolecularWeight: r.number(weight), Source: r.text(source), User: true,
		}}
		if !r.left {
			l.Unit, _ = rowUnit(r, unit, limits.ParseUnit, airUnits, value)
		}
		l.AveragingMin = r.number(averaging).Or(averagingOf(l.Kind))
		l.fillDefaults()
	}
}

// key is what only one row of limits can be for.
func (l *LimitRow) key() string {
	return strings.Join([]string{strings.ToLower(l.Analyte), l.Form, l.As, strings.ToLower(l.Authority), string(l.Kind),
		plainly(l.AveragingMin)}, keySeparator)
}

func (l *LimitRow) fillDefaults() {
	if l.Form == "" {
		l.Form = limits.DefaultForm
	}
	if l.Source == "" {
		l.Source = "user's own"
	}
	if l.Kind == limits.Action {
		l.Comparator = limits.AtOrAbove
	}
}

// averagingOf returns the minutes that a kind of limit averages over where
// its row does not say.
func averagingOf(k limits.Kind) float64 {
	switch {
	case k.ShortTerm():
		return 15
	case k == limits.TWA10:
		return 600
	}
	return 480
}

func bindDerived(r *reader) func(*DerivedRow) {
	derived, analyte, factor := r.field("derived"), r.field("analyte"), r.field("factor")
	return func(d *DerivedRow) {
		*d = DerivedRow{Ref: r.ref(), Derived: r.id(derived), Analyte: r.id(analyte), Factor: r.number(factor).Value}
	}
}

func bindMixtures(r *reader) func(*MixtureRow) {
	mixture, analyte := r.field("mixture"), r.field("analyte")
	return func(m *MixtureRow) {
		*m = MixtureRow{Ref: r.ref(), Mixture: r.id(mixture), Analyte: r.id(analyte)}
	}
}

func bindHistory(r *reader) func(*HistoryRow) {
	group, analyte, worker, date := r.field("group"), r.field("analyte"), r.field("worker"), r.field("date")
	value, low, high, unit := r.field("value"), r.field("low"), r.field("high"), r.field("unit")
	return func(h *HistoryRow) {
		*h = HistoryRow{Ref: r.ref(), Group: r.id(group), Analyte: r.id(analyte), Worker: r.id(worker), Date: r.moment(date)}
		if h.Value = r.earlier(value, low, high); !r.left {
			h.Unit, _ = rowUnit(r, unit, limits.ParseUnit, airUnits, value, low, high)
		}
	}
}

// earlier reads an exposure from value, or from low and high. A value under
// something stands at half of it until a convention is stated.
func (r *reader) earlier(value, low, high *field) stats.Interval {
	if r.filled(value) == "" {
		return r.between(low, high)
	}
	var q Qualifiers
	kind, v, _ := r.result(value, &q, false)
	switch {
	case r.left:
	case kind == NotFound || v < 0:
		r.stop(value, finding.UnreadableResult, nil)
	case kind == LessThan || q.Has(U):
		return stats.Under(v, v/2)
	case kind == MoreThan:
		return stats.AtLeast(v)
	}
	return stats.Exact(v)
}

func (r *reader) between(low, high *field) stats.Interval {
	from, to := r.number(low), r.number(high)
	switch {
	case !from.Known && !to.Known:
		r.stop(low, finding.MissingValue, finding.Values{"column": "value", "expected": "value, or low and high"})
	case !to.Known:
		return stats.AtLeast(from.Value)
	case from.Or(0) > to.Value:
		r.stop(high, finding.OutOfRange, finding.Values{"expected": "low or more"})
	case !from.Known:
		return stats.Under(to.Value, to.Value/2)
	}
	return stats.Interval{Low: from.Value, Value: (from.Value + to.Value) / 2, High: to.Value}
}
