package survey

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"airtally/exposure/finding"
)

// errNoFile is told of what has a path but is no file: reading it may never
// end.
var errNoFile = errors.New("it is a device or a pipe, not a file")

// plainFile fails on what is neither a file nor a folder.
func plainFile(path string, info fs.FileInfo) error {
	if info.Mode().IsRegular() || info.IsDir() {
		return nil
	}
	return &fs.PathError{Op: "open", Path: path, Err: errNoFile}
}

// openMember opens a text file of a folder. A link may not lead out of the
// folder: one who sends it could have any file of the reader's read and shown.
func (r Reader) openMember(folder string, e entry, list *finding.List) (source, Input, error) {
	if _, onDisk := r.from.(disk); onDisk && leadsOut(folder, e.path) {
		return source{}, Input{}, &UnusableError{e.path, "is a link that leads out of the folder", "put the file itself into the folder"}
	}
	return r.openText(e.path, list)
}

// leadsOut reports whether a path in a folder is a link to a place outside it.
// Where a link leads nowhere is told when the file is opened.
func leadsOut(folder, path string) bool {
	info, err := os.Lstat(path)
	if err != nil || info.Mode()&fs.ModeSymlink == 0 {
		return false
	}
	target, err := filepath.EvalSymlinks(path)
	if err != nil {
		return false
	}
	home, err := filepath.EvalSymlinks(folder)
	if err != nil {
		return true
	}
	way, err := filepath.Rel(home, target)
	return err != nil || way == ".." || strings.HasPrefix(way, ".."+string(filepath.Separator))
}
