package corridor

import (
	"math"

	"sagitta/internal/focus"
)

const (
	// steeper is how much steeper than the string's peak a link may be. Of
	// the two percent that the written path may exceed the optimum by, the
	// rest is for what certification takes off the string's tube.
	steeper = 1.012
	// linkSlack in mm lets links through where the tube leaves a single path;
	// it is nothing beside the half decimal that is kept for rounding.
	linkSlack = 1e-7
	// slopeSlack is the same for slopes, relative: at the edge of what can
	// be left again only the limit itself leads on.
	slopeSlack = 1e-6
	// sightLevels is at how many starts in its window a link is tried.
	// What two starts see, all between them can be led to as well, since
	// the links through convex windows form a convex set.
	sightLevels = 5
	// turnTries is at how many places the corner after a link is tried.
	turnTries = 8
)

// node is a corner of the thinned path: a gate and the window of c with which
// it can be reached from the node before.
type node struct {
	gate int
	w    focus.Window
	// forced tells that no link leads here inside the tube: the string's c
	// is taken as it is.
	forced bool
}

// bound prepares the tube for thinning: into p.lo and p.hi goes what of the
// spent tube can be reached and left with links no steeper than p.limit, so
// that a path once inside never gets stuck. The string is such a path.
func (p *Planner) bound() {
	p.limit = grow(p.limit, len(p.gates))
	// Travels are open above; a path has no reason to rise further over the
	// string's highest place than a burn could.
	// Nor to fall, where nothing is asked at all.
	depth := p.Depth.Near + p.Depth.Far
	top, bottom := p.high+depth, p.low-depth
	travel, burn := steeper*p.plan.Peak, steeper*p.plan.PeakBurn
	if p.Rate > 0 {
		travel, burn = min(travel, p.Rate), min(burn, p.Rate)
	}
	for k := range p.gates {
		g := &p.gates[k]
		w := p.window(k, p.spent[k])
		if isInf(w.Lo) {
			w.Lo = bottom
		}
		// The string may lie on a limit to the last bit.
		p.lo[k], p.hi[k] = min(w.Lo, p.c[k]), max(min(w.Hi, top), p.c[k])
		v := travel
		if g.Burn {
			v = burn
		}
		// A link is straight over the move, so thinning counts the time at
		// the programmed feed; what was lengthened may be steeper in it.
		if dt := g.DT; dt != p.dt[k] {
			v *= p.dt[k] / dt
		}
		p.limit[k] = v * (1 + rounding)
		p.reach[k] = p.limit[k] * g.DT
	}
	w := p.startWindow()
	p.lo[0], p.hi[0] = w.Lo, w.Hi
	p.narrow()
	for k := range p.gates {
		p.lo[k], p.hi[k] = min(p.lo[k], p.c[k])-linkSlack, max(p.hi[k], p.c[k])+linkSlack
	}
}

// narrow takes off p.lo and p.hi what cannot be reached and left again, where c
// changes by p.reach at most from one gate to the next.
func (p *Planner) narrow() {
	for k := 1; k < len(p.gates); k++ {
		p.lo[k] = max(p.lo[k], p.lo[k-1]-p.reach[k])
		p.hi[k] = min(p.hi[k], p.hi[k-1]+p.reach[k])
	}
	for k := len(p.gates) - 1; k > 0; k-- {
		p.lo[k-1] = max(p.lo[k-1], p.lo[k]-p.reach[k])
		p.hi[k-1] = min(p.hi[k-1], p.hi[k]+p.reach[k])
	}
}

// startWindow is where the path may begin.
func (p *Planner) startWindow() focus.Window {
	if p.from.Free {
		return focus.Window{Lo: p.lo[0], Hi: p.hi[0]}
	}
	return focus.Window{Lo: p.from.C, Hi: p.from.C}
}

// nextEnd is the first end of a move behind gate i.
func (p *Planner) nextEnd(i int) int {
	for i++; p.gates[i].S < 1; i++ {
	}
	return i
}

// thin chooses the corners of the written path up to gate end: every end of a
// move is one, for nothing; others are added only where no straight link
// stays in the tube. Forward it carries the window that can be reached with
// the fewest added corners, back it picks in each window the c nearest the
// string.
func (p *Planner) thin(end int) {
	p.nodes = append(p.nodes[:0], node{gate: 0, w: p.startWindow()})
	for i := 0; i < end; {
		e := p.nextEnd(i)
		p.thinMove(i, e)
		i = e
	}
	last := len(p.nodes) - 1
	c := p.nodes[last].w.Clamp(p.c[p.nodes[last].gate])
	p.nodes[last].w = focus.Window{Lo: c, Hi: c}
	for k := last; k > 0; k-- {
		from := &p.nodes[k-1]
		w := from.w
		if !p.nodes[k].forced {
			w = p.origins(p.nodes[k].gate, c, from.gate).Intersect(w)
		}
		c = from.w.Clamp(w.Clamp(p.c[from.gate])) // w may be empty by rounding
		from.w = focus.Window{Lo: c, Hi: c}
	}
}

// thinMove carries the window over the move whose start is gate i and whose
// end is gate e.
func (p *Planner) thinMove(i, e int) {
	w := p.nodes[len(p.nodes)-1].w
	at, length := 0.0, p.gates[e].Length
	turns := func(k int) bool { // reports whether a corner may stand at gate k
		s := p.gates[k].S
		return (s-at)*length >= ClosestCut && (1-s)*length >= ClosestCut
	}
	for {
		last := p.look(i, w, e, &p.view)
		if last == e {
			p.nodes = append(p.nodes, node{gate: e, w: p.view[e-i-1]})
			return
		}
		// Of the places in sight the best corner is the one that sees
		// furthest along; of those that see the end, the one that sees
		// the most of it.
		best, far, width := -1, -1, 0.0
		step := max(1, (last-i)/turnTries)
		for k := last; k > i; k -= step {
			if !turns(k) {
				continue
			}
			l := p.look(k, p.view[k-i-1], e, &p.view2)
			wd := 0.0
			if l > k {
				wd = p.view2[l-k-1].Width()
			}
			if l > far || l == far && l == e && wd > width {
				best, far, width = k, l, wd
			}
		}
		if best < 0 || far <= best {
			// Nowhere to turn: the next place that may be a corner, or the
			// end, on the string.
			for best = i + 1; best < e && !turns(best); best++ {
			}
			c := p.c[best]
			p.nodes = append(p.nodes, node{gate: best, w: focus.Window{Lo: c, Hi: c}, forced: true})
		} else {
			p.nodes = append(p.nodes, node{gate: best, w: p.view[best-i-1]})
		}
		if best == e {
			return
		}
		i, at, w = best, p.gates[best].S, p.nodes[len(p.nodes)-1].w
	}
}

// look finds how far straight links from window w at gate i stay in the tube,
// up to gate e. It returns the last gate in sight and writes the part of each
// gate's window that is seen, from gate i+1 on, into view.
func (p *Planner) look(i int, w focus.Window, e int, view *[]focus.Window) int {
	*view = (*view)[:0]
	var c, s1, s2 [sightLevels]float64
	n := sightLevels
	if w.Width() <= 0 {
		n = 1
	}
	for q := 0; q < n; q++ {
		c[q], s1[q], s2[q] = w.Lo, math.Inf(-1), math.Inf(1)
		if q > 0 {
			c[q] = w.Lo + w.Width()*float64(q)/float64(n-1)
		}
	}
	if n > 1 {
		c[n-1] = w.Hi // to the last bit: a link along the edge stays there
	}
	t := 0.0
	for k := i + 1; k <= e; k++ {
		t += p.gates[k].DT
		perT, v := 1/t, p.limit[k]*(1+slopeSlack)
		seen := focus.Window{Lo: math.Inf(1), Hi: math.Inf(-1)}
		for q := 0; q < n; q++ {
			if s1[q] > s2[q] {
				continue
			}
			s1[q] = max(s1[q], -v, (p.lo[k]-c[q])*perT)
			s2[q] = min(s2[q], v, (p.hi[k]-c[q])*perT)
			if s1[q] <= s2[q] {
				seen.Lo = min(seen.Lo, c[q]+s1[q]*t)
				seen.Hi = max(seen.Hi, c[q]+s2[q]*t)
			}
		}
		if seen.Empty() {
			return k - 1
		}
		*view = append(*view, seen.Intersect(focus.Window{Lo: p.lo[k], Hi: p.hi[k]}))
	}
	return e
}

// origins gives the corrections at gate i from which a straight link to c at
// gate k stays in the tube.
func (p *Planner) origins(k int, c float64, i int) focus.Window {
	s1, s2, t := math.Inf(-1), math.Inf(1), 0.0
	for q := k; q > i; q-- {
		t += p.gates[q].DT
		v := p.limit[q] * (1 + slopeSlack)
		s1, s2 = max(s1, -v), min(s2, v)
		if q-1 > i {
			s1 = max(s1, (c-p.hi[q-1])/t)
			s2 = min(s2, (c-p.lo[q-1])/t)
		}
	}
	return focus.Window{Lo: c - s2*t, Hi: c - s1*t}
}
