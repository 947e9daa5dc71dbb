package follow

import (
	"io"
	"sync/atomic"
)

// sink writes what the writer has gathered, beside it. The writer fills one
// buffer while the other is written.
type sink struct {
	w     io.Writer
	full  chan []byte
	empty chan []byte
	done  chan struct{}
	// err is for others once failed is set, or done closed.
	err    error
	failed atomic.Bool
}

func newSink(w io.Writer) *sink {
	s := &sink{w: w, full: make(chan []byte, 1), empty: make(chan []byte, 2), done: make(chan struct{})}
	s.empty <- newBuffer()
	go s.run()
	return s
}

// newBuffer has room for what is gathered, and for some lines more.
func newBuffer() []byte { return make([]byte, 0, flushSize+flushSize/4) }

func (s *sink) run() {
	defer close(s.done)
	for b := range s.full {
		if s.err == nil {
			if _, s.err = s.w.Write(b); s.err != nil {
				s.failed.Store(true)
			}
		}
		s.empty <- b[:0]
	}
}

// put hands b on and returns another buffer. The error is that of some write
// before.
func (s *sink) put(b []byte) ([]byte, error) {
	if s.failed.Load() {
		return b[:0], s.err
	}
	s.full <- b
	return <-s.empty, nil
}

// close waits until all is written.
func (s *sink) close() error {
	close(s.full)
	<-s.done
	return s.err
}
