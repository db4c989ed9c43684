package survey

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"airtally/exposure/finding"
)

// maxTextBytes bounds a text file in memory; offsets into it fit 32 bits.
var maxTextBytes int64 = 2 << 30

// source is one sheet or file that may be an input table.
type source struct {
	file, name string
	hidden     bool
	grid       grid
}

// opened is what a path led to: the sheets of a workbook or the text files of
// a folder.
type opened struct {
	sources []source
	Given
}

// open opens a workbook or a folder of text files.
func (r Reader) open(path string, list *finding.List) (opened, error) {
	isFolder, size, err := r.from.look(path)
	switch {
	case err != nil:
		return opened{}, &UnusableError{path, "cannot be opened: " + plainCause(err), "check the path and your rights to it"}
	case isFolder:
		return r.openFolder(path, list)
	case isTextFile(path):
		return opened{}, &UnusableError{path, "is one table; a survey is a folder of them", "give the folder that holds it"}
	}
	return r.openWorkbook(path, size, isTable)
}

// plainCause is an error of the system without the path, which is said before.
func plainCause(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// openFolder reads the text files of a folder. Workbooks lying in it are
// mentioned; other files are no tables.
func (r Reader) openFolder(path string, list *finding.List) (opened, error) {
	entries, err := r.from.list(path)
	if err != nil {
		return opened{}, &UnusableError{path, "cannot be listed: " + plainCause(err), "check your rights to the folder"}
	}
	o := opened{Given: Given{Path: path}}
	var faults []error
	for _, e := range entries {
		switch strings.ToLower(filepath.Ext(e.name)) {
		case ".csv", ".tsv", ".txt":
			s, in, err := r.openMember(path, e, list)
			o.sources, o.Inputs, faults = append(o.sources, s), append(o.Inputs, in), append(faults, err)
		case ".xlsx", ".xlsm", ".xls":
			o.Beside = append(o.Beside, e.name)
			list.Add(finding.UnknownTable, finding.Place{File: e.path}, nil, finding.Values{
				"read": "the workbook " + e.name, "expected": tableNames(), "near": "; give it as a survey of its own"})
		}
	}
	if len(o.sources) == 0 {
		return opened{}, &UnusableError{path, "holds no .csv file", "give a folder with at least samples.csv, flows.csv and lab.csv, or a workbook"}
	}
	return o, errors.Join(faults...)
}

func isTable(sheet string) bool { return tableOf(sheet) != nil }

// openAlone opens a file of one table that is no part of a survey: a text
// file, or a workbook with all its sheets, for they may have any name.
func (r Reader) openAlone(path string, list *finding.List) (opened, error) {
	if isTextFile(path) {
		s, in, err := r.openText(path, list)
		if err != nil {
			return opened{}, err
		}
		return opened{[]source{s}, Given{Path: path, Inputs: []Input{in}}}, nil
	}
	isFolder, size, err := r.from.look(path)
	if err != nil || isFolder {
		return r.open(path, list)
	}
	return r.openWorkbook(path, size, func(string) bool { return true })
}

func isTextFile(path string) bool {
	return slices.Contains([]string{".csv", ".tsv", ".txt"}, strings.ToLower(filepath.Ext(path)))
}

func (r Reader) openText(file string, list *finding.List) (source, Input, error) {
	_, size, err := r.from.look(file)
	if err == nil && size > maxTextBytes {
		err = fmt.Errorf("it is larger than %d bytes", maxTextBytes)
	}
	var raw []byte
	if err == nil {
		raw, err = r.from.read(file)
	}
	if err != nil {
		return source{}, Input{}, &UnusableError{file, "cannot be read: " + plainCause(err), "check the file and your rights to it"}
	}
	in := Input{Path: file, from: r.from}
	var wait sync.WaitGroup
	wait.Go(func() { in.SHA256 = digest(raw) })
	text, guessed := decodeText(raw)
	if guessed != "" {
		list.Add(finding.EncodingGuessed, finding.Place{File: file}, nil, finding.Values{"encoding": guessed})
	}
	name := r.from.base(file)
	s := source{file: file, name: strings.TrimSuffix(name, filepath.Ext(name)), grid: newTextGrid(text)}
	wait.Wait()
	return s, in, nil
}

func digest(raw []byte) string {
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:])
}

func tableNames() []string {
	var names []string
	for _, d := range descriptions {
		names = append(names, d.Name)
	}
	return names
}

// tableOf returns the table that a sheet's or file's name stands for; numbers
// before it order the sheets and mean nothing.
func tableOf(name string) *Description {
	key := strings.TrimSuffix(strings.TrimLeft(simplify(name), "0123456789"), "s")
	for _, d := range descriptions {
		for _, known := range append([]string{d.Name}, d.Synonyms...) {
			if strings.TrimSuffix(simplify(known), "s") == key {
				return d
			}
		}
	}
	return nil
}
