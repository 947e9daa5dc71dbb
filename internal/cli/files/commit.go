package files

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"sagitta/internal/diag"
)

// Made is a result that is whole and not in its place yet: an *Output or a *Folder.
type Made interface {
	// settle does what can fail before it takes its place.
	settle() error
	// put lets it take its place, or fails and leaves that as it was. Where it is
	// not the last it keeps what was there.
	put(last bool) error
	// back undoes put, and keep drops what it has kept.
	back()
	keep()
	// turn is when it is put: what goes out as a stream first, as it can fail where a
	// rename hardly can, and folders last, which are not put back.
	turn() int
}

// Commit puts results in their places, all or none: where one cannot be, those before
// it go again, and what they have replaced comes back. Only what has gone out as a
// stream has.
func (f *Files) Commit(made ...Made) error {
	slices.SortStableFunc(made, func(a, b Made) int { return a.turn() - b.turn() })
	if f.stage != nil {
		if err := f.Err(nil); err != nil {
			return err
		}
		streams := slices.IndexFunc(made, func(m Made) bool { return m.turn() > 0 })
		if streams < 0 {
			streams = len(made)
		}
		f.stage.hold(f, made[streams:])
		made = made[:streams]
	}
	for _, m := range made {
		if err := m.settle(); err != nil {
			return err
		}
	}
	if err := f.Err(nil); err != nil {
		return err
	}
	for i, m := range made {
		var err error
		if m.turn() > 0 {
			err = f.place()
		}
		if err == nil {
			err = m.put(i == len(made)-1)
		}
		if err != nil {
			for _, before := range slices.Backward(made[:i]) {
				before.back()
			}
			return err
		}
	}
	for _, m := range made {
		m.keep()
	}
	return nil
}

// MakeDir makes a folder, and those above it that are not there. Close removes what it
// has made as far as that is empty then.
func (f *Files) MakeDir(name string) error {
	var made []func() // the innermost first
	for dir := filepath.Clean(name); ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(dir); err == nil || dir == filepath.Dir(dir) {
			break
		}
		made = append(made, func() { _ = os.Remove(dir) })
	}
	slices.Reverse(made) // as Close goes through them from the last
	f.discard = append(f.discard, made...)
	if err := os.MkdirAll(name, 0o755); err != nil {
		return diag.IOError(err)
	}
	return nil
}

// aside is a file that was at a place, kept beside it under a name of the tool's own.
type aside struct {
	name string
	done func()
}

// setAside keeps what is at a place, which stays there; nil where there is nothing.
func setAside(place string, locks *Locks) (*aside, error) {
	info, err := os.Lstat(place)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	a := &aside{}
	a.name, a.done = beside(place, locks)
	if err = os.Link(place, a.name); err != nil { // not every file system has links
		err = copyFile(place, a.name, info.Mode().Perm())
	}
	if err != nil {
		a.drop()
		return nil, err
	}
	return a, nil
}

// drop lets go of what was kept.
func (a *aside) drop() {
	_ = os.Remove(a.name)
	a.done()
}

// copyFile copies a file to a name that is not there yet.
func copyFile(from, to string, perm fs.FileMode) error {
	src, err := os.Open(from)
	if err != nil {
		return err
	}
	defer src.Close()
	dst, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, perm)
	if err != nil {
		return err
	}
	_, err = io.Copy(dst, src)
	return errors.Join(err, dst.Close())
}
