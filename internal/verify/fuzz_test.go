package verify

import (
	"bytes"
	"math"
	"testing"

	"sagitta/internal/bench"
	"sagitta/internal/diag"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// Whatever the programs are, there is a result or an error of the program,
// and the result's figures are numbers.
func FuzzRun(f *testing.F) {
	for _, m := range mutations {
		f.Add([]byte(m.change(followed)), []byte(original), uint8(0))
	}
	f.Add([]byte(followed), []byte(original), uint8(7))
	f.Add([]byte("G0 X1e9"), []byte(""), uint8(3))
	f.Add([]byte("G91 M3 S1 F1\nG2 I999999999999999999\nG1 X0.000000000000000001 Z9"), []byte("G93 G3 X1 R1 F2"), uint8(9))
	holey := surfacetest.Of(f, "bilinear", []float64{0, 1, 5, 9}, []float64{-5, 0, 5}, func(x, y float64) float64 {
		if x == 5 && y == 0 {
			return math.NaN()
		}
		return x * y / 20
	})
	wavy := surfacetest.Of(f, "bicubic", []float64{0, 1, 5, 9}, []float64{-5, 0, 5}, func(x, y float64) float64 {
		return math.Sin(x) * math.Cos(y)
	})
	f.Fuzz(func(t *testing.T, checked, against []byte, how uint8) {
		opt := options([]*surface.Placed{holey, wavy}[how&1], 1, 1)
		opt.OutsideHold = how&2 != 0
		opt.Rehearsal = how&4 != 0
		opt.ZRate = float64(how&8) * 100 / 60
		opt.ZMoves = bench.Moves(how>>4) % 3
		opt.FeedMax = float64(how&64) * 10
		var r *Result
		var err error
		if how&128 != 0 {
			r, err = Run(bytes.NewReader(checked), "c", nil, "", opt)
		} else {
			r, err = Run(bytes.NewReader(checked), "c", bytes.NewReader(against), "o", opt)
		}
		if err != nil {
			if !diag.Is(err, diag.Malformed) && !diag.Is(err, diag.Unsupported) {
				t.Fatalf("%T: %v", err, err)
			}
			return
		}
		for _, v := range []float64{r.BurnLengthMM, r.Defocus.MM, r.Lowest.MM, r.Highest.MM, r.ZMinMM, r.ZMaxMM, r.ZTravelMM, r.PeakZRate, r.ZSpeedStep, r.Seconds} {
			if math.IsNaN(v) {
				t.Fatalf("a figure is no number: %+v", r)
			}
		}
		for _, f := range r.Failures {
			if s := f.String(); s == "" || bytes.ContainsRune([]byte(s), '\n') {
				t.Fatalf("not one line: %q", s)
			}
		}
		if r.FailureCount < len(r.Failures) || (r.FailureCount > 0) == r.Holds() {
			t.Fatalf("%d failures, %d kept", r.FailureCount, len(r.Failures))
		}
	})
}
