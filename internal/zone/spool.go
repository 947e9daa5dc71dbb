package zone

import (
	"bytes"
	"io"
	"os"
)

// appender gathers text and appends it to a file that is opened only to be
// written to: a thousand zones must not hold a thousand files open.
type appender struct {
	path string
	buf  []byte
	size int // what is gathered for a write
	n    int64
	err  error
	// lines counts the line ends written, where count asks for it.
	lines int
	count bool
}

const (
	// gatherAll bounds what all appenders of a run gather.
	gatherAll               = 6 << 20
	gatherLeast, gatherMost = 4 << 10, 256 << 10
)

func newAppender(path string, of int) *appender {
	return &appender{path: path, size: min(max(gatherAll/max(of, 1), gatherLeast), gatherMost)}
}

func (a *appender) Write(b []byte) (int, error) {
	if a.count {
		a.lines += bytes.Count(b, []byte{'\n'})
	}
	a.buf = append(a.buf, b...)
	if len(a.buf) >= a.size {
		a.flush()
	}
	return len(b), a.err
}

// flush writes what has gathered.
func (a *appender) flush() {
	a.n += int64(len(a.buf))
	if a.err == nil {
		a.err = appendFile(a.path, a.buf)
	}
	a.buf = a.buf[:0]
}

func appendFile(path string, b []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o644)
	if err != nil {
		return err
	}
	_, err = f.Write(b)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return err
}

// spool keeps text in memory, and past a bound in a file of its own.
type spool struct {
	dir  string
	mem  []byte
	file *appender
}

// spoolInMemory is how much of it is kept there.
const spoolInMemory = 1 << 20

func (s *spool) Write(b []byte) (int, error) {
	if s.file == nil && len(s.mem)+len(b) > spoolInMemory {
		f, err := os.CreateTemp(s.dir, "spool-*")
		if err != nil {
			return 0, err
		}
		s.file = newAppender(f.Name(), 1)
		if err := f.Close(); err != nil {
			return 0, err
		}
	}
	if s.file != nil {
		return s.file.Write(b)
	}
	s.mem = append(s.mem, b...)
	return len(b), nil
}

// empty tells whether nothing was written.
func (s *spool) empty() bool { return len(s.mem) == 0 && s.file == nil }

// copyTo writes it all out.
func (s *spool) copyTo(w io.Writer) error {
	r, err := s.open()
	if err != nil {
		return err
	}
	defer r.Close()
	_, err = io.Copy(w, r)
	return err
}

// open reads it from the beginning.
func (s *spool) open() (io.ReadCloser, error) {
	if s.file == nil {
		return io.NopCloser(bytes.NewReader(s.mem)), nil
	}
	s.file.flush()
	if s.file.err != nil {
		return nil, s.file.err
	}
	f, err := os.Open(s.file.path)
	if err != nil {
		return nil, err
	}
	return struct {
		io.Reader
		io.Closer
	}{io.MultiReader(bytes.NewReader(s.mem), f), f}, nil
}

// remove takes its file away.
func (s *spool) remove() {
	if s.file != nil {
		_ = os.Remove(s.file.path)
	}
}
