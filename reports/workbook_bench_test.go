package reports

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkWorkbook reports how fast the workbook of a week's survey is made.
func BenchmarkWorkbook(b *testing.B) {
	r := reduced(b, "../testdata/demo")
	for b.Loop() {
		require.NoError(b, r.WriteWorkbook(context.Background(), io.Discard))
	}
}

// BenchmarkLargeWorkbook makes the workbook of 20,000 concentrations: 2000
// samples, three a shift, with ten analytes each.
func BenchmarkLargeWorkbook(b *testing.B) {
	dir := b.TempDir()
	writeCampaign(b, dir, 2000)
	r := reduced(b, dir)
	require.Greater(b, len(r.Concentrations), 19_000)
	require.Greater(b, len(r.Comparisons), 10_000)
	runtime.GC()
	var before, memory runtime.MemStats
	runtime.ReadMemStats(&before)
	peak := uint64(0)
	for b.Loop() {
		require.NoError(b, r.WriteWorkbook(context.Background(), io.Discard))
		runtime.ReadMemStats(&memory)
		peak = max(peak, memory.HeapSys)
	}
	b.ReportMetric(float64(peak)/1e6, "MB-heap")
	b.ReportMetric(float64(memory.TotalAlloc-before.TotalAlloc)/1e6/float64(b.N), "MB-allocated/op")
}

// writeCampaign writes a survey of n samples, with two field blanks in every
// fifty and every fourth result a non-detect.
func writeCampaign(b *testing.B, dir string, n int) {
	metals := []string{"Chromium", "Nickel", "Manganese", "Iron", "Copper", "Zinc", "Lead", "Aluminum", "Cobalt", "Cadmium"}
	var lab, samples, flows, shifts bytes.Buffer
	lab.WriteString("sample,analyte,result,unit,reporting_limit\n")
	samples.WriteString("sample,kind,train,leg,medium,lot,worker,shift,start,stop\n")
	flows.WriteString("train,leg,stage,reading_1,reading_2,reading_3,unit,taken_at\n")
	shifts.WriteString("shift,worker,start,end\n")
	for i := range n {
		turn, part := i/3, i%3
		day := fmt.Sprintf("2026-%02d-%02d", 1+turn/400, 1+turn/40%10)
		worker, shift, lot := fmt.Sprintf("W-%02d", turn%40), fmt.Sprintf("D%d", turn/40), fmt.Sprintf("L%02d", i/50)
		if i%50 >= 48 {
			fmt.Fprintf(&samples, "S-%04d,blank,,,MCE,%s,,,,\n", i, lot)
		} else {
			start := 420 + 150*part // minutes of the day
			stop := start + 140 + i%10
			fmt.Fprintf(&samples, "S-%04d,personal,T-%04d,A,MCE,%s,%s,%s,%s %02d:%02d,%s %02d:%02d\n",
				i, i, lot, worker, shift, day, start/60, start%60, day, stop/60, stop%60)
			fmt.Fprintf(&flows, "T-%04d,A,pre,1.99%d,2.00%d,1.99%d,L/min,%s 06:30\nT-%04d,A,post,1.98%d,1.99%d,1.98%d,L/min,%s 15:30\n",
				i, i%10, i%7, i%9, day, i, i%10, i%7, i%9, day)
		}
		if part == 0 {
			fmt.Fprintf(&shifts, "%s,%s,%s 07:00,%s 15:00\n", shift, worker, day, day)
		}
		for k, name := range metals {
			result := fmt.Sprintf("%.3g", 1+float64((i*7+k*131)%1000)/40)
			if (i+k)%4 == 0 || i%50 >= 48 {
				result = "<0.25"
			}
			fmt.Fprintf(&lab, "S-%04d,%s,%s,ug,0.25\n", i, name, result)
		}
	}
	for name, text := range map[string]*bytes.Buffer{"lab.csv": &lab, "samples.csv": &samples, "flows.csv": &flows, "shifts.csv": &shifts} {
		require.NoError(b, os.WriteFile(filepath.Join(dir, name), text.Bytes(), 0o644))
	}
}
