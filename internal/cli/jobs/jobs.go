package jobs

import (
	"context"
	"io"
	"path/filepath"
	"strings"
	"sync"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job/batch"
	"sagitta/internal/job/file"
)

// Commands are what jobs are done by.
type Commands struct {
	// Run runs a command line on a stage. What it says, but for what goes wrong, goes to
	// said; its files are given to now before it begins. advice is what advise found.
	Run func(ctx context.Context, on *files.Stage, said io.Writer, now func(*files.Files), args ...string) (advice *say.Advice, err error)
	// Exit says what went wrong, and gives the status.
	Exit func(say.Voice, error) int
	// Options are those that job files may give, and KnownTo the commands that know them, by
	// their names.
	Options []file.Option
	KnownTo map[string][]string
	// Build tells this tool from others.
	Build string
	// Large is called once, before the first job that is not small.
	Large func()
}

// Jobs are jobs that are done.
type Jobs struct {
	*Commands
	// Say says what becomes of them.
	Say say.Voice
	// Force has all of them done again; Side is how many are done at a time.
	Force bool
	Side  int
	// At is as of when fixtures are judged, "" for now.
	At string
	// From is the number of the first place that is made of jigs, 0 for all.
	From int
	Log  *batch.Log

	ctx  context.Context
	jobs []*jobRun
	// locks are for what all of them build, nil where each has its own.
	locks *files.Locks

	// turn is held while messages are said and the list of those at hand changes.
	turn   sync.Mutex
	atHand map[*jobRun]bool
	// placing is held for reading while results go to their places, and for good once the
	// process is to end.
	placing sync.RWMutex
	told    sync.Once
	large   sync.Once
	logged  error
}

// Prepare makes ready the jobs of files, until ctx is done.
func (r *Jobs) Prepare(ctx context.Context, names []string) {
	r.begin(ctx)
	r.locks = new(files.Locks)
	for _, name := range names {
		r.jobs = append(r.jobs, r.job(name))
	}
}

func (r *Jobs) begin(ctx context.Context) { r.ctx, r.atHand = ctx, map[*jobRun]bool{} }

// job is the job of a file.
func (r *Jobs) job(name string) *jobRun {
	return &jobRun{all: r, name: name, dir: filepath.Dir(name), outcome: batch.Outcome{Schema: 1, Job: name, Inputs: map[string]string{}, Outputs: map[string]string{}, Messages: []string{}}}
}

// End ends what is at hand for good, says what became of the jobs, and gives the status:
// the process is to end.
func (r *Jobs) End() (status int) {
	r.cutShort()
	return r.tell()
}

// cutShort drops what is at hand for good.
func (r *Jobs) cutShort() {
	r.placing.Lock() // and what goes to its place is there
	r.turn.Lock()
	for x := range r.atHand {
		x.leave()
	}
	r.unlock()
	for x := range r.atHand {
		x.unmake()
	}
	r.turn.Unlock()
}

// unlock removes the locks of what is in its place, or dropped.
func (r *Jobs) unlock() {
	if r.locks != nil {
		r.locks.Drop()
	}
}

// Do does the jobs, says what became of them, and gives the status.
func (r *Jobs) Do() (status int) {
	batch.Do(r.ctx, len(r.jobs), r.Side, func(k int) { r.jobs[k].read() })
	r.apart()
	r.sweep()
	batch.Do(r.ctx, len(r.jobs), r.Side, func(k int) { r.jobs[k].look() })
	var left []*jobRun
	for _, x := range r.jobs {
		switch {
		case x.outcome.Verdict != "":
			r.ended(x)
		case x.left:
			left = append(left, x)
		}
	}
	batch.Do(r.ctx, len(left), r.Side, func(k int) {
		left[k].do()
		r.ended(left[k])
	})
	r.unlock()
	for _, x := range r.jobs {
		x.unmake()
	}
	if err := r.Log.Close(); r.logged == nil {
		r.logged = err
	}
	return r.tell()
}

// apart refuses jobs whose results would be called as those of another.
func (r *Jobs) apart() {
	of := map[string]*jobRun{}
	for _, x := range r.jobs {
		if x.job == nil {
			continue
		}
		at, err := filepath.Abs(filepath.Join(x.dir, x.job.Out, x.stem()))
		if err != nil {
			continue
		}
		at = strings.ToLower(at) // names may not differ by case
		if first := of[at]; first != nil {
			x.clashes(first.name)
			continue
		}
		of[at] = x
	}
}

// sweep removes what runs that were killed have left in the folders of the results.
func (r *Jobs) sweep() {
	done := map[string]bool{}
	for _, x := range r.jobs {
		if x.job == nil {
			continue
		}
		out := filepath.Join(x.dir, x.job.Out)
		if done[out] {
			continue
		}
		done[out] = true
		sweep(x.dir, x.job.Out)
	}
}

// sweep does so in the folder out of dir.
func sweep(dir, out string) {
	if stage, err := files.OpenStage(dir, nil); err == nil {
		stage.Sweep(out)
		stage.Close()
	}
}

// ended logs a job, and says what went wrong, or all where it is the only one.
func (r *Jobs) ended(x *jobRun) {
	r.turn.Lock()
	defer r.turn.Unlock()
	defer x.forget()
	x.final = &x.outcome
	if err := r.Log.Add(x.final); err != nil && r.logged == nil {
		r.logged = err
	}
	switch {
	case len(r.jobs) == 1:
		r.Say.Text(x.said.String())
	case x.outcome.Status != batch.Done && x.outcome.Status != batch.Stopped:
		r.Say.Job(x.name, x.wrong)
	}
}

// tell says what became of the jobs, once, and gives the status.
func (r *Jobs) tell() (status int) {
	r.told.Do(func() {
		r.turn.Lock()
		defer r.turn.Unlock()
		var list []batch.Outcome
		for _, x := range r.jobs {
			if x.final == nil {
				x.final = &batch.Outcome{Job: x.name, Verdict: batch.Interrupted, Status: batch.Stopped, Why: "nothing was written"}
			}
			list = append(list, *x.final)
		}
		r.Say.Jobs(list)
		status = batch.Worst(list)
		if r.logged != nil {
			failed := r.Exit(r.Say, r.logged)
			status = batch.Worst([]batch.Outcome{{Status: status}, {Status: failed}})
		}
	})
	return status
}
