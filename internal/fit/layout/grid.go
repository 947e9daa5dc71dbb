package layout

import (
	"math"
	"slices"

	"sagitta/internal/surface"
)

// gridPart is the part of a grid that points must fill to be on it.
const gridPart = 0.5

// GridOf finds the grid that points lie on, nil where they lie on none: their
// x and y values, joined where they differ by no more than tol, must make a
// grid of which half the nodes were touched.
func GridOf(points []surface.Point, tol float64) *surface.Surface {
	xs, ys := make([]float64, len(points)), make([]float64, len(points))
	for k, p := range points {
		xs[k], ys[k] = p.X, p.Y
	}
	x, y := nodes(xs, tol), nodes(ys, tol)
	if float64(len(x))*float64(len(y))*gridPart > float64(len(points)) {
		return nil
	}
	return OnNodes(x, y, points)
}

// OnNodes puts each point on the node nearest to it. It returns nil where two
// come to one node, and where there is no grid of two nodes each way.
func OnNodes(x, y []float64, points []surface.Point) *surface.Surface {
	z := slices.Repeat([]float64{math.NaN()}, len(x)*len(y))
	for _, p := range points {
		k := Nearest(y, p.Y)*len(x) + Nearest(x, p.X)
		if z[k] == z[k] {
			return nil
		}
		z[k] = p.Z
	}
	g, err := surface.New(x, y, z)
	if err != nil {
		return nil
	}
	return g
}

// nodes joins values that differ by no more than tol to their mean.
func nodes(v []float64, tol float64) []float64 {
	slices.Sort(v)
	var out []float64
	for a := 0; a < len(v); {
		b, sum := a, 0.0
		for b < len(v) && v[b]-v[a] <= tol {
			sum += v[b] - v[a]
			b++
		}
		out = append(out, v[a]+sum/float64(b-a))
		a = b
	}
	return out
}

// Nearest is the node nearest to v, of nodes that rise.
func Nearest(node []float64, v float64) int {
	i, _ := slices.BinarySearch(node, v)
	if i == len(node) || i > 0 && v-node[i-1] < node[i]-v {
		i--
	}
	return i
}

// PerSpacing makes of mm spacings of points. Where they lie on a lattice whose spacings
// differ by axis, it is those that count; tol is as in GridOf.
func PerSpacing(points []surface.Point, tol float64) (perX, perY float64) {
	if g := GridOf(points, tol); g != nil {
		return 1 / spacing(g.X()), 1 / spacing(g.Y())
	}
	lo, hi := Box(points)
	w, h := hi[0]-lo[0], hi[1]-lo[1]
	if w*h == 0 {
		return 1, 1
	}
	per := math.Sqrt(float64(len(points)) / w / h)
	return per, per
}

// spacing is the median distance of nodes.
func spacing(nodes []float64) float64 {
	var d []float64
	for k := range len(nodes) - 1 {
		d = append(d, nodes[k+1]-nodes[k])
	}
	slices.Sort(d)
	return d[len(d)/2]
}
