package survey

import (
	"archive/zip"
	"bytes"
	"fmt"
	"html"
	"os"
	"path/filepath"
	"runtime/debug"
	"runtime/metrics"
	"strings"
	"testing"
	"time"
)

// BenchmarkReadWorkbook reads a workbook of 20,000 samples with 10 analytes
// each: 200,000 laboratory rows of 10 columns, of which three are numbers, one
// of them with decimals shown, and one a date. 1.5 s and 300 MB are the aim.
func BenchmarkReadWorkbook(b *testing.B) {
	path := filepath.Join(b.TempDir(), "large.xlsx")
	writeLargeWorkbook(b, path, 20_000)
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(1250 << 20)) // as the command has it
	b.ReportAllocs()
	peak := peakHeap()
	for b.Loop() {
		s, list, err := Read(path)
		if err != nil || len(s.Lab) != 200_000 || len(s.Samples) != 20_000 || list.Len() != 0 {
			b.Fatal(err, lines(list, ""))
		}
	}
	b.ReportMetric(float64(peak())/1e6, "MB-heap")
}

// peakHeap watches the memory of the heap until the function that it returns is
// called, which tells the most that there was.
func peakHeap() (most func() uint64) {
	debug.FreeOSMemory()
	done, peak := make(chan struct{}), make(chan uint64)
	go func() {
		samples := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}, {Name: "/memory/classes/heap/unused:bytes"}}
		for largest := uint64(0); ; {
			metrics.Read(samples)
			largest = max(largest, samples[0].Value.Uint64()+samples[1].Value.Uint64())
			select {
			case <-done:
				peak <- largest
				return
			case <-time.After(5 * time.Millisecond):
			}
		}
	}()
	return func() uint64 { close(done); return <-peak }
}

// sheetWriter writes sheets as spreadsheets do: texts by number, rows and
// cells with their names.
type sheetWriter struct {
	numbers map[string]int
	texts   []string
}

type styledNumber struct {
	value string
	style int
}

func (w *sheetWriter) sheet(rows [][]any) []byte {
	var out bytes.Buffer
	out.WriteString(`<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n" + `<worksheet xmlns="` + transitional + `"><sheetData>`)
	for i, row := range rows {
		fmt.Fprintf(&out, `<row r="%d" spans="1:%d">`, i+1, len(row))
		for at, v := range row {
			name := cellName(at, int32(i+1))
			switch v := v.(type) {
			case styledNumber:
				fmt.Fprintf(&out, `<c r="%s" s="%d"><v>%s</v></c>`, name, v.style, v.value)
			case string:
				if v != "" {
					fmt.Fprintf(&out, `<c r="%s" t="s"><v>%d</v></c>`, name, w.number(v))
				}
			}
		}
		out.WriteString(`</row>`)
	}
	out.WriteString(`</sheetData></worksheet>`)
	return out.Bytes()
}

func (w *sheetWriter) number(text string) int {
	if n, ok := w.numbers[text]; ok {
		return n
	}
	w.numbers[text] = len(w.texts)
	w.texts = append(w.texts, text)
	return len(w.texts) - 1
}

func (w *sheetWriter) list() []byte {
	var out strings.Builder
	fmt.Fprintf(&out, `<sst xmlns="%s" uniqueCount="%d">`, transitional, len(w.texts))
	for _, text := range w.texts {
		out.WriteString("<si><t>" + html.EscapeString(text) + "</t></si>")
	}
	return []byte(out.String() + "</sst>")
}

func writeLargeWorkbook(b *testing.B, path string, n int) {
	analytes := []struct{ name, cas, limit string }{
		{"Chromium", "7440-47-3", "0.25"}, {"Nickel", "7440-02-0", "0.25"}, {"Manganese", "7439-96-5", "0.1"},
		{"Iron", "7439-89-6", "2.5"}, {"Copper", "7440-50-8", "0.25"}, {"Zinc", "7440-66-6", "0.5"},
		{"Lead", "7439-92-1", "0.12"}, {"Aluminum", "7429-90-5", "2.5"}, {"Cobalt", "7440-48-4", "0.1"}, {"Cadmium", "7440-43-9", "0.05"},
	}
	samples := [][]any{{"sample", "kind", "train", "leg", "medium", "lot", "worker", "shift", "start", "stop"}}
	flows := [][]any{{"train", "leg", "stage", "reading_1", "reading_2", "reading_3", "unit", "device", "taken_at"}}
	lab := [][]any{{"sample", "analyte", "result", "unit", "cas", "reporting_limit", "qualifier", "section", "report", "analysed"}}
	for i := range n {
		day := 46027 + i%250 // 2026-01-05
		at := func(minute int) styledNumber {
			return styledNumber{fmt.Sprintf("%.15g", float64(day)+float64(minute)/1440), 2}
		}
		id, train := fmt.Sprintf("S-%06d", i), fmt.Sprintf("T-%06d", i)
		samples = append(samples, []any{id, "personal", train, "A", "MCE37", "L24", fmt.Sprintf("W-%03d", i%400), fmt.Sprintf("D%d", i/400), at(420 + i%50), at(915 + i%40)})
		for _, stage := range []string{"pre", "post"} {
			minute := map[string]int{"pre": 390, "post": 970}[stage]
			flows = append(flows, []any{train, "A", stage, styledNumber{fmt.Sprintf("1.99%d", i%10), 0}, styledNumber{fmt.Sprintf("2.00%d", i%7), 0}, styledNumber{fmt.Sprintf("1.99%d", i%9), 0}, "L/min", "CAL-1", at(minute)})
		}
		for k, a := range analytes {
			var result any = styledNumber{fmt.Sprintf("%.15g", 3+float64((i*7919+k*131)%100003)/977), 1}
			if (i+k)%4 == 0 {
				result = "<" + a.limit
			}
			lab = append(lab, []any{id, a.name, result, "ug", a.cas, styledNumber{a.limit, 0}, map[bool]string{true: "J"}[(i+k)%11 == 0 && (i+k)%4 != 0], "", fmt.Sprintf("R-%04d", i/100), styledNumber{fmt.Sprint(day + 7), 3}})
		}
	}
	w := &sheetWriter{numbers: map[string]int{}}
	writeParts(b, path, bookParts(map[string]string{
		"xl/worksheets/sheet1.xml": string(w.sheet(samples)),
		"xl/worksheets/sheet2.xml": string(w.sheet(flows)),
		"xl/worksheets/sheet3.xml": string(w.sheet(lab)),
		"xl/sharedStrings.xml":     string(w.list()),
		"xl/styles.xml": `<styleSheet xmlns="` + transitional + `"><numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd\ hh:mm"/></numFmts>` +
			`<cellXfs count="4"><xf numFmtId="0"/><xf numFmtId="2"/><xf numFmtId="164"/><xf numFmtId="14"/></cellXfs></styleSheet>`,
	}, "samples", "flows", "lab"))
}

const (
	transitional  = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	relationships = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	packageParts  = "http://schemas.openxmlformats.org/package/2006/"
)

// bookParts adds to the parts of a workbook what lists its sheets, which are
// xl/worksheets/sheet1.xml and so on.
func bookParts(parts map[string]string, sheets ...string) map[string]string {
	book := `<workbook xmlns="` + transitional + `" xmlns:r="` + relationships + `"><sheets>`
	related, types := "", ""
	for i, name := range sheets {
		book += fmt.Sprintf(`<sheet name="%s" sheetId="%d" r:id="rId%d"/>`, html.EscapeString(name), i+1, i+1)
		related += fmt.Sprintf(`<Relationship Id="rId%d" Type="%s/worksheet" Target="worksheets/sheet%d.xml"/>`, i+1, relationships, i+1)
		types += fmt.Sprintf(`<Override PartName="/xl/worksheets/sheet%d.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>`, i+1)
	}
	for _, common := range []string{"sharedStrings", "styles"} {
		related += fmt.Sprintf(`<Relationship Id="%s" Type="%s/%s" Target="%s.xml"/>`, common, relationships, common, common)
		types += fmt.Sprintf(`<Override PartName="/xl/%s.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.%s+xml"/>`, common, common)
	}
	all := map[string]string{
		"[Content_Types].xml": `<Types xmlns="` + packageParts + `content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>` + types + `</Types>`,
		"_rels/.rels":                `<Relationships xmlns="` + packageParts + `relationships"><Relationship Id="rId1" Type="` + relationships + `/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/workbook.xml":            book + `</sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<Relationships xmlns="` + packageParts + `relationships">` + related + `</Relationships>`,
		"xl/styles.xml":              `<styleSheet xmlns="` + transitional + `"/>`,
		"xl/sharedStrings.xml":       `<sst xmlns="` + transitional + `"/>`,
	}
	for name, text := range parts {
		all[name] = text
	}
	return all
}

// writeParts packs the parts of a workbook.
func writeParts(t testing.TB, path string, parts map[string]string) {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for name, text := range parts {
		to, err := w.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC)})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := to.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}
