package survey

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"
)

// Bounds of a workbook. A packed file can unfold to anything.
var (
	maxUnpackedBytes int64 = 1 << 30
	maxCells               = 20_000_000 // blank ones between others included
)

// openWorkbook reads those sheets of a workbook that are wanted by their names;
// of the others only the names matter.
func (r Reader) openWorkbook(path string, size int64, wanted func(name string) bool) (opened, error) {
	unusable := func(what, remedy string) (opened, error) {
		return opened{}, &UnusableError{path, what, remedy}
	}
	if size > maxUnpackedBytes {
		return unusable(fmt.Sprintf("is larger than %d MB", maxUnpackedBytes>>20), makeSmaller)
	}
	raw, err := r.from.read(path)
	if err != nil {
		return unusable("cannot be read: "+plainCause(err), "check your rights to the file")
	}
	switch {
	case bytes.HasPrefix(raw, []byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1")):
		return unusable("is an encrypted workbook or one of the old .xls kind", "save it as .xlsx without a password")
	case !bytes.HasPrefix(raw, []byte("PK\x03\x04")):
		return unusable("is not a workbook", "give an .xlsx workbook or a folder of .csv files")
	}
	sources, err := readSheets(raw, path, wanted)
	if err != nil {
		remedy := "save it again as .xlsx in a spreadsheet"
		if refused := (*refusal)(nil); errors.As(err, &refused) {
			remedy = refused.remedy
		}
		return unusable("cannot be read as a workbook: "+err.Error(), remedy)
	}
	return opened{sources, Given{Path: path, Inputs: []Input{{path, digest(raw), r.from}}}}, nil
}

func readSheets(raw []byte, path string, wanted func(name string) bool) ([]source, error) {
	s, err := openScanner(raw)
	if err != nil {
		return nil, err
	}
	var sources []source
	for _, e := range s.sheets {
		found := source{file: path, name: e.name, hidden: e.hidden}
		if wanted(e.name) {
			if found.grid, err = s.sheet(e); err != nil {
				return nil, err
			}
		}
		sources = append(sources, found)
	}
	return sources, nil
}

// plainParts are the parts of a number format that show themselves: quoted
// text, escaped characters, and brackets that are no elapsed time.
var plainParts = regexp.MustCompile(`"[^"]*"|\\.|_.|\*.|\[[^hms\]][^\]]*\]`)

// kindOfFormat says what a number format shows. The numbers of the built-in
// formats are those of ISO/IEC 29500-1, 18.8.30.
func kindOfFormat(builtIn int, custom *string) cellKind {
	switch {
	case custom != nil:
		codes := strings.ToLower(plainParts.ReplaceAllString(*custom, ""))
		switch {
		case strings.Contains(codes, "general"):
			return numberKind
		case strings.ContainsAny(codes, "hs"):
			return timeKind
		case strings.ContainsAny(codes, "ydm"):
			return dateKind
		}
	case builtIn >= 18 && builtIn <= 22, builtIn >= 45 && builtIn <= 47, builtIn >= 32 && builtIn <= 35, builtIn == 55, builtIn == 56:
		return timeKind
	case builtIn >= 14 && builtIn <= 17, builtIn >= 27 && builtIn <= 31, builtIn == 36, builtIn >= 50 && builtIn <= 58:
		return dateKind
	}
	return numberKind
}
