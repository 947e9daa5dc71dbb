package jobs

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/job/batch"
	"sagitta/internal/job/file"
)

// do does the job: all of its results are proved before any of them is in its place.
func (x *jobRun) do() {
	if x.read(); x.job == nil {
		return
	}
	stage, err := files.OpenStage(x.dir, x.all.locks)
	if err != nil {
		x.fail(err)
		return
	}
	x.all.turn.Lock()
	x.stage = stage
	x.all.atHand[x] = true
	x.all.turn.Unlock()
	defer func() {
		x.all.turn.Lock()
		delete(x.all.atHand, x)
		x.all.turn.Unlock()
		x.leave()
	}()
	x.record, _ = batch.ReadRecord(x, x.recorded())
	if err = x.prepare(); err == nil {
		err = x.make()
	}
	if err == nil {
		err = x.commit()
	}
	if err != nil {
		if x.all.ctx.Err() != nil && !errors.As(err, new(failedCommand)) {
			err = files.ErrInterrupted
		}
		x.fail(err)
	}
	x.outcome.Messages = lines(x.said.String())
	x.outcome.Inputs = batch.Digests(x.inputs)
	x.outcome.Seconds = time.Since(x.began).Seconds()
}

// smallBytes is up to which size of its files a job is small.
const smallBytes = 1 << 20

// prepare reads what the inputs are, and makes the folder of the results.
func (x *jobRun) prepare() error {
	named, err := x.reads()
	if errors.Is(err, files.ErrOutside) {
		return x.job.Outside(file.Named{Field: "fixture", Name: x.job.Text("fixture")})
	}
	if err != nil {
		return err
	}
	for _, n := range named {
		seen, err := batch.Take(x, filepath.Clean(n.Name))
		if errors.Is(err, files.ErrOutside) {
			return x.job.Outside(n)
		}
		if err != nil && diag.As(err) == nil {
			err = diag.IOError(err)
		}
		if err != nil {
			return err
		}
		if seen.Size > smallBytes {
			x.all.large.Do(x.all.Large)
		}
		x.inputs = append(x.inputs, seen)
	}
	for dir := filepath.Clean(x.job.Out); dir != "."; dir = filepath.Dir(dir) {
		if _, err := x.Look(dir); !errors.Is(err, fs.ErrNotExist) {
			break
		}
		x.folders = append(x.folders, filepath.Join(x.dir, dir))
	}
	if err := x.stage.MakeDir(x.job.Out); errors.Is(err, files.ErrOutside) {
		return x.job.Outside(file.Named{Field: "out", Name: x.job.Out})
	} else if err != nil {
		return err
	}
	for _, name := range []string{x.program(), x.sheet(), x.surface(), x.page(), x.parts(), x.heights(), x.burns(), x.set(), x.set() + ".old", x.recorded()} {
		switch info, err := x.Look(name); {
		case errors.Is(err, files.ErrOutside):
			return x.job.Outside(file.Named{Field: "out", Name: name})
		case err == nil && x.all.Log.Is(info):
			return x.job.Wrong("out", "give the log another place", "the result %s would be written over the log", name)
		}
		if slices.ContainsFunc(x.inputs, func(s batch.Seen) bool { return strings.EqualFold(s.Name, name) }) {
			return x.job.Wrong("out", `give the results a folder of their own, as in out = "made"`, "the result %s would be written over what the job reads", name)
		}
	}
	return nil
}

// The results: the program, its bench sheet, the surface where it is made of touches, the
// page, of a jig the program of all parts, the surface as their stock lies and the rules about
// their burns, and the folder of zones.
func (x *jobRun) program() string { return x.place(x.base()) }
func (x *jobRun) sheet() string   { return x.place(x.stem() + "-sheet.txt") }
func (x *jobRun) surface() string { return x.place(x.stem() + "-surface.csv") }
func (x *jobRun) page() string    { return x.place(x.stem() + "-report.html") }
func (x *jobRun) parts() string   { return x.place(x.stem() + "-parts" + filepath.Ext(x.base())) }
func (x *jobRun) heights() string { return x.place(x.stem() + "-heights.csv") }
func (x *jobRun) burns() string   { return x.place(x.stem() + "-burns.toml") }
func (x *jobRun) set() string {
	if x.stem() == x.base() {
		return x.place(x.stem() + "-zones")
	}
	return x.place(x.stem())
}

// commit puts the results in their places, if what they were made of is still the same.
func (x *jobRun) commit() error {
	for _, s := range x.inputs {
		if !s.Still(x) {
			return diag.Errorf(diag.IO, "run the job again", "%s was written to while the job was done", s.Name)
		}
	}
	made, err := x.stage.Held()
	if err != nil {
		return err
	}
	r := batch.Record{Version: x.all.Build, Job: x.job.Digest(), Verdict: x.verdict, Result: x.result, At: x.began.UnixNano(), Inputs: x.inputs}
	for _, m := range made {
		s, err := taken(m)
		if err != nil {
			return diag.IOError(err)
		}
		r.Outputs = append(r.Outputs, s)
	}
	if x.record != nil {
		r.Gone = x.record.Replaced(r.Outputs)
	}
	x.all.placing.RLock()
	err = x.stage.Commit(x.all.ctx, files.Result{Name: x.recorded(), Text: r.Text()})
	x.all.placing.RUnlock()
	if err != nil {
		return err
	}
	x.clear(r.Gone)
	x.folders = nil
	x.outcome.Verdict, x.outcome.Result, x.outcome.Outputs = x.verdict, x.result, batch.Digests(r.Outputs)
	return nil
}

// taken is what the record has of a file that was made, and comes to its place then, which
// changes what the system knows of it.
func taken(m files.Held) (s batch.Seen, err error) {
	if m.Digest == "" {
		s, err = batch.Take(here{}, m.At)
		s.Name = m.Name
	} else {
		info, e := os.Stat(m.At)
		if e != nil {
			return batch.Seen{}, e
		}
		s = batch.Known(m.Name, info, m.Digest)
	}
	s.Changed = 0
	return s, err
}

// here is the folder that the process is in.
type here struct{}

func (here) Look(name string) (fs.FileInfo, error)   { return os.Stat(name) }
func (here) Read(name string) (io.ReadCloser, error) { return os.Open(name) }
