package rewrite

import "sagitta/internal/stream"

// paceSlots is how finely time is told for the lines in a second: steady ones
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

// passRun lets the time of a run's lines go by, slot by slot: most have many
// lines, or last for many slots.
func (p *Pen) passRun(it *stream.Item) {
	t0, marks := &p.pace, it.Lines()
	begin, slots := t0.t, it.Move.Seconds/it.Move.Length*paceSlots // slots in a mm
	begin -= it.StartD * slots                                     // as if where D counts from
	length := 1 / slots
	now, at, sum := t0.now, t0.at, t0.sum
	t := t0.t
	for k := 0; k < len(marks); {
		// Line k begins now; those whose line before ends in the same slot
		// begin in it too.
		until := (float64(now+1) - onTime - begin) * length
		n := 1
		for last := len(marks) - 1; k+n-1 < last && marks[k+n-1].D < until; n++ {
		}
		k += n
		t0.count[at] += int32(n)
		if sum += n; sum > t0.most {
			t0.most = sum
			p.paced(it.Block.Line + k - 1)
		}
		t = begin + marks[k-1].D*slots
		now, at, sum = t0.until(t, now, at, sum)
	}
	t0.t, t0.now, t0.at, t0.sum = t, now, at, sum
}

// pass lets the time of a line go by.
func (p *Pen) pass(line int) {
	p.pace.line(p.took)
	p.took = 0
	p.paced(line)
}

// paced takes the most lines so far into the figures.
func (p *Pen) paced(line int) {
	if most := float64(p.pace.most); most > p.Figures.LinesPerS {
		p.Figures.LinesPerS, p.Figures.LinesPerSLine = most, line
	}
}
