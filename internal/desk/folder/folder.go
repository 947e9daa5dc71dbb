// Package folder is the folder that the desk works in: what lies there, by its content,
// and its files read and written without ever leaving it, links included. What is not a
// file as usual, such as a pipe, is neither read nor written.
package folder

import (
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"sync"
	"syscall"
)

// ErrThere is that there is a file of that name.
var ErrThere = errors.New("there is a file of that name")

// ErrTooLong is that a file is longer than what was asked for.
var ErrTooLong = errors.New("the file is too long")

// Folder is open until it is closed. It may be used by several at once.
type Folder struct {
	root  *os.Root
	mu    sync.Mutex
	known map[string]known
}

// Open opens a folder.
func Open(dir string) (*Folder, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	return &Folder{root: root, known: map[string]known{}}, nil
}

// Close closes it.
func (f *Folder) Close() error { return f.root.Close() }

// open opens a file to be read. Opening a pipe is not to wait for its other end.
func (f *Folder) open(name string) (*os.File, fs.FileInfo, error) {
	if err := checkPath(name); err != nil {
		return nil, nil, err
	}
	info, err := f.root.Stat(name)
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("%s is no file that can be read", name)
	}
	if err != nil {
		return nil, nil, err
	}
	file, err := f.root.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, nil, err
	}
	if info, err = file.Stat(); err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("%s is no file that can be read", name)
	}
	if err != nil {
		_ = file.Close()
		return nil, nil, err
	}
	return file, info, nil
}

// Open opens a file in the folder, or in a folder of zones there.
func (f *Folder) Open(name string) (io.ReadCloser, error) {
	file, _, err := f.open(name)
	if err != nil {
		return nil, err
	}
	return file, nil
}

// Has says why a command must not read a file, nil where it may: it is there, lies inside,
// and is a file as usual.
func (f *Folder) Has(name string) error {
	file, _, err := f.open(name)
	if err != nil {
		return err
	}
	return file.Close()
}

// Read reads a file of so many bytes at most.
func (f *Folder) Read(name string, most int64) ([]byte, error) {
	file, _, err := f.open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	b, err := io.ReadAll(io.LimitReader(file, most+1))
	if err == nil && int64(len(b)) > most {
		return nil, ErrTooLong
	}
	return b, err
}

// Digest is that of a file, as "sha256:…", and how many bytes it has.
func (f *Folder) Digest(name string) (digest string, size int64, err error) {
	file, _, err := f.open(name)
	if err != nil {
		return "", 0, err
	}
	defer file.Close()
	h := sha256.New()
	size, err = io.Copy(h, file)
	return fmt.Sprintf("sha256:%x", h.Sum(nil)), size, err
}

// Free says whether a command may write to a name: ErrThere where that replaces a file,
// another error where it must not, as to a link, which may lead elsewhere.
func (f *Folder) Free(name string) error {
	if err := CheckName(name); err != nil {
		return err
	}
	info, err := f.root.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case info.Mode().IsRegular():
		return ErrThere
	case info.IsDir():
		return fmt.Errorf("%s is a folder", name)
	}
	return fmt.Errorf("%s is a link or a device, which is not written to", name)
}

// FreeFolder is Free for a folder that is written as a whole, which holds files alone.
func (f *Folder) FreeFolder(name string) error {
	if err := CheckName(name); err != nil {
		return err
	}
	info, err := f.root.Lstat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case !info.IsDir():
		return fmt.Errorf("%s is no folder", name)
	}
	files, err := f.In(name)
	if err == nil && len(files) > 0 {
		return ErrThere
	}
	return err
}

// In lists the files in a folder of zones. The error names what is no file as usual, as
// a command that reads the folder could be led elsewhere by it.
func (f *Folder) In(name string) ([]string, error) {
	if err := CheckName(name); err != nil {
		return nil, err
	}
	if info, err := f.root.Lstat(name); err != nil || !info.IsDir() {
		return nil, fmt.Errorf("%s is no folder", name)
	}
	dir, err := f.root.Open(name)
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	list, err := dir.ReadDir(-1)
	var names []string
	for _, e := range list {
		if !e.Type().IsRegular() {
			return nil, fmt.Errorf("%s/%s is no file as usual, and a folder of zones has nothing else", name, e.Name())
		}
		names = append(names, e.Name())
	}
	return names, err
}

// Put writes a file, whole or not at all. One that is there stays, and ErrThere is
// returned, unless it may be replaced.
func (f *Folder) Put(name string, text []byte, replace bool) error {
	if err := f.Free(name); err != nil && !(replace && errors.Is(err, ErrThere)) {
		return err
	}
	build := "." + rand.Text() + ".sagitta-desk"
	file, err := f.root.OpenFile(build, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	defer func() { _ = f.root.Remove(build) }() // gone already where it was put
	_, err = file.Write(text)
	if err = errors.Join(err, file.Close()); err != nil {
		return err
	}
	if !replace {
		// A link to a name that has come up meanwhile fails; a rename would not.
		if err := f.root.Link(build, name); err == nil || errors.Is(err, fs.ErrExist) {
			if err != nil {
				err = ErrThere
			}
			return err
		}
		if err := f.Free(name); err != nil { // not every file system has links
			return err
		}
	}
	return f.root.Rename(build, name)
}

// SetAside gives a file another name, NAME-damaged with its end, numbered where there is
// one already, and returns that.
func (f *Folder) SetAside(name string) (string, error) {
	stem, end := Stem(name), name[len(Stem(name)):]
	for k := 1; k < 1000; k++ {
		to := fmt.Sprintf("%s-damaged-%d%s", stem, k, end)
		if _, err := f.root.Lstat(to); errors.Is(err, fs.ErrNotExist) {
			return to, f.root.Rename(name, to)
		}
	}
	return "", fmt.Errorf("there are too many files like %s-damaged-1%s", stem, end)
}

// Present reports whether anything has that name.
func (f *Folder) Present(name string) bool {
	_, err := f.root.Lstat(name)
	return err == nil
}

// Version tells a file from the same file after a change.
func (f *Folder) Version(name string) (string, error) {
	file, info, err := f.open(name)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%s %d %d", name, info.Size(), info.ModTime().UnixNano()), file.Close()
}
