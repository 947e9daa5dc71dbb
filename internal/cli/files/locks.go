package files

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"sync"

	"github.com/gofrs/flock"
)

// Locks tell that what stands beside its place is still being built, one for all that is in
// a folder: to make and remove one for each result takes longer than to make a small one. A
// run that is killed lets go of them, as the system does for it.
type Locks struct {
	mu sync.Mutex
	of map[string]*folderLock
}

// folderLock is the lock of a folder.
type folderLock struct {
	id    string // in the names of what it is for
	lock  *flock.Flock
	users int
}

// mostIdle is in how many folders a lock may stay that nothing needs for now.
const mostIdle = 8

// take gives what is in the names of what is built in a folder, until release is called.
func (l *Locks) take(dir string) (id string, release func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	f := l.of[dir]
	if f != nil {
		if _, err := os.Lstat(f.lock.Path()); err != nil { // somebody has removed the folder
			f = nil
		}
	}
	if f == nil {
		if len(l.of) >= mostIdle {
			l.drop()
		}
		if l.of == nil {
			l.of = map[string]*folderLock{}
		}
		id := strconv.FormatUint(rand.Uint64(), 36)
		f = &folderLock{id: id, lock: flock.New(filepath.Join(dir, making+id+locked))}
		if is, err := f.lock.TryLock(); !is || err != nil {
			return id, func() {} // nothing tells of it there
		}
		l.of[dir] = f
	}
	f.users++
	return f.id, sync.OnceFunc(func() {
		l.mu.Lock()
		defer l.mu.Unlock()
		f.users--
	})
}

// Drop removes those that nothing needs.
func (l *Locks) Drop() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.drop()
}

func (l *Locks) drop() {
	for dir, f := range l.of {
		if f.users == 0 {
			release(f.lock)
			delete(l.of, dir)
		}
	}
}
