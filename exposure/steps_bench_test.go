package exposure_test

import (
	"testing"

	"airtally/exposure"
	"airtally/exposure/survey"
)

// BenchmarkSteps makes the steps of a survey of 20,000 concentrations: what a
// live workbook of that size asks for.
func BenchmarkSteps(b *testing.B) {
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
		made = countSteps(results)
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
