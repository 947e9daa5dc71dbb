package job

import (
	"io"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

// A job that lays what another has laid has all as if it were the first, whatever of its
// options or of the file has changed since; and what has not is read once.
func TestKeptIsAsRead(t *testing.T) {
	texts := []string{
		"# error_mm: 0\n, 0, 10, 20\n0, 1, 1, 2\n10, 1, 2, 1\n20, 2, 1, 1\n",
		", 0, 10, 20, 30\n0, 1, 1.1, 1.2, 1\n10, 1.1, 1.2, 1.1, 1\n20, 1, 1.1, 1, 1.1\n30, 1.2, 1, 1, 1\n", // whose error is assumed
		"# error_mm: 0.1\n# datum: 10, 10\n, 0, 20\n0, 0, 1\n20, 1, 0\n",
		", 0, 10\n0, 1\n",
	}
	rapid.Check(t, func(t *rapid.T) {
		kept := new(Kept)
		for range 12 {
			text := rapid.SampledFrom(texts).Draw(t, "text")
			open := func(string) (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(text)), nil }
			given := rapid.SampledFrom([]string{"", "rotate", "surface-error"}).Draw(t, "given")
			draw := func(name string, of ...float64) float64 { return rapid.SampledFrom(of).Draw(t, name) }
			rotate, unsure, shift, datum := draw("rotate", 0, 90), draw("unsure", 0, 0.2), draw("shift", 0, 1), draw("datum", 0, 1)
			method := rapid.SampledFrom([]string{"", "bicubic"}).Draw(t, "method")
			lay := func(k *Kept) (j *Job, notes []string, err error) {
				o := settings(&notes)
				o.Given = func(n string) bool { return n == given }
				o.Rotate, o.SurfaceError, o.Method, o.Kept = rotate, unsure, method, k
				if shift > 0 {
					o.Shift = &[2]float64{shift, 2}
				}
				if datum > 0 {
					o.Datum = &[2]float64{datum, 2}
				}
				j, err = New(open, o, OneLens)
				return j, notes, err
			}
			want, said, wrong := lay(nil)
			got, notes, err := lay(kept)
			again, _, _ := lay(kept)
			if wrong != nil {
				if err == nil || err.Error() != wrong.Error() || diag.As(err).Place != diag.As(wrong).Place {
					t.Fatalf("%v, not %v", err, wrong)
				}
				continue
			}
			if got.Placed != again.Placed {
				t.Fatal("it is laid twice")
			}
			if got.Unsure != want.Unsure || got.Taken != want.Taken || !slices.Equal(notes, said) || !sameSurface(got.laid.surface, want.laid.surface) {
				t.Fatalf("%+v %v, not %+v %v", got.Unsure, notes, want.Unsure, said)
			}
			for x := -5.0; x < 35; x += 3.1 {
				h, where := got.Placed.At(x, 7-x/3)
				if g, at := want.Placed.At(x, 7-x/3); h != g || where != at {
					t.Fatalf("at %g: %g (%v), not %g (%v)", x, h, where, g, at)
				}
			}
		}
	})
}

// No more are kept than a few, and those that were asked for last.
func TestKeptIsBounded(t *testing.T) {
	kept, reads := new(Kept), 0
	lay := func(name string) {
		o := Defaults()
		o.Surface = name
		_, err := kept.lay(strings.NewReader("x"), &o, func(io.Reader) (*laid, error) { reads++; return &laid{}, nil })
		if err != nil {
			t.Fatal(err)
		}
	}
	for k := range 3 * mostKept {
		lay(strings.Repeat("x", k+1))
		lay("first")
	}
	if len(kept.list) != mostKept || reads != 3*mostKept+1 {
		t.Errorf("%d are kept, %d were read", len(kept.list), reads)
	}
}
