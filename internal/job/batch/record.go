package batch

import (
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"
	"time"

	"sagitta/internal/diag"
)

// Folder is where a job's files are, by their names from there.
type Folder interface {
	// Look tells of a file without reading it.
	Look(name string) (fs.FileInfo, error)
	// Read opens one.
	Read(name string) (io.ReadCloser, error)
}

// Seen is a file as it was when it was read.
type Seen struct {
	Name  string `json:"name"`
	Size  int64  `json:"size"`
	Mod   int64  `json:"mod_ns"` // when it was written, ns since 1970
	Inode uint64 `json:"inode,omitempty"`
	// Changed is when the system changed it last, ns since 1970: 0 where it does not tell, or
	// of a result, which has yet come to its place since.
	Changed int64  `json:"changed_ns,omitempty"`
	Digest  string `json:"digest"`
}

// Record is what is kept of a job that was done, beside its results.
type Record struct {
	Schema  int     `json:"schema"`
	Version string  `json:"version"`
	Job     string  `json:"job"` // the digest of what the job file says
	Verdict Verdict `json:"verdict"`
	Result  string  `json:"result"`
	// At is when the inputs were read, ns since 1970.
	At      int64  `json:"at_ns"`
	Inputs  []Seen `json:"inputs"`
	Outputs []Seen `json:"outputs"`
	// Gone are results of the time before that are none any more.
	Gone []Seen `json:"gone,omitempty"`
}

const (
	schema = 1
	// mostRecord bounds what is read of a record.
	mostRecord = 4 << 20
)

// ErrNoRecord is that there is none, or none that can be read: the job is done again.
var ErrNoRecord = errors.New("no record")

// ReadRecord reads a record.
func ReadRecord(in Folder, name string) (*Record, error) {
	f, err := in.Read(name)
	if err != nil {
		return nil, ErrNoRecord
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, mostRecord))
	if err != nil {
		return nil, ErrNoRecord
	}
	var r Record
	if json.Unmarshal(text, &r) != nil || r.Schema != schema {
		return nil, ErrNoRecord
	}
	return &r, nil
}

// Text is the record as it is written.
func (r *Record) Text() []byte {
	r.Schema = schema
	text, _ := json.Marshal(r) // it has nothing that JSON has not
	return append(text, '\n')
}

// justWritten is how long before it was read a file may have been written so that it can
// have been written again without its time telling: file systems count time in steps of
// up to 2 s.
const justWritten = 2 * time.Second

// Holds reports whether nothing has changed since a job was done that says what has the
// digest job, reads inputs and is done by this version. fresh tells that files had to be
// read to know that, and that the record, which knows them now, is worth writing again.
//
// A file is taken to be unchanged, and not read, where its size, its inode, the time
// at which it was last written and, of an input, that of the last change that the system
// knows of are as recorded. That trusts, where the system does not tell, that nobody writes
// into a file and then sets its time back; that a disk of another computer gives the times of
// one clock, within 2 s of this one's; and of results, that nobody has
// written as many bytes over them at the very moment in which they were made.
func (r *Record) Holds(in Folder, version, job string, inputs []string, now time.Time) (holds, fresh bool) {
	if r.Version != version || r.Job != job || len(r.Inputs) != len(inputs) {
		return false, false
	}
	for i := range r.Inputs {
		s := &r.Inputs[i]
		if s.Name != inputs[i] {
			return false, false
		}
		same, read := s.same(in, s.Mod > r.At-int64(justWritten))
		if !same {
			return false, false
		}
		fresh = fresh || read
	}
	for i := range r.Outputs {
		same, read := r.Outputs[i].same(in, false)
		if !same {
			return false, false
		}
		fresh = fresh || read
	}
	if fresh {
		r.At = now.UnixNano()
	}
	return true, fresh
}

// same reports whether a file is as it was, by reading it where its time does not tell.
func (s *Seen) same(in Folder, doubted bool) (same, read bool) {
	info, err := in.Look(s.Name)
	if err != nil || info.Size() != s.Size {
		return false, false
	}
	now := look(s.Name, info)
	if !doubted && now.Mod == s.Mod && now.Inode == s.Inode && (s.Changed == 0 || now.Changed == s.Changed) {
		return true, false
	}
	was := s.Digest
	if *s, err = Take(in, s.Name); err != nil || s.Digest != was {
		return false, true
	}
	return true, true
}

// look is a file as it is, but for its digest.
func look(name string, info fs.FileInfo) Seen {
	return Seen{Name: name, Size: info.Size(), Mod: info.ModTime().UnixNano(), Inode: inode(info), Changed: changed(info)}
}

// Take reads a file for what a record has of it.
func Take(in Folder, name string) (Seen, error) {
	info, err := in.Look(name)
	if err != nil {
		return Seen{}, err
	}
	if info.IsDir() {
		return Seen{}, diag.Errorf(diag.Setting, "", "%s is a folder", name)
	}
	f, err := in.Read(name)
	if err != nil {
		return Seen{}, err
	}
	defer f.Close()
	h := sha256.New()
	room := make([]byte, min(max(info.Size(), 1), mostRoom))
	if _, err := io.CopyBuffer(h, struct{ io.Reader }{f}, room); err != nil {
		return Seen{}, fmt.Errorf("reading %s: %w", name, err)
	}
	return Known(name, info, fmt.Sprintf("sha256:%x", h.Sum(nil))), nil
}

// mostRoom is the most room that a file is read in; most files of small jobs want less.
const mostRoom = 32 << 10

// Known is what a record has of a file of which the digest is known.
func Known(name string, info fs.FileInfo, digest string) Seen {
	s := look(name, info)
	s.Digest = digest
	return s
}

// Still reports whether a file is as it was, which is read where only what the system knows of
// it has changed: it may just have got another name or other rights.
func (s *Seen) Still(in Folder) bool {
	info, err := in.Look(s.Name)
	if err != nil {
		return false
	}
	now := look(s.Name, info)
	if s.Changed != 0 && now.Changed != s.Changed {
		now, err = Take(in, s.Name)
		return err == nil && now.Digest == s.Digest
	}
	return now.Size == s.Size && now.Mod == s.Mod && now.Inode == s.Inode
}

// Replaced are the results of the time before, and what of them went before, that are
// not among outputs.
func (r *Record) Replaced(outputs []Seen) (gone []Seen) {
	for _, was := range slices.Concat(r.Outputs, r.Gone) {
		if !slices.ContainsFunc(outputs, func(s Seen) bool { return strings.EqualFold(s.Name, was.Name) }) {
			gone = append(gone, was)
		}
	}
	return gone
}

// Digests are those of files by their names.
func Digests(list []Seen) map[string]string {
	m := map[string]string{}
	for _, s := range list {
		m[s.Name] = s.Digest
	}
	return m
}
