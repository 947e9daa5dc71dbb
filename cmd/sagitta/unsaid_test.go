package main

import (
	"bytes"
	"fmt"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/internal/cli"
	"sagitta/internal/surface/surfacetest"
)

// unsaid is a job over a surface that is known, of which a grid of few nodes is given that
// does not say how sure its heights are.
type unsaid struct {
	truth func(x, y float64) float64
	dir   string
}

const unsaidWide, unsaidDeep, unsaidDepth = 300., 200., 1.5

// drawUnsaid draws one in a folder, on a surface that rises so many times more than drawn.
func drawUnsaid(r *rand.Rand, dir, kind string, rises, noise float64) *unsaid {
	nx, ny := 4+r.Intn(4), 4+r.Intn(4)
	u := &unsaid{dir: dir}
	drawn := surfacetest.Height(r, kind, unsaidWide, unsaidDeep, 2*max(unsaidWide/float64(nx-1), unsaidDeep/float64(ny-1)))
	u.truth = func(x, y float64) float64 { return rises * drawn(x, y) }
	var b strings.Builder
	b.WriteString("y\\x")
	for i := range nx {
		fmt.Fprintf(&b, ",%.3f", unsaidWide*float64(i)/float64(nx-1))
	}
	for j := range ny {
		y := unsaidDeep * float64(j) / float64(ny-1)
		fmt.Fprintf(&b, "\n%.3f", y)
		for i := range nx {
			fmt.Fprintf(&b, ",%.3f", u.truth(unsaidWide*float64(i)/float64(nx-1), y)+noise*r.NormFloat64())
		}
	}
	u.write("grid.csv", b.String()+"\n")
	b.Reset()
	b.WriteString("G21 G90\nG0 X0 Y0\nM4 S0\n")
	for range 40 {
		x, y := unsaidWide*r.Float64(), unsaidDeep*r.Float64()
		fmt.Fprintf(&b, "G0 X%.3f Y%.3f\nG1 X%.3f Y%.3f F3000 S500\nS0\n", x, y, min(max(x+120*r.NormFloat64(), 0), unsaidWide), min(max(y+80*r.NormFloat64(), 0), unsaidDeep))
	}
	u.write("job.gcode", b.String()+"M5\nM2\n")
	return u
}

func (u *unsaid) write(name, text string) {
	if err := os.WriteFile(filepath.Join(u.dir, name), []byte(text), 0o644); err != nil {
		panic(err)
	}
}

// run runs a command in the job's folder, and reports whether it did what it was to.
func (u *unsaid) run(args ...string) bool {
	for k, a := range args {
		if strings.Contains(a, ".") && !strings.HasPrefix(a, "-") {
			args[k] = filepath.Join(u.dir, a)
		}
	}
	var said bytes.Buffer
	return cli.Main(args, strings.NewReader(""), &said, &said) == 0
}

// holds reports whether the program is followed, or where it is to be flat runs as it is,
// and is proved.
func (u *unsaid) holds(flat bool, options ...string) bool {
	with := append([]string{"-s", "grid.csv", fmt.Sprint("--depth=", unsaidDepth)}, options...)
	name := "job.gcode"
	if !flat {
		name = "followed.gcode"
		if !u.run(append([]string{"follow", "job.gcode", "-o", name}, with...)...) {
			return false
		}
	}
	return u.run(append([]string{"verify", name, "--against", "job.gcode"}, with...)...)
}

// out is which part of the burned length is out of focus on the surface as it is.
func (u *unsaid) out(name string) float64 {
	text, err := os.ReadFile(filepath.Join(u.dir, name))
	if err != nil {
		panic(err)
	}
	var out, all float64
	for _, l := range walk(string(text), at{kz: true}, dialect{axis: 'Z', on: []int{3, 4}, off: []int{5}}) {
		if !l.burn || len(l.way) < 2 {
			continue
		}
		a, b := l.way[0], l.way[1]
		n := 1 + int(math.Hypot(b.x-a.x, b.y-a.y))
		for k := range n {
			t := (float64(k) + 0.5) / float64(n)
			off := a.z + t*(b.z-a.z) - u.truth(a.x+t*(b.x-a.x), a.y+t*(b.y-a.y))
			step := math.Hypot(b.x-a.x, b.y-a.y) / float64(n)
			all += step
			if math.Abs(off) > unsaidDepth {
				out += step
			}
		}
	}
	return out / all
}

// unsaidCount is what became of jobs alike.
type unsaidCount struct {
	jobs, hold, over1, over5 int
	worst, sum               float64
}

func (c *unsaidCount) String() string {
	return fmt.Sprintf("%3d of %d hold; over 1 %%: %2d, over 5 %%: %2d; worst %5.1f %%, mean %.2f %%", c.hold, c.jobs, c.over1, c.over5, 100*c.worst, 100*c.sum/float64(max(c.hold, 1)))
}

// count does a job, flat or followed, and counts what is out.
func (c *unsaidCount) count(u *unsaid, flat bool, options ...string) {
	c.jobs++
	if !u.holds(flat, options...) {
		return
	}
	c.hold++
	part := u.out(map[bool]string{true: "job.gcode", false: "followed.gcode"}[flat])
	if part > 0.01 {
		c.over1++
	}
	if part > 0.05 {
		c.over5++
	}
	c.worst, c.sum = max(c.worst, part), c.sum+part
}

// unsaidRises are by how much surfaces rise more than drawn: little, as drawn, and much.
var unsaidRises = []float64{0.4, 1, 3}

// unsaidWays are runs of each such job, by what follows the surface.
var unsaidWays = []struct {
	name    string
	flat    bool
	options []string
}{
	{"flat", true, nil}, {"followed", false, nil}, {"followed, the whole depth used", false, []string{"--use", "1"}},
	{"followed by bicubic reading, the whole depth used", false, []string{"--use", "1", "--method", "bicubic"}},
	{"followed by a slow axis", false, []string{"--z-rate", "120"}},
}

// Of jobs over measured grids of 4 to 7 nodes across that do not say how sure their heights
// are, those that hold have less than a hundredth of the burned length out of focus on the
// surface as it is. Were the heights taken to be exact, some had much more.
func TestUnsaidErrorCovers(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	var assumed, exact unsaidCount
	for k := range 12 {
		u := drawUnsaid(r, t.TempDir(), surfacetest.Known[k%len(surfacetest.Known)], unsaidRises[k%len(unsaidRises)], 0.03*float64(k%2))
		for _, way := range unsaidWays[:3] {
			assumed.count(u, way.flat, way.options...)
		}
		exact.count(u, false, "--use", "1", "--surface-error", "0")
	}
	if assumed.over1 > 0 || assumed.hold < assumed.jobs/3 {
		t.Errorf("assumed: %v", &assumed)
	}
	if exact.over1 == 0 {
		t.Errorf("taken as exact: %v: these jobs tell nothing", &exact)
	}
}

// BenchmarkUnsaidError prints how many jobs hold, and which part of their burns is out of
// focus on the surface as it is, with heights taken as exact and with what is assumed of
// them.
func BenchmarkUnsaidError(b *testing.B) {
	for _, way := range unsaidWays {
		for _, error := range [][]string{{"--surface-error", "0"}, nil} {
			b.Run(way.name+map[bool]string{true: ", assumed", false: ", exact"}[error == nil], func(b *testing.B) {
				for b.Loop() {
					r, dir := rand.New(rand.NewSource(1)), b.TempDir()
					for _, kind := range surfacetest.Known {
						var c unsaidCount
						for k := range 30 {
							u := drawUnsaid(r, dir, kind, unsaidRises[k%len(unsaidRises)], 0.03*float64(k%2))
							c.count(u, way.flat, append(error, way.options...)...)
						}
						fmt.Fprintf(b.Output(), "%-6s %v\n", kind, &c)
					}
				}
			})
		}
	}
}
