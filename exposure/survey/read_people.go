package survey

import (
	"airtally/exposure/finding"
	"airtally/volume"
)

func bindDevices(r *reader) func(*Device) {
	id, kind := r.field("device"), r.field("kind")
	refT, refP := r.field("ref_temperature_c"), r.field("ref_pressure_kpa")
	temp, press := r.field("temperature_c"), r.field("pressure_kpa")
	accuracy, certified, interval := r.field("accuracy_pct"), r.field("certified"), r.field("interval_months")
	return func(d *Device) {
		*d = Device{
			Ref: r.ref(), ID: r.id(id), Kind: volume.DeviceKind(r.mustChoose(kind)),
			RefTemperature: r.number(refT), RefPressure: r.number(refP),
			Temperature: r.number(temp), Pressure: r.number(press),
			AccuracyPct: r.number(accuracy), Certified: r.moment(certified), IntervalMonths: r.number(interval),
		}
		if d.Kind == "" {
			d.Kind = volume.Volumetric
		}
	}
}

func bindMedia(r *reader) func(*Medium) {
	id, description, method, form := r.field("medium"), r.field("description"), r.field("method"), r.field("form")
	target, tolerance := r.field("target_flow_lpm"), r.field("tolerance_pct")
	least, most := r.field("volume_min_l"), r.field("volume_max_l")
	breakthrough, holding := r.field("breakthrough_pct"), r.field("holding_days")
	volumeFlow, nominal := r.field("volume_flow"), r.field("nominal_flow_lpm")
	sae, cv, area := r.field("sae"), r.field("cv"), r.field("filter_area_mm2")
	return func(m *Medium) {
		*m = Medium{
			Ref: r.ref(), ID: r.id(id), Description: r.text(description), Method: r.id(method), Form: r.form(form),
			TargetFlow: r.number(target), TolerancePct: r.number(tolerance),
			VolumeMin: r.number(least), VolumeMax: r.number(most),
			BreakthroughPct: r.number(breakthrough),
			NominalVolume:   r.choice(volumeFlow) == "nominal", NominalFlow: r.number(nominal),
			HoldingDays: r.number(holding), SAE: r.errorFraction(sae), CV: r.errorFraction(cv), FilterArea: r.number(area),
		}
	}
}

func bindWorkers(r *reader) func(*Worker) {
	id, group, job := r.field("worker"), r.field("group"), r.field("job")
	respirator, by, name := r.field("respirator"), r.field("represented_by"), r.field("name")
	return func(w *Worker) {
		*w = Worker{Ref: r.ref(), ID: r.id(id), Group: r.id(group), Job: r.text(job),
			Respirator: r.text(respirator), RepresentedBy: r.id(by), Name: r.text(name)}
	}
}

func bindShifts(r *reader) func(*Shift) {
	id, worker, start, end := r.field("shift"), r.field("worker"), r.field("start"), r.field("end")
	unsampled, note := r.field("unsampled"), r.field("note")
	return func(s *Shift) {
		*s = Shift{Ref: r.ref(), ID: r.id(id), Worker: r.id(worker), Start: r.moment(start), End: r.moment(end),
			Unsampled: Policy(r.choice(unsampled)), Note: r.text(note)}
	}
}

func bindGaps(r *reader) func(*Gap) {
	id, worker, start, end := r.field("shift"), r.field("worker"), r.field("start"), r.field("end")
	treat, reason := r.field("treat"), r.field("reason")
	return func(g *Gap) {
		*g = Gap{Ref: r.ref(), Shift: r.id(id), Worker: r.id(worker), Start: r.moment(start), End: r.moment(end), Reason: r.text(reason)}
		r.treat(treat, g)
	}
}

// treat reads what exposure a gap is given: zero, same, or a concentration
// with its unit.
func (r *reader) treat(f *field, g *Gap) {
	text := r.filled(f)
	switch simplify(text) {
	case "":
		r.stop(f, finding.MissingValue, finding.Values{"expected": f.Help})
		return
	case "zero", "none":
		g.Treat = PolicyZero
		return
	case "same", "assampled":
		g.Treat = PolicySame
		return
	}
	number, unitText := cutNumber(text)
	v, trouble := parseNumber(trimmed(number), f.style)
	unit, ok := airUnit(unitText)
	if trouble != readable || !ok || v < 0 {
		values := []string{"zero", "same", "a concentration such as 0.05 mg/m3"}
		r.stop(f, finding.UnknownChoice, finding.Values{"expected": values, "near": ""})
		return
	}
	g.Value, g.Unit = v, unit
}
