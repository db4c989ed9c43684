package reports

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// Options say which files of a run are written.
type Options struct {
	NoWorkbook bool
	Notices    bool   // one page a worker
	Archive    string // path of the archive; "" where none is wanted
}

// output is one file of a run: its path within the folder and what fills it.
type output struct {
	path  string
	write func(context.Context, io.Writer) error
}

// streamed adapts a write that has its writer's word for when to end.
func streamed(write func(io.Writer) error) func(context.Context, io.Writer) error {
	return func(ctx context.Context, w io.Writer) error { return write(&cancellable{ctx, w}) }
}

func (r *Report) outputs(o Options) []output {
	all := []output{{PageFile, r.WritePage}, {ResultsFile, streamed(r.WriteJSON)}}
	if !o.NoWorkbook {
		all = append([]output{{WorkbookFile, r.WriteWorkbook}}, all...)
	}
	for _, a := range r.tables() {
		all = append(all, output{filepath.Join(TablesFolder, a.name+".csv"), streamed(a.writeCSV)})
	}
	if o.Notices {
		all = append(all, r.noticeFiles()...)
	}
	return all
}

// Save writes the files of a run into a folder, made where it is missing, and
// the archive where one is wanted, and returns their paths. Without a folder
// the archive alone is written. Either all are written or, on an error or when
// ctx is done, none: each is finished under another name before any takes its
// own, so a reader never meets half a file.
func (r *Report) Save(ctx context.Context, folder string, o Options) (written []string, err error) {
	all := r.outputs(o)
	if err := r.spareInputs(folder, all, o); err != nil {
		return nil, err
	}
	var home, aside staging // of the files, and of the archive: a name is given within one disk
	defer func() {
		err = errors.Join(err, home.clear(), aside.clear())
		if err != nil {
			aside.unmake()
			home.unmake(TablesFolder, NoticesFolder)
		}
	}()
	if o.Archive != "" {
		if aside, err = stage(filepath.Dir(o.Archive), "choose another place with --archive"); err != nil {
			return nil, err
		}
	}
	if folder == "" {
		home, aside = aside, staging{}
	} else if home, err = stage(folder, "choose another folder with -o"); err != nil {
		return nil, err
	}
	moves, err := home.fill(ctx, folder, all)
	if err != nil {
		return nil, err
	}
	if o.Archive != "" {
		at := cmp.Or(aside.unfinished, home.unfinished)
		m := move{filepath.Join(at, "archive"), o.Archive, filepath.Join(at, "former-archive")}
		if err := writeFile(ctx, m.from, r.archiveOf(all, home.finished)); err != nil {
			return nil, fmt.Errorf("cannot write %s: %w", o.Archive, err)
		}
		moves = append(moves, m)
	}
	return install(moves)
}

// staging is a folder of files that are not finished, within the folder where
// they go.
type staging struct {
	folder, unfinished string
	made               []string // folders made for it, the innermost last
}

func stage(folder, remedy string) (staging, error) {
	made, err := makeFolder(folder)
	s := staging{folder: folder, made: made}
	if err == nil {
		if s.unfinished, err = os.MkdirTemp(folder, ".unfinished-*"); err != nil {
			removeEmpty(made)
		}
	}
	if err != nil {
		return staging{}, fmt.Errorf("cannot write into %s: %w; %s", folder, err, remedy)
	}
	return s, nil
}

// finished is where the finished file of an output lies.
func (s *staging) finished(f output) string { return filepath.Join(s.unfinished, "new", f.path) }

// fill finishes the files and returns how they get their names in a folder;
// none where there is no folder.
func (s *staging) fill(ctx context.Context, folder string, all []output) ([]move, error) {
	var moves []move
	for _, f := range all {
		to := filepath.Join(folder, f.path)
		if err := writeFile(ctx, s.finished(f), f.write); err != nil {
			return nil, fmt.Errorf("cannot write %s: %w", to, err)
		}
		if folder != "" {
			moves = append(moves, move{s.finished(f), to, filepath.Join(s.unfinished, "former", f.path)})
		}
	}
	return moves, nil
}

func (s *staging) clear() error {
	if s.unfinished == "" {
		return nil
	}
	return os.RemoveAll(s.unfinished)
}

// unmake removes the folders made, and those within that hold nothing.
func (s *staging) unmake(within ...string) {
	if s.folder == "" {
		return
	}
	all := s.made
	for _, name := range within {
		all = append(all, filepath.Join(s.folder, name))
	}
	removeEmpty(all)
}

// spareInputs refuses to write over a file that the results come from.
func (r *Report) spareInputs(folder string, all []output, o Options) error {
	targets := map[string]string{}
	if o.Archive != "" {
		targets[o.Archive] = "choose another name with --archive"
	}
	for _, f := range all {
		if folder != "" {
			targets[filepath.Join(folder, f.path)] = "choose another folder with -o"
		}
	}
	for path, remedy := range targets {
		there, err := os.Stat(path)
		if err != nil {
			continue
		}
		for _, input := range r.inputs() {
			if read, err := os.Stat(input.Holder()); err == nil && os.SameFile(there, read) {
				return fmt.Errorf("%s is one of the input files and would be written over; %s", path, remedy)
			}
		}
	}
	return nil
}

// makeFolder makes a folder and its parents, and returns those it made, the
// innermost last.
func makeFolder(path string) (made []string, err error) {
	for at := filepath.Clean(path); ; at = filepath.Dir(at) {
		if _, err := os.Stat(at); err == nil || at == filepath.Dir(at) {
			break
		}
		made = append([]string{at}, made...)
	}
	if err := os.MkdirAll(path, 0o777); err != nil {
		removeEmpty(made)
		return nil, err
	}
	return made, nil
}

// removeEmpty removes those of the folders that hold nothing, the last first.
func removeEmpty(folders []string) {
	for i := len(folders) - 1; i >= 0; i-- {
		_ = os.Remove(folders[i]) // one that holds something stays
	}
}

func writeFile(ctx context.Context, path string, write func(context.Context, io.Writer) error) (err error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return write(ctx, f)
}

// cancellable is a writer that fails once its context is done.
type cancellable struct {
	ctx context.Context
	w   io.Writer
}

func (c *cancellable) Write(b []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.w.Write(b)
}

// move gives a finished file its name; the file that had it is laid aside.
type move struct{ from, to, former string }

// install gives the finished files their names. Where one cannot have it, as
// when another program holds the former file, the former files come back.
func install(moves []move) (written []string, err error) {
	defer func() {
		if err == nil {
			return
		}
		for i, path := range written {
			if os.Rename(moves[i].former, path) != nil {
				_ = os.Remove(path) // there was none before
			}
		}
		written = nil
	}()
	for _, m := range moves {
		for _, path := range []string{m.to, m.former} {
			if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
				return written, err
			}
		}
		if err := keep(m.to, m.former); err != nil {
			return written, fmt.Errorf("cannot replace %s: %w; choose another place for it", m.to, err)
		}
		if err := os.Rename(m.from, m.to); err != nil {
			return written, fmt.Errorf("cannot replace %s: %w; close the program that has it open, or choose another place for it", m.to, err)
		}
		written = append(written, m.to)
	}
	return written, nil
}

// keep lays a file aside under a second name. Where the file system has no
// links it gives up its own.
func keep(path, aside string) error {
	there, err := os.Lstat(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if there.IsDir() {
		return errors.New("a folder has that name")
	}
	if os.Link(path, aside) == nil {
		return nil
	}
	return os.Rename(path, aside)
}
