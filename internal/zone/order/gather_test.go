package order

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A row of a raster in a thousand burns is kept as two points, white or not.
func TestRowsAreShort(t *testing.T) {
	j := New(Options{Rank: []int{0}, Lens: []int{0}})
	sin, cos := math.Sincos(0.7)
	j.Piece(0, 0, false)
	for i := range 1000 {
		if i%7 != 3 {
			a, b := 0.1*float64(i), 0.1*float64(i+1)
			j.Line(a*cos, a*sin, b*cos, b*sin)
		}
	}
	if len(j.pts) != 2 {
		t.Errorf("%d points", len(j.pts))
	}
}

// What is kept lies on what was given, and the other way round.
func TestWhatIsKeptIsWhatWasGiven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := New(Options{Rank: []int{0}, Lens: []int{0}})
		j.Piece(0, 0, false)
		var given []burn
		x, y := rapid.Float64Range(-300, 300).Draw(t, "x"), rapid.Float64Range(-300, 300).Draw(t, "y")
		way := rapid.Float64Range(-3, 3).Draw(t, "way")
		for range rapid.IntRange(1, 40).Draw(t, "burns") {
			length := rapid.SampledFrom([]float64{0, 0.0001, 0.003, 0.05, 2, 90}).Draw(t, "length")
			switch rapid.IntRange(0, 9).Draw(t, "turn") {
			case 0:
				way += rapid.Float64Range(-4, 4).Draw(t, "by")
			case 1, 2:
				way += rapid.Float64Range(-0.01, 0.01).Draw(t, "a little")
			case 3:
				r := rapid.SampledFrom([]float64{0.001, 0.2, 5, 20}).Draw(t, "r")
				a0, sweep := way-math.Pi/2, rapid.Float64Range(-7, 7).Draw(t, "sweep")
				if sweep < 0 {
					a0 += math.Pi
				}
				cx, cy := x-r*math.Cos(a0), y-r*math.Sin(a0)
				j.Arc(cx, cy, r, r, a0, sweep)
				n := math.Ceil(1 + math.Abs(sweep)*math.Sqrt(r/0.0008)) // to 0.0001 mm
				for i := range int(n) {
					a, b := a0+sweep*float64(i)/n, a0+sweep*float64(i+1)/n
					given = append(given, burn{cx + r*math.Cos(a), cy + r*math.Sin(a), cx + r*math.Cos(b), cy + r*math.Sin(b)})
				}
				way += sweep
				x, y = cx+r*math.Cos(a0+sweep), cy+r*math.Sin(a0+sweep)
				continue
			}
			b := burn{x, y, x + length*math.Cos(way), y + length*math.Sin(way)}
			j.Line(b.x0, b.y0, b.x1, b.y1)
			given = append(given, b)
			x, y = b.x1, b.y1
		}
		if len(j.chains) != 1 {
			t.Fatalf("%d chains", len(j.chains))
		}
		var kept []burn
		pl := newPlane(j)
		for k := range j.pts {
			if s, ok := pl.stretch(k); ok {
				a, b := s.a.mm(), s.b.mm()
				kept = append(kept, burn{a[0], a[1], b[0], b[1]})
			}
		}
		const most = 0.0013 // of straight lines and chords, and of rounding
		for _, ways := range [][2][]burn{{given, kept}, {kept, given}} {
			for _, b := range ways[0] {
				far := math.Inf(1)
				for _, o := range ways[1] {
					far = min(far, distance((b.x0+b.x1)/2, (b.y0+b.y1)/2, o))
				}
				if far > most+0.0002 {
					t.Fatalf("%v is %g mm off", b, far)
				}
			}
		}
	})
}

// What cannot be held is ordered as the original has it, and says why.
func TestWhatCannotBeHeld(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), 60_000} {
		j := New(Options{Rank: []int{0}, Lens: []int{0}})
		j.Piece(0, 0, false)
		j.Line(0, 0, x, 0)
		j.Arc(0, 0, x, 1, 0, 1)
		j.Piece(0, 1, false)
		j.Point(0, x)
		if r := j.Order(); r.Original != tooFar || len(r.Visits) != 1 || len(r.Visits[0].Steps) != 2 {
			t.Errorf("%g: %v", x, r)
		}
	}
	if r := New(Options{}).Order(); len(r.Visits) != 0 || r.Original != "" {
		t.Errorf("nothing: %v", r)
	}
	j := New(Options{Rank: []int{0}, Lens: []int{0}})
	j.Piece(0, 0, false)
	j.Piece(0, 1, false)
	j.Point(1, 1)
	if r := j.Order(); r.Original != "" || len(r.Visits[0].Steps) != 2 {
		t.Errorf("a piece without burns: %v", r)
	}
}
