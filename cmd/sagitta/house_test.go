package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// DEVELOPERS.md has every room, its level and what it imports, as it is.
func TestTheHouseIsAsWritten(t *testing.T) {
	const root, module = "../..", "sagitta/"
	short := func(path string) string { return strings.TrimPrefix(strings.TrimPrefix(path, module), "internal/") }
	imports := map[string][]string{}
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		dir, err := filepath.Rel(root, filepath.Dir(name))
		if err != nil {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		room := short(filepath.ToSlash(dir))
		imports[room] = append(imports[room], "")
		for _, i := range f.Imports {
			if path, _ := strconv.Unquote(i.Path.Value); strings.HasPrefix(path, module) {
				imports[room] = append(imports[room], short(path))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var level func(room string) int
	level = func(room string) int {
		n := -1
		for _, r := range imports[room] {
			if r != "" {
				n = max(n, level(r))
			}
		}
		return n + 1
	}
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, house, _ := strings.Cut(string(text), "## The house")
	_, house, _ = strings.Cut(house, "```\n")
	house, _, _ = strings.Cut(house, "```\n")
	house = strings.ReplaceAll(house, "\n                        ", " ")
	for line := range strings.Lines(house) {
		what, below, _ := strings.Cut(line, " < ")
		f := strings.Fields(what)
		room := f[1]
		if _, is := imports[room]; !is {
			t.Errorf("there is no room %s", room)
			continue
		}
		if n := strconv.Itoa(level(room)); n != f[0] {
			t.Errorf("%s is at level %s, not %s", room, n, f[0])
		}
		var want []string
		for _, r := range imports[room] {
			if r != "" && r != "diag" && r != "phrase" {
				want = append(want, r)
			}
		}
		slices.Sort(want)
		want = slices.Compact(want)
		if got := strings.Fields(below); !strings.HasPrefix(below, "(") && !slices.Equal(got, want) {
			t.Errorf("%s imports %v, not %v", room, want, got)
		}
		delete(imports, room)
	}
	for room := range imports {
		if !strings.HasPrefix(room, "scripts/") && room != "program/yardstick" {
			t.Errorf("no line for %s", room)
		}
	}
}
