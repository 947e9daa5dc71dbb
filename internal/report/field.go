package report

import (
	"image"
	"math"

	"gonum.org/v1/plot/palette"
)

// cells of the picture along its longer side.
const cells = 160

// flatMM is the least difference of heights that is drawn: far less than any touch tells.
const flatMM = 1e-4

// sampled is a plotter.GridXYZ of heights.
type sampled struct {
	x, y, z   []float64
	low, high float64
	muted     bool         // colours are lighter, under a job
	mask      *image.NRGBA // white where there is no height, clear elsewhere; nil without such places
}

func (s *sampled) Dims() (c, r int)   { return len(s.x), len(s.y) }
func (s *sampled) Z(c, r int) float64 { return s.z[r*len(s.x)+c] }
func (s *sampled) X(c int) float64    { return s.x[c] }
func (s *sampled) Y(r int) float64    { return s.y[r] }

// flat reports whether there is nothing to tell heights apart by.
func (s *sampled) flat() bool { return !(s.high-s.low >= flatMM) }

// colours are those of the heights.
func (s *sampled) colours() palette.ColorMap {
	if s.muted {
		return colours(light(scale), s.low, s.high)
	}
	return colours(scale, s.low, s.high)
}

func (m *Map) sample() *sampled {
	w, h := m.Top[0]-m.Low[0], m.Top[1]-m.Low[1]
	step := math.Max(w, h) / cells
	nx, ny := max(int(w/step), leastCells), max(int(h/step), leastCells)
	s := &sampled{muted: m.Over != nil, low: math.Inf(1), high: math.Inf(-1)}
	for i := range nx {
		s.x = append(s.x, m.Low[0]+w*(float64(i)+0.5)/float64(nx))
	}
	for j := range ny {
		s.y = append(s.y, m.Low[1]+h*(float64(j)+0.5)/float64(ny))
		for i := range nx {
			z, there := m.At(s.x[i], s.y[j])
			s.z = append(s.z, z)
			if there {
				s.low, s.high = min(s.low, z), max(s.high, z)
				continue
			}
			if s.mask == nil {
				s.mask = image.NewNRGBA(image.Rect(0, 0, nx, ny))
			}
			s.mask.Set(i, ny-1-j, sheetPaper)
		}
	}
	return s
}

// leastCells are there along a short side, so that contours across a strip are smooth.
const leastCells = 40

// interval is the even step of contours between two heights, 1, 2 or 5 times a power of
// ten.
func interval(low, high float64) float64 {
	ticks := evenTicks{mostTicks}.Ticks(low, high)
	if len(ticks) < 2 {
		return 0
	}
	return ticks[1].Value - ticks[0].Value
}
