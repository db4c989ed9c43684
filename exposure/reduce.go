package exposure

import (
	"cmp"
	"context"
	"iter"
	"slices"
	"sync"
	"time"

	"airtally/exposure/finding"
	"airtally/exposure/survey"
	"airtally/limits"
)

// reduction is one survey on its way to results.
type reduction struct {
	survey   *survey.Survey
	settings Settings
	findings *finding.List

	dates    limits.Dates // that follow-up periods count from
	calendar limits.Calendar

	media   map[string]*survey.Medium
	devices map[string]*survey.Device
	workers map[string]*survey.Worker

	samples     []Sample         // sorted by id
	sampleIndex map[string]int32 // place in samples
	nearSamples map[string]string

	substances   map[substanceKey]*Substance
	rowSubstance []*Substance // of each laboratory row
	nearMatches  map[*Substance]limits.Match
	compounds    map[*Substance][]compoundLimit
	derivations  map[string]*derivation
	derivedOrder []*derivation

	lab            *labIndex
	blanks         blankBook
	concentrations []Concentration // sorted by sample and substance
	start          []int32         // of each sample's concentrations, and the end
	explained      *explained
}

// Reduce works surveys out to results. Each is reduced by its own settings;
// the results are pooled. Reading holds the findings of reading the surveys.
// It fails only when ctx ends: whatever is wrong with the data is a finding.
func Reduce(ctx context.Context, surveys []*survey.Survey, reading ...*finding.List) (*Results, error) {
	results := &Results{Surveys: surveys, Settings: DefaultSettings()}
	all := &finding.List{}
	all.Merge(reading...)
	for i, s := range surveys {
		r := newReduction(s, all)
		if i == 0 {
			results.Settings = r.settings
		} else {
			r.compareSettings(results.Settings, surveys[0])
		}
		if err := r.into(ctx, results); err != nil {
			return nil, err
		}
	}
	if len(surveys) > 1 {
		results.sort(all)
	}
	gathered := results.gatherGroups(all)
	results.judged = sync.OnceValue(func() []Group { return judgeGroups(gathered) })
	results.Findings = all.Settled(results.about())
	survey.NameAsHeaded(results.Findings, surveys)
	return results, nil
}

func newReduction(s *survey.Survey, findings *finding.List) *reduction {
	r := &reduction{
		survey: s, findings: findings, explained: &explained{},
		media: map[string]*survey.Medium{}, devices: map[string]*survey.Device{}, workers: map[string]*survey.Worker{},
		sampleIndex: map[string]int32{}, nearSamples: map[string]string{},
		substances: map[substanceKey]*Substance{}, nearMatches: map[*Substance]limits.Match{}, compounds: map[*Substance][]compoundLimit{}, blanks: blankBook{},
	}
	r.settings = r.readSettings()
	r.readDates()
	for i := range s.Media {
		r.media[s.Media[i].ID] = &s.Media[i]
	}
	for i := range s.Devices {
		r.devices[s.Devices[i].ID] = &s.Devices[i]
	}
	for i := range s.Workers {
		r.workers[s.Workers[i].ID] = &s.Workers[i]
	}
	r.listSamples()
	r.settings.Limits.On = r.sampledOn()
	r.checkAuthorities()
	r.checkOwnAuthorities()
	return r
}

// sampledOn returns the day of the first sample, whose limits apply; zero where
// no sample has a date.
func (r *reduction) sampledOn() time.Time {
	var first time.Time
	for i := range r.samples {
		if start := r.samples[i].Start; start.Known && !start.Bare && (first.IsZero() || start.T.Before(first)) {
			first = start.T
		}
	}
	return first
}

// listSamples makes a Sample of every row, sorted by id.
func (r *reduction) listSamples() {
	r.samples = make([]Sample, len(r.survey.Samples))
	for i := range r.survey.Samples {
		row := &r.survey.Samples[i]
		s := Sample{
			Row: row, ID: row.ID, Kind: row.Kind, Worker: row.Worker, Shift: row.Shift,
			Train: row.Train, Leg: row.Leg, Medium: row.Medium, Start: row.Start, Stop: row.Stop, Void: row.Void,
			of: r,
		}
		if w := r.workers[row.Worker]; w != nil {
			s.Group = w.Group
		}
		if row.Medium != "" && r.media[row.Medium] == nil && len(r.media) > 0 {
			r.findings.Add(finding.UnknownMedium, row.Place("medium"), []string{row.ID, row.Medium},
				finding.Values{"sample": row.ID, "medium": row.Medium})
		}
		r.samples[i] = s
	}
	slices.SortFunc(r.samples, func(a, b Sample) int { return cmp.Compare(a.ID, b.ID) })
	for i := range r.samples {
		r.samples[i].number = int32(i)
		r.sampleIndex[r.samples[i].ID] = int32(i)
	}
}

// into works the survey out and adds it to the results.
func (r *reduction) into(ctx context.Context, results *Results) error {
	var turns []*turn
	var exposures []Exposure
	var comparisons []Comparison
	var mixtures []MixtureResult
	for _, step := range []func(){
		r.readDerived,
		r.prepare,
		r.laboratory,
		r.indexConcentrations,
		func() { turns = r.turns() },
		func() { exposures = r.exposuresOf(turns) },
		func() { comparisons = r.compareAll(exposures) },
		func() { mixtures = r.mixturesOf(comparisons) },
		func() { r.checkResults(exposures) },
	} {
		if err := ctx.Err(); err != nil {
			return err
		}
		step()
	}
	results.Samples = append(results.Samples, r.samples...)
	results.Concentrations = appendOrTake(results.Concentrations, r.concentrations)
	results.Exposures = appendOrTake(results.Exposures, exposures)
	results.Comparisons = appendOrTake(results.Comparisons, comparisons)
	results.Mixtures = append(results.Mixtures, mixtures...)
	results.reductions = append(results.reductions, r)
	return nil
}

// prepare works out the air of every sample while the laboratory's rows are
// sorted.
func (r *reduction) prepare() {
	wait := r.aside(func(r *reduction) {
		r.air()
		r.checkLots()
	})
	r.sortLab()
	r.derivedSubstances()
	r.matchLimits()
	r.rankSubstances()
	r.fillBlanks()
	wait()
}

func appendOrTake[T any](all, more []T) []T {
	if len(all) == 0 {
		return slices.Clip(more) // results to come are pooled elsewhere: results of this survey refer to these
	}
	return append(all, more...)
}

// indexConcentrations notes where each sample's concentrations start.
func (r *reduction) indexConcentrations() {
	r.start = make([]int32, len(r.samples)+1)
	for i := range r.concentrations {
		r.start[r.concentrations[i].Sample.number+1]++
	}
	for i := 1; i < len(r.start); i++ {
		r.start[i] += r.start[i-1]
	}
}

// of returns the concentrations of a sample.
func (r *reduction) of(s *Sample) iter.Seq[*Concentration] {
	return func(yield func(*Concentration) bool) {
		for k := r.start[s.number]; k < r.start[s.number+1]; k++ {
			if !yield(&r.concentrations[k]) {
				return
			}
		}
	}
}

// sampleRow returns the input row of a sample.
func (r *reduction) sampleRow(id string) *survey.Sample { return r.samples[r.sampleIndex[id]].Row }

// find returns the concentration of an analyte and form on a sample, or nil.
func (r *reduction) find(s *Sample, analyte, form string) *Concentration {
	for c := range r.of(s) {
		if c.Substance.Analyte == analyte && c.Substance.Form == form {
			return c
		}
	}
	return nil
}

// sort orders the pooled results of several surveys, and tells of sample ids
// that two of them share.
func (x *Results) sort(findings *finding.List) {
	slices.SortStableFunc(x.Samples, func(a, b Sample) int { return cmp.Compare(a.ID, b.ID) })
	for i := 1; i < len(x.Samples); i++ {
		if a, b := &x.Samples[i-1], &x.Samples[i]; a.ID == b.ID {
			findings.Add(finding.SharedSample, b.Row.Place("sample"), []string{b.ID},
				finding.Values{"sample": b.ID, "other": a.Row.Place("sample").String()})
		}
	}
	slices.SortStableFunc(x.Concentrations, func(a, b Concentration) int {
		return cmp.Or(cmp.Compare(a.Sample.ID, b.Sample.ID), compareSubstances(a.Substance, b.Substance))
	})
	slices.SortStableFunc(x.Exposures, compareExposures)
	slices.SortStableFunc(x.Comparisons, func(a, b Comparison) int {
		return cmp.Or(compareShifts(a.WorkerShift, b.WorkerShift), compareSubstances(a.Substance, b.Substance),
			cmp.Compare(a.Basis, b.Basis), cmp.Compare(a.Sample, b.Sample),
			cmp.Compare(a.Limit.Authority, b.Limit.Authority), cmp.Compare(a.Limit.Instrument, b.Limit.Instrument),
			cmp.Compare(a.Limit.Kind, b.Limit.Kind), cmp.Compare(a.Limit.As, b.Limit.As))
	})
	slices.SortStableFunc(x.Mixtures, compareMixtures)
}

func compareExposures(a, b Exposure) int {
	return cmp.Or(compareShifts(a.WorkerShift, b.WorkerShift), compareSubstances(a.Substance, b.Substance),
		cmp.Compare(a.Basis, b.Basis), cmp.Compare(a.Sample, b.Sample), a.Start.T.Compare(b.Start.T))
}
