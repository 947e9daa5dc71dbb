package job

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/follow"
	"sagitta/internal/machine/drawn"
	"sagitta/internal/zone"
)

// unsureSheet is a drawn grid with errors by row, and what a plain look at it says.
type unsureSheet struct{ x, y, z, e []float64 }

func drawUnsure(t *rapid.T) *unsureSheet {
	s := &unsureSheet{x: []float64{-5}, y: []float64{-5}}
	for _, a := range []*[]float64{&s.x, &s.y} {
		for v := (*a)[0]; v < 65; {
			v += rapid.SampledFrom([]float64{4, 10, 15, 25}).Draw(t, "step")
			*a = append(*a, v)
		}
	}
	rough := rapid.SampledFrom([]float64{0.3, 1, 2}).Draw(t, "rough")
	for range len(s.x) * len(s.y) {
		s.z = append(s.z, rough/20*float64(rapid.IntRange(-20, 20).Draw(t, "z")))
		s.e = append(s.e, rapid.SampledFrom([]float64{0.02, 0.02, 0.02, 0.05, 0.2, 0.3}).Draw(t, "e"))
	}
	return s
}

// text is the sheet as a file.
func (s *unsureSheet) text() string {
	var b strings.Builder
	b.WriteString(",")
	row := func(first float64, v []float64) {
		fmt.Fprintf(&b, "%g", first)
		for _, q := range v {
			fmt.Fprintf(&b, ",%g", q)
		}
		b.WriteByte('\n')
	}
	row(s.x[0], s.x[1:])
	for j, y := range s.y {
		row(y, s.z[j*len(s.x):(j+1)*len(s.x)])
		b.WriteString("# error_row: ")
		row(y, s.e[j*len(s.x):(j+1)*len(s.x)])
	}
	return b.String()
}

// at gives the height at a place and the greatest error of its cell, and reports whether
// the place is well within that.
func (s *unsureSheet) at(x, y float64) (h, e float64, inside bool) {
	cell := func(node []float64, v float64) (int, float64) {
		i := 0
		for i < len(node)-2 && node[i+1] <= v {
			i++
		}
		return i, (v - node[i]) / (node[i+1] - node[i])
	}
	i, u := cell(s.x, x)
	j, v := cell(s.y, y)
	k, n := j*len(s.x)+i, len(s.x)
	h = s.z[k]*(1-u)*(1-v) + s.z[k+1]*u*(1-v) + s.z[k+n]*(1-u)*v + s.z[k+n+1]*u*v
	e = math.Max(math.Max(s.e[k], s.e[k+1]), math.Max(s.e[k+n], s.e[k+n+1]))
	const near = 1e-4
	return h, e, math.Min(u, v) > near && math.Max(u, v) < 1-near
}

// burned calls see at places along the burns of a program of G0 to G3 in G90 and mm, with
// the Z there.
func burned(text string, see func(x, y, z float64)) {
	var x, y, z float64
	mode, lit := 0, false
	for line := range strings.Lines(text) {
		if i := strings.IndexAny(line, "(;"); i >= 0 {
			line = line[:i]
		}
		word := map[byte]float64{}
		for _, f := range strings.Fields(line) {
			v, err := strconv.ParseFloat(f[1:], 64)
			if err != nil {
				continue
			}
			word[f[0]] = v
			switch f {
			case "G0", "G1", "G2", "G3":
				mode = int(f[1] - '0')
			case "M3":
				lit = true
			case "M5":
				lit = false
			}
		}
		to := [3]float64{x, y, z}
		for k, axis := range []byte("XYZ") {
			if v, has := word[axis]; has {
				to[k] = v
			}
		}
		place := func(t float64) (float64, float64) { return x + (to[0]-x)*t, y + (to[1]-y)*t }
		if mode > 1 && (to[0] != x || to[1] != y) {
			cx, cy := x+word['I'], y+word['J']
			r, from := math.Hypot(x-cx, y-cy), math.Atan2(y-cy, x-cx)
			sweep := math.Atan2(to[1]-cy, to[0]-cx) - from
			switch {
			case mode == 3 && sweep <= 0:
				sweep += 2 * math.Pi
			case mode == 2 && sweep >= 0:
				sweep -= 2 * math.Pi
			}
			place = func(t float64) (float64, float64) {
				return cx + r*math.Cos(from+sweep*t), cy + r*math.Sin(from+sweep*t)
			}
		}
		if lit && mode > 0 && (to[0] != x || to[1] != y) {
			const samples = 200
			for k := range samples + 1 {
				t := float64(k) / samples
				px, py := place(t)
				see(px, py, z+(to[2]-z)*t)
			}
		}
		x, y, z = to[0], to[1], to[2]
	}
}

// drawPlainJob draws a program of lines, short ones along an axis and askew, and arcs.
func drawPlainJob(t *rapid.T) string {
	var b strings.Builder
	b.WriteString("G21 G90\nG0 X30 Y30\nM3 S500\nG1 F1500\n")
	number := func(label string) float64 { return math.Round(rapid.Float64Range(0, 60).Draw(t, label)*1e3) / 1e3 }
	for range rapid.IntRange(1, 12).Draw(t, "moves") {
		switch rapid.IntRange(0, 4).Draw(t, "move") {
		case 0:
			fmt.Fprintf(&b, "G1 X%g Y%g\n", number("x"), number("y"))
		case 1: // a row of short lines
			y := number("y")
			fmt.Fprintf(&b, "M5\nG0 X0 Y%g\nM3\n", y)
			for x := 0.5; x <= 60; x += 0.5 {
				fmt.Fprintf(&b, "G1 X%g\n", x)
			}
		case 2: // short lines askew
			x, y := number("x"), number("y")
			fmt.Fprintf(&b, "M5\nG0 X%g Y%g\nM3\n", x, y)
			for k := range 80 {
				a := float64(k) / 7
				fmt.Fprintf(&b, "G1 X%.3f Y%.3f\n", min(max(x+a*math.Cos(a), 0), 60), min(max(y+a*math.Sin(a), 0), 60))
			}
		case 3:
			fmt.Fprint(&b, "M5\nG0 X45 Y30\nM3\nG3 X15 Y30 I-15 J0\nG3 X45 Y30 I15 J0\nG1\n")
		case 4:
			fmt.Fprintf(&b, "M5\nG0 X%g Y%g\nM3\n", number("x"), number("y"))
		}
	}
	b.WriteString("G1 X10 Y10\nM5\nG0 X0 Y0\nM2\n")
	return b.String()
}

// At any place of a burn the defocus and twice the standard uncertainty that counts there
// are within the depth of the lens, as a reading of the written programs and of the sheet
// says that shares nothing with the rooms.
func TestDepthByPlace(t *testing.T) {
	const depth, setting, known = 1.5, 0.1, 0.15
	drawn.Fewer(t, 40)
	followed, divided, refused, tight := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		sheet, text := drawUnsure(t), drawPlainJob(t)
		method := rapid.SampledFrom([]string{"", "beam-off"}).Draw(t, "z moves")
		in := folder{"sheet.csv": sheet.text(), "lens.toml": fmt.Sprintf("depth_mm = [-%g, %g]\ndepth_error_mm = %g\n", depth, depth, known),
			"bench.toml": fmt.Sprintf("focus_setting_mm = %g\n", setting)}
		if method != "" {
			in["bench.toml"] += fmt.Sprintf("z_moves = %q\n", method)
		}
		o := Defaults()
		o.Surface, o.Lenses, o.Machine, o.Use = "sheet.csv", []string{"lens.toml"}, "bench.toml", rapid.SampledFrom([]float64{0.3, 1}).Draw(t, "use")
		j, err := New(in.open, &o, OneLens)
		if err != nil {
			t.Fatal(err)
		}
		hold := func(what, program string, focus float64) {
			burned(program, func(x, y, z float64) {
				h, e, inside := sheet.at(x, y)
				unsure := 2 * math.Sqrt(e*e+setting*setting+known*known)
				if off := math.Abs(focus + z - h); inside && off+unsure > depth+1e-6 {
					t.Fatalf("%s: %.4f mm off at X%.3f Y%.3f, where %.4f mm are not sure\n%s\n%s\n%s", what, off, x, y, unsure, text, sheet.text(), program)
				} else if inside && off+unsure > depth-0.02 {
					tight++
				}
			})
		}
		var out bytes.Buffer
		if _, err := follow.Run(strings.NewReader(text), &out, j.Follow("job.gcode")); err == nil {
			followed++
			hold("followed", out.String(), 0)
		} else {
			refused++
		}
		dir, err := os.MkdirTemp("", "set")
		if err != nil {
			t.Fatal(err)
		}
		defer os.RemoveAll(dir)
		p, err := zone.Survey(strings.NewReader(text), j.Zones("job.gcode"))
		if err == nil {
			err = p.Split(strings.NewReader(text), dir)
		}
		if err != nil {
			t.Fatalf("%v\n%s\n%s", err, text, sheet.text())
		}
		for i := range p.Zones {
			program, err := os.ReadFile(filepath.Join(dir, p.Zones[i].Program))
			if err != nil {
				t.Fatal(err)
			}
			hold(fmt.Sprintf("zone %d", i+1), string(program), p.Zones[i].Focus)
		}
		if len(p.Zones) > 1 {
			divided++
		}
	})
	t.Logf("%d followed, %d refused, %d divided, %d places all but out", followed, refused, divided, tight)
	if followed+refused >= 30 && (followed < 5 || divided < 2 || tight == 0) {
		t.Error("too few to show anything")
	}
}
