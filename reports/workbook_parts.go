package reports

import (
	"archive/zip"
	"bytes"
	"cmp"
	"errors"
	"io"
	"io/fs"
	"slices"
	"sort"

	"github.com/xuri/excelize/v2"
)

// writeOrdered writes a workbook so that the same contents make the same
// bytes: excelize takes the parts and the list of their types from maps. The
// rows of some sheets were made beforehand, by the name of the sheet's part.
func writeOrdered(f *excelize.File, rows map[string]*deflated, w io.Writer) error {
	if types := f.ContentTypes; types != nil {
		sort.Slice(types.Overrides, func(i, j int) bool { return types.Overrides[i].PartName < types.Overrides[j].PartName })
		sort.Slice(types.Defaults, func(i, j int) bool { return types.Defaults[i].Extension < types.Defaults[j].Extension })
	}
	f.SetZipWriter(func(w io.Writer) excelize.ZipWriter { return &parts{to: w, rows: rows} })
	return f.Write(w)
}

// parts gathers the parts of a workbook, each compressed beside the others,
// and writes them in the order of their names.
type parts struct {
	to   io.Writer
	rows map[string]*deflated
	all  []*bookPart
}

// bookPart is one part in the making. A sheet whose rows were made beforehand
// is held as text until they are put into it.
type bookPart struct {
	name  string
	body  *deflated
	rows  *deflated
	sheet bytes.Buffer
}

// Create begins a part; the one before it has all its bytes.
func (p *parts) Create(name string) (io.Writer, error) {
	p.endLast()
	part := &bookPart{name: name, rows: p.rows[name]}
	p.all = append(p.all, part)
	if part.rows != nil {
		return &part.sheet, nil
	}
	part.body = deflate()
	return part.body, nil
}

// AddFS is not needed of a workbook.
func (p *parts) AddFS(fs.FS) error { return errors.ErrUnsupported }

func (p *parts) endLast() {
	if n := len(p.all); n > 0 && p.all[n-1].body != nil {
		p.all[n-1].body.end()
	}
}

// Close writes the parts.
func (p *parts) Close() error {
	p.endLast()
	slices.SortFunc(p.all, func(a, b *bookPart) int { return cmp.Compare(a.name, b.name) })
	w := zip.NewWriter(p.to)
	for _, part := range p.all {
		pieces := []*deflated{part.body}
		if part.rows != nil {
			var err error
			if pieces, err = withRows(part.sheet.Bytes(), part.rows); err != nil {
				return err
			}
		}
		if err := writePieces(w, part.name, pieces); err != nil {
			return err
		}
	}
	return w.Close()
}

// emptyRows is what a sheet without rows has in their place.
var emptyRows = []byte("<sheetData></sheetData>")

// withRows puts rows into a sheet that has none.
func withRows(sheet []byte, rows *deflated) ([]*deflated, error) {
	before, after, found := bytes.Cut(sheet, emptyRows)
	if !found {
		return nil, errors.New("a sheet has no place for its rows")
	}
	head, tail := deflate(), deflate()
	head.take(slices.Concat(before, []byte("<sheetData>")))
	head.pause()
	tail.take(slices.Concat([]byte("</sheetData>"), after))
	tail.end()
	return []*deflated{head, rows, tail}, nil
}

// writePieces writes a part whose compressed pieces follow one another.
func writePieces(w *zip.Writer, name string, pieces []*deflated) error {
	h := &zip.FileHeader{Name: name, Method: zip.Deflate}
	for _, piece := range pieces {
		if err := piece.wait(); err != nil {
			return err
		}
		h.CRC32 = joinCRC32(h.CRC32, piece.crc, piece.size)
		h.UncompressedSize64 += piece.size
		h.CompressedSize64 += uint64(piece.compressed.size)
	}
	to, err := w.CreateRaw(h)
	if err != nil {
		return err
	}
	for _, piece := range pieces {
		if err := piece.compressed.writeTo(to); err != nil {
			return err
		}
	}
	return nil
}
