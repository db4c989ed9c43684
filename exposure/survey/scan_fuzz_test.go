package survey

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"io/fs"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"airtally/exposure/finding"
)

// held is the bytes of one file, under any path.
type held []byte

func (h held) look(string) (isFolder bool, size int64, err error) { return false, int64(len(h)), nil }
func (h held) list(string) ([]entry, error)                       { return nil, fs.ErrNotExist }
func (h held) read(string) ([]byte, error)                        { return h, nil }
func (h held) open(string) (io.ReadCloser, error)                 { return io.NopCloser(bytes.NewReader(h)), nil }
func (h held) base(path string) string                            { return filepath.Base(path) }
func (h held) holder(path string) string                          { return path }

// store packs parts without shrinking them, in the order of their names.
func store(t testing.TB, parts map[string]string) held {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, name := range slices.Sorted(maps.Keys(parts)) {
		to, err := w.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(to, parts[name]); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// wantSound reads a workbook as a survey and as sheets. It may be refused, but
// only as unusable, and what is read keeps to what a grid promises.
func wantSound(t *testing.T, h held) {
	t.Helper()
	r := Reader{from: h}
	var unusable *UnusableError
	if _, _, err := r.Read("fuzz.xlsx"); err != nil && !errors.As(err, &unusable) {
		t.Error(err)
	}
	o, err := r.openAlone("fuzz.xlsx", &finding.List{})
	if err != nil && !errors.As(err, &unusable) {
		t.Error(err)
	}
	for _, s := range o.sources {
		before := int32(0)
		for _, row := range s.grid.rows() {
			cells := s.grid.read(row, nil)
			if row <= before || row > lastRow || len(cells) == 0 || len(cells) > lastColumn || cells[len(cells)-1] == (cell{}) {
				t.Errorf("row %d after %d: %v", row, before, cells)
			}
			before = row
			for _, c := range cells {
				if math.IsNaN(c.number) || math.IsInf(c.number, 0) {
					t.Errorf("row %d: %v", row, c)
				}
			}
		}
	}
}

// FuzzWorkbook reads a workbook whose parts are any text.
func FuzzWorkbook(f *testing.F) {
	plain := smallBook(nil)
	const sheet, texts, styles, book, related = "xl/worksheets/sheet3.xml", "xl/sharedStrings.xml", "xl/styles.xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
	const listed = `<sst><si><t>sample</t></si><si><r><t xml:space="preserve">Tin </t></r><rPh><t>x</t></rPh></si><si/></sst>`
	const formats = `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd hh:mm"/><numFmt numFmtId="165" formatCode="[Red]#,##0.0;&quot;x&quot;0"/></numFmts><cellXfs><xf/><xf numFmtId="164"/><xf numFmtId="165"/><xf numFmtId="2"/></cellXfs></styleSheet>`
	for _, rows := range []string{
		`<row r="1"><c r="A1" t="inlineStr"><is><t>sample</t></is></c></row>`,
		`<row r="0"><c r="ZZZZ9"><v>1</v></c></row><row r="-1"/>`,
		`<row r="300"><c r="XFD300"><f>A1</f></c></row>`,
		`<row r="2"><c t="s"><v>99</v></c></row><row r="1"><c r="A1" s="77" t="b"><v>1</v></c></row>`,
		`<row><c t="s"><v>0</v></c><c t="s"><v>1</v></c></row><row><c s="1"><v>46083.5</v></c><c s="2"><v>-1234.5</v></c><c s="3"><v>0.005</v></c></row>`,
		`<row><c t="str"><f>A1</f><v>&lt;0.06_x000D_</v></c><c t="e"><v>#N/A</v></c></row>`, "",
	} {
		f.Add(sheetHead+rows+sheetTail, listed, formats, plain[book], plain[related])
	}
	f.Add("", "<sst>", "<!DOCTYPE x>", "<workbook/>", "<Relationships>")
	f.Fuzz(func(t *testing.T, s, l, y, b, r string) {
		wantSound(t, store(t, smallBook(map[string]string{sheet: s, texts: l, styles: y, book: b, related: r})))
	})
}

// FuzzPacked reads any bytes as a workbook.
func FuzzPacked(f *testing.F) {
	f.Add([]byte(store(f, smallBook(nil))))
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, raw []byte) { wantSound(t, raw) })
}

// FuzzFormat shows a number in any format, with and without a pattern.
func FuzzFormat(f *testing.F) {
	for _, code := range []string{"0.00", "yyyy-mm-dd hh:mm", "h:mm:ss", `0.0" mg"`, "[Red]#,##0;-0", "# ?/?", "[$-407]d. mmmm yyyy", "0%", ";;;", "000"} {
		f.Add(code, 46083.5, false)
		f.Add(code, -0.125, true)
	}
	f.Fuzz(func(t *testing.T, code string, v float64, since1904 bool) {
		if math.IsNaN(v) || math.IsInf(v, 0) || len(code) > mostCodeBytes {
			return
		}
		styles := &sheetStyles{styles: []int{0, firstOwnFormat}, codes: map[int]string{firstOwnFormat: code}, since1904: since1904}
		if want, got := showBoth(t, styles, v); got != want {
			t.Errorf("%q, %v: %q, want %q", code, v, got, want)
		}
	})
}
