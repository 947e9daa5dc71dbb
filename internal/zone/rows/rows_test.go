package rows

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/machine"
)

// burn is a straight one.
func burn(x0, y0, x1, y1 float64) *machine.Move {
	return &machine.Move{Kind: machine.Line, Burn: true, From: machine.Point{X: x0, Y: y0}, To: machine.Point{X: x1, Y: y1}, Length: math.Hypot(x1-x0, y1-y0)}
}

// Rows at any angle, of pixels, to and fro or all one way, are counted, and seams of rows
// beside each other stand apart on the stock, wherever the row was begun.
func TestRowsAreFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "angle")
		apart := rapid.Float64Range(0.02, 0.9).Draw(t, "apart")
		fro := rapid.Bool().Draw(t, "to and fro")
		pixels := rapid.IntRange(1, 4).Draw(t, "pixels")
		sin, cos := math.Sincos(angle)
		at := func(u, v float64) (x, y float64) { return 50 + u*cos - v*sin, 40 + u*sin + v*cos }
		var f Finder
		var last float64
		for row := range 6 {
			for k := range pixels {
				u0, u1 := 20*float64(k)/float64(pixels), 20*float64(k+1)/float64(pixels)
				back := fro && row%2 == 1
				if back {
					u0, u1 = 20-u0, 20-u1
				}
				x0, y0 := at(u0, apart*float64(row))
				x1, y1 := at(u1, apart*float64(row))
				if k == 0 {
					f.Lift()
				}
				turn, seam := f.Take(burn(x0, y0, x1, y1), 100*row+k)
				if turn > 1e-6 {
					t.Fatalf("row %d turns by %g at pixel %d", row, turn, k)
				}
				if f.Beside != row || row > 0 && (f.Start != 100*row || f.Before != 100*(row-1)) {
					t.Fatalf("row %d pixel %d: %d beside, from line %d, before %d", row, k, f.Beside, f.Start, f.Before)
				}
				if row == 0 {
					if seam != 0 {
						t.Fatalf("a line of its own has its seam at %g", seam)
					}
					continue
				}
				if seam < (1-spread)/2 || seam > (1+spread)/2 {
					t.Fatalf("row %d has its seam at %g", row, seam)
				}
				if dx, dy := x1-x0, y1-y0; dx < -1e-6 || math.Abs(dx) <= 1e-6 && dy < 0 {
					seam = 1 - seam // as it lies on the stock
				}
				if k == 0 && row > 1 && math.Abs(seam-last) < 0.25*spread {
					t.Fatalf("seams of rows %d and %d are at %g and %g", row-1, row, last, seam)
				}
				last = seam
			}
		}
	})
}

// What lies too far beside, or goes another way, or is round, begins anew; a path that goes
// on tells by how much it turns.
func TestOthersAreNoRows(t *testing.T) {
	for name, next := range map[string]*machine.Move{
		"far beside": burn(0, 1.5, 10, 1.5), "across": burn(10, 0.1, 10, 5), "askew": burn(0, 0.5, 10, 1.5),
		"an arc": {Kind: machine.Arc, Burn: true, From: machine.Point{X: 10, Y: 0.5}, To: machine.Point{X: 0, Y: 0.5}, CX: 5, CY: 0.5, R0: 5, R1: 5, Sweep: math.Pi, Length: 5 * math.Pi},
	} {
		var f Finder
		f.Take(burn(0, 0, 10, 0), 1)
		f.Lift()
		f.Take(burn(10, 0.1, 0, 0.1), 2)
		f.Lift()
		if turn, at := f.Take(next, 3); f.Beside != 0 || f.Start != 3 || at != 0 || turn != 0 {
			t.Errorf("%s: %d beside, from line %d, turned by %g, seam at %g", name, f.Beside, f.Start, turn, at)
		}
	}
	var f Finder
	f.Take(burn(0, 0, 10, 0), 1)
	if turn, _ := f.Take(burn(10, 0, 10, 5), 2); math.Abs(turn-math.Pi/2) > 1e-12 {
		t.Errorf("a right angle turns by %g", turn)
	}
}
