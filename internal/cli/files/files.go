package files

import (
	"context"
	"errors"
	"io"
	"slices"
)

// ErrInterrupted is the end of a run that a signal asked for.
var ErrInterrupted = errors.New("interrupted")

// Files are those of one run.
type Files struct {
	ctx      context.Context
	stdin    io.Reader
	stdout   io.Writer
	progress *progress
	inputs   []*Input
	// discard has what drops the results that are not in their place.
	discard []func()
}

// New prepares the files of a run that lasts until ctx is done. Progress goes
// to stderr where that is a terminal.
func New(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) *Files {
	return &Files{ctx: ctx, stdin: stdin, stdout: stdout, progress: newProgress(stderr)}
}

// Messages is where messages go: to stderr, the progress being off the screen.
func (f *Files) Messages() io.Writer { return f.progress }

// Err is ErrInterrupted where the run has been asked to end, else err: what
// fails then fails because of it.
func (f *Files) Err(err error) error {
	if f.ctx.Err() != nil {
		return ErrInterrupted
	}
	return err
}

// Close closes what is read, and drops every result that is not in its place.
func (f *Files) Close() {
	f.progress.clear()
	for _, in := range f.inputs {
		_ = in.Close() // some are closed already
	}
	for _, discard := range slices.Backward(f.discard) {
		discard()
	}
}
