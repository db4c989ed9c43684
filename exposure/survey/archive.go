package survey

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
	"unicode"
)

// ManifestMember is the member of an archive that lists the others.
const ManifestMember = "manifest.json"

// ManifestSchema names the shape of a manifest, with its version.
const ManifestSchema = "airtally/archive/1"

// Manifest says what an archive holds and how its inputs were given.
type Manifest struct {
	Schema  string         `json:"schema"`
	Tool    string         `json:"tool"`
	Created string         `json:"created"`
	Parts   []ManifestPart `json:"parts"`
	Members []Member       `json:"members"`
}

// Member is one file in an archive.
type Member struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// ManifestPart is what was read together.
type ManifestPart struct {
	Surveys []ManifestGiven `json:"surveys"`
	Limits  *ManifestGiven  `json:"limits,omitempty"`
	Labs    []ManifestLab   `json:"labs,omitempty"`
}

// ManifestLab is a laboratory's own file, and the mapping it was read with.
type ManifestLab struct {
	File ManifestGiven  `json:"file"`
	Map  *ManifestGiven `json:"map,omitempty"`
}

// beside returns what was given beside the surveys.
func (p *ManifestPart) beside() []ManifestGiven {
	var all []ManifestGiven
	if p.Limits != nil {
		all = append(all, *p.Limits)
	}
	for _, lab := range p.Labs {
		all = append(all, lab.File)
		if lab.Map != nil {
			all = append(all, *lab.Map)
		}
	}
	return all
}

// ManifestGiven is one path of the command line and the files read there. Path
// is as it was given; it names nothing on the disk any more.
type ManifestGiven struct {
	Path   string         `json:"path"`
	Folder bool           `json:"folder"`
	Files  []ManifestFile `json:"files"`
	Beside []string       `json:"beside,omitempty"`
}

// ManifestFile is one file that was read, and the member with its bytes.
type ManifestFile struct {
	Name   string `json:"name"`
	Path   string `json:"path"`
	Member string `json:"member"`
}

// Bounds of an archive. A packed file can unfold to anything.
const (
	mostDirectoryBytes = 16 << 20 // of the list of members, some 100,000 of them
	mostManifestBytes  = 32 << 20
	mostMemberBytes    = 16 << 30
)

// Archive is a file that holds the inputs of a run and what came of them. What
// it holds was compared with its manifest when it was opened.
type Archive struct {
	Manifest Manifest
	path     string
	file     *os.File
	members  map[string]*zip.File
}

// IsArchive reports whether a path is meant as an archive, by its name.
func IsArchive(path string) bool { return strings.HasSuffix(strings.ToLower(path), ".zip") }

// OpenArchive opens an archive and compares every member with the manifest. It
// fails, with *UnusableError, where one is missing, unknown or altered.
func OpenArchive(path string) (*Archive, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, &UnusableError{path, "cannot be opened: " + plainCause(err), "check the path and your rights to it"}
	}
	a := &Archive{path: path, file: file}
	if err := a.check(); err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return a, nil
}

// Close closes the file. Surveys read from it stay usable.
func (a *Archive) Close() error { return a.file.Close() }

func (a *Archive) unusable(what string, values ...any) error {
	return &UnusableError{a.path, fmt.Sprintf(what, values...), "give an archive as airtally wrote it, or the surveys themselves"}
}

func (a *Archive) check() error {
	if err := a.listMembers(); err != nil {
		return err
	}
	if err := a.readManifest(); err != nil {
		return err
	}
	return a.checkMembers()
}

// listMembers lists the members by name.
func (a *Archive) listMembers() error {
	info, err := a.file.Stat()
	if err != nil {
		return a.unusable("cannot be read: %s", plainCause(err))
	}
	if info.IsDir() {
		return a.unusable("is a folder with the name of an archive")
	}
	directory := &metered{a.file, mostDirectoryBytes}
	packed, err := zip.NewReader(directory, info.Size())
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return a.unusable("cannot be read as an archive: %v", err)
	}
	directory.left = int64(1) << 62 // the list is read; members have bounds of their own
	a.members = make(map[string]*zip.File, len(packed.File))
	unfolded := uint64(0)
	for _, f := range packed.File {
		if unfolded += f.UncompressedSize64; unfolded > smallPart && unfolded/mostUnfolding > uint64(info.Size()) {
			return a.unusable("unfolds to more than %d times its size, beyond all measure", mostUnfolding)
		}
		if fault := faultOf(f); fault != "" {
			return a.unusable("holds %q: %s", f.Name, fault)
		}
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		if a.members[f.Name] != nil {
			return a.unusable("holds %q twice", f.Name)
		}
		a.members[f.Name] = f
	}
	return nil
}

// faultOf says what is wrong with a member before it is opened; "" where
// nothing is.
func faultOf(f *zip.File) string {
	size := f.UncompressedSize64
	switch {
	case !properName(strings.TrimSuffix(f.Name, "/")):
		return "such a name may lead out of a folder"
	case size > mostMemberBytes || size > smallPart && size/mostUnfolding > f.CompressedSize64:
		return fmt.Sprintf("it unfolds to %d MB, beyond all measure", size>>20)
	case !f.Mode().IsRegular() && !f.Mode().IsDir():
		return "it is no plain file"
	}
	return ""
}

// properName reports whether a name is a plain path within an archive.
func properName(name string) bool {
	return fs.ValidPath(name) && name != "." && !strings.ContainsAny(name, `\:`) && !strings.ContainsFunc(name, unicode.IsControl)
}

// metered reads at most so many bytes in all.
type metered struct {
	io.ReaderAt
	left int64
}

func (m *metered) ReadAt(b []byte, at int64) (int, error) {
	if m.left -= int64(len(b)); m.left < 0 {
		return 0, errors.New("its list of members is too long")
	}
	return m.ReaderAt.ReadAt(b, at)
}

func (a *Archive) readManifest() error {
	f := a.members[ManifestMember]
	switch {
	case f == nil:
		return &UnusableError{a.path, "is no archive of airtally: it holds no " + ManifestMember,
			"give an archive made with --archive; unpack other .zip files and give the workbook or the folder"}
	case f.UncompressedSize64 > mostManifestBytes:
		return a.unusable("has a %s of more than %d MB", ManifestMember, mostManifestBytes>>20)
	}
	raw, err := readMember(f)
	if err != nil {
		return a.unusable("has a %s that cannot be read: %v", ManifestMember, err)
	}
	if err := json.Unmarshal(raw, &a.Manifest); err != nil {
		return a.unusable("has a %s that cannot be read: %v", ManifestMember, err)
	}
	a.Manifest.Tool = printable(a.Manifest.Tool)
	if a.Manifest.Schema != ManifestSchema {
		return &UnusableError{a.path, fmt.Sprintf("has a %s of the kind %q; this airtally reads %q", ManifestMember, a.Manifest.Schema, ManifestSchema),
			"reduce it with the program that made it: " + a.Manifest.Tool}
	}
	return nil
}

// printable returns a text of an archive as one may show it.
func printable(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return '?'
		}
		return r
	}, text)
}

// readMember reads a member whole; its size was bounded before.
func readMember(f *zip.File) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(io.LimitReader(r, int64(f.UncompressedSize64)+1))
}

// checkMembers compares what the archive holds with its manifest, both ways.
func (a *Archive) checkMembers() error {
	listed := map[string]bool{ManifestMember: true}
	for _, m := range a.Manifest.Members {
		f := a.members[m.Name]
		switch {
		case listed[m.Name]:
			return a.unusable("lists %q twice in its %s", m.Name, ManifestMember)
		case f == nil:
			return a.unusable("lacks %q, which its %s lists", m.Name, ManifestMember)
		}
		listed[m.Name] = true
		sum, err := digestOf(f)
		switch {
		case err != nil:
			return a.unusable("holds %q, which is damaged: %v", m.Name, err)
		case sum != m.SHA256 || int64(f.UncompressedSize64) != m.Bytes:
			return a.unusable("holds %q, which is not what was archived: its SHA-256 is %s, the %s has %s",
				m.Name, sum, ManifestMember, printable(m.SHA256))
		}
	}
	for name := range a.members {
		if !listed[name] {
			return a.unusable("holds %q, which its %s does not list", name, ManifestMember)
		}
	}
	return a.checkParts()
}

func digestOf(f *zip.File) (string, error) {
	r, err := f.Open()
	if err != nil {
		return "", err
	}
	defer r.Close()
	hash := sha256.New()
	_, err = io.Copy(hash, io.LimitReader(r, int64(f.UncompressedSize64)+1))
	return hex.EncodeToString(hash.Sum(nil)), err
}

// checkParts refuses a manifest whose inputs cannot be read.
func (a *Archive) checkParts() error {
	surveys := 0
	for _, p := range a.Manifest.Parts {
		surveys += len(p.Surveys)
		given := slices.Concat(p.Surveys, p.beside())
		for i := range given {
			if err := a.checkGiven(&given[i]); err != nil {
				return err
			}
		}
	}
	if surveys == 0 {
		return a.unusable("has a %s that names no survey", ManifestMember)
	}
	return nil
}

func (a *Archive) checkGiven(g *ManifestGiven) error {
	names := append([]string{g.Path}, g.Beside...)
	for _, f := range g.Files {
		names = append(names, f.Name, f.Path)
		if a.members[f.Member] == nil {
			return a.unusable("has a %s that names the input %q, which it does not hold", ManifestMember, f.Member)
		}
	}
	for _, name := range names {
		if name == "" || strings.ContainsFunc(name, unicode.IsControl) {
			return a.unusable("has a %s with the path %q, which is none", ManifestMember, name)
		}
	}
	return nil
}

// Part returns what was read together, the part counted from 0: a reader of
// its files, the paths of its surveys as they were given, that of the file of
// limits, "" where there was none, and those of laboratories' files.
func (a *Archive) Part(i int) (r Reader, surveys []string, limits string, labs []LabPath) {
	part := a.Manifest.Parts[i]
	s := &archived{archive: a, files: map[string]ManifestFile{}, folders: map[string]*ManifestGiven{}}
	for k := range part.Surveys {
		s.add(&part.Surveys[k])
		surveys = append(surveys, part.Surveys[k].Path)
	}
	for _, given := range part.beside() {
		s.add(&given)
	}
	if part.Limits != nil {
		limits = part.Limits.Path
	}
	for _, lab := range part.Labs {
		path := LabPath{File: lab.File.Path}
		if lab.Map != nil {
			path.Map = lab.Map.Path
		}
		labs = append(labs, path)
	}
	return Reader{from: s}, surveys, limits, labs
}

// OpenMember opens a member of an archive; nil where there is none.
func (a *Archive) OpenMember(name string) (io.ReadCloser, error) {
	f := a.members[name]
	if f == nil {
		return nil, nil
	}
	return f.Open()
}

// archived is the storage of one part of an archive: files under the paths
// they once had.
type archived struct {
	archive *Archive
	files   map[string]ManifestFile
	folders map[string]*ManifestGiven
}

func (s *archived) add(g *ManifestGiven) {
	if g.Folder {
		s.folders[g.Path] = g
	}
	for _, f := range g.Files {
		s.files[f.Path] = f
	}
}

func (s *archived) member(path string) (*zip.File, error) {
	f, ok := s.files[path]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}
	}
	return s.archive.members[f.Member], nil
}

func (s *archived) look(path string) (isFolder bool, size int64, err error) {
	if s.folders[path] != nil {
		return true, 0, nil
	}
	f, err := s.member(path)
	if err != nil {
		return false, 0, err
	}
	return false, int64(f.UncompressedSize64), nil
}

// list returns the files of a folder by name, as a disk does.
func (s *archived) list(folder string) ([]entry, error) {
	g := s.folders[folder]
	var entries []entry
	for _, f := range g.Files {
		entries = append(entries, entry{f.Name, f.Path})
	}
	for _, name := range g.Beside {
		entries = append(entries, entry{name, beside(g, name)})
	}
	slices.SortFunc(entries, func(a, b entry) int { return strings.Compare(a.name, b.name) })
	return entries, nil
}

// beside returns the path that a file beside those of a folder had: as theirs,
// with its own name.
func beside(g *ManifestGiven, name string) string {
	if len(g.Files) > 0 {
		if before, ok := strings.CutSuffix(g.Files[0].Path, g.Files[0].Name); ok {
			return before + name
		}
	}
	return path.Join(g.Path, name)
}

func (s *archived) read(path string) ([]byte, error) {
	f, err := s.member(path)
	if err != nil {
		return nil, err
	}
	return readMember(f)
}

func (s *archived) open(path string) (io.ReadCloser, error) {
	f, err := s.member(path)
	if err != nil {
		return nil, err
	}
	return f.Open()
}

func (s *archived) base(path string) string { return s.files[path].Name }

func (s *archived) holder(string) string { return s.archive.path }
