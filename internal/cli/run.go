package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/job"
	"sagitta/internal/option"
	"sagitta/internal/timing"
)

// run is one run of a command that lays a program over a surface.
type run struct {
	*session
	o *options
	// job is what the program is run with.
	job *job.Job
	// program is what is read.
	program *files.Input
	// assumed are the lines that said so while the job was made ready.
	assumed []string
	// drawn is the picture of the job, which appears as figures do.
	drawn []files.Made
}

// prepare makes the job ready. programs are the operands that will be opened
// next.
func (s *session) prepare(o *options, want job.Want, programs ...string) (*run, error) {
	o.Given = s.given
	return s.ready(s.open, o, want, programs...)
}

// ready makes ready a job whose options may not all have been given by this command
// line.
func (s *session) ready(open job.Source, o *options, want job.Want, programs ...string) (*run, error) {
	if err := files.OneStream(append(append(programs, o.Surface, o.Machine, o.KeepOut, o.Fixture, o.Readings), o.Lenses...)...); err != nil {
		return nil, err
	}
	o.Version, o.Kept = Version, s.kept
	r := &run{session: s, o: o}
	o.Note = func(line string) {
		s.say.Line("%s", line)
		r.assumed = append(r.assumed, line)
	}
	var err error
	r.job, err = job.New(open, &o.Options, want)
	return r, err
}

// read opens the program, once the settings are read, and looks at the names of
// the results. Files.Close closes it.
func (r *run) read(open func(string) (*files.Input, error), name string, outputs ...string) (err error) {
	if r.program, err = open(name); err != nil {
		return err
	}
	if r.o.Summary != "" {
		r.program.KeepDigest()
	}
	return r.files.CheckOutputs(append(outputs, r.o.Summary)...)
}

// sheet makes a bench sheet where it is to have a name, and nothing has gone wrong before.
func (r *run) sheet(name string, before error, text func() []byte) ([]files.Made, error) {
	if before != nil || name == "" {
		return nil, before
	}
	return r.files.Make(files.Result{Name: name, Text: text()})
}

// finish puts what a run has made in its place, and its figures where they are wanted:
// all or none. Where the job could not be done it is the figures and what was drawn alone,
// and err is returned; fill fills in those of the command.
func (r *run) finish(command, program string, err error, fill func(*say.Figures), made ...files.Made) error {
	if err := r.files.Err(nil); err != nil {
		return err
	}
	refusal, refused := errors.AsType[diag.Refusal](err)
	if err != nil && !(refused && (r.o.Summary != "" || r.drawn != nil)) {
		return err
	}
	if refused {
		made = nil
	}
	made = append(made, r.drawn...)
	if r.o.Summary != "" {
		g := r.figures(command, program)
		if refused {
			g.Verdict, g.Fails = say.Refused, refusal.Reasons()
		}
		fill(g)
		text, err := g.JSON()
		if err != nil {
			return err
		}
		out, err := r.files.Make(files.Result{Name: r.o.Summary, Text: text})
		if err != nil {
			return err
		}
		made = append(made, out...)
	}
	if err := r.files.Commit(made...); err != nil {
		return err
	}
	return err
}

// figures are those of the run, but for the command's own.
func (r *run) figures(command, program string) *say.Figures {
	given, digest := map[string]string{}, ""
	r.flags.VisitAll(func(f *pflag.Flag) { given[f.Name] = f.Value.String() })
	given["lens"] = strings.Join(r.o.Lenses, ",")
	if r.job.Fixture != nil { // which says what no option does
		for _, o := range option.Of(&r.o.Options) {
			if text := fixedText(&o); text != "" {
				given[o.Name] = text
			}
		}
	}
	if r.program != nil {
		digest = r.program.Sum()
	}
	return say.NewFigures(command, r.job, program, digest, given)
}

// fixedText is the value of an option that a fixture record may say, "" where it is none.
func fixedText(o *option.Option) string {
	switch o.Name {
	case "surface", "keep-out":
		return o.Value.String()
	case "shift", "datum":
		return (&point{o.Value.Addr().Interface().(**[2]float64)}).String()
	case "rotate":
		return fmt.Sprint(o.Value.Float())
	}
	return ""
}

// inert reports whether inertia is known, so that times are those of a bench with it.
func (r *run) inert() bool { return job.Timing(r.job.Machine, r.job.Config) != nil }

// times are what a program takes on a bench with inertia, beside the original that it was
// made from, nil for none.
func (r *run) times(made io.ReaderAt, name string, original io.ReaderAt, originalName string) (t *say.Timing, err error) {
	inertia, t := job.Timing(r.job.Machine, r.job.Config), &say.Timing{}
	if original == nil {
		t.Made, err = timing.Of(anew(made), name, *inertia)
	} else {
		t.Made, t.Original, err = timing.Beside(anew(made), anew(original), name, originalName, *inertia)
	}
	return t, err
}
