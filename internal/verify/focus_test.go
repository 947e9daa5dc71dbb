package verify

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify/extremes"
)

// nodes gives the places from first to last, step apart.
func nodes(first, last, step float64) (v []float64) {
	for i := 0; first+float64(i)*step <= last+step/2; i++ {
		v = append(v, first+float64(i)*step)
	}
	return v
}

// options are what a plain bench asks.
func options(p *surface.Placed, near, far float64) Options {
	return Options{
		Bench: bench.Bench{Machine: machine.DefaultConfig(), ZPlusAway: true, Slow: bench.SlowScaled, Slowest: 0.5, DecimalsMM: 3, DecimalsInch: 5}, Surface: p, Depth: focus.Depth{Near: near, Far: far},
	}
}

// check runs a program, against an original unless that is empty.
func run(t testing.TB, checked, original string, opt Options) *Result {
	t.Helper()
	var r *Result
	var err error
	if original == "" {
		r, err = Run(strings.NewReader(checked), "checked.nc", nil, "", opt)
	} else {
		r, err = Run(strings.NewReader(checked), "checked.nc", strings.NewReader(original), "original.nc", opt)
	}
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// holds wants a program without failures.
func holds(t testing.TB, r *Result) {
	t.Helper()
	for _, f := range r.Failures {
		t.Errorf("unexpected: %s", f)
	}
	if r.FailureCount != len(r.Failures) {
		t.Errorf("%d failures, %d kept", r.FailureCount, len(r.Failures))
	}
}

// has gives the first failure of a kind.
func has(t testing.TB, r *Result, kind Kind) Violation {
	t.Helper()
	for _, f := range r.Failures {
		if f.Kind == kind {
			return f
		}
	}
	t.Errorf("no %q among %v", kind, r.Failures)
	return Violation{}
}

// An arc may leave stock on which no height is of interest, and a burn be out of focus
// only where it begins, straight above its end.
func TestWhatOnlyTheWayShows(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 100}, []float64{0, 100}, func(_, _ float64) float64 { return 0 })
	r := run(t, "M5\nG0 X70 Y50\nM3 S1\nG1 X80 F1000\nG2 X80 Y50 I15\nM5\n", "", options(flat, 1, 1))
	if f := has(t, r, OffSurface); math.Abs(f.Amount-10) > 0.1 {
		t.Errorf("off by %v mm, want 10", f.Amount)
	}
	r = run(t, "M5\nG0 X80 Y50 Z5\nM3 S1\nG1 Z0 F1000\nM5\n", "", options(flat, 1, 1))
	if f := has(t, r, TooFar); math.Abs(f.Amount-4) > 1e-6 {
		t.Errorf("too far by %v mm, want 4", f.Amount)
	}
}

func TestWorstInTheMiddleOfACell(t *testing.T) {
	saddle := surfacetest.Of(t, "bilinear", []float64{0, 10}, []float64{0, 10}, func(x, y float64) float64 {
		if x != y {
			return 1
		}
		return 0
	})
	// Along the diagonal h = 2u(1-u), 0.5 at the middle and 0 at the ends.
	const program = "G21 G90 G0 X0 Y0\nM3 S100 F600\nG1 X10 Y10\nM5\n"
	holds(t, run(t, program, "", options(saddle, 0.501, 1)))
	f := has(t, run(t, program, "", options(saddle, 0.499, 1)), TooNear)
	if math.Abs(f.Amount-0.001) > extremes.CertainMM || math.Abs(f.X-5) > 1e-6 || math.Abs(f.Y-5) > 1e-6 || f.Line != 3 {
		t.Errorf("%+v", f)
	}
	// The tolerance itself: ten times its amount is seen, a tenth is not.
	has(t, run(t, program, "", options(saddle, 0.5-10*extremes.CertainMM, 1)), TooNear)
	holds(t, run(t, program, "", options(saddle, 0.5-extremes.CertainMM/10, 1)))
}

// One micrometre too much is found wherever the worst point lies, and one
// less passes: on both sides, straight and round, on both kinds of surface.
func TestAMicrometreIsSeen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Cells wide enough for the samples to see each.
		p := surfacetest.Wild(t, rapid.SampledFrom([]string{"bilinear", "bicubic"}).Draw(t, "method"), false, 0.5)
		coordinate := func(name string) float64 {
			return math.Round(rapid.Float64Range(-60, 60).Draw(t, name)*1000) / 1000
		}
		x0, y0, x1, y1 := coordinate("x0"), coordinate("y0"), coordinate("x1"), coordinate("y1")
		motion := fmt.Sprintf("G1 X%.3f Y%.3f", x1, y1)
		if rapid.Bool().Draw(t, "arc") && (x0 != x1 || y0 != y1) {
			motion = fmt.Sprintf("G%d X%.3f Y%.3f R%.3f", rapid.IntRange(2, 3).Draw(t, "turn"),
				x1, y1, math.Hypot(x1-x0, y1-y0)*rapid.Float64Range(0.51, 3).Draw(t, "radius")+0.01)
		}
		z := math.Round(rapid.Float64Range(-2, 2).Draw(t, "z")*1000) / 1000
		program := fmt.Sprintf("G21 G90\nM5\nG0 Z50\nG0 X%.3f Y%.3f\nG0 Z%.3f\nM3 S100 F600\n%s\nM5\nG0 Z50\n", x0, y0, z, motion)

		nearest, furthest := sampled(t, program, p)
		opt := options(p, 100, 100)
		opt.OutsideHold = true
		const micrometre = 0.001
		at := func(near, far float64) *Result {
			opt.Depth = focus.Depth{Near: near, Far: far}
			r, err := Run(strings.NewReader(program), "", nil, "", opt)
			if err != nil {
				t.Fatal(err)
			}
			return r
		}
		count := func(r *Result, k Kind) (n int) {
			for _, f := range r.Failures {
				if f.Kind == k {
					n++
				}
			}
			return n
		}
		if -nearest > 2*micrometre {
			if r := at(-nearest-micrometre, 100); count(r, TooNear) != 1 {
				t.Fatalf("1 µm too near is not seen: %v", r.Failures)
			}
			if r := at(-nearest+micrometre, 100); count(r, TooNear) != 0 {
				t.Fatalf("1 µm to spare fails: %v", r.Failures)
			}
		}
		if furthest > 2*micrometre {
			if r := at(100, furthest-micrometre); count(r, TooFar) != 1 {
				t.Fatalf("1 µm too far is not seen: %v", r.Failures)
			}
			if r := at(100, furthest+micrometre); count(r, TooFar) != 0 {
				t.Fatalf("1 µm to spare fails: %v", r.Failures)
			}
		}
		worst := furthest
		if -nearest > furthest {
			worst = nearest
		}
		if r := at(100, 100); math.Abs(math.Abs(r.Defocus.MM)-math.Abs(worst)) > micrometre/2 { // the samples miss a little
			t.Fatalf("greatest defocus %v, sampled %v", r.Defocus.MM, worst)
		}
	})
}

// sampled gives the extremes of defocus over the burns of a program by dense
// samples, refined by ternary search.
func sampled(t *rapid.T, text string, p *surface.Placed) (nearest, furthest float64) {
	st := NewStream(strings.NewReader(text), "", machine.DefaultConfig(), false)
	nearest, furthest = math.Inf(1), math.Inf(-1)
	for {
		var s Step
		if err := st.Next(&s); err != nil {
			t.Fatal(err)
		}
		if s.Kind == AtEnd {
			return nearest, furthest
		}
		if s.Kind != Motion || !s.M.Burn {
			continue
		}
		defocus := func(u float64) float64 {
			at := s.M.XY(min(max(u, 0), 1))
			h, _ := p.At(at[0], at[1])
			return s.M.From.Z + (s.M.To.Z-s.M.From.Z)*u - h
		}
		const samples = 2000
		for _, sign := range []float64{1, -1} {
			// Each local maximum of the samples is refined: a narrow peak
			// may hide between two of them.
			best := math.Inf(-1)
			before, here := math.Inf(-1), sign*defocus(0)
			for i := range samples + 1 {
				after := math.Inf(-1)
				if i < samples {
					after = sign * defocus(float64(i+1)/samples)
				}
				if here >= before && here >= after {
					lo, hi := float64(i-1)/samples, float64(i+1)/samples
					for range 50 {
						a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
						if sign*defocus(a) > sign*defocus(b) {
							hi = b
						} else {
							lo = a
						}
					}
					best = max(best, here, sign*defocus(lo))
				}
				before, here = here, after
			}
			if sign > 0 {
				furthest = max(furthest, best)
			} else {
				nearest = min(nearest, -best)
			}
		}
	}
}

// The sagitta of a circular bow, s = R - sqrt(R² - c²/4): R 100 and c 50 give
// 3.175416345, R 500 and c 300 give 23.030399292 (plane geometry).
func TestBowSagitta(t *testing.T) {
	for _, c := range []struct{ radius, chord, sagitta float64 }{
		{100, 50, 3.175416345}, {500, 300, 23.030399292},
	} {
		half := c.chord / 2
		bow := surfacetest.Of(t, "bilinear", nodes(0, c.chord, 1), []float64{0, 10}, func(x, _ float64) float64 {
			return math.Sqrt(c.radius*c.radius-(x-half)*(x-half)) - math.Sqrt(c.radius*c.radius-half*half)
		})
		program := fmt.Sprintf("G21 G90 G0 X0 Y5\nM3 S100 F600\nG1 X%g\n", c.chord)
		const rounding = 1e-9 // of the values as they are given
		r := run(t, program, "", options(bow, c.sagitta+0.001, 1))
		holds(t, r)
		if d := r.Highest.MM - r.Lowest.MM; math.Abs(d-c.sagitta) > rounding {
			t.Errorf("height %.10f, want %.9f", d, c.sagitta)
		}
		if math.Abs(r.Defocus.MM+c.sagitta) > rounding || math.Abs(r.Defocus.X-half) > 1e-6 || r.Defocus.Line != 3 {
			t.Errorf("greatest defocus %+v, want -%.9f at X%g", r.Defocus, c.sagitta, half)
		}
		f := has(t, run(t, program, "", options(bow, c.sagitta-0.001, 1)), TooNear)
		if math.Abs(f.Amount-0.001) > extremes.CertainMM {
			t.Errorf("amount %v, want 0.001", f.Amount)
		}
	}
}

func TestOutsideAndHoles(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 10, 20, 30}, []float64{0, 10}, func(x, y float64) float64 {
		if x == 20 && y == 10 {
			return math.NaN()
		}
		return 0
	})
	cases := []struct {
		name, program string
		kind          Kind
		amount        float64
	}{
		{"line off the surface", "G0 X0 Y5\nM3 S1 F100\nG1 X-3\nM5\nG0 X0", OffSurface, 3},
		{"line off and back", "G0 X0 Y5\nM3 S1 F100\nG2 X0 Y8 I0 J1.5\nM5", OffSurface, 1.5},
		{"arc off the surface", "G0 X0 Y3\nM3 S1 F100\nG2 Y7 J2\nM5", OffSurface, 2},
		{"line over a hole", "G0 X5 Y5\nM3 S1 F100\nG1 X35\nM5", OverHole, 20},
		{"arc over a hole", "G0 X9 Y5\nM3 S1 F100\nG3 X11 I1\nM5", OverHole, math.Pi / 2},
		{"dwell off the surface", "M5\nG0 X-1 Y-1\nM3 S1\nG4 P1\nM5", OffSurface, math.Sqrt2},
		{"mark over a hole", "M5\nG0 X25 Y5\nM3 S1 F100\nG1 Z0\nM5", OverHole, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			opt := options(flat, 1, 1)
			f := has(t, run(t, c.program, "", opt), c.kind)
			if math.Abs(f.Amount-c.amount) > 1e-6 {
				t.Errorf("amount %v, want %v", f.Amount, c.amount)
			}
			opt.OutsideHold = true
			r := run(t, c.program, "", opt)
			if c.kind == OverHole { // no edge to hold there
				has(t, r, OverHole)
				return
			}
			holds(t, r)
			if r.EdgeBurns != 1 {
				t.Errorf("%d burns held, want 1", r.EdgeBurns)
			}
		})
	}
	// Along the edge and along the border of the hole is on the surface.
	holds(t, run(t, "G0 X0 Y0\nM3 S1 F100\nG1 X10\nG1 Y10\nG1 X0\nM5", "", options(flat, 1, 1)))
	// A travel holds the edge.
	holds(t, run(t, "M5\nG0 X-50 Y-50\nG0 X0 Y0\nM3 S1 F100\nG1 X10\nM5\nG0 X25 Y25", "", options(flat, 1, 1)))
}

func TestTravelsMustBeClear(t *testing.T) {
	ridge := surfacetest.Of(t, "bilinear", nodes(0, 30, 10), []float64{0, 10}, func(x, _ float64) float64 {
		if x == 10 {
			return 3
		}
		return 0
	})
	const program = "G0 X0 Y5\nM3 S1 F100\nG1 X1\nM5\n%sG0 X20\nM3\nG1 X21\nM5\n"
	opt := options(ridge, 1, 1)
	f := has(t, run(t, fmt.Sprintf(program, ""), "", opt), NotClear)
	if math.Abs(f.Amount-2) > extremes.CertainMM || math.Abs(f.X-10) > 1e-6 || f.Line != 5 {
		t.Errorf("%+v", f)
	}
	high := strings.Replace(fmt.Sprintf(program, "G0 Z2\n"), "G0 X20\nM3", "G0 X20\nG0 Z0\nM3", 1)
	holds(t, run(t, high, "", opt))
	has(t, run(t, strings.Replace(high, "Z2", "Z1.998", 1), "", opt), NotClear)
	// Over holes the highest neighbour counts.
	holey := surfacetest.Of(t, "bilinear", nodes(0, 40, 10), []float64{0, 10}, func(x, y float64) float64 {
		switch {
		case x == 10 && y == 0:
			return 5
		case x == 20:
			return math.NaN()
		}
		return 0
	})
	f = has(t, run(t, "M5\nG0 X35 Y9\nG0 X15\nM3 S1 F1\nG4 P1", "", options(holey, 1, 1)), NotClear)
	if math.Abs(f.Amount-4) > extremes.CertainMM {
		t.Errorf("%+v", f)
	}
}

func TestSignsAndDefocus(t *testing.T) {
	step := surfacetest.Of(t, "bilinear", []float64{0, 10}, []float64{0, 10}, func(_, _ float64) float64 { return 1 })
	program := func(z string) string { return "M5\nG0 Z" + z + "\nG0 X0 Y0\nM3 S1 F100\nG1 X10\nM5\n" }
	opt := options(step, 0.1, 0.2)
	holds(t, run(t, program("1"), "", opt))
	holds(t, run(t, program("1.2"), "", opt))
	holds(t, run(t, program("0.9"), "", opt))
	has(t, run(t, program("1.201"), "", opt), TooFar)
	has(t, run(t, program("0.899"), "", opt), TooNear)
	opt.DefocusMM = 0.5
	holds(t, run(t, program("1.5"), "", opt))
	has(t, run(t, program("1.399"), "", opt), TooNear)
	if r := run(t, program("1.65"), "", opt); math.Abs(r.Defocus.MM-0.15) > extremes.CertainMM {
		t.Errorf("greatest defocus %v, want 0.15", r.Defocus.MM)
	}
	opt.ZPlusAway = false
	holds(t, run(t, program("-1.5"), "", opt))
	has(t, run(t, program("1.5"), "", opt), TooNear)
}

func TestNothingBurns(t *testing.T) {
	flat := surfacetest.Of(t, "bilinear", []float64{0, 10}, []float64{0, 10}, func(_, _ float64) float64 { return 0 })
	has(t, run(t, "M5\nG0 X1 Y1\n", "", options(flat, 1, 1)), NoBurn)
}
