package reports

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"airtally/exposure/survey"
)

// everything lists the files and folders under a folder.
func everything(t *testing.T, folder string) []string {
	t.Helper()
	var names []string
	require.NoError(t, filepath.WalkDir(folder, func(path string, _ os.DirEntry, err error) error {
		names = append(names, path)
		return err
	}))
	return names[1:]
}

func TestSaveWritesAllAndLeavesNothingElse(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "new", "results")
	written, err := demo().Save(context.Background(), folder, Options{})
	require.NoError(t, err)
	require.Len(t, written, 11)
	require.Len(t, everything(t, folder), 12, "the files and the tables' folder")
	for _, path := range written {
		require.FileExists(t, path)
	}
	again, err := demo().Save(context.Background(), folder, Options{NoWorkbook: true})
	require.NoError(t, err)
	require.Len(t, again, 10)
	require.Len(t, everything(t, folder), 12)
}

func TestACancelledSaveLeavesNothing(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	root := t.TempDir()
	_, err := demo().Save(ctx, filepath.Join(root, "a", "b"), Options{})
	require.ErrorIs(t, err, context.Canceled)
	require.Empty(t, everything(t, root))
}

func TestACancelledSaveKeepsTheFormerFiles(t *testing.T) {
	folder := t.TempDir()
	_, err := demo().Save(context.Background(), folder, Options{NoWorkbook: true})
	require.NoError(t, err)
	before, err := os.ReadFile(filepath.Join(folder, ResultsFile))
	require.NoError(t, err)
	listed := everything(t, folder)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = demo().Save(ctx, folder, Options{})
	require.Error(t, err)
	after, err := os.ReadFile(filepath.Join(folder, ResultsFile))
	require.NoError(t, err)
	require.Equal(t, before, after)
	require.Equal(t, listed, everything(t, folder))
}

func TestAnErrorWhileWritingLeavesAFileUnnamed(t *testing.T) {
	broken := errors.New("the disk is full")
	path := filepath.Join(t.TempDir(), "half")
	err := writeFile(context.Background(), path, func(_ context.Context, w io.Writer) error {
		_, _ = w.Write([]byte("half a file"))
		return broken
	})
	require.ErrorIs(t, err, broken)
}

// TestAFileThatCannotBeReplacedBringsTheFormerBack puts a folder where a table
// should go, which no file can replace.
func TestAFileThatCannotBeReplacedBringsTheFormerBack(t *testing.T) {
	folder := t.TempDir()
	_, err := demo().Save(context.Background(), folder, Options{NoWorkbook: true})
	require.NoError(t, err)
	former := []byte("former results")
	require.NoError(t, os.WriteFile(filepath.Join(folder, ResultsFile), former, 0o666))
	blocked := filepath.Join(folder, TablesFolder, "samples.csv")
	require.NoError(t, os.Remove(blocked))
	require.NoError(t, os.MkdirAll(filepath.Join(blocked, "full"), 0o777))
	listed := everything(t, folder)
	_, err = demo().Save(context.Background(), folder, Options{})
	require.ErrorContains(t, err, "cannot replace "+blocked)
	after, err := os.ReadFile(filepath.Join(folder, ResultsFile))
	require.NoError(t, err)
	require.Equal(t, former, after)
	require.Equal(t, listed, everything(t, folder), "no new workbook and no leavings")
}

func TestSaveNeverWritesOverItsInputs(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, WorkbookFile)
	require.NoError(t, os.WriteFile(path, []byte("a survey"), 0o666))
	r := demo()
	r.Surveys[0].Inputs = []survey.Input{{Path: path}}
	_, err := r.Save(context.Background(), folder, Options{})
	require.ErrorContains(t, err, "is one of the input files")
	_, err = r.Save(context.Background(), folder, Options{NoWorkbook: true})
	require.NoError(t, err)
}

func TestSaveSaysWhatToDoWhereItCannotWrite(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o666))
	_, err := demo().Save(context.Background(), filepath.Join(file, "results"), Options{})
	require.ErrorContains(t, err, "choose another folder with -o")
}
