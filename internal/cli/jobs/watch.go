package jobs

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job/batch"
	"sagitta/internal/job/file"
	"sagitta/internal/job/watch"
	"sagitta/internal/phrase"
)

// Names gives what a job file names, or what the rules name for a program; see watch.Settings.
func (c *Commands) Names(r io.Reader, name, program string) (watch.Names, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return watch.Names{}, err
	}
	var j *file.Job
	switch {
	case program != "":
		j, err = file.ReadFor(program, bytes.NewReader(text), name, c.Options)
	case !file.Is(bytes.NewReader(text)):
		return watch.Names{}, nil
	default:
		j, err = file.Read(bytes.NewReader(text), name, c.Options)
	}
	if err != nil {
		return watch.Names{}, err
	}
	x := jobRun{all: &Jobs{Commands: c}, job: j}
	n := watch.Names{Job: true, Record: x.recorded(), Results: strings.ToLower(x.place(x.stem()))}
	named := j.Inputs()
	if n.More = j.Gives("fixture"); n.More {
		if x.stage, err = files.OpenStage(filepath.Dir(name), nil); err != nil {
			return watch.Names{}, err
		}
		defer x.stage.Close()
		named, _ = x.reads() // what is wrong with it is said when the job is done
	}
	for _, input := range named {
		n.Inputs = append(n.Inputs, strings.Clone(filepath.Clean(input.Name))) // not all of the text
	}
	return n, nil
}

// Watch does the jobs of a folder that they are dropped into.
type Watch struct {
	*Jobs
	Folder *watch.Folder

	mu    sync.Mutex
	swept map[string]bool // folders of results
	// same are the programs without a job by their digests, and digests those by the programs.
	same, digests map[string]string

	tally say.Tally
	still int // how many that were there when the watch began were done already, and is not said yet
}

// Do does jobs as they are ready until ends is done, and finishes those at hand then, unless
// cut is done. It gives the status.
func (w *Watch) Do(ends, cut context.Context) (status int) {
	w.begin(cut)
	w.swept, w.same, w.digests = map[string]bool{}, map[string]string{}, map[string]string{}
	sweep(w.Folder.Dir, watch.Failed)
	defer context.AfterFunc(ends, func() {
		w.turn.Lock()
		defer w.turn.Unlock()
		if n := len(w.atHand); n > 0 {
			w.Say.Line("finishing %s at hand; to be asked again drops that", phrase.Count(n, "job"))
		}
	})()
	batch.Each(ends, w.Side, func() (*watch.Job, bool) {
		j := w.Folder.Next(ends)
		return j, j != nil
	}, w.one)
	if err := w.Log.Close(); w.logged == nil {
		w.logged = err
	}
	w.tell()
	switch err := w.Folder.Err(); {
	case cut.Err() != nil:
		return batch.Stopped
	case err != nil:
		return w.Exit(w.Say, err)
	case w.logged != nil:
		return w.Exit(w.Say, w.logged)
	}
	return batch.Done
}

// End ends what is at hand for good: the process is to end.
func (w *Watch) End() {
	w.cutShort()
	w.tell()
}

// tell says what became of all jobs, once.
func (w *Watch) tell() {
	w.told.Do(func() {
		waiting := w.Folder.Waiting()
		w.turn.Lock()
		defer w.turn.Unlock()
		if waiting > 0 {
			w.Say.Line("%s still to come that files are missing for", phrase.Count(waiting, "job"))
		}
		w.Say.Tally(&w.tally)
	})
}

// one does a job.
func (w *Watch) one(j *watch.Job) {
	if w.ctx.Err() != nil {
		return
	}
	x := w.job(filepath.Join(w.Folder.Dir, j.Name))
	x.watched = true
	if j.Program {
		x.rules = filepath.Join(w.Folder.Dir, watch.Rules)
	}
	x.read()
	w.sweepFor(x)
	x.look()
	switch {
	case x.outcome.Verdict != "":
		if digest := x.outcome.Inputs[j.Name]; j.Program && digest != "" {
			w.first(j.Name, digest)
		}
	case j.Twin != "":
		if x.read(); x.job != nil {
			x.clashes(filepath.Join(w.Folder.Dir, j.Twin))
		}
	case j.Program && w.again(x, j.Name):
	default:
		x.do()
		x.unmake()
	}
	w.ended(x, j)
	x.forget()
}

// sweepFor removes what runs that were killed have left where the results of a job go, before
// the first of them.
func (w *Watch) sweepFor(x *jobRun) {
	if x.job == nil {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if out := filepath.Clean(x.job.Out); !w.swept[out] {
		w.swept[out] = true
		sweep(x.dir, out)
	}
}

// first gives the program that was the first with a digest.
func (w *Watch) first(name, digest string) string {
	w.mu.Lock()
	defer w.mu.Unlock()
	if was := w.digests[name]; was != "" && w.same[was] == name {
		delete(w.same, was)
	}
	w.digests[name] = digest
	if other := w.same[digest]; other != "" && w.Folder.Has(other) {
		return other
	}
	w.same[digest] = name
	return name
}

// again reports whether a program without a job is another one once more, as copying and
// loading the same file twice makes them.
func (w *Watch) again(x *jobRun, name string) bool {
	stage, err := files.OpenStage(x.dir, nil)
	if err != nil {
		return false
	}
	x.stage = stage
	seen, err := batch.Take(x, name)
	x.stage = nil
	stage.Close()
	if err != nil {
		return false
	}
	other := w.first(name, seen.Digest)
	if other == name {
		return false
	}
	o := &x.outcome
	o.Verdict, o.Why = batch.Unchanged, "the same program as "+filepath.Join(w.Folder.Dir, other)+", and done as that"
	o.Inputs[name], o.Messages, o.Seconds = seen.Digest, []string{o.Why}, time.Since(x.began).Seconds()
	return true
}

// ended logs what became of a job, says it, and moves the file of one aside that failed.
func (w *Watch) ended(x *jobRun, j *watch.Job) {
	o := &x.outcome
	failed := o.Status != batch.Done
	stands := w.Folder.Done(j, o.Verdict == batch.Interrupted)
	if failed && !stands {
		if o.Verdict == batch.Interrupted {
			w.count(o)
		}
		return // it is done again
	}
	why := x.wrong
	w.turn.Lock()
	if err := w.Log.Add(o); err != nil && w.logged == nil {
		w.logged = err
		w.Exit(w.Say, err)
	}
	w.tally.Add(o)
	switch {
	case failed:
		w.Say.Job(x.name, why)
	case j.Before && o.Verdict == batch.Unchanged:
		w.still++
	default:
		w.Say.Done(o)
	}
	w.turn.Unlock()
	if failed {
		w.aside(j, o)
	} else {
		w.Folder.Mended(j)
	}
	if w.Folder.Idle() {
		w.turn.Lock()
		if w.still > 0 {
			w.Say.Line("done already: %s", phrase.Count(w.still, "job"))
			w.still = 0
		}
		w.turn.Unlock()
	}
}

func (w *Watch) count(o *batch.Outcome) {
	w.turn.Lock()
	defer w.turn.Unlock()
	w.tally.Add(o)
}

// aside writes why a job failed, and moves its file out of the way.
func (w *Watch) aside(j *watch.Job, o *batch.Outcome) {
	reason, to := w.Folder.Reason(j)
	err := w.write(reason, w.reason(j, o))
	if err == nil && to != "" {
		err = w.Folder.Aside(j, to)
	}
	if err != nil {
		w.Folder.Later(j)
	}
	w.turn.Lock()
	defer w.turn.Unlock()
	switch {
	case err != nil:
		w.Exit(w.Say, err)
		w.Say.Line("%s stays where it is, and is tried again in a minute", o.Job)
	case to == "":
		w.Say.Line("%s says why; the program stays where it is", filepath.Join(w.Folder.Dir, reason))
	default:
		w.Say.Line("%s was moved to %s; the .txt beside it says why", o.Job, filepath.Join(w.Folder.Dir, to))
	}
}

// reason is the text that says why a job failed.
func (w *Watch) reason(j *watch.Job, o *batch.Outcome) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s could not be done (status %d). What was said:\n\n", j.Name, o.Status)
	for _, line := range o.Messages {
		fmt.Fprintf(&b, "%s\n", line)
	}
	if j.Program {
		fmt.Fprintf(&b, "\nThe program is done again once it or %s has changed.\n", watch.Rules)
	} else {
		b.WriteString("\nMend what is wrong, and drop the job file into the folder again.\n")
	}
	return b.Bytes()
}

// write writes a file into the folder, whole or not at all.
func (w *Watch) write(name string, text []byte) error {
	stage, err := files.OpenStage(w.Folder.Dir, nil)
	if err != nil {
		return err
	}
	defer stage.Close()
	if err := stage.MakeDir(filepath.Dir(name)); err != nil {
		return err
	}
	w.placing.RLock()
	defer w.placing.RUnlock()
	return stage.Commit(w.ctx, files.Result{Name: name, Text: text})
}

// Note says a line about the folder.
func (w *Watch) Note(format string, args ...any) {
	w.turn.Lock()
	defer w.turn.Unlock()
	w.Say.Line(format, args...)
}
