package files

import (
	"context"
	"errors"
	"io"
)

// ErrInterrupted is the end of a run that a signal asked for.
var ErrInterrupted = errors.New("interrupted")

// Files are those of one run.
type Files struct {
	ctx      context.Context
	stdin    io.Reader
	stdout   io.Writer
	progress progress
	inputs   []identity
	outputs  []*Output
	folders  []*Folder
}

// New prepares the files of a run that lasts until ctx is done. Progress goes
// to stderr where that is a terminal.
func New(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) *Files {
	f := &Files{ctx: ctx, stdin: stdin, stdout: stdout}
	f.progress.init(stderr)
	return f
}

// Err is ErrInterrupted where the run has been asked to end, else err: what
// fails then fails because of it.
func (f *Files) Err(err error) error {
	if f.ctx.Err() != nil {
		return ErrInterrupted
	}
	return err
}

// ClearProgress takes the progress off the screen, for messages.
func (f *Files) ClearProgress() { f.progress.clear() }

// Close drops every result that is not in its place.
func (f *Files) Close() {
	f.progress.clear()
	for _, o := range f.outputs {
		o.discard()
	}
	for _, d := range f.folders {
		d.discard()
	}
}
