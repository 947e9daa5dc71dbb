package jobs

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/job"
	"sagitta/internal/job/batch"
	"sagitta/internal/job/file"
)

// jobRun is one of the jobs.
type jobRun struct {
	all       *Jobs
	name, dir string // its file, and the folder that this stands in
	// rules says how it is done where it is a program without a job, and watched that it may
	// be anybody's: no link leads out of the folder to it.
	rules   string
	watched bool
	job     *file.Job
	record  *batch.Record // of the time before, nil where there is none
	stage   *files.Stage
	source  string                      // the program that results are made of
	placed  bool                        // it is that of all parts of a jig
	now     atomic.Pointer[files.Files] // those of the command at hand
	began   time.Time
	inputs  []batch.Seen
	left    bool     // there is something to do
	folders []string // those that were not there
	verdict batch.Verdict
	result  string // what there is to burn
	outcome batch.Outcome
	final   *batch.Outcome // that, once it stays so
	// said is what the commands said, and wrong what went wrong.
	said  bytes.Buffer
	wrong string
}

// base is what the program among the results is called: as that of the job but, where it is
// not all of a jig, with the number of the place that it begins with.
func (x *jobRun) base() string {
	base := x.job.Base()
	if x.all.From == 0 {
		return base
	}
	ext := filepath.Ext(base)
	return fmt.Sprintf("%s-from-%d%s", strings.TrimSuffix(base, ext), x.all.From, ext)
}

// stem is what results are called that are not called as the program.
func (x *jobRun) stem() string { return strings.TrimSuffix(x.base(), filepath.Ext(x.base())) }

// place is the name of a result, by the end of it.
func (x *jobRun) place(name string) string { return filepath.Join(x.job.Out, name) }

// recorded is where what is known of the results is kept, beside them.
func (x *jobRun) recorded() string { return x.place("." + x.base() + ".sagitta-job") }

// read reads the job file.
func (x *jobRun) read() {
	x.began = time.Now()
	name := cmp.Or(x.rules, x.name)
	f, err := x.open(name)
	if err != nil {
		x.fail(err)
		return
	}
	defer f.Close()
	var j *file.Job
	if x.rules != "" {
		j, err = file.ReadFor(filepath.Base(x.name), f, name, x.all.Options)
	} else {
		j, err = file.Read(f, name, x.all.Options)
	}
	if err != nil {
		x.fail(err)
		return
	}
	if x.all.From > 0 && x.all.From > len(j.Places) {
		x.fail(j.Wrong("place", "", "--from %d: the job has %d places", x.all.From, len(j.Places)))
		return
	}
	x.job = j
}

// open opens the job file.
func (x *jobRun) open(name string) (*os.File, error) {
	if x.watched {
		stage, err := files.OpenStage(x.dir, nil)
		if err != nil {
			return nil, err
		}
		defer stage.Close()
		f, err := stage.Open(filepath.Base(name))
		if err != nil && diag.As(err) == nil {
			err = diag.IOError(err)
		}
		return f, err
	}
	info, err := os.Stat(name) // to open a pipe may take for ever
	if err != nil {
		return nil, diag.IOError(err)
	}
	if !info.Mode().IsRegular() {
		return nil, diag.Errorf(diag.Setting, "", "%s is no file", name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, diag.IOError(err)
	}
	return f, nil
}

// clashes refuses a job whose results are called as those of another.
func (x *jobRun) clashes(other string) {
	x.fail(x.job.Wrong("out", "give each a folder of its own", "the results would be those of %s, which makes %s too", other, x.place(x.stem())))
	x.job = nil
}

// look finds out whether there is nothing to do.
func (x *jobRun) look() {
	if x.job == nil {
		return
	}
	stage, err := files.OpenStage(x.dir, x.all.locks)
	if err != nil {
		x.fail(err)
		return
	}
	x.stage = stage
	defer func() {
		x.leave()
		// What there is to do is read again then: there may be many thousands.
		if x.left = x.outcome.Verdict == ""; x.left {
			x.job, x.record, x.stage = nil, nil, nil
		}
	}()
	if x.record, err = batch.ReadRecord(x, x.recorded()); err != nil || x.all.Force {
		return
	}
	named, err := x.reads()
	if err != nil || !x.timely() {
		return // it is said when the job is done
	}
	var inputs []string
	for _, n := range named {
		inputs = append(inputs, filepath.Clean(n.Name))
	}
	holds, fresh := x.record.Holds(x, x.all.Build, x.job.Digest(), inputs, x.began)
	if !holds {
		return
	}
	x.clear(x.record.Gone)
	if fresh {
		// Where that fails, files are read again the next time.
		_ = stage.Commit(x.all.ctx, files.Result{Name: x.recorded(), Text: x.record.Text()})
	}
	x.outcome.Verdict, x.outcome.Result = batch.Unchanged, x.record.Result
	x.outcome.Inputs, x.outcome.Outputs = batch.Digests(x.record.Inputs), batch.Digests(x.record.Outputs)
	x.outcome.Seconds = time.Since(x.began).Seconds()
}

// reads are the files that the job reads: those that its file names, and those that the
// record of its fixture does.
func (x *jobRun) reads() ([]file.Named, error) {
	list := x.job.Inputs()
	fixture := x.job.Text("fixture")
	if fixture == "" {
		return list, nil
	}
	more, err := job.FixtureFiles(x.Read, fixture)
	for _, name := range more {
		if !slices.ContainsFunc(list, func(n file.Named) bool { return filepath.Clean(n.Name) == name }) {
			list = append(list, file.Named{Field: "fixture", Name: name})
		}
	}
	return list, err
}

// timely reports whether fixture and readings have not got too old: a job of which nothing
// has changed is done again where they have, which says so.
func (x *jobRun) timely() bool {
	fixture := x.job.Text("fixture")
	return fixture == "" || job.Timely(x.Read, &job.Options{Fixture: fixture, Readings: x.job.Text("readings"), Loaded: x.job.Text("loaded"), At: x.all.At,
		Note: func(string) {}}) == nil
}

// Look and Read are those of the folder.
func (x *jobRun) Look(name string) (os.FileInfo, error) { return x.stage.Look(name) }

// Read opens a file of the folder.
func (x *jobRun) Read(name string) (io.ReadCloser, error) { return x.stage.Open(name) }

// leave drops what is not in its place.
func (x *jobRun) leave() {
	if now := x.now.Load(); now != nil {
		now.Close()
	}
	x.stage.Close()
}

// clear removes results that are none any more, where nobody has changed them since.
func (x *jobRun) clear(gone []batch.Seen) {
	for _, s := range gone {
		if s.Still(x) {
			x.stage.Remove(s.Name)
			if dir := filepath.Dir(s.Name); dir != filepath.Clean(x.job.Out) {
				x.stage.Remove(dir) // where it is empty
			}
		}
	}
}

// forget lets go of all but what became of the job: there may be many thousands.
func (x *jobRun) forget() {
	x.job, x.record, x.stage, x.inputs = nil, nil, nil, nil
	x.now.Store(nil)
	x.said, x.wrong = bytes.Buffer{}, ""
	x.outcome.Messages, x.outcome.Inputs, x.outcome.Outputs = nil, nil, nil
}

// unmake removes the folders that were made for what did not come.
func (x *jobRun) unmake() {
	for _, dir := range x.folders {
		_ = os.Remove(dir)
	}
}

// failedCommand is a status of which everything has been said, what went wrong from a
// place on in the messages of the job.
type failedCommand struct{ status, from int }

func (f failedCommand) Error() string { return fmt.Sprintf("status %d", f.status) }

// fail ends a job with an error.
func (x *jobRun) fail(err error) {
	failed, said := errors.AsType[failedCommand](err)
	if !said {
		failed.from = x.said.Len()
		failed.status = x.all.Exit(say.Voice{W: &x.said}, err)
	}
	x.ends(failed.status, failed.from)
}

// ends ends a job with a status; what went wrong is what was said from there on, or all.
func (x *jobRun) ends(status, from int) {
	o := &x.outcome
	o.Status, o.Seconds = status, time.Since(x.began).Seconds()
	x.wrong = x.said.String()[from:]
	if x.wrong == "" {
		x.wrong = x.said.String()
	}
	switch status {
	case batch.Stopped:
		o.Verdict, o.Why = batch.Interrupted, "nothing was written"
	case batch.NotHeld:
		o.Verdict = batch.Refused
	default:
		o.Verdict = batch.Failed
	}
	if o.Why == "" {
		o.Why, _, _ = strings.Cut(strings.TrimPrefix(x.wrong, "sagitta: "), "\n")
	}
	if x.record != nil {
		o.Why += "; " + x.record.Result + " is of a time before"
	}
	o.Messages = lines(x.said.String())
}

func lines(text string) []string {
	if text == "" {
		return []string{}
	}
	return strings.Split(strings.TrimSuffix(text, "\n"), "\n")
}
