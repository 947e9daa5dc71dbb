package files

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"

	"sagitta/internal/diag"
)

// Input is something to read: a file, or standard input for "-". Errors of
// Read are of kind IO, or ErrInterrupted.
type Input struct {
	name string
	of   *Files
	from io.Reader
	file *os.File    // nil for standard input
	info os.FileInfo // nil for standard input
	// copy is the tool's own copy of what cannot be read twice, nil where there
	// is none.
	copy *temporary
	digest
}

// Open opens an input. It is closed with the files at the latest.
func (f *Files) Open(name string) (*Input, error) {
	in := &Input{name: name, of: f, from: f.stdin}
	f.inputs = append(f.inputs, in)
	if name == "-" {
		return in, nil
	}
	open := os.Open
	if f.stage != nil {
		open = f.stage.Open
	}
	var err error
	if in.file, err = open(name); err != nil {
		if diag.As(err) != nil {
			return nil, err
		}
		return nil, diag.IOError(err)
	}
	if in.info, err = in.file.Stat(); err != nil {
		return nil, diag.IOError(err)
	}
	if in.info.IsDir() {
		return nil, diag.Errorf(diag.Setting, "", "%s is a folder", name)
	}
	in.from = in.file
	if in.info.Mode().IsRegular() {
		in.from = f.progress.reader(in.file, in.info.Size())
	}
	return in, nil
}

// OpenTwice opens an input that Seek can lead back to its beginning: of what
// can be read only once that is a copy.
func (f *Files) OpenTwice(name string) (*Input, error) {
	in, err := f.Open(name)
	if err != nil || in.info != nil && in.info.Mode().IsRegular() {
		return in, err
	}
	if in.copy, err = newTemporary(); err != nil {
		return nil, err
	}
	if _, err := io.Copy(&lines{to: in.copy}, in); err != nil && !errors.Is(err, errNoText) {
		return nil, err
	}
	_, err = in.Seek(0, io.SeekStart)
	return in, err
}

// mostLine is how long a line may be of what is copied: far more than in any text that is
// read. Of what has none, as a device that never ends, no more is copied, and whoever reads
// that says what is wrong.
const mostLine = 16 << 20

var errNoText = errors.New("it has no lines")

// lines writes text, as long as it has lines.
type lines struct {
	to    io.Writer
	since int // how much came after the last end of a line
}

func (l *lines) Write(b []byte) (int, error) {
	if at := bytes.LastIndexAny(b, "\n\r"); at >= 0 {
		l.since = len(b) - at
	} else {
		l.since += len(b)
	}
	if l.since > mostLine {
		return 0, errNoText
	}
	return l.to.Write(b)
}

// Read reads on.
func (in *Input) Read(b []byte) (int, error) {
	if in.of.ctx.Err() != nil {
		return 0, ErrInterrupted
	}
	n, err := in.from.Read(b)
	in.digest.take(b[:n])
	switch {
	case err == io.EOF:
		in.whole = true
	case err != nil:
		err = in.failed(err)
	}
	return n, err
}

// ReadAt reads from anywhere in an input that was opened to be read twice.
func (in *Input) ReadAt(b []byte, at int64) (int, error) {
	if in.of.ctx.Err() != nil {
		return 0, ErrInterrupted
	}
	file := in.file
	if in.copy != nil {
		file = in.copy.File
	}
	n, err := file.ReadAt(b, at)
	if err != nil && err != io.EOF {
		err = in.failed(err)
	}
	return n, err
}

func (in *Input) failed(err error) error {
	name := in.name
	if in.file == nil {
		name = "standard input"
	}
	return diag.IOError(fmt.Errorf("reading %s: %w", name, err))
}

// Seek goes back to the beginning of an input that was opened to be read
// twice, and nowhere else.
func (in *Input) Seek(int64, int) (int64, error) {
	file := in.file
	if in.copy != nil {
		file = in.copy.File
	}
	in.of.progress.clear()
	if in.hash != nil && !in.whole {
		in.hash.Reset()
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return 0, in.failed(err)
	}
	in.from = file
	if info, err := file.Stat(); err == nil {
		in.from = in.of.progress.reader(file, info.Size())
	}
	return 0, nil
}

// Stat tells of the file, as it was when it was opened; standard input has none.
func (in *Input) Stat() (os.FileInfo, error) {
	if in.info == nil {
		return nil, os.ErrInvalid
	}
	return in.info, nil
}

// Close ends the reading.
func (in *Input) Close() error {
	if in.copy != nil {
		in.copy.discard()
	}
	if in.file != nil {
		return in.file.Close()
	}
	return nil
}
