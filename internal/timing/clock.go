package timing

import "io"

// Clock tells line by line what a program takes, as Of does in sum. It reads on only as far
// ahead as it takes to know.
type Clock struct {
	c     *course
	lines []took // whose times were not asked for, those before next are
	next  int
}

// Took is what some lines of a program take.
type Took struct {
	// Seconds is their time, dwells included.
	Seconds float64
	// ZSpeed is the greatest speed of Z on them, either way, and ZStep the greatest step of it
	// where a burn of theirs begins at the end of another, in mm/s.
	ZSpeed, ZStep float64
}

// took is what a line takes.
type took struct {
	line int
	Took
}

// NewClock returns a clock of a program; its name is for messages.
func NewClock(r io.Reader, name string, b Bench) *Clock {
	k := &Clock{c: newCourse(r, name, b)}
	k.c.lasts = k.add
	return k
}

// add takes what is known of a line, which may be one part of several.
func (k *Clock) add(line int, t Took) {
	if n := len(k.lines); n > 0 && k.lines[n-1].line == line {
		k.lines[n-1].join(t)
		return
	}
	k.lines = append(k.lines, took{line, t})
}

func (t *Took) join(o Took) {
	t.Seconds += o.Seconds
	t.ZSpeed, t.ZStep = max(t.ZSpeed, o.ZSpeed), max(t.ZStep, o.ZStep)
}

// To tells what the lines take that it has not told of yet, up to and including one; 0 of
// those that were asked for before. The error is that of a program that cannot be read.
func (k *Clock) To(line int) (t Took, err error) {
	for {
		for ; k.next < len(k.lines); k.next++ {
			if k.lines[k.next].line > line {
				return t, nil
			}
			t.join(k.lines[k.next].Took)
		}
		if k.c.ended {
			return t, nil
		}
		k.lines, k.next = k.lines[:0], 0
		k.c.ahead, k.c.next = k.c.ahead[:0], 0
		if err := k.c.read(); err != nil {
			return t, err
		}
	}
}
