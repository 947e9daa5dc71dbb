package cli

import (
	"fmt"
	"io"
	"os"

	"sagitta/internal/diag"
)

// readable is an input: a file, or standard input for "-".
type readable struct {
	io.Reader
	name string
	file *os.File
}

func (r *readable) Close() {
	if r.file != nil {
		_ = r.file.Close()
	}
}

// open opens an input.
func (s *session) open(name string) (*readable, error) {
	if name == "-" {
		return &readable{Reader: readErrors{s.stdin, "standard input"}, name: "-"}, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, diag.IOError(err)
	}
	info, err := f.Stat()
	if err != nil {
		_ = f.Close()
		return nil, diag.IOError(err)
	}
	if info.IsDir() {
		_ = f.Close()
		return nil, usagef("", "%s is a folder", name)
	}
	s.inputs = append(s.inputs, fileID{name, info})
	r := &readable{name: name, file: f, Reader: readErrors{f, name}}
	if info.Mode().IsRegular() {
		r.Reader = s.progress.reader(r.Reader, info.Size())
	}
	return r, nil
}

// fileID tells one file from another whatever their names.
type fileID struct {
	name string
	info os.FileInfo
}

// apart refuses outputs that are one of the inputs; "" and "-" are none.
func (s *session) apart(outputs ...string) error {
	for _, out := range outputs {
		if out == "" || out == "-" {
			continue
		}
		info, err := os.Stat(out)
		if err != nil {
			continue // not there yet
		}
		for _, in := range s.inputs {
			if os.SameFile(in.info, info) {
				return usagef("give another name with -o", "the output %s is the input %s", out, in.name)
			}
		}
	}
	return nil
}

// readErrors marks what fails in reading.
type readErrors struct {
	r    io.Reader
	name string
}

func (r readErrors) Read(b []byte) (int, error) {
	n, err := r.r.Read(b)
	if err != nil && err != io.EOF {
		err = diag.IOError(fmt.Errorf("reading %s: %w", r.name, err))
	}
	return n, err
}
