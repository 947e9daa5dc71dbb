package watch

import (
	"errors"
	"io/fs"
	"os"
	"time"
)

// sign is what tells one state of a file from another without reading it. The zero sign is that
// of a file that is not there.
type sign struct {
	size         int64
	mod, changed int64 // when it was written, and when anything of it was changed, ns since 1970
	inode        uint64
	there, odd   bool // odd is what is no file, or leads out of the folder
}

// state is how far a file has come.
type state int

const (
	missing  state = iota
	settling       // it was written to a moment ago
	open           // somebody has it open for writing
	whole
)

// file is a file as it was when it was last looked at.
type file struct {
	sign
	state state
	since time.Time // when it was first seen so
	look  int       // the number of the look that saw it last
	// program tells whether what it held when it was judged looks like a program.
	judged  sign
	program bool
}

// see takes what a file is now. rest is how long one is left alone before it is taken to be
// whole, where the system does not tell.
func (f *file) see(root *os.Root, name string, rest time.Duration, now time.Time) {
	was := f.sign
	f.sign = signOf(root, name)
	switch {
	case !f.there:
		f.state = missing
		return
	case f.odd:
		f.state = whole // the job that names it says what is wrong
		return
	case f.sign != was || f.state == missing:
		f.since, f.state = now, settling
	case f.state == whole:
		return
	}
	known, writing := beingWritten(root, name)
	switch {
	case known && writing:
		f.state = open
	case known && f.changed > f.mod, // its name came after the last of what is in it
		known && now.UnixNano()-f.mod >= int64(rest),
		now.Sub(f.since) >= rest:
		f.state = whole
	default:
		f.state = settling
	}
}

// signOf is the sign of a file.
func signOf(root *os.Root, name string) sign {
	info, err := root.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return sign{}
	case err != nil:
		return sign{there: true, odd: true}
	}
	s := sign{size: info.Size(), mod: info.ModTime().UnixNano(), there: true, odd: !info.Mode().IsRegular()}
	s.inode, s.changed = more(info)
	if s.odd {
		s.size, s.mod, s.changed = 0, 0, 0 // a folder changes with what is in it
	}
	return s
}
