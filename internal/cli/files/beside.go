package files

import (
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
)

// beside is a file that is written beside its place, and takes it whole.
type beside struct {
	*os.File
	place string
	done  bool
}

// tries bounds the search for a name that is free.
const tries = 1000

// createBeside prepares a file for place, which is no link. It gets the
// permissions of a file that is there, else those of any new file.
func createBeside(place string) (*beside, error) {
	perm := fs.FileMode(0o644)
	old, err := os.Lstat(place)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	if err == nil {
		perm = old.Mode().Perm()
	}
	dir, base := filepath.Split(place)
	for n := 0; ; n++ {
		name := filepath.Join(dir, "."+base+strconv.FormatUint(rand.Uint64(), 36))
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, perm)
		if errors.Is(err, fs.ErrExist) && n < tries {
			continue
		}
		if err != nil {
			return nil, err
		}
		b := &beside{File: f, place: place}
		if old != nil {
			// What the process's mask took off.
			if err := f.Chmod(perm); err != nil {
				b.discard()
				return nil, err
			}
		}
		return b, nil
	}
}

// replace puts the file in its place. It is on the disk before it is there, so
// that no loss of power leaves a place with half a file; and closed, as not
// every system renames a file that is open.
func (b *beside) replace() error {
	if err := b.Sync(); err != nil {
		return err
	}
	if err := b.Close(); err != nil {
		return err
	}
	if err := os.Rename(b.Name(), b.place); err != nil {
		return err
	}
	b.done = true
	return nil
}

// discard takes a file away that is not in its place.
func (b *beside) discard() {
	if !b.done {
		_ = b.Close() // a second time it does nothing but say so
		_ = os.Remove(b.Name())
		b.done = true
	}
}
