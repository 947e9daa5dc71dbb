package cli

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/demo"
	"sagitta/internal/diag"
	"sagitta/internal/job"
)

func (s *session) demoCommand() *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use:   "demo",
		Short: "the whole job on a surface and a program that come with the tool",
		Long: `demo does the whole job in a folder: a lantern workshop burns the chart of a
canal into a thin plywood panel that has cupped and twisted in a damp store. The
panel's measured heights, the program, a lens record and a machine profile are
made up and come with the tool. The program is followed and proved, and compared
with itself as drawn and with plain following at every millimetre.`,
		Example: `    sagitta demo
    sagitta demo -o try`,
		Args: noOperand,
		RunE: func(*cobra.Command, []string) error { return s.demo(dir) },
	}
	c.Flags().StringVarP(&dir, "output", "o", "sagitta-demo", "the `DIR` for every file it makes")
	return c
}

func (s *session) demo(dir string) error {
	if err := demoFolder(dir); err != nil {
		return err
	}
	in := func(f demo.File) string { return filepath.Join(dir, f.Name) }
	inputs, err := demo.Inputs()
	if err != nil {
		return err
	}
	for name, text := range inputs {
		if err := s.files.Write(files.Result{Name: filepath.Join(dir, name), Text: text}); err != nil {
			return err
		}
	}
	var o options
	o.bind(pflag.NewFlagSet("", pflag.ContinueOnError))
	o.Surface, o.Lenses, o.Machine, o.summary = in(demo.Surface), []string{in(demo.Lens)}, in(demo.Bench), in(demo.Figures)
	j, err := s.prepare(&o, job.OneLens)
	if err != nil {
		return err
	}
	ways, sum, err := demo.Compare(j.Follow(demo.Chart.Name), j.Verify())
	if err != nil {
		return err
	}
	for _, w := range ways[1:] {
		if err := s.files.Write(files.Result{Name: in(w.File), Text: w.Program}); err != nil {
			return err
		}
	}
	last := ways[len(ways)-1]
	if err := s.summarize(&o, "verify", j, last.File.Name, "", func(g *say.Figures) { g.Verify(j, last.Result) }); err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Text: []byte(say.Demo(j, dir, sum, ways))}); err != nil {
		return err
	}
	if !last.Result.Holds() {
		s.say.Failures(last.File.Name, last.Result)
		return notHeld{}
	}
	return nil
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
