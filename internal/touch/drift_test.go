package touch

import (
	"math"
	"math/rand/v2"
	"testing"

	"sagitta/internal/surface"
)

// sheets are heights over 300 by 200 mm: one is a quadric, the others are none.
var sheets = []func(x, y float64) float64{
	func(x, y float64) float64 { u, v := x/150-1, y/100-1; return 2*u*u - u*v + 0.5*v },
	func(x, y float64) float64 { return 1.5 * math.Sin(x/50) * math.Cos(y/40) },
	func(x, y float64) float64 { return math.Exp(-((x-90)*(x-90) + (y-60)*(y-60)) / 1800) },
}

// drifting touches the datum at 0,0, a serpentine of 8 by 6 places, and the datum again
// so many times, while the zero rises by mm evenly.
func drifting(z func(x, y float64) float64, mm, noise float64, again int, r *rand.Rand) (p []surface.Point) {
	touch := func(x, y float64) { p = append(p, surface.Point{X: x, Y: y, Z: z(x, y), Line: len(p) + 2}) }
	touch(0, 0)
	for k := range 48 {
		i, j := k%8, k/8
		if j%2 == 1 {
			i = 7 - i
		}
		touch(10+40*float64(i), 10+36*float64(j))
	}
	end := float64(len(p))
	for range again {
		touch(0, 0)
	}
	for k := range p {
		p[k].Z += mm*min(float64(k)/end, 1) + noise*r.NormFloat64()
	}
	return p
}

// What drifted is taken out, with what is not known of it; what is no more than chance is
// left; a wrong touch of the datum never bends the surface: it is named where the others
// can tell, and is left open where they cannot.
func TestUndrift(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	const noise = 0.005
	for _, c := range []struct {
		name        string
		sheets      int // so many of them
		mm          float64
		again       int
		first, last float64 // how wrong these touches are
		want        map[Verdict]bool
	}{
		{"drift that others bear out", 1, 0.3, 1, 0, 0, map[Verdict]bool{Drifted: true}},
		{"a small drift of any sheet", 3, 0.08, 1, 0, 0, map[Verdict]bool{Drifted: true}},
		{"drift found twice", 3, 0.15, 2, 0, 0, map[Verdict]bool{Drifted: true}},
		{"noise", 1, 0, 1, 0, 0, map[Verdict]bool{Chance: true}},
		{"noise, of any sheet", 3, 0, 2, 0, 0, map[Verdict]bool{Chance: true}},
		{"a wrong last touch", 1, 0, 1, 0, 3, map[Verdict]bool{Contradicted: true}},
		{"a wrong first touch", 1, 0, 1, -2, 0, map[Verdict]bool{Contradicted: true}},
		{"a wrong last touch after a drift", 1, 0.1, 1, 0, 3, map[Verdict]bool{Contradicted: true}},
		{"a wrong last touch of any sheet", 3, 0, 1, 0, 3, map[Verdict]bool{Contradicted: true, Open: true}},
		{"a wrong first touch of any sheet", 3, 0, 1, 1, 0, map[Verdict]bool{Contradicted: true, Open: true}},
		{"drift of any sheet", 3, 0.5, 1, 0, 0, map[Verdict]bool{Drifted: true, Open: true}},
	} {
		wrong := 0
		const runs = 150
		for n := range runs {
			z := sheets[n%c.sheets]
			p := drifting(z, c.mm, noise, c.again, r)
			p[0].Z += c.first
			p[len(p)-1].Z += c.last
			last := p[len(p)-1]
			d := Undrift(p, noise)
			if d == nil || d.At != [2]float64{0, 0} {
				t.Fatalf("%s: %+v", c.name, d)
			}
			bad := !c.want[d.Verdict]
			switch d.Verdict {
			case Drifted:
				worst := 0.0
				for _, q := range p {
					worst = max(worst, math.Abs(q.Z-z(q.X, q.Y)))
				}
				bad = bad || worst > 5*noise || math.Abs(d.MM-c.mm) > 4*d.SureMM
			case Contradicted:
				off, line := c.last, last.Line
				if c.first != 0 {
					off, line = c.first, p[0].Line
				}
				bad = bad || d.Wrong.Line != line || math.Abs(d.WrongMM-off) > 0.5*math.Abs(off)
			default:
				bad = bad || p[len(p)-1].Z != last.Z // heights are left as they are
			}
			if bad {
				wrong++
			}
		}
		if wrong > runs/50 {
			t.Errorf("%s: %d of %d are judged otherwise", c.name, wrong, runs)
		}
	}
	p := drifting(sheets[0], 1, 0, 1, r)
	p[len(p)-1].X = 90
	if d := Undrift(p, 0); d != nil {
		t.Errorf("drift %+v of a log that does not end where it began", d)
	}
}
