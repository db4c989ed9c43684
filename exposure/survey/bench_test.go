package survey

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"testing"
	"time"
)

// BenchmarkRead reads a survey of 100,000 samples with 10 analytes each. The
// yardstick is encoding/csv alone over the same bytes. Garbage is collected as
// seldom as a command that reads once and ends would have it.
func BenchmarkRead(b *testing.B) {
	dir := b.TempDir()
	writeLargeSurvey(b, dir, 100_000)
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	b.ReportAllocs()
	var ours, yardstick time.Duration
	for b.Loop() {
		start := time.Now()
		yardstickCSV(b, dir)
		middle := time.Now()
		s, _, err := Read(dir)
		if err != nil || len(s.Lab) != 1_000_000 || len(s.Samples) != 100_000 {
			b.Fatal(err, len(s.Lab), len(s.Samples))
		}
		yardstick += middle.Sub(start)
		ours += time.Since(middle)
	}
	b.ReportMetric(ours.Seconds()/float64(b.N), "s/read")
	b.ReportMetric(yardstick.Seconds()/float64(b.N), "s/encoding-csv")
	b.ReportMetric(ours.Seconds()/yardstick.Seconds(), "times-encoding-csv")
}

func yardstickCSV(b *testing.B, dir string) {
	for _, name := range []string{"lab.csv", "samples.csv", "flows.csv"} {
		raw, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			b.Fatal(err)
		}
		r := csv.NewReader(bytes.NewReader(raw))
		r.ReuseRecord = true
		for {
			if _, err := r.Read(); err == io.EOF {
				break
			} else if err != nil {
				b.Fatal(err)
			}
		}
	}
}

func writeLargeSurvey(b *testing.B, dir string, n int) {
	analytes := []struct{ name, cas, limit string }{
		{"Chromium", "7440-47-3", "0.25"}, {"Nickel", "7440-02-0", "0.25"}, {"Manganese", "7439-96-5", "0.1"},
		{"Iron", "7439-89-6", "2.5"}, {"Copper", "7440-50-8", "0.25"}, {"Zinc", "7440-66-6", "0.5"},
		{"Lead", "7439-92-1", "0.12"}, {"Aluminum", "7429-90-5", "2.5"}, {"Cobalt", "7440-48-4", "0.1"}, {"Cadmium", "7440-43-9", "0.05"},
	}
	var lab, samples, flows bytes.Buffer
	lab.WriteString("sample,analyte,result,unit,cas,reporting_limit,qualifier,section\n")
	samples.WriteString("sample,kind,train,leg,medium,lot,worker,shift,start,stop\n")
	flows.WriteString("train,leg,stage,reading_1,reading_2,reading_3,unit,device,taken_at\n")
	for i := range n {
		day := time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC).AddDate(0, 0, i%250)
		fmt.Fprintf(&samples, "S-%06d,personal,T-%06d,A,MCE37,L24,W-%03d,D%d,%s 07:%02d,%s 15:%02d\n", i, i, i%400, i/400,
			day.Format("2006-01-02"), i%50, day.Format("2006-01-02"), i%40)
		for _, stage := range []string{"pre 06:30", "post 15:50"} {
			fmt.Fprintf(&flows, "T-%06d,A,%s,1.99%d,2.00%d,1.99%d,L/min,CAL-1,%s %s\n", i, stage[:len(stage)-6], i%10, i%7, i%9, day.Format("2006-01-02"), stage[len(stage)-5:])
		}
		for k, a := range analytes {
			result, flag := fmt.Sprintf("%.3g", 0.1+float64((i*7+k*131)%1000)/40), ""
			if (i+k)%4 == 0 {
				result = "<" + a.limit
			} else if (i+k)%11 == 0 {
				flag = "J"
			}
			fmt.Fprintf(&lab, "S-%06d,%s,%s,ug,%s,%s,%s,\n", i, a.name, result, a.cas, a.limit, flag)
		}
	}
	for name, text := range map[string]*bytes.Buffer{"lab.csv": &lab, "samples.csv": &samples, "flows.csv": &flows} {
		if err := os.WriteFile(filepath.Join(dir, name), text.Bytes(), 0o644); err != nil {
			b.Fatal(err)
		}
	}
}
