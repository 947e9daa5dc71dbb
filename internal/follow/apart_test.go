package follow

import (
	"bytes"
	"io"
	"math"
	"testing"

	"sagitta/internal/machine"
	"sagitta/scripts/speed/jobs"
)

// What the bounds of loose chunks and of rough burns allow must be no more than
// the heights do, at every place of every line, and no less than the string
// takes; so must what is known of each line.
func TestBoundsAreBounds(t *testing.T) {
	p := wavySheet(t)
	const places = 24
	for _, defocus := range []float64{0, 0.4} {
		opt := testOptions(p, 1.5, 1.1, 0.5)
		opt.Defocus, opt.Window = defocus, 1<<20
		f := newRunner(io.Discard, &opt)
		s := newSource(bytes.NewReader(jobText(t, jobs.All[3], 1<<19)), &opt)
		f.source = s
		go s.run()
		for b := range s.full { // none comes back, so all stay as they are
			for i := range b.items {
				if err := f.take(&b.items[i]); err != nil {
					t.Fatal(err)
				}
			}
		}
		f.pullBounded()
		chunks, tight, nearest := 0, 0, math.Inf(1)
		for _, h := range f.blocks {
			if !h.rough {
				continue
			}
			if f.beyond(h, f.c[h.g0], f.c[h.g1]) {
				t.Fatalf("line %d: the string leaves the bounds", h.block.Line)
			}
			moves, from := []machine.Move{h.mv}, 0.0
			if h.loose {
				chunks++
				moves = moves[:0]
				before := h.pieces[0].H0
				for k := h.first; k < h.end; k++ {
					m, l := f.moveOf(h, k), h.batch.looks[k]
					moves = append(moves, m)
					most := 0.0
					for q := range places + 1 {
						at := float64(q) / places
						xy := m.XY(at)
						high, _ := p.At(xy[0], xy[1])
						most = max(most, math.Abs(high-before-at*(l.h-before)))
					}
					if most > float64(l.off)+1e-9 {
						t.Fatalf("line %d of %+v: off by %g", h.block.Line+k-h.first, l, most)
					}
					if l.known == knownClosely {
						tight++
					}
					before = l.h
				}
			}
			for _, m := range moves {
				for q := range places + 1 {
					at := float64(q) / places
					xy := m.XY(at)
					high, _ := p.At(xy[0], xy[1])
					high += defocus
					d := (from + at*m.Length) / h.mv.Length
					a := h.bound[0].a + d*(h.bound[1].a-h.bound[0].a)
					b := h.bound[0].b + d*(h.bound[1].b-h.bound[0].b)
					nearest = min(nearest, a-high, high-b)
					if high > a+2*outOfBounds || high < b-2*outOfBounds {
						t.Fatalf("defocus %g, line %d: %g high, bound to %g and %g", defocus, h.block.Line, high, b, a)
					}
				}
				from += m.Length
			}
		}
		if chunks < 100 || tight < 5 || nearest > 0.002 {
			t.Errorf("defocus %g: %d chunks, %d lines looked at closer, nearest %g mm", defocus, chunks, tight, nearest)
		}
	}
}
