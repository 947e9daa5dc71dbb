package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
)

// A room that nobody can walk through in an hour wants to be two, and so does a
// type whose methods are all over it.
func TestRoomsStaySmall(t *testing.T) {
	const mostFiles, mostPerType = 25, 7
	files := map[string]int{}
	of := map[string]map[string]bool{} // the files with methods of a type
	err := filepath.WalkDir("../../internal", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		dir := filepath.Dir(name)
		files[dir]++
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, d := range f.Decls {
			if fn, is := d.(*ast.FuncDecl); is && fn.Recv != nil {
				typ := fn.Recv.List[0].Type
				if star, is := typ.(*ast.StarExpr); is {
					typ = star.X
				}
				if id, is := typ.(*ast.Ident); is {
					key := dir + "." + id.Name
					if of[key] == nil {
						of[key] = map[string]bool{}
					}
					of[key][name] = true
				}
			}
		}
		return nil
	})
	if err != nil || len(files) < 20 || len(of) < 50 {
		t.Fatalf("%d rooms, %d types with methods: %v", len(files), len(of), err)
	}
	for dir, n := range files {
		if n > mostFiles {
			t.Errorf("%s has %d files, more than %d", dir, n, mostFiles)
		}
	}
	for typ, in := range of {
		if len(in) > mostPerType {
			t.Errorf("%s has methods in %d files, more than %d", typ, len(in), mostPerType)
		}
	}
}
