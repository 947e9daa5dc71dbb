package rewrite

import "sagitta/internal/stream"

// paceSlots is how finely time is counted for the lines in a second: steady ones
// are counted exactly, a burst to within a slot.
const paceSlots = 50

// onTime is the part of a slot by which a line may begin early and still be of
// the next: steady lines begin on its bounds, and rounding must not decide.
const onTime = 1e-6

// pace counts the lines of the last second.
type pace struct {
	t     float64 // in slots
	now   int64   // the slot under way
	at    int     // its place in count
	count [paceSlots]int32
	sum   int
	most  int
}

// line counts a line that begins now and takes so many seconds.
func (p *pace) line(seconds float64) {
	p.take(1)
	if seconds > 0 {
		p.until(p.t + seconds*paceSlots)
	}
}

// take counts n lines that begin now, and reports whether they are the most so far.
func (p *pace) take(n int) bool {
	p.count[p.at] += int32(n)
	p.sum += n
	most := p.sum > p.most
	p.most = max(p.most, p.sum)
	return most
}

// until lets the time go by to t.
func (p *pace) until(t float64) {
	p.t = t
	to := int64(t + onTime)
	n := to - p.now
	p.now = to
	if n >= paceSlots {
		p.count, p.sum = [paceSlots]int32{}, 0
		return
	}
	for ; n > 0; n-- {
		if p.at++; p.at == paceSlots {
			p.at = 0
		}
		p.sum -= int(p.count[p.at])
		p.count[p.at] = 0
	}
}

// run lets the time of a run's lines go by, slot by slot: most have many lines, or
// last for many slots. It returns the last line that made most greater, 0 for none.
func (p *pace) run(it *stream.Item) (line int) {
	lines := it.Lines()
	slots := it.Move.Seconds / it.Move.Length * paceSlots // in a mm
	begin := p.t - it.StartD*slots                        // as if where D counts from
	for k := 0; k < len(lines); {
		// Line k begins now; those whose line before ends in the same slot
		// begin in it too.
		until, n := (float64(p.now+1)-onTime-begin)/slots, 1
		for last := len(lines) - 1; k+n-1 < last && lines[k+n-1].D < until; n++ {
		}
		k += n
		if p.take(n) {
			line = it.Block.Line + k - 1
		}
		p.until(begin + lines[k-1].D*slots)
	}
	return line
}
