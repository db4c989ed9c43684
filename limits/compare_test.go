package limits_test

import (
	"math"
	"strconv"
	"testing"

	"airtally/limits"
	"airtally/stats"
)

func trim(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

var unbounded = math.Inf(1)

func TestDecide(t *testing.T) {
	for name, c := range map[string]struct {
		fraction stats.Interval
		compare  limits.Comparator
		want     limits.Outcome
	}{
		"under":                           {stats.Exact(0.99), limits.Above, limits.Below},
		"over":                            {stats.Exact(1.01), limits.Above, limits.Exceeds},
		"at a limit":                      {stats.Exact(1), limits.Above, limits.Below},
		"at an action level":              {stats.Exact(1), limits.AtOrAbove, limits.Exceeds},
		"under an action level":           {stats.Exact(0.9999), limits.AtOrAbove, limits.Below},
		"0.1 + 0.2 against 0.3":           {stats.Exact((0.1 + 0.2) / 0.3), limits.Above, limits.Below},
		"a billionth over counts as at":   {stats.Exact(1 + 9e-10), limits.Above, limits.Below},
		"two billionths over do not":      {stats.Exact(1 + 2e-9), limits.Above, limits.Exceeds},
		"a billionth under reaches it":    {stats.Exact(1 - 9e-10), limits.AtOrAbove, limits.Exceeds},
		"two billionths under do not":     {stats.Exact(1 - 2e-9), limits.AtOrAbove, limits.Below},
		"non-detect at the limit":         {stats.Under(1, 0.5), limits.Above, limits.Below},
		"<2.5 against at or above 2.5":    {stats.Under(1, 0.5), limits.AtOrAbove, limits.Below},
		"up to 2.5 against at or above":   {stats.Interval{Low: 0, Value: 0.5, High: 1}, limits.AtOrAbove, limits.Undecided},
		"non-detect over the limit":       {stats.Under(1.2, 0.6), limits.Above, limits.Undecided},
		"lower bound under the limit":     {stats.AtLeast(0.4), limits.Above, limits.Undecided},
		"lower bound over the limit":      {stats.AtLeast(1.4), limits.Above, limits.Exceeds},
		"lower bound at the limit":        {stats.AtLeast(1), limits.Above, limits.Undecided},
		"lower bound at the action level": {stats.AtLeast(1), limits.AtOrAbove, limits.Exceeds},
		"no number":                       {stats.Exact(math.NaN()), limits.Above, limits.Undecided},
	} {
		if got := limits.Decide(c.fraction, c.compare); got != c.want {
			t.Errorf("%s: %s; want %s", name, got, c.want)
		}
	}
}

func TestShortTermMean(t *testing.T) {
	for name, c := range map[string]struct {
		c    stats.Interval
		t, T float64
		want stats.Interval
	}{
		"same time":             {stats.Exact(4), 15, 15, stats.Exact(4)},
		"13.5 of 15 minutes":    {stats.Exact(4), 13.5, 15, stats.Exact(4)},
		"16.5 of 15 minutes":    {stats.Under(4, 2), 16.5, 15, stats.Under(4, 2)},
		"13.4 of 15 minutes":    {stats.Exact(15), 13.4, 15, stats.Interval{Low: 13.4, Value: 13.4, High: unbounded}},
		"10 of 15 minutes":      {stats.Exact(3), 10, 15, stats.Interval{Low: 2, Value: 2, High: unbounded}},
		"30 of 15 minutes":      {stats.Exact(3), 30, 15, stats.Interval{Low: 3, Value: 3, High: 6}},
		"20 of 15 minutes":      {stats.Exact(3), 20, 15, stats.Interval{Low: 2, Value: 3, High: 4}},
		"480 of 15 minutes":     {stats.Exact(1), 480, 15, stats.Interval{Low: 1, Value: 1, High: 32}},
		"non-detect, 30 of 15":  {stats.Under(2, 1), 30, 15, stats.Interval{Low: 0, Value: 1, High: 4, Open: true}},
		"non-detect, 10 of 15":  {stats.Under(3, 1.5), 10, 15, stats.Interval{Low: 0, Value: 1, High: unbounded}},
		"breakthrough 30 of 15": {stats.AtLeast(2), 30, 15, stats.AtLeast(2)},
		"no averaging time":     {stats.Exact(2), 30, 0, stats.AtLeast(2)},
		"no minutes":            {stats.Exact(2), 0, 15, stats.Interval{High: unbounded}},
	} {
		got := limits.ShortTermMean(c.c, c.t, c.T)
		if !near(got.Low, c.want.Low) || !near(got.Value, c.want.Value) || !near(got.High, c.want.High) || got.Open != c.want.Open {
			t.Errorf("%s: %+v; want %+v", name, got, c.want)
		}
	}
}

// TestShortTermMeanBounds makes exposures minute by minute and finds their
// worst mean over 15 minutes by trying every one: it lies within the bounds.
func TestShortTermMeanBounds(t *testing.T) {
	const window = 15
	for minutes := 17; minutes <= 120; minutes++ {
		for start := 0; start < minutes; start += 7 {
			dose := make([]float64, minutes)
			sum := 0.0
			for i := range dose {
				dose[i] = 1 + 50*float64((i+start)*(i+3)%11)/float64(1+(i+start)%13)
				sum += dose[i]
			}
			worst := 0.0
			for i := 0; i+window <= minutes; i++ {
				w := 0.0
				for _, d := range dose[i : i+window] {
					w += d
				}
				worst = max(worst, w/window)
			}
			m := limits.ShortTermMean(stats.Exact(sum/float64(minutes)), float64(minutes), window)
			if worst < m.Low-1e-9 || worst > m.High+1e-9 {
				t.Fatalf("%d min from %d: worst %v outside %+v", minutes, start, worst, m)
			}
		}
	}
}

func near(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b))
}

func TestBand(t *testing.T) {
	b := limits.Band(stats.Under(0.9, 0.45), 0.2)
	if b.Low != -0.2 || !near(b.High, 1.1) || b.Value != 0.45 {
		t.Errorf("band of a non-detect: %+v", b)
	}
	if got := limits.Decide(b, limits.Above); got != limits.Undecided {
		t.Errorf("it is %s; a band never narrows the interval", got)
	}
	if got := limits.SAEFromCV(0.1); !near(got, 0.1645) {
		t.Errorf("SAE of a CV of 10 %%: %v; want 0.1645 (normal quantile at 95 %%)", got)
	}
}

func TestMixture(t *testing.T) {
	index := limits.MixtureIndex(stats.Exact(0.5), stats.Under(0.2, 0.1), stats.Exact(0.3))
	if index.Low != 0.8 || !near(index.Value, 0.9) || !near(index.High, 1) || !index.Open {
		t.Errorf("index %+v", index)
	}
	for name, c := range map[string]struct {
		index stats.Interval
		rst   float64
		want  limits.Outcome
	}{
		"upper end at one":          {index, 0, limits.Below},
		"error takes it over":       {index, 0.05, limits.Undecided},
		"missing component":         {stats.AtLeast(0.5), 0, limits.Undecided},
		"missing, already over":     {stats.AtLeast(1.5), 0.1, limits.Exceeds},
		"index minus error at one":  {stats.Exact(1.25), 0.25, limits.Undecided},
		"index plus error at one":   {stats.Exact(0.75), 0.25, limits.Below},
		"index minus error over it": {stats.Exact(1.25), 0.2, limits.Exceeds},
	} {
		if got := limits.DecideMixture(c.index, c.rst); got != c.want {
			t.Errorf("%s: %s; want %s", name, got, c.want)
		}
	}
	if got := limits.MixtureError([]limits.Term{{SAE: 0.1}, {SAE: 0.2}}); got != 0 {
		t.Errorf("error of an index of 0 is %v; want 0", got)
	}
}

// TestLoneErrorIsSAE: one sample's half-width is its own error times its
// fraction, which for a sample at the limit is the simple band.
func TestLoneErrorIsSAE(t *testing.T) {
	if got := limits.HalfWidth([]limits.Term{{SAE: 0.23, Weighted: 5}}, 5); !near(got, 0.23) {
		t.Errorf("half-width %v; want 0.23", got)
	}
}

// TestAcceptableCeiling is the example printed in 29 CFR 1910.1000(b)(3): 10,
// 25 and 50 ppm, and 10 minutes.
func TestAcceptableCeiling(t *testing.T) {
	a := limits.AcceptableCeiling{Ceiling: 25, Peak: 50, PeakMinutes: 10}
	for _, c := range []struct {
		concentration, minutes float64
		want                   bool
	}{{25, 480, true}, {40, 10, true}, {50, 10, true}, {40, 10.1, false}, {50.1, 1, false}} {
		if got := a.Allows(c.concentration, c.minutes); got != c.want {
			t.Errorf("%v ppm for %v min: %v", c.concentration, c.minutes, got)
		}
	}
	if (limits.AcceptableCeiling{Ceiling: 25}).Allows(26, 1) {
		t.Error("a ceiling without a peak was passed")
	}
}

func TestMaximumUseIsCapped(t *testing.T) {
	if got := limits.MaximumUse(1000, 5, stats.Some(1200)); got != 1200 {
		t.Errorf("maximum use %v; want the cap of 1200", got)
	}
}

// TestOverallError: |bias| + 1.96 CV, 29 CFR 1910.1027 Appendix E, 4.1.2.
func TestOverallError(t *testing.T) {
	if got := limits.OverallError(-0.01, 0.05); !near(got, 0.108) {
		t.Errorf("overall error %v; want 0.108", got)
	}
}

// TestMolarVolume: at 25 °C and 760 mmHg the volume is the one given, and
// elsewhere it goes with temperature and pressure as the table of NMAM 4th
// edition, Appendix A, does (20 °C: 24.46 there, 28.56 at 640 mmHg).
func TestMolarVolume(t *testing.T) {
	if got := limits.MolarVolume(25, 101.325, 24.45); !near(got, 24.45) {
		t.Errorf("at standard conditions %v; want 24.45", got)
	}
	const kPaPerMmHg = 101.325 / 760
	if got := limits.MolarVolume(20, 640*kPaPerMmHg, 24.46); math.Abs(got-28.56) > 0.01 {
		t.Errorf("at 20 °C and 640 mmHg %v; want 28.56", got)
	}
}

func TestFormulaFaults(t *testing.T) {
	for formula, want := range map[string]string{
		"":       `formula "": no element; expected element symbols with numbers, such as Fe2O3`,
		"Fe2O3)": `formula "Fe2O3)": cannot read ")"; expected element symbols with numbers, such as Fe2O3`,
		"Ni(CO":  `formula "Ni(CO": a ( is not closed; expected element symbols with numbers, such as Fe2O3`,
		"fe2o3":  `formula "fe2o3": cannot read "fe2o3"; expected element symbols with numbers, such as Fe2O3`,
		"O0":     `formula "O0": cannot read "O0"; expected element symbols with numbers, such as Fe2O3`,
		"O1000":  `formula "O1000": cannot read "O1000"; expected element symbols with numbers, such as Fe2O3`,
		"Fe²":    `formula "Fe²": cannot read "²"; expected element symbols with numbers, such as Fe2O3`,
	} {
		if _, err := limits.MolarMass(formula); err == nil || err.Error() != want {
			t.Errorf("%q: %v; want %s", formula, err, want)
		}
	}
	if _, err := limits.ElementFactor("Zn", "Fe2O3"); err == nil || err.Error() != "no Zn in Fe2O3: name an element of the compound" {
		t.Errorf("zinc in iron oxide: %v", err)
	}
	mass, err := limits.MolarMass("Ni(CO)4")
	if err != nil || math.Abs(mass-170.73) > 0.01 { // the library's weight of nickel carbonyl
		t.Errorf("Ni(CO)4 is %v, %v; want 170.73", mass, err)
	}
	if nested, err := limits.MolarMass("H2((O2)2)3"); err != nil || !near(nested, 2*1.008+12*15.999) {
		t.Errorf("nested groups give %v, %v", nested, err)
	}
}
