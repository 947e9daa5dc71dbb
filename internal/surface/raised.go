package surface

import (
	"fmt"
	"math"
	"slices"
)

// Raise is stock that stands otherwise than the rest: within a box of the surface's own
// coordinates by MM higher at At, and by Slope more along X and Y from there.
type Raise struct {
	X0, Y0, X1, Y1 float64
	At             [2]float64
	MM             float64
	Slope          [2]float64
}

// by is by how much it is higher at a place.
func (r *Raise) by(x, y float64) float64 {
	return r.MM + r.Slope[0]*(x-r.At[0]) + r.Slope[1]*(y-r.At[1])
}

// edge in mm is how wide the step is beside such a box, in which the height goes back to
// that of the rest: stock has upright sides.
const edge = 0.1

// Overlap reports whether the boxes of two come nearer than their edges let them.
func (r *Raise) Overlap(o *Raise) bool {
	const apart = 2*edge + 10*MinSpacingMM
	return r.X0 < o.X1+apart && o.X0 < r.X1+apart && r.Y0 < o.Y1+apart && o.Y0 < r.Y1+apart
}

// Raised is the surface, read bilinearly, with stock that stands otherwise within boxes
// that do not overlap: exactly the same outside of these and their edges, and exactly so
// much higher inside. For that lines of nodes are put in; where the uncertainty differs by
// place none gets less of it.
func (s *Surface) Raised(list []Raise) (*Surface, error) {
	var atX, atY []float64
	for k := range list {
		r := &list[k]
		atX = append(atX, r.X0-edge, r.X0, r.X1, r.X1+edge)
		atY = append(atY, r.Y0-edge, r.Y0, r.Y1, r.Y1+edge)
		for o := range k {
			if r.Overlap(&list[o]) {
				return nil, fmt.Errorf("raised stock %d and %d overlap", o+1, k+1)
			}
		}
	}
	x, y := withNodes(s.x, atX), withNodes(s.y, atY)
	if len(x)*len(y) > mostRaised {
		return nil, fmt.Errorf("%d by %d nodes are more than %d", len(x), len(y), mostRaised)
	}
	z := make([]float64, 0, len(x)*len(y))
	var errs []float64
	for _, v := range y {
		j, fj := cellOf(s.y, v)
		for _, u := range x {
			i, fi := cellOf(s.x, u)
			h := s.between(i, j, fi, fj)
			for k := range list {
				if r := &list[k]; r.X0-MinSpacingMM <= u && u <= r.X1+MinSpacingMM && r.Y0-MinSpacingMM <= v && v <= r.Y1+MinSpacingMM {
					h += r.by(u, v)
				}
			}
			z = append(z, h)
			if s.errors != nil {
				errs = append(errs, s.worst(i, j, fi, fj))
			}
		}
	}
	made, err := New(x, y, z)
	if err != nil {
		return nil, err
	}
	if made, err = made.WithHeader(s.header); err != nil || errs == nil {
		return made, err
	}
	return made.WithErrors(errs)
}

// mostRaised bounds the nodes of such a surface.
const mostRaised = 16 << 20

// withNodes puts further nodes among those of an axis, within it, but for such as stand on
// one that is there.
func withNodes(nodes, more []float64) []float64 {
	all := slices.Clone(nodes)
	first, last := nodes[0], nodes[len(nodes)-1]
	for _, v := range more {
		k, _ := slices.BinarySearch(all, v)
		near := k < len(all) && all[k]-v < 2*MinSpacingMM || k > 0 && v-all[k-1] < 2*MinSpacingMM
		if v > first && v < last && !near {
			all = slices.Insert(all, k, v)
		}
	}
	return all
}

// cellOf is the cell of an axis that has v, and which part of it is before v.
func cellOf(nodes []float64, v float64) (i int, f float64) {
	i, _ = slices.BinarySearch(nodes, v)
	i = min(max(i, 1), len(nodes)-1) - 1
	if v == nodes[i+1] {
		return i, 1
	}
	return i, (v - nodes[i]) / (nodes[i+1] - nodes[i])
}

// between is the height within a cell; of a missing height that it does not count on
// nothing is taken.
func (s *Surface) between(i, j int, fi, fj float64) float64 {
	h := 0.0
	for _, c := range [4]struct {
		i, j int
		w    float64
	}{{i, j, (1 - fi) * (1 - fj)}, {i + 1, j, fi * (1 - fj)}, {i, j + 1, (1 - fi) * fj}, {i + 1, j + 1, fi * fj}} {
		if c.w != 0 {
			h += c.w * s.Height(c.i, c.j)
		}
	}
	return h
}

// worst is the uncertainty of a node: its own, or of one that was put in the greatest of
// the cells about it.
func (s *Surface) worst(i, j int, fi, fj float64) float64 {
	on := func(k int, f float64) (int, bool) {
		switch f {
		case 0:
			return k, true
		case 1:
			return k + 1, true
		}
		return k, false
	}
	ni, isX := on(i, fi)
	nj, isY := on(j, fj)
	if isX && isY {
		return s.ErrorAt(ni, nj)
	}
	i0, i1, j0, j1 := i, i+1, j, j+1
	if isX {
		i0, i1 = max(ni-1, 0), min(ni+1, len(s.x)-1)
	}
	if isY {
		j0, j1 = max(nj-1, 0), min(nj+1, len(s.y)-1)
	}
	most := math.Inf(-1)
	for v := j0; v <= j1; v++ {
		for u := i0; u <= i1; u++ {
			if e := s.ErrorAt(u, v); e > most {
				most = e
			}
		}
	}
	return max(most, s.header.ErrorMM)
}
