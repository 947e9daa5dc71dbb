package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"sagitta/heightmaps"
	"sagitta/internal/cli/files"
	"sagitta/internal/demo"
	"sagitta/internal/diag"
	"sagitta/internal/follow"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/verify"
)

// The files that the demo makes.
const (
	demoSurface  = "panel.csv"
	demoProgram  = "chart.gcode"
	demoLens     = "lens.toml"
	demoBench    = "bench.toml"
	demoEvery    = "chart-every-mm.gcode"
	demoFollowed = "chart-followed.gcode"
	demoFigures  = "figures.json"
)

var demoFiles = []string{demoSurface, demoProgram, demoLens, demoBench, demoEvery, demoFollowed, demoFigures}

// everyMM is the spacing of the comparison, in mm.
const everyMM = 1.0

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
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("see: "+c.CommandPath()+" --help", "%s", "demo takes no "+args[0])
			}
			return nil
		},
		RunE: func(*cobra.Command, []string) error { return s.demo(dir) },
	}
	c.Flags().StringVarP(&dir, "output", "o", "sagitta-demo", "the `DIR` for every file it makes")
	return c
}

// demoColumn is one way to run the job.
type demoColumn struct {
	name    string
	res     *verify.Result
	changed int
	added   int
	points  int
}

func (s *session) demo(dir string) error {
	if err := demoFolder(dir); err != nil {
		return err
	}
	program := demo.Program()
	if err := s.demoInputs(dir, program); err != nil {
		return err
	}
	in := func(name string) string { return filepath.Join(dir, name) }
	o := settings{surface: in(demoSurface), lens: in(demoLens), machine: in(demoBench)}
	o.defaults()
	l, err := s.load(&o)
	if err != nil {
		return err
	}
	drawn, err := s.demoVerify(l, "as drawn", demoProgram, program, nil)
	if err != nil {
		return err
	}
	every, points, err := demo.EveryMM(func(x, y float64) float64 {
		h, _ := l.placed.At(x, y)
		return h
	}, everyMM)
	if err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Name: in(demoEvery), Text: every}); err != nil {
		return err
	}
	plain, err := s.demoVerify(l, "every 1 mm", demoEvery, every, nil)
	if err != nil {
		return err
	}
	plain.points, plain.added, plain.changed = points, points, linesChanged(program, every, points)
	var out bytes.Buffer
	opt := l.followOptions(demoProgram)
	sum, err := follow.Run(bytes.NewReader(program), &out, opt)
	if err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Name: in(demoFollowed), Text: out.Bytes()}); err != nil {
		return err
	}
	followed, err := s.demoVerify(l, "followed", demoFollowed, out.Bytes(), program)
	if err != nil {
		return err
	}
	followed.points, followed.added, followed.changed = sum.Points, sum.Added, sum.Changed
	if err := s.writeFigures(in(demoFigures), l.verifyFigures(followed.res, demoFollowed, "")); err != nil {
		return err
	}
	tellDemo(s.stdout, dir, l, sum, []*demoColumn{drawn, plain, followed})
	if !followed.res.Holds() {
		for _, f := range followed.res.Failures {
			fmt.Fprintf(s.stderr, "sagitta: %s: %s\n", demoFollowed, f)
		}
		return notHeld{}
	}
	return nil
}

// demoFolder makes the folder, or takes one that holds a demo already.
func demoFolder(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return diag.IOError(err)
		}
		return nil
	}
	if err != nil {
		return diag.IOError(err)
	}
	for _, e := range entries {
		if !slices.Contains(demoFiles, e.Name()) {
			return usagef("give an empty or a new folder with -o", "the folder %s holds other things, such as %s", dir, e.Name())
		}
	}
	return nil
}

// demoInputs writes what a workshop would bring.
func (s *session) demoInputs(dir string, program []byte) error {
	depth, focal, setting, rate := [2]float64{-1.5, 1.5}, 38.1, 0.1, 600.0
	lens := &job.Lens{Name: "short", FocalLengthMM: &focal, DepthMM: &depth, TestedOn: "birch plywood, 3 mm"}
	bench := job.DefaultMachine()
	bench.ZRateMMMin, bench.FocusSettingMM = &rate, &setting
	var lensText, benchText bytes.Buffer
	if err := job.WriteLens(&lensText, lens); err != nil {
		return err
	}
	if err := job.WriteMachine(&benchText, bench); err != nil {
		return err
	}
	for _, f := range []struct {
		name string
		text []byte
	}{
		{demoSurface, heightmaps.Panel()}, {demoProgram, program},
		{demoLens, lensText.Bytes()}, {demoBench, benchText.Bytes()},
	} {
		if err := s.files.Write(files.Result{Name: filepath.Join(dir, f.name), Text: f.text}); err != nil {
			return err
		}
	}
	return nil
}

func (s *session) demoVerify(l *loaded, column, name string, text, against []byte) (*demoColumn, error) {
	var original io.Reader
	if against != nil {
		original = bytes.NewReader(against)
	}
	res, err := verify.Run(bytes.NewReader(text), name, original, demoProgram, l.verifyOptions())
	if err != nil {
		return nil, err
	}
	return &demoColumn{name: column, res: res}, nil
}

// linesChanged counts the lines of the original that are not in the other
// program as they were, which has so many lines more.
func linesChanged(original, other []byte, added int) int {
	have := map[string]int{}
	for line := range bytes.Lines(other) {
		have[string(line)]++
	}
	changed := 0
	for line := range bytes.Lines(original) {
		if have[string(line)] > 0 {
			have[string(line)]--
		} else {
			changed++
		}
	}
	return changed
}

func tellDemo(w io.Writer, dir string, l *loaded, f *follow.Summary, cols []*demoColumn) {
	low, high, _, _ := l.placed.Range()
	fmt.Fprintf(w, "A plywood panel, 300 x 200 mm, cupped and twisted: heights from %s to %s mm.\n", mm(low), mm(high))
	fmt.Fprintf(w, "The chart of a canal: %s, %.1f m of burns.\n", phrase.Count(f.Blocks, "line"), f.BurnLength/1000)
	fmt.Fprintf(w, "The lens is good for %s mm; of that, -%.2f to +%.2f mm are usable here.\n\n", l.budget.Lens, l.writing.Near, l.writing.Far)
	row := func(name string, cell func(*demoColumn) string) {
		fmt.Fprintf(w, "%-42s", name)
		for _, c := range cols {
			fmt.Fprintf(w, "%14s", cell(c))
		}
		fmt.Fprintln(w)
	}
	row("", func(c *demoColumn) string { return c.name })
	row("burns out of focus", func(c *demoColumn) string { return fmt.Sprintf("%d of %d", c.res.BurnsOut, c.res.Burns) })
	row("greatest defocus, mm", func(c *demoColumn) string { return fmt.Sprintf("%+.3f", c.res.Defocus.MM) })
	row("travel of Z, mm", func(c *demoColumn) string { return fmt.Sprintf("%.1f", c.res.ZTravelMM) })
	row("peak rate of Z on a burn, mm/min", func(c *demoColumn) string { return fmt.Sprintf("%.0f", c.res.PeakZRate) })
	row("largest change of it at a point, mm/min", func(c *demoColumn) string { return fmt.Sprintf("%.0f", c.res.ZSpeedStep) })
	row("lines changed", func(c *demoColumn) string { return fmt.Sprint(c.changed) })
	row("points added", func(c *demoColumn) string { return fmt.Sprint(c.points) })
	row("time", func(c *demoColumn) string { return phrase.Clock(c.res.Seconds) })
	verdict := "proved by the independent check: every burn of the followed program is in focus, on the path of the original"
	if !cols[len(cols)-1].res.Holds() {
		verdict = "the independent check does not hold"
	}
	fmt.Fprintf(w, "\n%s\n\nIn %s:\n", verdict, dir)
	for _, x := range [][2]string{
		{demoSurface, "the measured heights"}, {demoProgram, "the program as drawn"},
		{demoLens, "the lens record"}, {demoBench, "the machine profile"},
		{demoFollowed, "the program that follows the surface"},
		{demoEvery, "for comparison, the height at every millimetre"}, {demoFigures, "the figures of the check"},
	} {
		fmt.Fprintf(w, "  %-22s %s\n", x[0], x[1])
	}
	fmt.Fprintf(w, `
The same by hand:
  cd %s
  sagitta follow %s -s %s -l %s -m %s -o again.gcode
  sagitta verify again.gcode -s %s -l %s -m %s --against %s

Lasers hurt eyes and start fires, and axes move. Rehearse with the beam off,
keep to local rules, and never leave a burning machine unattended.
`, dir, demoProgram, demoSurface, demoLens, demoBench, demoSurface, demoLens, demoBench, demoProgram)
}
