package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"sagitta/internal/diag"
)

// folder is a result of several files that appears whole or not at all: it is
// built beside its place and renamed.
type folder struct {
	name  string // where it goes
	build string // where it is built, "" once it is in its place
}

// createFolder prepares the folder name. One that is there and not empty is
// refused, unless it may be replaced.
func (s *session) createFolder(name string, replace bool) (*folder, error) {
	if name == "" || name == "-" {
		return nil, usagef("give it with -o DIR", "no output folder given")
	}
	name = filepath.Clean(name)
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, os.ErrNotExist):
	case err != nil:
		return nil, diag.IOError(err)
	case !info.IsDir():
		return nil, usagef("give the name of a folder with -o", "%s is a file", name)
	default:
		list, err := os.ReadDir(name)
		if err != nil {
			return nil, diag.IOError(err)
		}
		if len(list) > 0 && !replace {
			return nil, usagef("give another with -o, or let it be replaced as a whole with --replace", "the folder %s is not empty", name)
		}
		if err := s.notInside(name); err != nil {
			return nil, err
		}
		// A link is followed, so that it stays one.
		if real, err := filepath.EvalSymlinks(name); err == nil {
			name = real
		}
	}
	build, err := os.MkdirTemp(filepath.Dir(name), "."+filepath.Base(name)+"-*")
	if err != nil {
		return nil, diag.IOError(err)
	}
	if err := os.Chmod(build, 0o755); err != nil {
		_ = os.RemoveAll(build)
		return nil, diag.IOError(err)
	}
	f := &folder{name: name, build: build}
	s.folders = append(s.folders, f)
	return f, nil
}

// notInside refuses a folder that holds an input: it would be swapped away, or
// is the one that the command runs in.
func (s *session) notInside(name string) error {
	info, err := os.Stat(name)
	if err != nil {
		return diag.IOError(err)
	}
	for _, in := range s.inputs {
		at, err := filepath.Abs(in.name)
		if err != nil {
			continue
		}
		for dir := filepath.Dir(at); ; dir = filepath.Dir(dir) {
			if d, err := os.Stat(dir); err == nil && os.SameFile(d, info) {
				return usagef("give another folder with -o", "the output folder %s holds the input %s", name, in.name)
			}
			if dir == filepath.Dir(dir) {
				break
			}
		}
	}
	return nil
}

// commit puts the folder in its place.
func (f *folder) commit() error {
	fail := func(err error) error { return diag.IOError(fmt.Errorf("writing %s: %w", f.name, err)) }
	old := ""
	if _, err := os.Stat(f.name); err == nil {
		// An empty one, or one to be replaced: it goes aside, so that there is
		// a way back.
		old = f.build + ".old"
		if err := os.Rename(f.name, old); err != nil {
			return fail(err)
		}
	}
	if err := os.Rename(f.build, f.name); err != nil {
		if old != "" {
			_ = os.Rename(old, f.name)
		}
		return fail(err)
	}
	f.build = ""
	if old != "" {
		if err := os.RemoveAll(old); err != nil {
			return fail(err)
		}
	}
	return nil
}

// discard drops what was built. After commit it does nothing.
func (f *folder) discard() {
	if f.build != "" {
		_ = os.RemoveAll(f.build)
	}
}
