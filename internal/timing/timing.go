package timing

import (
	"io"
	"math"
	"slices"
)

// Times are what a program takes.
type Times struct {
	// Seconds is its time, dwells included, but for what operators take and for the way from
	// a place that it does not say.
	Seconds float64
	// BurnMM is the length of its burns over XY.
	BurnMM float64
	// SlowMM is over how much of that the spot goes more than a tenth slower than the
	// original does at the same place, and DarkMM over how much of it under power that does
	// not follow the speed. Without an original they are 0.
	SlowMM, DarkMM float64
	// Lost is by tenths over how much of that it goes more than so much slower: from
	// Lost[0], which is 0, to more than nine tenths. SlowMM is Lost[1].
	Lost [10]float64
	// ZStep is the greatest step of the speed of Z where one burn goes over into the next,
	// in mm/s, and ZBurns counts the burns along which Z moves.
	ZStep  float64
	ZBurns int
	// SlowestShare is the least part of its feed that a burn goes at over all of it, 1 where
	// all go at their feed, and SlowestLine its line.
	SlowestShare float64
	SlowestLine  int
	// SlowedShare is the least part of its speed in the original that a burn goes at over all
	// of it, 1 where none is slower, and SlowedLine its line.
	SlowedShare float64
	SlowedLine  int
}

// SlowPart is the part of the burned length that goes slower, 0 to 1.
func (t *Times) SlowPart() float64 { return t.part(t.SlowMM) }

// DarkPart is the part of it that goes slower under power that does not follow the speed.
func (t *Times) DarkPart() float64 { return t.part(t.DarkMM) }

// part is that of the burned length, 0 where there is none.
func (t *Times) part(mm float64) float64 {
	if t.BurnMM == 0 {
		return 0
	}
	return mm / t.BurnMM
}

// Of times a program; its name is for messages. The error is that of a program that cannot
// be read.
func Of(r io.Reader, name string, b Bench) (*Times, error) {
	c := newCourse(r, name, b)
	return &c.Times, c.toEnd()
}

// Parts times the parts of a program that begin at its beginning and at lines where the
// head is at rest, in their order. The error is as Of's.
func Parts(r io.Reader, name string, b Bench, from []int) ([]float64, error) {
	k := NewClock(r, name, b)
	var parts []float64
	for _, line := range append(slices.Clone(from), math.MaxInt) {
		t, err := k.To(line - 1)
		if err != nil {
			return nil, err
		}
		parts = append(parts, t.Seconds)
	}
	return parts, nil
}

// Beside times a program and the original that it was made from, and holds them to each
// other: both burn the same path, and the same length of it is the same place.
func Beside(made, original io.Reader, name, originalName string, b Bench) (times, before *Times, err error) {
	m, o := newCourse(made, name, b), newCourse(original, originalName, b)
	var burn besides
	for {
		s, err := m.peek()
		if err != nil {
			return nil, nil, err
		}
		t, err := o.peek()
		if err != nil {
			return nil, nil, err
		}
		if s == nil && t == nil {
			burn.end(&m.Times)
			return &m.Times, &o.Times, nil
		}
		if s == nil || t == nil { // what one burns beyond the other has nothing beside it
			if s != nil {
				m.next++
			} else {
				o.next++
			}
			continue
		}
		length := min(s.length, t.length)
		for tenths := 1; tenths < len(m.Lost); tenths++ {
			slow := slower(s, t, length, 1-float64(tenths)/10)
			if slow == 0 {
				break
			}
			m.Lost[tenths] += slow
			if tenths == 1 {
				m.SlowMM += slow
				if !s.scaled {
					m.DarkMM += slow
				}
			}
		}
		burn.add(&m.Times, s, t, length)
		m.use(length)
		o.use(length)
	}
}

// besides is a burn beside what it is in the original: how long they take, in s.
type besides struct {
	line      int
	took, was float64
}

// add takes the first mm of two stretches.
func (b *besides) add(t *Times, made, original *stretch, length float64) {
	if made.line != b.line {
		b.end(t)
		b.line = made.line
	}
	b.took += made.seconds(length)
	b.was += original.seconds(length)
}

// end takes the burn into the times.
func (b *besides) end(t *Times) {
	if b.was < b.took*t.SlowedShare*(1-1e-9) { // and not by rounding
		t.SlowedShare, t.SlowedLine = b.was/b.took, b.line
	}
	b.took, b.was = 0, 0
}

// seconds is how long its first mm take.
func (s *stretch) seconds(length float64) float64 {
	in, out := math.Sqrt(s.from), math.Sqrt(s.from+(s.to-s.from)*length/s.length)
	if in+out == 0 {
		return 0
	}
	return 2 * length / (in + out)
}

// use takes the beginning of the next stretch away.
func (c *course) use(length float64) {
	s := &c.ahead[c.next]
	if length >= s.length {
		c.next++
		return
	}
	s.from += (s.to - s.from) * length / s.length
	s.length -= length
}

// slower is over how much of their first mm one goes below a part of the other: the
// squares of both speeds are linear there, and so is what is left between them.
func slower(s, t *stretch, length, part float64) float64 {
	between := func(at float64) float64 {
		return s.from + (s.to-s.from)*at/s.length - part*part*(t.from+(t.to-t.from)*at/t.length)
	}
	a, b := between(0), between(length)
	switch least := -1e-9 * max(t.from, t.to); { // of what rounding leaves
	case a >= least && b >= least:
		return 0
	case a < 0 && b < 0:
		return length
	}
	return length * math.Abs(min(a, b)) / math.Abs(a-b)
}
