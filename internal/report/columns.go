package report

import (
	"math"

	"sagitta/internal/report/trace"
)

// column is what is seen of a path in a column of a picture along it.
type column struct {
	burns, travels, out bool // out of focus
	blind               bool // no height is known under a burn
	program             int
	// c, height and defocus are those of burns where there are any. may is from the lowest to
	// the highest that the window of a burn reaches, and must what all of them have in common.
	c, height, defocus, may, must trace.Range
	// near and far are the usable depth of the burns, where it is least.
	near, far float64
	// zSpeed is the greatest speed of Z, burnSpeed that where nothing but burns is known to go
	// so, and zStep the greatest step of it.
	zSpeed, burnSpeed, zStep float64
	slowed                   float64
	line                     int // the first of it, 0 where none begins
}

var nothing = trace.Range{Lo: math.Inf(1), Hi: math.Inf(-1)}

// empty reports whether a range is of nothing that can be drawn.
func empty(r trace.Range) bool { return !(r.Lo <= r.Hi) || !finite(r.Lo) || !finite(r.Hi) }

// join is the range that holds both.
func join(a, b trace.Range) trace.Range {
	switch {
	case empty(a):
		return b
	case empty(b):
		return a
	}
	return trace.Range{Lo: min(a.Lo, b.Lo), Hi: max(a.Hi, b.Hi)}
}

// columns are n of a path, in even steps of its time.
func columns(t *trace.Trace, n int) []column {
	all := make([]column, n)
	for k := range all {
		all[k] = column{program: -1, c: nothing, height: nothing, defocus: nothing, may: nothing, must: trace.Range{Lo: math.Inf(-1), Hi: math.Inf(1)},
			near: math.Inf(1), far: math.Inf(1), slowed: 1}
	}
	if !(t.Seconds > 0) || !finite(t.Seconds) {
		return all
	}
	per := t.Seconds / float64(n)
	out := outOfFocus(t)
	for i, s := range t.Stretches {
		if !finite(s.At) || !finite(s.Until) || s.Program < 0 || s.Program >= len(t.Programs) {
			continue
		}
		first := min(max(int(s.At/per), 0), n-1)
		last := min(max(int(math.Ceil(s.Until/per))-1, first), n-1)
		c, height, defocus := courseOf(t.Stretches, i, cOf), courseOf(t.Stretches, i, heightOf), courseOf(t.Stretches, i, defocusOf)
		for k := first; k <= last; k++ {
			from, to := 0.0, 1.0
			if last > first {
				long := s.Until - s.At
				from, to = max((float64(k)*per-s.At)/long, 0), min((float64(k+1)*per-s.At)/long, 1)
			}
			all[k].add(&s, c.part(from, to), height.part(from, to), defocus.part(from, to))
			all[k].out = all[k].out && out
		}
		if finite(s.ZStepAt) {
			k := min(max(int(s.ZStepAt/per), first), last)
			all[k].zStep = max(all[k].zStep, finiteOr0(s.ZStep))
		}
		if all[first].line == 0 {
			all[first].line = s.Line
		}
	}
	return all
}

// add adds what a stretch has in the column.
func (c *column) add(s *trace.Stretch, at, height, defocus trace.Range) {
	c.program = s.Program
	c.zSpeed = max(c.zSpeed, finiteOr0(s.ZSpeed))
	if !s.Travels {
		c.burnSpeed = max(c.burnSpeed, finiteOr0(s.ZSpeed))
	}
	if !s.Burns {
		c.travels = true
		if !c.burns {
			c.c = join(c.c, at)
		}
		return
	}
	if !c.burns {
		c.burns, c.c = true, nothing
	}
	c.c, c.height, c.defocus = join(c.c, at), join(c.height, height), join(c.defocus, defocus)
	c.slowed = min(c.slowed, s.Slowed)
	if empty(height) {
		c.blind = true
		return
	}
	near, far := s.Near-s.Less, s.Far-s.Less
	c.near, c.far = min(c.near, near), min(c.far, far)
	const rounding = 1e-9 // mm, of what is at the depth
	c.out = c.out || !empty(defocus) && (defocus.Lo < -near-rounding || defocus.Hi > far+rounding)
	may, must := s.Windows(height)
	c.may = join(c.may, may)
	c.must = trace.Range{Lo: max(c.must.Lo, must.Lo), Hi: min(c.must.Hi, must.Hi)}
}

func finiteOr0(v float64) float64 {
	if finite(v) {
		return v
	}
	return 0
}

// outOfFocus reports whether any burn is. A stretch that stands for many does not tell by
// itself: its greatest defocus may lie where heights are surer than the least sure of it.
func outOfFocus(t *trace.Trace) bool {
	const rounding = 1e-9
	return len(t.Worst) == 0 || !(math.Abs(t.Worst[0].Defocus) <= t.Worst[0].Depth+rounding)
}

func cOf(s *trace.Stretch) trace.Range       { return s.C }
func heightOf(s *trace.Stretch) trace.Range  { return s.Height }
func defocusOf(s *trace.Stretch) trace.Range { return s.Defocus }

// course is how a value runs along a stretch: from one end of its range to the other, or in
// a way that nobody knows.
type course struct {
	trace.Range
	up, down bool
}

// courseOf tells from what is before and after a stretch which way a value runs along it: a
// stretch itself says only between which ends.
func courseOf(all []trace.Stretch, i int, of func(*trace.Stretch) trace.Range) course {
	c := course{Range: of(&all[i])}
	if empty(c.Range) || c.Lo == c.Hi {
		return c
	}
	var up, down float64
	off := func(v float64, beside int) float64 {
		if beside < 0 || beside >= len(all) || all[beside].Program != all[i].Program {
			return 0
		}
		r := of(&all[beside])
		if empty(r) {
			return 0
		}
		return max(r.Lo-v, v-r.Hi, 0)
	}
	up, down = off(c.Lo, i-1)+off(c.Hi, i+1), off(c.Hi, i-1)+off(c.Lo, i+1)
	// What lies between the ends of its range at both its own ends runs neither way.
	const near = 0.1
	least := near * (c.Hi - c.Lo)
	c.up, c.down = up <= least && up < down, down <= least && down < up
	return c
}

// part is the range of a part of the stretch, from 0 to 1.
func (c course) part(from, to float64) trace.Range {
	long := c.Hi - c.Lo
	switch {
	case empty(c.Range):
		return nothing
	case c.up:
		return trace.Range{Lo: c.Lo + from*long, Hi: c.Lo + to*long}
	case c.down:
		return trace.Range{Lo: c.Hi - to*long, Hi: c.Hi - from*long}
	}
	return c.Range
}
