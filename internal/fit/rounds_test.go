package fit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// sheetRound is a round of touches: the datum at 0,0 first and twice last, places between. Its
// heights count from a zero of its own, which rises by drift until the end.
type sheetRound struct {
	at          [][2]float64
	zero, drift float64
	slip        map[[2]float64]float64
}

const roundNoise = 0.003

func roundSheet(x, y float64) float64 { return 0.9*math.Sin(x/60) + 0.5*math.Cos(y/45) - 0.5 }

// read has the rounds read from logs of their own.
func read(t interface{ Fatal(...any) }, r *rand.Rand, rounds ...sheetRound) *touch.Reading {
	var parts []touch.Part
	for k, c := range rounds {
		var b strings.Builder
		b.WriteString("# noise_mm: 0.003\nx,y,z\n0,0," + fmt.Sprintf("%.4f\n", c.zero+roundNoise*r.NormFloat64()))
		for n, p := range append(append([][2]float64(nil), c.at...), [2]float64{}, [2]float64{}) {
			part := min(float64(n+1)/float64(len(c.at)+1), 1)
			fmt.Fprintf(&b, "%g,%g,%.4f\n", p[0], p[1], roundSheet(p[0], p[1])+c.zero+c.drift*part+c.slip[p]+roundNoise*r.NormFloat64())
		}
		name := fmt.Sprintf("round %d", k+1)
		read, err := touch.Read(strings.NewReader(b.String()), name, touch.Options{})
		if err != nil {
			t.Fatal(err)
		}
		parts = append(parts, touch.Part{Name: name, Reading: read})
	}
	joined, err := touch.Join(parts)
	if err != nil {
		t.Fatal(err)
	}
	return joined
}

// places are a lattice and, in its middles, what lies between.
func places() (lattice, between [][2]float64) {
	for j := range 6 {
		for i := range 8 {
			lattice = append(lattice, [2]float64{30 * float64(i), 28 * float64(j)})
			if i < 7 && j < 5 {
				between = append(between, [2]float64{30*float64(i) + 15, 28*float64(j) + 14})
			}
		}
	}
	return lattice[1:], between
}

// sifted takes a reading up to where a form is chosen.
func sifted(t interface{ Fatal(...any) }, r *touch.Reading) *Measured {
	m := &Measured{Name: "rounds", Reading: r}
	if err := m.merge(false); err != nil {
		t.Fatal(err)
	}
	if err := m.leaveOut(); err != nil {
		t.Fatal(err)
	}
	m.doubt()
	return m
}

// A sheet touched in rounds that each have a zero and a drift of their own comes to the
// heights of the first zero, and what is not known of that is said.
func TestRoundsAreOne(t *testing.T) {
	lattice, between := places()
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 8))
		zero := rapid.Float64Range(-3, 3).Draw(t, "zero")
		drift := rapid.SliceOfN(rapid.SampledFrom([]float64{0, 0.1, -0.3}), 2, 2).Draw(t, "drift")
		slipped := rapid.SampledFrom(between).Draw(t, "slipped")
		m := sifted(t, read(t, r, sheetRound{at: lattice, drift: drift[0]},
			sheetRound{at: between, zero: zero, drift: drift[1], slip: map[[2]float64]float64{slipped: 1.2}}))
		if len(m.LeftOut) != 1 || m.From(m.LeftOut[0].Point) != fmt.Sprintf("round 2:%d", 4+indexOf(between, slipped)) {
			t.Fatalf("left out: %+v", m.LeftOut)
		}
		if sure := m.shiftSureMM(); sure > 3*roundNoise {
			t.Fatalf("heights are known to %g only", sure)
		}
		if len(m.Points) != 1+len(lattice)+len(between)-1 {
			t.Fatalf("%d points", len(m.Points))
		}
		for _, p := range m.Points {
			if off := p.Z - roundSheet(p.X, p.Y); math.Abs(off) > 8*roundNoise {
				t.Fatalf("%.3f mm off at %g, %g", off, p.X, p.Y)
			}
		}
	})
}

// The surface of two rounds is that of the same places touched at once.
func TestSurfaceOfRounds(t *testing.T) {
	lattice, between := places()
	r := rand.New(rand.NewPCG(21, 22))
	shape := func(rounds ...sheetRound) Shape {
		m, err := Measure("sheet", read(t, r, rounds...), MeasuredOptions{Method: "smooth"})
		if err != nil {
			t.Fatal(err)
		}
		s, err := interpolated(m.Written.Surface, "")
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	once := shape(sheetRound{at: append(append([][2]float64(nil), lattice...), between...)})
	rounds := shape(sheetRound{at: lattice, drift: 0.1}, sheetRound{at: between, zero: -0.4, drift: -0.2})
	for x := 5.; x < 205; x += 10 {
		for y := 5.; y < 138; y += 10 {
			if d := math.Abs(once.At(x, y) - rounds.At(x, y)); !(d < 6*roundNoise) {
				t.Fatalf("%.3f mm apart at %g, %g", d, x, y)
			}
		}
	}
}

func indexOf(places [][2]float64, p [2]float64) int {
	for k := range places {
		if places[k] == p {
			return k
		}
	}
	return -1
}

// A place that was off and is touched again: the touch that those around bear out stays,
// be it the first or the second; one that is found alike both times is no slip.
func TestTouchedAgain(t *testing.T) {
	lattice, _ := places()
	odd := lattice[27]
	r := rand.New(rand.NewPCG(5, 6))
	for _, c := range []struct {
		name          string
		first, second float64
		out           string // the touch that is left out
		doubt         string
	}{
		{"the first slipped", 1.5, 0, "round 1:31", ""},
		{"the second slipped", 0, -1.5, "round 2:4", ""},
		{"a dent", -0.8, -0.8, "", "found so again"},
		{"nothing tells", 0.8, -0.8, "", "files differ by more than touches scatter at 1 place"},
	} {
		reading := read(t, r, sheetRound{at: lattice, slip: map[[2]float64]float64{odd: c.first}},
			sheetRound{at: [][2]float64{odd, {100, 70}, {130, 30}}, zero: 0.2, slip: map[[2]float64]float64{odd: c.second}})
		m := sifted(t, reading)
		out, doubts := "", ""
		for _, b := range m.LeftOut {
			out += m.From(b.Point)
		}
		for _, d := range m.Doubts {
			doubts += d.What + "\n"
		}
		if out != c.out || !strings.Contains(doubts, c.doubt) || c.doubt == "" && doubts != "" {
			t.Errorf("%s: left out %q, doubted %q", c.name, out, doubts)
		}
		if c.out == "" != hasPlace(m.Points, odd, roundSheet(odd[0], odd[1])+(c.first+c.second)/2) {
			t.Errorf("%s: the mean of both touches was taken: %v", c.name, c.out != "")
		}
	}
}

func hasPlace(points []surface.Point, at [2]float64, z float64) bool {
	for _, p := range points {
		if p.X == at[0] && p.Y == at[1] && math.Abs(p.Z-z) < 0.02 {
			return true
		}
	}
	return false
}
