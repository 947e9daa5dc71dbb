package zone

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"sagitta/internal/cover"
	"sagitta/internal/surface"
)

// meshCells is how many cells the mesh for looking at has on a side.
const meshCells = 64

// mesh is the surface as triangles, coarse enough for a picture.
type mesh struct {
	at  [(meshCells + 1) * (meshCells + 1)]orb.Point // program XY
	h   [(meshCells + 1) * (meshCells + 1)]float64
	out [(meshCells + 1) * (meshCells + 1)]bool // no height there
}

func newMesh(p *surface.Placed) *mesh {
	m := &mesh{}
	x, y := p.Surface().X(), p.Surface().Y()
	x0, y0, dx, dy := x[0], y[0], x[len(x)-1]-x[0], y[len(y)-1]-y[0]
	for j := range meshCells + 1 {
		for i := range meshCells + 1 {
			k := j*(meshCells+1) + i
			px, py := p.Program(x0+dx*float64(i)/meshCells, y0+dy*float64(j)/meshCells)
			h, where := p.At(px, py)
			m.at[k] = orb.Point{math.Round(px*1e4) / 1e4, math.Round(py*1e4) / 1e4}
			m.h[k], m.out[k] = h, where == surface.Hole
		}
	}
	return m
}

// edge is a directed edge between two points.
type edge struct{ from, to orb.Point }

// band gives the part of the mesh whose heights are within a band, as
// polygons: each triangle is clipped to the band, edges that two of them
// share are dropped, and the rest are joined into rings.
func (m *mesh) band(b cover.Span) orb.MultiPolygon {
	edges := map[edge]bool{}
	order := []edge{}
	add := func(ring []orb.Point) {
		for i := range ring {
			e := edge{ring[i], ring[(i+1)%len(ring)]}
			if e.from == e.to {
				continue
			}
			if back := (edge{e.to, e.from}); edges[back] {
				delete(edges, back)
				continue
			}
			edges[e] = true
			order = append(order, e)
		}
	}
	for j := range meshCells {
		for i := range meshCells {
			k := j*(meshCells+1) + i
			a, c, d, e := k, k+1, k+meshCells+2, k+meshCells+1
			for _, t := range [2][3]int{{a, c, d}, {a, d, e}} {
				if m.out[t[0]] || m.out[t[1]] || m.out[t[2]] {
					continue
				}
				if ring := m.clip(t, b); len(ring) > 2 {
					add(ring)
				}
			}
		}
	}
	return rings(edges, order)
}

// clip gives the part of a triangle within a band.
func (m *mesh) clip(t [3]int, b cover.Span) []orb.Point {
	lo := min(m.h[t[0]], m.h[t[1]], m.h[t[2]])
	hi := max(m.h[t[0]], m.h[t[1]], m.h[t[2]])
	if hi < b.Lo || lo > b.Hi {
		return nil
	}
	var ring []orb.Point
	for i := range t {
		p, q := t[i], t[(i+1)%3]
		if m.h[p] >= b.Lo && m.h[p] <= b.Hi {
			ring = append(ring, m.at[p])
		}
		levels := [2]float64{b.Lo, b.Hi}
		if m.h[p] > m.h[q] {
			levels = [2]float64{b.Hi, b.Lo}
		}
		for _, v := range levels {
			if (m.h[p]-v)*(m.h[q]-v) < 0 {
				ring = append(ring, m.cross(p, q, v))
			}
		}
	}
	return ring
}

// cross is where the side between two corners has a height; the same from
// either end.
func (m *mesh) cross(p, q int, v float64) orb.Point {
	if p > q {
		p, q = q, p
	}
	t := (v - m.h[p]) / (m.h[q] - m.h[p])
	return orb.Point{
		math.Round((m.at[p][0]+(m.at[q][0]-m.at[p][0])*t)*1e4) / 1e4,
		math.Round((m.at[p][1]+(m.at[q][1]-m.at[p][1])*t)*1e4) / 1e4,
	}
}

// rings joins edges into rings, and rings into polygons: those that run
// counter-clockwise are outlines, the others holes in one of them.
func rings(edges map[edge]bool, order []edge) orb.MultiPolygon {
	next := map[orb.Point][]edge{}
	for _, e := range order {
		if edges[e] {
			edges[e] = false // once
			next[e.from] = append(next[e.from], e)
		}
	}
	var out orb.MultiPolygon
	var holes []orb.Ring
	for _, e := range order {
		var ring orb.Ring
		for at := e.from; len(next[at]) > 0; {
			list := next[at]
			ring = append(ring, at)
			next[at] = list[:len(list)-1]
			at = list[len(list)-1].to
		}
		if len(ring) < 3 {
			continue
		}
		ring = append(ring, ring[0])
		if ring.Orientation() == orb.CCW {
			out = append(out, orb.Polygon{ring})
		} else {
			holes = append(holes, ring)
		}
	}
	for _, h := range holes {
		best := -1
		for i := range out {
			if planar.RingContains(out[i][0], h[0]) && (best < 0 || planar.RingContains(out[best][0], out[i][0][0])) {
				best = i
			}
		}
		if best >= 0 {
			out[best] = append(out[best], h)
		}
	}
	return out
}
