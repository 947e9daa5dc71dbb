package touch

import "math"

// meeting is two blocks that may touch.
type meeting struct {
	c    *check
	a, b *block
	// joints are where their stretches join, once it is known.
	joints [][2]float64
	known  bool
}

// curve is a part of a line or an arc.
type curve struct {
	line
	of     *arc // nil for a line
	t0, t1 float64
}

// curve gives line or arc k of a block, and the box about it.
func (c *check) curve(b *block, k int32) curve {
	if b.bent {
		a := &c.arcs[b.first+k]
		return curve{line{a.at(0), a.at(1)}, a, 0, 1}
	}
	return curve{line: line{c.points[b.first+k].mm(), c.points[b.first+k+1].mm()}}
}

// bulge is how far the curve is off its chord at most.
func (s *curve) bulge() float64 {
	if s.of == nil {
		return 0
	}
	r, half := max(math.Abs(s.of.r0), math.Abs(s.of.r1)), math.Abs(s.of.sweep)*(s.t1-s.t0)/2
	if half >= math.Pi/2 {
		return 2 * r
	}
	sin := math.Sin(half / 2)
	return 2*r*sin*sin + math.Abs(s.of.r1-s.of.r0)*(s.t1-s.t0)
}

func (s *curve) halves() (curve, curve) {
	t := (s.t0 + s.t1) / 2
	m := s.of.at(t)
	return curve{line{s.a, m}, s.of, s.t0, t}, curve{line{m, s.b}, s.of, t, s.t1}
}

func apart(p, q *line, by float64) bool {
	return min(p.a.x, p.b.x) > max(q.a.x, q.b.x)+by || min(q.a.x, q.b.x) > max(p.a.x, p.b.x)+by ||
		min(p.a.y, p.b.y) > max(q.a.y, q.b.y)+by || min(q.a.y, q.b.y) > max(p.a.y, p.b.y)+by
}

// find gives a place at which the blocks touch, but for where they join.
func (m *meeting) find() (vec, bool) {
	lines := func(b *block) int32 {
		if b.bent {
			return b.n
		}
		return b.n - 1
	}
	for i := range lines(m.a) {
		p := m.c.curve(m.a, i)
		for j := range lines(m.b) {
			q := m.c.curve(m.b, j)
			if at, ok := m.touch(&p, &q); ok {
				return at, true
			}
		}
	}
	return vec{}, false
}

// touch gives a place at which two curves touch.
func (m *meeting) touch(p, q *curve) (vec, bool) {
	*m.c.work--
	bp, bq := p.bulge(), q.bulge()
	if *m.c.work <= 0 || apart(&p.line, &q.line, Near+bp+bq) {
		return vec{}, false
	}
	switch {
	case bp > chordMM && bp >= bq:
		a, b := p.halves()
		if at, ok := m.touch(&a, q); ok {
			return at, true
		}
		return m.touch(&b, q)
	case bq > chordMM:
		a, b := q.halves()
		if at, ok := m.touch(p, &a); ok {
			return at, true
		}
		return m.touch(p, &b)
	}
	at, ok := p.touches(q.line)
	if !ok {
		return at, false
	}
	if !m.known {
		m.known, m.joints = true, m.c.joints(int(m.a.stretch), int(m.b.stretch))
	}
	parts := []line{p.line}
	for _, j := range m.joints {
		var left []line
		for _, s := range parts {
			left = append(left, s.beyond(vec{j[0], j[1]}, jointMM+2*m.c.Overlap)...)
		}
		parts = left
	}
	for _, s := range parts {
		if at, ok := s.touches(q.line); ok {
			return at, true
		}
	}
	return vec{}, false
}
