package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"pgregory.net/rapid"

	"sagitta/internal/cli"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
	"sagitta/internal/surface/surfacetest"
)

// site is a drawn job in a folder of its own, with a bench.
type site struct {
	t       *rapid.T
	dir     string
	text    string
	dialect dialect
	ground  *ground
	// level tells that all burns are at one Z, and high that no travel is lower.
	level, high bool
	simple      bool
	// known: the head is known with its lenses.
	known       bool
	radius, gap float64
	lenses      []optic
	hand, away  bool
	moves       string
	defocus     float64
	boxes       bool
	// freed is how high a piece may stand up that is cut free, 0 where that is not said.
	freed float64
	// burnZ is the programmed Z of the original's first burn, topZ its highest Z.
	burnZ, topZ float64
	// said is what the last command said.
	said string
}

type optic struct {
	name      string
	near, far float64
	standoff  float64
}

func pick[T any](t *rapid.T, label string, from ...T) T {
	return rapid.SampledFrom(from).Draw(t, label)
}

// drawSite draws one and writes its files.
func drawSite(t *rapid.T, dir string) *site {
	s := &site{t: t, dir: dir, away: pick(t, "plus", true, true, false), moves: pick(t, "z moves", "always", "always", "beam-off", "by-hand")}
	s.hand = s.moves == "by-hand"
	s.freed = pick(t, "freed", 0.0, 0, 0, 2, 5)
	profile := s.drawProgram() + fmt.Sprintf("z_moves = %q\nz_plus = %q\n", s.moves, map[bool]string{true: "away", false: "toward"}[s.away])
	if s.hand && rapid.Bool().Draw(t, "crank") {
		profile += "z_step_mm = 0.05\n"
	}
	s.drawSurface()
	if s.known = pick(t, "head", true, true, true, false); s.known {
		s.radius, s.gap = pick(t, "radius", 0.4, 3.0, 8), pick(t, "gap", 0.5, 1.5)
		profile += fmt.Sprintf("head_radius_mm = %g\ngap_min_mm = %g\n", s.radius, s.gap)
	}
	near, far := pick(t, "near", 0.3, 0.8, 1.5), pick(t, "far", 0.3, 0.8, 1.5)
	for k := range pick(t, "lenses", 1, 1, 2) {
		o := optic{fmt.Sprint("lens", k), near * float64(k+1), far * float64(k+1), pick(t, "standoff", 2.0, 4, 8)}
		s.lenses = append(s.lenses, o)
		s.write(o.name+".toml", fmt.Sprintf("name = %q\ndepth_mm = [%g, %g]\nstandoff_mm = %g\n", o.name, -o.near, o.far, o.standoff))
	}
	if !s.hand && rapid.Bool().Draw(t, "range") {
		profile += "z_min_mm = -200\nz_max_mm = 200\n"
	}
	s.defocus = pick(t, "defocus", 0.0, 0, 0, 0.4, -0.3)
	s.write("job.gcode", s.text)
	s.write("bench.toml", profile)
	return s
}

func (s *site) write(name, text string) {
	if err := os.WriteFile(filepath.Join(s.dir, name), []byte(text), 0o644); err != nil {
		s.t.Fatal(err)
	}
}

// drawProgram draws the program, and gives what the profile is to say of it.
func (s *site) drawProgram() string {
	t := s.t
	s.dialect = dialect{axis: 'Z', on: []int{3, 4}, off: []int{5}}
	s.level = true
	profile := ""
	if s.simple = rapid.Bool().Draw(t, "simple"); s.simple {
		s.drawSimple()
	} else {
		s.away = true // their retracts go up
		without := []drawn.Construct{drawn.Silence}
		if pick(t, "goes to several programs", true, true, false) {
			without = append(without, drawn.Between)
		}
		if pick(t, "level", true, true, false) {
			without = append(without, drawn.Passes, drawn.Offsets, drawn.MachinePlaces, drawn.StoredPlaces)
		} else {
			s.level = false
		}
		p := drawn.Draw(t, drawn.Options{Side: size, Without: without})
		s.text, s.dialect = p.Text, dialect{p.Axis, p.BeamOn, p.BeamOff, p.Inches}
		profile = fmt.Sprintf("z_axis = %q\nbeam_on = %s\nbeam_off = %s\npower_follows_speed = %s\nnumbered = %v\n",
			string(p.Axis), list(p.BeamOn), list(p.BeamOff), list(p.PowerFollows), p.Numbered)
		if p.Inches {
			profile += "units = \"in\"\n"
		}
	}
	met, low := false, math.Inf(1)
	for _, l := range walk(s.text, at{kz: true}, s.dialect) {
		end := l.way[len(l.way)-1]
		if end.kz {
			s.topZ, low = max(s.topZ, s.sigma()*end.z), min(low, s.sigma()*end.z)
		}
		if l.burn && !met {
			met, s.burnZ = true, l.way[0].z
		}
	}
	s.high = low >= s.sigma()*s.burnZ
	return profile
}

func list(codes []int) string {
	var out []string
	for _, c := range codes {
		out = append(out, fmt.Sprintf("%q", fmt.Sprint("M", c)))
	}
	return "[" + strings.Join(out, ", ") + "]"
}

// drawSimple draws strokes as people write them: with or without a retract, and ways
// at either end.
func (s *site) drawSimple() {
	t := s.t
	var b strings.Builder
	place := func() string {
		return fmt.Sprintf("X%d Y%d", rapid.IntRange(0, int(size)).Draw(t, "x"), rapid.IntRange(0, int(size)).Draw(t, "y"))
	}
	z, lift := pick(t, "z", 0.0, 0, 0, 2.5, -1.5), pick(t, "lift", 0.0, 0, 3, 12)
	if !s.away {
		lift = -lift
	}
	b.WriteString("G21 G90\nM5\n")
	switch pick(t, "start", "", "", "home", "z", "one by one") {
	case "home":
		b.WriteString("G0 X0 Y0\n")
	case "z":
		fmt.Fprintf(&b, "G0 Z%g\n", z+lift)
	case "one by one":
		b.WriteString("G0 X5\nG0 Y50\n")
	}
	for range rapid.IntRange(1, 5).Draw(t, "strokes") {
		if lift != 0 {
			fmt.Fprintf(&b, "G0 Z%g\n", z+lift)
		}
		fmt.Fprintf(&b, "G0 %s\nG0 Z%g\nM4 S300\n", place(), z)
		switch pick(t, "figure", "strokes", "strokes", "ring", "square") {
		case "strokes":
			for range rapid.IntRange(1, 3).Draw(t, "burns") {
				fmt.Fprintf(&b, "G1 %s F1000\n", place())
			}
		case "ring":
			fmt.Fprintf(&b, "G2 I%d J%d F1000\n", rapid.IntRange(1, 5).Draw(t, "i"), rapid.IntRange(-5, 5).Draw(t, "j"))
		case "square":
			side := rapid.IntRange(1, 12).Draw(t, "side")
			fmt.Fprintf(&b, "G91\nG1 X%d F1000\nY%d\nX-%d\nY-%d\nG90\n", side, side, side, side)
		}
		b.WriteString("M5\n")
	}
	switch pick(t, "end", "", "", "home", "up", "down") {
	case "home":
		b.WriteString("G0 X0 Y0\n")
	case "up":
		fmt.Fprintf(&b, "G0 Z%g\nG0 X60 Y0\n", z+lift)
	case "down":
		fmt.Fprintf(&b, "G0 %s Z0\n", place())
	}
	b.WriteString(pick(t, "last", "M2\n", "M30\n", ""))
	s.text = b.String()
}

func (s *site) sigma() float64 {
	if s.away {
		return 1
	}
	return -1
}

// drawSurface draws a bow, a twist, a sheet or a round, and boxes.
func (s *site) drawSurface() {
	t := s.t
	x, y := []float64{-1, 10, 20, 30, 40, 50, size + 1}, []float64{-1, 10, 20, 30, 40, 50, size + 1}
	header := ""
	var height func(k, x, y float64) float64
	scale := pick(t, "scale", 0.0, 0.7, 2, 6)
	kind := pick(t, "surface", "bow", "twist", "sheet", "round")
	var z []float64
	switch kind {
	case "bow":
		height = func(k, x, y float64) float64 { return k * x * (size - x) / 900 }
	case "twist":
		height = func(k, x, y float64) float64 { return k * (x - 30) * (y - 30) / 900 }
	case "round":
		header = "# wraps_y_mm: 30\n"
		y = []float64{0, 5, 12, 20, 26, 30}
		height = func(k, x, y float64) float64 {
			return k * [...]float64{0, 0.6, 1, 0.2, -0.4}[int(y)/6%5] * (1 + x/60) / 2
		}
	default:
		sheet := surfacetest.Draw(t, size, []float64{11, 20, 33}, []float64{0.2, 0.6, 1.2})
		x, y, z = sheet.X, sheet.Y, sheet.Z
	}
	if z == nil {
		for _, b := range y {
			for _, a := range x {
				z = append(z, height(scale, a, map[bool]float64{true: 0, false: b}[kind == "round" && b == 30]))
			}
		}
	}
	var b strings.Builder
	b.WriteString(header + "# error_mm: 0\n# datum: 0,0\n")
	for _, v := range x {
		fmt.Fprintf(&b, ",%g", v)
	}
	b.WriteString("\n")
	for j, v := range y {
		fmt.Fprintf(&b, "%g", v)
		for i := range x {
			fmt.Fprintf(&b, ",%.4f", z[j*len(x)+i])
		}
		b.WriteString("\n")
	}
	s.write("surface.csv", b.String())
	from, err := file.Read(strings.NewReader(b.String()), "surface.csv")
	if err != nil {
		t.Fatal(err)
	}
	on, err := surface.Place(from, surface.Placement{})
	if err != nil {
		t.Fatal(err)
	}
	var boxes []surface.Box
	if kind != "round" {
		boxes = s.drawBoxes()
	}
	s.ground = newGround(on, boxes)
}

func (s *site) drawBoxes() (boxes []surface.Box) {
	t := s.t
	text := "x0,y0,x1,y1,height\n"
	for range pick(t, "boxes", 0, 1, 1, 2) {
		x, y := float64(rapid.IntRange(-15, int(size)).Draw(t, "x0")), float64(rapid.IntRange(-15, int(size)).Draw(t, "y0"))
		b := surface.Box{X0: x, Y0: y, X1: x + pick(t, "wide", 0.5, 4, 15), Y1: y + pick(t, "deep", 0.5, 4, 15), Height: pick(t, "tall", 2.0, 5, 15)}
		boxes = append(boxes, b)
		text += fmt.Sprintf("%g,%g,%g,%g,%g\n", b.X0, b.Y0, b.X1, b.Y1, b.Height)
	}
	if s.boxes = len(boxes) > 0; s.boxes {
		s.write("boxes.csv", text)
	}
	return boxes
}

// run runs a command line in the site's folder.
func (s *site) run(args ...string) int {
	var out, said bytes.Buffer
	status := cli.Main(args, strings.NewReader(""), io.MultiWriter(&out, &said), &said)
	s.said = "sagitta " + strings.Join(args, " ") + "\n" + said.String()
	if status > 4 || strings.Contains(s.said, "fault of the tool") {
		s.fail("status %d", status)
	}
	return status
}

// with are the options of the site's files.
func (s *site) with(args ...string) []string {
	if len(args) == 1 {
		args = append(args, "job.gcode")
	}
	args = append(args, "-s", "surface.csv", "-m", "bench.toml")
	if s.boxes {
		args = append(args, "--keep-out", "boxes.csv")
	}
	if s.freed > 0 {
		args = append(args, fmt.Sprint("--freed-height=", s.freed))
	}
	if s.defocus != 0 {
		args = append(args, fmt.Sprint("--defocus=", s.defocus))
	}
	return args
}

// fail ends the test with all that there is to see.
func (s *site) fail(format string, args ...any) {
	s.t.Helper()
	for _, name := range []string{"job.gcode", "surface.csv", "bench.toml", "boxes.csv", "lens0.toml", "lens1.toml"} {
		if b, err := os.ReadFile(filepath.Join(s.dir, name)); err == nil {
			s.t.Logf("%s\n%s", name, b)
		}
	}
	s.t.Fatalf(format+"\n%s", append(args, s.said)...)
}

func (s *site) read(name string) string {
	b, err := os.ReadFile(filepath.Join(s.dir, name))
	if err != nil {
		s.fail("%v", err)
	}
	return string(b)
}

// zones is what set.json lists.
type zones struct {
	SetZ  bool     `json:"set_z"`
	Zones []zoneOf `json:"zones"`
}

type zoneOf struct {
	Order      int        `json:"order"`
	Program    string     `json:"program"`
	Lens       string     `json:"lens"`
	Focus      float64    `json:"focus_mm"`
	FocusPoint [2]float64 `json:"focus_point_mm"`
	Stop       int        `json:"stop_line"`
	FocusStop  int        `json:"focus_stop_line"`
}

func (s *site) zones(dir string) (z zones) {
	if err := json.Unmarshal([]byte(s.read(filepath.Join(dir, "set.json"))), &z); err != nil {
		s.fail("%v", err)
	}
	return z
}
