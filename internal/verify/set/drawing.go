package set

import (
	"encoding/binary"
	"hash/fnv"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/verify"
	"sagitta/internal/verify/set/touch"
)

// touching looks for what touches, over all or within a window, as it goes along the
// original.
type touching struct {
	*pairing
	order []int32
	moved []bool
	lines touch.Lines
	work  int
	// joints are where stretches join that follow each other in a figure, or begin and
	// end one that is closed, by the numbers of both.
	joints map[[2]int32][][2]float64
	// next is the stretch to come, now the one under way, -1 for none, and until up to
	// where it has been drawn.
	next, now int32
	until     where
	// begin is where the figure under way has begun, and first the stretch by which, -1
	// for none; ending are the stretches that have ended at end, where it is now.
	begin, end [2]float64
	first      int32
	ending     []int32
}

// look looks at a window along Y.
func (t *touching) look(in [2]float64) error {
	t.lines.Reset(in[0], in[1])
	t.lines.Most, t.lines.Overlap = mostPoints, t.set.OverlapMM
	t.joints, t.next, t.now, t.until, t.first, t.ending = map[[2]int32][][2]float64{}, 0, -1, where{}, -1, nil
	c := t.find.at
	c.seek(0)
	for {
		if err := c.next(); err != nil {
			return err
		}
		if !c.there || c.broken {
			t.close()
		}
		if !c.there {
			break
		}
		if err := t.burn(&c.o, c.from.burn); err != nil {
			return err
		}
	}
	if t.work <= 0 {
		return nil
	}
	pairs, whole := t.lines.Check(func(a, b int) [][2]float64 { return t.joints[[2]int32{int32(a), int32(b)}] }, &t.work)
	if !whole {
		t.notChecked("it would take too long")
		t.work = 0
	}
	for _, p := range pairs {
		if err := t.fail(p); err != nil {
			return err
		}
	}
	return nil
}

// stretch is the k-th along the original.
func (t *touching) stretch(k int32) *stretch { return t.stretches.at(int(t.order[k])) }

// burn draws burn n of the original as parts of the stretches that have it. What two of
// them have, as seams overlap, is burned before and behind all between them: it is left
// out.
func (t *touching) burn(o *verify.Step, n int32) error {
	at := where{burn: n}
	if t.until.compare(at) > 0 {
		at = t.until
	}
	for at.burn == n {
		if t.now < 0 {
			for int(t.next) < len(t.order) && t.stretch(t.next).end.compare(at) <= 0 {
				t.next++
			}
			if int(t.next) == len(t.order) || t.stretch(t.next).start.burn > n {
				break
			}
			t.now = t.next
			t.next++
			if s := t.stretch(t.now); s.start.compare(at) > 0 {
				at = s.start
			}
			t.join(o.M.XY(at.of()))
			t.lines.Begin(int(t.now), int(t.order[t.now]))
		}
		to, end := where{burn: n + 1}, t.stretch(t.now).end
		drawn := end
		if int(t.next) < len(t.order) && t.stretch(t.next).start.compare(end) < 0 {
			drawn = t.stretch(t.next).start
		}
		if drawn.compare(to) < 0 {
			to = drawn
		}
		if to.compare(at) > 0 {
			if err := t.draw(&o.M, o, at.of(), to); err != nil {
				return err
			}
			at = to
		}
		if drawn.compare(at) <= 0 {
			t.ending, t.now = append(t.ending, t.now), -1
			at = end
		}
	}
	t.until = at
	return nil
}

// join notes where the stretch that begins here goes on from those that have ended.
func (t *touching) join(at [2]float64) {
	if math.Hypot(at[0]-t.end[0], at[1]-t.end[1]) > joined+2*t.set.OverlapMM {
		return
	}
	for _, k := range t.ending {
		t.joint(k, t.now, at)
	}
}

// joined is how far apart in mm the ends of what joins may be.
const joined = 0.01

func (t *touching) joint(a, b int32, at [2]float64) {
	if t.order[a] > t.order[b] {
		key := [2]int32{a, b}
		t.joints[key] = append(t.joints[key], at)
	}
}

// close ends the figure under way.
func (t *touching) close() {
	if n := len(t.ending); n > 0 && t.first >= 0 && math.Hypot(t.begin[0]-t.end[0], t.begin[1]-t.end[1]) <= joined {
		t.joint(t.first, t.ending[n-1], t.begin)
	} else if t.now >= 0 && t.first >= 0 && math.Hypot(t.begin[0]-t.end[0], t.begin[1]-t.end[1]) <= joined {
		t.joint(t.first, t.now, t.begin)
	}
	t.first, t.ending = -1, t.ending[:0]
	if t.now >= 0 {
		t.lines.Begin(int(t.now), int(t.order[t.now]))
	}
}

// draw draws a part of a burn, from a fraction on.
func (t *touching) draw(m *machine.Move, o *verify.Step, from float64, end where) error {
	to := 1.0
	if end.part > 0 {
		to = end.of()
	}
	a, b := m.XY(from), m.XY(to)
	if t.first < 0 {
		t.first, t.begin = t.now, a
	}
	if m.Length > 0 {
		t.ending = t.ending[:0]
	}
	t.end = b
	if !t.moved[t.now] {
		return nil
	}
	hash := hashOf(o)
	if m.Kind != machine.Arc {
		return t.lines.Line(a[0], a[1], b[0], b[1], hash)
	}
	r := m.R1 - m.R0
	return t.lines.Arc(m.CX, m.CY, m.R0+r*from, m.R0+r*to, m.A0+m.Sweep*from, m.Sweep*(to-from), hash)
}

// hashOf is the same for burns that nothing but their place in the program tells apart,
// once they lie on one another.
func hashOf(o *verify.Step) uint32 {
	var text [8 * 6]byte
	m := &o.M
	flags := float64(o.Kind)
	for i, set := range []bool{m.PowerFollows, m.Rapid, o.Mist, o.Flood, o.Inverse} {
		if set {
			flags += float64(int(8) << i)
		}
	}
	seconds := m.Seconds
	if m.Length > 0 {
		seconds = 0
	}
	for i, v := range [...]float64{m.Power, m.Feed, seconds, m.From.Z, m.To.Z, flags} {
		binary.LittleEndian.PutUint64(text[8*i:], math.Float64bits(v))
	}
	h := fnv.New32a()
	_, _ = h.Write(text[:])
	return h.Sum32()
}
