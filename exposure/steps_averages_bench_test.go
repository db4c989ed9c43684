package exposure_test

import (
	"testing"

	"airtally/exposure"
	"airtally/exposure/survey"
)

// BenchmarkStepsOfAverages makes the steps of what rests on 20,000
// concentrations.
func BenchmarkStepsOfAverages(b *testing.B) {
	dir := b.TempDir()
	writeCampaign(b, dir, 2000)
	s, _, err := survey.Read(dir)
	if err != nil {
		b.Fatal(err)
	}
	made := 0
	for b.Loop() {
		b.StopTimer()
		results := reduceSurvey(b, s)
		b.StartTimer()
		made = countAverages(results)
	}
	b.ReportMetric(float64(made), "steps")
}

func countAverages(x *exposure.Results) (n int) {
	for _, t := range x.ExposureTerms() {
		n += len(t.Steps())
	}
	for i := range x.Exposures {
		n += len(x.Exposures[i].Steps())
	}
	for i := range x.Comparisons {
		n += len(x.Comparisons[i].Steps())
	}
	for i := range x.Mixtures {
		n += len(x.Mixtures[i].Steps())
	}
	return n
}
