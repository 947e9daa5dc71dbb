package prep

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"

	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/verify"
	"sagitta/internal/zone"
)

// ReadSet reads the list of the zones in a folder.
func ReadSet(open Source, dir string) (*verify.Set, error) {
	return read(open, listOf(dir), verify.ReadSet)
}

func listOf(dir string) string { return filepath.Join(dir, "set.json") }

// VerifySet holds the programs of a set in a folder to their original, which
// is called name.
func (j *Job) VerifySet(open Source, set *verify.Set, dir string, original io.Reader, name string) (*verify.SetResult, error) {
	depth := func(lens string) (focus.Depth, error) {
		for i := range j.Lenses {
			// One depth in place of a lens serves whatever the zones name.
			if l := &j.Lenses[i]; l.Name == lens || l.Record == nil {
				return l.Checking, nil
			}
		}
		return focus.Depth{}, wrong("give its record with -l", "%s: a zone is for lens %s, which was not given", listOf(dir), lens)
	}
	program := func(file string) (io.ReadCloser, error) { return open(filepath.Join(dir, file)) }
	return verify.RunSet(set, program, depth, original, name, j.Verify())
}

// FaultError is that a result did not prove: the job is not to blame.
type FaultError struct {
	// Failures are the first of them, Count counts all.
	Failures []string
	Count    int
}

// mostFaults is how many failures are listed: what a report of the fault needs.
const mostFaults = 5

// Error is one line.
func (e *FaultError) Error() string {
	return "the zones do not prove; this is a fault of the tool, and nothing was written"
}

// Lines yields the failures, how many more there are, and what they mean.
func (e *FaultError) Lines() iter.Seq[string] {
	return func(yield func(string) bool) {
		list := e.Failures[:min(len(e.Failures), mostFaults)]
		for _, f := range list {
			if !yield(f) {
				return
			}
		}
		if more := e.Count - len(list); more > 0 && !yield(fmt.Sprintf("and %d more", more)) {
			return
		}
		yield(e.Error())
	}
}

// ProveZones holds what was split from original with the options opt into the
// folder dir to that original, before anybody sees it. A rehearsal is held to
// burn nothing, and the same set with the beam on to the original. The error is
// a *FaultError where it does not prove.
func (j *Job) ProveZones(open Source, dir string, original io.ReadSeeker, opt zone.Options) error {
	if opt.Rehearsal {
		if err := j.proveDark(open, dir); err != nil {
			return err
		}
		lit, err := os.MkdirTemp("", "sagitta-*")
		if err != nil {
			return diag.IOError(err)
		}
		defer os.RemoveAll(lit)
		opt.Rehearsal, dir = false, lit
		if _, err := original.Seek(0, io.SeekStart); err != nil {
			return err
		}
		plan, err := zone.Survey(original, opt)
		if err == nil {
			err = plan.Split(original, dir)
		}
		if err != nil {
			return err
		}
	}
	set, err := ReadSet(open, dir)
	if err != nil {
		return err
	}
	if _, err := original.Seek(0, io.SeekStart); err != nil {
		return err
	}
	res, err := j.VerifySet(open, set, dir, original, opt.Name)
	if err != nil {
		return unreadable(err)
	}
	if res.Holds() {
		return nil
	}
	return &FaultError{SetFailures(set, res, ""), res.FailureCount()}
}

// unreadable is a fault: what the tool has written must be readable to it.
func unreadable(err error) error {
	if diag.Is(err, diag.IO) {
		return err
	}
	return &FaultError{[]string{err.Error()}, 1}
}

// SetFailures are those of a set in a folder, each with the program that it is
// in, those of the whole first.
func SetFailures(set *verify.Set, r *verify.SetResult, dir string) []string {
	var list []string
	add := func(where string, r *verify.Result) {
		if where != "" {
			where += ": "
		}
		for _, f := range r.Failures {
			list = append(list, where+f.String())
		}
	}
	add(dir, &r.Whole)
	for i, z := range r.Zones {
		add(filepath.Join(dir, set.Zones[i].Program), z)
	}
	return list
}

// proveDark holds the programs of a set of rehearsals to burn nothing.
func (j *Job) proveDark(open Source, dir string) error {
	set, err := ReadSet(open, dir)
	if err != nil {
		return err
	}
	for i := range set.Zones {
		file := set.Zones[i].Program
		in, err := open(filepath.Join(dir, file))
		if err != nil {
			return err
		}
		err = dark(in, file, j.Config)
		in.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

func dark(in io.Reader, name string, cfg machine.Config) error {
	r, ip := program.NewReader(in, name), machine.New(cfg)
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		var m machine.Move
		if err == nil {
			err = ip.Step(b, &m)
		}
		switch {
		case err != nil:
			return unreadable(err)
		case m.Burn:
			return &FaultError{[]string{fmt.Sprintf("%s:%d: a rehearsal burns", name, b.Line)}, 1}
		}
	}
}
