package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"sagitta/internal/diag"
)

// output is a result that appears whole or not at all. Until done, nothing
// is at its place: a file is written beside and renamed, so a kill at any
// moment leaves the old one whole; standard output, a device or a pipe gets
// what a spool has gathered.
type output struct {
	name  string
	w     io.Writer // where the command writes
	file  *beside
	spool *os.File
	to    io.Writer // where the spool goes; nil: open name
	// size is what the file has, begun what of it is on its way to the disk.
	size, begun int64
}

// writeBackSize is how much of a file is gathered before the disk gets it.
const writeBackSize = 8 << 20

// create prepares the output name; "" and "-" are standard output.
func (s *session) create(name string) (*output, error) {
	o := &output{name: name}
	if name == "" || name == "-" {
		o.to = s.stdout
	} else {
		info, err := os.Stat(name)
		switch {
		case err == nil && info.IsDir():
			return nil, usagef("", "%s is a folder", name)
		case err == nil && info.Mode().IsRegular(), errors.Is(err, os.ErrNotExist):
			// A link is followed, so that it stays one.
			target := name
			if real, err := filepath.EvalSymlinks(name); err == nil {
				target = real
			}
			o.file, err = createBeside(target)
			if err != nil {
				return nil, diag.IOError(fmt.Errorf("writing %s: %w", name, err))
			}
			o.w = o.file
			s.pending = append(s.pending, o)
			return o, nil
		case err != nil:
			return nil, diag.IOError(err)
		}
	}
	spool, err := os.CreateTemp("", "sagitta-*")
	if err != nil {
		return nil, diag.IOError(err)
	}
	// Gone from the folder at once, so that no kill leaves it behind.
	_ = os.Remove(spool.Name())
	o.spool, o.w = spool, spool
	s.pending = append(s.pending, o)
	return o, nil
}

// Write writes to where the result is gathered. Its errors are of kind diag.IO.
func (o *output) Write(b []byte) (int, error) {
	n, err := o.w.Write(b)
	if err != nil {
		err = diag.IOError(fmt.Errorf("writing %s: %w", o.label(), err))
	}
	if o.size += int64(n); o.file != nil && o.size-o.begun >= writeBackSize {
		writeBack(o.file.File, o.begun, o.size-o.begun)
		o.begun = o.size
	}
	return n, err
}

func (o *output) label() string {
	if o.name == "" || o.name == "-" {
		return "standard output"
	}
	return o.name
}

// commit puts the result in its place.
func (o *output) commit() error {
	if o.file != nil {
		if err := o.file.replace(); err != nil {
			return diag.IOError(fmt.Errorf("writing %s: %w", o.label(), err))
		}
		return nil
	}
	defer o.spool.Close()
	_, err := o.spool.Seek(0, io.SeekStart)
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
		_, err = io.Copy(to, o.spool)
	}
	if err != nil {
		return diag.IOError(fmt.Errorf("writing %s: %w", o.label(), err))
	}
	return nil
}

// discard drops what was gathered. After commit it does nothing.
func (o *output) discard() {
	if o.file != nil {
		o.file.discard()
	}
	if o.spool != nil {
		_ = o.spool.Close()
	}
}
