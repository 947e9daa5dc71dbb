package main

import (
	"bytes"
	"fmt"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strings"

	"sagitta/internal/cli"
)

// knownJob is a job over a surface that is known, of which grid.csv is what was measured.
type knownJob struct {
	truth func(x, y float64) float64
	dir   string
	depth float64
}

const knownWide, knownDeep = 300., 200.

// drawBurns writes a program of lines anywhere on the surface, but for a margin.
func (u *knownJob) drawBurns(r *rand.Rand, margin float64) {
	var b strings.Builder
	b.WriteString("G21 G90\nG0 X0 Y0\nM4 S0\n")
	within := func(v, most float64) float64 { return min(max(v, margin), most-margin) }
	for range 40 {
		x, y := within(knownWide*r.Float64(), knownWide), within(knownDeep*r.Float64(), knownDeep)
		fmt.Fprintf(&b, "G0 X%.3f Y%.3f\nG1 X%.3f Y%.3f F3000 S500\nS0\n", x, y, within(x+120*r.NormFloat64(), knownWide), within(y+80*r.NormFloat64(), knownDeep))
	}
	u.write("job.gcode", b.String()+"M5\nM2\n")
}

func (u *knownJob) write(name, text string) {
	if err := os.WriteFile(filepath.Join(u.dir, name), []byte(text), 0o644); err != nil {
		panic(err)
	}
}

// run runs a command in the job's folder, and reports whether it did what it was to.
func (u *knownJob) run(args ...string) bool {
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
func (u *knownJob) holds(flat bool, options ...string) bool {
	with := append([]string{"-s", "grid.csv", fmt.Sprint("--depth=", u.depth)}, options...)
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
func (u *knownJob) out(name string) float64 {
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
			if math.Abs(off) > u.depth {
				out += step
			}
		}
	}
	return out / all
}

// heldCount is what became of jobs alike.
type heldCount struct {
	jobs, hold, over1, over5 int
	worst, sum               float64
}

func (c *heldCount) String() string {
	return fmt.Sprintf("%3d of %d hold; over 1 %%: %2d, over 5 %%: %2d; worst %5.1f %%, mean %.2f %%", c.hold, c.jobs, c.over1, c.over5, 100*c.worst, 100*c.sum/float64(max(c.hold, 1)))
}

// count does a job, flat or followed, and counts what is out.
func (c *heldCount) count(u *knownJob, flat bool, options ...string) {
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

// add adds what became of others.
func (c *heldCount) add(d *heldCount) {
	c.jobs, c.hold, c.over1, c.over5 = c.jobs+d.jobs, c.hold+d.hold, c.over1+d.over1, c.over5+d.over5
	c.worst, c.sum = max(c.worst, d.worst), c.sum+d.sum
}
