package follow

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"sagitta/internal/corridor"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// jobCase is a job whose figures are held against the best possible ones.
type jobCase struct {
	name    string
	surface *surface.Placed
	text    string
	depth   float64
	links   bool // count the fewest links too
}

// bumpy is a surface of a bow with bumps of different widths.
func bumpy(r *rand.Rand) func(x, y float64) float64 {
	type bump struct{ x, y, w, h float64 }
	var bs []bump
	for i := 0; i < 14; i++ {
		bs = append(bs, bump{r.Float64() * 300, r.Float64() * 100, 12 + 40*r.Float64(), 2.4*r.Float64() - 1.2})
	}
	return func(x, y float64) float64 {
		h := 0.0
		for _, b := range bs {
			h += b.h * math.Exp(-((x-b.x)*(x-b.x)+(y-b.y)*(y-b.y))/(b.w*b.w))
		}
		return h
	}
}

// circular is a sheet bowed to a circle of radius r over 300 mm.
func circular(r float64) func(x, y float64) float64 {
	return func(x, y float64) float64 { return math.Sqrt(r*r-(x-150)*(x-150)) - math.Sqrt(r*r-150*150) }
}

// wander is one long burn of straight moves of about the given length.
func wander(r *rand.Rand, length float64, n int) string {
	var b strings.Builder
	b.WriteString("G21 G90\nM5\nG0 X150 Y50\nM4 S500\nG1 F3000\n")
	x, y, a := 150.0, 50.0, 0.0
	for i := 0; i < n; i++ {
		a += 1.2 * (r.Float64() - 0.5)
		nx, ny := x+length*math.Cos(a), y+length*math.Sin(a)
		if nx < 0 || nx > 300 || ny < 0 || ny > 100 {
			a += math.Pi / 2
			continue
		}
		x, y = nx, ny
		fmt.Fprintf(&b, "G1 X%.3f Y%.3f\n", x, y)
	}
	b.WriteString("M5\nG0 X0 Y0\nM2\n")
	return b.String()
}

func jobCases(t testing.TB) (cs []jobCase) {
	for seed := int64(1); seed <= 3; seed++ {
		r := rand.New(rand.NewSource(seed))
		bump := grid(t, 300, 100, 7.3, "", bumpy(r))
		bow := grid(t, 300, 100, 10, "bicubic", circular(2500))
		for _, d := range []float64{0.2, 0.5, 1, 1.5} {
			for _, l := range []float64{1, 9, 31} {
				text := wander(r, l, int(1500/l))
				links := l > 1 && d < 1
				cs = append(cs,
					jobCase{fmt.Sprintf("bumpy/%d/moves of %g/depth %g", seed, l, d), bump, text, d, links},
					jobCase{fmt.Sprintf("bow/%d/moves of %g/depth %g", seed, l, d), bow, text, d, links})
			}
			rows := serpentine(300, 60, 10, 3000)
			cs = append(cs, jobCase{fmt.Sprintf("bumpy/%d/rows/depth %g", seed, d), bump, rows, d, d < 1},
				jobCase{fmt.Sprintf("bow/%d/rows/depth %g", seed, d), bow, rows, d, true})
		}
	}
	return cs
}

// burnSpan samples the heights of the original from the first burn to the
// last, some dl mm apart.
func burnSpan(t testing.TB, c jobCase, dl float64) []sample {
	ms := moves(t, c.text, machine.DefaultConfig())
	first, last := -1, -1
	for i, m := range ms {
		if m.Burn {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	return walk(ms[first:last+1], c.surface, dl)
}

// leastPeak finds the least possible greatest |dc/dt| of any path in the tube
// of the given half width by bisection on the sets that can be reached: other
// mathematics than the string's.
func leastPeak(s []sample, half float64) float64 {
	feasible := func(v float64) bool {
		lo, hi, t := math.Inf(-1), math.Inf(1), s[0].t
		for _, g := range s {
			r := v * (g.t - t)
			t = g.t
			lo, hi = math.Max(lo-r, g.h-half), hi+r
			if g.burn {
				hi = math.Min(hi, g.h+half)
			}
			if lo > hi {
				return false
			}
		}
		return true
	}
	a, b := 0.0, 1e6
	for i := 0; i < 80; i++ {
		if m := (a + b) / 2; feasible(m) {
			b = m
		} else {
			a = m
		}
	}
	return b
}

// fewestLinks counts the straight pieces that any polyline through the tube
// needs, corners at samples: windows that one more link can reach, from every
// sample that the links so far have reached.
func fewestLinks(s []sample, half float64) int {
	const levels = 9
	win := func(i int) focus.Window {
		w := focus.Window{Lo: s[i].h - half, Hi: s[i].h + half}
		if !s[i].burn {
			w.Hi = math.Inf(1)
		}
		return w
	}
	n := len(s)
	from := map[int]focus.Window{0: win(0)}
	for links := 1; ; links++ {
		next := map[int]focus.Window{}
		for i, w := range from {
			for q := 0; q < levels; q++ {
				c := w.Lo + (math.Min(w.Hi, w.Lo+4*half)-w.Lo)*float64(q)/(levels-1)
				s1, s2 := math.Inf(-1), math.Inf(1)
				for k := i + 1; k < n; k++ {
					dt := s[k].t - s[i].t
					wk := win(k)
					if dt <= 0 {
						if c < wk.Lo || c > wk.Hi {
							break
						}
						continue
					}
					s1, s2 = math.Max(s1, (wk.Lo-c)/dt), math.Min(s2, (wk.Hi-c)/dt)
					if s1 > s2 {
						break
					}
					if k == n-1 {
						return links
					}
					r := focus.Window{Lo: c + s1*dt, Hi: c + s2*dt}
					if o, ok := next[k]; ok {
						r = focus.Window{Lo: math.Min(o.Lo, r.Lo), Hi: math.Max(o.Hi, r.Hi)}
					}
					next[k] = r
				}
			}
		}
		if len(next) == 0 {
			return math.MaxInt
		}
		from = next
	}
}

// writtenPeak is the greatest |dc/dt| of a written program from its first
// burn to its last, in mm/s, each move's rounding of both ends allowed for.
func writtenPeak(t testing.TB, text string) (peak float64) {
	ms := moves(t, text, machine.DefaultConfig())
	first, last := -1, -1
	for i, m := range ms {
		if m.Burn {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	for _, m := range ms[first : last+1] {
		if m.Length > 0 {
			peak = math.Max(peak, (math.Abs(m.To.Z-m.From.Z)-0.001)/m.Seconds)
		}
	}
	return peak
}

// figuresOf are a case's figures against the best possible.
type figuresOf struct {
	peak, leastPeak float64
	points, links   int
}

func measure(t testing.TB, c jobCase, links bool) (f figuresOf) {
	opt := testOptions(c.surface, c.depth, c.depth, 1)
	out, sum := mustRun(t, c.text, opt)
	f.peak, f.points = writtenPeak(t, out), sum.Points
	f.leastPeak = leastPeak(burnSpan(t, c, 0.5), corridor.Narrowing*c.depth)
	if links {
		f.links = fewestLinks(burnSpan(t, c, 8), c.depth)
	}
	return f
}

// TestFigures holds the greatest Z rate to 1.02 times the least possible in
// the tube narrowed by a tenth, and the points added to twice the fewest
// links of the whole tube.
func TestFigures(t *testing.T) {
	for _, c := range jobCases(t) {
		// Counting links takes the square of the path where links are long.
		f := measure(t, c, c.links)
		if f.peak > 1.02*f.leastPeak+1e-6 {
			t.Errorf("%s: peak %.4f mm/s, least %.4f", c.name, f.peak, f.leastPeak)
		}
		if c.links && f.points > 2*f.links {
			t.Errorf("%s: %d points, fewest links %d", c.name, f.points, f.links)
		}
		if testing.Verbose() {
			t.Logf("%s: peak %.4f/%.4f  points %d/%d", c.name, f.peak, f.leastPeak, f.points, f.links)
		}
	}
}

// Where the string is calm, few lines of a raster get a Z: no more than where each
// is planned as a block, of which fewer are looked ahead at, and so many together
// that the steepest stays as steep as it is.
func TestFewLinesAreChanged(t *testing.T) {
	p := wavySheet(t)
	for _, job := range timedJobs[:2] {
		text := string(jobText(t, job, 1<<19))
		for _, depth := range []float64{0.5, 1.5} {
			opt := testOptions(p, depth, depth, 0.5)
			out, sum := mustRun(t, text, opt)
			opt.blocks = true
			inBlocks, blocks := mustRun(t, text, opt)
			if steps := sum.ZTravel / opt.Decimal(false); float64(sum.Changed) > 1.02*float64(blocks.Changed) || float64(sum.Changed) > 0.75*steps {
				t.Errorf("%s, depth %g: %d lines changed for %.0f steps, planned in blocks %d", job.name, depth, sum.Changed, steps, blocks.Changed)
			}
			if peak, least := writtenPeak(t, out), writtenPeak(t, inBlocks); peak > 1.02*least {
				t.Errorf("%s, depth %g: peak %g mm/s, in blocks %g", job.name, depth, peak, least)
			}
		}
	}
}
