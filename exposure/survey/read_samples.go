package survey

import (
	"strings"
	"sync"

	"airtally/exposure/finding"
	"airtally/volume"
)

func bindSamples(r *reader) func(*Sample) {
	read := []func(*Sample){bindWhere(r), bindWhen(r), bindCustody(r)}
	id, kind, purpose := r.field("sample"), r.field("kind"), r.field("purpose")
	note, void := r.field("note"), r.field("void")
	return func(s *Sample) {
		*s = Sample{Ref: r.ref(), ID: r.id(id), Kind: Kind(r.choice(kind)), Purpose: Purpose(r.mustChoose(purpose)), Note: r.text(note)}
		if s.Purpose == "" {
			s.Purpose = ShiftSample
		}
		s.Void, s.VoidBecause = readVoid(r.filled(void))
		for _, part := range read {
			part(s)
		}
	}
}

// readVoid reads yes, no, or the reason why a sample is void.
func readVoid(text string) (void bool, because string) {
	if text == "" {
		return false, ""
	}
	if yes, ok := parseYes(text); ok {
		return yes, ""
	}
	return true, text
}

func bindWhere(r *reader) func(*Sample) {
	train, leg, medium, lot := r.field("train"), r.field("leg"), r.field("medium"), r.field("lot")
	worker, shift := r.field("worker"), r.field("shift")
	return func(s *Sample) {
		s.Train, s.Leg, s.Medium, s.Lot = r.id(train), r.id(leg), r.id(medium), r.id(lot)
		s.Worker, s.Shift = r.id(worker), r.id(shift)
	}
}

func bindWhen(r *reader) func(*Sample) {
	start, stop, pause, run := r.field("start"), r.field("stop"), r.field("pause_min"), r.field("run_min")
	return func(s *Sample) {
		s.Start, s.Stop = r.moment(start), r.moment(stop)
		s.Pause, s.Run = volume.Minutes(r.number(pause).Or(0)), r.number(run)
	}
}

func bindCustody(r *reader) func(*Sample) {
	target, temp, press := r.field("target_flow_lpm"), r.field("temperature_c"), r.field("pressure_kpa")
	vol, condition, blank := r.field("coc_volume_l"), r.field("coc_condition"), r.field("blank_type")
	return func(s *Sample) {
		s.TargetFlow, s.Temperature, s.Pressure = r.number(target), r.number(temp), r.number(press)
		s.CustodyVolume, s.CustodyCondition = r.number(vol), r.text(condition)
		s.MediaBlank = r.choice(blank) == "media"
	}
}

// legKey names one leg of one train.
type legKey struct{ train, leg string }

// legSamples returns the samples that each (train, leg) was used for; those of
// a whole train stand under its TOTAL. Few surveys need it, so it is made when
// first asked for.
func legSamples(samples []Sample) func() map[legKey][]string {
	return sync.OnceValue(func() map[legKey][]string {
		by := make(map[legKey][]string)
		for i := range samples {
			s := &samples[i]
			for _, leg := range []string{s.Leg, TotalLeg} {
				by[legKey{s.Train, leg}] = append(by[legKey{s.Train, leg}], s.ID)
			}
		}
		return by
	})
}

// bindFlows reads flow checks. What is found in one touches the samples of
// its leg.
func bindFlows(samples func() map[legKey][]string) func(*reader) func(*Flow) {
	return func(r *reader) func(*Flow) {
		train, leg, stage, device := r.field("train"), r.field("leg"), r.field("stage"), r.field("device")
		taken, step, action := r.field("taken_at"), r.field("step"), r.field("action")
		temp, press := r.field("temperature_c"), r.field("pressure_kpa")
		readings, unit, parseUnit := r.field("readings"), r.field("unit"), remembering(volume.ParseFlowUnit)
		r.touched = func() []string { return samples()[legKey{r.text(train), legName(r.text(leg))}] }
		return func(f *Flow) {
			*f = Flow{Ref: r.ref(), Train: r.id(train), Leg: legName(r.id(leg)), Device: r.id(device), TakenAt: r.moment(taken),
				Step: r.number(step), Action: Action(r.choice(action)), Temperature: r.number(temp), Pressure: r.number(press)}
			if r.choice(stage) == "post" {
				f.Stage = Post
			}
			f.Readings = r.readings(readings, unit, parseUnit)
		}
	}
}

// legName is the name of a leg; total is TOTAL in any case.
func legName(leg string) string {
	if strings.EqualFold(leg, TotalLeg) {
		return TotalLeg
	}
	return leg
}

// readings reads the flows of a check in L/min.
func (r *reader) readings(f, unit *field, parse func(string) (float64, bool)) []volume.LitresPerMinute {
	perUnit := 1.0
	if f.unit != "" || r.text(unit) != "" {
		var ok bool
		if perUnit, ok = rowUnit(r, unit, parse, "L/min or mL/min", f); !ok {
			return nil
		}
	}
	out := make([]volume.LitresPerMinute, 0, max(3, len(f.parts)))
	for _, one := range f.parts {
		out = r.listed(one, perUnit, out)
	}
	if len(out) == 0 && !r.left {
		r.miss(f, f.Help)
	}
	return out
}

// listed appends the readings of one cell, which may have ";" between them.
func (r *reader) listed(f *field, perUnit float64, out []volume.LitresPerMinute) []volume.LitresPerMinute {
	c := r.cell(f)
	if c == nil || r.filled(f) == "" {
		return out
	}
	if c.kind != textKind || !strings.Contains(c.text, ";") {
		v, _, ok := r.anyNumber(f)
		return r.reading(f, v, ok, perUnit, out)
	}
	for part := range strings.SplitSeq(c.text, ";") {
		if part = strings.TrimSpace(part); part != "" && !r.left {
			v, _, ok := r.writtenNumber(f, part)
			out = r.reading(f, v, ok, perUnit, out)
		}
	}
	return out
}

func (r *reader) reading(f *field, v float64, ok bool, perUnit float64, out []volume.LitresPerMinute) []volume.LitresPerMinute {
	if ok && v <= 0 {
		r.stop(f, finding.OutOfRange, finding.Values{"expected": f.Range.String()})
	}
	return append(out, volume.LitresPerMinute(v*perUnit))
}

// rowUnit returns the unit of a row's numbers: from its own cell, else from
// the headers of the numbers. Two that differ are refused.
func rowUnit[U comparable](r *reader, f *field, parse func(string) (U, bool), expected string, numbers ...*field) (u U, ok bool) {
	text := r.filled(f)
	if text != "" {
		if u, ok = parse(text); !ok {
			r.stop(f, finding.UnreadableUnit, finding.Values{"expected": expected})
			return u, false
		}
	}
	for _, n := range numbers {
		if n.unit == "" {
			continue
		}
		inHeader, known := parse(n.unit)
		if !known {
			r.stop(n, finding.UnreadableUnit, finding.Values{"read": n.unit, "expected": expected})
			return u, false
		}
		if ok && inHeader != u {
			r.stop(n, finding.UnitConflict, finding.Values{"read": n.unit, "expected": text})
			return u, false
		}
		u, ok = inHeader, true
	}
	if !ok {
		r.stop(f, finding.MissingValue, finding.Values{"expected": expected})
	}
	return u, ok
}
