package files

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"sagitta/internal/diag"
)

// Output is a result that appears whole or not at all. Until Files.Commit, nothing
// is at its place: a file is written beside and renamed, so a kill at any
// moment leaves the old one whole; standard output, a device or a pipe gets
// what has been gathered.
type Output struct {
	name   string
	file   *temporary
	stdout io.Writer // where what is gathered for no name goes
	old    *aside    // what was at its place, nil for nothing
	locks  *Locks    // of many runs, nil for one of its own
	digest
}

// Create prepares the output name; "" and "-" are standard output.
func (f *Files) Create(name string) (*Output, error) {
	place, err := placeOf(f.path(name))
	if err != nil {
		return nil, err
	}
	o := &Output{name: name, stdout: f.stdout}
	if place == "" {
		o.file, err = newTemporary()
	} else {
		o.locks = f.locks()
		o.file, err = createBeside(place, o.locks)
		err = writing(name, err)
	}
	if err != nil {
		return nil, err
	}
	f.discard = append(f.discard, o.file.discard)
	if f.stage != nil {
		o.KeepDigest()
	}
	return o, nil
}

// Write writes to where the result is gathered. Its errors are of kind diag.IO.
func (o *Output) Write(b []byte) (int, error) {
	n, err := o.file.Write(b)
	o.digest.take(b[:n])
	return n, writing(o.label(), err)
}

// ReadAt reads what was written so far.
func (o *Output) ReadAt(b []byte, at int64) (int, error) {
	n, err := o.file.ReadAt(b, at)
	if err != nil && err != io.EOF {
		err = diag.IOError(err)
	}
	return n, err
}

func (o *Output) label() string { return streamOr(o.name) }

func (o *Output) turn() int {
	if o.file.place == "" {
		return 0
	}
	return 1
}

func (o *Output) settle() error {
	if o.file.place == "" {
		return nil
	}
	return writing(o.label(), o.file.settle())
}

func (o *Output) put(last bool) (err error) {
	if o.file.place == "" {
		return o.send()
	}
	if !last {
		if o.old, err = setAside(o.file.place, o.locks); err != nil {
			return writing(o.label(), err)
		}
	}
	if err = o.file.replace(); err != nil {
		o.keep()
	}
	return writing(o.label(), err)
}

// send writes what is gathered to where it goes out as a stream.
func (o *Output) send() error {
	defer o.file.discard()
	to := o.stdout
	if named(o.name) {
		f, err := os.OpenFile(o.name, os.O_WRONLY, 0)
		if err != nil {
			return diag.IOError(err)
		}
		defer f.Close()
		to = f
	}
	_, err := o.file.Seek(0, io.SeekStart)
	if err == nil {
		_, err = io.Copy(to, o.file)
	}
	return writing(o.label(), err)
}

func (o *Output) back() {
	switch {
	case o.file.place == "":
	case o.old == nil:
		_ = os.Remove(o.file.place)
	case os.Rename(o.old.name, o.file.place) == nil:
		o.old.done()
	}
}

func (o *Output) keep() {
	if o.old != nil {
		o.old.drop()
		o.old = nil
	}
}

// writing marks what fails in writing to name, where something does: the file
// beside it is no name that anybody gave.
func writing(name string, err error) error {
	if err == nil {
		return nil
	}
	if e, ok := errors.AsType[*os.PathError](err); ok {
		err = e.Err
	}
	return diag.IOError(fmt.Errorf("writing %s: %w", name, err))
}

// Result is a file made in memory: its name, "" for standard output, and what
// it holds.
type Result struct {
	Name string
	Text []byte
}

// Write puts a result in its place, and those that go with it where they have a
// name, as Commit does.
func (f *Files) Write(result Result, with ...Result) error {
	results := append(slices.DeleteFunc(with, func(r Result) bool { return r.Name == "" }), result)
	var names []string
	for _, r := range results {
		names = append(names, cmp.Or(r.Name, "-"))
	}
	if err := f.CheckOutputs(names...); err != nil {
		return err
	}
	made, err := f.Make(results...)
	if err != nil {
		return err
	}
	return f.Commit(made...)
}

// Make makes results, which are not in their places yet.
func (f *Files) Make(results ...Result) (made []Made, err error) {
	for _, r := range results {
		out, err := f.Create(r.Name)
		if err != nil {
			return nil, err
		}
		if _, err := out.Write(r.Text); err != nil {
			return nil, err
		}
		made = append(made, out)
	}
	return made, nil
}
