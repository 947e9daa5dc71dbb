package jobs

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"time"

	"sagitta/internal/advise"
	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
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

// make does what the commands typed by hand would do, in the folder of the job file.
func (x *jobRun) make() error {
	surface := x.job.Surface
	if len(x.job.Measured) > 0 {
		surface = x.surface()
		args := append(x.given("surface"), "--output="+surface, "--")
		if _, err := x.run("surface", append(args, x.job.Measured...)...); err != nil {
			return err
		}
	}
	var with []string
	if surface != "" {
		with = append(with, "--surface="+surface)
	}
	if x.all.At != "" && x.job.Gives("fixture") {
		with = append(with, "--at="+x.all.At)
	}
	for _, l := range x.job.Lenses {
		with = append(with, "--lens="+l)
	}
	if x.job.Depth != "" {
		with = append(with, "--depth="+string(x.job.Depth))
	}
	if x.job.Machine != "" {
		with = append(with, "--machine="+x.job.Machine)
	}
	x.source = x.job.Program
	if x.job.Places != nil {
		var err error
		if with, err = x.jig(with); err != nil {
			return err
		}
	}
	switch x.job.Do {
	case file.Follow:
		return x.follow(append(with, x.given("follow", "advise")...))
	case file.Split:
		return x.split(append(with, x.given("split")...))
	}
	return x.advised(append(with, x.given("advise")...))
}

// jig makes the program of all places and the surface as the stock lies there; from then on
// the job is done as any other, with what it gives.
func (x *jobRun) jig(with []string) ([]string, error) {
	with = append(with, "--places="+filepath.Base(cmp.Or(x.rules, x.name)))
	if x.all.From > 0 {
		with = append(with, fmt.Sprintf("--from=%d", x.all.From))
	}
	args := append(slices.Clone(with), x.given("place")...)
	if len(x.job.Lenses) > 1 { // of which one must not count
		args = slices.DeleteFunc(args, func(a string) bool { return strings.HasPrefix(a, "--lens=") })
	}
	args = append(args, "--output="+x.parts(), "--heights="+x.heights())
	if x.job.Gives("burns") {
		args = append(args, "--rules="+x.burns())
	}
	if _, err := x.run("place", append(args, "--", x.job.Program)...); err != nil {
		return nil, err
	}
	x.placed = true
	x.source = x.parts()
	with = slices.DeleteFunc(with, func(a string) bool { return strings.HasPrefix(a, "--surface=") })
	return append(with, "--surface="+x.heights()), nil
}

// advised asks which way is right, and does that.
func (x *jobRun) advised(with []string) error {
	a, err := x.run("advise", append(with, "--", x.source)...)
	if err != nil {
		return err
	}
	say.Voice{W: &x.said}.Line("advice: %s; %s", a.Verdict, a.Reason)
	command, next := a.Next()
	if x.job.Do == file.Flat && a.Verdict != advise.Flat {
		return diag.Errorf(diag.Unmet, `write do = "auto" into the job file`, "%s does not run flat: %s", x.source, a.Reason)
	}
	switch command {
	case "follow":
		return x.follow(next)
	case "split":
		return x.split(append(next, x.given("split")...))
	}
	if x.job.Gives("rehearsal") {
		return x.job.Wrong("rehearsal", `leave it out, or write do = "follow"`, "the program runs flat, as it is, which makes no rehearsal")
	}
	return x.flat(next)
}

// follow follows the surface, and proves that.
func (x *jobRun) follow(with []string) error {
	x.verdict, x.result = batch.Followed, x.program()
	if x.job.Gives("rehearsal") {
		with = append(with, "--rehearsal")
	}
	args := append(slices.Clone(with), "--output="+x.program())
	if x.job.Sheet {
		args = append(args, "--sheet="+x.sheet())
	}
	if _, err := x.run("follow", append(args, "--", x.source)...); err != nil {
		return err
	}
	return x.prove(x.program(), append(with, "--against="+x.source)...)
}

// prove proves a program or a folder of zones, with a page where one is wanted.
func (x *jobRun) prove(what string, with ...string) error {
	command := "verify"
	if x.job.Report {
		command, with = "report", append(with, "--output="+x.page())
	}
	_, err := x.run(command, append(with, "--", what)...)
	return err
}

// flat takes the program as it is, and proves that at the focus that with names.
func (x *jobRun) flat(with []string) error {
	x.verdict, x.result = batch.Flat, x.program()
	f := files.New(x.all.ctx, strings.NewReader(""), io.Discard, &x.said)
	f.On(x.stage)
	defer f.Close()
	in, err := f.Open(x.source)
	if err != nil {
		return err
	}
	out, err := f.Create(x.program())
	if err != nil {
		return err
	}
	if _, err := io.Copy(out, in); err != nil {
		return err
	}
	if err := f.Commit(out); err != nil {
		return err
	}
	if x.job.Sheet {
		with = append(with, "--sheet="+x.sheet())
	}
	return x.prove(x.program(), with...)
}

// split divides the job; what it makes proves itself.
func (x *jobRun) split(with []string) error {
	x.verdict, x.result = batch.Split, x.set()
	if x.job.Report && x.job.Gives("rehearsal") {
		return x.job.Wrong("report", "leave one of them out", "stands beside rehearsal: in a set of rehearsals nothing burns, and a page tells of burns")
	}
	if _, err := x.Look(x.set()); err == nil {
		ours := x.record != nil && slices.ContainsFunc(x.record.Outputs, func(s batch.Seen) bool { return filepath.Dir(s.Name) == x.set() })
		if !ours && !x.all.Force {
			return x.job.Wrong("out", "move it away, or have it replaced as a whole with --force", "%s is there, and is of no run", x.set())
		}
		with = append(with, "--replace")
	}
	if _, err := x.run("split", append(with, "--output="+x.set(), "--", x.source)...); err != nil || !x.job.Report {
		return err
	}
	return x.prove(x.set(), "--against="+x.source)
}

// given are the options of the job file that all of these commands know, as they are
// typed.
func (x *jobRun) given(commands ...string) (args []string) {
	for _, o := range x.job.Said {
		known := x.all.KnownTo[o.Name]
		if o.Name == "method" && len(x.job.Measured) > 0 {
			known = []string{"surface"} // how it is made says how it is read
		}
		if slices.ContainsFunc(commands, func(c string) bool { return !slices.Contains(known, c) }) {
			continue
		}
		texts := o.Texts
		if o.Name == "burns" && x.placed { // their lines are those of one part
			texts = []string{x.burns()}
		}
		for _, text := range texts {
			if o.Value.Kind() != reflect.Bool || text == "true" {
				args = append(args, "--"+o.Name+"="+text)
			}
		}
	}
	return args
}

// run runs a command in the folder of the job file.
func (x *jobRun) run(command string, args ...string) (*say.Advice, error) {
	advice, err := x.all.Run(x.all.ctx, x.stage, &x.said, x.now.Store, append([]string{command}, args...)...)
	if err != nil {
		from := x.said.Len()
		return nil, failedCommand{x.all.Exit(say.Voice{W: &x.said}, err), from}
	}
	return advice, nil
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
