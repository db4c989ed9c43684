package exposure_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"airtally/exposure"
	"airtally/exposure/survey"
)

func TestSeveralSurveys(t *testing.T) {
	first, found := readText(t, plain)
	second, foundToo := readText(t, plain, setting("nondetect", "full")+strings.ReplaceAll(lab("", "<48,ug,48"), "S1", "S9"), `
-- shifts --
shift,worker,start,end
E,W1,2026-03-03 07:00,2026-03-03 15:00
-- flows --
train,leg,stage,readings,device
T1,A,pre,2;2;2,M1
T1,A,post,2;2;2,M1
-- samples --
sample,kind,train,leg,medium,lot,worker,shift,start,stop
S9,personal,T1,A,FIL,L1,W1,E,2026-03-03 07:00,2026-03-03 15:00
B1,blank,,,FIL,L1,,,,
B2,blank,,,FIL,L1,,,,
`)
	results, err := exposure.Reduce(context.Background(), []*survey.Survey{first, second}, found, foundToo)
	if err != nil {
		t.Fatal(err)
	}
	r := reduced{results, t}
	for _, f := range []fact{
		{"exposure D Quillite twa8 value", 0.1},
		{"exposure E Quillite twa8 value", 0.05}, // R in full: 48/960, by the second survey's own setting
		{"finding settings-differ severity", "check"},
		{"finding shared-sample-id subject", has("B")},
		{"finding shared-sample-id count", 2}, // B1 and B2 are in both
	} {
		r.check(f)
	}
	if results.Settings.NonDetect != exposure.Half {
		t.Errorf("the settings shown are %q, want the first survey's", results.Settings.NonDetect)
	}
	for i := 1; i < len(results.Samples); i++ {
		if results.Samples[i-1].ID > results.Samples[i].ID {
			t.Errorf("samples are not sorted: %s before %s", results.Samples[i-1].ID, results.Samples[i].ID)
		}
	}
	r.showIfFailed()
}

func (r reduced) showIfFailed() {
	if r.t.Failed() {
		r.show()
	}
}

func TestReduceStopsWithItsContext(t *testing.T) {
	s, found := readText(t, plain)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if results, err := exposure.Reduce(ctx, []*survey.Survey{s}, found); !errors.Is(err, context.Canceled) || results != nil {
		t.Errorf("results %v, error %v; want none and that of the context", results, err)
	}
}
