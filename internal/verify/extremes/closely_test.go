package extremes

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
	"sagitta/internal/surface"
	"sagitta/internal/surface/surfacetest"
)

// A closer look passes no move on which something is beyond what is known, however near that
// is to what there is, and bounds heights by what they are.
func TestCloserLookHidesNothing(t *testing.T) {
	passed := 0
	rapid.Check(t, func(t *rapid.T) {
		p := surfacetest.Draw(t, 60, []float64{7, 13, 20}, []float64{0.5, 3}).Placed(t)
		f := New(p)
		between := func(label string, lo, hi float64) float64 {
			return lo + (hi-lo)*float64(rapid.IntRange(0, 1000).Draw(t, label))/1000
		}
		m := &machine.Move{Kind: machine.Line}
		x, y, a, long := between("x", 10, 50), between("y", 10, 50), between("angle", 0, 7), between("length", 0.1, 9)
		if rapid.Bool().Draw(t, "arc") {
			m.Kind, m.R0, m.A0 = machine.Arc, between("radius", 1, 30), a
			m.R1, m.Sweep = m.R0+0.001, long/m.R0
			m.CX, m.CY = x-m.R0*math.Cos(a), y-m.R0*math.Sin(a)
			m.From = machine.Point{X: x, Y: y}
			m.To = machine.Point{X: m.CX + m.R1*math.Cos(a+m.Sweep), Y: m.CY + m.R1*math.Sin(a+m.Sweep)}
			m.Length = math.Hypot(m.Sweep*(m.R0+m.R1)/2, m.R1-m.R0)
		} else {
			m.From, m.To, m.Length = machine.Point{X: x, Y: y}, machine.Point{X: x + long*math.Cos(a), Y: y + long*math.Sin(a)}, long
		}
		height := func(s float64) float64 {
			at := m.XY(s)
			h, _ := p.At(at[0], at[1])
			return h
		}
		c0, c1 := height(0)+between("c0", -0.2, 0.2), height(1)+between("c1", -0.2, 0.2)
		sp := Below{C0: c0, C1: c1}
		// What the move has, and so much less or more.
		lo, hi, near, far := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
		const samples = 2000
		for i := range samples + 1 {
			s := float64(i) / samples
			h := height(s)
			lo, hi, near, far = min(lo, h), max(hi, h), min(near, sp.c(s)-h), max(far, sp.c(s)-h)
		}
		by := func(what string) float64 {
			return rapid.SampledFrom([]float64{-0.0005, 1e-6, 0.0005, 0.01, 0.1, 0.1}).Draw(t, what)
		}
		lo, hi, near, far = lo-by("low"), hi+by("high"), near-by("near"), far+by("far")
		begin := func() {
			sp.Height.Begin(lo, hi)
			sp.Focus.Begin(near, far)
		}
		begin()
		f.Along(&sp, m, false)
		begin()
		within, found := sp.Within, f.Again(&sp, m)
		if sp.Within > within || sp.Within < 0 {
			t.Fatalf("heights leave the middle by %v, and by %v on a closer look", within, sp.Within)
		}
		if !found {
			passed++
		}
		slack := 1e-6 + 3*p.Allowance()
		for i := range samples + 1 {
			s := float64(i) / samples
			h := height(s)
			d := sp.c(s) - h
			if h < min(lo, sp.Height.Lo)-slack || h > max(hi, sp.Height.Hi)+slack || d < min(near, sp.Focus.Lo)-slack || d > max(far, sp.Focus.Hi)+slack {
				t.Fatalf("%v and %v at %v are hidden: %v..%v and %v..%v are known, searched %v", h, d, s, lo, hi, near, far, found)
			}
			if at := m.XY(s); math.Abs(h-sp.Middle) > sp.Within+surface.PlaceToleranceMM && f.beyond(p.Local(at[0], at[1])) == 0 {
				t.Fatalf("height %v at %v leaves %v by more than %v", h, s, sp.Middle, sp.Within)
			}
		}
	})
	if passed == 0 {
		t.Error("each move was searched")
	}
}

// Second differences of heights within a cell are no more than its bend.
func TestBendsBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := surfacetest.Draw(t, 60, []float64{7, 13, 20}, []float64{0.5, 3}).Placed(t)
		f := New(p)
		f.measure()
		f.bend()
		i, j := rapid.IntRange(0, len(f.x)-2).Draw(t, "i"), rapid.IntRange(0, len(f.y)-2).Draw(t, "j")
		dx, dy := f.x[i+1]-f.x[i], f.y[j+1]-f.y[j]
		const steps = 12
		most := 0.0
		for k := range steps * steps {
			x, y := f.x[i]+dx*(0.05+0.9*float64(k%steps)/steps), f.y[j]+dy*(0.05+0.9*float64(k/steps)/steps)
			for n := range steps {
				const e = 0.02
				sin, cos := math.Sincos(math.Pi * float64(n) / steps)
				at := func(s float64) float64 {
					h, _ := p.At(p.Program(x+s*cos, y+s*sin))
					return h
				}
				most = max(most, math.Abs(at(e)-2*at(0)+at(-e))/(e*e))
			}
		}
		if bend := f.bends[j*(len(f.x)-1)+i]; most > bend+1e-6 || bend > 12*most+1e-3 {
			t.Fatalf("cell %d, %d bends by %v, bound %v", i, j, most, bend)
		}
	})
}
