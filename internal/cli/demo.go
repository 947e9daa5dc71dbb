package cli

import (
	"errors"
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
	for name, text := range inputs {
		if err := s.files.Write(files.Result{Name: filepath.Join(o.Dir, name), Text: text}); err != nil {
			return err
		}
	}
	with := newOptions()
	s.flags = pflag.NewFlagSet("", pflag.ContinueOnError)
	bind(s.flags, &with)
	with.Surface, with.Lenses, with.Machine, with.Summary = in(demo.Surface), []string{in(demo.Lens)}, in(demo.Bench), in(demo.Figures)
	r, err := s.prepare(&with, job.OneLens)
	if err != nil {
		return err
	}
	ways, sum, err := demo.Compare(r.job.Follow(demo.Chart.Name), r.job.Verify())
	if err != nil {
		return err
	}
	for _, w := range ways[1:] {
		if err := s.files.Write(files.Result{Name: in(w.File), Text: w.Program}); err != nil {
			return err
		}
	}
	last := ways[len(ways)-1]
	if err := r.summarize("verify", last.File.Name, nil, func(g *say.Figures) { g.Verify(r.job, last.Result) }); err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Text: []byte(say.Demo(r.job, o.Dir, sum, ways))}); err != nil {
		return err
	}
	s.say.Failures(last.File.Name, last.Result)
	return held(last.Result)
}

// demoFolder makes the folder, or takes one that holds a demo already.
func demoFolder(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		err = os.MkdirAll(dir, 0o755)
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
