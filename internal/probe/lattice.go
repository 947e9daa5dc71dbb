package probe

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
)

const (
	// leastNodes along each axis show a bend.
	leastNodes = 3
	// maxPlaces is a long night of touching; more is a slip of the depth or
	// the bow.
	maxPlaces = 2000
	// perCell is how many samples of a burn there are to a cell.
	perCell = 4
	// gapSlack in mm is more than floating point makes of a gap.
	gapSlack = 1e-9
)

// tooMany tells of more places than anybody touches.
func tooMany(places int) error {
	return diag.Errorf(diag.Setting, "", "%d places would have to be touched, over %d; allow more depth, or say how little the stock bows with --bow", places, maxPlaces)
}

// New lays a lattice with at most the given spacing in mm along X and along Y over what is burned,
// grown by margin mm, and keeps the nodes of the cells that burns and margin
// come into: every height that a burn needs is then between touched places.
// They are numbered row by row, from the left below, but for the datum, which is the
// first: the node nearest to datum, where not nil. Of the
// margin there is no more than reach has beside the burns.
func New(burns orb.MultiLineString, spacing Pitch, margin float64, datum *orb.Point, reach machine.Reach) (*Probing, error) {
	p := &Probing{Burns: burns}
	own := burns.Bound()
	b := own.Pad(margin)
	within := orb.Bound{Min: orb.Point{math.Inf(-1), math.Inf(-1)}, Max: orb.Point{math.Inf(1), math.Inf(1)}}
	for k, limits := range [2]*[2]float64{reach.X, reach.Y} {
		if limits == nil {
			continue
		}
		// At whole micrometres, as places are.
		low, high := (math.Ceil(limits[0]*1000-1e-6)+0)/1000, math.Floor(limits[1]*1000+1e-6)/1000
		if own.Min[k] < low || own.Max[k] > high {
			continue // what burns there cannot be touched
		}
		p.Short = p.Short || b.Min[k] < low || b.Max[k] > high
		within.Min[k], within.Max[k] = low, high
		b.Min[k], b.Max[k] = max(b.Min[k], low), min(b.Max[k], high)
	}
	nx, ny := nodes(b.Max[0]-b.Min[0], spacing.X), nodes(b.Max[1]-b.Min[1], spacing.Y)
	if nx*ny > 100*maxPlaces {
		return nil, tooMany(int(min(nx*ny, math.MaxInt32)))
	}
	p.X = divided(b.Min[0], b.Max[0], spacing.X, within.Min[0], within.Max[0])
	p.Y = divided(b.Min[1], b.Max[1], spacing.Y, within.Min[1], within.Max[1])
	for k, needed := range p.needed(margin) {
		if needed {
			p.Places = append(p.Places, orb.Point{p.X[k%len(p.X)], p.Y[k/len(p.X)]})
		} else {
			p.Skipped++
		}
	}
	if len(p.Places) > maxPlaces {
		return nil, tooMany(len(p.Places))
	}
	if datum != nil {
		first := slices.MinFunc(p.Places, func(a, b orb.Point) int {
			return cmp.Compare(planar.DistanceSquared(a, *datum), planar.DistanceSquared(b, *datum))
		})
		k := slices.Index(p.Places, first)
		p.Places = slices.Insert(slices.Delete(p.Places, k, k+1), 0, first)
	}
	return p, nil
}

// lattice reports whether places are nodes of one: At knows only corners.
func (p *Probing) lattice() bool { return len(p.X) >= leastNodes }

// nodes is how many there are along a length at least.
func nodes(length, pitch float64) float64 {
	return max(math.Ceil(length/pitch-gapSlack)+1, leastNodes)
}

// roundMM are what places are counted in, in mm: as round as can be, so that they are
// found on a rule and read on a display.
var roundMM = []float64{1, 0.5, 0.1, 0.05, 0.01}

// moreForRound is of how many nodes there may be one more so that they are at rounder places.
const moreForRound = 20

// finestMM is what they are counted in where nothing of that will do.
const finestMM = 0.001

// divided divides a to b, both of which are rounded outwards, but not beyond low and high,
// by nodes at most pitch apart: at places as round as takes hardly more of them.
func divided(a, b, pitch, low, high float64) []float64 {
	for _, unit := range roundMM {
		first, last := max(down(a, unit), low), min(up(b, unit), high)
		n := int(nodes(last-first, pitch))
		for most := n + 1 + n/moreForRound; n <= most; n++ {
			if v := even(first, last, n, unit); apart(v, pitch) {
				return v
			}
		}
	}
	first, last := max(down(a, finestMM), low), min(up(b, finestMM), high)
	return even(first, last, int(nodes(last-first, pitch)), finestMM)
}

// down and up give the next multiple of a unit that is not above or below v.
func down(v, unit float64) float64 { return thousandth(math.Floor(v/unit+1e-6) * unit) }
func up(v, unit float64) float64   { return thousandth(math.Ceil(v/unit-1e-6) * unit) }

// thousandth is v without what floating point made of it; 0 has no sign.
func thousandth(v float64) float64 { return math.Round(v*1000)/1000 + 0 }

// even are n nodes from first to last, those between at multiples of a unit.
func even(first, last float64, n int, unit float64) []float64 {
	v := make([]float64, n)
	for k := range v {
		v[k] = thousandth(math.Round((first+(last-first)*float64(k)/float64(n-1))/unit) * unit)
	}
	v[0], v[n-1] = first, last
	return v
}

// apart reports whether nodes are in order, and no further apart than pitch.
func apart(v []float64, pitch float64) bool {
	for k, next := range v[1:] {
		if gap := next - v[k]; gap <= 0 || gap > pitch+gapSlack {
			return false
		}
	}
	return true
}

// needed marks the nodes of cells that burns and their margin come into.
func (p *Probing) needed(margin float64) []bool {
	nx := len(p.X)
	keep := make([]bool, nx*len(p.Y))
	step := min((p.X[1]-p.X[0])/perCell, (p.Y[1]-p.Y[0])/perCell, margin)
	along(p.Burns, step, func(q orb.Point) {
		i0, i1 := cellOf(p.X, q[0]-margin), cellOf(p.X, q[0]+margin)
		j0, j1 := cellOf(p.Y, q[1]-margin), cellOf(p.Y, q[1]+margin)
		for j := j0; j <= j1+1; j++ {
			for i := i0; i <= i1+1; i++ {
				keep[j*nx+i] = true
			}
		}
	})
	return keep
}

// cellOf is the cell between nodes that v lies in; the first or the last beyond.
func cellOf(node []float64, v float64) int {
	return min(max(sort.SearchFloat64s(node, v)-1, 0), len(node)-2)
}
