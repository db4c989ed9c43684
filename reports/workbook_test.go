package reports

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// dump returns the cells of a workbook as they are shown, a row a line.
func dump(t *testing.T, data []byte) []byte {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(data))
	require.NoError(t, err)
	defer f.Close()
	var b bytes.Buffer
	for _, name := range f.GetSheetList() {
		fmt.Fprintf(&b, "[%s]\n", name)
		rows, err := f.GetRows(name)
		require.NoError(t, err)
		for _, row := range rows {
			b.WriteString(strings.TrimRight(strings.Join(row, " | "), " ") + "\n")
		}
	}
	return b.Bytes()
}

// part returns one part of a workbook, such as xl/worksheets/sheet2.xml.
func part(t *testing.T, data []byte, name string) string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	f, err := z.Open(name)
	require.NoError(t, err)
	defer f.Close()
	text, err := io.ReadAll(f)
	require.NoError(t, err)
	return string(text)
}
