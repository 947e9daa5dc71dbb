package files

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"sagitta/internal/diag"
)

// Output is a result that appears whole or not at all. Until Commit, nothing
// is at its place: a file is written beside and renamed, so a kill at any
// moment leaves the old one whole; standard output, a device or a pipe gets
// what has been gathered.
type Output struct {
	name     string
	w        io.Writer // where the command writes
	file     *beside
	gathered *temporary
	to       io.Writer // where what is gathered goes; nil: open name
	digest
	// size is what the file has, begun what of it is on its way to the disk.
	size, begun int64
}

// writeBackSize is how much of a file is gathered before the disk gets it.
const writeBackSize = 8 << 20

// Create prepares the output name; "" and "-" are standard output.
func (f *Files) Create(name string) (*Output, error) {
	o := &Output{name: name}
	if !named(name) {
		o.to = f.stdout
	} else {
		info, err := os.Stat(name)
		switch {
		case err == nil && info.IsDir():
			return nil, diag.Errorf(diag.Setting, "", "%s is a folder", name)
		case err == nil && info.Mode().IsRegular(), errors.Is(err, os.ErrNotExist):
			// A link is followed, so that it stays one.
			target := name
			if real, err := filepath.EvalSymlinks(name); err == nil {
				target = real
			}
			o.file, err = createBeside(target)
			if err != nil {
				return nil, writing(name, err)
			}
			o.w = o.file
			f.outputs = append(f.outputs, o)
			return o, nil
		case err != nil:
			return nil, diag.IOError(err)
		}
	}
	gathered, err := newTemporary()
	if err != nil {
		return nil, err
	}
	o.gathered, o.w = gathered, gathered
	f.outputs = append(f.outputs, o)
	return o, nil
}

// Write writes to where the result is gathered. Its errors are of kind diag.IO.
func (o *Output) Write(b []byte) (int, error) {
	n, err := o.w.Write(b)
	o.digest.take(b[:n])
	if err != nil {
		err = writing(o.label(), err)
	}
	if o.size += int64(n); o.file != nil && o.size-o.begun >= writeBackSize {
		writeBack(o.file.File, o.begun, o.size-o.begun)
		o.begun = o.size
	}
	return n, err
}

func (o *Output) label() string {
	if !named(o.name) {
		return "standard output"
	}
	return o.name
}

// Commit puts the result in its place.
func (o *Output) Commit() error {
	if o.file != nil {
		if err := o.file.replace(); err != nil {
			return writing(o.label(), err)
		}
		return nil
	}
	defer o.gathered.discard()
	_, err := o.gathered.Seek(0, io.SeekStart)
	to := o.to
	if err == nil && to == nil {
		f, oerr := os.OpenFile(o.name, os.O_WRONLY, 0)
		if oerr != nil {
			return diag.IOError(oerr)
		}
		defer f.Close()
		to = f
	}
	if err == nil {
		_, err = io.Copy(to, o.gathered)
	}
	if err != nil {
		return writing(o.label(), err)
	}
	return nil
}

// discard drops what was gathered. After Commit it does nothing.
func (o *Output) discard() {
	if o.file != nil {
		o.file.discard()
	}
	if o.gathered != nil {
		o.gathered.discard()
	}
}

// writing marks what fails in writing to name: the file beside it is no name
// that anybody gave.
func writing(name string, err error) error {
	if e, ok := errors.AsType[*os.PathError](err); ok {
		err = e.Err
	}
	return diag.IOError(fmt.Errorf("writing %s: %w", name, err))
}
