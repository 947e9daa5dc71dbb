package follow

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// testOptions are settings without a limit on Z.
func testOptions(p *surface.Placed, near, far, use float64) Options {
	return Options{Options: rewrite.Options{Name: "test", Bench: bench.Bench{Machine: machine.DefaultConfig(), Slow: bench.SlowScaled, Slowest: 0.5, ZPlusAway: true, DecimalsMM: 3, DecimalsInch: 5}, Comments: true, Marker: "sagitta test follow --use"},
		Surface: p, Depth: focus.Depth{Near: near, Far: far}, Use: use}
}

// grid makes a surface of f with nodes every step over w × h.
func grid(t testing.TB, w, h, step float64, method string, f func(x, y float64) float64) *surface.Placed {
	t.Helper()
	nodes := func(l float64) (v []float64) {
		n := int(math.Round(l / step))
		for i := 0; i <= n; i++ {
			v = append(v, l*float64(i)/float64(n))
		}
		return v
	}
	return surfacetest.Of(t, method, nodes(w), nodes(h), f)
}

// run follows and returns the text written.
func run(t testing.TB, text string, opt Options) (string, *Summary, error) {
	t.Helper()
	var out bytes.Buffer
	sum, err := Run(strings.NewReader(text), &out, opt)
	return out.String(), sum, err
}

// mustRun is run where nothing may go wrong.
func mustRun(t testing.TB, text string, opt Options) (string, *Summary) {
	t.Helper()
	out, sum, err := run(t, text, opt)
	if err != nil {
		var u *UnmetError
		if errors.As(err, &u) {
			for _, f := range u.Failures {
				t.Log(f.Line, f)
			}
		}
		t.Fatalf("%v", err)
	}
	return out, sum
}

// moves reads a program back.
func moves(t interface {
	Helper()
	Fatalf(format string, args ...any)
}, text string, cfg machine.Config) (ms []machine.Move) {
	t.Helper()
	in := machine.New(cfg)
	r := program.NewReader(strings.NewReader(text), "written")
	for {
		b, err := r.Next()
		if err == io.EOF {
			return ms
		}
		var m machine.Move
		if err == nil {
			err = in.Step(b, &m)
		}
		if err != nil {
			t.Fatalf("reading back: %v\n%s", err, diag.As(err).Caret())
		}
		if m.Kind != machine.Still {
			ms = append(ms, m)
		}
	}
}

// step is a stretch of the correction along burns and travels, as sampled.
type sample struct {
	t, c, h float64
	burn    bool
	s       float64
}

// walk samples the corrections of a written program whose original has Z 0
// throughout, n points a move at least and no further apart than dl mm.
func walk(ms []machine.Move, p *surface.Placed, dl float64) (out []sample) {
	t := 0.0
	for i := range ms {
		m := &ms[i]
		n := max(2, int(m.Length/dl))
		if m.Length == 0 {
			n = 1
		}
		for k := 0; k <= n; k++ {
			s := float64(k) / float64(n)
			at := m.XY(s)
			h, _ := p.At(at[0], at[1])
			out = append(out, sample{t + m.Seconds*s, m.From.Z + (m.To.Z-m.From.Z)*s, h, m.Burn, s})
		}
		t += m.Seconds
	}
	return out
}

// inFocus is the invariant of every followed program: each burn within the
// depth, each travel clear (after the way to height).
func inFocus(t testing.TB, text string, opt Options) {
	t.Helper()
	const tol = 1e-9
	half := math.Max(math.Pow10(-opt.DecimalsMM), opt.ZResolution) / 2
	sigma := opt.Sigma()
	for i, s := range walk(moves(t, text, opt.Machine), opt.Surface, 0.3) {
		c := sigma * s.c
		lo := s.h + opt.Defocus - opt.Depth.Near - half
		hi := s.h + opt.Defocus + opt.Depth.Far + half
		if s.burn && (c < lo-tol || c > hi+tol) {
			t.Fatalf("sample %d: burn at c %.5f, window [%.5f, %.5f]\n%s", i, c, lo, hi, text)
		}
	}
}

func serpentine(w, h, pitch float64, feed int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "G21 G90\nM5\nG0 X0 Y0\nM4 S500\nG1 F%d\n", feed)
	for k := 0; float64(k)*pitch <= h; k++ {
		y := float64(k) * pitch
		if k > 0 {
			fmt.Fprintf(&b, "G0 Y%.3f\n", y)
		}
		if k%2 == 0 {
			fmt.Fprintf(&b, "G1 X%.3f\n", w)
		} else {
			fmt.Fprintf(&b, "G1 X0\n")
		}
	}
	b.WriteString("M5\nG0 X0 Y0\nM2\n")
	return b.String()
}

func TestFlatIsUntouched(t *testing.T) {
	p := grid(t, 100, 100, 10, "", func(x, y float64) float64 { return 0.3 })
	for _, text := range []string{
		serpentine(100, 50, 5, 3000),
		"g21\r\n (no z) g90\r\nG0X1Y1\r\nm3s10\r\nG1X90.000 F100;cut\r\n\r\n%\r\nm5\r\nM30",
		"G91\nG1 X10 F100\nX10 Y1\nG0 Z5\nX3\nZ-5\nG2 X10 I5\nM5\n",
	} {
		out, sum := mustRun(t, text, testOptions(p, 1, 1, 0.5))
		if out != text {
			t.Errorf("changed:\n%q\n%q", text, out)
		}
		if sum.Changed+sum.Added != 0 {
			t.Errorf("%d changed, %d added", sum.Changed, sum.Added)
		}
	}
}

func TestBow(t *testing.T) {
	p := grid(t, 300, 200, 10, "", func(x, y float64) float64 { return 3 - 3*math.Pow((x-150)/150, 2) })
	opt := testOptions(p, 1, 1, 0.5)
	text := serpentine(300, 200, 7, 3000)
	out, sum := mustRun(t, text, opt)
	inFocus(t, out, opt)
	t.Logf("%+v", *sum)
	opt.Window = 64
	out, sum = mustRun(t, text, opt)
	inFocus(t, out, opt)
	t.Logf("%+v", *sum)
	opt.ZRate = 1
	out, sum = mustRun(t, text, opt)
	inFocus(t, out, opt)
	t.Logf("%+v", *sum)
}

// drawnAway are single lines too long to be gathered.
func drawnAway(n int) string {
	var b strings.Builder
	for k := range n {
		fmt.Fprintf(&b, "G1 X%d Y%d\n", 10+k*37%80, 10+k*53%80)
	}
	return b.String()
}

// Many blocks without motion must not leave the window long: it is what bounds
// the memory.
func TestWindowIsUsualAgain(t *testing.T) {
	p := grid(t, 100, 100, 6.1, "", func(x, y float64) float64 { return 0.3 * math.Sin(x/10) * math.Cos(y/9) })
	opt := testOptions(p, 1.5, 1.5, 0.5)
	text := "G21 G90 G0 X1 Y1\nM3 S9\nG1 F900 X2 Y1\n" + strings.Repeat("(c)\n", 20000) + drawnAway(20000) + "M5\nG0 X0 Y0\n"
	f := newRunner(io.Discard, &opt)
	f.source = stream.New(strings.NewReader(text), f.reading())
	if err := f.source.Each(f.take); err != nil {
		t.Fatal(err)
	}
	if f.most != defaultWindow || len(f.horizon.blocks) > 2*defaultWindow {
		t.Errorf("window of %d gates, %d blocks wait", f.most, len(f.horizon.blocks))
	}
}

// A batch is given back once its last item is written: from then on the source
// has it. Only the race detector sees this.
func TestBatchesAreLetGo(t *testing.T) {
	p := grid(t, 100, 100, 6.1, "", func(x, y float64) float64 { return 0.3 * math.Sin(x/10) * math.Cos(y/9) })
	opt := testOptions(p, 1.5, 1.5, 0.5)
	opt.Window = 64
	if _, _, err := run(t, "G21 G90 G0 X1 Y1\nM3 S9\nG1 F900 X2 Y1\n"+drawnAway(60000)+"M5\nG0 X0 Y0\n", opt); err != nil {
		t.Fatal(err)
	}
}
