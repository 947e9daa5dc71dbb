package probe

import (
	"io"
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// Probing is where to touch.
type Probing struct {
	Burns   orb.MultiLineString
	X, Y    []float64   // the lattice
	Places  []orb.Point // in the order of touching; the first is the datum
	Skipped int         // nodes of the lattice that no burn needs
	Short   bool        // of the margin there is less at a side, where the axes end
	// Zero says where Z is 0, "" for where the first place is touched.
	Zero string
	// Stock is how the stock lies, where that is known: Clear keeps clear of it too.
	Stock *surface.Placed
}

const (
	// leastNodes along each axis show a bend.
	leastNodes = 3
	// maxPlaces is a long night of touching; more is a slip of the depth or
	// the bow.
	maxPlaces = 2000
	// perCell is how many samples of a burn there are to a cell.
	perCell = 4
)

// tooMany tells of more places than anybody touches.
func tooMany(places int) error {
	return diag.Errorf(diag.Setting, "", "%d places would have to be touched, over %d; allow more depth, or say how little the stock bows with --bow", places, maxPlaces)
}

// New lays a lattice with at most the given spacing in mm along X and along Y over what is burned,
// grown by margin mm, and keeps the nodes of the cells that burns and margin
// come into: every height that a burn needs is then between touched places.
// datum, where not nil, is the place that the datum is to be the nearest to. Of the
// margin there is no more than reach has beside the burns.
func New(burns orb.MultiLineString, spacing Pitch, margin float64, datum *orb.Point, reach machine.Reach) (*Probing, error) {
	p := &Probing{Burns: burns}
	own := burns.Bound()
	b := own.Pad(margin)
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
		b.Min[k], b.Max[k] = max(b.Min[k], low), min(b.Max[k], high)
	}
	w, h := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	nx, ny := max(math.Ceil(w/spacing.X-1e-9)+1, leastNodes), max(math.Ceil(h/spacing.Y-1e-9)+1, leastNodes)
	if nx*ny > 100*maxPlaces {
		return nil, tooMany(int(min(nx*ny, math.MaxInt32)))
	}
	p.X, p.Y = even(b.Min[0], b.Max[0], int(nx)), even(b.Min[1], b.Max[1], int(ny))
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
	at := b.Min
	if datum != nil {
		at = *datum
	}
	route(p.Places, at)
	return p, nil
}

// At is the probing of places that are chosen already, the first of them that nearest to
// a point; burns are drawn on the map.
func At(places []orb.Point, burns orb.MultiLineString, first orb.Point) *Probing {
	b := orb.MultiPoint(places).Bound()
	if len(burns) > 0 {
		b = b.Union(burns.Bound())
	}
	p := &Probing{Burns: burns, Places: slices.Clone(places), X: []float64{b.Min[0], b.Max[0]}, Y: []float64{b.Min[1], b.Max[1]}}
	route(p.Places, first)
	return p
}

// Reach is where the beam stands while the touch tool is within the reach of a bench.
func Reach(m *record.Machine) machine.Reach {
	shifted := func(limits *record.Reach, by float64) *[2]float64 {
		if limits == nil {
			return nil
		}
		return &[2]float64{limits[0] + by, limits[1] + by}
	}
	return machine.Reach{X: shifted(m.XMM, m.ProbeOffsetMM[0]), Y: shifted(m.YMM, m.ProbeOffsetMM[1])}
}

// even divides a to b by n nodes, at whole micrometres so that what is
// written is what was planned.
func even(a, b float64, n int) []float64 {
	v := make([]float64, n)
	for k := range v {
		v[k] = math.Round((a+(b-a)*float64(k)/float64(n-1))*1000) / 1000
	}
	// Outwards, so that rounding leaves the area covered.
	v[0], v[n-1] = math.Floor(a*1000)/1000, math.Ceil(b*1000)/1000
	return v
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

// Bare reports of the nodes of a lattice, row after row, which of them no burn comes
// nearer to than so many mm.
func Bare(burns orb.MultiLineString, x, y []float64, apart float64) []bool {
	bare := slices.Repeat([]bool{true}, len(x)*len(y))
	along(burns, apart/perCell, func(q orb.Point) {
		i1, j1 := sort.SearchFloat64s(x, q[0]+apart), sort.SearchFloat64s(y, q[1]+apart)
		for j := sort.SearchFloat64s(y, q[1]-apart); j < j1; j++ {
			for i := sort.SearchFloat64s(x, q[0]-apart); i < i1; i++ {
				bare[j*len(x)+i] = false
			}
		}
	})
	return bare
}

// along goes along burns in steps of so many mm at most.
func along(burns orb.MultiLineString, step float64, mark func(orb.Point)) {
	for _, line := range burns {
		mark(line[0])
		for k, b := range line[1:] {
			a := line[k]
			n := max(math.Ceil(planar.Distance(a, b)/step), 1)
			for m := 1.0; m <= n; m++ {
				t := m / n
				mark(orb.Point{a[0] + (b[0]-a[0])*t, a[1] + (b[1]-a[1])*t})
			}
		}
	}
}

// cellOf is the cell between nodes that v lies in; the first or the last beyond.
func cellOf(node []float64, v float64) int {
	return min(max(sort.SearchFloat64s(node, v)-1, 0), len(node)-2)
}

// chordMM is how far a chord may be off its arc: far below any margin.
const chordMM = 0.05

// ReadBurns reads what a program burns, in program XY, mm, arcs as chords. Errors
// are those of package stream.
func ReadBurns(r io.Reader, name string, cfg machine.Config) (burns orb.MultiLineString, first *machine.Point, err error) {
	err = stream.Scan(r, stream.Options{Name: name, Machine: cfg, Blocks: true}, func(it *stream.Item) {
		if it.Move.Burn {
			if burns == nil {
				first = new(it.Move.From)
			}
			burns = appendBurn(burns, &it.Move)
		}
	})
	return burns, first, err
}

// appendBurn goes on with the last line where the burn begins at its end.
func appendBurn(burns orb.MultiLineString, m *machine.Move) orb.MultiLineString {
	n := 1
	if m.Kind == machine.Arc {
		// A chord over the angle t is off by r(1-cos(t/2)), about r t²/8.
		step := math.Sqrt(8 * chordMM / max(m.R0, m.R1, chordMM))
		n = max(int(math.Ceil(math.Abs(m.Sweep)/step)), 1)
	}
	last := len(burns) - 1
	if begin := orb.Point(m.XY(0)); last < 0 || burns[last][len(burns[last])-1] != begin {
		burns = append(burns, orb.LineString{begin})
		last++
	}
	for k := 1; k <= n; k++ {
		burns[last] = append(burns[last], m.XY(float64(k)/float64(n)))
	}
	return burns
}

// improveRounds bounds the improvement of the route: few are needed after a
// start that goes along rows.
const improveRounds = 8

// route puts places into a short order that begins at the one nearest to at
// and comes back to it at the end: nearest neighbours first, then as long as
// it helps, a stretch is turned round (2-opt: G. Croes, Operations Research 6
// (1958) 791).
func route(p []orb.Point, at orb.Point) {
	for k := range p {
		best := k
		for m := k + 1; m < len(p); m++ {
			if d, e := planar.DistanceSquared(at, p[m]), planar.DistanceSquared(at, p[best]); d < e*(1-1e-12) {
				best = m
			}
		}
		p[k], p[best] = p[best], p[k]
		at = p[k]
	}
	n := len(p)
	d := func(a, b int) float64 { return planar.Distance(p[a%n], p[b%n]) }
	for range improveRounds {
		better := false
		for i := 0; i+2 < n; i++ {
			for j := i + 2; j < n; j++ {
				if gain := d(i, i+1) + d(j, j+1) - d(i, j) - d(i+1, j+1); gain > 1e-9 {
					slices.Reverse(p[i+1 : j+1])
					better = true
				}
			}
		}
		if !better {
			return
		}
	}
}

// Travel is the length of the route, back to its start, mm.
func (p *Probing) Travel() float64 {
	sum := 0.0
	for k := range p.Places {
		sum += planar.Distance(p.Places[k], p.Places[(k+1)%len(p.Places)])
	}
	return sum
}
