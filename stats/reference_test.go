package stats

import (
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mathext"
)

// pairOf reads "ln5/0.1", a mean and a standard deviation of logs.
func pairOf(t *testing.T, text string) (mu, sigma float64) {
	t.Helper()
	first, second, _ := strings.Cut(text, "/")
	if of, ok := strings.CutPrefix(first, "ln"); ok {
		return math.Log(mustNumber(t, of)), mustNumber(t, second)
	}
	return mustNumber(t, first), mustNumber(t, second)
}

func TestLikelihoodWithoutMaximumReachesReferences(t *testing.T) {
	for _, c := range crosscheckCases(t, "likelihood without maximum") {
		s, err := NewCensoredSample(parsePoints(t, c.data))
		require.NoError(t, err)
		require.ErrorIs(t, s.Maximum(), ErrNoMaximum)
		for i, want := range numberList(t, c.expected) {
			mu, sigma := pairOf(t, strings.Fields(c.parameters)[i])
			got := s.at((mu-s.Shift)/sigma, 1/sigma).value
			require.InDelta(t, want, got, c.tolerance*math.Max(1, math.Abs(want)), "%s at %g, %g", c.id, mu, sigma)
		}
	}
}

// Cohen's λ for one reporting limit follows from the fit: with the mean and
// the variance of the detected values, divisor their number,
//
//	μ = ȳ − λ(ȳ − ln R),  γ = s²/(ȳ − ln R)²,  h = share under R
func TestCensoredFitReachesCohen(t *testing.T) {
	for _, c := range crosscheckCases(t, "cohen") {
		points, origin, unit := parsePoints(t, c.data), 0.0, 1.0
		if c.parameters == "values as they are" { // a normal of values is a lognormal of their exponentials
			origin, unit = 1700, 100
			for i, x := range points {
				points[i] = Interval{Low: math.Exp((x.Low - origin) / unit), High: math.Exp((x.High - origin) / unit)}
				if x.Low == 0 {
					points[i].Low = 0
				}
			}
		}
		f, err := FitCensored(points)
		require.NoError(t, err)
		var n, sum, squares, limit float64
		for _, x := range points {
			if x.Low == x.High {
				n, sum = n+1, sum+math.Log(x.High)
			} else {
				limit = math.Log(x.High)
			}
		}
		mean := sum / n
		for _, x := range points {
			if x.Low == x.High {
				squares += (math.Log(x.High) - mean) * (math.Log(x.High) - mean) / n
			}
		}
		over := mean - limit
		c.near(t, map[string]float64{
			"mu": origin + unit*f.Mu, "sigma": unit * f.Sigma, "lambda": (mean - f.Mu) / over,
			"gamma": squares / (over * over), "h": float64(f.NCensored) / float64(f.N),
			"xbar_d": origin + unit*mean, "s2_d_pop": unit * unit * squares,
		})
	}
}

// Balanced data with given sums of squares give what only these sums decide.
func TestWorkersBySumsOfSquares(t *testing.T) {
	for _, c := range crosscheckCases(t, "sums of squares") {
		p := named(t, c.parameters)
		k, n := int(p["k"]), int(p["n"])
		groups := make([][]float64, k)
		var between, within float64 // of places about the middle
		for i := range k {
			between += p["n"] * (float64(i) - (p["k"]-1)/2) * (float64(i) - (p["k"]-1)/2)
		}
		for j := range n {
			within += p["k"] * (float64(j) - (p["n"]-1)/2) * (float64(j) - (p["n"]-1)/2)
		}
		for i := range groups {
			for j := range n {
				groups[i] = append(groups[i], p["mu"]+math.Sqrt(p["SSb"]/between)*(float64(i)-(p["k"]-1)/2)+
					math.Sqrt(p["SSw"]/within)*(float64(j)-(p["n"]-1)/2))
			}
		}
		a, err := OneWay(groups)
		require.NoError(t, err)
		v, err := workerVarianceOfLogs(groups)
		require.NoError(t, err)
		c.near(t, map[string]float64{
			"MSb": a.MSBetween.Value, "MSw": a.MSWithin.Value, "F": a.F.Value, "p": a.P.Value,
			"sb2": a.VarBetween.Value, "sw2": a.VarWithin.Value, "ICC": v.Share().Value,
			"sb2_REML": v.VarBetween, "sw2_REML": v.VarWithin, "REMLcrit": v.Criterion.Value,
		})
	}
}

func TestShapiroWilkOfManyQuantiles(t *testing.T) {
	for _, c := range crosscheckCases(t, "shapiro-wilk of quantiles") {
		n := int(named(t, c.parameters)["n"])
		logs := make([]float64, n)
		for i := range logs {
			z := mathext.NormalQuantile((float64(i) + 0.5) / float64(n))
			logs[i] = math.Log(math.Round(1e6*math.Exp(z)) / 1e6)
		}
		w, p, err := ShapiroWilk(logs)
		require.NoError(t, err)
		c.near(t, map[string]float64{"W": w, "p": p})
	}
}

func TestGrubbsReachesReferences(t *testing.T) {
	for _, c := range crosscheckCases(t, "grubbs") {
		values := numberList(t, c.data)
		_, g, _, err := GrubbsOutlier(values)
		require.NoError(t, err)
		c.near(t, map[string]float64{"G": g, "p_of_2.12664508720": grubbsP(float64(len(values)), 2.12664508720)})
	}
}

// crosscheckTopics are those that a test runs.
var crosscheckTopics = []string{
	"kaplan-meier", "kaplan-meier fractions", "order statistics", "plotting positions", "workers ml",
	"likelihood without maximum", "cohen", "sums of squares", "shapiro-wilk of quantiles", "grubbs",
}

// readReference reads a table of reference cases as rows of cells.
func readReference(t *testing.T, name string) [][]string {
	t.Helper()
	file, err := os.Open("../testdata/reference/" + name)
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

// Every case of the list from which the tables were made stands in one of
// them, or is left out with its reason.
func TestNoReferenceCaseIsLost(t *testing.T) {
	tables := map[string]string{}
	for _, name := range []string{"stats_exact_cases.csv", "stats_censored_cases.csv", "stats_groups_cases.csv",
		"stats_posterior_cases.csv", "stats_crosscheck_cases.csv", "left_out.csv"} {
		for _, row := range readReference(t, name) {
			if earlier := tables[row[0]]; earlier != "" && earlier != name {
				t.Errorf("%s stands in %s and in %s", row[0], earlier, name)
			}
			tables[row[0]] = name
			if name == "left_out.csv" && row[1] == "" {
				t.Errorf("%s is left out without a reason", row[0])
			}
		}
	}
	ids := readReference(t, "stats_ids.csv")
	require.Len(t, ids, 280)
	for _, row := range ids {
		if tables[row[0]] == "" {
			t.Errorf("%s is neither tested nor left out", row[0])
		}
	}
	for _, row := range readReference(t, "stats_crosscheck_cases.csv") {
		if !slices.Contains(crosscheckTopics, row[1]) || row[6] == "" || row[7] == "" {
			t.Errorf("%s: topic %q is run by no test, or source or status is missing", row[0], row[1])
		}
	}
}
