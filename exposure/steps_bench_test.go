package exposure_test

import (
	"testing"

	"airtally/exposure"
	"airtally/exposure/survey"
)

// The steps of a survey of 20,000 concentrations: what a live workbook of that
// size asks for.
func BenchmarkSteps(b *testing.B) { benchmarkSteps(b, countSteps) }

// The same of the averages that rest on them.
func BenchmarkStepsOfAverages(b *testing.B) { benchmarkSteps(b, countAverages) }

func benchmarkSteps(b *testing.B, count func(*exposure.Results) int) {
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
		made = count(results)
	}
	b.ReportMetric(float64(made), "steps")
}

func countSteps(x *exposure.Results) (n int) {
	for _, s := range x.Surveys {
		for i := range s.Flows {
			n += len(x.FlowSteps(&s.Flows[i]))
		}
		for i := range s.Lab {
			n += len(x.RowSteps(&s.Lab[i]))
		}
	}
	for _, m := range x.BlankMeans() {
		n += len(m.Steps())
	}
	for i := range x.Samples {
		n += len(x.Samples[i].Steps())
	}
	for i := range x.Concentrations {
		n += len(x.Concentrations[i].Steps())
	}
	return n
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
