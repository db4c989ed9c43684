package reports

import (
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
	all := []output{{ResultsFile, streamed(r.WriteJSON)}}
	if !o.NoWorkbook {
		all = append([]output{{WorkbookFile, r.WriteWorkbook}}, all...)
	}
	for _, a := range r.arrays() {
		all = append(all, output{filepath.Join(TablesFolder, a.name+".csv"), streamed(a.writeCSV)})
	}
	return all
}

// Save writes the files of a run into a folder, made where it is missing, and
// returns their paths. Either all are written or, on an error or when ctx is
// done, none: each is finished under another name before any takes its own,
// so a reader never meets half a file.
func (r *Report) Save(ctx context.Context, folder string, o Options) (written []string, err error) {
	all := r.outputs(o)
	if err := r.spareInputs(folder, all); err != nil {
		return nil, err
	}
	made, err := makeFolder(folder)
	if err != nil {
		return nil, fmt.Errorf("cannot write into %s: %w; choose another folder with -o", folder, err)
	}
	unfinished, err := os.MkdirTemp(folder, ".unfinished-*")
	if err != nil {
		removeEmpty(made)
		return nil, fmt.Errorf("cannot write into %s: %w; choose another folder with -o", folder, err)
	}
	defer func() {
		err = errors.Join(err, os.RemoveAll(unfinished))
		if err != nil {
			removeEmpty(append(made, filepath.Join(folder, TablesFolder)))
		}
	}()
	for _, f := range all {
		if err := writeFile(ctx, filepath.Join(unfinished, "new", f.path), f.write); err != nil {
			return nil, fmt.Errorf("cannot write %s: %w", filepath.Join(folder, f.path), err)
		}
	}
	return install(folder, unfinished, all)
}

// spareInputs refuses to write over a file that the results come from.
func (r *Report) spareInputs(folder string, all []output) error {
	for _, f := range all {
		path := filepath.Join(folder, f.path)
		there, err := os.Stat(path)
		if err != nil {
			continue
		}
		for _, input := range r.inputs() {
			if read, err := os.Stat(input.Path); err == nil && os.SameFile(there, read) {
				return fmt.Errorf("%s is one of the input files and would be written over; choose another folder with -o", path)
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

// install gives the finished files their names. Where one cannot have it, as
// when another program holds the former file, the former files come back.
func install(folder, unfinished string, all []output) (written []string, err error) {
	former := func(f output) string { return filepath.Join(unfinished, "former", f.path) }
	defer func() {
		if err == nil {
			return
		}
		for i, path := range written {
			if os.Rename(former(all[i]), path) != nil {
				_ = os.Remove(path) // there was none before
			}
		}
		written = nil
	}()
	if err := os.MkdirAll(filepath.Join(folder, TablesFolder), 0o777); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(former(all[len(all)-1])), 0o777); err != nil {
		return nil, err
	}
	for _, f := range all {
		path := filepath.Join(folder, f.path)
		if err := keep(path, former(f)); err != nil {
			return written, fmt.Errorf("cannot replace %s: %w; choose another folder with -o", path, err)
		}
		if err := os.Rename(filepath.Join(unfinished, "new", f.path), path); err != nil {
			return written, fmt.Errorf("cannot replace %s: %w; close the program that has it open, or choose another folder with -o", path, err)
		}
		written = append(written, path)
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
