package fit

import (
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/paulmach/orb/quadtree"
)

// neighbours finds the points around a place.
type neighbours struct {
	points []Point
	tree   *quadtree.Quadtree
	room   []orb.Pointer
}

// site is a point in the tree, by its index.
type site struct {
	at orb.Point
	k  int32
}

// Point is where the site is.
func (s *site) Point() orb.Point { return s.at }

func newNeighbours(points []Point) *neighbours {
	lo, hi := box(points)
	n := &neighbours{points: points, tree: quadtree.New(orb.Bound{Min: lo, Max: hi})}
	sites := make([]site, len(points))
	for k := range points {
		sites[k] = site{orb.Point{points[k].X, points[k].Y}, int32(k)}
		if err := n.tree.Add(&sites[k]); err != nil {
			panic("fit: " + err.Error()) // the box holds all points
		}
	}
	return n
}

// found is a point and the square of its distance.
type found struct {
	k  int32
	d2 float64
}

// around puts into dst the count points nearest to x, y, nearest first, but for
// those that skip names.
func (n *neighbours) around(dst []found, x, y float64, count int, skip func(k int32) bool) []found {
	at := orb.Point{x, y}
	n.room = n.tree.KNearestMatching(n.room, at, count, func(p orb.Pointer) bool { return !skip(p.(*site).k) })
	dst = dst[:0]
	for _, p := range n.room {
		dst = append(dst, found{p.(*site).k, planar.DistanceSquared(p.Point(), at)})
	}
	return dst
}
