package verify_test

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"sagitta/internal/machine/drawn"
	"sagitta/internal/stream"
	"sagitta/internal/surface/surfacetest"
	"sagitta/internal/verify"
)

// What closes on itself is found by two readings that share nothing: the same
// rectangles, in the same order, as high as the highest under each.
func TestPiecesAreWhatCloses(t *testing.T) {
	found := 0
	const runs = 4 // few programs have any
	for run := range runs {
		rapid.Check(t, func(t *rapid.T) {
			for range run { // also from a given seed each run draws its own
				rapid.Uint64().Draw(t, "run")
			}
			found += piecesAreWhatCloses(t)
		})
	}
	t.Logf("%d pieces", found)
	if found == 0 {
		t.Error("nothing ever closed")
	}
}

// piecesAreWhatCloses draws a program and a surface, and counts the pieces.
func piecesAreWhatCloses(t *rapid.T) int {
	p := drawn.Draw(t, drawn.Options{Side: 60})
	on := surfacetest.Draw(t, 60, []float64{5, 20}, []float64{0, 1}).Placed(t)
	var rects []orb.Bound
	c := stream.Closed{Free: func(b orb.Bound) { rects = append(rects, b) }}
	if err := stream.Scan(strings.NewReader(p.Text), stream.Options{Name: "p", Machine: p.Config()}, c.Take); err != nil {
		t.Skip(err)
	}
	c.End()
	pieces, err := verify.Pieces(strings.NewReader(p.Text), "p", p.Config(), on, 3)
	if err != nil {
		t.Fatal(err)
	}
	if len(pieces) != len(rects) || len(rects) != c.Count {
		t.Fatalf("%d pieces, %d rectangles, %d counted\n%s", len(pieces), len(rects), c.Count, p.Text)
	}
	for k, b := range pieces {
		r := rects[k]
		if off := max(math.Abs(b.X0-r.Min[0]), math.Abs(b.Y0-r.Min[1]), math.Abs(b.X1-r.Max[0]), math.Abs(b.Y1-r.Max[1])); off > 1e-3 {
			t.Fatalf("%+v is %+v\n%s", b, r, p.Text)
		}
		top := math.Inf(-1)
		for i := range 21 {
			for j := range 21 {
				h, _ := on.At(b.X0+(b.X1-b.X0)*float64(i)/20, b.Y0+(b.Y1-b.Y0)*float64(j)/20)
				top = max(top, h)
			}
		}
		near := on.MaxSlope() * math.Hypot(b.X1-b.X0, b.Y1-b.Y0) / 20
		if b.Height < top+3-1e-3 || b.Height > top+3+near+1e-3 {
			t.Fatalf("%+v, with %g at most under it", b, top)
		}
	}
	return len(rects)
}
