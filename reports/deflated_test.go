package reports

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/xml"
	"hash/crc32"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

func TestChecksumsJoin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.SliceOf(rapid.Byte()).Draw(t, "a"), rapid.SliceOf(rapid.Byte()).Draw(t, "b")
		whole := crc32.ChecksumIEEE(append(bytes.Clone(a), b...))
		if got := joinCRC32(crc32.ChecksumIEEE(a), crc32.ChecksumIEEE(b), uint64(len(b))); got != whole {
			t.Fatalf("%08x, not %08x", got, whole)
		}
	})
}

func TestPiecesOfAPartReadAsOne(t *testing.T) {
	rows := newSheetRows(2)
	for i := range 5000 {
		rows.add(i+1, 0, []excelize.Cell{{Value: float64(i)}, {Value: "x"}})
	}
	pieces, err := withRows([]byte("<worksheet><sheetData></sheetData><end/></worksheet>"), rows.end())
	require.NoError(t, err)
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	require.NoError(t, writePieces(w, "sheet.xml", pieces))
	require.NoError(t, w.Close())
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	require.NoError(t, err)
	f, err := z.Open("sheet.xml")
	require.NoError(t, err)
	text, err := io.ReadAll(f) // which checks size and checksum
	require.NoError(t, err)
	require.True(t, bytes.HasSuffix(text, []byte("</row></sheetData><end/></worksheet>")))
	require.Equal(t, 5000, bytes.Count(text, []byte("<row ")))
}

// Any text comes back from the XML of a cell; what XML cannot hold comes back
// as the replacement character.
func TestTextOfACellComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		var back string
		if err := xml.Unmarshal(append(appendXML([]byte("<t>"), text), "</t>"...), &back); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if want := string(bytes.Map(asXML, []byte(text))); back != want {
			t.Fatalf("%q became %q", text, back)
		}
	})
	require.Equal(t, "_x005F_x0041_", escaped("_x0041_"))
}

// asXML is what XML 1.0 holds of a character (its production 2).
func asXML(r rune) rune {
	if r == '\t' || r == '\n' || r == '\r' || r >= 0x20 && r <= 0xD7FF || r >= 0xE000 && r <= 0xFFFD || r >= 0x10000 {
		return r
	}
	return '�'
}

// A step that the rows looked at do not have makes the workbook look at all.
func TestASeldomStepIsFound(t *testing.T) {
	r := reduced(t, "../testdata/demo")
	whole := workbook(t, r)
	defer func(rows, each int) { stepRows, stepEach = rows, each }(stepRows, stepEach)
	stepRows, stepEach = 1, 1<<30
	require.ErrorIs(t, r.writeWorkbook(context.Background(), io.Discard, false), newStep)
	require.True(t, bytes.Equal(whole, workbook(t, r)))
}
