package survey

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
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

// openSources returns the sheets of a workbook or the text files of a folder.
func openSources(path string, list *finding.List) ([]source, []Input, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, nil, &UnusableError{path, "cannot be opened: " + plainCause(err), "check the path and your rights to it"}
	case info.IsDir():
		return openFolder(path, list)
	case isTextFile(path):
		return nil, nil, &UnusableError{path, "is one table; a survey is a folder of them", "give the folder that holds it"}
	}
	return openWorkbook(path, info.Size(), isTable)
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
func openFolder(path string, list *finding.List) ([]source, []Input, error) {
	entries, err := os.ReadDir(path)
	if err != nil {
		return nil, nil, &UnusableError{path, "cannot be listed: " + plainCause(err), "check your rights to the folder"}
	}
	var sources []source
	var inputs []Input
	var faults []error
	for _, e := range entries {
		file := filepath.Join(path, e.Name())
		switch strings.ToLower(filepath.Ext(e.Name())) {
		case ".csv", ".tsv", ".txt":
			s, in, err := openText(file, list)
			sources, inputs, faults = append(sources, s), append(inputs, in), append(faults, err)
		case ".xlsx", ".xlsm", ".xls":
			list.Add(finding.UnknownTable, finding.Place{File: file}, nil, finding.Values{
				"read": "the workbook " + e.Name(), "expected": tableNames(), "near": "; give it as a survey of its own"})
		}
	}
	if len(sources) == 0 {
		return nil, nil, &UnusableError{path, "holds no .csv file", "give a folder with at least samples.csv, flows.csv and lab.csv, or a workbook"}
	}
	return sources, inputs, errors.Join(faults...)
}

func isTable(sheet string) bool { return tableOf(sheet) != nil }

// openAlone opens a file of one table that is no part of a survey: a text
// file, or a workbook with all its sheets, for they may have any name.
func openAlone(path string, list *finding.List) ([]source, []Input, error) {
	if isTextFile(path) {
		s, in, err := openText(path, list)
		if err != nil {
			return nil, nil, err
		}
		return []source{s}, []Input{in}, nil
	}
	info, err := os.Stat(path)
	if err != nil || info.IsDir() {
		return openSources(path, list)
	}
	return openWorkbook(path, info.Size(), func(string) bool { return true })
}

func isTextFile(path string) bool {
	return slices.Contains([]string{".csv", ".tsv", ".txt"}, strings.ToLower(filepath.Ext(path)))
}

func openText(file string, list *finding.List) (source, Input, error) {
	info, err := os.Stat(file)
	if err == nil && info.Size() > maxTextBytes {
		err = fmt.Errorf("it is larger than %d bytes", maxTextBytes)
	}
	var raw []byte
	if err == nil {
		raw, err = os.ReadFile(file)
	}
	if err != nil {
		return source{}, Input{}, &UnusableError{file, "cannot be read: " + plainCause(err), "check the file and your rights to it"}
	}
	in := Input{Path: file}
	var wait sync.WaitGroup
	wait.Go(func() { in.SHA256 = digest(raw) })
	text, guessed := decodeText(raw)
	if guessed {
		list.Add(finding.EncodingGuessed, finding.Place{File: file}, nil, nil)
	}
	name := filepath.Base(file)
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
