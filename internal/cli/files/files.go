package files

import (
	"bufio"
	"context"
	"errors"
	"io"
	"path/filepath"
	"slices"
	"sync"
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
	// stage is what the run works on, nil for the folder that the process is in.
	stage *Stage

	turning sync.Mutex
	// placing is set once results go to their places: what follows is the run's own
	// end, whoever asks for another.
	placing bool
}

// New prepares the files of a run that lasts until ctx is done. Progress goes
// to stderr where that is a terminal.
func New(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) *Files {
	return &Files{ctx: ctx, stdin: stdin, stdout: stdout, progress: newProgress(stderr)}
}

// Messages is where messages go: to stderr, the progress being off the screen.
func (f *Files) Messages() io.Writer { return f.progress }

// Stdout gives standard output for a text that is written bit by bit as a library has it, and
// what sends the rest of it and tells whether all went out.
func (f *Files) Stdout() (to io.Writer, err func() error) {
	w := bufio.NewWriter(f.stdout)
	return w, func() error { return writing(streamOr(""), w.Flush()) }
}

// path is where what the run calls name is.
func (f *Files) path(name string) string {
	if f.stage == nil || !named(name) || filepath.IsAbs(name) {
		return name
	}
	return f.stage.path(name)
}

// locks are those of many runs, nil where each result has its own.
func (f *Files) locks() *Locks {
	if f.stage == nil {
		return nil
	}
	return f.stage.locks
}

// Folder is where the folder is that the run calls name.
func (f *Files) Folder(name string) string {
	if f.stage != nil {
		if d := f.stage.folders[filepath.Clean(name)]; d != nil {
			return d.Build
		}
	}
	return f.path(name)
}

// Err is ErrInterrupted where the run has been asked to end before its results went
// to their places, else err: what fails then fails because of it.
func (f *Files) Err(err error) error {
	if f.ctx.Err() != nil && !f.Placing() {
		return ErrInterrupted
	}
	return err
}

// Placing reports whether results go to their places, or are there.
func (f *Files) Placing() bool {
	f.turning.Lock()
	defer f.turning.Unlock()
	return f.placing
}

// place lets results go to their places, unless the run has been asked to end.
func (f *Files) place() error {
	f.turning.Lock()
	defer f.turning.Unlock()
	if f.ctx.Err() != nil && !f.placing {
		return ErrInterrupted
	}
	f.placing = true
	return nil
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
