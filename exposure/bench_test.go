package exposure_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"airtally/exposure"
	"airtally/exposure/survey"
)

// BenchmarkReduce works 100,000 samples with 10 analytes each from CSV to
// results in memory. The yardstick is encoding/csv alone (ReuseRecord) over the
// same bytes in the same run.
func BenchmarkReduce(b *testing.B) {
	dir := b.TempDir()
	writeCampaign(b, dir, 100_000)
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(1250 << 20)) // as the command has it
	var ours, yardstick time.Duration
	var peak uint64
	for b.Loop() {
		start := time.Now()
		readCSVAlone(b, dir)
		middle := time.Now()
		s, findings, err := survey.Read(dir)
		if err != nil {
			b.Fatal(err)
		}
		results, err := exposure.Reduce(context.Background(), []*survey.Survey{s}, findings)
		if err != nil || len(results.Concentrations) < 1_000_000 || len(results.Exposures) < 600_000 {
			b.Fatal(err, len(results.Concentrations), len(results.Exposures))
		}
		yardstick += middle.Sub(start)
		ours += time.Since(middle)
		var memory runtime.MemStats
		runtime.ReadMemStats(&memory)
		peak = max(peak, memory.HeapSys)
	}
	b.ReportMetric(ours.Seconds()/float64(b.N), "s/reduce")
	b.ReportMetric(yardstick.Seconds()/float64(b.N), "s/encoding-csv")
	b.ReportMetric(ours.Seconds()/yardstick.Seconds(), "times-encoding-csv")
	b.ReportMetric(float64(peak)/1e9, "GB-heap")
}

func readCSVAlone(b *testing.B, dir string) {
	names, err := filepath.Glob(filepath.Join(dir, "*.csv"))
	if err != nil {
		b.Fatal(err)
	}
	for _, name := range names {
		raw, err := os.ReadFile(name)
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

// writeCampaign writes a survey of n samples: three consecutive ones a shift,
// two field blanks in every fifty, ten metals each.
func writeCampaign(b *testing.B, dir string, n int) {
	metals := []struct {
		name, cas string
		limit     float64
	}{
		{"Chromium", "7440-47-3", 0.25}, {"Nickel", "7440-02-0", 0.25}, {"Manganese", "7439-96-5", 0.1},
		{"Iron", "7439-89-6", 2.5}, {"Copper", "7440-50-8", 0.25}, {"Zinc", "7440-66-6", 0.5},
		{"Lead", "7439-92-1", 0.12}, {"Aluminum", "7429-90-5", 2.5}, {"Cobalt", "7440-48-4", 0.1}, {"Cadmium", "7440-43-9", 0.05},
	}
	var lab, samples, flows, shifts bytes.Buffer
	lab.WriteString("sample,analyte,result,unit,cas,reporting_limit,qualifier,method\n")
	samples.WriteString("sample,kind,train,leg,medium,lot,worker,shift,start,stop\n")
	flows.WriteString("train,leg,stage,reading_1,reading_2,reading_3,unit,taken_at\n")
	shifts.WriteString("shift,worker,start,end\n")
	for i := range n {
		turn, part := i/3, i%3
		day := time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC).AddDate(0, 0, turn/400).Format("2006-01-02")
		worker, shift, lot := fmt.Sprintf("W-%03d", turn%400), fmt.Sprintf("D%d", turn/400), fmt.Sprintf("L%04d", i/50)
		if blank := i%50 >= 48; blank {
			fmt.Fprintf(&samples, "S-%06d,blank,,,MCE37,%s,,,,\n", i, lot)
		} else {
			start, stop := 420+160*part, 420+160*part+150+i%10 // minutes of the day
			fmt.Fprintf(&samples, "S-%06d,personal,T-%06d,A,MCE37,%s,%s,%s,%s %02d:%02d,%s %02d:%02d\n",
				i, i, lot, worker, shift, day, start/60, start%60, day, stop/60, stop%60)
			fmt.Fprintf(&flows, "T-%06d,A,pre,1.99%d,2.00%d,1.99%d,L/min,%s 06:30\n", i, i%10, i%7, i%9, day)
			fmt.Fprintf(&flows, "T-%06d,A,post,1.98%d,1.99%d,1.98%d,L/min,%s 15:30\n", i, i%10, i%7, i%9, day)
		}
		if part == 0 {
			fmt.Fprintf(&shifts, "%s,%s,%s 07:00,%s 15:00\n", shift, worker, day, day)
		}
		for k, m := range metals {
			result, flag := fmt.Sprintf("%.3g", m.limit*(4+float64((i*7+k*131)%1000)/40)), ""
			switch {
			case (i+k)%4 == 0 || i%50 >= 48:
				result = fmt.Sprintf("<%g", m.limit)
			case (i+k)%97 == 0:
				flag = "J"
			}
			fmt.Fprintf(&lab, "S-%06d,%s,%s,ug,%s,%g,%s,ICP\n", i, m.name, result, m.cas, m.limit, flag)
		}
	}
	for name, text := range map[string]*bytes.Buffer{"lab.csv": &lab, "samples.csv": &samples, "flows.csv": &flows, "shifts.csv": &shifts} {
		if err := os.WriteFile(filepath.Join(dir, name), text.Bytes(), 0o644); err != nil {
			b.Fatal(err)
		}
	}
}
