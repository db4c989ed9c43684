package exposure_test

import (
	"context"
	"testing"
	"time"

	"airtally/exposure"
	"airtally/exposure/survey"
	"airtally/volume"
)

func reduceSurvey(t failer, s *survey.Survey) *exposure.Results {
	t.Helper()
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{s})
	if err != nil {
		t.Fatalf("%v", err)
	}
	return results
}

// Every number of the demo comes out of the cells of the survey by its own
// steps.
func TestStepsOfTheDemoGiveItsNumbers(t *testing.T) {
	s, _, err := survey.Read("../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	l := ledgerOf(reduceSurvey(t, s))
	l.check(t)
	t.Logf("%d steps", len(l.order))
}

// Results of several surveys are pooled, and each still refers to what was
// reduced with it.
func TestStepsOfPooledSurveysGiveTheirNumbers(t *testing.T) {
	demo, _, err := survey.Read("../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{demo, intricate(t, 3)})
	if err != nil {
		t.Fatal(err)
	}
	ledgerOf(results).check(t)
}

// One cell of the plain survey is edited: 96 µg in 2 L/min × 480 min, blanks
// under 1 µg. Wanted are the figures that the rules give by hand.
func TestEditedCellsByHand(t *testing.T) {
	flow := func(s *survey.Survey, to float64) {
		for i := range s.Flows[1].Readings {
			s.Flows[1].Readings[i] = volume.LitresPerMinute(to)
		}
	}
	const sample, dust = "sample S1", "concentration S1 Quillite/total"
	for _, c := range []struct {
		name string
		edit func(s *survey.Survey)
		want map[name]any
	}{
		{"a flow after that drifted by 10 %", func(s *survey.Survey) { flow(s, 1.8) }, map[name]any{
			{sample, "drift_pct"}: -10.0, {sample, "volume_l"}: 1.9 * 480, {sample, "volume_low_l"}: 1.8 * 480, {sample, "volume_high_l"}: 2.0 * 480,
			{dust, "low_mgm3"}: 96 / 960.0, {dust, "value_mgm3"}: 96 / 912.0, {dust, "high_mgm3"}: 96 / 864.0}},
		{"a flow after that drifted by exactly the limit of 5 %", func(s *survey.Survey) { flow(s, 1.9) }, map[name]any{
			{sample, "drifted"}: 0.0, {sample, "volume_low_l"}: 1.95 * 480, {sample, "volume_high_l"}: 1.95 * 480}},
		{"a stop an hour earlier", func(s *survey.Survey) { s.Samples[0].Stop.T = s.Samples[0].Stop.T.Add(-time.Hour) }, map[name]any{
			{sample, "minutes"}: 420.0, {dust, "value_mgm3"}: 96 / 840.0}},
		{"a start before the flow check", func(s *survey.Survey) { s.Samples[0].Start.T = s.Samples[0].Start.T.Add(-time.Hour) }, map[name]any{
			{sample, "follows"}: 0.0, {sample, "volume_l"}: exposure.Stale, {dust, "value_mgm3"}: exposure.Stale}},
		{"a stop before the start", func(s *survey.Survey) { s.Samples[0].Stop.T = s.Samples[0].Stop.T.Add(-9 * time.Hour) }, map[name]any{
			{sample, "minutes"}: exposure.Stale, {dust, "high_mgm3"}: exposure.Stale}},
		{"a reporting limit over the result", func(s *survey.Survey) { s.Lab[0].ReportingLimit.Value = 100 }, map[name]any{
			{dust, "low_mgm3"}: 0.0, {dust, "value_mgm3"}: 50 / 960.0, {dust, "high_mgm3"}: 100 / 960.0, {dust, "open"}: 1.0}},
		{"a blank of 4 µg", func(s *survey.Survey) { s.Lab[1].Kind, s.Lab[1].Value = survey.Number, 4 }, map[name]any{
			{dust, "blank_ug"}: 2.0, {dust, "mass_ug"}: 94.0, {dust, "mass_uncorrected_ug"}: 96.0}},
		{"a blank that leaves less than the limit", func(s *survey.Survey) { s.Lab[1].Kind, s.Lab[1].Value = survey.Number, 191 }, map[name]any{
			{dust, "blank_ug"}: 95.5, {dust, "mass_low_ug"}: 0.0, {dust, "mass_ug"}: 0.5, {dust, "mass_high_ug"}: 1.0}},
		{"a result that is nothing", func(s *survey.Survey) { s.Lab[0].Value = 0 }, map[name]any{
			{dust, "mass_ug"}: 0.5, {dust, "mass_high_ug"}: 1.0, {dust, "open"}: 1.0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, _ := readText(t, plain)
			l := ledgerOf(reduceSurvey(t, s))
			c.edit(s)
			l.workOut()
			for n, want := range c.want {
				got := l.known[n]
				if number, ok := want.(float64); ok && (got.IsText || !near(got.Number, number, 1e-12)) || !ok && got.Text != want {
					t.Errorf("%s is %s, want %v", n, sayAnswer(got), want)
				}
			}
		})
	}
}
