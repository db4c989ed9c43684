package group_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"airtally/exposure/group"
	"airtally/stats"
)

// randomSets is how many random groups are judged. A million:
//
//	AIRTALLY_RANDOM_SETS=1000000 go test ./exposure/group -run TestRandomGroups -timeout 0
const randomSetsVariable = "AIRTALLY_RANDOM_SETS"

func randomSets(t *testing.T) int {
	written := os.Getenv(randomSetsVariable)
	if written == "" {
		if testing.Short() {
			return 500
		}
		return 20_000
	}
	n, err := strconv.Atoi(written)
	require.NoError(t, err, randomSetsVariable)
	return n
}

// randomGroup returns shifts of any size, spread, scale, ties and kinds of
// censoring, and a limit anywhere about them.
func randomGroup(random *rand.Rand) ([]group.Shift, float64, group.Options) {
	n := 2 + random.IntN(29)
	if random.IntN(8) > 0 {
		n = 2 + random.IntN(7)
	}
	scale := math.Pow(10, 24*random.Float64()-12)
	sigma := math.Pow(10, 3*random.Float64()-2) // GSD 1.01 to over 20,000
	ties, censored := random.IntN(3) == 0, random.Float64()*float64(random.IntN(5)/4)
	workers := 1 + random.IntN(n)
	shifts := make([]group.Shift, n)
	for i := range shifts {
		y := random.NormFloat64()
		if ties {
			y = math.Round(y)
		}
		shifts[i] = group.Shift{
			Worker:   fmt.Sprintf("W-%d", random.IntN(workers)),
			Date:     fmt.Sprintf("20%02d-%02d-11", 24+random.IntN(3), 1+random.IntN(12)),
			Exposure: stats.Exact(scale * math.Exp(sigma*y)),
			History:  random.IntN(9) == 0,
		}
		if random.Float64() < censored {
			shifts[i].Exposure = blurred(random, shifts[i].Exposure.High)
		}
	}
	limit := scale * math.Exp(sigma*(8*random.Float64()-4))
	if random.IntN(4) == 0 {
		limit = scale * math.Pow(10, 8*random.Float64()-4)
	}
	o := group.Options{KaplanMeier: true, OrderStatistics: true}
	if random.IntN(2) == 0 {
		o.Percentile, o.Confidence = 0.01+0.98*random.Float64(), 0.8+0.19*random.Float64()
	}
	return shifts, limit, o
}

// blurred returns an exposure known only between bounds.
func blurred(random *rand.Rand, v float64) stats.Interval {
	switch random.IntN(8) {
	case 0:
		return stats.AtLeast(v)
	case 1:
		return stats.Interval{Low: v, Value: v, High: v * (1 + random.Float64())}
	case 2:
		return stats.Interval{Low: 0, Value: v, High: math.Inf(1)}
	}
	return stats.Under(v, v/2)
}

// TestRandomGroups judges groups of every kind: no panic, no figure that is
// not a finite number, every limit on its side of the estimate.
func TestRandomGroups(t *testing.T) {
	sets := randomSets(t)
	var next, reported atomic.Int64
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for i := next.Add(1); i <= int64(sets); i = next.Add(1) {
				if fault := judgeRandom(uint64(i)); fault != "" && reported.Add(1) <= 10 {
					t.Errorf("set %d: %s", i, fault)
				}
			}
		})
	}
	workers.Wait()
}

// judgeRandom judges the random group of a seed and returns what is wrong with it.
func judgeRandom(seed uint64) (fault string) {
	random := rand.New(rand.NewPCG(seed, 689))
	shifts, limit, o := randomGroup(random)
	defer func() {
		if r := recover(); r != nil {
			fault = fmt.Sprintf("panic %v with %v against %g", r, shifts, limit)
		}
	}()
	s, err := group.Judge(shifts, limit, o)
	if err != nil {
		return err.Error()
	}
	for _, check := range []func(*group.Statistics) string{unordered, untold} {
		if fault := check(s); fault != "" {
			return fmt.Sprintf("%s with %v against %g", fault, shifts, limit)
		}
	}
	if at := notFinite(reflect.ValueOf(*s), "statistics"); at != "" {
		return fmt.Sprintf("%s is not finite with %v against %g", at, shifts, limit)
	}
	if seed%16 == 0 {
		return unlikeScaled(s, shifts, limit, o, math.Pow(10, 8*random.Float64()-4))
	}
	return ""
}

// notFinite returns the first number that is not finite; the steps of a
// distribution may end without bound.
func notFinite(v reflect.Value, path string) string {
	switch v.Kind() {
	case reflect.Float64:
		if math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0) {
			return path
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return notFinite(v.Elem(), path)
		}
	case reflect.Slice:
		for i := range v.Len() {
			if at := notFinite(v.Index(i), fmt.Sprintf("%s[%d]", path, i)); at != "" {
				return at
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			name := v.Type().Field(i).Name
			if name == "High" {
				continue
			}
			if at := notFinite(v.Field(i), path+"."+name); at != "" {
				return at
			}
		}
	}
	return ""
}

// slack is what a limit may be on the wrong side by, of rounding.
const slack = 1e-9

// estimates returns every estimate of a group that has limits, by name. The
// mean of the exact method is not among them: its unbiased estimate and Land's
// limits are not of one family, and from a GSD of about 15 with few values the
// lower limit at 80 % can come out over the estimate.
func estimates(s *group.Statistics) map[string]group.Estimate {
	out := map[string]group.Estimate{"gm": s.GM, "p95": s.P95, "exceed": s.Exceedance}
	if s.Confidence >= 0.8 {
		out["pq"] = s.Asked
	}
	if s.Method == group.MLE {
		out["am"] = s.AM
	}
	if s.Bayes != nil {
		out["bayes p95"], out["bayes exceed"] = s.Bayes.P95, s.Bayes.Exceedance
	}
	return out
}

func unordered(s *group.Statistics) string {
	for name, e := range estimates(s) {
		if e.Value.Known && (e.LCL.Known && e.LCL.Value > e.Value.Value*(1+slack) || e.UCL.Known && e.UCL.Value < e.Value.Value*(1-slack)) {
			return fmt.Sprintf("%s %v is not between its limits %v and %v", name, e.Value, e.LCL, e.UCL)
		}
	}
	return ""
}

// untold returns what is missing of what must always be said.
func untold(s *group.Statistics) string {
	switch {
	case s.Why == "":
		return "no reason"
	case s.Bayes == nil || !s.Bayes.P95.Value.Known || !s.Bayes.OverLimit.Known:
		return "no posterior"
	case s.Method == group.None && s.WhyNone == "":
		return "no reason for no estimates"
	case s.Method != group.None && !(s.GM.Value.Known && s.P95.Value.Known && s.Exceedance.Value.Known):
		return fmt.Sprintf("estimates missing, %+v", s)
	case s.Method != group.None && !(s.Exceedance.LCL.Known && s.Exceedance.UCL.Known && s.GM.LCL.Known && s.GM.UCL.Known):
		return fmt.Sprintf("limits missing, %v", s.Notes)
	}
	return ""
}

// unlikeScaled judges the same exposures and limit in another unit.
func unlikeScaled(s *group.Statistics, shifts []group.Shift, limit float64, o group.Options, factor float64) string {
	scaled := make([]group.Shift, len(shifts))
	for i, x := range shifts {
		x.Exposure = x.Exposure.Scale(factor)
		scaled[i] = x
	}
	r, err := group.Judge(scaled, limit*factor, o)
	if err != nil {
		return err.Error()
	}
	if r.Method != s.Method || r.DecidedBy != s.DecidedBy {
		return fmt.Sprintf("in another unit method %s, decided by %s; was %s, %s", r.Method, r.DecidedBy, s.Method, s.DecidedBy)
	}
	of, was := estimates(r), estimates(s)
	for name, e := range was {
		by := factor
		tolerance := func(float64) float64 { return 1e-9 }
		if name == "exceed" || name == "bayes exceed" {
			by = 1
			// A deviate z moves its tail by z² ≈ −2·ln tail times what it is itself moved by.
			tolerance = func(tail float64) float64 { return 1e-9 * (1 - math.Log(tail)) }
		}
		for side, pair := range map[string][2]stats.Optional{
			"estimate": {e.Value, of[name].Value}, "lower limit": {e.LCL, of[name].LCL}, "upper limit": {e.UCL, of[name].UCL},
		} {
			if pair[0].Known && pair[1].Known && math.Abs(pair[1].Value-pair[0].Value*by) > tolerance(pair[0].Value)*pair[0].Value*by+1e-300 {
				return fmt.Sprintf("%s of %s, method %s: %g in another unit, factor %g, was %g with %v", side, name, s.Method, pair[1].Value, by, pair[0].Value, shifts)
			}
		}
	}
	return ""
}
