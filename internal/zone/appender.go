package zone

import "sagitta/internal/zone/sheet"

// appender gathers text and appends it to a file that is opened only to be
// written to: a thousand zones must not hold a thousand files open.
type appender struct {
	path string
	buf  []byte
	size int // what is gathered for a write
	err  error
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
	a.buf = append(a.buf, b...)
	if len(a.buf) >= a.size {
		_ = a.flush()
	}
	return len(b), a.err
}

// flush writes what has gathered, and returns the first error.
func (a *appender) flush() error {
	if a.err == nil {
		a.err = sheet.Append(a.path, a.buf)
	}
	a.buf = a.buf[:0]
	return a.err
}
