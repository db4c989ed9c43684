package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const module = "airtally"

// mayImport says which packages of the module each may import: arrows run
// downwards.
var mayImport = map[string][]string{
	"stats":            {},
	"volume":           {},
	"limits":           {"stats"},
	"exposure/finding": {},
	"exposure/survey":  {"exposure/finding", "limits", "volume", "stats"},
	"exposure/group":   {"limits", "stats"},
	"exposure":         {"exposure/group", "exposure/survey", "exposure/finding", "limits", "volume", "stats"},
	"reports":          {"exposure", "exposure/group", "exposure/survey", "exposure/finding", "limits", "volume", "stats"},
	"cmd/airtally":     {"reports", "exposure", "exposure/group", "exposure/survey", "exposure/finding", "limits", "volume", "stats"},
}

// upward returns what is wrong with a package importing others, "" where
// nothing is.
func upward(from string, imports []string) string {
	allowed, known := mayImport[from]
	for _, path := range imports {
		target, ours := strings.CutPrefix(path, module+"/")
		if !ours {
			continue
		}
		if !known {
			return from + " has no place among the layers"
		}
		if !slices.Contains(allowed, target) {
			return from + " imports " + target
		}
	}
	return ""
}

// importsOf returns the imports of one file.
func importsOf(t *testing.T, path string, source any) []string {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), path, source, parser.ImportsOnly)
	require.NoError(t, err)
	var paths []string
	for _, spec := range file.Imports {
		unquoted, err := strconv.Unquote(spec.Path.Value)
		require.NoError(t, err)
		paths = append(paths, unquoted)
	}
	return paths
}

func TestNoPackageImportsOneAboveIt(t *testing.T) {
	root := filepath.Join("..", "..")
	met := map[string]bool{}
	require.NoError(t, filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return err
		}
		folder, err := filepath.Rel(root, filepath.Dir(path))
		require.NoError(t, err)
		from := filepath.ToSlash(folder)
		met[from] = true
		require.Empty(t, upward(from, importsOf(t, path, nil)), path)
		return nil
	}))
	for from := range mayImport {
		require.True(t, met[from], "no package %s was looked at", from)
	}
}

func TestAnUpwardImportIsFound(t *testing.T) {
	source := "package stats\nimport (\n\"math\"\n\"airtally/limits\"\n)\n"
	require.Equal(t, "stats imports limits", upward("stats", importsOf(t, "made.go", source)))
	require.Equal(t, "exposure/finding imports exposure", upward("exposure/finding", []string{"airtally/exposure"}))
	require.Equal(t, "elsewhere has no place among the layers", upward("elsewhere", []string{"airtally/stats"}))
	require.Empty(t, upward("limits", []string{"fmt", "airtally/stats"}))
}
