package zone

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A drawn arc is as long as it is, to a millionth, and near where it is.
func TestArcsAreDrawnAtTheirLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := arcMove(rapid.Float64Range(0.05, 100).Draw(t, "r"), rapid.Float64Range(-2*math.Pi, 2*math.Pi).Draw(t, "sweep"))
		s0 := rapid.Float64Range(0, 0.9).Draw(t, "s0")
		s1 := rapid.Float64Range(s0+0.05, 1).Draw(t, "s1")
		d := track{geo: &appender{size: 1 << 30}, keep: &sketch{}}
		d.arc(&m, s0, s1)
		d.end()
		want := m.Length * (s1 - s0)
		if math.Abs(d.length-want) > 1e-7*want+1e-9 {
			t.Fatalf("drawn %g, is %g", d.length, want)
		}
		for _, p := range d.keep.lines[0] {
			if off := math.Abs(math.Hypot(p[0]-m.CX, p[1]-m.CY) - m.R0); off > 0.0003*m.R0 {
				t.Fatalf("%v is %g off an arc of radius %g", p, off, m.R0)
			}
		}
	})
}
