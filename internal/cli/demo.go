package cli

import (
	"bytes"
	"errors"
	"io"
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
	"sagitta/internal/follow"
	"sagitta/internal/prep"
	"sagitta/internal/verify"
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

// everyMM is the spacing of the comparison, in mm.
const everyMM = 1.0

func (s *session) demo(dir string) error {
	if err := demoFolder(dir); err != nil {
		return err
	}
	in := func(f demo.File) string { return filepath.Join(dir, f.Name) }
	put := func(f demo.File, text []byte) error { return s.files.Write(files.Result{Name: in(f), Text: text}) }
	inputs, err := demo.Inputs()
	if err != nil {
		return err
	}
	for _, f := range demo.Files {
		if text := inputs[f.Name]; text != nil {
			if err := put(f, text); err != nil {
				return err
			}
		}
	}
	var o options
	o.bind(pflag.NewFlagSet("", pflag.ContinueOnError))
	o.Surface, o.Lenses, o.Machine = in(demo.Surface), []string{in(demo.Lens)}, in(demo.Bench)
	j, err := s.prepare(&o, prep.OneLens)
	if err != nil {
		return err
	}
	program := inputs[demo.Chart.Name]
	drawn, err := demoWay(j, "as drawn", demo.Chart, program, nil)
	if err != nil {
		return err
	}
	every, points, err := demo.EveryMM(func(x, y float64) float64 {
		h, _ := j.Placed.At(x, y)
		return h
	}, everyMM)
	if err != nil {
		return err
	}
	if err := put(demo.Every, every); err != nil {
		return err
	}
	plain, err := demoWay(j, "every 1 mm", demo.Every, every, nil)
	if err != nil {
		return err
	}
	plain.Points, plain.Changed = points, demo.LinesChanged(program, every)
	var out bytes.Buffer
	sum, err := follow.Run(bytes.NewReader(program), &out, j.Follow(demo.Chart.Name))
	if err != nil {
		return err
	}
	if err := put(demo.Followed, out.Bytes()); err != nil {
		return err
	}
	followed, err := demoWay(j, "followed", demo.Followed, out.Bytes(), bytes.NewReader(program))
	if err != nil {
		return err
	}
	followed.Points, followed.Changed = sum.Points, sum.Changed
	g := o.figures("verify", j, demo.Followed.Name, "")
	g.Verify(j, followed.Result)
	if err := s.summary(in(demo.Figures), g); err != nil {
		return err
	}
	report := say.Demo(j, dir, sum.Blocks, sum.BurnLength, []*say.DemoWay{drawn, plain, followed})
	if err := s.files.Write(files.Result{Text: []byte(report)}); err != nil {
		return err
	}
	if !followed.Result.Holds() {
		s.say.Failures(demo.Followed.Name, followed.Result)
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

// demoWay checks one way to run the job.
func demoWay(j *prep.Job, name string, f demo.File, text []byte, original io.Reader) (*say.DemoWay, error) {
	res, err := verify.Run(bytes.NewReader(text), f.Name, original, demo.Chart.Name, j.Verify())
	if err != nil {
		return nil, err
	}
	return &say.DemoWay{Name: name, Result: res}, nil
}
