package stats

import (
	"fmt"
	"math"
)

// EN 689:2018, "Workplace exposure — Measurement of exposure by inhalation to
// chemical agents — Strategy for testing compliance with occupational exposure
// limit values". Its rules are from memory; the group test's equivalence to a
// 70 % upper limit of the 95th percentile is confirmed by a national glossary.

// en689Coefficients are U_T of n = 6 to 30 to the three decimals that the
// standard prints: from memory, each equal to the tolerance factor
// k(n, 0.95, 0.70) computed anew.
var en689Coefficients = [...]float64{
	6: 2.187, 2.120, 2.072, 2.035, 2.005, 1.981, 1.961, 1.944, 1.929, 1.917, 1.905, 1.895, 1.886,
	1.878, 1.870, 1.863, 1.857, 1.851, 1.846, 1.841, 1.836, 1.832, 1.828, 1.824, 1.820,
}

// EN689Coefficient returns the coefficient U_T for n results; missing outside
// the table, 6 to 30.
func EN689Coefficient(n int) Optional {
	if n < 6 || n >= len(en689Coefficients) {
		return Optional{}
	}
	return Some(en689Coefficients[n])
}

// EN689Stage is the test of EN 689 that the number of results allows.
type EN689Stage string

// The stages of EN 689.
const (
	EN689None        EN689Stage = "none"        // neither test applies
	EN689Preliminary EN689Stage = "preliminary" // 3 to 5 results against a fraction of the limit
	EN689Group       EN689Stage = "group"       // 6 results or more, by U_R and U_T
)

// EN689Outcome is the decision of a test of EN 689.
type EN689Outcome string

// The decisions of EN 689, in the words used for every comparison.
const (
	EN689Below     EN689Outcome = "below"     // compliance
	EN689Above     EN689Outcome = "above"     // non-compliance; of a group: compliance is not shown
	EN689Undecided EN689Outcome = "undecided" // more results are needed
)

// EN689Test is a test of compliance by EN 689.
type EN689Test struct {
	Rule    string
	Stage   EN689Stage
	N       int
	UR, UT  Optional // of the group test
	Outcome EN689Outcome
	Why     string
	Needed  Optional // results in all that would decide, if they resemble those there are
}

// en689Shares are the fractions of the limit that all of n results have to lie
// under in the preliminary test: clause 5.5.2, from memory.
var en689Shares = [...]float64{3: 0.1, 4: 0.15, 5: 0.2}

// PreliminaryEN689 applies the preliminary test of EN 689:2018, 5.5.2, to up to
// five results: compliance if all of three are under 10 % of limit, all of four
// under 15 %, or all of five under 20 %; non-compliance if any is over the
// limit; else no decision. A result at such a fraction is not under it. A
// result under a reporting limit is judged by that limit. It fails for a limit
// that is not positive, and for bounds that are no interval.
func PreliminaryEN689(results []Interval, limit float64) (EN689Test, error) {
	if err := checkEN689Limit(limit); err != nil {
		return EN689Test{}, err
	}
	n := len(results)
	t := EN689Test{Rule: "EN 689:2018, 5.5.2, preliminary test", Stage: EN689None, N: n, Outcome: EN689Undecided}
	over := 0
	for i, x := range results {
		if !(0 <= x.Low && x.Low <= x.High) {
			return EN689Test{}, fmt.Errorf("result %d: bounds %g to %g are not an interval from 0 up", i+1, x.Low, x.High)
		}
		if x.Low > limit {
			over++
		}
	}
	switch {
	case n > 5:
		t.Why = "6 results or more are judged by the group test"
	case over > 0:
		t.Stage, t.Outcome = EN689Preliminary, EN689Above
		t.Why = fmt.Sprintf("%d of %s over the limit", over, countedResults(n))
	case n < 3:
		t.Needed = Some(3)
		t.Why = fmt.Sprintf("%s, need 3 or more", countedResults(n))
	default:
		t.preliminary(results, limit)
	}
	return t, nil
}

func countedResults(n int) string {
	if n == 1 {
		return "1 result"
	}
	return fmt.Sprintf("%d results", n)
}

// preliminary judges three to five results, none of them over the limit.
func (t *EN689Test) preliminary(results []Interval, limit float64) {
	t.Stage = EN689Preliminary
	share := en689Shares[t.N]
	reached := 0
	for _, x := range results {
		if !en689Under(x, share*limit) {
			reached++
		}
	}
	if reached == 0 {
		t.Outcome = EN689Below
		t.Why = fmt.Sprintf("all %d results under %g %% of the limit", t.N, 100*share)
		return
	}
	t.Needed = Some(6)
	t.Why = fmt.Sprintf("%d of %d results not shown to be under %g %% of the limit; 6 results or more allow the group test",
		reached, t.N, 100*share)
}

// en689Under reports whether the whole interval is under the bound. Values
// within 1e-9 of it count as equal to it.
func en689Under(x Interval, bound float64) bool {
	if x.Open && x.High <= bound*(1+1e-9) {
		return true
	}
	return x.High < bound*(1-1e-9)
}

// GroupEN689 applies the group test of EN 689:2018, 5.5.3, to n results of a
// lognormal group with geometric mean gm and geometric standard deviation gsd:
//
//	U_R = (ln limit − ln gm)/ln gsd;  compliance if U_R ≥ U_T(n)
//
// that is, where the 70 % upper confidence limit of the 95th percentile does
// not exceed the limit. The factor is U_T for n, as EN689Coefficient or a
// computed tolerance factor gives it. It fails for fewer than six results, for
// a limit or gm that is not positive, and for a gsd under 1.
func GroupEN689(n int, gm, gsd, limit, factor float64) (EN689Test, error) {
	if err := checkEN689Limit(limit); err != nil {
		return EN689Test{}, err
	}
	switch {
	case n < 6:
		return EN689Test{}, fmt.Errorf("%w: %d results, need 6 or more for the group test", ErrTooFew, n)
	case !(gm > 0) || math.IsInf(gm, 1):
		return EN689Test{}, fmt.Errorf("geometric mean is %g, need a positive finite number", gm)
	case !(gsd >= 1) || math.IsInf(gsd, 1):
		return EN689Test{}, fmt.Errorf("geometric standard deviation is %g, need a finite number of 1 or more", gsd)
	case math.IsNaN(factor) || math.IsInf(factor, 0):
		return EN689Test{}, fmt.Errorf("coefficient is %g, need a finite number", factor)
	}
	t := EN689Test{Rule: "EN 689:2018, 5.5.3, group test", Stage: EN689Group, N: n, UT: Some(factor)}
	distance := math.Log(limit) - math.Log(gm)
	if gsd == 1 {
		// Without spread U_R is without bound; the side of the limit decides.
		t.decide(distance >= 0)
		t.Why = fmt.Sprintf("all %d results are equal; lognormal spread cannot be judged", n)
		return t, nil
	}
	ur := distance / math.Log(gsd)
	t.UR = Some(ur)
	t.decide(ur >= factor)
	t.Why = fmt.Sprintf("U_R %.3f against U_T %.3f for %d results", ur, factor, n)
	t.Needed = en689Needed(n, ur)
	return t, nil
}

func (t *EN689Test) decide(complies bool) {
	t.Outcome = EN689Above
	if complies {
		t.Outcome = EN689Below
	}
}

// en689Needed returns the smallest number of results over n at which U_R would
// reach the printed coefficient; missing where it does already, or where no
// number in the table is enough.
func en689Needed(n int, ur float64) Optional {
	if at := EN689Coefficient(n); !at.Known || ur >= at.Value {
		return Optional{}
	}
	for m := n + 1; m < len(en689Coefficients); m++ {
		if ur >= en689Coefficients[m] {
			return Some(float64(m))
		}
	}
	return Optional{}
}

func checkEN689Limit(limit float64) error {
	if !(limit > 0) || math.IsInf(limit, 1) {
		return fmt.Errorf("limit is %g, need a positive finite number", limit)
	}
	return nil
}
