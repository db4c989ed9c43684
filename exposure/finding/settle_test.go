package finding_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"airtally/exposure/finding"
)

// about knows the samples S1, S2, ... of worker W in shift D, each on its leg.
func about(name string) finding.About {
	if !strings.HasPrefix(name, "S") {
		return finding.About{}
	}
	return finding.About{Sample: true, Shift: "D", Worker: "W", Leg: "T A" + name[1:]}
}

func flowAt(row int) finding.Place {
	return finding.Place{File: "f.csv", Table: "flows", Row: row, Column: "readings", Cell: fmt.Sprintf("F%d", row)}
}

func spread(l *finding.List, sample string, moved float64) {
	l.Add(finding.ReadingsSpread, flowAt(2), []string{sample, "T A"}, finding.Values{
		"leg": "T A", "stage": "pre", "cv": 40.0, "limit": 2.0, "moved": moved})
}

func drift(l *finding.List, sample string, pct float64) {
	l.Add(finding.Drift, flowAt(3), []string{sample, "T A"}, finding.Values{
		"leg": "T A", "pre": 2.0, "post": 1.0, "drift": pct, "limit": 5.0, "policy": "mean"})
}

// A finding that follows from another is told in it, with all its words, and
// only where it can follow: of the same sample, and no larger than the cause
// makes it.
func TestWhatFollowsIsToldInItsCause(t *testing.T) {
	for _, c := range []struct {
		name  string
		raise func(l *finding.List)
		codes []finding.Code
	}{
		{"of one sample", func(l *finding.List) { spread(l, "S1", 60); drift(l, "S1", -50) }, []finding.Code{finding.ReadingsSpread}},
		{"of another sample", func(l *finding.List) { spread(l, "S1", 60); drift(l, "S2", -50) }, []finding.Code{finding.Drift, finding.ReadingsSpread}},
		{"larger than one reading makes it", func(l *finding.List) { spread(l, "S1", 10); drift(l, "S1", -50) }, []finding.Code{finding.Drift, finding.ReadingsSpread}},
		{"without its cause", func(l *finding.List) { drift(l, "S1", -50) }, []finding.Code{finding.Drift}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := &finding.List{}
			c.raise(l)
			var codes []finding.Code
			said := ""
			for _, f := range l.Settled(about) {
				codes = append(codes, f.Code)
				said += f.Message + " | " + f.Subject + "\n"
			}
			if !slices.Equal(codes, c.codes) {
				t.Errorf("settled to %v, want %v", codes, c.codes)
			}
			for _, f := range l.Sorted() {
				if !strings.Contains(said, f.Message) || !strings.Contains(said, strings.Split(f.Subject, ", ")[0]) {
					t.Errorf("%q of %s is told nowhere", f.Message, f.Subject)
				}
			}
		})
	}
}

// A cause is as grave as the gravest that follows from it, and stands for the
// places of all.
func TestACauseIsAsGraveAsWhatFollows(t *testing.T) {
	l := &finding.List{}
	l.Add(finding.LooksBlank, finding.Place{Table: "samples", Row: 4, Cell: "B4"}, []string{"S4"}, finding.Values{"sample": "S4", "kind": "personal", "lot": "L"})
	l.Add(finding.NoRunTime, finding.Place{Table: "samples", Row: 4, Cell: "J4"}, []string{"S4"}, finding.Values{"sample": "S4"})
	settled := l.Settled(about)
	if len(settled) != 1 || settled[0].Severity != finding.Stop || len(settled[0].Also) != 1 || settled[0].Also[0].Cell != "J4" {
		t.Errorf("settled to %+v", settled)
	}
}

// Findings of one device are told together from two on, and all are named.
func TestOneCauseIsToldOnce(t *testing.T) {
	l := &finding.List{}
	for i, device := range []string{"M1", "M1", "M2"} {
		l.Add(finding.UnknownDevice, flowAt(2+i), []string{fmt.Sprintf("S%d", i+1), device}, finding.Values{
			"device": device, "stage": "pre", "leg": fmt.Sprintf("T%d A", i+1)})
	}
	settled := l.Settled(about)
	if len(settled) != 2 || settled[0].Subject != "S1, M1, S2" || !strings.Contains(settled[0].Message, "2 flow checks") ||
		!strings.Contains(settled[0].Message, "pre of leg T1 A; pre of leg T2 A") || !strings.HasPrefix(settled[1].Message, "pre check of leg T3 A") {
		t.Errorf("settled to %+v", settled)
	}
}

// A whole column of one kind is told once, and a few rows of it one by one. No
// row of it is lost: each is in the subject and among the places.
func TestAColumnIsToldOnce(t *testing.T) {
	for n, want := range map[int]int{11: 11, 12: 1, 40: 1} {
		l := &finding.List{}
		for i := range n {
			l.Add(finding.CustodyVolume, finding.Place{File: "s.csv", Table: "samples", Row: 2 + i, Column: "coc_volume_l", Cell: fmt.Sprintf("Q%d", 2+i)},
				[]string{fmt.Sprintf("S%d", i)}, finding.Values{"sample": fmt.Sprintf("S%d", i), "custody": 9.0, "volume": 8.0, "off": 12.5, "limit": 1.0})
		}
		settled := l.Settled(about)
		if len(settled) != want {
			t.Errorf("%d findings settled to %d, want %d", n, len(settled), want)
		}
		names, places := map[string]bool{}, 0
		for _, f := range settled {
			places += 1 + len(f.Also)
			for name := range strings.SplitSeq(f.Subject, ", ") {
				names[name] = true
			}
		}
		if len(names) != n || places != n {
			t.Errorf("of %d findings %d are named and %d places kept", n, len(names), places)
		}
	}
}
