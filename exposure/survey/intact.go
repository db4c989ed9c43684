package survey

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
)

// A part of a workbook that unfolds to more than this many times its packed
// size is no sheet: those shrink to a tenth or a thirtieth. Small parts may.
const (
	mostUnfolding = 200
	smallPart     = 64 << 20
)

// intact reads every part of a workbook through and fails where one is not
// what was packed, or unfolds beyond all measure. The spreadsheet library
// passes over a checksum that does not fit: a figure would be read wrong.
func intact(raw []byte) error {
	parts, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return err
	}
	for _, part := range parts.File {
		if part.UncompressedSize64 > smallPart && part.UncompressedSize64/mostUnfolding > part.CompressedSize64 {
			return fmt.Errorf("part %s unfolds to %d MB, more than %d times its packed size",
				part.Name, part.UncompressedSize64>>20, mostUnfolding)
		}
		if err := readThrough(part); err != nil {
			return fmt.Errorf("part %s is damaged: %w", part.Name, err)
		}
	}
	return nil
}

func readThrough(part *zip.File) error {
	r, err := part.Open()
	if err != nil {
		return err
	}
	defer r.Close()
	_, err = io.Copy(io.Discard, r)
	return err
}
