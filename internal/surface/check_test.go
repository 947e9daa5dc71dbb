package surface

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

// path gives program XY at a fraction of a move.
type path func(s float64) (x, y float64)

func linePath(x0, y0, x1, y1 float64) path {
	return func(s float64) (float64, float64) {
		if s == 1 {
			return x1, y1
		}
		return x0 + s*(x1-x0), y0 + s*(y1-y0)
	}
}

func arcPath(cx, cy, r0, r1, a0, sweep float64) path {
	return func(s float64) (float64, float64) {
		sin, cos := math.Sincos(a0 + s*sweep)
		r := r0 + s*(r1-r0)
		return cx + r*cos, cy + r*sin
	}
}

// fractions are where a piece is sampled: evenly, and close to its ends.
var fractions = func() []float64 {
	f := []float64{0, 1e-12, 1e-9, 1e-6, 1e-3, 1 - 1e-3, 1 - 1e-6, 1 - 1e-9, 1 - 1e-12, 1}
	for k := 1; k < 24; k++ {
		f = append(f, float64(k)/24)
	}
	return f
}()

// around are the steps to places that count as the same place.
var around = [][2]float64{{0, 0}, {1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1}}

// checkPieces is the one judge of pieces: they cover 0 to 1 in order and
// without gaps, each lies in one cell, has the right Where, and bounds what
// At gives, also sideways; none is over the tolerance without cause. Those of
// an arc are in one cell, and meet the heights at their ends, but for what it
// leaves its chords by.
func checkPieces(p *Placed, pieces []Piece, at path, tol, lateral float64, arc bool) error {
	if len(pieces) == 0 {
		return fmt.Errorf("no pieces")
	}
	if pieces[0].S0 != 0 || pieces[len(pieces)-1].S1 != 1 {
		return fmt.Errorf("pieces cover %v to %v", pieces[0].S0, pieces[len(pieces)-1].S1)
	}
	allow := p.Allowance()
	// The limit of pieces in a cell comes to bear on slopes that no stock has.
	// Past that of an arc a stretch may be refused that has places on the surface.
	// Then there are too many pieces to look into each.
	capped, every := len(pieces) > maxArcPieces, 1+len(pieces)/20000
	wild := len(pieces) >= maxSplits || p.cubic != nil && (p.slope > 100 || p.high-p.low > 20)
	for k, c := range pieces {
		if k > 0 && c.S0 != pieces[k-1].S1 {
			return fmt.Errorf("piece %d starts at %v, the one before ended at %v", k, c.S0, pieces[k-1].S1)
		}
		if !(c.S1 > c.S0) || !(c.Up >= 0) || !(c.Down >= 0) || math.IsInf(c.Up+c.Down+c.H0+c.H1, 0) || c.H0 != c.H0 || c.H1 != c.H1 {
			return fmt.Errorf("piece %d: %+v", k, c)
		}
		if lateral == 0 && max(c.Up, c.Down) > max(tol, PlaceToleranceMM)*(1+1e-9) && !wild {
			return fmt.Errorf("piece %d of %d is over the tolerance %v: %+v", k, len(pieces), tol, c)
		}
		if err := checkOneCell(p, c, at); err != nil && !arc {
			return fmt.Errorf("piece %d: %w", k, err)
		}
		if k%every > 0 || capped && c.Where == Outside {
			continue
		}
		for _, f := range fractions {
			s := min(c.S0+f*(c.S1-c.S0), c.S1)
			t := (s - c.S0) / (c.S1 - c.S0)
			chord := c.H0 + t*(c.H1-c.H0)
			x, y := at(s)
			if !within(p, x, y, c, chord, allow, !arc && (f == 0 || f == 1)) {
				h, w := p.At(x, y)
				return fmt.Errorf("piece %d at s %v (f %v): height %v %d is not in %v -%v +%v, %+v", k, s, f, h, w, chord, c.Down, c.Up, c)
			}
			if lateral == 0 || p.hold != nil {
				continue
			}
			for a := range 8 {
				sin, cos := math.Sincos(float64(a) * math.Pi / 4)
				h, _ := p.At(x+lateral*cos, y+lateral*sin)
				if h > chord+c.Up+allow || h < chord-c.Down-allow {
					return fmt.Errorf("piece %d at s %v, %v aside: height %v is not in %v -%v +%v", k, s, lateral, h, chord, c.Down, c.Up)
				}
			}
		}
	}
	return nil
}

// within reports whether the height at x, y, or at a place that counts as the
// same, is what the piece says.
func within(p *Placed, x, y float64, c Piece, chord, allow float64, end bool) bool {
	for _, d := range around {
		// Steps along the grid's axes, to get out of a corner.
		dx, dy := p.cos*d[0]-p.sin*d[1], p.sin*d[0]+p.cos*d[1]
		h, w := p.At(x+2*dx*PlaceToleranceMM, y+2*dy*PlaceToleranceMM)
		up, down := c.Up, c.Down
		if end { // the chord meets the heights there
			up, down = 0, 0
		}
		if w == c.Where && h <= chord+up+3*allow && h >= chord-down-3*allow {
			return true
		}
	}
	return false
}

// checkOneCell reports whether a piece's ends and middle share a cell.
func checkOneCell(p *Placed, c Piece, at path) error {
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, s := range []float64{c.S0, (c.S0 + c.S1) / 2, c.S1} {
		x, y := p.Local(at(s))
		lo = [2]float64{min(lo[0], x), min(lo[1], y)}
		hi = [2]float64{max(hi[0], x), max(hi[1], y)}
	}
	for k, a := range []axis{p.x, p.y} {
		for _, n := range a.node {
			if lo[k] < n-1e-8 && hi[k] > n+1e-8 {
				return fmt.Errorf("%+v crosses the grid line %v (axis %d)", c, n, k)
			}
		}
	}
	return nil
}

// drawAxis makes even and uneven nodes, with cells down to a micrometre.
func drawAxis(t *rapid.T, name string) []float64 {
	n := rapid.IntRange(2, 9).Draw(t, name+" count")
	kind := rapid.IntRange(0, 3).Draw(t, name+" kind")
	v := rapid.SampledFrom([]float64{0, 0, -17, 3.25, 250.125}).Draw(t, name+" start")
	node := []float64{v}
	for len(node) < n {
		step := 10.0
		switch kind {
		case 1:
			step = rapid.Float64Range(0.5, 30).Draw(t, "step")
		case 2:
			step = rapid.SampledFrom([]float64{0.1, 1, 7, 40}).Draw(t, "step")
		case 3:
			step = rapid.SampledFrom([]float64{1e-3, 0.05, 3}).Draw(t, "step")
		}
		v += step
		node = append(node, v)
	}
	return node
}

// gridOf makes a surface of the text of a grid, as of a file f, whose header
// lines say h; lines that begin with # pass.
func gridOf(t testing.TB, h Header, text string) *Surface {
	t.Helper()
	var x, y, z []float64
	for line := range strings.Lines(text) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		var row []float64
		for _, field := range strings.Split(strings.TrimSpace(line), ",") {
			v, err := strconv.ParseFloat(strings.TrimSpace(field), 64)
			if err != nil {
				v = math.NaN()
			}
			row = append(row, v)
		}
		if x == nil {
			x = row[1:]
			continue
		}
		y, z = append(y, row[0]), append(z, row[1:]...)
	}
	s, err := New(x, y, z)
	if err == nil {
		s, err = s.WithHeader(h)
	}
	if err != nil {
		t.Fatal(err)
	}
	from := Source{Name: "f", Digest: "d", Where: map[string]diag.Place{}}
	if h.Method != "" {
		from.Where["method"] = diag.Place{File: "f", Line: 2, Col: 11}
	}
	if h.WrapsYMM != 0 {
		from.Where["wraps_y_mm"] = diag.Place{File: "f", Line: 1, Col: 15}
	}
	return s.WithSource(from)
}

// drawPlaced makes surfaces: flat, planes, cliffs, rough ones, with holes.
func drawPlaced(t *rapid.T) *Placed {
	x, y := drawAxis(t, "x"), drawAxis(t, "y")
	method := rapid.SampledFrom([]string{"bilinear", "bilinear", "bicubic"}).Draw(t, "method")
	shape := rapid.IntRange(0, 4).Draw(t, "shape")
	holes := rapid.IntRange(0, 3).Draw(t, "holes") == 0 && method == "bilinear"
	z := make([]float64, 0, len(x)*len(y))
	for _, yv := range y {
		for _, xv := range x {
			h := 0.0
			switch shape {
			case 1:
				h = 0.01*(xv-x[0]) - 0.02*(yv-y[0])
			case 2:
				h = rapid.SampledFrom([]float64{0, 0, 5}).Draw(t, "cliff")
			case 3:
				h = math.Sin(xv/15) + math.Cos(yv/11)
			case 4:
				h = rapid.Float64Range(-2, 2).Draw(t, "rough")
			}
			if holes && rapid.IntRange(0, 3).Draw(t, "missing") == 0 {
				h = math.NaN()
			}
			z = append(z, h)
		}
	}
	if highest(z...) != highest(z...) {
		z[0] = 1
	}
	s, err := New(x, y, z)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Place(s, Placement{
		ShiftX:    rapid.SampledFrom([]float64{0, 0, 100, -33.3}).Draw(t, "shift x"),
		ShiftY:    rapid.SampledFrom([]float64{0, 0, 7.7}).Draw(t, "shift y"),
		RotateDeg: rapid.SampledFrom([]float64{0, 0, 90, 180, -90, 30, 45, 359.9, 0.001}).Draw(t, "rotate"),
		Method:    method,
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// drawCoordinate picks places that matter on an axis: nodes, all but nodes,
// between, at and beyond the edge, far away.
func drawCoordinate(t *rapid.T, a *axis, name string) float64 {
	n := rapid.SampledFrom(a.node).Draw(t, name+" node")
	first, last := a.node[0], a.node[a.cells()]
	switch rapid.IntRange(0, 5).Draw(t, name+" kind") {
	case 0, 1:
		return n
	case 2:
		return n + rapid.SampledFrom([]float64{1e-15, -1e-15, 1e-12, -1e-12, 5e-10, -5e-10, 3e-9, -3e-9, 1e-6, -1e-6}).Draw(t, name+" off")
	case 3:
		return first + (last-first)*rapid.Float64Range(-0.5, 1.5).Draw(t, name+" part")
	case 4:
		return n + rapid.Float64Range(-1, 1).Draw(t, name+" by")
	}
	return rapid.SampledFrom([]float64{-5000, 5000, 400}).Draw(t, name+" far")
}

func drawPoint(t *rapid.T, p *Placed, name string) (x, y float64) {
	return p.Program(drawCoordinate(t, &p.x, name+" x"), drawCoordinate(t, &p.y, name+" y"))
}

func readTestdata(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
