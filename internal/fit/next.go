package fit

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"sagitta/internal/fit/layout"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// Next is a place to touch next, in the surface's own coordinates, mm, and why.
type Next struct {
	At  [2]float64
	Why string
}

const (
	// doubtPlaces are as many of a doubt's places as are asked for.
	doubtPlaces = 4
	// nextPart of the touches made is what is asked for where heights are known least,
	// within leastNext and mostNext.
	nextPart            = 0.25
	leastNext, mostNext = 4, 40
	// enoughMM is what heights need not be known better than: what a good gauge scatters.
	enoughMM = 0.05
	// apartPart of the spacing of the touches is how near to each other two of them gain
	// little.
	apartPart = 0.8
	// nextSteps are how many places along the longer side are looked at.
	nextSteps = 30
	// unseenMost is how much more than elsewhere heights may be uncertain where touches
	// are foretold badly.
	unseenMost = 10
)

// Next lists where touching again would help most: what is doubted, and then where
// heights are known least, along burns, in program XY, or where there are none all over.
// The places that help most come first of each.
func (m *Measured) Next(burns orb.MultiLineString) (all []Next) {
	add := func(x, y float64, why string) {
		q := surface.Point{X: x, Y: y}
		for _, n := range all {
			if touch.SamePlace(q, surface.Point{X: n.At[0], Y: n.At[1]}) {
				return
			}
		}
		all = append(all, Next{[2]float64{x, y}, why})
	}
	for _, p := range m.Parts {
		if d := p.Drift; d != nil && d.Verdict == touch.Contradicted {
			add(d.At[0], d.At[1], "the datum, which was touched at two heights")
		}
	}
	for _, d := range m.Doubts {
		for k, p := range d.Places {
			if k == doubtPlaces {
				break
			}
			add(p.X, p.Y, "doubted")
		}
	}
	g := m.gaining(burns)
	for _, n := range all {
		g.near(n.At, g.apart)
	}
	wanted := len(all) + min(max(int(math.Ceil(nextPart*float64(len(m.Points)))), leastNext), mostNext)
	for len(all) < wanted {
		at, sure := g.best()
		if sure == 0 {
			break
		}
		g.taken(at)
		q := g.at[at]
		add(q[0], q[1], fmt.Sprintf("heights are known to +- %s mm there", phrase.Up(2*sure, 2)))
	}
	return all
}

// gaining are places where a touch would gain something.
type gaining struct {
	at    []orb.Point
	sure  []float64 // standard uncertainty there
	worth []float64 // with how badly touches around are foretold
	apart float64
}

// gaining looks at places along burns, or all over.
func (m *Measured) gaining(burns orb.MultiLineString) *gaining {
	c := m.Choice
	g := &gaining{}
	if c.spread == nil {
		return g
	}
	h := layout.NewHull(m.Points)
	area := math.Abs(planar.Area(orb.Polygon{append(orb.Ring(h), h[0])}))
	g.apart = apartPart * math.Sqrt(area/float64(len(m.Points)))
	heard := layout.Thin(m.Points, heardPoints)
	for _, q := range m.candidates(burns, h) {
		z := c.Shape.At(q[0], q[1])
		if z != z {
			continue
		}
		u := c.sureAt(q[0], q[1], z)
		if 2*u <= enoughMM {
			continue
		}
		g.at, g.sure = append(g.at, q), append(g.sure, u)
		g.worth = append(g.worth, u*c.spread.unseen(heard, q))
	}
	for _, p := range m.Points {
		g.near(orb.Point{p.X, p.Y}, g.apart/2)
	}
	return g
}

// candidates are places to choose from, within the hull.
func (m *Measured) candidates(burns orb.MultiLineString, h layout.Hull) (at []orb.Point) {
	lo, hi := layout.Box(m.Points)
	step := max(hi[0]-lo[0], hi[1]-lo[1]) / nextSteps
	take := func(x, y float64) {
		// Whole millimetres are easy to go to, where that is no coarser than is looked.
		if step > 2 {
			x, y = math.Round(x), math.Round(y)
		}
		if h.Holds(x, y) {
			at = append(at, orb.Point{x, y})
		}
	}
	if len(burns) == 0 {
		for y := lo[1]; y <= hi[1]+step/2; y += step {
			for x := lo[0]; x <= hi[0]+step/2; x += step {
				take(x, y)
			}
		}
		return at
	}
	place := m.Header.Placement()
	place.Raw = true
	on, err := surface.Place(m.Written.Surface, place)
	if err != nil {
		return nil
	}
	seen := map[[2]int]bool{} // one of each square of a step
	for _, line := range burns {
		for k, b := range line {
			a := line[max(k-1, 0)]
			n := math.Ceil(planar.Distance(a, b)/step) + 1
			for i := 0.0; i <= n; i++ {
				x, y := on.Local(a[0]+(b[0]-a[0])*i/n, a[1]+(b[1]-a[1])*i/n)
				cell := [2]int{int(math.Floor(x / step)), int(math.Floor(y / step))}
				if !seen[cell] {
					seen[cell] = true
					take(x, y)
				}
			}
		}
	}
	return at
}

// unseen is how badly the touches around a place were foretold, against all: where that
// is bad, there is more to be seen than the touches have shown.
func (s spread) unseen(heard []surface.Point, q orb.Point) float64 {
	best := s[0]
	for _, a := range s {
		if a.weight > best.weight {
			best = a
		}
	}
	var near, weights, all float64
	for k, p := range heard {
		d := (p.X-q[0])*(p.X-q[0]) + (p.Y-q[1])*(p.Y-q[1])
		w := 1 / (d*d + 1e-6)
		miss := best.missed[k] * best.missed[k]
		near, weights, all = near+w*miss, weights+w, all+miss
	}
	if all == 0 {
		return 1
	}
	return min(max(math.Sqrt(near/weights/(all/float64(len(heard)))), 1./unseenMost), unseenMost)
}

// best is the place where a touch is worth most, and the uncertainty there; 0 where none
// is worth anything.
func (g *gaining) best() (at int, sure float64) {
	most := 0.0
	for k, w := range g.worth {
		if w > most {
			most, at, sure = w, k, g.sure[k]
		}
	}
	return at, sure
}

// taken lessens what other touches near a chosen place are worth.
func (g *gaining) taken(at int) {
	g.near(g.at[at], g.apart)
	g.worth[at] = 0
}

func (g *gaining) near(q orb.Point, apart float64) {
	for k, p := range g.at {
		d := planar.DistanceSquared(p, q) / (apart * apart)
		g.worth[k] *= -math.Expm1(-d)
	}
}
