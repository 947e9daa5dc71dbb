package zone

import "math"

// band is one zone of a lens: the heights it serves.
type band struct{ lo, hi float64 }

// bands are the zones of one lens, lowest first. base is the number of the
// first among all zones.
type bands struct {
	base int32
	of   []band
}

// fit gives the zones that serve all heights from a to b: n of them, from z
// on.
func (bs *bands) fit(a, b float64) (z int32, n int) {
	lo, hi := 0, len(bs.of)
	for lo < hi {
		m := (lo + hi) / 2
		if bs.of[m].hi < b {
			lo = m + 1
		} else {
			hi = m
		}
	}
	first := lo
	for lo < len(bs.of) && bs.of[lo].lo <= a {
		lo++
	}
	return bs.base + int32(first), lo - first
}

// The costs along the path. Each is worth more than any number of the next
// that two ways may differ by: first few cuts within burns, then few changes
// at joints of unbroken runs, then few changes on travels. Of places that
// are otherwise alike, the middle of where both zones serve is taken.
const (
	costEdge   int64 = 1
	costTravel int64 = 1 << 4
	costJoint        = costTravel << 20
	costCut          = costJoint << 20
	costNever  int64 = math.MaxInt64 / 4
)

// mostChoices is how many zones of a lens can serve one height: in a fewest
// cover two (see spread.search), and more only by rounding.
const mostChoices = 4

// step is a stretch of a burn that is not cut, with the zones that serve it.
type step struct {
	item *item
	// z and n are the zones; back gives for each the choice before.
	z    int32
	n    uint8
	back [mostChoices]uint8
	// Of a burn that is cut, the stretch ends at fraction s1, and last tells
	// that it is the last.
	part bool
	last bool
	s1   float64
}

// part is a part of a burn that is cut: up to fraction s1 it is zone's. It
// may be burned on to fraction reach, where zone still serves it.
type part struct {
	zone      int32
	s1, reach float64
	last      bool
}

// path chooses zones along the path. Its decisions stand once one zone alone
// is possible, or settle is called.
type path struct {
	steps []step
	cost  [mostChoices]int64
	// prev is the zone of the last step decided, -1 before the first.
	prev int32
	// parts are the parts of the burns that were cut.
	parts []part
}

// alone takes a burn that zone z alone serves, where nothing waits and the
// path is in z already. It reports false where that is not so.
func (p *path) alone(it *item, z int32) bool {
	if len(p.steps) > 0 || p.prev != z {
		return false
	}
	it.zone = z
	return true
}

// add takes the next step. change is what it costs to come from another zone.
// Where one zone alone serves it, and it is the last of its burn, what waits
// may be settled without loss.
func (p *path) add(s step, change int64) {
	var cost [mostChoices]int64
	if s.n > mostChoices {
		s.n = mostChoices
	}
	if len(p.steps) == 0 {
		for i := range int(s.n) {
			if p.prev >= 0 && p.prev != s.z+int32(i) {
				cost[i] = change
			}
		}
	} else {
		last := &p.steps[len(p.steps)-1]
		for i := range int(s.n) {
			cost[i] = costNever
			for j := range int(last.n) {
				c := p.cost[j]
				if last.z+int32(j) != s.z+int32(i) {
					c += change
				}
				if c < cost[i] {
					cost[i], s.back[i] = c, uint8(j)
				}
			}
		}
	}
	least := cost[0]
	for i := 1; i < int(s.n); i++ {
		least = min(least, cost[i])
	}
	for i := range int(s.n) {
		cost[i] -= least
	}
	p.cost = cost
	p.steps = append(p.steps, s)
}

// settle decides what waits.
func (p *path) settle() {
	n := len(p.steps)
	if n == 0 {
		return
	}
	i := 0
	for k := 1; k < int(p.steps[n-1].n); k++ {
		if p.cost[k] < p.cost[i] {
			i = k
		}
	}
	for k := n - 1; k >= 0; k-- {
		s := &p.steps[k]
		j := s.back[i]
		s.back[0] = uint8(i) // the choice
		i = int(j)
	}
	for k := 0; k < n; {
		if !p.steps[k].part {
			p.steps[k].item.zone = p.steps[k].z + int32(p.steps[k].back[0])
			k++
			continue
		}
		k = p.burnParts(k)
	}
	p.prev = p.steps[n-1].z + int32(p.steps[n-1].back[0])
	p.steps = p.steps[:0]
	p.cost = [mostChoices]int64{}
}

// burnParts gives the burn that is cut at step k its parts, and returns the
// step behind it.
func (p *path) burnParts(k int) int {
	it := p.steps[k].item
	it.part = int32(len(p.parts))
	for {
		s := &p.steps[k]
		z := s.z + int32(s.back[0])
		e := k
		for !p.steps[e].last && p.steps[e+1].z+int32(p.steps[e+1].back[0]) == z {
			e++
		}
		reach := e
		for !p.steps[reach].last && p.steps[reach+1].z <= z && z < p.steps[reach+1].z+int32(p.steps[reach+1].n) {
			reach++
		}
		q := part{zone: z, s1: p.steps[e].s1, reach: p.steps[reach].s1, last: p.steps[e].last}
		p.parts = append(p.parts, q)
		if len(p.parts)-1 == int(it.part) {
			it.zone = z
		}
		k = e + 1
		if q.last {
			return k
		}
	}
}
