package exposure

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
	"airtally/volume"
)

// Settings decide between the rules that authoritative texts leave open.
type Settings struct {
	Title, Site, Client, PreparedBy, ReviewedBy, ReportNumber string
	ResultsReceived, DeterminedOn                             string
	Holidays                                                  []string
	Timezone                                                  string

	Volume     volume.Options
	Limits     limits.Options
	ShiftMin   float64       // minutes of a shift without a row
	Unsampled  survey.Policy // of shifts that state none
	NonDetect  NonDetect
	Coverage   float64 // %, under which nothing is below
	Correction BlankCorrection
}

// NonDetect is the value that stands for a result under the reporting limit R.
type NonDetect string

const (
	Half NonDetect = "half"  // R/2
	Root NonDetect = "root2" // R/√2
	Zero NonDetect = "zero"  // 0
	Full NonDetect = "full"  // R
)

// BlankCorrection says whether the mean of the field blanks is taken off.
type BlankCorrection string

const (
	MeanBlank BlankCorrection = "mean"
	NoBlank   BlankCorrection = "none"
)

// DefaultSettings returns the settings of a survey that states none.
func DefaultSettings() Settings {
	return Settings{
		Volume:     volume.DefaultOptions(),
		Limits:     limits.DefaultOptions(),
		ShiftMin:   480,
		Unsampled:  survey.PolicySame,
		NonDetect:  Half,
		Coverage:   70,
		Correction: MeanBlank,
	}
}

// settingItem reads one item of the survey table into the settings. It
// returns what was expected where it cannot.
type settingItem struct {
	name string
	set  func(s *Settings, text string) (expected string)
}

// settingItems are the items of the survey table, in the order they print.
var settingItems = []settingItem{
	{"title", text(func(s *Settings) *string { return &s.Title })},
	{"site", text(func(s *Settings) *string { return &s.Site })},
	{"client", text(func(s *Settings) *string { return &s.Client })},
	{"prepared_by", text(func(s *Settings) *string { return &s.PreparedBy })},
	{"reviewed_by", text(func(s *Settings) *string { return &s.ReviewedBy })},
	{"report_number", text(func(s *Settings) *string { return &s.ReportNumber })},
	{"results_received", text(func(s *Settings) *string { return &s.ResultsReceived })},
	{"determined_on", text(func(s *Settings) *string { return &s.DeterminedOn })},
	{"timezone", text(func(s *Settings) *string { return &s.Timezone })},
	{"holidays", list(func(s *Settings) *[]string { return &s.Holidays })},
	{"authorities", list(func(s *Settings) *[]string { return &s.Limits.Authorities })},
	{"sector", oneOf(func(s *Settings) *limits.Sector { return &s.Limits.Sector },
		limits.General, limits.Construction, limits.Maritime)},
	{"shift_min", number(func(s *Settings) *float64 { return &s.ShiftMin }, 1, 2880)},
	{"unsampled", oneOf(func(s *Settings) *survey.Policy { return &s.Unsampled }, survey.PolicySame, survey.PolicyZero)},
	{"nondetect", oneOf(func(s *Settings) *NonDetect { return &s.NonDetect }, Half, Root, Zero, Full)},
	{"min_coverage_pct", number(func(s *Settings) *float64 { return &s.Coverage }, 0, 100)},
	{"drift_limit_pct", number(func(s *Settings) *float64 { return &s.Volume.DriftLimitPct }, 0, 100)},
	{"drift_policy", oneOf(func(s *Settings) *volume.DriftPolicy { return &s.Volume.DriftPolicy },
		volume.UseMean, volume.UseLower, volume.UseVoid)},
	{"target_tolerance_pct", number(func(s *Settings) *float64 { return &s.Volume.TargetTolerancePct }, 0, 100)},
	{"verify_tolerance_pct", number(func(s *Settings) *float64 { return &s.Volume.VerifyTolerancePct }, 0, 100)},
	{"blank_correction", oneOf(func(s *Settings) *BlankCorrection { return &s.Correction }, MeanBlank, NoBlank)},
	{"ppm_basis", oneOf(func(s *Settings) *limits.PPMBasis { return &s.Limits.PPMBasis }, limits.AtNTP, limits.AtSite)},
	{"molar_volume", number(func(s *Settings) *float64 { return &s.Limits.MolarVolume }, 20, 30)},
}

func text(field func(*Settings) *string) func(*Settings, string) string {
	return func(s *Settings, text string) string {
		*field(s) = text
		return ""
	}
}

func list(field func(*Settings) *[]string) func(*Settings, string) string {
	return func(s *Settings, text string) string {
		var all []string
		for part := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ',' || r == ';' }) {
			if part = strings.TrimSpace(part); part != "" {
				all = append(all, part)
			}
		}
		*field(s) = all
		return ""
	}
}

func oneOf[T ~string](field func(*Settings) *T, allowed ...T) func(*Settings, string) string {
	return func(s *Settings, text string) string {
		var words []string
		for _, a := range allowed {
			if strings.EqualFold(text, string(a)) {
				*field(s) = a
				return ""
			}
			words = append(words, string(a))
		}
		return "one of " + strings.Join(words, ", ")
	}
}

func number(field func(*Settings) *float64, low, high float64) func(*Settings, string) string {
	return func(s *Settings, text string) string {
		x, ok := survey.ParseNumber(text)
		if !ok || x < low || x > high {
			return fmt.Sprintf("a number from %g to %g", low, high)
		}
		*field(s) = x
		return ""
	}
}

// readSettings takes the settings from the survey table. One that cannot be
// read keeps its default, with a finding.
func (r *reduction) readSettings() Settings {
	s := DefaultSettings()
	for i := range r.survey.Items {
		item := &r.survey.Items[i]
		at := slices.IndexFunc(settingItems, func(x settingItem) bool { return x.name == item.Name })
		if at < 0 || item.Value == "" {
			continue // told of when the table was read, or left to the default
		}
		if expected := settingItems[at].set(&s, item.Value); expected != "" {
			r.findings.Add(finding.UnreadableSetting, item.Place("value"), []string{item.Name},
				finding.Values{"item": item.Name, "read": item.Value, "expected": expected})
		}
	}
	return s
}

// compareSettings tells of settings in which a further survey differs from the
// first: each is reduced by its own.
func (r *reduction) compareSettings(first Settings, from *survey.Survey) {
	if reflect.DeepEqual(r.settings.rules(), first.rules()) {
		return
	}
	r.findings.Add(finding.SettingsDiffer, finding.Place{File: r.survey.Path, Table: "survey"},
		[]string{r.survey.Path, from.Path}, finding.Values{"survey": r.survey.Path, "first": from.Path})
}

// rules returns the settings that change numbers or outcomes.
func (s Settings) rules() Settings {
	s.Limits.On = time.Time{} // the day of sampling is a fact, not a rule
	return Settings{Volume: s.Volume, Limits: s.Limits, ShiftMin: s.ShiftMin, Unsampled: s.Unsampled,
		NonDetect: s.NonDetect, Coverage: s.Coverage, Correction: s.Correction}
}

// checkAuthorities tells of authorities that the survey names and no list has.
func (r *reduction) checkAuthorities() {
	known := limits.Embedded().Authorities()
	for i := range r.survey.Limits {
		known = append(known, r.survey.Limits[i].Authority)
	}
	for i := range r.survey.Items {
		item := &r.survey.Items[i]
		if item.Name != "authorities" || item.Value == "" {
			continue
		}
		for _, authority := range r.settings.Limits.Authorities {
			if slices.ContainsFunc(known, func(k string) bool { return strings.EqualFold(k, authority) }) {
				continue
			}
			near := "known are " + strings.Join(limits.Embedded().Authorities(), ", ")
			if like := survey.Nearest(authority, known); like != "" {
				near = "the nearest is " + like
			}
			r.findings.Add(finding.UnknownAuthority, item.Place("value"), []string{authority},
				finding.Values{"authority": authority, "near": near})
		}
	}
}

// checkOwnAuthorities tells of authorities of the user's own limits that the
// survey does not name: their limits are compared, and come last.
func (r *reduction) checkOwnAuthorities() {
	told := map[string]bool{}
	for i := range r.survey.Limits {
		l := &r.survey.Limits[i]
		key := strings.ToLower(l.Authority)
		if told[key] || l.Authority == "" || r.rank(&l.Limit) != math.MaxInt {
			continue
		}
		told[key] = true
		r.findings.Add(finding.AuthorityUnlisted, l.Place("authority"), []string{l.Authority}, finding.Values{
			"authority": l.Authority, "listed": r.settings.Limits.Authorities})
	}
}
