package files

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"

	"github.com/gofrs/flock"
)

// What is built beside its place, and what tells that it is still being built.
const (
	making = ".sagitta-"
	locked = ".lock"
)

// hidden begins the names of what is built beside place and of nothing else, short
// enough for what follows.
func hidden(place string) string {
	dir, base := filepath.Split(place)
	if len(base) > 100 {
		base = fmt.Sprintf("%s%x", strings.ToValidUTF8(base[:60], ""), sha256.Sum224([]byte(base)))
	}
	return filepath.Join(dir, "."+base+making)
}

// beside gives a new name for what is built beside place, and what lets go of its lock, which
// a run that is killed lets go of too. Where it has no lock among those of many, what such
// runs have left for this place is removed first.
// Where a file system knows no locks, nothing tells of them.
func beside(place string, locks *Locks) (name string, done func()) {
	stem, new := hidden(place), strconv.FormatUint(rand.Uint64(), 36)
	if locks != nil {
		id, done := locks.take(filepath.Dir(stem))
		return stem + id + "-" + new, done
	}
	sweep(filepath.Dir(stem), func(name string) bool {
		return strings.HasPrefix(name, filepath.Base(stem)) || strings.HasPrefix(name, making)
	})
	name = stem + new
	l := flock.New(name + locked)
	_, _ = l.TryLock()
	return name, sync.OnceFunc(func() { release(l) })
}

// sweep removes from a folder what runs that were killed have left there, of which the
// names of the locks are right.
func sweep(dir string, right func(name string) bool) {
	list, _ := os.ReadDir(dir)
	for _, e := range list {
		name := filepath.Join(dir, e.Name())
		if !e.Type().IsRegular() || !strings.HasSuffix(name, locked) || !right(e.Name()) {
			continue
		}
		l := flock.New(name)
		if free, err := l.TryLock(); !free || err != nil {
			continue
		}
		built := strings.TrimSuffix(name, locked)
		err := os.RemoveAll(built)
		if of := filepath.Base(built) + "-"; strings.HasPrefix(of, making) { // it is that of all with this in their names
			for _, e := range list {
				if strings.HasPrefix(e.Name(), ".") && strings.Contains(e.Name(), of) {
					err = errors.Join(err, os.RemoveAll(filepath.Join(dir, e.Name())))
				}
			}
		}
		if err == nil {
			release(l)
		}
	}
}

// release lets go of a lock.
func release(l *flock.Flock) {
	_ = l.Unlock()
	_ = os.Remove(l.Path())
}

// swapLock is held while a folder is replaced, and is there while that is not done.
func swapLock(name string) *flock.Flock { return flock.New(hidden(name) + "swap" + locked) }

// Restore puts a folder right whose replacement a kill has cut short: the old one,
// which is at the name with ".old", comes back where the new one is not there yet,
// and goes where it is.
func Restore(name string) {
	name = filepath.Clean(name)
	swap := swapLock(name)
	if _, err := os.Lstat(swap.Path()); err != nil {
		return
	}
	if free, err := swap.TryLock(); !free || err != nil {
		return // it is under way
	}
	defer release(swap)
	if _, err := os.Lstat(name); errors.Is(err, fs.ErrNotExist) {
		_ = os.Rename(name+".old", name)
		return
	}
	_ = os.RemoveAll(name + ".old")
}

// swap puts the folder build in the place name. One that is there is at the name with
// ".old" until the new one is in its place: at any moment one of both is whole.
func swap(build, name string) error {
	if _, err := os.Lstat(name); errors.Is(err, fs.ErrNotExist) {
		return os.Rename(build, name)
	}
	old := name + ".old"
	l := swapLock(name)
	_, _ = l.TryLock()
	defer release(l)
	if err := os.Rename(name, old); err != nil {
		return err
	}
	if err := os.Rename(build, name); err != nil {
		_ = os.Rename(old, name)
		return err
	}
	return os.RemoveAll(old)
}
