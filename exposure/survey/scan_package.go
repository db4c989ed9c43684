package survey

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/url"
	"path"
	"strings"
	"sync"

	"github.com/klauspost/compress/flate"
)

// refusal says why a workbook is not read and what to do, where saving it
// again would not help.
type refusal struct{ what, remedy string }

func (r *refusal) Error() string { return r.what }

const makeSmaller = "split the survey, or give a folder of .csv files"

// parcel is a workbook as the parts of a packed file. Nothing is unpacked to
// the disk.
type parcel struct {
	parts map[string]*zip.File // by their plain names
	left  int64                // how many bytes may yet unfold
}

// openParcel lists the parts of a workbook. Names differ by more than case.
func openParcel(raw []byte) (*parcel, error) {
	directory := &metered{bytes.NewReader(raw), mostDirectoryBytes}
	r, err := zip.NewReader(directory, int64(len(raw)))
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, err
	}
	directory.left = 1 << 62 // the list is read; parts have bounds of their own
	r.RegisterDecompressor(zip.Deflate, flate.NewReader)
	p := &parcel{make(map[string]*zip.File, len(r.File)), maxUnpackedBytes}
	for _, f := range r.File {
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		name := plainPart(f.Name)
		if !properName(name) {
			return nil, fmt.Errorf("it holds a part %.80q; such a name may lead out of a folder", f.Name)
		}
		if p.parts[name] != nil {
			return nil, fmt.Errorf("it holds the part %.80q twice", f.Name)
		}
		p.parts[name] = f
	}
	return p, p.measure(r.File)
}

// measure refuses a workbook that unfolds beyond all measure, also in parts
// that are not read here. No part unfolds to more than it says: that is seen to
// when it is read.
func (p *parcel) measure(parts []*zip.File) error {
	left := p.left
	for _, f := range parts {
		size := f.UncompressedSize64
		if size > smallPart && size/mostUnfolding > f.CompressedSize64 {
			return &refusal{fmt.Sprintf("part %s unfolds to %d MB, more than %d times its packed size", f.Name, size>>20, mostUnfolding),
				"save it again as .xlsx in a spreadsheet, from where you know it to be sound"}
		}
		if size > uint64(left) {
			return tooMuch()
		}
		left -= int64(size)
	}
	return nil
}

func tooMuch() error {
	return &refusal{fmt.Sprintf("it unfolds to more than %d MB", maxUnpackedBytes>>20), makeSmaller}
}

// plainPart is the name of a part as all writers of workbooks would write it.
func plainPart(name string) string {
	return strings.TrimPrefix(strings.ToLower(strings.ReplaceAll(name, `\`, "/")), "/")
}

func (p *parcel) has(part string) bool { return p.parts[plainPart(part)] != nil }

// scan reads a part as XML, token by token. Unpacking goes on beside it.
func (p *parcel) scan(part string, each func(m *markup) error) error {
	f := p.parts[plainPart(part)]
	if f == nil {
		return fmt.Errorf("it lacks the part %.80q", part)
	}
	if p.left -= int64(f.UncompressedSize64); p.left < 0 { // several sheets may be one part
		return tooMuch()
	}
	packed, err := f.Open()
	if err != nil {
		return fmt.Errorf("part %s is damaged: %w", f.Name, err)
	}
	defer packed.Close()
	from, to := io.Pipe()
	var wait sync.WaitGroup
	wait.Go(func() {
		_, err := io.CopyBuffer(struct{ io.Writer }{to}, struct{ io.Reader }{packed}, make([]byte, unpackedAhead))
		if err != nil {
			err = &damage{err}
		}
		to.CloseWithError(err)
	})
	err = scanAll(from, each)
	from.Close() // which never fails
	wait.Wait()
	if d := (*damage)(nil); errors.As(err, &d) {
		return fmt.Errorf("part %s is damaged: %w", f.Name, d.error)
	} else if err != nil {
		return fmt.Errorf("part %s: %w", f.Name, err)
	}
	return nil
}

const unpackedAhead = 64 << 10

func scanAll(in io.Reader, each func(m *markup) error) error {
	text, err := inUTF8(in)
	if err != nil {
		return err
	}
	return each(newMarkup(text))
}

// damage is what is wrong with a part as it was packed.
type damage struct{ error }

// relation is what one part is to another.
type relation struct{ id, kind, target string }

const mostRelations = 1 << 14

// relations returns what a part is related to, by the paths of the parts; the
// empty part is the workbook as a whole. Where nothing is said, there are none.
func (p *parcel) relations(part string) (all []relation, err error) {
	folder, name := path.Split(part)
	list := path.Join(folder, "_rels", name+".rels")
	if !p.has(list) {
		return nil, nil
	}
	err = p.scan(list, func(m *markup) error {
		return m.eachMark(func(depth int) error {
			if depth != 2 || string(m.name) != "Relationship" || m.word("TargetMode") == "External" {
				return nil
			}
			if len(all) >= mostRelations {
				return fmt.Errorf("it lists more than %d relations", mostRelations)
			}
			kind := m.word("Type")
			target, err := resolvePart(folder, m.word("Target"))
			all = append(all, relation{m.word("Id"), kind[strings.LastIndexByte(kind, '/')+1:], target})
			return err
		})
	})
	return all, err
}

// resolvePart returns the path of the part that a relation names.
func resolvePart(folder, target string) (string, error) {
	plain := strings.ReplaceAll(target, `\`, "/")
	if decoded, err := url.PathUnescape(plain); err == nil {
		plain = decoded
	}
	if !strings.HasPrefix(plain, "/") {
		plain = path.Join(folder, plain)
	}
	plain = strings.TrimPrefix(path.Clean(plain), "/")
	if !properName(plain) {
		return "", fmt.Errorf("it refers to %.80q, which leads out of the workbook", target)
	}
	return plain, nil
}

// eachMark tells of each mark that opens, and how deep it stands, to the end.
func (m *markup) eachMark(opened func(depth int) error) error {
	for {
		switch t, err := m.next(); {
		case err != nil:
			return err
		case t == endOfPart:
			return nil
		case t == openingMark:
			if err := opened(m.depth()); err != nil {
				return err
			}
		}
	}
}
