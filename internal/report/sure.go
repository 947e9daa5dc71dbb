package report

import (
	"fmt"
	"math"

	"gonum.org/v1/plot/vg"

	"sagitta/internal/phrase"
)

// Sure is how sure heights are in places: the standard uncertainty at x, y in mm, and the
// least and the greatest there is.
type Sure struct {
	At              func(x, y float64) float64
	Least, Greatest float64
}

const (
	// dotEvery is how far apart the dots are that show where heights are less sure.
	dotEvery = vg.Length(9)
	// leastDot and mostDot are the radii of the smallest and the largest of them, dotSizes
	// how many there are, and dotRim is the white about them.
	leastDot, mostDot = vg.Length(0.45), vg.Length(1.7)
	dotSizes          = 5
	dotRim            = vg.Length(0.6)
)

// lessSure draws dots, the larger the less sure heights are; none where they are surest, nor
// where there is a text or a mark.
func (p *panel) lessSure() {
	s := p.m.Sure
	if s == nil {
		return
	}
	var rims, dots vg.Path
	disc := func(to *vg.Path, at vg.Point, r vg.Length) {
		to.Move(vg.Point{X: at.X + r, Y: at.Y})
		to.Arc(at, r, 0, 2*math.Pi)
		to.Close()
	}
	from, to := p.at(p.m.Low[0], p.m.Low[1]), p.at(p.m.Top[0], p.m.Top[1])
	for y := from.Y + dotEvery/2; y < to.Y; y += dotEvery {
		for x := from.X + dotEvery/2; x < to.X; x += dotEvery {
			at := vg.Point{X: x, Y: y}
			mx, my := p.back(at)
			if _, there := p.m.At(mx, my); !there {
				continue
			}
			if size := s.size(mx, my); size > 0 {
				if box := boxOf(at, mostDot+dotRim); !p.labels.taken.free(box) || !p.labels.places.free(box) {
					continue
				}
				r := leastDot + (mostDot-leastDot)*vg.Length(size-1)/(dotSizes-1)
				disc(&rims, at, r+dotRim)
				disc(&dots, at, r)
			}
		}
	}
	p.canvas.SetColor(sheetPaper)
	p.canvas.Fill(rims)
	p.canvas.SetColor(sheetInk)
	p.canvas.Fill(dots)
}

// size is that of the dot at a place, 0 for none.
func (s *Sure) size(x, y float64) int {
	return int(math.Ceil((s.At(x, y) - s.Least) / (s.Greatest - s.Least) * dotSizes * (1 - 1e-9)))
}

// note says what the dots mean.
func (s *Sure) note() string {
	return fmt.Sprintf("dots: where heights are less sure, the larger the dot the less; standard uncertainty from %s mm, where there are none, to %s mm", phrase.Short(s.Least), phrase.Short(s.Greatest))
}
