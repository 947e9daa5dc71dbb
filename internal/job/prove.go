package job

import (
	"io"
	"os"
	"path/filepath"

	"sagitta/internal/diag"
	"sagitta/internal/verify/set"
	"sagitta/internal/zone"
)

// ReadSet reads the list of the zones in a folder.
func ReadSet(open Source, dir string) (*set.Set, error) {
	return Read(open, listOf(dir), set.Read)
}

func listOf(dir string) string { return filepath.Join(dir, "set.json") }

// VerifySet holds the programs of a set in a folder to their original, which
// is called name.
func (j *Job) VerifySet(open Source, zones *set.Set, dir string, original io.Reader, name string) (*set.Result, error) {
	lens := func(name string) (set.Lens, error) {
		l := j.LensOf(name)
		if l == nil {
			return set.Lens{}, wrong("give its record with -l", "%s: a zone is for lens %s, which was not given", listOf(dir), name)
		}
		return set.Lens{Depth: l.Checking, Head: j.HeadOf(l)}, nil
	}
	return set.Run(zones, inFolder(open, dir), lens, original, name, j.Verify())
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

// Lines are the failures, how many more there are, and what they mean.
func (e *FaultError) Lines() []string {
	list := e.Failures[:min(len(e.Failures), mostFaults)]
	return append(diag.Listed(list, e.Count), e.Error())
}

// ProveZones holds what was split from original with the options opt into the
// folder dir to that original, before anybody sees it. A rehearsal is held to
// burn nothing, and the same set with the beam on to the original. The error is
// a *FaultError where it does not prove.
func (j *Job) ProveZones(open Source, dir string, original io.ReadSeeker, opt zone.Options) error {
	zones, err := ReadSet(open, dir)
	if err != nil {
		return err
	}
	if opt.Rehearsal {
		if err := proved(set.Dark(zones, inFolder(open, dir), j.Config)); err != nil {
			return err
		}
		lit, err := os.MkdirTemp("", "sagitta-*")
		if err != nil {
			return diag.IOError(err)
		}
		defer os.RemoveAll(lit)
		opt.Rehearsal = false
		if _, err := original.Seek(0, io.SeekStart); err != nil {
			return err
		}
		plan, err := zone.Survey(original, opt)
		if err == nil {
			err = plan.Split(original, lit)
		}
		if err != nil {
			return err
		}
		return j.ProveZones(open, lit, original, opt)
	}
	if _, err := original.Seek(0, io.SeekStart); err != nil {
		return err
	}
	return proved(j.VerifySet(open, zones, dir, original, opt.Name))
}

func proved(r *set.Result, err error) error {
	switch {
	case err != nil:
		return unreadable(err)
	case r.Holds():
		return nil
	}
	return &FaultError{SetFailures(r, ""), r.FailureCount()}
}

func inFolder(open Source, dir string) func(string) (io.ReadCloser, error) {
	return func(file string) (io.ReadCloser, error) { return open(filepath.Join(dir, file)) }
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
func SetFailures(r *set.Result, dir string) []string {
	var list []string
	for program, f := range r.Failures() {
		where := filepath.Join(dir, program)
		if where != "" {
			where += ": "
		}
		list = append(list, where+f.String())
	}
	return list
}
