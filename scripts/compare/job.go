package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"pgregory.net/rapid"

	"sagitta/internal/machine/drawn"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
	"sagitta/internal/surface/surfacetest"
)

// side is that of the square that programs stay in, in mm.
const side = 60.0

// job is what both builds are given.
type job struct {
	kind string
	// files by name, args the command's but for where it writes, and check those
	// that verify needs too.
	files map[string]string
	args  []string
	check []string
	near  float64 // of the deepest lens
	far   float64
}

func pick[T any](t *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(t, label)
}

// faulty is what the first build of split is known to do wrong.
var faulty = []drawn.Construct{
	drawn.Offsets, drawn.CentrePlaces, drawn.MachinePlaces, drawn.StoredPlaces, drawn.Ends, drawn.Numbers, drawn.Sums,
	drawn.NoNewline, drawn.LastBurn, drawn.LastLine, drawn.FromHere,
}

// draw draws the job of a number.
func draw(kind string, n int, all bool) *job {
	return rapid.Custom(func(t *rapid.T) *job {
		if kind == "split" {
			return drawSplit(t, all)
		}
		return drawFollow(t)
	}).Example(n)
}

func drawFollow(t *rapid.T) *job {
	j := &job{kind: "follow", files: map[string]string{}}
	p := drawn.Draw(t, drawn.Options{Side: side})
	j.bench(t, p, surfacetest.Draw(t, side, []float64{0.5, 5, 11, 20, 33}, []float64{0, 0.2, 1, 3}))
	j.near, j.far = pick(t, "near", 0.2, 0.6, 1.5, 4), pick(t, "far", 0.3, 0.6, 2, 4)
	j.lens(t, "lens", 1)
	j.args = append(j.args, "--use", pick(t, "use", "0.1", "0.5", "1"))
	j.both(pick(t, "slow", "--slow=never", "--slow=scaled", "--slow=burns"))
	if pick(t, "rehearsal", false, false, false, true) {
		j.both("--rehearsal")
	}
	return j
}

func drawSplit(t *rapid.T, all bool) *job {
	j := &job{kind: "split", files: map[string]string{}}
	o := drawn.Options{Side: side}
	if !all {
		o.Without = faulty
	}
	p := drawn.Draw(t, o)
	j.bench(t, p, surfacetest.Draw(t, side, []float64{5, 11, 20, 33}, []float64{1.2, 0.6, 2.5, 0.2}))
	j.near, j.far = pick(t, "near", 0.15, 0.4, 1), pick(t, "far", 0.15, 0.4, 1)
	j.lens(t, "short", 1)
	if rapid.Bool().Draw(t, "two") {
		j.lens(t, "long", 2)
	}
	byHand := strings.Contains(j.files["bench.toml"], "by-hand")
	if !byHand && pick(t, "follow", false, false, false, true) {
		j.args = append(j.args, "--follow")
		return j
	}
	for _, options := range [][]string{
		{"", "--set-z"}, {"", "", "--pause"}, {"", "", "--lead=1", "--lead=5"}, {"", "", "--overlap=0.5"}, {"", "", "", "--rehearsal"},
	} {
		if option := pick(t, "option", options...); option != "" && !(byHand && option == "--set-z") {
			j.args = append(j.args, option)
		}
	}
	return j
}

// both adds an argument of the command and of verify.
func (j *job) both(args ...string) {
	j.args, j.check = append(j.args, args...), append(j.check, args...)
}

// bench draws the profile, and puts program and surface down.
func (j *job) bench(t *rapid.T, p *drawn.Program, sheet *surfacetest.Sheet) {
	j.files["job.gcode"] = p.Text
	var b bytes.Buffer
	s, err := surface.New(sheet.X, sheet.Y, sheet.Z)
	if err == nil {
		err = file.Write(&b, s.WithError(0))
	}
	if err != nil {
		panic(err) // a sheet that is drawn is a sheet
	}
	j.files["sheet.csv"] = b.String()
	j.both("-s", "sheet.csv", "-m", "bench.toml", "--method", sheet.Method)

	var m strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&m, format+"\n", args...) }
	line("units = %q", map[bool]string{false: "mm", true: "in"}[p.Inches])
	line("z_axis = %q", p.Axis)
	line("z_plus = %q", pick(t, "plus", "away", "away", "toward"))
	moves := pick(t, "moves", "always", "always", "beam-off", "by-hand")
	line("z_moves = %q", moves)
	if p.BeamOn[0] != 3 {
		line("beam_on = [\"M%d\"]\nbeam_off = [\"M%d\"]\npower_follows_speed = []", p.BeamOn[0], p.BeamOff[0])
	}
	if pick(t, "rapids", false, false, true) {
		line("rapids_fire = true")
	}
	if p.Numbered || j.kind == "follow" && rapid.Bool().Draw(t, "numbered") {
		line("numbered = true")
	}
	if rate := pick(t, "rate", 0, 0, 30, 300, 3000); rate > 0 {
		line("z_rate_mm_min = %d", rate)
	}
	if z := pick(t, "zmax", 0, 0, 0, 3, 4); z > 0 {
		line("z_min_mm = %d\nz_max_mm = %d", -z, z)
	}
	if j.kind == "follow" {
		if res := pick(t, "resolution", "", "", "", "0.01"); res != "" {
			line("z_resolution_mm = %s", res)
		}
		if pick(t, "head", false, false, true) {
			line("head_radius_mm = %g\ngap_min_mm = %g", pick(t, "radius", 0, 0.3, 4, 12), pick(t, "gap", 0, 1.5))
			j.boxes(t)
		}
	}
	j.files["bench.toml"] = m.String()
	if d := pick(t, "defocus", "", "", "", "-0.4", "1"); d != "" && moves != "by-hand" {
		j.both("--defocus=" + d)
	}
}

// boxes draws what stands about the job, with the head known.
func (j *job) boxes(t *rapid.T) {
	var b strings.Builder
	b.WriteString("x0,y0,x1,y1,height\n")
	n := rapid.IntRange(0, 3).Draw(t, "boxes")
	for range n {
		x, y := rapid.Float64Range(-10, side).Draw(t, "x0"), rapid.Float64Range(-10, side).Draw(t, "y0")
		fmt.Fprintf(&b, "%g,%g,%g,%g,%g\n", x, y, x+pick(t, "wide", 0.001, 1, 15), y+pick(t, "deep", 0.001, 1, 15), pick(t, "tall", -1, 0.5, 1, 2, 4))
	}
	if n > 0 {
		j.files["boxes.csv"] = b.String()
		j.both("--keep-out", "boxes.csv")
	}
}

// lens puts down a record of so many times the depth.
func (j *job) lens(t *rapid.T, name string, times float64) {
	record := fmt.Sprintf("name = %q\ndepth_mm = [%g, %g]\n", name, -j.near*times, j.far*times)
	if j.kind == "follow" && strings.Contains(j.files["bench.toml"], "head_radius_mm") {
		record += fmt.Sprintf("standoff_mm = %g\n", pick(t, "standoff", 1.5, 2.5, 6))
	}
	j.files[name+".toml"] = record
	j.both("-l", name+".toml")
}

// write puts the files down, and the commands.
func (j *job) write(dir string) error {
	for name, text := range j.files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			return err
		}
	}
	text := "sagitta " + j.kind + " job.gcode " + strings.Join(j.args, " ") + " -o out\n" +
		"sagitta verify out --against job.gcode " + strings.Join(j.check, " ") + "\n"
	return os.WriteFile(filepath.Join(dir, "command.txt"), []byte(text), 0o666)
}
