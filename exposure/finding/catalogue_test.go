package finding_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"airtally/exposure/finding"
)

var (
	kebab    = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	nameText = regexp.MustCompile(`\{[^{}]*\}`)
	plainKey = regexp.MustCompile(`^\{[a-z0-9]+\}$`)
)

func TestEveryEntryCanBeRead(t *testing.T) {
	seen := map[finding.Code]bool{}
	for _, e := range finding.All() {
		if seen[e.Code] || !kebab.MatchString(string(e.Code)) {
			t.Errorf("code %q stands twice or is not in lower-case words with hyphens", e.Code)
		}
		seen[e.Code] = true
		if e.Severity != finding.Note && e.Severity != finding.Check && e.Severity != finding.Stop {
			t.Errorf("%s: severity %d is none", e.Code, e.Severity)
		}
		for what, text := range map[string]string{"message": e.Message, "remedy": e.Remedy} {
			if strings.TrimSpace(text) == "" {
				t.Errorf("%s has no %s", e.Code, what)
			}
			if strings.HasSuffix(text, ".") || strings.ContainsAny(nameText.ReplaceAllString(text, ""), "{}") {
				t.Errorf("%s: the %s %q ends in a stop or has a lone brace", e.Code, what, text)
			}
			for _, name := range nameText.FindAllString(text, -1) {
				if !plainKey.MatchString(name) {
					t.Errorf("%s: %s in the %s is not a plain name", e.Code, name, what)
				}
			}
		}
	}
}

// sources is the Go source of the packages that raise findings, functions by
// name. Functions of one name share an entry.
type sources struct {
	files     []*ast.File
	functions map[string][]*ast.FuncDecl
}

func parseSources(t *testing.T) sources {
	t.Helper()
	s := sources{functions: map[string][]*ast.FuncDecl{}}
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		s.files = append(s.files, f)
		for _, d := range f.Decls {
			if function, ok := d.(*ast.FuncDecl); ok {
				s.functions[function.Name.Name] = append(s.functions[function.Name.Name], function)
			}
		}
		return nil
	})
	if err != nil || len(s.files) < 20 {
		t.Fatalf("read %d files of source: %v", len(s.files), err)
	}
	return s
}

// codes returns the constants of type Code by name.
func (s sources) codes() map[string]finding.Code {
	found := map[string]finding.Code{}
	for _, f := range s.files {
		if f.Name.Name != "finding" {
			continue
		}
		ast.Inspect(f, func(n ast.Node) bool {
			v, ok := n.(*ast.ValueSpec)
			if !ok {
				return true
			}
			if kind, ok := v.Type.(*ast.Ident); ok && kind.Name == "Code" {
				for i, name := range v.Names {
					text, _ := strconv.Unquote(v.Values[i].(*ast.BasicLit).Value)
					found[name.Name] = finding.Code(text)
				}
			}
			return true
		})
	}
	return found
}

// uses returns, for each name of package finding that other packages use, the
// declarations it is used in.
func (s sources) uses() map[string][]ast.Decl {
	found := map[string][]ast.Decl{}
	for _, f := range s.files {
		for _, d := range f.Decls {
			ast.Inspect(d, func(n ast.Node) bool {
				if x, ok := n.(*ast.SelectorExpr); ok {
					if in, ok := x.X.(*ast.Ident); ok && in.Name == "finding" {
						found[x.Sel.Name] = append(found[x.Sel.Name], d)
					}
				}
				return true
			})
		}
	}
	return found
}

// keys collects the texts that a declaration, and the functions it names up to
// depth steps away, use as keys of maps.
func (s sources) keys(d ast.Node, depth int, into map[string]bool) {
	text := func(e ast.Expr) {
		if literal, ok := e.(*ast.BasicLit); ok && literal.Kind == token.STRING {
			key, _ := strconv.Unquote(literal.Value)
			into[key] = true
		}
	}
	ast.Inspect(d, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.KeyValueExpr:
			text(x.Key)
		case *ast.IndexExpr:
			text(x.Index)
		case *ast.Ident:
			if depth > 0 {
				for _, named := range s.functions[x.Name] {
					s.keys(named.Body, depth-1, into)
				}
			}
		}
		return true
	})
}

func TestEveryCodeHasAnEntryAndIsRaised(t *testing.T) {
	s := parseSources(t)
	uses := s.uses()
	entries := map[finding.Code]bool{}
	for _, e := range finding.All() {
		entries[e.Code] = true
	}
	codes := s.codes()
	if len(codes) != len(entries) {
		t.Errorf("%d codes are declared and the catalogue has %d entries", len(codes), len(entries))
	}
	for name, code := range codes {
		if !entries[code] {
			t.Errorf("code %s (%s) has no entry", name, code)
		}
		if len(uses[name]) == 0 {
			t.Errorf("code %s (%s) is raised nowhere", name, code)
		}
	}
}

// TestEveryNameIsFilled looks at the source: the {names} of a code's texts must
// be keys of the values where the code is raised, or in what is named there, or
// where a function that only chooses the code is called. A name left unfilled
// would stop the program at the first such finding.
func TestEveryNameIsFilled(t *testing.T) {
	s := parseSources(t)
	uses := s.uses()
	for name, code := range s.codes() {
		e := finding.Catalogue(code)
		filled := map[string]bool{}
		for _, d := range uses[name] {
			for _, raiser := range s.raisers(d) {
				s.keys(raiser, 2, filled)
			}
		}
		filled["each"] = true // of findings told together, as is their number
		filled["n"] = filled["n"] || finding.TextsTogether(code) != ""
		for _, key := range nameText.FindAllString(e.Message+e.Remedy+finding.TextsTogether(code), -1) {
			if !filled[strings.Trim(key, "{}")] {
				t.Errorf("%s: nothing fills %s where it is raised", code, key)
			}
		}
	}
}

// raisers returns where the values of a code are to be found: the function
// that uses it; for one that only returns it those that name it; for a table of
// codes the whole file.
func (s sources) raisers(d ast.Decl) []ast.Node {
	function, ok := d.(*ast.FuncDecl)
	if !ok {
		i := slices.IndexFunc(s.files, func(f *ast.File) bool { return slices.Contains(f.Decls, d) })
		return []ast.Node{s.files[i]}
	}
	if !returnsCode(function) {
		return []ast.Node{d}
	}
	var callers []ast.Node
	for _, f := range s.files {
		for _, other := range f.Decls {
			ast.Inspect(other, func(n ast.Node) bool {
				if x, ok := n.(*ast.CallExpr); ok {
					if called, ok := x.Fun.(*ast.Ident); ok && called.Name == function.Name.Name {
						callers = append(callers, other)
					}
				}
				return true
			})
		}
	}
	return callers
}

func returnsCode(function *ast.FuncDecl) bool {
	if function.Type.Results == nil {
		return false
	}
	return slices.ContainsFunc(function.Type.Results.List, func(field *ast.Field) bool {
		x, ok := field.Type.(*ast.SelectorExpr)
		return ok && x.Sel.Name == "Code"
	})
}

func TestUnknownCodePanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("an unknown code is a fault of the program and must not pass")
		}
	}()
	finding.Catalogue("no-such-code")
}

func TestUnfilledNamePanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a text with a name left unfilled must not pass")
		}
	}()
	new(finding.List).Add(finding.Drift, finding.Place{}, nil, nil)
}

func TestPlaces(t *testing.T) {
	for _, c := range []struct {
		place finding.Place
		want  string
	}{
		{finding.Place{File: "day3.xlsx", Table: "flows", Row: 17, Column: "readings", Cell: "F17"}, "day3.xlsx:flows!F17"},
		{finding.Place{File: "flows.csv", Table: "flows", Row: 17}, "flows.csv:flows row 17"},
		{finding.Place{File: "day3.xlsx", Table: "flows"}, "day3.xlsx:flows"},
		{finding.Place{File: "day3.xlsx"}, "day3.xlsx"},
		{finding.Place{Table: "flows", Cell: "F17"}, "flows!F17"},
	} {
		if got := c.place.String(); got != c.want {
			t.Errorf("place %+v reads %q, want %q", c.place, got, c.want)
		}
	}
}

// TestOrder holds findings to the order of their fields and to standing once.
func TestOrder(t *testing.T) {
	at := func(row int) finding.Place { return finding.Place{File: "a.csv", Table: "lab", Row: row} }
	values := finding.Values{"sample": "S1", "analyte": "Quillite", "letters": "J", "read": "3", "n": 2, "cells": []string{"A1", "A2"}}
	var first, second finding.List
	first.Add(finding.LabDuplicate, at(9), []string{"S1", "S1", ""}, values) // stop
	first.Add(finding.Estimate, at(3), []string{"S1"}, values)               // note
	second.Add(finding.Estimate, at(2), []string{"S1"}, values)
	second.Add(finding.Estimate, at(3), []string{"S1"}, values)
	first.Merge(&second)
	if first.Len() != 4 {
		t.Errorf("%d findings after the merge, want 4", first.Len())
	}
	var got []string
	for _, f := range first.Sorted() {
		got = append(got, f.Severity.String()+" "+strconv.Itoa(f.Row)+" "+f.Subject)
	}
	if want := []string{"note 2 S1", "note 3 S1", "stop 9 S1"}; !slices.Equal(got, want) {
		t.Errorf("sorted: %q, want %q", got, want)
	}
}
