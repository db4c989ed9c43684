package finding

import (
	"fmt"
	"slices"
	"strings"
)

// gathering says which findings of one code are told together: those that
// agree in the values named, from a number on.
type gathering struct {
	by   []string
	from int
	said string // with {n}, {each} and the values named
	each string // what is said of each
}

// gatherings are the codes of which one cause can touch many rows: a device, a
// medium, a worker, a lot.
var gatherings = map[Code]gathering{
	DeviceOutOfDate: {[]string{"device", "certified", "due"}, 2,
		"device {device}, certified {certified} and due {due}, was used out of date for {n} flow checks: {each}",
		"{stage} of leg {leg} on {used}"},
	UnknownDevice: {[]string{"device"}, 2,
		"{n} flow checks were read on {device}, which is not in devices; it is taken as reading actual flow: {each}",
		"{stage} of leg {leg}"},
	PumpReadout: {[]string{"device"}, 2,
		"{n} flow checks were read on the pump's own rotameter {device}, which serves for setting only: {each}",
		"{stage} of leg {leg}"},
	UnknownMedium: {[]string{"medium"}, 2,
		"{n} samples are on medium {medium}, which is not in media; form total and no method data are used: {each}",
		"{sample}"},
	UnknownWorker: {[]string{"worker"}, 2,
		"{n} samples are on worker {worker}, who is not in workers; the group is not known: {each}",
		"{sample}"},
	UnknownShift: {[]string{"shift", "worker", "name"}, 2,
		"{n} samples name shift {shift} of worker {worker}, which is not in shifts; by their times they are in {name}, as long as the samples or shift_min: {each}",
		"{sample}"},
	OffTarget: {[]string{"leg", "target", "limit"}, 2,
		"{n} checks of leg {leg} are off the target of {target} L/min by more than the tolerance of {limit} %: {each}",
		"{stage} {flow} L/min, {off} %"},
	FlowUnit: {[]string{"so"}, 4,
		"{n} flow checks look like another unit{so}: {each}",
		"{flow} L/min in the {stage} check of leg {leg}, {ratio} times what is expected"},
	FewReadings: {[]string{"n", "wanted"}, 4,
		"{n} flow checks have fewer than {wanted} readings: {each}",
		"{stage} of leg {leg}"},
	BlankLarge: {[]string{"lot", "limit"}, 2,
		"on {n} results of lot {lot} the blank is over {limit} %, and the result hangs on it: {each}",
		"{analyte} on sample {sample}, {blank} of {mass} {unit}, {share} %"},
	BlankHigh: {[]string{"sample", "limit"}, 2,
		"field blank {sample} holds {n} analytes at over {limit} times their reporting limit; it may be a sample, or the lot is not clean: {each}",
		"{analyte} {amount} {unit}, {ratio} times"},
	PartMissing: {[]string{"derived", "missing"}, 2,
		"{derived} lacks {missing} on {n} samples: the sum of the rest is a lower bound: {each}",
		"{sample}"},
	MixtureIncomplete: {[]string{"mixture"}, 2,
		"{n} indices of mixture {mixture} have no upper bound: {each}",
		"{missing} has no result or no {authority} {kind} limit on {n} sample(s)"},
	Worst8Differs: {[]string{"worker", "shift"}, 2,
		"worker {worker}, shift {shift}: the dose over 8 hours and the worst 8 hours come to different outcomes against {n} limits: {each}",
		"{analyte}, {authority} {kind}: {twa8} and {worst8}"},
	OutOfProfile: {[]string{"sample"}, 2,
		"{n} results of sample {sample} leave the proportions of like samples: {each}",
		"{analyte} is {ratio} times what its other results and those of {others} lead one to expect, {limit} being the limit either way"},
	ReportingLimitHigh: {[]string{"sample", "limit"}, 2,
		"{n} reporting limits of sample {sample} are in air over the {limit} % of a limit that is wanted: {each}",
		"{analyte} {inair} {unit}, {share} % of the {authority} {kind} limit"},
	OffsetMissing: {[]string{"of"}, 2,
		"{n} times of {of} have no offset from UTC, other times of the survey have one, and no timezone is stated; they are taken as UTC: {each}",
		"{column} {read}"},
	CASDiffers: {[]string{"analyte", "usual"}, 2,
		"{analyte} has another CAS number than the usual {usual} in places: {each}",
		"{read} in {n} row(s)"},
}

// columnWide is from how many on the checks of one code on one column are told
// together, and how many of them in full: that many come of one cause, such as a
// column moved by a row. Common practice, no source.
const columnWide = 12

// gather tells findings of one cause together.
func gather(all []*told) []*told {
	byCause := bundle(all, func(t *told) (string, int) {
		g, known := gatherings[t.Code]
		if !known || t.values == nil {
			return "", 0
		}
		key := []any{t.Code, t.Severity}
		for _, name := range g.by {
			key = append(key, t.values[name])
		}
		return fmt.Sprintln(key...), g.from
	}, sayGathered)
	return bundle(byCause, func(t *told) (string, int) {
		if t.Severity != Check || t.Column == "" {
			return "", 0
		}
		return fmt.Sprintln(t.Code, t.File, t.Table, t.Column), columnWide
	}, func(alike []*told) string { return sayAlike(alike, columnWide) })
}

// bundle makes one of the findings that share a key, where there are at least
// as many as wanted. It stands at the place of the first.
func bundle(all []*told, key func(*told) (string, int), say func([]*told) string) []*told {
	alike := map[string][]*told{}
	for _, t := range all {
		if k, from := key(t); from > 0 {
			alike[k] = append(alike[k], t)
		}
	}
	return slices.DeleteFunc(all, func(t *told) bool {
		k, from := key(t)
		if from == 0 || len(alike[k]) < from {
			return false
		}
		first := alike[k][0]
		if t == first {
			first.take(alike[k], say(alike[k]))
		}
		return t != first
	})
}

// take makes a finding stand for others like it.
func (t *told) take(alike []*told, message string) {
	subject := t.names()
	for _, o := range alike[1:] {
		t.Also = append(append(t.Also, o.Place), o.Also...)
		subject = append(subject, o.names()...)
		t.follows = append(t.follows, o.follows...)
	}
	t.Message, t.Subject = message, join(subject)
}

func sayGathered(alike []*told) string {
	g := gatherings[alike[0].Code]
	var each []string
	for _, t := range alike {
		each = append(each, fill(g.each, t.values))
	}
	values := Values{"n": len(alike), "each": strings.Join(each, "; ")}
	for _, name := range g.by {
		values[name] = alike[0].values[name]
	}
	return fill(g.said, values)
}
