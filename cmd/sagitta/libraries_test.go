package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// DEVELOPERS.md says of each library that the project requires itself what it is there for.
func TestTheHouseNamesItsLibraries(t *testing.T) {
	const root = "../.."
	mod, err := os.ReadFile(filepath.Join(root, "go.mod"))
	if err != nil {
		t.Fatal(err)
	}
	var want []string
	for line := range strings.Lines(string(mod)) {
		line = strings.TrimPrefix(line, "require ")
		if f := strings.Fields(line); len(f) == 2 && strings.Contains(f[0], "/") && strings.HasPrefix(f[1], "v") {
			want = append(want, f[0]) // without "// indirect"
		}
	}
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(text), "\n## Libraries\n")
	table, _, _ = strings.Cut(table, "\n## ")
	var got []string
	for line := range strings.Lines(table) {
		cells := strings.Split(line, "|")
		name := strings.Trim(cells[min(1, len(cells)-1)], " `")
		if !strings.Contains(name, "/") {
			continue
		}
		if len(cells) != 4 || strings.TrimSpace(cells[2]) == "" {
			t.Errorf("no word on what %s is there for", name)
		}
		got = append(got, name)
	}
	slices.Sort(want)
	slices.Sort(got)
	for _, name := range want {
		if !slices.Contains(got, name) {
			t.Errorf("DEVELOPERS.md has no row for %s", name)
		}
	}
	for _, name := range got {
		if !slices.Contains(want, name) {
			t.Errorf("%s is not required any more", name)
		}
	}
	if len(want) < 5 || len(slices.Compact(slices.Clone(got))) != len(got) {
		t.Errorf("%d required, rows %v", len(want), got)
	}
}
