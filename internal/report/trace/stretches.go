package trace

// mostStretches is how many there are at most: a screen has no more columns.
const mostStretches = 4000

// perStretch is how many stretches there are at least once some were joined, half by time
// and half by steps: so neither a raster of millions of dots nor a long dwell leaves nothing
// for the rest.
const perStretch = 1000

// stretches are the pieces of a path, the last of them open until it has its share.
type stretches struct {
	list []piece
	open bool
	// Of all, as it was when neighbours were joined last: how many steps, and how long. They
	// are 0 before, when each step is a piece of its own.
	n, seconds float64
	steps      float64
	// most is when they are joined next: more where there are so many programs.
	most int
}

// weight is what of all a piece is.
func (a *stretches) weight(p *piece) float64 {
	w := p.n / a.n
	if a.seconds > 0 {
		w += (p.Until - p.At) / a.seconds
	}
	return w
}

// last is the piece that is open.
func (a *stretches) last() *piece { return &a.list[len(a.list)-1] }

// settle closes the open piece where it has its share, and joins neighbours where there
// are too many.
func (a *stretches) settle(share float64) {
	a.steps += share
	a.open = a.n > 0 && a.weight(a.last()) < 1.0/perStretch
}

// room makes room for one more.
func (a *stretches) room() {
	if len(a.list) < max(mostStretches, a.most) {
		return
	}
	a.n, a.seconds = a.steps, a.last().Until
	to := 0
	for i := 1; i < len(a.list); i++ {
		p, o := &a.list[to], &a.list[i]
		if p.Program == o.Program && a.weight(p)+a.weight(o) <= 2.0/perStretch {
			p.join(o)
			continue
		}
		if to++; to != i {
			a.list[to] = *o
		}
	}
	a.list = a.list[:to+1]
	a.most = len(a.list) + perStretch/2
}
