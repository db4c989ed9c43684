package survey

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"hash/crc32"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

const (
	sheetHead = `<worksheet xmlns="` + transitional + `"><sheetData>`
	sheetTail = `</sheetData></worksheet>`
)

// inlineSheet is a sheet of texts.
func inlineSheet(rows ...[]string) string {
	out := sheetHead
	for i, row := range rows {
		out += fmt.Sprintf(`<row r="%d">`, i+1)
		for at, text := range row {
			out += fmt.Sprintf(`<c r="%s" t="inlineStr"><is><t>%s</t></is></c>`, cellName(at, int32(i+1)), text)
		}
		out += `</row>`
	}
	return out + sheetTail
}

// smallBook is a survey in a workbook as small as may be.
func smallBook(change map[string]string) map[string]string {
	parts := bookParts(map[string]string{
		"xl/worksheets/sheet1.xml": inlineSheet([]string{"sample", "kind"}, []string{"S-1", "area"}),
		"xl/worksheets/sheet2.xml": inlineSheet([]string{"train", "leg", "stage", "readings"}, []string{"T-1", "A", "pre", "2.00"}),
		"xl/worksheets/sheet3.xml": inlineSheet([]string{"sample", "analyte", "result", "unit"}, []string{"S-1", "Tin", "2.5", "ug"}),
	}, "samples", "flows", "lab")
	for name, text := range change {
		parts[name] = text
	}
	return parts
}

// labSheet is a small survey whose laboratory sheet has other rows.
func labSheet(rows string) map[string]string {
	return smallBook(map[string]string{"xl/worksheets/sheet3.xml": sheetHead + rows + sheetTail})
}

// related is a small survey whose laboratory sheet is said to be elsewhere.
func related(target string) map[string]string {
	parts := smallBook(nil)
	const list = "xl/_rels/workbook.xml.rels"
	parts[list] = strings.Replace(parts[list], "worksheets/sheet3.xml", target, 1)
	return parts
}

func TestHostileParts(t *testing.T) {
	const declared = `<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>`
	const noType = "it declares a document type, which may hide anything in entities; no spreadsheet writes one"
	lab := `sheet "lab": part xl/worksheets/sheet3.xml: `
	for name, c := range map[string]struct {
		parts map[string]string
		want  string
	}{
		"entities in a sheet":        {smallBook(map[string]string{"xl/worksheets/sheet3.xml": declared + inlineSheet([]string{"&b;"})}), lab + noType},
		"entities in the workbook":   {smallBook(map[string]string{"xl/workbook.xml": declared + "<workbook/>"}), "part xl/workbook.xml: " + noType},
		"entities in the texts":      {smallBook(map[string]string{"xl/sharedStrings.xml": declared + "<sst/>"}), "part xl/sharedStrings.xml: " + noType},
		"an entity of nobody":        {labSheet(`<row><c t="str"><v>&b;</v></c></row>`), lab + `it holds "&b;", which stands for no letter`},
		"a column beyond XFD":        {labSheet(`<row r="1"><c r="XFE1"><v>1</v></c></row>`), lab + `it has a cell "XFE1" in row 1, which is none; columns end at XFD`},
		"a column of many letters":   {labSheet(`<row r="1"><c r="` + strings.Repeat("A", 1<<20) + `1"/></row>`), lab + `it has a cell "AAAAAAAAAAAAAAAAAAAA" in row 1, which is none; columns end at XFD`},
		"a million columns":          {labSheet(`<row r="1">` + strings.Repeat(`<c><v>1</v></c>`, 1_000_000) + `</row>`), lab + "it has more than 16384 columns in row 1"},
		"a million times one cell":   {labSheet(`<row r="1">` + strings.Repeat(`<c r="A1"><v>1</v></c>`, 1_000_000) + `</row>`), lab + "it has more cells in row 1 than there are columns"},
		"a wide cell in every row":   {labSheet(strings.Repeat(`<row><c/><c/></row>`, 9) + wideRows(2000)), lab + "there are more than 20000000 cells"},
		"a row beyond the last":      {labSheet(`<row r="1048577"/>`), lab + "it has a row 1048577; a sheet ends at row 1048576"},
		"a row beyond counting":      {labSheet(`<row r="99999999999999999999"/>`), lab + `the mark <row> has r="99999999999999999999", which is no number`},
		"a row zero":                 {labSheet(`<row r="0"/>`), lab + "it has a row 0; a sheet ends at row 1048576"},
		"a row twice":                {labSheet(`<row r="7"><c><v>1</v></c></row><row r="3"><c><v>1</v></c></row><row r="7"><c r="B7"><v>2</v></c></row>`), lab + "it has the row 7 twice"},
		"a cell twice":               {labSheet(`<row r="7"><c r="B7"><v>1</v></c><c r="A7"><v>1</v></c><c r="B7"><v>2</v></c></row>`), lab + "it has the cell B7 twice"},
		"a cell of another row":      {labSheet(`<row r="7"><c r="B8"><v>1</v></c></row>`), lab + "it has the cell B8 in row 7"},
		"a text beyond the list":     {labSheet(`<row r="7"><c r="B7" t="s"><v>99999999999</v></c></row>`), lab + `its cell B7 refers to the text number "99999999999"; the workbook holds 0`},
		"a text before the list":     {labSheet(`<row r="7"><c r="B7" t="s"><v>-1</v></c></row>`), lab + `its cell B7 refers to the text number "-1"; the workbook holds 0`},
		"a style beyond the list":    {labSheet(`<row r="7"><c r="B7" s="1"><v>1</v></c></row>`), lab + `its cell B7 has the style "1", which the workbook lacks`},
		"a format beyond measure":    {withFormats(1, strings.Repeat("0", 1<<20)), lab + "its cell A1 has a number format of 1048579 letters"},
		"formats without number":     {withFormats(5000, "0"), lab + "its cell BZU1 has one number format more than the 2048 that can be told apart"},
		"styles without number":      {smallBook(map[string]string{"xl/styles.xml": "<styleSheet><cellXfs>" + strings.Repeat("<xf/>", 70_000) + "</cellXfs></styleSheet>"}), "part xl/styles.xml: it has more than 65536 styles"},
		"relations without number":   {smallBook(map[string]string{"xl/_rels/workbook.xml.rels": "<Relationships>" + strings.Repeat(`<Relationship Target="x"/>`, 20_000) + "</Relationships>"}), "part xl/_rels/workbook.xml.rels: it lists more than 16384 relations"},
		"columns without number":     {smallBook(map[string]string{"xl/worksheets/sheet3.xml": "<worksheet><cols>" + strings.Repeat("<col/>", 20_000) + "</cols></worksheet>"}), lab + "it describes more than 16384 columns"},
		"marks nested deep":          {labSheet(strings.Repeat("<x>", 1_000_000)), lab + "its marks are nested more than 64 deep"},
		"a text without end":         {labSheet(`<row><c t="str"><v>` + strings.Repeat("a\n", 10<<20) + `</v></c></row>`), lab + "a text or mark in it is longer than 16 MB"},
		"a mark without end":         {labSheet(`<row r="` + strings.Repeat("1\n", 10<<20)), lab + "a text or mark in it is longer than 16 MB"},
		"a sheet cut short":          {smallBook(map[string]string{"xl/worksheets/sheet3.xml": sheetHead + `<row r="1"><c r="A1"><v>1</v></c></row>`}), lab + "it ends in the middle"},
		"remarks without number":     {smallBook(map[string]string{"xl/worksheets/sheet3.xml": strings.Repeat(" <!---->", 6<<20)}), lab + "it ends in the middle"},
		"marks that cross":           {labSheet(`<row><c></row></c>`), lab + "it closes <row> where <c> is open"},
		"bytes that are no letters":  {labSheet("<row><c t=\"str\"><v>\xff\xfe</v></c></row>"), lab + "it holds bytes that are no letters in UTF-8"},
		"an unknown encoding":        {smallBook(map[string]string{"xl/worksheets/sheet3.xml": `<?xml version="1.0" encoding="x-secret"?>` + inlineSheet()}), lab + `it is written in the encoding "x-secret", which is not known`},
		"a sheet that is a workbook": {related("workbook.xml"), `sheet "lab": part xl/workbook.xml: it is no sheet but "workbook"`},
		"a sheet outside":            {related("../../../etc/passwd"), `part xl/_rels/workbook.xml.rels: it refers to "../../../etc/passwd", which leads out of the workbook`},
		"a sheet outside, escaped":   {related("%2e%2e/%2e%2e/%2e%2e/etc/passwd"), `part xl/_rels/workbook.xml.rels: it refers to "%2e%2e/%2e%2e/%2e%2e/etc/passwd", which leads out of the workbook`},
		"a sheet that is nowhere":    {related("worksheets/sheet4.xml"), `sheet "lab": it lacks the part "xl/worksheets/sheet4.xml"`},
		"no relations":               {smallBook(map[string]string{"xl/_rels/workbook.xml.rels": "<Relationships/>"}), `sheet "samples" has no part: its relation "rId1" is missing`},
		"no workbook":                {map[string]string{"readme.txt": "x"}, `it lacks the part "xl/workbook.xml"`},
		"a part outside":             {smallBook(map[string]string{"../evil.xml": "x"}), `it holds a part "../evil.xml"; such a name may lead out of a folder`},
		"a part twice but for case":  {smallBook(map[string]string{"XL/Workbook.xml": "x"}), `it holds the part "xl/workbook.xml" twice`},
		"sheets without number":      {smallBook(map[string]string{"xl/workbook.xml": "<workbook><sheets>" + strings.Repeat(`<sheet name="x"/>`, 5000) + "</sheets></workbook>"}), "part xl/workbook.xml: it lists more than 4096 sheets"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "hostile.xlsx")
			writeParts(t, path, c.parts)
			remedy := "save it again as .xlsx in a spreadsheet"
			if name == "a wide cell in every row" {
				remedy = makeSmaller
			}
			if strings.HasPrefix(name, "a part twice") { // whichever comes second
				c.want = strings.Replace(c.want, "xl/workbook.xml", secondOf(t, path), 1)
			}
			wantRefused(t, path, "hostile.xlsx: cannot be read as a workbook: "+c.want+"; "+remedy)
		})
	}
}

// withFormats is a small survey whose laboratory sheet has a cell of each of n
// number formats.
func withFormats(n int, code string) map[string]string {
	var formats, styles, cells strings.Builder
	for i := range n {
		fmt.Fprintf(&formats, `<numFmt numFmtId="%d" formatCode="%s&quot;%d&quot;"/>`, firstOwnFormat+i, code, i)
		fmt.Fprintf(&styles, `<xf numFmtId="%d"/>`, firstOwnFormat+i)
		fmt.Fprintf(&cells, `<c s="%d"><v>1</v></c>`, i+1)
	}
	parts := labSheet(`<row r="1">` + cells.String() + `</row>`)
	parts["xl/styles.xml"] = `<styleSheet><numFmts>` + formats.String() + `</numFmts><cellXfs><xf/>` + styles.String() + `</cellXfs></styleSheet>`
	return parts
}

func wideRows(n int) string {
	var out strings.Builder
	for i := range n {
		fmt.Fprintf(&out, `<row r="%d"><c r="XFD%d"><v>1</v></c></row>`, i+10, i+10)
	}
	return out.String()
}

// secondOf returns the name of the part of a workbook that is there already.
func secondOf(t *testing.T, path string) string {
	t.Helper()
	r, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	second := ""
	for _, f := range r.File {
		if strings.EqualFold(f.Name, "xl/workbook.xml") {
			second = f.Name
		}
	}
	return second
}

// wantRefused reads a workbook that must be refused, in little time and
// memory.
func wantRefused(t *testing.T, path, want string) {
	t.Helper()
	const mostSeconds, mostMB = 20, 200
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	wantUnusable(t, path, want)
	runtime.ReadMemStats(&after)
	if took, took2 := time.Since(start).Seconds(), (after.TotalAlloc-before.TotalAlloc)>>20; took > mostSeconds || took2 > mostMB {
		t.Errorf("refused in %.1f s with %d MB", took, took2)
	}
}

// packedPart is one part as it stands in a packed file, honest or not.
type packedPart struct {
	name      string
	text      []byte
	says, sum uint64 // how many bytes it says to be, and its checksum
	wrongSum  bool
}

// writePacked packs parts behind those of a small survey.
func writePacked(t *testing.T, parts ...packedPart) string {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	shrink, err := flate.NewWriter(nil, flate.BestSpeed)
	if err != nil {
		t.Fatal(err)
	}
	all := smallBook(nil)
	for _, p := range parts {
		delete(all, p.name)
	}
	for name, text := range all {
		parts = append(parts, packedPart{name: name, text: []byte(text)})
	}
	for _, p := range parts {
		if p.says == 0 {
			p.says = uint64(len(p.text))
		}
		var packed bytes.Buffer
		shrink.Reset(&packed)
		if _, err := shrink.Write(p.text); err != nil {
			t.Fatal(err)
		}
		if err := shrink.Close(); err != nil {
			t.Fatal(err)
		}
		sum := crc32.ChecksumIEEE(p.text)
		if p.wrongSum {
			sum++
		}
		to, err := w.CreateRaw(&zip.FileHeader{Name: p.name, Method: zip.Deflate, CRC32: sum, CompressedSize64: uint64(packed.Len()), UncompressedSize64: p.says})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := to.Write(packed.Bytes()); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return writeFile(t, "hostile.xlsx", out.Bytes())
}

func TestHostilePacking(t *testing.T) {
	const sheet, start = "xl/worksheets/sheet3.xml", "hostile.xlsx: cannot be read as a workbook: "
	const again = "; save it again as .xlsx in a spreadsheet"
	long := []byte(sheetHead + strings.Repeat(" ", 70<<20) + sheetTail)
	wantRefused(t, writePacked(t, packedPart{name: sheet, text: long}),
		start+`part xl/worksheets/sheet3.xml unfolds to 70 MB, more than 200 times its packed size; save it again as .xlsx in a spreadsheet, from where you know it to be sound`)
	wantRefused(t, writePacked(t, packedPart{name: "xl/media/image1.png", text: long}),
		start+`part xl/media/image1.png unfolds to 70 MB, more than 200 times its packed size; save it again as .xlsx in a spreadsheet, from where you know it to be sound`)
	wantRefused(t, writePacked(t, packedPart{name: sheet, text: long, says: 1000}),
		start+`sheet "lab": part xl/worksheets/sheet3.xml is damaged: zip: not a valid zip file`+again)
	wantRefused(t, writePacked(t, packedPart{name: sheet, text: []byte(inlineSheet()), says: 5000}),
		start+`sheet "lab": part xl/worksheets/sheet3.xml is damaged: unexpected EOF`+again)
	wantRefused(t, writePacked(t, packedPart{name: sheet, text: []byte(inlineSheet()), wrongSum: true}),
		start+`sheet "lab": part xl/worksheets/sheet3.xml is damaged: zip: checksum error`+again)
	wantRefused(t, writePacked(t, packedPart{name: "xl/twice.xml"}, packedPart{name: "xl/twice.xml"}),
		start+`it holds the part "xl/twice.xml" twice`+again)
	var many []packedPart
	for i := range 120_000 {
		many = append(many, packedPart{name: fmt.Sprintf("xl/%0100d.xml", i)})
	}
	wantRefused(t, writePacked(t, many...), start+"its list of members is too long"+again)
}

// A packed file within the packed file, however deep, is never opened.
func TestNestedPacking(t *testing.T) {
	inner := bytes.Repeat([]byte{0}, 10<<20)
	path := writePacked(t, packedPart{name: "xl/media/image1.zip", text: inner})
	s, list, err := Read(path)
	if err != nil || len(s.Lab) != 1 || list.Len() != 0 {
		t.Errorf("%v, %v", err, lines(list, ""))
	}
}
