package watch

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"sagitta/internal/diag"
	"sagitta/internal/record"
)

// phase is where a job is on its way.
type phase int

const (
	waits phase = iota
	queued
	taken
	done // as long as nothing of it changes
)

// entry is a job, or a settings file that is none.
type entry struct {
	name    string
	program bool
	aside   bool // it was moved aside: it only says which programs are not for the rules
	phase   phase
	read    sign // of its file, when that was read
	Names
	// of are its file and its inputs, signs what they were when it was queued.
	of    []*file
	signs []sign
	wants string    // the file that it waits for, "" for none
	again time.Time // it is left alone until then
	look  int       // the last one that saw it
	// before tells that it was there when the watch began, and was not done since.
	before bool
}

// from is the file that says how it is done.
func (e *entry) from() string {
	if e.program {
		return Rules
	}
	return e.name
}

// mostBytes bounds what is read of a settings file: so much that those that read it see that
// it is too long.
const mostBytes = record.MaxSettingsBytes + 1

var errNoFile = errors.New("it is no file")

// text reads a settings file.
func (f *Folder) text(name string) ([]byte, error) {
	in, err := f.root.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	if info, err := in.Stat(); err != nil || !info.Mode().IsRegular() {
		return nil, cmp.Or(err, errNoFile)
	}
	return io.ReadAll(io.LimitReader(in, mostBytes))
}

// file is a file of the folder as this look sees it.
func (f *Folder) file(name string, now time.Time) *file {
	name = filepath.Clean(name)
	x := f.files[name]
	if x == nil {
		x = &file{}
		f.files[name] = x
	}
	if x.look != f.looks {
		x.look = f.looks
		x.see(f.root, name, f.Rest, now)
	}
	return x
}

// names reads what a job names, from its own file or from the rules.
func (f *Folder) names(e *entry) {
	from, program := e.from(), ""
	if e.program {
		program = e.name
	}
	text, err := f.text(from)
	if err == nil {
		e.Names, err = f.Read(bytes.NewReader(text), filepath.Join(f.Dir, from), program)
	}
	if err != nil { // whoever does it says what is wrong
		e.Names = Names{Job: true, Results: from}
	}
}

// step takes a job on: reads it once it is whole, and has it queued once all is there. soon
// tells that there may be more to see of it in a moment.
func (f *Folder) step(e *entry, now time.Time) (soon bool) {
	own := f.file(e.from(), now)
	for _, name := range e.Inputs {
		f.file(name, now)
	}
	if e.phase == taken {
		return false
	}
	if own.sign != e.read {
		if e.phase, e.wants = waits, ""; own.state != whole {
			return true
		}
		f.names(e)
		e.read, e.signs = own.sign, nil
		e.files(f, now)
	}
	if !e.Job || e.aside {
		return false
	}
	if e.phase != waits {
		if e.same() {
			return false
		}
		e.phase = waits // its place in the queue counts no more
	}
	if x := e.lacks(); x != nil {
		return x.state != missing
	}
	if e.More {
		f.names(e)
		e.files(f, now)
		if x := e.lacks(); x != nil {
			return x.state != missing
		}
	}
	if !now.Before(e.again) {
		f.enqueue(e)
	}
	return false
}

// files are those of a job.
func (e *entry) files(f *Folder, now time.Time) {
	e.of = []*file{f.file(e.from(), now)}
	for _, name := range e.Inputs {
		e.of = append(e.of, f.file(name, now))
	}
}

// lacks is a file that is not there, or not whole, nil where all are.
func (e *entry) lacks() *file {
	e.wants = ""
	for k, x := range e.of[1:] {
		if x.state != whole {
			e.wants = e.Inputs[k]
			return x
		}
	}
	return nil
}

// enqueue has a job wait for its turn.
func (f *Folder) enqueue(e *entry) {
	e.phase, e.signs = queued, e.signs[:0]
	for _, x := range e.of {
		e.signs = append(e.signs, x.sign)
	}
	at := 1
	if e.Record != "" && f.Has(e.Record) {
		at = 0
	}
	f.queue[at] = append(f.queue[at], e)
}

// same reports whether nothing has changed since a job was queued.
func (e *entry) same() bool {
	return len(e.signs) == len(e.of) && slices.EqualFunc(e.of, e.signs, func(x *file, s sign) bool { return x.sign == s })
}

// rules are those for programs that no job names.
type rules struct {
	there bool
	Names
	read sign
}

// readRules reads the rules where they have changed, and reports whether they are at rest.
func (f *Folder) readRules(now time.Time) bool {
	own := f.file(Rules, now)
	if own.state == missing {
		f.rules = rules{}
		return true
	}
	if own.state != whole {
		return false
	}
	if own.sign == f.rules.read {
		return true
	}
	f.rules = rules{read: own.sign}
	text, err := f.text(Rules)
	if err == nil {
		f.rules.Names, err = f.Read(bytes.NewReader(text), filepath.Join(f.Dir, Rules), Rules)
	}
	if err != nil {
		hint := ""
		if e := diag.As(err); e != nil && e.Hint != "" {
			hint = ": " + e.Hint
		}
		f.Note("%v%s; programs without a job are left alone until that is mended", err, hint)
		return true
	}
	f.rules.there = true
	return true
}

// wanted is a file that jobs wait for.
type wanted struct {
	since time.Time
	said  bool
}

// waitsFor says once for each file which jobs wait for it, where that is not over in a moment;
// soon tells that it may not be.
func (f *Folder) waitsFor(now time.Time) (soon bool) {
	jobs := map[string][]string{}
	for _, e := range f.entries {
		if x := f.files[filepath.Clean(e.wants)]; e.phase == waits && e.wants != "" && x != nil && (x.state == missing || x.state == open) {
			jobs[e.wants] = append(jobs[e.wants], e.name)
		}
	}
	for name := range f.wanted {
		if jobs[name] == nil {
			delete(f.wanted, name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(jobs)) {
		w := f.wanted[name]
		if w == nil {
			w = &wanted{since: now}
			f.wanted[name] = w
		}
		if w.said {
			continue
		}
		if now.Sub(w.since) < f.Rest {
			soon = true
			continue
		}
		w.said = true
		list := slices.Sorted(slices.Values(jobs[name]))
		who := list[0] + " waits"
		if len(list) > 1 {
			who = fmt.Sprintf("%s and %d more wait", list[0], len(list)-1)
		}
		what := "which is not there"
		if f.files[filepath.Clean(name)].state == open {
			what = "which somebody has open for writing"
		}
		f.Note("%s for %s, %s", who, filepath.Join(f.Dir, name), what)
	}
	return soon
}

// recordEnd is what the names of records end in, which stand beside results.
const recordEnd = ".sagitta-job"

// hidden reports whether a name is one that nothing is done with.
func hidden(name string) bool { return strings.HasPrefix(name, ".") }
