package follow

import (
	"fmt"
	"io"
	"math"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/motion"
	"sagitta/internal/program"
	"sagitta/internal/surface"
	"sagitta/internal/timing"
	"sagitta/internal/verify"
)

// heavy is a bench with inertia, by the rule for corners that it has.
func heavy(steps bool) *motion.Limits {
	l := motion.Limits{Accel: motion.Vector{500, 500, 50}, CornerMM: 0.01}
	if steps {
		l.Step = motion.Vector{10, 10, 0.4}
	}
	return &l
}

// waves are the surfaces that corners are rounded over. least is the least greatest defocus
// with which Z, at most at 50 mm/s², can follow the rows of a raster at 12000 and at 6000
// mm/min, found by linear programmes over whole rows.
var waves = []struct {
	name  string
	least [2]float64
	h     func(x, y float64) float64
}{
	{"bow", [2]float64{}, func(x, y float64) float64 { d := 2*x/300 - 1; return 2 * (1 - d*d) }},
	{"bumps", [2]float64{0.43, 0.05}, func(x, y float64) float64 {
		return 0.8*math.Sin(x/20)*math.Cos(y/25) + 0.3*math.Sin(x/7+y/11)
	}},
	{"waves", [2]float64{0.72, 0.03}, func(x, y float64) float64 {
		return math.Sin(2*math.Pi*x/80) * math.Cos(2*math.Pi*y/90)
	}},
}

// wave is one of them on a sheet of 300 by 100 mm.
func wave(t testing.TB, k int) *surface.Placed { return grid(t, 300, 100, 2.5, "bicubic", waves[k].h) }

// header and end are what the programs begin and end with.
const header, end = "G21 G90\nM5\nG0 X150 Y50\n", "M5\nM2\n"

// rows is a raster of pixels of 0.1 mm, run into and out of.
func rows(feed float64, n int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%sM4 S0\nG1 F%g\n", header, feed)
	for row := range n {
		y := 100 * (float64(row) + 0.5) / float64(n)
		from, to := 0, 3000
		d := 1
		if row%2 == 1 {
			from, to, d = to, from, -1
		}
		fmt.Fprintf(&b, "X%d Y%.3f S0\nX%d\n", from/10-45*d, y, from/10)
		for x := from + d; x*d <= to*d; x += d {
			fmt.Fprintf(&b, "X%.1f S%d\n", float64(x)/10, 100+power(x)/2)
		}
		fmt.Fprintf(&b, "X%d S0\n", to/10+45*d)
	}
	return b.String() + end
}

// outlines are polygons and closed curves in short moves.
func outlines(feed float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%sM4 S0\nG1 F%g\n", header, feed)
	for i := range 6 {
		for j := range 2 {
			x, y, r := 25+50*float64(i), 25+50*float64(j), 10+2*float64(i)
			n := 3 + i + j
			chord := (i+j)%2 == 0
			if chord {
				n = int(2 * math.Pi * r / 0.5)
			}
			for k := 0; k <= n; k++ {
				a := 2 * math.Pi * float64(k) / float64(n)
				rr := r
				if chord {
					rr *= 1 + 0.2*math.Sin(3*a)
				}
				px, py := x+rr*math.Cos(a), y+rr*math.Sin(a)
				if k == 0 {
					fmt.Fprintf(&b, "G0 X%.3f Y%.3f\nG1 S500\n", px, py)
				} else {
					fmt.Fprintf(&b, "X%.3f Y%.3f\n", px, py)
				}
			}
			b.WriteString("S0\n")
		}
	}
	return b.String() + end
}

// frames are rectangles with long sides.
func frames(feed float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%sM4 S0\nG1 F%g\n", header, feed)
	for k := range 5 {
		d := 5 + 9*float64(k)
		fmt.Fprintf(&b, "G0 X%g Y%g\nG1 X%g S500\nY%g\nX%g\nY%g\nS0\n", d, d, 300-d, 100-d, d, d)
	}
	return b.String() + end
}

// unevenness is by how much the greatest and the least speed of the spot differ along the
// burns of a row, as a part of the greatest, in the worst row.
func unevenness(t testing.TB, text string, l *motion.Limits) (worst float64) {
	t.Helper()
	type burn struct {
		on   bool
		y    float64
		over float64
	}
	var burns []burn
	at, least, most := 0, math.Inf(1), 0.0
	row := math.NaN()
	p := motion.New(*l, func(m *motion.Planned) {
		b := burns[at]
		at++
		if !b.on || m.Length == 0 {
			return
		}
		if b.y != row {
			row, least, most = b.y, math.Inf(1), 0
		}
		least, most = min(least, min(m.In, m.Out)*b.over), max(most, m.Peak*b.over)
		worst = max(worst, 1-least/most)
	})
	r, ip := program.NewReader(strings.NewReader(text), "test"), machine.New(machine.DefaultConfig())
	for {
		b, err := r.Next()
		if err != nil {
			break
		}
		var m machine.Move
		if err := ip.Step(b, &m); err != nil {
			t.Fatal(err)
		}
		if m.Kind != machine.Line || m.Seconds == 0 {
			continue
		}
		by := motion.Vector{m.To.X - m.From.X, m.To.Y - m.From.Y, m.To.Z - m.From.Z}
		path := math.Hypot(m.Length, by[2])
		burns = append(burns, burn{m.Burn && m.From.Y == m.To.Y, m.To.Y, m.Length / path})
		p.Add(motion.Move{By: by, Speed: path / m.Seconds})
	}
	p.End()
	return worst
}

// BenchmarkInertia prints how well programs are followed on benches with inertia: the time
// that feeds alone give against the one it takes, in percent more; the stated time against
// that of the check's own clock, in percent more; the greatest defocus in
// mm, and over the least possible; the parts of the burned length that go more than a tenth
// slower than in the original; by how much the speed along the rows differs; how many times
// more processor time it takes to follow than without inertia; and how many times longer the text gets.
func BenchmarkInertia(b *testing.B) {
	type job struct {
		name   string
		text   string
		raster int // of the least, -1 none
		times  int // that it is done to tell what processor time it takes
	}
	jobs := []job{
		{"raster12000", rows(12000, 12), 0, 1}, {"raster6000", rows(6000, 12), 1, 1},
		{"outlines3000", outlines(3000), -1, 10}, {"outlines9000", outlines(9000), -1, 10}, {"frames6000", frames(6000), -1, 10},
	}
	for _, steps := range []bool{false, true} {
		for k := range waves {
			on := wave(b, k)
			for _, j := range jobs {
				for _, depth := range []float64{1.5, 0.9, 0.5} {
					rule := map[bool]string{false: "corner", true: "steps"}[steps]
					b.Run(fmt.Sprintf("%s/%s/%s/%g", rule, waves[k].name, j.name, depth), func(b *testing.B) {
						opt := testOptions(on, depth-0.0005, depth-0.0005, 0.5)
						plain := opt
						opt.Inertia, opt.DecimalsMaxMM = heavy(steps), 5
						out, sum := mustRun(b, j.text, opt)
						for b.Loop() {
						}
						made, was, err := timing.Beside(strings.NewReader(out), strings.NewReader(j.text), "made", "original", timing.Bench{Machine: machine.DefaultConfig(), Limits: *opt.Inertia})
						if err != nil {
							b.Fatal(err)
						}
						defocus := max(sum.Near, sum.Far)
						b.ReportMetric(0, "ns/op")
						b.ReportMetric(100*(made.Seconds/was.Seconds-1), "%longer")
						b.ReportMetric(100*(made.Seconds/sum.SecondsOut-1), "%over-feeds")
						b.ReportMetric(100*(made.Seconds/secondClock(b, out, on, opt.Inertia)-1), "%off-clock")
						b.ReportMetric(defocus, "mm-defocus")
						if j.raster >= 0 {
							b.ReportMetric(defocus/max(waves[k].least[j.raster], depth/2), "of-least")
						}
						b.ReportMetric(100*made.SlowPart(), "%slow")
						b.ReportMetric(made.ZStep, "mm/s-step")
						if j.raster >= 0 {
							b.ReportMetric(100*unevenness(b, out, opt.Inertia), "%uneven")
						}
						b.ReportMetric(timesLonger(b, often(j.text, j.times), opt, plain), "x-cpu")
						b.ReportMetric(timesLonger(b, j.text, opt, plain), "x-cpu-once")
						b.ReportMetric(float64(len(out))/float64(len(j.text)), "x-text")
					})
				}
			}
		}
	}
}

// secondClock is what the check says a program takes, in s.
func secondClock(b testing.TB, text string, on *surface.Placed, l *motion.Limits) float64 {
	opt := verify.Options{Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5, Slowest: 0.5, Inertia: l},
		Surface: on, Depth: focus.Depth{Near: 1e6, Far: 1e6}, OutsideHold: true}
	res, err := verify.Run(strings.NewReader(text), "made", nil, "", opt)
	if err != nil {
		b.Fatal(err)
	}
	return res.Seconds
}

// cpuTime is how much processor time two ways of following are compared over, in s.
const cpuTime = 0.5

// timesLonger is how many times more processor time it takes to follow with some options than
// with others, that of the garbage collector included: by turns, as others may run beside.
func timesLonger(b testing.TB, text string, opt, than Options) float64 {
	used := func() float64 {
		var u syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
			b.Fatal(err)
		}
		return time.Duration(u.Utime.Nano() + u.Stime.Nano()).Seconds()
	}
	runtime.GC()
	var took [2]float64
	for from := used(); took[0]+took[1] < cpuTime; {
		for k, o := range [2]Options{opt, than} {
			if _, err := Run(strings.NewReader(text), io.Discard, o); err != nil {
				b.Fatal(err)
			}
			to := used()
			took[k] += to - from
			from = to
		}
	}
	return took[0] / took[1]
}

// often is a program with all that it burns burned so many times.
func often(text string, times int) string {
	burns := strings.TrimSuffix(strings.TrimPrefix(text, header), end)
	return header + strings.Repeat(burns, times) + end
}
