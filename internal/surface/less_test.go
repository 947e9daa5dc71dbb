package surface

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// lessNear is the greatest over the cells that have a place within r of program XY, by
// a plain look at every cell: of each the greatest of its four nodes, the edge held.
func lessNear(p *Placed, of func(float64) float64, x, y, r float64) float64 {
	lx, ly := p.Local(x, y)
	sx, sy := p.s.X(), p.s.Y()
	lx, ly = min(max(lx, sx[0]), sx[len(sx)-1]), min(max(ly, sy[0]), sy[len(sy)-1])
	most := 0.0
	for j := range len(sy) - 1 {
		for i := range len(sx) - 1 {
			if lx < sx[i]-r || lx > sx[i+1]+r || ly < sy[j]-r || ly > sy[j+1]+r {
				continue
			}
			for _, e := range []float64{p.s.ErrorAt(i, j), p.s.ErrorAt(i+1, j), p.s.ErrorAt(i, j+1), p.s.ErrorAt(i+1, j+1)} {
				if e == e {
					most = max(most, of(e))
				}
			}
		}
	}
	return most
}

// Every place of a move, as near beside it as was said, is in a piece that has as much less
// as the place, and no piece is much more so than some place of it.
func TestPiecesAreNarrowedAsTheirPlaces(t *testing.T) {
	of := func(e float64) float64 { return math.Hypot(2*e, 0.3) - math.Hypot(0.2, 0.3) }
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlaced(t)
		errors := make([]float64, len(p.s.z))
		for k := range errors {
			errors[k] = rapid.SampledFrom([]float64{0.1, 0.1, 0.1, 0.1, 0.2, 0.7}).Draw(t, "error")
		}
		errors[rapid.IntRange(0, len(errors)-1).Draw(t, "surest")] = 0.1
		var err error
		q := *p
		if q.s, err = p.s.WithErrors(errors); err != nil {
			t.Fatal(err)
		}
		if least, _ := q.s.Errors(); least != 0.1 {
			t.Skip("none is surest")
		}
		p = q.Narrowed(of)
		x0, y0 := drawPoint(t, p, "from")
		x1, y1 := drawPoint(t, p, "to")
		lateral := rapid.SampledFrom(laterals).Draw(t, "lateral")
		at, arc := linePath(x0, y0, x1, y1), rapid.Bool().Draw(t, "arc")
		var pieces []Piece
		sag := 0.0
		if arc {
			r, sweep := rapid.SampledFrom([]float64{0, 1e-3, 2, 30}).Draw(t, "r"), rapid.SampledFrom([]float64{2 * math.Pi, -1, 1e-4, 7}).Draw(t, "sweep")
			at, sag = arcPath(x0, y0, r, r+0.001, 1, sweep), 2*lessSagMM
			pieces = p.AppendArc(nil, x0, y0, r, r+0.001, 1, sweep, 0.05, lateral)
		} else {
			if rapid.Bool().Draw(t, "along a grid line") {
				i := rapid.IntRange(0, p.cx).Draw(t, "i")
				x0, y0 = p.Program(p.x.node[i], p.y.start)
				x1, y1 = p.Program(p.x.node[i], p.y.end+1)
				at = linePath(x0, y0, x1, y1)
			}
			pieces = p.AppendLine(nil, x0, y0, x1, y1, 0.05, lateral)
		}
		roomy := len(pieces) < 1000
		for _, a := range []*axis{&p.x, &p.y} {
			for i := range a.cells() {
				roomy = roomy && a.roomy(i, lateral+sag+PlaceToleranceMM)
			}
		}
		every := 1 + len(pieces)/300
		for k := 0; k < len(pieces); k += every {
			c, least := pieces[k], math.Inf(1)
			for _, f := range fractions {
				x, y := at(c.S0 + f*(c.S1-c.S0))
				for a := range 8 {
					sin, cos := math.Sincos(float64(a) * math.Pi / 4)
					if u := lessNear(p, of, x+lateral*cos, y+lateral*sin, PlaceToleranceMM/10); u > float64(c.Less) {
						t.Fatalf("a place of piece %d, %+v, has less by %v", k, c, u)
					}
				}
				if f > 0 && f < 1 {
					least = min(least, lessNear(p, of, x, y, lateral+sag+2*PlaceToleranceMM))
				}
			}
			if roomy && float64(c.Less) > least+1e-6 {
				t.Fatalf("piece %d of %d, %+v, has a place with less by %v", k, len(pieces), c, least)
			}
		}
		if u := p.LessAt(x0, y0); float64(u) < lessNear(p, of, x0, y0, 0) || float64(u) > lessNear(p, of, x0, y0, 2*PlaceToleranceMM)+1e-6 {
			t.Fatalf("%v at %v,%v", u, x0, y0)
		}
	})
}

// Heights that are all as sure make pieces that are as they ever were.
func TestEvenlySureIsSure(t *testing.T) {
	s := bumpy(t, 5)
	e := make([]float64, 25)
	for k := range e {
		e[k] = 0.3
	}
	s, err := s.WithErrors(e)
	if err != nil {
		t.Fatal(err)
	}
	p := mustPlace(t, s, Placement{}).Narrowed(func(mm float64) float64 { return mm - 0.3 })
	if p.less != nil || p.MostLess() != 0 || p.LessAt(1, 1) != 0 {
		t.Errorf("%v", p.less)
	}
}
