package job

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"sagitta/internal/verify"
)

// bowed is a bowed sheet of 300 x 200 mm, probed every 10 mm, as a file.
func bowed() string {
	var b strings.Builder
	b.WriteString("# error_mm: 0.01\n")
	for x := 0; x <= 300; x += 10 {
		fmt.Fprintf(&b, ",%d", x)
	}
	for y := 0; y <= 200; y += 10 {
		fmt.Fprintf(&b, "\n%d", y)
		for x := 0; x <= 300; x += 10 {
			fmt.Fprintf(&b, ",%.5f", bow(float64(x), float64(y)))
		}
	}
	return b.String() + "\n"
}

func bow(x, y float64) float64 { return 1.2*(1-math.Pow((x-150)/150, 2)) + 0.3*math.Sin(y/40) }

// written is a program of n lines that is written as it is read.
type written struct {
	n, i   int
	follow bool
	line   func(w *written, b []byte) []byte
	x, y   float64
	step   float64
	buf    []byte
}

func (w *written) z(b []byte) []byte {
	if w.follow {
		return fmt.Appendf(b, " Z%.3f", bow(w.x, w.y))
	}
	return b
}

func (w *written) Read(to []byte) (int, error) {
	if len(w.buf) == 0 {
		if w.i > w.n {
			return 0, io.EOF
		}
		w.buf = w.buf[:0]
		if w.i == 0 {
			w.x, w.y, w.step = 1, 1, 0.1
			w.buf = append(w.z(append(w.buf, "G21 G90\nM5\nG0 X1 Y1\nG0"...)), "\nM4 S100 F3000\n"...)
			if !w.follow {
				w.buf = append(w.buf[:0], "G21 G90\nM5\nG0 X1 Y1\nG0 Z0\nM4 S100 F3000\n"...)
			}
		}
		for w.i++; w.i <= w.n && len(w.buf) < 32<<10; w.i++ {
			w.buf = w.line(w, w.buf)
		}
		if w.i > w.n {
			w.buf = append(w.buf, "M5\nM2\n"...)
		} else {
			w.i--
		}
	}
	n := copy(to, w.buf)
	w.buf = w.buf[n:]
	return n, nil
}

// dots is a raster of lines of 0.1 mm, ten to the mm and less.
func dots(w *written, b []byte) []byte {
	if w.x+w.step > 299 || w.x+w.step < 1 {
		w.step = -w.step
		if w.y += 0.1; w.y > 199 {
			w.y = 1
		}
	}
	w.x += w.step
	b = fmt.Appendf(b, "G1 X%.3f Y%.3f", w.x, w.y)
	return fmt.Appendf(w.z(b), " S%d\n", 100+w.i%900)
}

// mixed is of lines, arcs and travels of some mm.
func mixed(w *written, b []byte) []byte {
	a := float64(w.i) * 0.7
	w.x = 150 + float64(w.i%1000)/8 + 3*math.Sin(a)
	w.y = 100 + 80*math.Sin(float64(w.i)/3000) + 3*math.Cos(a*1.3)
	switch w.i % 4 {
	case 0:
		return append(w.z(fmt.Appendf(b, "G0 X%.3f Y%.3f", w.x, w.y)), '\n')
	case 2:
		return append(w.z(fmt.Appendf(b, "G2 X%.3f Y%.3f R%.3f", w.x, w.y, 65.0+float64(w.i%7))), '\n')
	}
	return append(w.z(fmt.Appendf(b, "G1 X%.3f Y%.3f", w.x, w.y)), '\n')
}

// inertBench is a bench whose accelerations are known.
const inertBench = "z_rate_mm_min = 600\naccel_mm_s2 = 500\nz_accel_mm_s2 = 50\nz_speed_step_mm_s = 0.4\n"

func tracedJob(t testing.TB, method string, inert bool) *Job {
	o := Defaults()
	if inert {
		o.Machine = "bench.toml"
	}
	o.Surface, o.Depth, o.Method = "bow.csv", "1", method
	o.Note = func(string) {}
	o.Given = func(name string) bool { return name == "method" }
	j, err := New(folder{"bow.csv": bowed(), "bench.toml": inertBench}.open, &o, OneLens)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// How much more a proof takes that keeps a trace: both in one run, step for step.
func BenchmarkTraced(b *testing.B) {
	for _, method := range []string{"bilinear", "bicubic", "bilinear with inertia"} {
		surface, inert := strings.CutSuffix(method, " with inertia")
		j := tracedJob(b, surface, inert)
		for name, line := range map[string]func(*written, []byte) []byte{"dots": dots, "mixed": mixed} {
			for _, n := range []int{1000_000} {
				read := func(follow bool) []byte {
					text, err := io.ReadAll(&written{n: n, line: line, follow: follow})
					if err != nil {
						b.Fatal(err)
					}
					return text
				}
				checked, original := read(true), read(false)
				b.Run(fmt.Sprintf("%s/%s/%d", method, name, n), func(b *testing.B) {
					var bare, traced time.Duration
					for b.Loop() {
						for _, watch := range []bool{false, true} {
							opt := j.Verify()
							if watch {
								j.Traced(&opt, "dots", bytes.NewReader(checked), nil, true)
							}
							start := time.Now()
							r, err := verify.Run(bytes.NewReader(checked), "", bytes.NewReader(original), "", opt)
							if err != nil {
								b.Fatal(err)
							}
							_ = r
							if watch {
								traced += time.Since(start)
							} else {
								bare += time.Since(start)
							}
						}
					}
					b.ReportMetric(float64(traced)/float64(bare), "ratio")
					b.ReportMetric(float64(bare.Nanoseconds())/float64(b.N)/float64(n), "ns/line")
				})
			}
		}
	}
}
