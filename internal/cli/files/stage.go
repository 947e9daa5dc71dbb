package files

import (
	"cmp"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"sagitta/internal/diag"
)

// Stage is a folder that commands work in one after the other, as if it were the one
// that they run in: names lead from it, nothing is read or written outside of it, and
// what they make is kept beside its place until Commit puts all of it there, or none.
// A command reads by its name what one before it has made.
type Stage struct {
	root *os.Root
	dir  string // where that is
	held []Made
	// settled gives what became of each when it settled, and wrong is the first that could
	// not: a second try may seem to do, and what the disk has not taken is lost all the same.
	settled []chan error
	wrong   error
	// at are the files among them by their names, folders the folders.
	at      map[string]*Output
	folders map[string]*Folder
	// drop has what drops them.
	drop *Files
	// locks are for what is made, own tells that they are of this stage alone.
	locks *Locks
	own   bool
}

// OpenStage opens the folder dir. What is made there is locked by locks, nil for some of its
// own.
func OpenStage(dir string, locks *Locks) (*Stage, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, diag.IOError(err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, diag.IOError(err)
	}
	s := &Stage{root: root, dir: dir, at: map[string]*Output{}, folders: map[string]*Folder{}, drop: &Files{progress: newProgress(nil)}, locks: locks}
	if s.own = locks == nil; s.own {
		s.locks = new(Locks)
	}
	return s, nil
}

// On has a run work on a stage.
func (f *Files) On(s *Stage) { f.stage = s }

// Close drops what is not in its place.
func (s *Stage) Close() {
	s.drop.Close()
	if s.own {
		s.locks.Drop()
	}
	_ = s.root.Close()
}

// ErrOutside is that a name leads out of a stage, by itself or by a link.
var ErrOutside = errors.New("leads out of the folder")

// Look tells of what is at a name; ErrOutside where that is outside.
func (s *Stage) Look(name string) (fs.FileInfo, error) {
	if !filepath.IsLocal(name) {
		return nil, ErrOutside
	}
	info, err := s.root.Stat(name)
	return info, opening(name, outside(err))
}

// opening makes an error of a root's one of opening a file, as others are.
func opening(name string, err error) error {
	if e, ok := errors.AsType[*fs.PathError](err); ok {
		return &fs.PathError{Op: "open", Path: name, Err: e.Err}
	}
	return err
}

// outside makes an error of a root's that something leads out of it ErrOutside. The
// package os has no name for it.
func outside(err error) error {
	if e, ok := errors.AsType[*fs.PathError](err); ok && strings.HasSuffix(e.Err.Error(), "path escapes from parent") {
		return ErrOutside
	}
	return err
}

// MakeDir makes a folder, and those above it, that are not there.
func (s *Stage) MakeDir(name string) error {
	if !filepath.IsLocal(name) {
		return ErrOutside
	}
	if err := outside(s.root.MkdirAll(name, 0o755)); err != nil {
		if errors.Is(err, ErrOutside) {
			return err
		}
		return diag.IOError(err)
	}
	return nil
}

// Remove removes a file, or a folder that is empty.
func (s *Stage) Remove(name string) { _ = s.root.Remove(name) }

// Open opens a file to be read: one that was made, or one in the folder. What is neither
// a file nor a folder, and may never end, is refused.
func (s *Stage) Open(name string) (*os.File, error) {
	if out := s.at[filepath.Clean(name)]; out != nil {
		return os.Open(out.file.Name())
	}
	if dir, base := filepath.Split(filepath.Clean(name)); s.folders[filepath.Clean(dir)] != nil {
		return os.Open(filepath.Join(s.folders[filepath.Clean(dir)].Build, base))
	}
	if s.building(name) {
		return os.Open(name)
	}
	info, err := s.Look(name)
	if errors.Is(err, ErrOutside) {
		return nil, diag.Errorf(diag.Setting, "", "%s leads out of the folder", name)
	}
	if err == nil && !info.Mode().IsRegular() && !info.IsDir() {
		return nil, diag.Errorf(diag.Setting, "", "%s is no file", name)
	}
	if err != nil {
		return nil, err
	}
	f, err := s.root.Open(name)
	return f, opening(name, err)
}

// building reports whether a name is within a folder that is being built here.
func (s *Stage) building(name string) bool {
	return filepath.IsAbs(name) && strings.HasPrefix(filepath.Clean(name), s.path("")) && strings.Contains(name, making)
}

// path is where a name is. Whether it is in the folder Look has told.
func (s *Stage) path(name string) string { return filepath.Join(s.dir, name) }

// Sweep removes from a folder what runs that were killed have left there. Until then
// nothing that is made on a stage is to be under way there.
func (s *Stage) Sweep(name string) {
	if _, err := s.Look(name); err != nil {
		return
	}
	sweep(s.path(name), func(lock string) bool {
		folder, swapping := strings.CutSuffix(strings.TrimPrefix(lock, "."), making+"swap"+locked)
		if swapping {
			Restore(s.path(filepath.Join(name, folder)))
		}
		return !swapping && strings.HasPrefix(lock, ".") && strings.Contains(lock, making)
	})
}

// hold keeps what a run has made until Commit, and has it settle meanwhile: what comes next
// need not wait for the disk.
func (s *Stage) hold(f *Files, made []Made) {
	for _, m := range made {
		switch m := m.(type) {
		case *Output:
			s.at[filepath.Clean(m.name)] = m
		case *Folder:
			s.folders[m.Name] = m
		}
	}
	for _, m := range made {
		settled := make(chan error, 1)
		go func() { settled <- m.settle() }()
		s.settled = append(s.settled, settled)
	}
	s.held = append(s.held, made...)
	s.drop.discard = append(s.drop.discard, f.discard...)
	f.discard = nil
}

// Commit puts what was made and is still held in its place, as Files.Commit does.
func (s *Stage) Commit(ctx context.Context, more ...Result) error {
	if err := s.settle(); err != nil {
		return err
	}
	s.drop.ctx, s.drop.stage = ctx, s
	made, err := s.drop.Make(more...)
	if err != nil {
		return err
	}
	s.drop.stage = nil
	return s.drop.Commit(append(s.held, made...)...)
}

// settle waits until all that is held has settled.
func (s *Stage) settle() error {
	for _, settled := range s.settled {
		s.wrong = cmp.Or(s.wrong, <-settled)
	}
	s.settled = nil
	return s.wrong
}

// Held is a file that is held: its name, where it goes, and where it is until then. Digest is
// that of what was written into it, "" of one in a folder.
type Held struct{ Name, At, Digest string }

// Held lists the files that are held, those of folders too. They are on the disk.
func (s *Stage) Held() (list []Held, err error) {
	if err := s.settle(); err != nil {
		return nil, err
	}
	for _, m := range s.held {
		switch m := m.(type) {
		case *Output:
			list = append(list, Held{filepath.Clean(m.name), m.file.Name(), m.Sum()})
		case *Folder:
			entries, err := os.ReadDir(m.Build)
			if err != nil {
				return nil, diag.IOError(err)
			}
			for _, e := range entries {
				list = append(list, Held{filepath.Join(m.Name, e.Name()), filepath.Join(m.Build, e.Name()), ""})
			}
		}
	}
	return list, nil
}
