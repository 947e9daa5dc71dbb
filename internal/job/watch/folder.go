package watch

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"github.com/fsnotify/fsnotify"
	"github.com/gofrs/flock"

	"sagitta/internal/diag"
	"sagitta/internal/job/batch"
)

const (
	// Rules is the file that says how programs are done that no job names.
	Rules = "watch.toml"
	// Failed is the folder that jobs are moved into that failed.
	Failed = "failed"
	// Log is what the log is called that stands beside them.
	Log = "watch.log"
)

// Settings are how a folder is watched.
type Settings struct {
	Dir string
	// Rest is how long nobody writes to a file before it is taken to be whole, unless it came
	// whole, by its name.
	Rest time.Duration
	// Read reads a job file, or, where program is not "", the rules for that program.
	Read func(r io.Reader, name, program string) (Names, error)
	// Note says a line.
	Note func(format string, args ...any)
}

// Names are those that a job gives, from the folder.
type Names struct {
	// Job is whether it is one: lens records and machine profiles are none.
	Job bool
	// Inputs are the files that it reads. Results are what its results are called, and Record
	// is what is kept of them.
	Inputs          []string
	Results, Record string
	// More is whether some of the inputs say which others there are.
	More bool
}

// Job is a job that is ready.
type Job struct {
	// Name is that of its file, from the folder; of the program, where no job names that.
	Name string
	// Program is whether it is such a program.
	Program bool
	// Twin is a job whose results are called the same, "" for none.
	Twin string
	// Before tells that it was there when the watch began.
	Before bool
	of     *entry
	record bool
}

// Folder is one that is watched. Its methods may be called by several at once, but Next by
// one alone.
type Folder struct {
	Settings
	root   *os.Root
	lock   *flock.Flock
	events *fsnotify.Watcher // nil where the system tells of none
	next   time.Time         // when it is looked at again
	slow   time.Duration     // how long the last look took

	mu      sync.Mutex
	looks   int
	files   map[string]*file
	entries map[string]*entry
	queue   [2][]*entry // those of which a record is there, and the others
	atHand  map[string]*entry
	owner   map[string]*entry // by what results are called
	rules   rules
	records int // how many of those at hand have a record
	ended   chan struct{}
	wanted  map[string]*wanted
	err     error
}

// Open opens a folder, which is watched by one at a time.
func Open(s Settings) (*Folder, error) {
	info, err := os.Stat(s.Dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, diag.Errorf(diag.Setting, "make it first, or give another", "there is no folder %s", s.Dir)
	case err != nil:
		return nil, diag.IOError(err)
	case !info.IsDir():
		return nil, diag.Errorf(diag.Setting, "give the folder that jobs are dropped into", "%s is no folder", s.Dir)
	}
	f := &Folder{Settings: s, files: map[string]*file{}, entries: map[string]*entry{}, atHand: map[string]*entry{}, owner: map[string]*entry{}, wanted: map[string]*wanted{}, ended: make(chan struct{}, 1)}
	if f.root, err = os.OpenRoot(s.Dir); err != nil {
		return nil, diag.IOError(err)
	}
	// The folder itself is locked, so that nothing is left behind; where that is not possible,
	// nothing tells of another.
	f.lock = flock.New(s.Dir, flock.SetFlag(os.O_RDONLY))
	if free, err := f.lock.TryLock(); err == nil && !free {
		f.Close()
		return nil, diag.Errorf(diag.Setting, "end the other one first, or give another folder", "%s is watched already", s.Dir)
	}
	if f.events, err = fsnotify.NewWatcher(); err == nil {
		err = f.events.Add(s.Dir)
	}
	if err != nil {
		f.Note("the system does not tell of what changes in %s (%v): it is looked at every %g s", s.Dir, err, every.Seconds())
		if f.events != nil {
			_ = f.events.Close()
			f.events = nil
		}
	}
	return f, nil
}

// Close lets go of the folder.
func (f *Folder) Close() {
	if f.events != nil {
		_ = f.events.Close()
	}
	_ = f.lock.Close()
	_ = f.root.Close()
}

// OpenLog opens the log that stands in the folder, to be appended to.
func (f *Folder) OpenLog() (*batch.Log, error) {
	if info, err := f.root.Stat(Log); err == nil && !info.Mode().IsRegular() {
		return nil, diag.Errorf(diag.Setting, "move it away, or give another with --log FILE", "%s is no file", filepath.Join(f.Dir, Log))
	}
	l, err := f.root.OpenFile(Log, os.O_RDWR|os.O_APPEND|os.O_CREATE|syscall.O_NONBLOCK, 0o644)
	if err != nil {
		return nil, diag.IOError(err)
	}
	log, err := batch.LogOf(l, filepath.Join(f.Dir, Log))
	if err != nil {
		l.Close()
	}
	return log, err
}

// Has reports whether a file is there.
func (f *Folder) Has(name string) bool {
	_, err := f.root.Lstat(name)
	return err == nil
}

// Idle reports whether no job is ready or at hand.
func (f *Folder) Idle() bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return len(f.queue[0])+len(f.queue[1])+len(f.atHand) == 0
}

// Waiting is how many jobs wait for something.
func (f *Folder) Waiting() (n int) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, e := range f.entries {
		if e.phase == waits && e.wants != "" {
			n++
		}
	}
	return n
}

// Err is why the folder is watched no longer, nil where that was asked for.
func (f *Folder) Err() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.err
}
