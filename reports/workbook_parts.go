package reports

import (
	"archive/zip"
	"bytes"
	"cmp"
	"io"
	"slices"
	"sort"

	"github.com/xuri/excelize/v2"
)

// writeOrdered writes a workbook so that the same contents make the same
// bytes: excelize takes the parts and the list of their types from maps.
func writeOrdered(f *excelize.File, w io.Writer) error {
	if types := f.ContentTypes; types != nil {
		sort.Slice(types.Overrides, func(i, j int) bool { return types.Overrides[i].PartName < types.Overrides[j].PartName })
		sort.Slice(types.Defaults, func(i, j int) bool { return types.Defaults[i].Extension < types.Defaults[j].Extension })
	}
	var unordered bytes.Buffer
	if err := f.Write(&unordered); err != nil {
		return err
	}
	from, err := zip.NewReader(bytes.NewReader(unordered.Bytes()), int64(unordered.Len()))
	if err != nil {
		return err
	}
	slices.SortFunc(from.File, func(a, b *zip.File) int { return cmp.Compare(a.Name, b.Name) })
	to := zip.NewWriter(w)
	for _, part := range from.File {
		if err := to.Copy(part); err != nil {
			return err
		}
	}
	return to.Close()
}
