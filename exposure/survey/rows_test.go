package survey

import (
	"math"
	"testing"

	"airtally/limits"
	"airtally/stats"
	"airtally/volume"
)

func TestLimitRows(t *testing.T) {
	s, got := readFolder(t, with("limits.csv", "analyte,authority,kind,value,unit,averaging_min,sae,Form,source\n"+
		"Iron,House,twa-8,0.5,mg/m³,,0.2,Respirable,page 3\n"+
		"Iron,House,stel15,2,mg/m3,,,,\n"+
		"Iron,House,Ceiling,3,ppm,5,,,\n"+
		"Iron,House,action,50,ug/m3,,,,\n"+
		"Iron,House,TWA10,50,ug/m3,,,,\n"+
		"Iron,House,TWA9,50,ug/m3,,,,\n"+
		"Iron,House,TWA8,0,ug/m3,,,,\n"+
		"Iron,House,TWA8,5,ug,,,,\n"))
	wantLines(t, got, []string{
		`stop out-of-range limits.csv:limits!D8 [Iron, House] value "0" cannot be; expected a number over 0; the row is left out`,
		`stop unknown-choice limits.csv:limits!C7 [Iron, House] kind "TWA9" is not one of TWA8, TWA10, STEL, CEILING, PEAK, ACTION; the nearest known one is TWA8; the row is left out`,
		`stop unreadable-unit limits.csv:limits!E9 [Iron, House] unit "ug" is not a known unit; expected a concentration such as mg/m3, ug/m3, ppm or f/cc; the row is left out`,
	})
	want := []limits.Limit{
		{Kind: limits.TWA8, Value: 0.5, Unit: limits.Unit{Name: "mg/m3", Dim: limits.Mass, ToBase: 1}, AveragingMin: 480, SAE: stats.Some(0.2), Form: "respirable", Source: "page 3"},
		{Kind: limits.STEL, Value: 2, Unit: limits.Unit{Name: "mg/m3", Dim: limits.Mass, ToBase: 1}, AveragingMin: 15, Form: "total", Source: "user's own"},
		{Kind: limits.Ceiling, Value: 3, Unit: limits.Unit{Name: "ppm", Dim: limits.Molar, ToBase: 1}, AveragingMin: 5, Form: "total", Source: "user's own"},
		{Kind: limits.Action, Value: 50, Unit: limits.Unit{Name: "ug/m3", Dim: limits.Mass, ToBase: 1e-3}, AveragingMin: 480, Form: "total", Source: "user's own", Comparator: limits.AtOrAbove},
		{Kind: limits.TWA10, Value: 50, Unit: limits.Unit{Name: "ug/m3", Dim: limits.Mass, ToBase: 1e-3}, AveragingMin: 600, Form: "total", Source: "user's own"},
	}
	if len(s.Limits) != len(want) {
		t.Fatalf("%d limits, want %d", len(s.Limits), len(want))
	}
	for i, w := range want {
		w.Analyte, w.Authority, w.User = "Iron", "House", true
		got := s.Limits[i].Limit
		if got.Kind != w.Kind || got.Value != w.Value || got.Unit != w.Unit || got.AveragingMin != w.AveragingMin || got.SAE != w.SAE ||
			got.Form != w.Form || got.Source != w.Source || got.Comparator != w.Comparator || got.Analyte != w.Analyte || !got.User {
			t.Errorf("row %d: %+v, want %+v", s.Limits[i].Row, got, w)
		}
	}
}

func TestHistoryRows(t *testing.T) {
	s, got := readFolder(t, with("history.csv", "group,analyte,date,worker,value,low,high,unit\n"+
		"G,Iron,2025-03-02,W-1,0.4,,,mg/m3\n"+
		"G,Iron,2025-03-02,W-2,<0.1,,,mg/m3\n"+
		"G,Iron,2025-03-02,W-3,>2,,,mg/m3\n"+
		"G,Iron,2025-03-02,W-4,,0.1,0.3,mg/m3\n"+
		"G,Iron,2025-03-02,W-5,,,0.3,mg/m3\n"+
		"G,Iron,2025-03-02,W-6,,0.1,,mg/m3\n"+
		"G,Iron,2025-03-02,W-7,,,,mg/m3\n"+
		"G,Iron,2025-03-02,W-8,,0.4,0.3,mg/m3\n"+
		"G,Iron,2025-03-02,W-9,ND,,,mg/m3\n"))
	wantLines(t, got, []string{
		`stop missing-value history.csv:history!F8 [G, Iron, W-7] value is empty; expected value, or low and high; the row is left out`,
		`stop out-of-range history.csv:history!G9 [G, Iron, W-8] high "0.3" cannot be; expected low or more; the row is left out`,
		`stop unreadable-result history.csv:history!E10 [G, Iron, W-9] value "ND" is not a result; expected a number, a number after < or >, or ND; the row is left out`,
	})
	want := []stats.Interval{
		{Low: 0.4, Value: 0.4, High: 0.4}, {Value: 0.05, High: 0.1, Open: true}, {Low: 2, Value: 2, High: math.Inf(1)},
		{Low: 0.1, Value: 0.2, High: 0.3}, {Value: 0.15, High: 0.3, Open: true}, {Low: 0.1, Value: 0.1, High: math.Inf(1)},
	}
	if len(s.History) != len(want) {
		t.Fatalf("%d rows, want %d", len(s.History), len(want))
	}
	for i, w := range want {
		if got := s.History[i].Value; got != w {
			t.Errorf("%s: %+v, want %+v", s.History[i].Worker, got, w)
		}
	}
}

func TestItemValues(t *testing.T) {
	s, got := readFolder(t, with("survey.csv", "Item;Value\nMolar volume;24,45\ndrift policy;Lower\nresults_received;2026-03-12\nmin_coverage;75 %\nholidays;2026-05-25, 2026-07-03\nmolar_volume;24,1\nshift_min;8\n"))
	wantLines(t, got, []string{
		"stop duplicate-id survey.csv:survey!A7 [molar_volume] item molar_volume stands in rows 2 and 7; the later row is left out"})
	want := map[string]string{"molar_volume": "24.45", "drift_policy": "lower", "results_received": "2026-03-12",
		"min_coverage_pct": "75", "holidays": "2026-05-25, 2026-07-03", "shift_min": "8"}
	for _, item := range s.Items {
		if item.Value != want[item.Name] {
			t.Errorf("%s is %q, want %q", item.Name, item.Value, want[item.Name])
		}
		delete(want, item.Name)
	}
	if len(want) > 0 {
		t.Errorf("missing %v", want)
	}
}

func TestPeopleRows(t *testing.T) {
	s, got := readFolder(t, with(
		"devices.csv", "device,kind,accuracy (%),certified\nFM-1,,1,2026-01-05\nFM-2,mass flow,0.5,\nFM-1,rotameter,1,\nFM-3,sonic,1,\n",
		"media.csv", "medium,form,volume_flow,cv,holding time (weeks)\nM1,Respirable,nominal,5 %,2\n",
		"shifts.csv", "shift,worker,start,end,unsampled\nD1,W-1,2026-03-02 07:00,2026-03-02 15:00,zero\nD1,W-2,2026-03-02 07:00,2026-03-02 15:00,\nD1,W-1,2026-03-02 07:00,2026-03-02 15:00,\n",
		"derived.csv", "derived,analyte,factor\nIron oxide,Iron,1.4297\nIron oxide,Tin,-1\n",
		"samples.csv", "sample,kind,void\nS-1,area,no\nS-2,area,yes\nS-3,area,pump stopped\nS-4,area,-\n",
	))
	wantLines(t, got, []string{
		"note header-converted media.csv:media!E1 [] the header \"holding time (weeks)\" gives weeks; its numbers are turned into days",
		"note percent-converted media.csv:media!D2 [M1] cv \"5 %\" is taken as the fraction 0.05",
		"stop duplicate-id devices.csv:devices!A4 [FM-1] device FM-1 stands in rows 2 and 4; the later row is left out",
		"stop duplicate-id shifts.csv:shifts!A4 [D1, W-1] shift D1 of W-1 stands in rows 2 and 4; the later row is left out",
		`stop out-of-range derived.csv:derived!C3 [Iron oxide, Tin] factor "-1" cannot be; expected a number over 0; the row is left out`,
		`stop unknown-choice devices.csv:devices!B5 [FM-3] kind "sonic" is not one of volumetric, mass, rotameter, pump-rotameter; the row is left out`,
	})
	if len(s.Devices) != 2 || s.Devices[0].Kind != volume.Volumetric || s.Devices[1].Kind != volume.MassFlow {
		t.Errorf("devices %+v", s.Devices)
	}
	if m := s.Media[0]; !m.NominalVolume || m.Form != "respirable" || m.HoldingDays.Value != 14 {
		t.Errorf("medium %+v", m)
	}
	void := [4]bool{}
	for i, p := range s.Samples {
		void[i] = p.Void
	}
	if void != [4]bool{false, true, true, false} || s.Samples[2].VoidBecause != "pump stopped" {
		t.Errorf("voids %v, because %q", void, s.Samples[2].VoidBecause)
	}
}

// TestManyRows reads more rows than one part holds, some of them left out.
func TestManyRows(t *testing.T) {
	text := "sample,analyte,result,unit\n"
	for i := range 10_000 {
		unit := "ug"
		if i%1000 == 7 {
			unit = "stone"
		}
		text += "S-1,A" + plainly(float64(i)) + ",1," + unit + "\n"
	}
	s, got := readFolder(t, with("lab.csv", text))
	if len(got) != 10 || len(s.Lab) != 9990 {
		t.Fatalf("%d findings, %d rows", len(got), len(s.Lab))
	}
	for i := 1; i < len(s.Lab); i++ {
		if s.Lab[i].Row <= s.Lab[i-1].Row {
			t.Fatalf("row %d after row %d", s.Lab[i].Row, s.Lab[i-1].Row)
		}
	}
	if last := s.Lab[9989]; last.Row != 10_001 || last.Analyte != "A9999" {
		t.Errorf("last row %+v", last)
	}
}
