package probe

import (
	"io"
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"sagitta/internal/machine"
	"sagitta/internal/record"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
)

// Probing is where to touch.
type Probing struct {
	Burns   orb.MultiLineString
	X, Y    []float64   // the lattice
	Places  []orb.Point // in the order of touching, by their numbers from 1; the first is the datum
	Skipped int         // nodes of the lattice that no burn needs
	Short   bool        // of the margin there is less at a side, where the axes end
	// Zero says where Z is 0, "" for where the first place is touched.
	Zero string
	// Stock is how the stock lies, where that is known: Clear keeps clear of it too.
	Stock *surface.Placed
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
