package cli

import (
	"errors"
	"strings"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/job"
)

// run is one run of a command that lays a program over a surface.
type run struct {
	*session
	o *options
	// job is what the program is run with.
	job *job.Job
	// program is what is read.
	program *files.Input
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
	if err := files.OneStream(append(append(programs, o.Surface, o.Machine, o.KeepOut), o.Lenses...)...); err != nil {
		return nil, err
	}
	o.Version = Version
	o.Note = func(line string) { s.say.Line("%s", line) }
	j, err := job.New(open, &o.Options, want)
	return &run{session: s, o: o, job: j}, err
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

// summarize writes the figures of a run where they are wanted, be it that the
// job could not be done: fill fills in those of the command. It returns err where
// there is one.
func (r *run) summarize(command, program string, err error, fill func(*say.Figures)) error {
	if err := r.files.Err(nil); err != nil {
		return err
	}
	refusal, refused := errors.AsType[diag.Refusal](err)
	if r.o.Summary == "" || err != nil && !refused {
		return err
	}
	given, digest := map[string]string{}, ""
	r.flags.VisitAll(func(f *pflag.Flag) { given[f.Name] = f.Value.String() })
	given["lens"] = strings.Join(r.o.Lenses, ",")
	if r.program != nil {
		digest = r.program.Sum()
	}
	g := say.NewFigures(command, r.job, program, digest, given)
	if refused {
		g.Verdict, g.Fails = say.Refused, refusal.Reasons()
	}
	fill(g)
	text, jsonErr := g.JSON()
	if jsonErr != nil {
		return jsonErr
	}
	if writeErr := r.files.Write(files.Result{Name: r.o.Summary, Text: text}); writeErr != nil {
		return writeErr
	}
	return err
}
