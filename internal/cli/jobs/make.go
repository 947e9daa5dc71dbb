package jobs

import (
	"cmp"
	"fmt"
	"io"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"sagitta/internal/advise"
	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/job/batch"
	"sagitta/internal/job/file"
)

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
