package files

import (
	"errors"
	"io/fs"
	"os"

	"sagitta/internal/diag"
)

// temporary is a file of the tool's own: room for what is gathered, or a result
// that stands beside its place until it is whole.
type temporary struct {
	*os.File
	place string // where it belongs, "" for nowhere
	whole bool   // on the disk, and closed
	gone  bool   // in its place, or removed
	done  func() // lets go of its lock, nil for none
}

// newTemporary makes a file to gather in.
func newTemporary() (*temporary, error) {
	file, err := os.CreateTemp("", "sagitta-*")
	if err != nil {
		return nil, diag.IOError(err)
	}
	// Gone from its folder at once where the system takes that of an open file,
	// so that no kill leaves it behind.
	return &temporary{File: file, gone: os.Remove(file.Name()) == nil}, nil
}

// createBeside prepares a file for place, which is no link. It gets the
// permissions of a file that is there, else those of any new file.
func createBeside(place string, locks *Locks) (*temporary, error) {
	perm := fs.FileMode(0o644)
	old, err := os.Lstat(place)
	switch {
	case err == nil:
		perm = old.Mode().Perm()
	case !errors.Is(err, fs.ErrNotExist):
		return nil, err
	}
	name, done := beside(place, locks)
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, perm)
	if err != nil {
		done()
		return nil, err
	}
	t := &temporary{File: f, place: place, done: done}
	if old != nil {
		// What the process's mask took off.
		if err := f.Chmod(perm); err != nil {
			t.discard()
			return nil, err
		}
	}
	return t, nil
}

// settle prepares for taking the place. The file is on the disk before it is there,
// so that no loss of power leaves a place with half a file; and closed, as not
// every system renames a file that is open.
// A second time it does nothing.
func (t *temporary) settle() error {
	if t.whole {
		return nil
	}
	if err := t.Sync(); err != nil {
		return err
	}
	t.whole = true
	return t.Close()
}

// replace puts the file, which is settled, in its place.
func (t *temporary) replace() error {
	err := os.Rename(t.Name(), t.place)
	if t.gone = err == nil; t.gone {
		t.done()
	}
	return err
}

// discard closes the file, and removes it where it is not in its place. A second
// time it does nothing.
func (t *temporary) discard() {
	_ = t.Close()
	if !t.gone {
		t.gone = os.Remove(t.Name()) == nil
		if t.done != nil {
			t.done()
		}
	}
}
