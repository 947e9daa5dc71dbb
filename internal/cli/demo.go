package cli

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/demo"
	"sagitta/internal/diag"
	"sagitta/internal/job"
)

type demoOptions struct {
	Dir string `opt:"output,o" is:"the <DIR> for every file it makes"`
}

func (o *demoOptions) run(s *session, _ []string) error {
	if err := demoFolder(o.Dir); err != nil {
		return err
	}
	in := func(f demo.File) string { return filepath.Join(o.Dir, f.Name) }
	inputs, err := demo.Inputs()
	if err != nil {
		return err
	}
	with := newOptions()
	s.flags = pflag.NewFlagSet("", pflag.ContinueOnError)
	bind(s.flags, &with)
	with.Surface, with.Lenses, with.Machine, with.Summary = in(demo.Surface), []string{in(demo.Lens)}, in(demo.Bench), in(demo.Figures)
	with.Given = s.given
	r, err := s.ready(func(name string) (io.ReadCloser, error) {
		return io.NopCloser(bytes.NewReader(inputs[filepath.Base(name)])), nil
	}, &with, job.OneLens)
	if err != nil {
		return err
	}
	ways, sum, err := demo.Compare(r.job.Follow(demo.Chart.Name), r.job.Verify())
	if err != nil {
		return err
	}
	results := []files.Result{{Text: []byte(s.out.Fit(say.Demo(r.job, o.Dir, sum, ways)))}}
	for name, text := range inputs {
		results = append(results, files.Result{Name: filepath.Join(o.Dir, name), Text: text})
	}
	for _, w := range ways[1:] {
		results = append(results, files.Result{Name: in(w.File), Text: w.Program})
	}
	if err := s.files.MakeDir(o.Dir); err != nil {
		return err
	}
	made, err := s.files.Make(results...)
	if err != nil {
		return err
	}
	last := ways[len(ways)-1]
	if err := r.finish("verify", last.File.Name, nil, func(g *say.Figures) {
		g.Verify(r.job, last.Result, &say.Timing{Made: last.Times, Original: last.Original})
	}, made...); err != nil {
		return err
	}
	s.say.Failures(last.File.Name, last.Result)
	return held(last.Result)
}

// demoFolder refuses a folder that holds other things than a demo.
func demoFolder(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return diag.IOError(err)
	}
	for _, e := range entries {
		if !slices.ContainsFunc(demo.Files, func(f demo.File) bool { return f.Name == e.Name() }) {
			return usagef("give an empty or a new folder with -o", "the folder %s holds other things, such as %s", dir, e.Name())
		}
	}
	return nil
}
