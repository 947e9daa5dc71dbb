package cli

import (
	"bytes"
	"cmp"
	"context"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"unicode/utf8"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/jobs"
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/job/batch"
	"sagitta/internal/job/file"
)

// jobsOptions are those of run.
type jobsOptions struct {
	Side    int      `opt:"jobs,j" in:"[1,1000]" wants:"a number from 1 to 1000" is:"do <N> jobs side by side (default: as many as there are processors)"`
	Force   bool     `opt:"force" is:"do again what nothing has changed of since, and replace folders that no run has made"`
	Log     string   `opt:"log" is:"append to <FILE> a line of JSON for each job"`
	At      string   `opt:"at"`
	From    int      `opt:"from"`
	Init    string   `opt:"init" is:"write a job file for <PROGRAM>, with every field and its meaning, and do nothing else"`
	Surface string   `opt:"surface,s"`
	Lenses  []string `opt:"lens,l"`
	Depth   string   `opt:"depth" also:"sharp" is:"how many <MM> nearer and further the lens is sharp, in place of a lens record: 1.5, or both sides as -1.2,1.8; not a depth of cut (also --sharp)"`
	Machine string   `opt:"machine,m"`
	Out     string   `opt:"output,o" is:"with --init: write the job file to <FILE>"`
}

func (o *jobsOptions) run(s *session, args []string) error {
	if o.Init != "" {
		return o.write(s, args)
	}
	for _, x := range []string{"surface", "lens", "depth", "machine", "output"} {
		if s.given(x) {
			return usagef("write it into the job file, or begin one with --init PROGRAM", "--%s is for --init: a job file says it itself", x)
		}
	}
	if len(args) == 0 {
		return usagef("begin one with --init PROGRAM -s SURFACE.csv -o JOB.toml", "no job file given")
	}
	names, err := batch.Find(args, file.Is)
	if err != nil {
		return err
	}
	log, err := batch.OpenLog(o.Log)
	if err != nil {
		return err
	}
	defer s.collect(smallGCPercent)()
	do := &jobs.Jobs{Commands: jobCommands(), Say: s.say, Force: o.Force, Side: cmp.Or(o.Side, runtime.GOMAXPROCS(0)), At: o.At, From: o.From, Log: log}
	do.Prepare(s.ctx, names)
	ends := func() { do.End() }
	s.ends.Store(&ends)
	if status := do.Do(); status != statusDone {
		return saidStatus(status)
	}
	return nil
}

// smallGCPercent is by how much the heap may grow before it is collected while jobs are
// small: they need next to none, and would else have it collected all the time. From the
// first that is not it counts as for one that is followed.
const smallGCPercent = 800

// jobCommands are what jobs are done by: the commands of this tool, each a run of its own.
func jobCommands() *jobs.Commands {
	kept := new(job.Kept)
	return &jobs.Commands{
		Run: func(ctx context.Context, on *files.Stage, said io.Writer, now func(*files.Files), args ...string) (*say.Advice, error) {
			none := strings.NewReader("")
			s := newSession(ctx, none, io.Discard, said)
			s.only, s.kept = args[0], kept
			s.files.On(on)
			now(s.files)
			defer s.files.Close()
			err := s.perform(args, none, said)
			return s.advice, err
		},
		Exit: exit, Options: optionsOfJobs, KnownTo: knownTo, Build: built(),
		Large: func() { debug.SetGCPercent(followGCPercent) },
	}
}

// knownTo are the commands that know the options of job files, by their names.
var knownTo = map[string][]string{}

// notOfJobs are options that job files have under another name, or that say where
// results go.
var notOfJobs = []string{"surface", "lens", "depth", "machine", "summary", "sheet", "output", "replace", "plot", "match", "for", "next", "by-hand", "at", "places", "from", "heights"}

// optionsOfJobs are those that job files may give.
var optionsOfJobs = func() (list []file.Option) {
	at := map[string]int{}
	for _, c := range []string{"advise", "follow", "split", "verify", "place", "surface"} {
		for _, o := range optionsOf(c) {
			if slices.Contains(notOfJobs, o.Name) || (c == "verify" || c == "place") && knownTo[o.Name] == nil {
				continue
			}
			if c == "surface" && len(knownTo[o.Name]) > 1 {
				continue // where it says the same of the surface that is made
			}
			if knownTo[o.Name] = append(knownTo[o.Name], c); len(knownTo[o.Name]) > 1 {
				continue
			}
			at[o.Name] = len(list)
			list = append(list, file.Option{Option: o, Measured: c == "surface"})
		}
	}
	for name, k := range at {
		list[k].For = waysOf(knownTo[name])
	}
	return list
}()

// waysOf are the ways of doing a job in which one of some commands has a part, nil for all.
func waysOf(commands []string) (ways []string) {
	for _, w := range []struct{ way, by string }{{file.Auto, "advise follow split"}, {file.Flat, "advise"}, {file.Follow, "follow"}, {file.Split, "split"}} {
		if slices.ContainsFunc(commands, func(c string) bool { return strings.Contains(w.by, c) }) {
			ways = append(ways, w.way)
		}
	}
	if len(ways) == 4 || len(ways) == 0 {
		return nil
	}
	return ways
}

// write writes a job file to begin with.
func (o *jobsOptions) write(s *session, args []string) error {
	switch {
	case len(args) > 0:
		return usagef("", "--init begins one job file, and does no other: leave out %s", args[0])
	case o.Surface == "":
		return usagef("give the measured heights with -s SURFACE.csv", "no surface given")
	case o.Out == "" || o.Out == "-":
		return usagef("give it with -o JOB.toml: its names lead from the folder that it stands in", "no name of a job file given")
	case len(o.Lenses) > 0 && o.Depth != "":
		return usagef("", "one of --lens and --depth is wanted, not both")
	}
	if o.Depth != "" {
		if _, err := focus.ParseDepth(o.Depth); err != nil {
			return usagef("", "--%v", err)
		}
	}
	j := file.Defaults()
	j.Depth = file.Sides(o.Depth)
	for _, n := range []struct {
		name string
		to   *string
	}{{o.Init, &j.Program}, {o.Surface, &j.Surface}, {o.Machine, &j.Machine}} {
		if n.name == "" {
			continue
		}
		var err error
		if *n.to, err = o.from(s, n.name); err != nil {
			return err
		}
	}
	for _, l := range o.Lenses {
		name, err := o.from(s, l)
		if err != nil {
			return err
		}
		j.Lenses = append(j.Lenses, name)
	}
	var text bytes.Buffer
	if err := j.Write(&text, optionsOfJobs); err != nil {
		return err
	}
	edited := func(old []byte) bool { return len(old) > 0 && !bytes.Equal(old, text.Bytes()) }
	if err := files.KeepFilled(o.Out, "-o", edited); err != nil {
		return err
	}
	if _, err := file.Read(bytes.NewReader(text.Bytes()), o.Out, optionsOfJobs); err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Name: o.Out, Text: text.Bytes()}); err != nil {
		return err
	}
	s.say.Line("the job file is %s; sagitta run %s does it", o.Out, o.Out)
	return nil
}

// from is the name of a file from the folder that the job file is to stand in.
func (o *jobsOptions) from(s *session, name string) (string, error) {
	if _, err := s.files.Open(name); err != nil {
		return "", err
	}
	dir, err := filepath.Abs(filepath.Dir(o.Out))
	if err != nil {
		return "", diag.IOError(err)
	}
	at, err := filepath.Abs(name)
	if err != nil {
		return "", diag.IOError(err)
	}
	local, err := filepath.Rel(dir, at)
	if err != nil || !filepath.IsLocal(local) || local == "." || name == "-" {
		return "", usagef("put the job file into a folder that holds all it names", "%s is not in the folder of %s, and nothing outside of that is read", name, o.Out)
	}
	if _, err := os.Stat(filepath.Join(dir, local)); err != nil {
		return "", diag.IOError(err)
	}
	if !utf8.ValidString(local) {
		return "", usagef("rename it", "%q is no UTF-8, which job files are", name)
	}
	return filepath.ToSlash(local), nil
}
