package survey

import (
	"io"
	"os"
	"path/filepath"
	"slices"
)

// storage is where input files are: on the disk, or in an archive.
type storage interface {
	// look says whether there is a folder under a path, and of a file its bytes.
	look(path string) (isFolder bool, size int64, err error)
	list(folder string) ([]entry, error)
	read(path string) ([]byte, error)
	open(path string) (io.ReadCloser, error)
	// base is the name of a file without its folders.
	base(path string) string
	// holder is the file on the disk that holds the bytes.
	holder(path string) string
}

// entry is one file of a folder.
type entry struct{ name, path string }

// Reader reads surveys and what goes with them from where they are kept.
type Reader struct {
	from     storage
	labApart bool // the laboratory's results come in files of their own
}

// Disk reads from the files of the disk.
var Disk = Reader{from: disk{}}

type disk struct{}

func (disk) look(path string) (isFolder bool, size int64, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return false, 0, err
	}
	return info.IsDir(), info.Size(), plainFile(path, info)
}

func (disk) list(folder string) ([]entry, error) {
	found, err := os.ReadDir(folder)
	entries := make([]entry, len(found))
	for i, e := range found {
		entries[i] = entry{e.Name(), filepath.Join(folder, e.Name())}
	}
	return entries, err
}

func (disk) read(path string) ([]byte, error)        { return os.ReadFile(path) }
func (disk) open(path string) (io.ReadCloser, error) { return os.Open(path) }
func (disk) base(path string) string                 { return filepath.Base(path) }
func (disk) holder(path string) string               { return path }

// Input is a file that was read.
type Input struct {
	Path, SHA256 string

	from storage // nil where no file was read
}

// Open opens the file again.
func (i *Input) Open() (io.ReadCloser, error) { return i.storage().open(i.Path) }

// Base returns the name of the file without its folders.
func (i *Input) Base() string { return i.storage().base(i.Path) }

// Holder returns the path of the file on the disk that holds the bytes: the
// file itself, or the archive it is in.
func (i *Input) Holder() string { return i.storage().holder(i.Path) }

func (i *Input) storage() storage {
	if i.from == nil {
		return disk{}
	}
	return i.from
}

// Given is one path of a command line and what was read there.
type Given struct {
	Path   string
	Inputs []Input
	Beside []string // workbooks that lie in the folder; they are mentioned, not read
}

// Given returns what the survey was read from.
func (s *Survey) Given() Given { return Given{s.Path, slices.Clone(s.Inputs), s.Beside} }

// Together is what was read together: surveys, and the files of limits and of
// laboratories that serve them all.
type Together struct {
	Surveys []Given
	Limits  *Given // nil where there is none
	Labs    []LabGiven
}
