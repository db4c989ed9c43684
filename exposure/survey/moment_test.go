package survey

import (
	"testing"
	"time"
)

func zoneClock(t *testing.T, name string) clock {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return clock{zone: zone, zoned: true}
}

// TestParseMoment reads times in Chicago, where in 2026 the clocks go on at
// 02:00 on 8 March and back at 02:00 on 1 November (IANA time zone database).
func TestParseMoment(t *testing.T) {
	chicago := zoneClock(t, "America/Chicago")
	for _, c := range []struct {
		text  string
		want  string
		state trouble
	}{
		{"2026-03-02 22:10", "2026-03-02T22:10:00-06:00", noTrouble},
		{"2026-03-02 22:10:30", "2026-03-02T22:10:30-06:00", noTrouble},
		{"2026-03-02T22:10", "2026-03-02T22:10:00-06:00", noTrouble},
		{"2026-03-02T22:10:30+01:00", "2026-03-02T15:10:30-06:00", noTrouble},
		{"2026-03-02 22:10 +0100", "2026-03-02T15:10:00-06:00", noTrouble},
		{"2026-03-02T22:10Z", "2026-03-02T16:10:00-06:00", noTrouble},
		{"2026-03-02 6:05", "2026-03-02T06:05:00-06:00", noTrouble},
		{"2026-03-08 02:30", "2026-03-08T03:30:00-05:00", skipped},
		{"2026-03-08 03:00", "2026-03-08T03:00:00-05:00", noTrouble},
		{"2026-11-01 01:30", "2026-11-01T01:30:00-05:00", twice},
		{"2026-11-01 01:30-06:00", "2026-11-01T01:30:00-06:00", noTrouble},
		{"2026-11-01 02:00", "2026-11-01T02:00:00-06:00", noTrouble},
	} {
		m, state, f := chicago.parse(c.text, momentStyle{})
		if f != readable || !m.Known || !m.Zoned || m.Bare || m.DateOnly {
			t.Errorf("%q: %+v, fault %d", c.text, m, f)
		}
		if got := m.T.Format(time.RFC3339); got != c.want || state != c.state {
			t.Errorf("%q is %s, trouble %d; want %s, %d", c.text, got, state, c.want, c.state)
		}
	}
}

func TestParsePartialMoments(t *testing.T) {
	c := clock{zone: time.UTC}
	if m, _, f := c.parse("2026-03-02", momentStyle{}); f != readable || !m.DateOnly || m.Zoned || m.T.Format(time.DateTime) != "2026-03-02 00:00:00" {
		t.Errorf("date: %+v, fault %d", m, f)
	}
	if m, _, f := c.parse("22:10", momentStyle{}); f != readable || !m.Bare || m.T.Format(time.TimeOnly) != "22:10:00" {
		t.Errorf("time: %+v, fault %d", m, f)
	}
}

// TestWrittenMoments reads dates and times in the ways people write them. The
// orders of day and month are those of ISO 8601 (year first), of the United
// States (month first) and of most of Europe (day first); noon is 12 PM and
// midnight 12 AM (NIST, Times of Day FAQ, from memory).
func TestWrittenMoments(t *testing.T) {
	day, month := momentStyle{order: dayFirst}, momentStyle{order: monthFirst}
	for _, c := range []struct {
		text  string
		style momentStyle
		want  string // "" where it is refused
		fault fault
	}{
		{"3/4/2026", day, "2026-04-03", readable},
		{"3/4/2026", month, "2026-03-04", readable},
		{"3/4/2026", momentStyle{}, "", ambiguous},
		{"03.04.2026 22:10", momentStyle{}, "", ambiguous},
		{"14.03.2026 22:10", momentStyle{}, "2026-03-14 22:10", readable},
		{"03/14/2026, 7:05 PM", momentStyle{}, "2026-03-14 19:05", readable},
		{"3/14/2026 7:05:30\u202fPM", momentStyle{}, "2026-03-14 19:05", readable},
		{"3/3/2026", momentStyle{}, "2026-03-03", readable},
		{"14/3/2026", month, "", unreadable},
		{"14/14/2026", day, "", unreadable},
		{"31/2/2026", day, "", unreadable},
		{"14/03/26", momentStyle{}, "2026-03-14", readable},
		{"26-03-14", momentStyle{}, "", ambiguous},
		{"26-03-02", momentStyle{}, "", ambiguous},
		{"2026-3-2", momentStyle{}, "2026-03-02", readable},
		{"2026/03/02 22:10", momentStyle{}, "2026-03-02 22:10", readable},
		{"2026.03.02", day, "2026-03-02", readable},
		{"3/4-2026", day, "", unreadable},
		{"3/4/2026/5", day, "", unreadable},
		{"3/4", day, "", unreadable},
		{"2 Mar 2026", momentStyle{}, "2026-03-02", readable},
		{"02-Mar-26 22:10", momentStyle{}, "2026-03-02 22:10", readable},
		{"02MAR2026", momentStyle{}, "2026-03-02", readable},
		{"2. March 2026", momentStyle{}, "2026-03-02", readable},
		{"Mon, 2 Mar 2026 22:10", momentStyle{}, "2026-03-02 22:10", readable},
		{"March 2nd, 2026 7 PM", momentStyle{}, "2026-03-02 19:00", readable},
		{"Sept 2, 2026", momentStyle{}, "2026-09-02", readable},
		{"2 Mar", momentStyle{}, "", unreadable},
		{"2 Mar 22:10", momentStyle{}, "", unreadable},
		{"30 Feb 2026", momentStyle{}, "", unreadable},
		{"2 Mai 2026", momentStyle{}, "", unreadable},
		{"7:05 am", momentStyle{}, "07:05", readable},
		{"12:30 PM", momentStyle{}, "12:30", readable},
		{"12:30AM", momentStyle{}, "00:30", readable},
		{"12:00 a.m.", momentStyle{}, "00:00", readable},
		{"11:59 p.m.", momentStyle{}, "23:59", readable},
		{"7 PM", momentStyle{}, "19:00", readable},
		{"13:05 PM", momentStyle{}, "", unreadable},
		{"0:05 AM", momentStyle{}, "", unreadable},
		{"7:05 xm", momentStyle{}, "", unreadable},
		{"2026-03-02 7:05 AM", momentStyle{}, "2026-03-02 07:05", readable},
		{"3:10", momentStyle{twelve: true}, "", ambiguous},
		{"2026-03-02 12:10", momentStyle{twelve: true}, "", ambiguous},
		{"15:10", momentStyle{twelve: true}, "15:10", readable},
		{"0:10", momentStyle{twelve: true}, "00:10", readable},
		{"2026-03-02\u00a022:10", momentStyle{}, "2026-03-02 22:10", readable},
		{"\u200e2026-03-02 22:10:30.250", momentStyle{}, "2026-03-02 22:10", readable},
	} {
		m, _, f := clock{zone: time.UTC}.parse(c.text, c.style)
		got := ""
		if f == readable {
			got = writeMoment(m)
		}
		if got != c.want || f != c.fault {
			t.Errorf("%q in style %v: %q, fault %d; want %q, fault %d", c.text, c.style, got, f, c.want, c.fault)
		}
	}
}

func TestRefusedMoments(t *testing.T) {
	for _, text := range []string{"", "03/04/2026", "3.4.2026 22:10", "2026-13-01", "2026-02-30", "2026-03-02 24:10", "2026-03-02 22:60",
		"22", "22:10 PM", "2026-03-02 22:10 later", "0202-03-02", "2026-03-02 22", "46083.9", "2026-03-0222:10", "2026-03-02,", "2026-03-02 22:10 PM"} {
		if m, _, f := (clock{zone: time.UTC}).parse(text, momentStyle{}); f == readable {
			t.Errorf("%q is read as %v", text, m.T)
		}
	}
}

// TestBareTimes reads times without a date around a night shift, which begins
// on 2 March and ends on 3 March.
func TestBareTimes(t *testing.T) {
	s, got := readFolder(t, with(
		"shifts.csv", "shift,worker,start,end\nN1,W-1,2026-03-02 22:00,06:00\nN2,W-2,22:00,06:00\n",
		"gaps.csv", "shift,worker,start,end,treat\nN1,W-1,23:50,00:20,zero\nN1,W-1,02:00,02:30,0.05 mg/m³\nN1,W-1,04:00,04:30,half\n",
		"samples.csv", "sample,kind,train,leg,worker,shift,start,stop\n"+
			"S-1,personal,T1,A,W-1,N1,21:55,02:10\n"+
			"S-2,personal,T1,A,W-1,N1,02:10,05:50\n"+
			"S-3,personal,T2,A,W-1,,2026-03-02 23:00,01:00\n"+
			"S-4,personal,T3,A,W-2,N2,23:00,01:00\n",
		"flows.csv", "train,leg,stage,readings,taken_at\nT3,A,pre,2,21:30\nT2,A,pre,2,22:30\nT2,A,post,2,01:20\nT1,A,pre,2,21:30\n",
	))
	wantLines(t, got, []string{
		"check time-without-date flows.csv:flows!E2 [T3, A, S-4] taken_at 21:30 has no date, and the train's samples do not give one day; the time is not used",
		"check time-without-date flows.csv:flows!E5 [T1, A, S-1, S-2] taken_at 21:30 has no date, and the train's samples do not give one day; the time is not used",
		"check time-without-date samples.csv:samples!G5 [S-4] start 23:00 has no date, and no shift with a date is known for it; the time is not used",
		"check time-without-date samples.csv:samples!H5 [S-4] stop 01:00 has no date, and there is no start with a date to take it from; the time is not used",
		"check time-without-date shifts.csv:shifts!D3 [N2, W-2] end 06:00 has no date, and there is no start with a date to take it from; the time is not used",
		"check time-without-date shifts.csv:shifts!C3 [N2, W-2] start 22:00 has no date, and a shift has nothing else to take it from; the time is not used",
		"note stop-next-day gaps.csv:gaps!D2 [N1, W-1] end 00:20 is before the start at 2026-03-02 23:50, so it is taken as the next day, 2026-03-03 00:20",
		"note stop-next-day samples.csv:samples!H2 [S-1] stop 02:10 is before the start at 2026-03-02 21:55, so it is taken as the next day, 2026-03-03 02:10",
		"note stop-next-day samples.csv:samples!H4 [S-3] stop 01:00 is before the start at 2026-03-02 23:00, so it is taken as the next day, 2026-03-03 01:00",
		"note stop-next-day shifts.csv:shifts!D2 [N1, W-1] end 06:00 is before the start at 2026-03-02 22:00, so it is taken as the next day, 2026-03-03 06:00",
		`stop unknown-choice gaps.csv:gaps!E4 [N1, W-1] treat "half" is not one of zero, same, a concentration such as 0.05 mg/m3; the row is left out`,
	})
	for i, want := range []string{"2026-03-02 21:55 2026-03-03 02:10", "2026-03-03 02:10 2026-03-03 05:50", "2026-03-02 23:00 2026-03-03 01:00"} {
		if got := writeMoment(s.Samples[i].Start) + " " + writeMoment(s.Samples[i].Stop); got != want {
			t.Errorf("sample %s: %s, want %s", s.Samples[i].ID, got, want)
		}
	}
	if !s.Samples[0].StopNextDay || s.Samples[1].StopNextDay || s.Samples[3].Start.Known {
		t.Errorf("samples %+v", s.Samples)
	}
	if len(s.Gaps) != 2 || writeMoment(s.Gaps[1].Start) != "2026-03-03 02:00" || s.Gaps[1].Value != 0.05 || s.Gaps[1].Unit.Name != "mg/m3" {
		t.Errorf("gaps %+v", s.Gaps)
	}
	if writeMoment(s.Flows[2].TakenAt) != "2026-03-03 01:20" || s.Flows[0].TakenAt.Known {
		t.Errorf("flows %+v", s.Flows)
	}
}

func TestClockChangeNight(t *testing.T) {
	s, got := readFolder(t, with(
		"survey.csv", "item,value\ntimezone,Europe/Berlin\n",
		"samples.csv", "sample,kind,train,leg,start,stop\n"+
			"S-1,area,T1,A,2026-03-28 22:00,2026-03-29 02:30\n"+
			"S-2,area,T2,A,2026-10-24 22:00,2026-10-25 06:00\n"+
			"S-3,area,T3,A,2026-10-24 22:00,02:30\n",
	))
	// In 2026 Berlin goes to summer time on 29 March and back on 25 October
	// (IANA time zone database): that night 22:00 to 06:00 lasts nine hours.
	wantLines(t, got, []string{
		"check clock-time-skipped samples.csv:samples!F2 [S-1] stop 2026-03-29 02:30 does not exist in Europe/Berlin: the clocks were put on that night; it is taken in the time before the change, as 2026-03-29T03:30+02:00",
		"check clock-time-twice samples.csv:samples!F4 [S-3] stop 02:30 comes twice in Europe/Berlin: the clocks were put back that night; it is taken as the first, 2026-10-25T02:30+02:00",
		"note stop-next-day samples.csv:samples!F4 [S-3] stop 02:30 is before the start at 2026-10-24 22:00, so it is taken as the next day, 2026-10-25 02:30",
	})
	if d := s.Samples[1].Stop.T.Sub(s.Samples[1].Start.T); d != 9*time.Hour {
		t.Errorf("the night lasts %v, want 9 h", d)
	}
}
