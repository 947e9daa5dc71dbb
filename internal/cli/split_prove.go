package cli

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/verify"
	"sagitta/internal/zone"
)

// splitKeepsClear refuses what split cannot keep clear of: a head that is
// known, and boxes, would be driven into with "travels clear".
func splitKeepsClear(l *loaded) error {
	switch {
	case l.boxes != nil:
		return usagef("leave --keep-out out only where nothing stands above the stock", "split does not keep clear of the boxes of --keep-out yet")
	case l.head != nil:
		return usagef("run follow, or take head_radius_mm or gap_min_mm out of the profile and watch the head yourself",
			"split does not keep the head clear yet, and the profile and the lens record tell of it")
	}
	return nil
}

// faultError tells that a result did not prove: the job is not to blame.
type faultError struct {
	failures []string
	more     int
}

func (e *faultError) Error() string {
	return "the zones do not prove; this is a fault of the tool, and nothing was written"
}

// Lines yields the failures, how many more there are, and what they mean.
func (e *faultError) Lines() iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, f := range e.failures {
			if !yield(f) {
				return
			}
		}
		if e.more > 0 && !yield(fmt.Sprintf("and %d more", e.more)) {
			return
		}
		yield(e.Error())
	}
}

// mostFaultsTold is how many failures of a result are listed.
const mostFaultsTold = 5

// prove holds what split has written into dir to the original, before anybody
// sees it. A rehearsal is held to burn nothing, and the same set with the beam
// on to the original.
func (s *session) prove(l *loaded, lenses []lensDepths, opt zone.Options, in *files.Input, dir string) error {
	if opt.Rehearsal {
		set, err := s.readSet(dir)
		if err != nil {
			return err
		}
		for i := range set.Zones {
			if err := darkThroughout(filepath.Join(dir, set.Zones[i].Program), opt.Machine); err != nil {
				return err
			}
		}
		if dir, err = os.MkdirTemp("", "sagitta-*"); err != nil {
			return diag.IOError(err)
		}
		defer os.RemoveAll(dir)
		opt.Rehearsal = false
		if _, err := in.Seek(0, io.SeekStart); err != nil {
			return err
		}
		plan, err := zone.Survey(in, opt)
		if err == nil {
			err = plan.Split(in, dir)
		}
		if err != nil {
			return err
		}
	}
	set, err := s.readSet(dir)
	if err != nil {
		return err
	}
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return err
	}
	res, err := s.judgeSet(l, lenses, set, dir, in, in.Name)
	switch {
	case err != nil && !errors.Is(err, files.ErrInterrupted):
		// What the tool has written must be readable to it.
		return &faultError{failures: []string{err.Error()}}
	case err != nil || res.Holds():
		return err
	}
	return faultOf(set, res)
}

func faultOf(set *verify.Set, res *verify.SetResult) *faultError {
	e := &faultError{}
	add := func(where string, r *verify.Result) {
		e.more += r.FailureCount
		for _, f := range r.Failures {
			if len(e.failures) < mostFaultsTold {
				e.failures = append(e.failures, where+f.String())
				e.more--
			}
		}
	}
	add("", &res.Whole)
	for i, z := range res.Zones {
		add(set.Zones[i].Program+": ", z)
	}
	return e
}

// darkThroughout reports, as an error, where a program burns.
func darkThroughout(name string, cfg machine.Config) error {
	f, err := os.Open(name)
	if err != nil {
		return diag.IOError(err)
	}
	defer f.Close()
	r, ip := program.NewReader(f, filepath.Base(name)), machine.New(cfg)
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
			return &faultError{failures: []string{err.Error()}}
		case m.Burn:
			return &faultError{failures: []string{fmt.Sprintf("%s:%d: a rehearsal burns", filepath.Base(name), b.Line)}}
		}
	}
}
