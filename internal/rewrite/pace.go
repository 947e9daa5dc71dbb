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
	p.count[p.at]++
	p.sum++
	p.most = max(p.most, p.sum)
	if seconds > 0 {
		p.t += seconds * paceSlots
		p.now, p.at, p.sum = p.until(p.t, p.now, p.at, p.sum)
	}
}

// until lets the time go by to t, from where slot, place and sum are given, and
// gives what they are then.
func (p *pace) until(t float64, now int64, at, sum int) (int64, int, int) {
	to := int64(t + onTime)
	n := to - now
	if n >= paceSlots {
		p.count = [paceSlots]int32{}
		return to, at, 0
	}
	for ; n > 0; n-- {
		if at++; at == paceSlots {
			at = 0
		}
		sum -= int(p.count[at])
		p.count[at] = 0
	}
	return to, at, sum
}

// run lets the time of a run's lines go by, slot by slot: most have many lines, or
// last for many slots. It returns the last line that made most greater, 0 for none.
func (p *pace) run(it *stream.Item) (line int) {
	marks := it.Lines()
	begin, slots := p.t, it.Move.Seconds/it.Move.Length*paceSlots // slots in a mm
	begin -= it.StartD * slots                                    // as if where D counts from
	length := 1 / slots
	now, at, sum := p.now, p.at, p.sum
	t := p.t
	for k := 0; k < len(marks); {
		// Line k begins now; those whose line before ends in the same slot
		// begin in it too.
		until := (float64(now+1) - onTime - begin) * length
		n := 1
		for last := len(marks) - 1; k+n-1 < last && marks[k+n-1].D < until; n++ {
		}
		k += n
		p.count[at] += int32(n)
		if sum += n; sum > p.most {
			p.most = sum
			line = it.Block.Line + k - 1
		}
		t = begin + marks[k-1].D*slots
		now, at, sum = p.until(t, now, at, sum)
	}
	p.t, p.now, p.at, p.sum = t, now, at, sum
	return line
}
