package watch

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"

	"sagitta/internal/desk/folder"
	"sagitta/internal/diag"
	"sagitta/internal/phrase"
)

const (
	// every is how often the folder is looked at without any event: some get lost, and
	// folders of other computers tell of none.
	every = 5 * time.Second
	// gather is how long events are gathered before a look.
	gather = 50 * time.Millisecond
	// Looks take no more than one part in idle of the time where nothing happens, and one in
	// busy where something does.
	idle, busy = 100, 10
)

// Next gives the next job that is ready, and waits for one. It gives nil once ctx is done, or
// where the folder is gone.
func (f *Folder) Next(ctx context.Context) *Job {
	for ctx.Err() == nil {
		if f.hear(); !time.Now().Before(f.next) {
			f.look()
		}
		if f.Err() != nil {
			return nil
		}
		if j := f.pop(); j != nil {
			return j
		}
		var events chan fsnotify.Event
		var errs chan error
		if f.events != nil {
			events, errs = f.events.Events, f.events.Errors
		}
		timer := time.NewTimer(time.Until(f.next))
		select {
		case <-ctx.Done():
		case <-timer.C:
		case <-f.ended: // what waited for its twin may go on
		case e := <-events:
			f.heard(e)
		case <-errs:
			f.sooner(gather) // events were lost
		}
		timer.Stop()
	}
	return nil
}

// hear takes the events that have come.
func (f *Folder) hear() {
	for f.events != nil {
		select {
		case e := <-f.events.Events:
			f.heard(e)
		case <-f.events.Errors:
			f.sooner(gather)
		default:
			return
		}
	}
}

func (f *Folder) heard(e fsnotify.Event) {
	if base := filepath.Base(e.Name); e.Op != fsnotify.Chmod && base != Log && !hidden(base) {
		f.sooner(gather)
	}
}

// sooner has the folder looked at in a while, if not before.
func (f *Folder) sooner(in time.Duration) {
	if at := time.Now().Add(max(in, busy*f.slow)); at.Before(f.next) {
		f.next = at
	}
}

// look sees what is in the folder, and takes every job on.
func (f *Folder) look() {
	f.mu.Lock()
	defer f.mu.Unlock()
	now := time.Now()
	f.looks++
	soon, err := f.all(now)
	if err != nil {
		f.err = diag.IOError(err)
		return
	}
	for name, e := range f.entries {
		if e.look != f.looks && e.phase != taken {
			e.phase = done // whoever has it queued passes over it
			delete(f.entries, name)
		}
	}
	for name, x := range f.files {
		if x.look != f.looks {
			delete(f.files, name)
		}
	}
	for key, e := range f.owner {
		if f.entries[e.name] != e {
			delete(f.owner, key)
		}
	}
	soon = f.waitsFor(now) || soon
	f.slow = time.Since(now)
	if f.next = now.Add(max(every, idle*f.slow)); soon {
		f.sooner(max(20*time.Millisecond, min(f.Rest/4, time.Second)))
	}
}

// all goes through the folder.
func (f *Folder) all(now time.Time) (soon bool, err error) {
	at, err := os.Stat(f.Dir)
	if err != nil {
		return false, err
	}
	if mine, err := f.root.Stat("."); err != nil || !os.SameFile(at, mine) {
		return false, errors.New("the folder " + f.Dir + " is another one now")
	}
	rested := f.readRules(now)
	jobs, programs, err := f.list(".")
	if err != nil {
		return false, err
	}
	var aside []string
	if f.rules.there {
		aside, _, _ = f.list(Failed)
	}
	claimed := map[string]bool{}
	for _, name := range f.rules.Inputs {
		claimed[filepath.Clean(name)] = true
	}
	for k, name := range append(jobs, aside...) {
		e := f.entry(name)
		e.aside = k >= len(jobs)
		if f.step(e, now) {
			soon, rested = true, rested && e.wants != ""
		}
		for _, input := range e.Inputs {
			claimed[filepath.Clean(input)] = true
		}
	}
	if !f.rules.there || !rested { // a job that is just coming may name them
		return soon || !rested, nil
	}
	for _, name := range programs {
		if claimed[name] {
			continue
		}
		x := f.file(name, now)
		if soon = soon || x.state != whole; f.isProgram(x, name) {
			e := f.entry(name)
			e.program = true
			soon = f.step(e, now) || soon
		}
	}
	return soon, nil
}

func (f *Folder) entry(name string) *entry {
	e := f.entries[name]
	if e == nil {
		e = &entry{name: name, before: f.looks == 1}
		f.entries[name] = e
	}
	e.look = f.looks
	return e
}

// list gives the settings files of a folder, and the other files, in the order of their names.
func (f *Folder) list(dir string) (settings, others []string, err error) {
	d, err := f.root.Open(dir)
	if err != nil {
		return nil, nil, err
	}
	defer d.Close()
	for {
		part, err := d.ReadDir(1000)
		for _, e := range part {
			name := filepath.Join(dir, e.Name())
			switch {
			case e.IsDir() || hidden(e.Name()) || name == Rules:
			case strings.EqualFold(filepath.Ext(name), ".toml"):
				settings = append(settings, name)
			case f.rules.there:
				others = append(others, name)
			}
		}
		if errors.Is(err, io.EOF) {
			slices.Sort(settings)
			slices.Sort(others)
			return settings, others, nil
		}
		if err != nil {
			return nil, nil, err
		}
	}
}

// isProgram reports whether a file that no job names is a program, and no result.
func (f *Folder) isProgram(x *file, name string) bool {
	if x.odd || x.state != whole || x.sign == x.judged {
		return x.program && !x.odd
	}
	x.judged = x.sign
	head, err := f.text(name)
	x.program = err == nil && folder.IsProgram(name, head) && phrase.Printable(name) == name && !f.Has("."+name+recordEnd)
	return x.program
}

// pop gives the first of the queue whose results nobody makes at the moment. What may have
// nothing to do goes first, and the others once it is known whether it has: they may be the
// same programs.
func (f *Folder) pop() *Job {
	f.mu.Lock()
	defer f.mu.Unlock()
	for at := range f.queue {
		for k := 0; k < len(f.queue[at]); k++ {
			e := f.queue[at][k]
			if e.phase == queued && f.atHand[e.Results] != nil {
				continue
			}
			if k == 0 {
				f.queue[at] = f.queue[at][1:]
			} else {
				f.queue[at] = slices.Delete(f.queue[at], k, k+1)
			}
			if k--; e.phase == queued {
				return f.take(e)
			}
		}
		if len(f.queue[at]) > 0 || f.records > 0 {
			return nil
		}
	}
	return nil
}

// take has a job done.
func (f *Folder) take(e *entry) *Job {
	e.phase = taken
	f.atHand[e.Results] = e
	j := &Job{Name: e.name, Program: e.program, Before: e.before, of: e}
	e.before = false
	if j.record = e.Record != "" && f.Has(e.Record); j.record {
		f.records++
	}
	first := f.owner[e.Results]
	if first == nil || first.name == e.name || first.program && !e.program || !f.Has(first.name) {
		f.owner[e.Results] = e
	} else {
		j.Twin = first.name
	}
	return j
}

// Done tells that a job was done, however it ended; that it is to be done again where again
// is so. It reports whether that stands: nothing of it changed meanwhile.
func (f *Folder) Done(j *Job, again bool) (stands bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	e := j.of
	delete(f.atHand, e.Results)
	if j.record {
		f.records--
	}
	e.phase = done
	select {
	case f.ended <- struct{}{}:
	default:
	}
	if again {
		e.phase = waits
		return false
	}
	for k, name := range append([]string{e.from()}, e.Inputs...) {
		if signOf(f.root, name) != e.signs[k] {
			return false // the next look sees it
		}
	}
	return true
}
