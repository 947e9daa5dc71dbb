package job

import (
	"cmp"
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
	"sagitta/internal/surface"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set"
	"sagitta/internal/zone"
	"sagitta/internal/zone/sheet"
)

// VerifySet holds the programs of a set in a folder to their original, which
// is called name, and notes which of them were changed since they were made.
func (j *Job) VerifySet(open Source, f *Folder, original set.Original, name string) (*set.Result, error) {
	return j.verifySet(open, f, original, name, nil)
}

func (j *Job) verifySet(open Source, f *Folder, original set.Original, name string, watch verify.Watcher) (*set.Result, error) {
	if j.FreedMM > 0 {
		pieces, err := verify.Pieces(anew(original), name, j.Config, j.Placed, j.FreedMM)
		if err != nil {
			return nil, err
		}
		j.stand(append([]surface.Box{}, pieces...)) // none, but known
	}
	lens := func(name string) (set.Lens, error) {
		l := j.LensOf(name)
		if l == nil {
			return set.Lens{}, wrong("give its record with -l", "%s: a zone is for lens %s, which was not given", f.file(ListFile), name)
		}
		return set.Lens{Depth: l.Checking, Less: j.less([]Lens{*l}), Head: j.HeadOf(l), Rules: j.Rules.checks(l, j.Defocus)}, nil
	}
	opt := j.Verify()
	opt.Watch = watch
	res, err := set.Run(f.Set, f.programs(open), lens, original, name, opt)
	if err != nil {
		return nil, err
	}
	j.boxesUnseen(f, res)
	return res, errors.Join(f.changed(open, res), f.unlisted(res))
}

// VerifySetTraced is VerifySet, and keeps a trace of the programs one after the other.
func (j *Job) VerifySetTraced(open Source, f *Folder, original set.Original, name string) (*set.Result, *trace.Trace, error) {
	t := &Tracing{original: true, bench: Timing(j.Machine, j.Config), open: func(zone int) (io.ReadCloser, error) {
		return f.programs(open)(f.Zones[zone].Program)
	}}
	defer t.close()
	for i := range f.Zones {
		z := &f.Zones[i]
		p := trace.Program{Name: z.Program, Lens: z.Lens, FocusMM: *z.FocusMM, DefocusMM: j.Defocus}
		if l := j.LensOf(z.Lens); l != nil {
			p.Near, p.Far = l.Checking.Near, l.Checking.Far
		}
		t.programs = append(t.programs, p)
	}
	res, err := j.verifySet(open, f, original, name, t)
	if err != nil {
		return nil, nil, err
	}
	t.keeper.Original(res.SecondsOriginal)
	kept, err := t.Trace()
	return res, kept, err
}

// boxesUnseen notes boxes that the set was not held to: for want of the head, or because
// the list does not have the file in which they stand.
func (j *Job) boxesUnseen(f *Folder, res *set.Result) {
	for _, z := range f.Zones {
		h := j.Head.with(j.Machine, j.LensOf(z.Lens).Record)
		if h.Known != nil {
			continue
		}
		if len(h.Boxes) > 0 {
			res.Whole.Note("zones of lens %s are not held to the %s of %s: it takes %s", z.Lens, phrase.Count(len(h.Boxes), "box"), j.KeepOut, strings.Join(h.Missing, ", and "))
		}
		if len(h.Pieces) > 0 {
			res.Whole.Note("zones of lens %s are not held to the %s that come free: it takes %s", z.Lens, phrase.Count(len(h.Pieces), "piece"), strings.Join(h.Missing, ", and "))
		}
		if len(h.Boxes)+len(h.Pieces) > 0 {
			break
		}
	}
	if _, err := os.Stat(filepath.Join(cmp.Or(f.At, f.Dir), keepOutFile)); err == nil && j.KeepOut == "" {
		res.Whole.Note("%s is not in the list of files: what stands in it was not looked at; give it with --keep-out", f.file(keepOutFile))
	}
}

// programs opens those of the folder.
func (f *Folder) programs(open Source) func(string) (io.ReadCloser, error) {
	return func(name string) (io.ReadCloser, error) {
		in, err := open(f.file(name))
		if errors.Is(err, fs.ErrNotExist) {
			return nil, diag.Errorf(diag.IO, "split again", "%s lists %s, which is not in the folder", f.file(ListFile), name)
		}
		return in, err
	}
}

// changed notes the programs that are not as they were made: they are judged by what
// they do.
func (f *Folder) changed(open Source, res *set.Result) error {
	seen := ""
	for _, z := range f.Zones {
		if z.Digest == "" || z.Program == seen {
			continue
		}
		seen = z.Program
		digest, err := digestOf(open, f.file(z.Program))
		if err != nil {
			return err
		}
		if digest != z.Digest {
			res.Whole.Note("%s was changed since it was made; it is judged as it is now", z.Program)
		}
	}
	return nil
}

// unlisted reports files of the folder that may be run as programs, by the ending of
// their names, and are none of the set.
func (f *Folder) unlisted(res *set.Result) error {
	entries, err := os.ReadDir(cmp.Or(f.At, f.Dir))
	if err != nil {
		return diag.IOError(err)
	}
	for _, e := range entries {
		name := e.Name()
		if e.IsDir() || strings.HasPrefix(name, ".") || slices.Contains(beside, name) || sheet.IsPage(name) {
			continue
		}
		listed := slices.ContainsFunc(f.Zones, func(z set.Zone) bool { return z.Program == name })
		like := slices.ContainsFunc(f.Zones, func(z set.Zone) bool { return strings.EqualFold(filepath.Ext(z.Program), filepath.Ext(name)) })
		if like && !listed {
			res.Whole.Fail(verify.Violation{Kind: verify.Unlisted, X: math.NaN(), Y: math.NaN(), Amount: math.NaN(), Detail: name})
		}
	}
	return nil
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
// folder dir to that original, before anybody sees it: by nothing but what the
// folder holds, as it will be judged again. A rehearsal is held to burn nothing, and
// the same set with the beam on to the original. The error is a FaultError where it
// does not prove.
func (j *Job) ProveZones(open Source, dir string, original zone.Source, opt zone.Options) (*Proof, error) {
	f, err := ReadFolder(open, dir)
	if err != nil {
		return nil, err
	}
	judge, err := j.again(open, f)
	if err != nil {
		return nil, err
	}
	if opt.Rehearsal {
		if err := proved(set.Dark(f.Set, f.programs(open), j.Config)); err != nil {
			return nil, err
		}
		lit, err := os.MkdirTemp("", "sagitta-*")
		if err != nil {
			return nil, diag.IOError(err)
		}
		defer os.RemoveAll(lit)
		opt.Rehearsal = false
		if _, err := original.Seek(0, io.SeekStart); err != nil {
			return nil, err
		}
		plan, err := zone.Survey(original, opt)
		if err == nil {
			err = plan.Split(original, lit)
		}
		if err == nil {
			f, err = ReadFolder(open, lit)
		}
		if err != nil {
			return nil, err
		}
	}
	if _, err := original.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	r, err := judge.VerifySet(open, f, original, opt.Name)
	if err := proved(r, err); err != nil {
		return nil, err
	}
	return &Proof{judge, f.Set, r}, nil
}

// Proof is what proving a set of zones found, all of which holds: of a rehearsal, what
// the same set with the beam on came to.
type Proof struct {
	Job    *Job
	Zones  *set.Set
	Result *set.Result
}

// again makes the job anew of what a folder holds.
func (j *Job) again(open Source, f *Folder) (*Job, error) {
	o := Defaults()
	_, err := f.Recall(open, &o, o.Given)
	if err != nil {
		return nil, err
	}
	again, err := New(f.Open(open), &o, AllLenses)
	if diag.Is(err, diag.IO) {
		return nil, err
	}
	if err == nil {
		err = f.Rules(again)
	}
	if err != nil {
		return nil, FaultError{err.Error()}
	}
	was, err := j.used()
	if err == nil && !sameSurface(was, again.laid.surface) {
		err = FaultError{f.file(surfaceFile) + " is not the surface that was used"}
	}
	return again, err
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
