package survey

import (
	"encoding/binary"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf16"
)

// dump writes the cells of a sheet, those of dates and times with their
// serials, and other numbers with what they show where that is another thing.
func dump(g grid) string {
	var out []string
	for _, row := range g.rows() {
		for at, c := range g.read(row, nil) {
			text := c.text
			switch c.kind {
			case numberKind:
				if exact := plainly(c.number); exact != text {
					text = exact + " as " + text
				}
				text = "#" + text
			case dateKind, timeKind:
				text = fmt.Sprintf("@%.5f as %s", c.number, text)
			case errorKind:
				text = "!" + text
			case formulaKind:
				text = "=?"
			}
			if c != (cell{}) {
				out = append(out, cellName(at, row)+" "+text)
			}
		}
	}
	return strings.Join(out, ", ")
}

func wantDump(t *testing.T, parts map[string]string, sheet, want string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "odd.xlsx")
	writeParts(t, path, parts)
	o, err := Disk.openAlone(path, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range o.sources {
		if s.name == sheet {
			if got := dump(s.grid); got != want {
				t.Errorf("cells:\n%s\nwant:\n%s", got, want)
			}
			return
		}
	}
	t.Errorf("no sheet %q", sheet)
}

// What the marks of a cell mean: ISO/IEC 29500-1, 18.3.1.4 (c), 18.3.1.53 (is),
// 18.3.1.96 (v), 18.4 (texts), 18.18.11 (types), 22.9.2.19 (escapes).
func TestOddCells(t *testing.T) {
	for name, c := range map[string]struct{ rows, want string }{
		"no names":             {`<row><c><v>1</v></c><c/><c><v>2</v></c></row><row/><row><c t="str"><v>x</v></c></row>`, "A1 #1, C1 #2, A3 x"},
		"names now and then":   {`<row r="3"><c r="C3"><v>1</v></c><c><v>2</v></c></row><row><c><v>3</v></c></row>`, "C3 #1, D3 #2, A4 #3"},
		"blank rows and cells": {`<row r="2" ht="30"/><row r="900"><c r="A900" s="0"/><c r="AA900" t="s"/><c r="XFD900"><v>1</v></c></row>`, "XFD900 #1"},
		"out of order":         {`<row r="5"><c r="B5"><v>2</v></c><c r="A5"><v>1</v></c></row><row r="2"><c r="A2"><v>9</v></c></row>`, "A2 #9, A5 #1, B5 #2"},
		"small letters":        {`<row r="2"><c r="b2"><v>1</v></c></row>`, "B2 #1"},
		"types": {`<row><c t="b"><v>1</v></c><c t="b"><v>0</v></c><c t="b"><v>true</v></c><c t="e"><v>#DIV/0!</v></c><c t="n"><v>5</v></c><c t="d"><v>2026-03-02T22:10:00</v></c></row>`,
			"A1 yes, B1 no, C1 yes, D1 !#DIV/0!, E1 #5, F1 2026-03-02T22:10:00"},
		"formulas": {`<row><c><f>1+1</f><v>2</v></c><c t="str"><f>"a"</f><v>a</v></c><c><f>A1</f></c><c><f>A1</f><v/></c><c t="str"><f>""</f><v></v></c><c t="str"><f>B1</f></c><c><f t="shared" si="0"/></c></row>`,
			"A1 #2, B1 a, C1 =?, D1 =?, F1 =?, G1 =?"},
		"numbers": {`<row><c><v>1E-2</v></c><c><v> 7
</v></c><c><v>1e999</v></c><c><v>NaN</v></c><c><v>0x10</v></c><c><v>12345678901234567890</v></c><c><v>0.10000000000000001</v></c></row>`,
			"A1 #0.01, B1 #7, C1 1e999, D1 NaN, E1 0x10, F1 #12345678901234567000 as 12345678901234567890, G1 #0.1 as 0.10000000000000001"},
		"escapes": {`<row><c t="str"><v>&lt;0.06 &amp; &#956;g &#x3BC;g&apos;&quot;</v></c><c t="inlineStr"><is><t>a_x000D_b_x005F_x0041__xD83D__xDE00__xZ041_</t></is></c><c t="str"><v><![CDATA[<5 & ]]><!-- no -->x</v></c></row>`,
			"A1 <0.06 & μg μg'\", B1 a\rb_x0041_\U0001F600_xZ041_, C1 <5 & x"},
		"ends of lines":   {"<row><c t=\"str\"><v>a\r\nb\rc&#13;d</v></c></row>", "A1 a\nb\nc\rd"},
		"runs":            {`<row><c t="inlineStr"><is><r><rPr><b/></rPr><t>0.</t></r><r><t xml:space="preserve">5 </t></r><rPh sb="0" eb="1"><t>no</t></rPh><phoneticPr fontId="1"/></is></c></row>`, "A1 0.5 "},
		"spaces":          {`<row><c t="inlineStr"><is><t xml:space="preserve">  a  </t></is></c><c t="str"><v xml:space="preserve"> b</v></c></row>`, "A1   a  , B1  b"},
		"beside the rows": {`<row><c><v>1</v></c></row></sheetData><mergeCells><mergeCell ref="A1:B2"/></mergeCells><extLst><ext><x14:sheetData xmlns:x14="u"><x14:row r="1"><x14:c r="A1"><x14:v>9</x14:v></x14:c></x14:row></x14:sheetData></ext></extLst><sheetData>`, "A1 #1"},
	} {
		t.Run(name, func(t *testing.T) { wantDump(t, labSheet(c.rows), "lab", c.want) })
	}
}

// Styles: ISO/IEC 29500-1, 18.8.10 (cellXfs), 18.8.30 (numFmt). That a style of
// a row or column tells what the number of a cell without one is, but does not
// show it, is what the spreadsheet library does.
func TestOddStyles(t *testing.T) {
	parts := labSheet(`<row><c s="1"><v>7</v></c><c s="2"><v>0.125</v></c><c s="3"><v>1234.5</v></c><c s="4"><v>46083.5</v></c><c s="5"><v>46083.5</v></c><c s="6"><v>0.5</v></c></row>` +
		`<row s="4" customFormat="1"><c><v>46083.25</v></c><c s="7"><v>0.000000123</v></c></row><row r="3"><c r="H3"><v>46083</v></c></row>`)
	parts["xl/worksheets/sheet3.xml"] = strings.Replace(parts["xl/worksheets/sheet3.xml"], "<sheetData>", `<cols><col min="8" max="9" style="5"/></cols><sheetData>`, 1)
	parts["xl/styles.xml"] = `<styleSheet><numFmts><numFmt numFmtId="170" formatCode="000"/><numFmt numFmtId="171" formatCode="&quot;S-&quot;0"/></numFmts>` +
		`<dxfs><dxf><numFmt numFmtId="170" formatCode="0%"/></dxf></dxfs><cellStyleXfs><xf numFmtId="9"/></cellStyleXfs>` +
		`<cellXfs><xf numFmtId="0"/><xf numFmtId="170"/><xf numFmtId="9"/><xf numFmtId="4"/><xf numFmtId="14"/><xf numFmtId="22"/><xf numFmtId="20"/><xf numFmtId="0"/></cellXfs></styleSheet>`
	wantDump(t, parts, "lab", "A1 #7 as 007, B1 #0.125 as 13%, C1 #1234.5 as 1,234.50, D1 @46083.50000 as 03-02-26, E1 @46083.50000 as 3/2/26 12:00, F1 @0.50000 as 12:00, "+
		"A2 @46083.25000 as 46083.25, B2 #0.000000123, H3 @46083.00000 as 46083")
}

// Where the parts of a workbook are and how they are written: ISO/IEC 29500-2,
// 6.2 and 6.5, and 29500-1, 12.3.
func TestOddParts(t *testing.T) {
	const sheet, want = "xl/worksheets/sheet3.xml", "A1 sample, B1 analyte, C1 result, D1 unit, A2 S-1, B2 Tin, C2 2.5, D2 ug"
	plain := smallBook(nil)[sheet]
	change := func(old, new string) map[string]string {
		parts := smallBook(nil)
		moved := make(map[string]string)
		for name, text := range parts {
			moved[strings.ReplaceAll(name, old, new)] = strings.ReplaceAll(text, old, new)
		}
		return moved
	}
	replaced := func(text string) map[string]string { return smallBook(map[string]string{sheet: text}) }
	prefixed := strings.NewReplacer("</", "</x:", "<", "<x:", "xmlns=", "xmlns:x=")
	elsewhere := change("worksheets/sheet3.xml", "odd%20place/Sheet.XML")
	elsewhere["xl/odd place/sheet.xml"] = elsewhere["xl/odd%20place/Sheet.XML"]
	delete(elsewhere, "xl/odd%20place/Sheet.XML")
	noRoot := smallBook(nil)
	delete(noRoot, "_rels/.rels")
	commented := "<?xml version=\"1.0\" encoding='utf-8'?>\r\n<!-- <sheetData> -->\r\n" + plain + "\r\n<!-- end -->\n"
	for name, parts := range map[string]map[string]string{
		"strict":                    change("http://schemas.openxmlformats.org/spreadsheetml/2006/main", "http://purl.oclc.org/ooxml/spreadsheetml/main"),
		"strict relations":          change(relationships, "http://purl.oclc.org/ooxml/officeDocument/relationships"),
		"a prefix":                  replaced(prefixed.Replace(plain)),
		"UTF-8 with a mark":         replaced("\uFEFF" + plain),
		"UTF-16, little end":        replaced(inUTF16(binary.LittleEndian, "\uFEFF"+plain)),
		"UTF-16, big end":           replaced(inUTF16(binary.BigEndian, "\uFEFF<?xml version=\"1.0\" encoding=\"UTF-16\"?>"+plain)),
		"UTF-16 without a mark":     replaced(inUTF16(binary.LittleEndian, plain)),
		"Latin letters":             replaced(`<?xml version="1.0" encoding="ISO-8859-1"?>` + plain),
		"comments":                  replaced(commented),
		"an absolute target":        related("/xl/worksheets/sheet3.xml"),
		"a roundabout target":       related("../xl/./worksheets/sheet3.xml"),
		"a target in small letters": related("WorkSheets/Sheet3.XML"),
		"a target with backslashes": related(`worksheets\sheet3.xml`),
		"an escaped place":          elsewhere,
		"another folder":            change("xl/", "book/"),
		"backslashes":               change("_rels/workbook.xml.rels", `_rels\workbook.xml.rels`),
		"no relations at the root":  noRoot,
	} {
		t.Run(name, func(t *testing.T) { wantDump(t, parts, "lab", want) })
	}
}

func inUTF16(order binary.AppendByteOrder, text string) string {
	var out []byte
	for _, unit := range utf16.Encode([]rune(text)) {
		out = order.AppendUint16(out, unit)
	}
	return string(out)
}

func TestOddSheets(t *testing.T) {
	parts := smallBook(nil)
	parts["xl/workbook.xml"] = strings.NewReplacer(`name="samples"`, `name="&lt;Sämples&gt; &amp; &quot;more&quot; 様"`, `name="flows"`, `name="flows" state="veryHidden"`, `name="lab"`, `state='hidden' name='_x006C_ab'`).Replace(parts["xl/workbook.xml"])
	path := filepath.Join(t.TempDir(), "odd.xlsx")
	writeParts(t, path, parts)
	o, err := Disk.openAlone(path, nil)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range o.sources {
		got = append(got, fmt.Sprintf("%s %t", s.name, s.hidden))
	}
	if want := `<Sämples> & "more" 様 false, flows true, lab true`; strings.Join(got, ", ") != want {
		t.Errorf("sheets %s, want %s", strings.Join(got, ", "), want)
	}
}

// A part comes in pieces of any size; where they end means nothing.
func TestMarkupInPieces(t *testing.T) {
	const part = `<?xml version="1.0"?><!-- <a> --><x:a p:b="1>2" c = '&lt;"'><![CDATA[<&]]]]>t&#x41;<b/></x:a  ><!-- end -->`
	tell := func(in io.Reader) string {
		var out []string
		m := newMarkup(in)
		for {
			token, err := m.next()
			switch {
			case err != nil:
				return err.Error()
			case token == endOfPart:
				return strings.Join(out, " ")
			case token == openingMark:
				out = append(out, fmt.Sprintf("%d<%s b=%s c=%s>", m.depth(), m.name, m.prefixed("b"), m.word("c")))
			case token == closingMark:
				out = append(out, fmt.Sprintf("%d</%s>", m.depth(), m.name))
			default:
				text, err := m.appendText(nil)
				out = append(out, fmt.Sprintf("%q %v", text, err))
			}
		}
	}
	want := `1<a b=1>2 c=<"> "<&]]" <nil> "tA" <nil> 2<b b= c=> 1</b> 0</a>`
	for name, in := range map[string]io.Reader{
		"whole": strings.NewReader(part), "bytes": iotest.OneByteReader(strings.NewReader(part)), "halves": iotest.HalfReader(strings.NewReader(part)),
		"the end with the last": iotest.DataErrReader(strings.NewReader(part)),
	} {
		if got := tell(in); got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
	for cut := range part[:len(part)-len("<!-- end -->")] {
		if got := tell(strings.NewReader(part[:cut])); got != "it ends in the middle" && !strings.HasPrefix(got, "it declares") {
			t.Errorf("%q: %s", part[:cut], got)
		}
	}
}
