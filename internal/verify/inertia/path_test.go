package inertia

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Times that are known in closed form: constant acceleration a up to a speed v, and down.
func TestClosedForms(t *testing.T) {
	const v, a = 100.0, 500.0
	l := Limits{Accel: [3]float64{a, a, a / 10}, CornerMM: 0.01}
	steps := l
	steps.Step = [3]float64{10, 10, 0.4}
	x, y := func(mm float64) [3]float64 { return [3]float64{mm} }, func(mm float64) [3]float64 { return [3]float64{0, mm} }
	// Half of a right angle turns by 45 degrees; the circle's radius is CornerMM·c/(1 - c),
	// and the acceleration along the diagonal √2 times that of an axis.
	c := math.Sqrt(0.5)
	corner := math.Sqrt(a * math.Sqrt2 * 0.01 * c / (1 - c))
	joined := func(at float64) float64 { // twice 50 mm, from rest to rest, over a corner at a speed
		return 2 * (v/a + (v-at)/a + (50-v*v/(2*a)-(v*v-at*at)/(2*a))/v)
	}
	for _, one := range []struct {
		name  string
		l     Limits
		moves [][3]float64
		want  float64
	}{
		{"one move", l, [][3]float64{x(50)}, 2*v/a + (50-v*v/a)/v},
		{"one that never comes to its speed", l, [][3]float64{x(2)}, 2 * math.Sqrt(2/a)},
		{"one of Z alone", l, [][3]float64{{0, 0, 4}}, 2 * math.Sqrt(4/(a/10))},
		{"straight on", l, [][3]float64{x(20), x(0), x(30)}, 2*v/a + (50-v*v/a)/v},
		{"back again", l, [][3]float64{x(50), x(-50)}, 2 * (2*v/a + (50-v*v/a)/v)},
		{"a right angle", l, [][3]float64{x(50), y(50)}, joined(corner)},
		{"a right angle by steps of speed", steps, [][3]float64{x(50), y(50)}, joined(10)},
		{"without inertia", Limits{}, [][3]float64{x(50), y(-50)}, 100 / v},
	} {
		p := New(one.l)
		for _, by := range one.moves {
			p.Move(by, v, math.Hypot(by[0], math.Hypot(by[1], by[2])))
		}
		if got := p.Seconds(); math.Abs(got-one.want) > 1e-9 {
			t.Errorf("%s: %v s, not %v", one.name, got, one.want)
		}
	}
	lines := Limits{LinesPerS: 100}
	p := New(lines)
	for range 10 {
		p.Move(x(0.5), v, 0.5)
	}
	if got := p.Seconds(); math.Abs(got-0.1) > 1e-12 {
		t.Errorf("ten lines at 100 lines/s take %v s", got)
	}
	p = New(lines)
	for range 10 {
		p.Move(x(0.5), v, 5)
	}
	if got := p.Seconds(); math.Abs(got-0.05) > 1e-12 {
		t.Errorf("one line of ten chords takes %v s", got)
	}
}

// However few moves are gathered before it is looked which are sure, the time is the same:
// what is settled early is what all of the path says.
func TestSettlesWhatIsSure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Limits{Accel: [3]float64{rapid.Float64Range(50, 3000).Draw(t, "ax"), 500, rapid.Float64Range(5, 100).Draw(t, "az")}, CornerMM: 0.01}
		if rapid.Bool().Draw(t, "steps") {
			l.Step = [3]float64{10, 10, 0.4}
		}
		all, few := New(l), New(l)
		all.most, few.most = 1<<30, 2
		for range rapid.IntRange(1, 200).Draw(t, "moves") {
			size := rapid.SampledFrom([]float64{0.01, 0.3, 5, 80}).Draw(t, "size")
			by := [3]float64{rapid.Float64Range(-size, size).Draw(t, "x"), rapid.Float64Range(-size, size).Draw(t, "y"), rapid.Float64Range(-size, size).Draw(t, "z") / 20}
			if rapid.Bool().Draw(t, "straight") {
				by = [3]float64{size, 0, 0}
			}
			speed := rapid.Float64Range(5, 300).Draw(t, "speed")
			for _, p := range []*Path{all, few} {
				p.Move(by, speed, math.Hypot(by[0], math.Hypot(by[1], by[2])))
			}
			few.most = min(few.most, 16)
			if rapid.IntRange(0, 40).Draw(t, "stop") == 0 {
				all.Stop(0.1)
				few.Stop(0.1)
			}
		}
		if want, got := all.Seconds(), few.Seconds(); math.Abs(got-want) > 1e-9*want {
			t.Errorf("%v s, of all at once %v s", got, want)
		}
	})
}
