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

// FaultError is that a result did not prove, with lines of how: the job is not to
// blame.
type FaultError []string

// mostFaults is how many failures are listed: what a report of the fault needs.
const mostFaults = 5

// Error is one line.
func (e FaultError) Error() string {
	return "the zones do not prove; this is a fault of the tool, and nothing was written"
}

// Lines are how, and what that means.
func (e FaultError) Lines() []string { return append(e, e.Error()) }

// ProveZones holds what was split from original with the options opt into the
// folder dir to that original, before anybody sees it. A rehearsal is held to
// burn nothing, and the same set with the beam on to the original. The error is
// a FaultError where it does not prove.
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
	case diag.Is(err, diag.IO):
		return err
	case err != nil: // what the tool has written must be readable to it
		return FaultError{err.Error()}
	case r.Holds():
		return nil
	}
	list := r.Failures("")
	return FaultError(diag.Listed(list[:min(len(list), mostFaults)], r.FailureCount()))
}

func inFolder(open Source, dir string) func(string) (io.ReadCloser, error) {
	return func(file string) (io.ReadCloser, error) { return open(filepath.Join(dir, file)) }
}
