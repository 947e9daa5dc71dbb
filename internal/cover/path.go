package cover

import (
	"math"
	"slices"
)

// The costs of changing between settings. Each is worth more than any number
// of the next that two ways may differ by. Of places that are otherwise alike,
// the middle of where both settings serve is taken.
const (
	edge   int64 = 1
	travel int64 = 1 << 4
	joint        = travel << 20
	cut          = joint << 20
	never  int64 = math.MaxInt64 / 4
)

// stage is a stretch of a burn that is not divided further; its End is 1 where it is
// the last of its burn.
type stage struct {
	Stretch
	// back is where in the path's choices those for it begin: for each of
	// its settings the one of the stage before that it is best reached from.
	back int
	last bool
	// meets is how it begins where it is the first of its burn.
	meets Meeting
	// choice is what was decided, of its N.
	choice int
}

// serves reports whether setting z serves the stage.
func (s *stage) serves(z int) bool { return s.First <= z && z < s.First+s.N }

// Part is a part of a burn that one setting serves, up to the fraction End.
// It may be burned on to the fraction Reach, where the setting still serves
// it. Last tells that it is the last of its burn.
type Part struct {
	Setting    int
	End, Reach float64
	Last       bool
}

// Path chooses settings along the path. What waits is decided by Settle, which
// loses nothing where one setting alone is possible last.
type Path struct {
	stages  []stage
	choices []int32
	// cost is that of the best way to each setting of the last stage, or from
	// where the path stands.
	cost, next []int64
	// at is the setting after the last stage decided; moving tells that there
	// is one.
	at     int
	moving bool
	parts  []Part
}

// Meeting is how a burn begins.
type Meeting struct {
	// Joined tells that the burn before ends there, with no travel between.
	Joined bool
	// Turn is by how much the path turns there. At is where the path changes of all
	// the meetings at which it may as well: at this fraction of them where it is
	// above 0, else where it turns most, or in their middle.
	Turn, At float64
}

// Burn adds a burn that n settings serve, from first on.
func (p *Path) Burn(first, n int, meets Meeting) {
	p.Divided([]Stretch{{First: first, N: n}}, 0, meets)
}

// Divided adds a burn in stretches, whose settings count from base.
func (p *Path) Divided(list []Stretch, base int, meets Meeting) {
	cost := travel
	if meets.Joined {
		cost = joint
	}
	for k := range list {
		st := &list[k]
		if k > 0 {
			cost = cut
			if !st.middle {
				cost += edge
			}
		}
		s := stage{Stretch: *st, last: k == len(list)-1}
		if k == 0 {
			s.meets = meets
		}
		if s.First += base; s.last {
			s.End = 1
		}
		p.add(s, cost)
	}
}

// add takes the next stage. change is what it costs to come from another
// setting.
func (p *Path) add(s stage, change int64) {
	s.back = len(p.choices)
	last := stage{Stretch: Stretch{First: p.at, N: 1}}
	if n := len(p.stages); n > 0 {
		last = p.stages[n-1]
	} else {
		p.cost = append(p.cost[:0], 0)
		if !p.moving {
			change = 0
		}
	}
	p.next = p.next[:0]
	for i := range s.N {
		cost, from := never, 0
		for j := range last.N {
			c := p.cost[j]
			if last.First+j != s.First+i {
				c += change
			}
			if c < cost {
				cost, from = c, j
			}
		}
		p.next = append(p.next, cost)
		p.choices = append(p.choices, int32(from))
	}
	least := slices.Min(p.next)
	for i := range p.next {
		p.next[i] -= least
	}
	p.cost, p.next = p.next, p.cost
	p.stages = append(p.stages, s)
}

// Sure reports whether Settle loses nothing: whatever comes, the choice is the
// same.
func (p *Path) Sure() bool { return len(p.stages) == 0 || p.stages[len(p.stages)-1].N == 1 }

// Settle decides what waits, and gives the parts of the burns added since it
// was called last, in order: one of a burn that one setting serves as a whole.
// What it gives holds until the next call.
func (p *Path) Settle() []Part {
	p.parts = p.parts[:0]
	n := len(p.stages)
	if n == 0 {
		return nil
	}
	choice := 0
	for k, c := range p.cost {
		if c < p.cost[choice] {
			choice = k
		}
	}
	for k := n - 1; k >= 0; k-- {
		s := &p.stages[k]
		s.choice = choice
		choice = int(p.choices[s.back+choice])
	}
	for k := 0; k < n; k++ {
		k = p.slide(k)
	}
	for k := 0; k < n; k++ {
		z := p.setting(k)
		for !p.stages[k].last && p.setting(k+1) == z {
			k++
		}
		reach := k
		for !p.stages[reach].last && p.stages[reach+1].serves(z) {
			reach++
		}
		p.parts = append(p.parts, Part{Setting: z, End: p.stages[k].End, Reach: p.stages[reach].End, Last: p.stages[k].last})
	}
	p.at, p.moving = p.setting(n-1), true
	p.stages, p.choices, p.cost = p.stages[:0], p.choices[:0], p.cost[:0]
	return p.parts
}

// slide puts a change at which stage k begins where it is wanted of all the meetings
// at which it costs the same, and returns the last of them; k where there is none.
func (p *Path) slide(k int) int {
	meets := p.stages[k].meets
	a, b := p.setting(k-1), p.setting(k)
	if !meets.Joined || a == b || a < 0 {
		return k
	}
	lo, hi := k, k
	for lo > 0 && p.stages[lo-1].meets.Joined && p.stages[lo-1].serves(b) && p.setting(lo-2) == a {
		lo--
	}
	for hi+1 < len(p.stages) && p.stages[hi+1].meets.Joined && p.stages[hi].serves(a) && p.setting(hi+1) == b {
		hi++
	}
	at := meets.At
	if at <= 0 {
		at = 0.5
	}
	to := lo + int(math.Round(at*float64(hi-lo)))
	if meets.At <= 0 {
		for i := lo; i <= hi; i++ {
			if p.stages[i].meets.Turn > p.stages[to].meets.Turn {
				to = i
			}
		}
	}
	for i := lo; i < hi; i++ {
		z := b
		if i < to {
			z = a
		}
		p.stages[i].choice = z - p.stages[i].First
	}
	return hi
}

// setting is what was decided of stage k, or before all of them; below 0 for none.
func (p *Path) setting(k int) int {
	switch {
	case k >= 0:
		return p.stages[k].First + p.stages[k].choice
	case k == -1 && p.moving:
		return p.at
	}
	return -1
}
