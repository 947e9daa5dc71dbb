package files

import (
	"errors"
	"os"
	"path/filepath"

	"sagitta/internal/diag"
)

// Folder is a result of several files that appears whole or not at all: it is
// built beside its place and renamed.
type Folder struct {
	Name  string // what it is called
	Build string // where it is built, "" once it is in its place
	place string // where it goes
	done  func() // lets go of its lock
}

// Kind is what a folder is to be for it to be replaced, and the file by which it is known; the
// zero Kind is any.
type Kind struct{ Name, File string }

// CreateFolder prepares the folder name. One that is there and not empty is
// refused, unless it may be replaced and is of the kind: whatever else it holds would be lost.
func (f *Files) CreateFolder(name string, replace bool, kind Kind) (*Folder, error) {
	if !named(name) {
		return nil, diag.Errorf(diag.Setting, "give it with -o DIR", "no output folder given")
	}
	name = filepath.Clean(name)
	place := f.path(name)
	Restore(place)
	info, err := os.Stat(place)
	switch {
	case errors.Is(err, os.ErrNotExist):
	case err != nil:
		return nil, diag.IOError(err)
	case !info.IsDir():
		return nil, diag.Errorf(diag.Setting, "give the name of a folder with -o", "%s is a file", name)
	default:
		list, err := os.ReadDir(place)
		if err != nil {
			return nil, diag.IOError(err)
		}
		if len(list) > 0 && kind.File != "" {
			if _, err := os.Stat(filepath.Join(place, kind.File)); errors.Is(err, os.ErrNotExist) {
				return nil, diag.Errorf(diag.Setting, "give another with -o", "the folder %s is not empty, and no %s: it holds %s", name, kind.Name, list[0].Name())
			}
		}
		if len(list) > 0 && !replace {
			return nil, diag.Errorf(diag.Setting, "give another with -o, or let it be replaced as a whole with --replace", "the folder %s is not empty", name)
		}
		if err := f.notInside(name, info); err != nil {
			return nil, err
		}
		// A link is followed, so that it stays one.
		if real, err := filepath.EvalSymlinks(place); err == nil {
			place = real
		}
		if _, err := os.Lstat(place + ".old"); err == nil {
			return nil, diag.Errorf(diag.Setting, "move it away", "%s.old is in the way: the old folder goes there while it is replaced", name)
		}
	}
	build, done := beside(place, f.locks())
	if err := os.Mkdir(build, 0o755); err != nil {
		done()
		return nil, writing(name, err)
	}
	d := &Folder{Name: name, Build: build, place: place, done: done}
	f.discard = append(f.discard, d.discard)
	return d, nil
}

// notInside refuses a folder that holds an input: it would be swapped away, or
// is the one that the command runs in.
func (f *Files) notInside(name string, info os.FileInfo) error {
	for _, in := range f.inputs {
		at, err := filepath.Abs(f.path(in.name))
		if err != nil || in.info == nil {
			continue
		}
		for dir := filepath.Dir(at); ; dir = filepath.Dir(dir) {
			if d, err := os.Stat(dir); err == nil && os.SameFile(d, info) {
				return diag.Errorf(diag.Setting, "give another folder with -o", "the output folder %s holds the input %s", name, in.name)
			}
			if dir == filepath.Dir(dir) {
				break
			}
		}
	}
	return nil
}

func (d *Folder) settle() error { return nil }
func (d *Folder) turn() int     { return 2 }
func (d *Folder) back()         {}
func (d *Folder) keep()         {}

func (d *Folder) put(bool) error {
	if err := swap(d.Build, d.place); err != nil {
		return writing(d.Name, err)
	}
	d.Build = ""
	d.done()
	return nil
}

// discard drops what was built. Once it is in its place it does nothing.
func (d *Folder) discard() {
	if d.Build == "" {
		return
	}
	// Who still builds while the process is ended may put something in between. Then the
	// lock stays, for the next run to find it by.
	for range 100 {
		if os.RemoveAll(d.Build) == nil {
			d.done()
			return
		}
	}
}
