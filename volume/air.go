package volume

import "math"

// equal is how close, relative to a threshold, a figure counts as at it. It
// keeps 1.9 against 2.0 L/min, a drift of exactly 5 %, from counting as over
// for the sake of its last bit.
const equal = 1e-9

// Over reports whether a figure in % is over a limit in %.
func Over(pct, limitPct float64) bool { return math.Abs(pct) > limitPct*(1+equal) }

// DriftPct returns how far the flow went from pre to post, in % of pre.
func DriftPct(pre, post LitresPerMinute) float64 {
	return 100 * float64(post-pre) / float64(pre)
}

// DeviationPct returns how far a flow is from its target, in % of the target.
func DeviationPct(flow, target LitresPerMinute) float64 {
	return 100 * float64(flow-target) / float64(target)
}

// Run is one medium on one leg for one period: the flow checks that belong to
// it, and the minutes run.
type Run struct {
	Pre     Check
	Post    *Check          // nil where there was none
	Nominal LitresPerMinute // 0, or the flow by which the method computes the volume
	Minutes Minutes
}

// Air is the volume that a run drew, with what it rests on.
type Air struct {
	Pre, Post LitresPerMinute // Post 0 where there was none
	Flow      LitresPerMinute // that makes Volume
	Low, High LitresPerMinute // bounds of Flow; they differ only where it drifted
	DriftPct  float64         // 0 where there was no post check
	Drifted   bool            // over the limit
	Void      bool            // drifted, and the policy is UseVoid
	Volume    Litres
	URel      float64 // relative standard uncertainty of Volume, k = 1
}

// VolumeLow returns the smallest volume the bounds of the flow allow.
func (a Air) VolumeLow(t Minutes) Litres { return a.Low.Over(t) }

// VolumeHigh returns the largest volume the bounds of the flow allow.
func (a Air) VolumeHigh(t Minutes) Litres { return a.High.Over(t) }

// Air returns the volume of a run:
//
//	V = Q·t,  Q = (Qpre + Qpost)/2
//
// Without a post check Q is the pre check's. A flow that drifted over the
// limit is treated as the policy says, and its bounds are the lower and the
// higher check. With a nominal flow (NIOSH 0600: the cut-point of a cyclone
// corrects itself) that flow makes the volume; the checks judge it, and one
// that drifted over the limit widens its bounds.
func (o Options) Air(r Run) Air {
	a := Air{Pre: r.Pre.Flow()}
	a.Flow = a.Pre
	if r.Post != nil {
		a.Post = r.Post.Flow()
		a.Flow = (a.Pre + a.Post) / 2
		a.DriftPct = DriftPct(a.Pre, a.Post)
		a.Drifted = Over(a.DriftPct, o.DriftLimitPct)
	}
	a.URel = uncertainty(r, a.Flow)
	a.Low, a.High = a.Flow, a.Flow
	if a.Drifted {
		a.Void = o.DriftPolicy == UseVoid
		a.Low, a.High = min(a.Pre, a.Post), max(a.Pre, a.Post)
		if o.DriftPolicy == UseLower {
			a.Flow = a.Low
		}
	}
	if r.Nominal > 0 {
		a.Flow = r.Nominal
		if !a.Drifted {
			a.Low, a.High = r.Nominal, r.Nominal
		}
		a.Low, a.High = min(a.Low, r.Nominal), max(a.High, r.Nominal)
	}
	a.Volume = a.Flow.Over(r.Minutes)
	return a
}

// uncertainty returns the relative standard uncertainty of the volume:
//
//	u² = Σ (s/√n)²/(4Q²) + (a/√3)² + ((Qpost − Qpre)/(2√3·Q))² + (1 min/(√6·t))²
//
// over readings, meter accuracy, drift (rectangular) and the clock at both
// ends (JCGM 100:2008, 4.3.7 and 5.1.2). With a pre check alone its readings
// count in full and the drift is not known.
func uncertainty(r Run, flow LitresPerMinute) float64 {
	q, t := float64(flow), float64(r.Minutes)
	accuracy := r.Pre.AccuracyPct
	readings := r.Pre.varianceOfMean() / (q * q)
	drift := 0.0
	if r.Post != nil {
		accuracy = max(accuracy, r.Post.AccuracyPct)
		readings = (r.Pre.varianceOfMean() + r.Post.varianceOfMean()) / (4 * q * q)
		drift = float64(r.Post.Flow()-r.Pre.Flow()) / (2 * math.Sqrt(3) * q)
	}
	meter := accuracy / 100 / math.Sqrt(3)
	clock := 1 / (math.Sqrt(6) * t)
	return math.Sqrt(readings + float64(meter*meter) + float64(drift*drift) + float64(clock*clock))
}

// ClosurePct returns how far the flow measured at the pump is from the sum of
// the legs, in % of the sum.
func ClosurePct(total LitresPerMinute, legs []LitresPerMinute) float64 {
	var sum LitresPerMinute
	for _, q := range legs {
		sum += q
	}
	return DeviationPct(total, sum)
}
