package probe

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/surface"
)

func burned(t interface{ Fatal(...any) }, text string) orb.MultiLineString {
	a, _, err := ReadBurns(strings.NewReader(text), "f", machine.DefaultConfig())
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// A sheet that bows as was said, in whatever form and over either side, is read between
// touches to a tenth of the depth, and the worst of them not much better: the touches
// are few.
func TestSpacing(t *testing.T) {
	worst := 0.0
	rapid.Check(t, func(t *rapid.T) {
		depth := rapid.Float64Range(0.3, 3).Draw(t, "depth")
		bow := rapid.Float64Range(0.5, 20).Draw(t, "bow")
		w, h := rapid.Float64Range(50, 1000).Draw(t, "w"), rapid.Float64Range(50, 1000).Draw(t, "h")
		form := rapid.SampledFrom([]func(u, v float64) float64{
			func(u, _ float64) float64 { return 4 * u * (1 - u) },
			func(_, v float64) float64 { return 4 * v * (1 - v) },
			func(u, v float64) float64 { return 2*u*(1-u) + 2*v*(1-v) },
			func(u, _ float64) float64 { return math.Sin(2*math.Pi*u) / 2 },
			func(_, v float64) float64 { return math.Sin(2*math.Pi*v) / 2 },
			func(u, _ float64) float64 { return math.Pow(max(0, 3*u-2), 2) },
			func(_, v float64) float64 { return math.Pow(max(0, 1-3*v), 2) },
		}).Draw(t, "form")
		z := func(x, y float64) float64 { return bow * form(x/w, y/h) }
		pitch := BowPitch(orb.MultiLineString{{{0, 0}, {w, h}}}, depth, bow, 0)
		p, err := New(orb.MultiLineString{{{0, 0}, {w, h}}}, pitch, 1, nil, machine.Reach{})
		if diag.Is(err, diag.Setting) {
			t.Skip(err)
		}
		if err != nil {
			t.Fatal(err)
		}
		heights := make([]float64, 0, len(p.X)*len(p.Y))
		for _, y := range p.Y {
			for _, x := range p.X {
				heights = append(heights, z(x, y))
			}
		}
		grid, err := surface.New(p.X, p.Y, heights)
		if err != nil {
			t.Fatal(err)
		}
		on, err := surface.Place(grid, surface.Placement{Raw: true})
		if err != nil {
			t.Fatal(err)
		}
		off := 0.0
		for k := range p.X[1:] {
			for m := range p.Y[1:] {
				for _, s := range []float64{0.1, 0.5, 0.8} {
					x, y := p.X[k]+(p.X[k+1]-p.X[k])*s, p.Y[m]+(p.Y[m+1]-p.Y[m])*s
					got, _ := on.At(x, y)
					off = max(off, math.Abs(got-z(x, y)))
				}
			}
		}
		if want := DepthPart * depth; off > want*1.1 {
			t.Fatalf("off by %v, want %v", off, want)
		} else {
			worst = max(worst, off/want)
		}
	})
	if worst < 0.8 {
		t.Errorf("at worst %.2f of what is allowed: more touches than need be", worst)
	}
}

// Around every burn, and its margin, all four corners of the cell are
// touched; and no place is further from a burn than a cell and the margin.
func TestPlacesCoverBurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		c := rapid.Float64Range(-200, 200)
		fmt.Fprintf(&b, "G21 G90\nG0 X%.3f Y%.3f\nM3 S100\n", c.Draw(t, "x"), c.Draw(t, "y"))
		for range rapid.IntRange(1, 6).Draw(t, "moves") {
			word := rapid.SampledFrom([]string{"G1", "G0", "G2", "G3"}).Draw(t, "word")
			x, y := c.Draw(t, "x"), c.Draw(t, "y")
			if word[1] > '1' {
				i := x/4 + 0.1
				if math.Abs(i) < 0.001 {
					i = 0.1 // there is no arc without a radius
				}
				fmt.Fprintf(&b, "%s I%.3f J%.3f F900\n", word, i, y/4)
			} else {
				fmt.Fprintf(&b, "%s X%.3f Y%.3f F900\n", word, x, y)
			}
		}
		a := burned(t, b.String())
		if a == nil {
			t.Skip("nothing burns")
		}
		margin := rapid.Float64Range(0.5, 10).Draw(t, "margin")
		spacing := rapid.Float64Range(8, 80).Draw(t, "spacing")
		p, err := New(a, Pitch{X: spacing, Y: spacing}, margin, nil, machine.Reach{})
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range a {
			for k := range line {
				for m := range 7 {
					q := line[k]
					if k > 0 {
						f := float64(m) / 7
						q = orb.Point{line[k-1][0] + f*(line[k][0]-line[k-1][0]), line[k-1][1] + f*(line[k][1]-line[k-1][1])}
					}
					for _, d := range [][2]float64{{0, 0}, {margin / 2, 0}, {-margin / 2, 0}, {0, margin / 2}, {0, -margin / 2}} {
						if !p.Needed(q[0]+d[0], q[1]+d[1]) {
							t.Fatalf("no touches around %v + %v", q, d)
						}
					}
				}
			}
		}
		for k := 1; k < len(p.X); k++ {
			if p.X[k]-p.X[k-1] > spacing+0.003 {
				t.Fatalf("places %v apart, %v wanted", p.X[k]-p.X[k-1], spacing)
			}
		}
	})
}

// Needed reports whether the cell that x, y is in has all its corners touched.
func (p *Probing) Needed(x, y float64) bool {
	i, j := cellOf(p.X, x), cellOf(p.Y, y)
	found := 0
	for _, q := range p.Places {
		for _, c := range [4][2]float64{{p.X[i], p.Y[j]}, {p.X[i+1], p.Y[j]}, {p.X[i], p.Y[j+1]}, {p.X[i+1], p.Y[j+1]}} {
			if math.Abs(q[0]-c[0]) < 1e-9 && math.Abs(q[1]-c[1]) < 1e-9 {
				found++
			}
		}
	}
	return found == 4
}

// A frame leaves its middle alone, and an empty corner is skipped.
func TestHolesAreSkipped(t *testing.T) {
	p, err := New(burned(t, "G21 G90\nG0 X0 Y0\nM3 S100\nG1 X200 Y0 F600\nX200 Y200\nX0 Y200\nX0 Y0\nM5\n"), Pitch{X: 10, Y: 10}, 1, nil, machine.Reach{})
	if err != nil {
		t.Fatal(err)
	}
	if p.Needed(100, 100) || !p.Needed(100, 0) || p.Skipped < 200 {
		t.Errorf("%d places, %d skipped", len(p.Places), p.Skipped)
	}
	if _, err := New(p.Burns, Pitch{X: 0.5, Y: 0.5}, 1, nil, machine.Reach{}); !diag.Is(err, diag.Setting) {
		t.Errorf("a plan for a year: %v", err)
	}
}

// Places are at round numbers, row by row from the left below, but for the datum, which is
// the first; no two are one.
func TestPlacesAreRoundAndInRows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(-500, 500)
		x, y := at.Draw(t, "x"), at.Draw(t, "y")
		size := rapid.Float64Range(0, 400)
		pitch := Pitch{X: rapid.Float64Range(3, 80).Draw(t, "along x"), Y: rapid.Float64Range(25, 80).Draw(t, "along y")}
		burns := orb.MultiLineString{{{x, y}, {x + size.Draw(t, "wide"), y + size.Draw(t, "high")}}}
		var datum *orb.Point
		if rapid.Bool().Draw(t, "datum") {
			datum = &orb.Point{at.Draw(t, "datum x"), at.Draw(t, "datum y")}
		}
		p, err := New(burns, pitch, 2, datum, machine.Reach{})
		if err != nil {
			t.Skip(err)
		}
		round := func(v, unit float64) bool { return math.Abs(v/unit-math.Round(v/unit)) < 1e-6 }
		rest := p.Places
		if datum != nil {
			rest = rest[1:]
			for _, q := range rest {
				if planar.Distance(q, *datum) < planar.Distance(p.Places[0], *datum)-1e-9 {
					t.Fatalf("begins at %v, though %v is nearer to %v", p.Places[0], q, *datum)
				}
			}
		}
		seen := map[orb.Point]bool{p.Places[0]: datum != nil}
		for k, q := range rest {
			if !round(q[0], 0.1) || !round(q[1], 1) || seen[q] {
				t.Fatalf("place %v: %v", q, seen[q])
			}
			seen[q] = true
			if k > 0 && (q[1] < rest[k-1][1] || q[1] == rest[k-1][1] && q[0] <= rest[k-1][0]) {
				t.Fatalf("%v comes after %v", q, rest[k-1])
			}
		}
		for _, v := range []struct {
			at          []float64
			pitch, a, b float64
		}{{p.X, pitch.X, burns[0][0][0], burns[0][1][0]}, {p.Y, pitch.Y, burns[0][0][1], burns[0][1][1]}} {
			if first, last := v.at[0], v.at[len(v.at)-1]; first > v.a-2+1e-5 || first < v.a-3-1e-5 || last < v.b+2-1e-5 || last > v.b+3+1e-5 {
				t.Fatalf("%g to %g are touched from %g to %g", v.a, v.b, first, last)
			}
			if n := nodes(v.b-v.a+4, v.pitch); float64(len(v.at)) > n+2+n/moreForRound {
				t.Fatalf("%d nodes, where %g would do", len(v.at), n)
			}
		}
	})
}

// Turning no stretch of a route round makes it shorter.
func TestRouteCannotBeTurned(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	var p []orb.Point
	for range 120 {
		p = append(p, orb.Point{100 * r.Float64(), 100 * r.Float64()})
	}
	route(p, orb.Point{})
	n := len(p)
	d := func(a, b int) float64 { return math.Hypot(p[a%n][0]-p[b%n][0], p[a%n][1]-p[b%n][1]) }
	for i := range n - 2 {
		for j := i + 2; j < n; j++ {
			if gain := d(i, i+1) + d(j, j+1) - d(i, j) - d(i+1, j+1); gain > 1e-6 {
				t.Fatalf("turning %d to %d round saves %v", i+1, j, gain)
			}
		}
	}
}

// The program moves over XY only when clear, has the beam off first, touches
// each place once and the datum again, and keeps to unit, sign and offset.
func TestProgram(t *testing.T) {
	p, err := New(burned(t, "G21 G90\nM3 S100\nG0 X0 Y0\nG1 X60 Y30 F600\n"), Pitch{X: 20, Y: 20}, 2, nil, machine.Reach{})
	if err != nil {
		t.Fatal(err)
	}
	const clear = 4
	inches := record.DefaultMachine()
	inches.Units, inches.ZAxis, inches.ZPlus, inches.BeamOff = record.UnitsInch, "W", record.Toward, record.MWords{107}
	inches.ProbeOffsetMM, inches.Comments, inches.Numbered = [3]float64{10, -5, 2}, false, true
	for _, m := range []*record.Machine{record.DefaultMachine(), inches} {
		m.ProbeDepthMM = 8
		text, err := p.Program(m, Level(clear), "m")
		if err != nil {
			t.Fatal(err)
		}
		unit := 1.0
		if m.Inches() {
			unit = 25.4
		}
		var touched []orb.Point
		z, off, beam := math.NaN(), orb.Point{m.ProbeOffsetMM[0], m.ProbeOffsetMM[1]}, false
		var at orb.Point
		for line := range strings.Lines(string(text)) {
			line = strings.TrimSpace(line)
			if strings.HasPrefix(line, "(") {
				if !m.Comments {
					t.Errorf("a comment: %s", line)
				}
				continue
			}
			if _, numbered := strings.CutPrefix(line, "N"); numbered != m.Numbered {
				t.Errorf("numbered %v: %s", m.Numbered, line)
			}
			words := map[byte]float64{}
			for _, w := range strings.Fields(line) {
				v, err := strconv.ParseFloat(w[1:], 64)
				if err != nil {
					t.Fatalf("%s: %v", line, err)
				}
				words[w[0]] = v
			}
			if w, ok := words['M']; ok && int(w) == m.BeamOff[0] {
				beam = true
			}
			_, x := words['X']
			down, moves := words[m.ZAxis[0]]
			if (x || moves) && !beam {
				t.Errorf("%s: moves before the beam is off", line)
			}
			if x {
				if math.Abs(z-m.Sigma()*clear) > 1e-3 {
					t.Errorf("%s: moves over XY at %v", line, z)
				}
				at = orb.Point{words['X']*unit + off[0], words['Y']*unit + off[1]}
			}
			if strings.Contains(line, "G38.2") {
				want := m.ProbeFeedMMMin
				if len(touched) == 0 || len(touched) == len(p.Places) {
					want *= slowPart
				}
				if math.Abs(down*unit+m.Sigma()*m.ProbeDepthMM) > 1e-3 || math.Abs(words['F']*unit-want) > 0.2 {
					t.Errorf("%s: want %v down at %v", line, m.Sigma()*m.ProbeDepthMM, want)
				}
				touched = append(touched, at)
				z = math.NaN() // wherever the stock was
			} else if moves {
				z = down * unit
			}
		}
		if len(touched) != len(p.Places)+1 {
			t.Fatalf("%d touches for %d places", len(touched), len(p.Places))
		}
		for k, q := range touched {
			want := p.Places[k%len(p.Places)]
			if math.Hypot(q[0]-want[0], q[1]-want[1]) > 1e-3 {
				t.Errorf("touch %d at %v, want %v", k, q, want)
			}
		}
	}
}
