package cli

import (
	"cmp"
	"context"
	"path/filepath"
	"runtime"
	"time"

	"sagitta/internal/cli/jobs"
	"sagitta/internal/job/batch"
	"sagitta/internal/job/watch"
)

type watchOptions struct {
	Side int     `opt:"jobs,j" in:"[1,1000]" wants:"a number from 1 to 1000" is:"do <N> jobs side by side (default: as many as there are processors)"`
	Log  string  `opt:"log" is:"append to <FILE> a line of JSON for each job (default: watch.log in the folder)"`
	Rest float64 `opt:"rest" in:"[0.1,3600]" wants:"0.1 to 3600 s" is:"take a file to be whole that nobody has written to for so many <SECONDS>"`
}

func (o *watchOptions) run(s *session, args []string) error {
	w := &jobs.Watch{Jobs: &jobs.Jobs{Commands: jobCommands(), Say: s.say, Side: cmp.Or(o.Side, runtime.GOMAXPROCS(0))}}
	folder, err := watch.Open(watch.Settings{Dir: args[0], Rest: time.Duration(o.Rest * float64(time.Second)), Read: w.Names, Note: w.Note})
	if err != nil {
		return err
	}
	defer folder.Close()
	w.Folder = folder
	logged := cmp.Or(o.Log, filepath.Join(args[0], watch.Log))
	if o.Log != "" {
		w.Log, err = batch.OpenLog(o.Log)
	} else {
		w.Log, err = folder.OpenLog()
	}
	if err != nil {
		return err
	}
	defer s.collect(smallGCPercent)()
	at, cut := context.WithCancel(context.WithoutCancel(s.ctx))
	defer cut()
	ends := w.End
	s.ends.Store(&ends)
	s.finishes.Store(&cut)
	s.say.Watches(args[0], filepath.Join(args[0], watch.Failed), logged, w.Side)
	return saidStatus(w.Do(s.ctx, at))
}
