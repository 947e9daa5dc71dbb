package main

import (
	"math"

	"sagitta/internal/surface"
)

// What stands under a head, sampled: nodes closer together than any head is wide,
// the surface read at each, and boxes by their distance.

const (
	// pitch in mm is that of the nodes, margin how far they go beyond the job.
	pitch, margin = 0.5, 30.0
	// nodes is how many there are on a side, a job being size wide.
	size  = 60.0
	nodes = int((size+2*margin)/pitch) + 1
)

// ground is the surface with the boxes.
type ground struct {
	on    *surface.Placed
	boxes []surface.Box
	node  [nodes * nodes]float64
	// surely and maybe are the highest of the surface under a disk about a node, at
	// least and at most; NaN where it was not asked for.
	surely, maybe map[float64][]float64
}

func newGround(on *surface.Placed, boxes []surface.Box) *ground {
	g := &ground{on: on, boxes: boxes, surely: map[float64][]float64{}, maybe: map[float64][]float64{}}
	for k := range g.node {
		g.node[k], _ = on.At(float64(k%nodes)*pitch-margin, float64(k/nodes)*pitch-margin)
	}
	return g
}

func (g *ground) height(x, y float64) float64 {
	h, _ := g.on.At(x, y)
	return h
}

// under gives the highest under a disk: at least, as sampled, and at most, as far
// as samples tell.
func (g *ground) under(pieces []piece, x, y, radius float64) (least, most float64) {
	i := max(0, min(nodes-1, int(math.Round((x+margin)/pitch))))
	j := max(0, min(nodes-1, int(math.Round((y+margin)/pitch))))
	half := pitch * math.Sqrt2 / 2
	least = max(g.height(x, y), g.disk(g.surely, i, j, radius-half))
	most = max(least, g.disk(g.maybe, i, j, radius+2*half))
	for _, p := range pieces {
		d := math.Hypot(x-min(max(x, p.X0), p.X1), y-min(max(y, p.Y0), p.Y1))
		if d < radius-1e-3 {
			least = max(least, p.least)
		}
		if d < radius+0.1 {
			most = max(most, p.most)
		}
	}
	for _, b := range g.boxes {
		d := math.Hypot(x-min(max(x, b.X0), b.X1), y-min(max(y, b.Y0), b.Y1))
		if d < radius-1e-3 {
			least = max(least, b.Height)
		}
		if d < radius+0.1 {
			most = max(most, b.Height)
		}
	}
	return least, max(least, most)
}

func (g *ground) disk(known map[float64][]float64, i, j int, radius float64) float64 {
	if radius < 0 {
		return math.Inf(-1)
	}
	list := known[radius]
	if list == nil {
		list = make([]float64, nodes*nodes)
		for k := range list {
			list[k] = math.NaN()
		}
		known[radius] = list
	}
	v := &list[j*nodes+i]
	if *v == *v {
		return *v
	}
	*v = math.Inf(-1)
	n := int(radius / pitch)
	for dj := -n; dj <= n; dj++ {
		for di := -n; di <= n; di++ {
			a, b := i+di, j+dj
			if a >= 0 && b >= 0 && a < nodes && b < nodes && math.Hypot(float64(di), float64(dj))*pitch <= radius {
				*v = max(*v, g.node[b*nodes+a])
			}
		}
	}
	return *v
}

// head is what is known of a head with a lens: how far it must stay over what lies
// within the radius, how high its tip is over the focus, and how much too near the
// lens may come. Where known is false there is the lens alone.
type head struct {
	known                 bool
	radius, gap, standoff float64
	near, defocus         float64
}

// short is by how much the focus is too low at a place for a head: as sampled, and
// at most, as far as samples tell. Where level is false burns are programmed at
// several Z, and only the tip is looked at.
func (g *ground) short(h *head, pieces []piece, x, y, focus float64, level bool) (least, most float64) {
	least = math.Inf(-1)
	if level {
		least = g.height(x, y) + h.defocus - h.near - focus
	}
	most = least
	if h.known {
		a, b := g.under(pieces, x, y, h.radius)
		least, most = max(least, a+h.gap-h.standoff-focus), max(most, b+h.gap-h.standoff-focus)
	}
	return least, most
}
