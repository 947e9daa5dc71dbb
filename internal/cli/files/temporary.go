package files

import (
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"sagitta/internal/diag"
)

// temporary is a file of the tool's own: room for what is gathered, or a result
// that stands beside its place until it is whole.
type temporary struct {
	*os.File
	place string // where it belongs, "" for nowhere
	gone  bool   // in its place, or removed
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
func createBeside(place string) (*temporary, error) {
	perm := fs.FileMode(0o644)
	old, err := os.Lstat(place)
	switch {
	case err == nil:
		perm = old.Mode().Perm()
	case !errors.Is(err, fs.ErrNotExist):
		return nil, err
	}
	dir, base := filepath.Split(place)
	name := filepath.Join(dir, hidden(base)+strconv.FormatUint(rand.Uint64(), 36))
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, perm)
	if err != nil {
		return nil, err
	}
	t := &temporary{File: f, place: place}
	if old != nil {
		// What the process's mask took off.
		if err := f.Chmod(perm); err != nil {
			t.discard()
			return nil, err
		}
	}
	return t, nil
}

// hidden begins the name of what is built beside base, short enough for what follows.
func hidden(base string) string {
	return "." + strings.ToValidUTF8(base[:min(len(base), 100)], "")
}

// replace puts the file in its place. It is on the disk before it is there, so
// that no loss of power leaves a place with half a file; and closed, as not
// every system renames a file that is open.
func (t *temporary) replace() error {
	if err := t.Sync(); err != nil {
		return err
	}
	if err := t.Close(); err != nil {
		return err
	}
	err := os.Rename(t.Name(), t.place)
	t.gone = err == nil
	return err
}

// discard closes the file, and removes it where it is not in its place. A second
// time it does nothing.
func (t *temporary) discard() {
	_ = t.Close()
	if !t.gone {
		t.gone = os.Remove(t.Name()) == nil
	}
}
