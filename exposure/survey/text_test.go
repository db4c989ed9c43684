package survey

import (
	"encoding/csv"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

func TestEncodings(t *testing.T) {
	const text = "sample,analyte,result,unit\nS-1,Säure,1.5,µg\n"
	encode := func(e interface {
		Bytes([]byte) ([]byte, error)
	}) string {
		raw, err := e.Bytes([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		return string(raw)
	}
	for name, c := range map[string]struct {
		text  string
		lines []string
	}{
		"UTF-8":        {text, nil},
		"UTF-8, mark":  {"\uFEFF" + text, nil},
		"UTF-16 LE":    {encode(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder()), nil},
		"UTF-16 BE":    {encode(unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder()), nil},
		"Windows-1252": {encode(charmap.Windows1252.NewEncoder()), []string{"note encoding-guessed lab.csv [] the file is not UTF-8; it is read as Windows-1252"}},
		"CR":           {strings.ReplaceAll(text, "\n", "\r"), nil},
		"CRLF":         {strings.ReplaceAll(text, "\n", "\r\n"), nil},
		"sep":          {"sep=;\r\n" + strings.ReplaceAll(text, ",", ";"), nil},
		"tab":          {strings.ReplaceAll(text, ",", "\t"), nil},
	} {
		t.Run(name, func(t *testing.T) {
			s, got := readFolder(t, with("lab.csv", c.text))
			wantLines(t, got, c.lines)
			if len(s.Lab) != 1 || s.Lab[0].Analyte != "Säure" || s.Lab[0].Unit.Name != "ug" || s.Lab[0].Value != 1.5 {
				t.Errorf("read %+v", s.Lab)
			}
		})
	}
}

func TestPlacesAndTexts(t *testing.T) {
	s, got := readFolder(t, with("lab.csv", "\n\nNote,result,sample,analyte,unit\n\"two\nlines\",1.5,S-1,\"Xylene, m- and p-\",ug\n\n,\"0,06\",S-2,\"so-called \"\"B\"\"\",ug\n"))
	wantLines(t, got, nil)
	a, b := s.Lab[0], s.Lab[1]
	if a.Row != 4 || b.Row != 7 || b.Value != 0.06 {
		t.Errorf("rows %d and %d, value %v", a.Row, b.Row, b.Value)
	}
	if a.Text("note") != "two\nlines" || a.Analyte != "Xylene, m- and p-" || b.Analyte != `so-called "B"` || b.Text("result") != "0,06" || b.Text("cas") != "" {
		t.Errorf("%q, %q, %q, %q", a.Text("note"), a.Analyte, b.Analyte, b.Text("result"))
	}
	if p := b.Place("result"); p.Cell != "B7" || p.Row != 7 || p.Column != "result" || p.Table != "lab" || !strings.HasSuffix(p.File, "lab.csv") {
		t.Errorf("place %+v", p)
	}
	if p := b.Place("cas"); p.Cell != "" || p.Row != 7 {
		t.Errorf("place of a column that is not there: %+v", p)
	}
}

func TestTextOfReadings(t *testing.T) {
	s, _ := readFolder(t, with("flows.csv", "train,leg,stage,Reading 2 (L/min),reading_1\nT1,A,pre,2.01,1.99\n"))
	f := s.Flows[0]
	if f.Text("readings") != "2.01; 1.99" || f.Text("reading_1") != "1.99" || f.Place("reading_1").Cell != "E2" || f.Place("readings").Cell != "D2" {
		t.Errorf("%q, %q, %v", f.Text("readings"), f.Text("reading_1"), f.Place("reading_1"))
	}
}

func TestCellName(t *testing.T) {
	for at, want := range map[int]string{0: "A3", 25: "Z3", 26: "AA3", 701: "ZZ3", 702: "AAA3"} {
		if got := cellName(at, 3); got != want {
			t.Errorf("column %d is %s, want %s", at, got, want)
		}
	}
}

func TestTableNames(t *testing.T) {
	for name, want := range map[string]string{
		"lab": "lab", "Lab": "lab", "Laboratory results": "lab", "02_samples": "samples", "SAMPLE": "samples",
		"flow-checks": "flows", "Survey": "survey", "Sheet1": "", "": "", "2026": "",
	} {
		got := ""
		if d := tableOf(name); d != nil {
			got = d.Name
		}
		if got != want {
			t.Errorf("%q is %q, want %q", name, got, want)
		}
	}
}

// TestHeadersAreUnambiguous makes sure that no header means two columns of one
// table, and that no name means two tables.
func TestHeadersAreUnambiguous(t *testing.T) {
	tables := map[string]string{}
	for _, d := range Descriptions() {
		for _, name := range append([]string{d.Name}, d.Synonyms...) {
			key := strings.TrimSuffix(simplify(name), "s")
			if other := tables[key]; other != "" && other != d.Name {
				t.Errorf("%q is %s and %s", name, other, d.Name)
			}
			tables[key] = d.Name
		}
		columns := map[string]string{}
		for _, c := range d.Columns {
			if c.Help == "" {
				t.Errorf("%s.%s has no help", d.Name, c.Name)
			}
			for _, name := range append([]string{c.Name, withoutUnit(&c)}, c.Synonyms...) {
				if other := columns[simplify(name)]; other != "" && other != c.Name {
					t.Errorf("header %q of %s is %s and %s", name, d.Name, other, c.Name)
				}
				columns[simplify(name)] = c.Name
			}
		}
	}
}

// records reads a text with encoding/csv, an independent reader of RFC 4180.
func records(text string, delimiter rune) [][]string {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes = delimiter, -1, true
	var out [][]string
	for {
		record, err := r.Read()
		if err == io.EOF {
			return out
		}
		if err != nil {
			return nil
		}
		out = append(out, record)
	}
}

// ourRecords reads the same, without lines that encoding/csv skips as empty.
func ourRecords(g *textGrid) [][]string {
	var out [][]string
	for _, row := range g.rows() {
		if g.line(int(row)-1) == "" {
			continue
		}
		var record []string
		for _, c := range g.read(row, nil) {
			record = append(record, c.text)
		}
		out = append(out, record)
	}
	return out
}

// FuzzCSV compares our records with those of encoding/csv, and reads the text
// as a table of results.
func FuzzCSV(f *testing.F) {
	for _, seed := range []string{"a,b\n1,2\n", "a;b\r\n\"x;\"\"y\";2\r\n", "a,b\n\"two\nlines\",3\n", "sep=;\na;b\n", "a\tb\n\n\n1\t", "a,b\n\"open,2\n", "x\"y,\"z\" w,\"\"\n", "\"a\"b\",c"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		decoded, _ := decodeText([]byte(text))
		g := newTextGrid(decoded)
		if len(g.stray) == 0 && !strings.Contains(decoded, "\r") && !strings.HasPrefix(strings.TrimLeft(strings.ToLower(decoded), "\""), "sep=") {
			if want := records(decoded, rune(g.delimiter)); want != nil && !slices.EqualFunc(ourRecords(g), want, slices.Equal[[]string]) {
				t.Errorf("%q: %q, encoding/csv %q", decoded, ourRecords(g), want)
			}
		}
		dir := writeFolder(t, with("lab.csv", "sample,analyte,result,unit,cas,desorption\n"+text, "samples.csv", text, "survey.csv", "item,value\n"+text))
		if _, _, err := Read(dir); err != nil && !strings.Contains(err.Error(), "table") {
			t.Error(err)
		}
	})
}

func FuzzResult(f *testing.F) {
	for _, seed := range []string{"1.29", "<0.06", "< .06", "ND", "0.06 U", "~3 JB", "1,550.2", "<1.550", "５", "1e5", "4.1 ug/filter", "e", "<", "--1"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, style := range []numberStyle{spoken, {decimal, doubtful}, {decimal, thousands}, {doubtful, doubtful}} {
			r, trouble := parseResult(text, style)
			if trouble == readable && (math.IsNaN(r.value) || math.IsInf(r.value, 0)) {
				t.Errorf("%q is read as %v", text, r.value)
			}
			if trouble == readable && r.kind != NotFound && !strings.ContainsAny(foldDigits(text), "0123456789") {
				t.Errorf("%q is read as the number %v", text, r.value)
			}
		}
		parseQualifiers(text)
		ParseLabUnit(text)
	})
}

func FuzzMoment(f *testing.F) {
	for _, seed := range []string{"2026-03-02 22:10", "2026-03-02T22:10:30+01:00", "22:10", "2026-03-08 02:30", "2026-11-01 01:30", "03/04/2026", "2026-02-29", "14.3.26 7:05 pm", "2-Mar-2026", "March 2, 2026 12 AM", "26-03-02"} {
		f.Add(seed)
	}
	c := clock{zone: mustZone("America/Chicago"), zoned: true}
	f.Fuzz(func(t *testing.T, text string) {
		for _, style := range []momentStyle{{}, {order: dayFirst}, {order: monthFirst, twelve: true}} {
			m, _, f := c.parse(text, style)
			if f == readable && !m.Bare && (m.T.Year() < 1949 || m.T.Year() > 2151) {
				t.Errorf("%q is read as %v", text, m.T)
			}
			if again, _, f := c.parse(writeMoment(m), momentStyle{}); m.Known && !m.Zoned && (f != readable || writeMoment(again) != writeMoment(m)) {
				t.Errorf("%q is written %q, which is read as %q", text, writeMoment(m), writeMoment(again))
			}
		}
	})
}

func FuzzHeader(f *testing.F) {
	for _, seed := range []string{"sample", "Target flow [L/min]", "reading_12 (mL/min)", "reading_", "(", "[]", "volume (L)*", "Désorption"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, header string) {
		for _, d := range Descriptions() {
			names := headerNames(d)
			if c, _ := matchColumn(names, header); c != nil && simplify(header) == "" {
				t.Errorf("%q of nothing but signs is %s", header, c.Name)
			}
			for _, c := range d.Columns {
				if got, _ := matchColumn(names, " "+strings.ToUpper(c.Name)+" "); got == nil || got.Name != c.Name {
					t.Errorf("%s of %s is not found by its own name", c.Name, d.Name)
				}
			}
			nearest(header, tableNames())
		}
	})
}
