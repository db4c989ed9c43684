package reports

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"os"
	"path"
	"path/filepath"

	"airtally/exposure/survey"
)

// Members of an archive beside its inputs and its manifest.
const (
	aboutMember    = "about.txt"
	settingsMember = "settings.json"
	inputsFolder   = "inputs"
	reportsFolder  = "reports"
)

// archiveOf returns what writes the archive of a run whose files are finished:
// the inputs as they were read, settings, results, reports, and a manifest with
// the hash of each member. The same run at the same time makes the same bytes.
func (r *Report) archiveOf(all []output, finished func(output) string) func(context.Context, io.Writer) error {
	return func(ctx context.Context, w io.Writer) error {
		a := archiver{Writer: zip.NewWriter(&cancellable{ctx, w}), report: r}
		a.manifest = survey.Manifest{Schema: survey.ManifestSchema, Tool: r.tool(), Created: r.created()}
		if err := a.inputs(); err != nil {
			return err
		}
		if err := a.add(settingsMember, r.writeSettings); err != nil {
			return err
		}
		for _, f := range all {
			name := filepath.ToSlash(f.path)
			if name != ResultsFile {
				name = path.Join(reportsFolder, name)
			}
			if err := a.copy(name, func() (io.ReadCloser, error) { return os.Open(finished(f)) }); err != nil {
				return err
			}
		}
		if err := a.add(aboutMember, r.writeAbout); err != nil {
			return err
		}
		if err := a.close(); err != nil {
			return err
		}
		return a.Writer.Close()
	}
}

// archiver adds members to an archive and notes them in its manifest.
type archiver struct {
	*zip.Writer
	report   *Report
	manifest survey.Manifest
	folders  int // of inputs, so far
}

// add adds a member and notes its size and hash.
func (a *archiver) add(name string, write func(io.Writer) error) error {
	into, err := a.create(name)
	if err != nil {
		return err
	}
	hash, size := sha256.New(), byteCount(0)
	if err := write(io.MultiWriter(into, hash, &size)); err != nil {
		return err
	}
	a.manifest.Members = append(a.manifest.Members,
		survey.Member{Name: name, Bytes: int64(size), SHA256: hex.EncodeToString(hash.Sum(nil))})
	return nil
}

func (a *archiver) create(name string) (io.Writer, error) {
	return a.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: a.report.Created.UTC()})
}

// byteCount counts the bytes written to it.
type byteCount int64

func (c *byteCount) Write(b []byte) (int, error) {
	*c += byteCount(len(b))
	return len(b), nil
}

func (a *archiver) copy(name string, open func() (io.ReadCloser, error)) error {
	from, err := open()
	if err != nil {
		return err
	}
	defer from.Close()
	return a.add(name, func(w io.Writer) error {
		_, err := io.Copy(w, from)
		return err
	})
}

// inputs adds the files that were read, each under a name that any disk takes.
func (a *archiver) inputs() error {
	for i := range a.report.Read {
		part, err := a.part(&a.report.Read[i])
		if err != nil {
			return err
		}
		a.manifest.Parts = append(a.manifest.Parts, part)
	}
	return nil
}

// part adds what was read together.
func (a *archiver) part(read *survey.Together) (part survey.ManifestPart, err error) {
	for k := range read.Surveys {
		one, err := a.given(&read.Surveys[k])
		if err != nil {
			return part, err
		}
		part.Surveys = append(part.Surveys, *one)
	}
	if part.Limits, err = a.given(read.Limits); err != nil {
		return part, err
	}
	for k := range read.Labs {
		file, err := a.given(&read.Labs[k].File)
		if err != nil {
			return part, err
		}
		mapping, err := a.given(read.Labs[k].Map)
		if err != nil {
			return part, err
		}
		part.Labs = append(part.Labs, survey.ManifestLab{File: *file, Map: mapping})
	}
	return part, nil
}

// given adds the files of one path of the command line, in a folder of their
// own; nil where none was given. A file that is no more what was read is
// refused: the archive would not give its results.
func (a *archiver) given(g *survey.Given) (*survey.ManifestGiven, error) {
	if g == nil {
		return nil, nil
	}
	a.folders++
	folder := path.Join(inputsFolder, fmt.Sprint(a.folders))
	out := &survey.ManifestGiven{Path: g.Path, Folder: !isFile(g), Beside: g.Beside}
	var names fileNames
	for i := range g.Inputs {
		in := &g.Inputs[i]
		member := path.Join(folder, names.next(in.Base(), "input"))
		if err := a.copy(member, in.Open); err != nil {
			return out, fmt.Errorf("the input %s cannot be read again: %w", in.Path, err)
		}
		if last := a.manifest.Members[len(a.manifest.Members)-1]; last.SHA256 != in.SHA256 {
			return out, fmt.Errorf("the input %s was changed while it was being reduced; run airtally again", in.Path)
		}
		out.Files = append(out.Files, survey.ManifestFile{Name: in.Base(), Path: in.Path, Member: member})
	}
	return out, nil
}

func isFile(g *survey.Given) bool { return len(g.Inputs) == 1 && g.Inputs[0].Path == g.Path }

// close adds the manifest, which lists all the others.
func (a *archiver) close() error {
	into, err := a.create(survey.ManifestMember)
	if err != nil {
		return err
	}
	out := json.NewEncoder(into)
	out.SetEscapeHTML(false)
	out.SetIndent("", " ")
	return out.Encode(a.manifest)
}

// writeSettings writes the settings as results.json has them.
func (r *Report) writeSettings(w io.Writer) error {
	settings := r.settings()
	_, err := w.Write(append(appendRow(nil, &settings, keysOf(&settings), 0), '\n'))
	return err
}

func (r *Report) writeAbout(w io.Writer) error {
	_, err := fmt.Fprintf(w, `%s

This archive holds one run of %s of %s:
what was read, and what came of it.

%-14s the files as they were read, byte for byte; they may hold workers' names
%-14s the settings of the run
%-14s the results, unrounded
%-14s the reports for people and the tables
%-14s how the files were given, and the SHA-256 of every other member

To reduce it again, and be told whether the same results come:

    airtally reduce ARCHIVE.zip -o DIR

%s
`, r.title(), r.tool(), r.created(), inputsFolder+"/", settingsMember, ResultsFile, reportsFolder+"/", survey.ManifestMember, Wrapped(Caution))
	return err
}

// SameAs reports whether results.json of the report is the one given, apart from
// the lines that say when and by which version it was made.
func (r *Report) SameAs(results io.Reader) (bool, error) {
	ours := numbersOnly{hash: sha256.New()}
	if err := r.WriteJSON(&ours); err != nil {
		return false, err
	}
	theirs := numbersOnly{hash: sha256.New()}
	if _, err := io.Copy(&theirs, results); err != nil {
		return false, err
	}
	return bytes.Equal(ours.hash.Sum(nil), theirs.hash.Sum(nil)), nil
}

// numbersOnly takes the hash of results.json without the lines of its cover
// that say which version made it and when.
type numbersOnly struct {
	hash hash.Hash
	line int
}

const (
	toolLine    = 2
	createdLine = 3
)

func (n *numbersOnly) Write(b []byte) (int, error) {
	size := len(b)
	for n.line <= createdLine {
		end := bytes.IndexByte(b, '\n')
		if end < 0 {
			break
		}
		if n.line < toolLine {
			n.hash.Write(b[:end+1])
		}
		b, n.line = b[end+1:], n.line+1
	}
	if n.line < toolLine || n.line > createdLine {
		n.hash.Write(b)
	}
	return size, nil
}
